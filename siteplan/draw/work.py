"""How is long work done beside the page, with its progress, and stopped?

The real search and the real plan, on the property as it is saved. One piece of work at a time; another one waits for
none: it takes the first one's place. It leaves out what is asked.
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
    """The work is not wanted any more."""


@dataclass
class Job:
    """A piece of work.

    Attributes
    ----------
    what : str
        What it does.
    state : str
        ``working``, ``done``, ``stopped`` or ``failed``.
    question : str
        The question it is at.
    share : float
        Of that question, 0 to 1.
    result : dict
        What it found, once it is done.
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
        """Return the job as the page gets it."""
        return {
            "what": self.what,
            "state": self.state,
            "question": self.question,
            "share": self.share,
            "result": self.result,
            "faults": [{"where": "", "text": text} for text in self.faults],
        }


class Jobs:
    """Pieces of work by number; a new one stops the one before."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: dict[str, Job] = {}

    def start(self, what: str, act: Act) -> str:
        """Start some work in a thread of its own, and return its number."""
        job = Job(what)
        with self._lock:
            for other in self._jobs.values():
                other.stopping.set()
            number = str(len(self._jobs) + 1)
            self._jobs[number] = job
        threading.Thread(target=_run, args=(job, act), name=what, daemon=True).start()
        return number

    def job(self, number: str) -> Job | None:
        """Return a piece of work."""
        with self._lock:
            return self._jobs.get(number)

    def close(self) -> None:
        """Stop all that is at work."""
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
    except Exception as error:  # noqa: BLE001  # said on the page; the server stays up
        job.faults, job.state = (f"this is a bug of siteplan: {error!r}",), "failed"
