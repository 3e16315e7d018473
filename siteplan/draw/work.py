"""How does a long job run in the background, report its progress, and stop?

One job runs at a time; a new one stops the one before. `long_work` defines the jobs.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from siteplan.land.errors import SitePlanError
from siteplan.question import Progress

Act = Callable[[Progress], dict[str, Any]]


class _StoppedError(Exception):
    """The job is no longer wanted."""


@dataclass
class Job:
    """A long job.

    Attributes
    ----------
    what : str
        What it does.
    state : str
        ``working``, ``done``, ``stopped`` or ``failed``.
    question : str
        The question it is working on.
    share : float
        The share of that question that is done, 0 to 1.
    result : dict
        Its answer, once it is done.
    faults : tuple of str
        Why it failed.
    """

    what: str
    state: str = "working"
    question: str = "read"
    share: float = 0.0
    result: dict[str, Any] = field(default_factory=dict)
    faults: tuple[str, ...] = ()
    stopping: threading.Event = field(default_factory=threading.Event)

    def view(self) -> dict[str, Any]:
        """Return the job for the page."""
        return {
            "what": self.what,
            "state": self.state,
            "question": self.question,
            "share": self.share,
            "result": self.result,
            "faults": [{"where": "", "text": text} for text in self.faults],
        }


class Jobs:
    """The jobs by number; a new one stops the one before."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: dict[str, Job] = {}

    def start(self, what: str, act: Act) -> str:
        """Start a job in a thread of its own, and return its number."""
        job = Job(what)
        with self._lock:
            for other in self._jobs.values():
                other.stopping.set()
            number = str(len(self._jobs) + 1)
            self._jobs[number] = job
        threading.Thread(target=_run, args=(job, act), name=what, daemon=True).start()
        return number

    def job(self, number: str) -> Job | None:
        """Return the job with a number; None if there is none."""
        with self._lock:
            return self._jobs.get(number)

    def close(self) -> None:
        """Stop all jobs."""
        with self._lock:
            for job in self._jobs.values():
                job.stopping.set()


def _run(job: Job, act: Act) -> None:
    def tell(question: str, share: float) -> None:
        if job.stopping.is_set():
            raise _StoppedError
        job.question, job.share = question, round(share, 3)

    try:
        job.result = act(tell)
        job.state = "done"
    except _StoppedError:
        job.state = "stopped"
    except SitePlanError as error:
        job.faults, job.state = tuple(str(error).splitlines()), "failed"
    except Exception as error:  # noqa: BLE001  # shown on the page; the server stays up
        job.faults, job.state = (f"this is a bug of siteplan: {error!r}",), "failed"
