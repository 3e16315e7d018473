"""How is one lot planned within limits of time and memory?

In a separate process, which then takes the next lot. If a lot takes too long or too much memory, its process is
killed, and another one is started for the next lot. `run` chooses the lots.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Generator, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import siteplan
from siteplan.land.cores import environment_for
from siteplan.land.errors import SitePlanError
from siteplan.screen.child import main as child
from siteplan.screen.request import ScreenRequest
from siteplan.screen.rows import ended_row

_LOOK = 0.2  # s between two checks of a process
_AGAIN = 2  # times that a lot is tried if its process dies by itself


@dataclass(frozen=True)
class Limits:
    """The limits of time, memory and cores for one lot.

    Attributes
    ----------
    seconds : float
        Elapsed time.
    memory : float
        Resident memory of its process. [bytes]
    cores : int
        Processor cores that its process may use.
    """

    seconds: float = 600.0
    memory: float = 4e9
    cores: int = 1


@dataclass(frozen=True)
class Task:
    """One lot to be planned.

    Attributes
    ----------
    number : int
        From 0.
    known : str
        Hash of the lot when it was last planned; empty if never. A lot with the same hash is not planned again.
    folder : str
        Where its whole plan is written; empty if only its row is wanted.
    """

    number: int
    known: str = ""
    folder: str = ""


@dataclass(frozen=True)
class Outcome:
    """The outcome of a task.

    Attributes
    ----------
    number : int
    key : str
        The lot's hash; empty if its process ended before the hash was known.
    row : dict or None
        None if it is the same as before.
    """

    number: int
    key: str
    row: dict[str, Any] | None


_Outcomes = queue.SimpleQueue[Outcome | BaseException | None]


class PlannerError(SitePlanError):
    """A planning process does not start, or has another version of siteplan."""


class Planner:
    """One process that plans one lot after the other."""

    def __init__(self, request: ScreenRequest, limits: Limits) -> None:
        self.request, self.limits = request, limits
        self._process: subprocess.Popen[bytes] | None = None
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._closed = False
        self._changing = threading.Lock()

    def plan(self, task: Task) -> Outcome:
        """Return the outcome of a lot, also if its process had to be killed.

        Raises
        ------
        PlannerError
            If no process can be started.
        """
        for _ in range(_AGAIN):
            self._start()
            outcome = self._ask(task)
            if isinstance(outcome, Outcome):
                return outcome
            if outcome:
                return Outcome(task.number, "", ended_row(outcome))
        return Outcome(
            task.number, "", ended_row(f"its process died {_AGAIN} times, as one does that gets no memory")
        )

    def close(self) -> None:
        """Kill the process at once."""
        self._closed = True
        self._end()

    def _ask(self, task: Task) -> Outcome | str:
        """Return the outcome, or why the process was killed; empty if it died by itself."""
        process, start = self._process, time.monotonic()
        assert process is not None and process.stdin is not None  # noqa: S101, PT018
        message = {"lot": task.number, "known": task.known, "folder": task.folder}
        with contextlib.suppress(OSError):  # it died: the next check sees that
            process.stdin.write(json.dumps(message).encode() + b"\n")
            process.stdin.flush()
        while True:
            with contextlib.suppress(queue.Empty):
                line = self._lines.get(timeout=_LOOK)
                if line is None:
                    self._end()
                    return ""
                reply = json.loads(line)
                return Outcome(task.number, reply["key"], None if reply.get("same") else reply["row"])
            if limit_text := self._beyond(process, time.monotonic() - start):
                self._end()
                return limit_text

    def _beyond(self, process: subprocess.Popen[bytes], seconds: float) -> str:
        """Return which limit a lot exceeds; empty if none."""
        if seconds > self.limits.seconds:
            return f"took more than {self.limits.seconds:g} s and was ended; say --lot-time to allow more"
        if memory_of(process.pid) > self.limits.memory:
            gigabytes = self.limits.memory / 1e9
            return f"took more than {gigabytes:g} GB of memory and was ended; say --lot-memory to allow more"
        return ""

    def _start(self) -> None:
        """Start the process, unless it runs, and wait until it is ready."""
        if self._process is not None and self._process.poll() is None:
            return
        with tempfile.TemporaryFile() as errors:
            process = self._new_process(errors)
            assert process.stdin is not None  # noqa: S101
            with contextlib.suppress(OSError):
                process.stdin.write(self.request.text().encode() + b"\n")
                process.stdin.flush()
            line = self._lines.get()
            if line is None:
                errors.seek(0)
                error_lines = errors.read().decode(errors="replace").strip().splitlines()
                self._end()
                raise PlannerError(
                    f"a process that plans lots does not start: {error_lines[-1] if error_lines else 'it was ended'}"
                )
        if (version := json.loads(line)["ready"]) != siteplan.__version__:
            raise PlannerError(f"a process has siteplan {version}, must have {siteplan.__version__}")

    def _new_process(self, errors: IO[bytes]) -> subprocess.Popen[bytes]:
        """Start a process that writes its errors to a file, and a thread that reads its lines."""
        with self._changing:
            if self._closed:
                raise PlannerError("stopped")
            self._lines = queue.SimpleQueue()
            self._process = subprocess.Popen(  # noqa: S603  # our own module
                [sys.executable, "-c", f"from {child.__module__} import {child.__name__}; {child.__name__}()"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                env=self._environment(),
                start_new_session=True,
            )
            threading.Thread(target=_read, args=(self._process, self._lines), daemon=True).start()
            return self._process

    def _environment(self) -> dict[str, str]:
        package_folder = str(Path(siteplan.__file__).parents[1])
        paths = [package_folder, *filter(None, [os.environ.get("PYTHONPATH")])]
        return {**os.environ, **environment_for(self.limits.cores), "PYTHONPATH": os.pathsep.join(paths)}

    def _end(self) -> None:
        with self._changing:
            process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with contextlib.suppress(OSError, ValueError):
                if pipe is not None:
                    pipe.close()


def _read(process: subprocess.Popen[bytes], lines: queue.SimpleQueue[str | None]) -> None:
    """Pass on the output of a process, line by line, and None at its end."""
    assert process.stdout is not None  # noqa: S101
    with contextlib.suppress(OSError, ValueError):
        for line in process.stdout:
            lines.put(line.decode())
    lines.put(None)


def memory_of(process: int) -> float:
    """Return the resident memory of a process; 0 if the system, other than Linux, does not tell. [bytes]"""
    try:
        pages = int(Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()[1])
    except (OSError, ValueError, IndexError):
        return 0.0
    return float(pages * os.sysconf("SC_PAGE_SIZE"))


def on_this_machine(
    request: ScreenRequest, limits: Limits, tasks: Iterator[Task], processes: int
) -> Generator[Outcome, None, None]:
    """Yield the outcomes of tasks as processes of this machine finish them; the processes end with the iterator.

    Parameters
    ----------
    request : ScreenRequest
    limits : Limits
    tasks : iterator of Task
        Taken one by one, as processes become free.
    processes : int
    """
    outcomes: _Outcomes = queue.SimpleQueue()
    planners = [Planner(request, limits) for _ in range(processes)]
    taking = threading.Lock()
    try:
        for planner in planners:
            threading.Thread(target=_work_through, args=(planner, tasks, taking, outcomes), daemon=True).start()
        running = processes
        while running:
            outcome = outcomes.get()
            if isinstance(outcome, BaseException):
                raise outcome
            if outcome is None:
                running -= 1
            else:
                yield outcome
    finally:
        for planner in planners:
            planner.close()


def _work_through(planner: Planner, tasks: Iterator[Task], taking: threading.Lock, outcomes: _Outcomes) -> None:
    """Plan tasks until none is left; put the outcomes, or the error that ends the work, then None in the queue."""
    try:
        while True:
            with taking:
                task = next(tasks, None)
            if task is None:
                break
            outcomes.put(planner.plan(task))
    except BaseException as error:  # noqa: BLE001  # raised again by `on_this_machine`
        outcomes.put(error)
    outcomes.put(None)
