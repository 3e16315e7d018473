"""How many cores may this process use, and how are they all kept busy?

All that the system allows, or fewer if several processes share the machine: whoever starts them sets SITEPLAN_CORES.
Threads run in parallel because compiled loops release the interpreter's lock. Other work runs at the same
time only in a second process.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import pickle
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import BinaryIO, TypeVar, cast

Part = TypeVar("Part")
Result = TypeVar("Result")
Tell = Callable[..., None]

#: the environment variable that holds a process's share of the cores
SHARE = "SITEPLAN_CORES"
_END_WITH_PARENT = 1  # PR_SET_PDEATHSIG of Linux
#: the name of a thread that shows progress and holds no lock that other work needs
PROGRESS = "progress"


def core_count() -> int:
    """Return how many cores the process may use, at least one."""
    available = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    share = os.environ.get(SHARE, "")
    return max(1, min(available, int(share))) if share.isascii() and share.isdigit() else available


def on_all_cores(act: Callable[[Part], Result], parts: Sequence[Part], *, alone: bool = False) -> Iterator[Result]:
    """Yield `act(part)` for each part, in order, from a pool of threads.

    With `alone`, or with one core, all runs in this thread: starting others would only take longer.
    """
    if alone or len(parts) < 2 or core_count() == 1:
        yield from map(act, parts)
        return
    with ThreadPoolExecutor(core_count()) as pool:
        yield from pool.map(act, parts)


@contextlib.contextmanager
def in_second_process(
    act: Callable[[Tell], Result], *, tell: Tell | None = None, alone: bool = False
) -> Iterator[Callable[[], Result]]:
    """Begin `act` in a copy of this process, on another core, and give a function that waits for its result.

    The function calls `act` here if there is no second core, if a copy is not safe (not Linux, or another thread may
    hold a lock), or with `alone`: for work beside which nothing else is done. It does so too if `act` fails in the
    copy, so that its error is raised here. The result must be picklable. On leaving the context the copy is ended; so
    it is if this process is killed.

    `act` is called with a function that tells its progress: what it is given is passed on to `tell`, in this process,
    while the result is waited for.

    Examples
    --------
    >>> with in_second_process(lambda tell: 6 * 7) as result:
    ...     print(result())
    42
    """
    told = tell or (lambda *what: None)  # noqa: ARG005
    if alone or core_count() == 1 or sys.platform != "linux" or not _no_lock_is_held():
        yield partial(act, told)
        return
    receiving, sending = os.pipe()
    process = _fork()
    if process == 0:
        os.close(receiving)
        _send(act, sending)
    os.close(sending)
    with os.fdopen(receiving, "rb") as answer:
        try:
            yield lambda: _received(act, told, answer)
        finally:
            os.kill(process, signal.SIGKILL)
            os.waitpid(process, 0)


def _received(act: Callable[[Tell], Result], tell: Tell, answer: BinaryIO) -> Result:
    """Return what the copy sends as its result, after its progress; if it ended without one, that of `act` here."""
    while True:
        try:
            is_result, sent = pickle.load(answer)  # noqa: S301 - our own process wrote it
        except (EOFError, pickle.UnpicklingError):
            return act(tell)
        if is_result:
            return cast("Result", sent)
        tell(*sent)


def _no_lock_is_held() -> bool:
    """Return whether this is the main thread, and all others only show progress."""
    others = set(threading.enumerate()) - {threading.current_thread()}
    return threading.current_thread() is threading.main_thread() and all(
        thread.name == PROGRESS or type(thread).__module__ == "rich.live" for thread in others
    )


def _fork() -> int:
    with warnings.catch_warnings():  # the threads that Python warns of are those of libraries made for forking
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _send(act: Callable[[Tell], object], sending: int) -> None:
    """Send the progress and the result of `act`, no result if it fails, and end this process."""
    try:
        gc.freeze()  # no look for garbage in what was copied: it would touch, and so really copy, its memory
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the first process ends this one, also by being killed
        ctypes.CDLL(None).prctl(_END_WITH_PARENT, signal.SIGKILL)
        with os.fdopen(sending, "wb") as answer:

            def tell(*what: object) -> None:
                pickle.dump((False, what), answer)
                answer.flush()

            pickle.dump((True, act(tell)), answer)
    finally:
        os._exit(0)


def environment_for(cores: int) -> dict[str, str]:
    """Return the environment variables that limit a process and its libraries to so many cores.

    Examples
    --------
    >>> environment_for(1)["SITEPLAN_CORES"]
    '1'
    """
    libraries = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
    return dict.fromkeys((SHARE, *libraries), str(max(1, cores)))
