"""How many cores may this process use, and how are they all kept busy?

Those that the system gives it, or fewer where it works beside others: who starts it says so in its environment.
Threads share them: compiled loops run without the interpreter's lock. It leaves out processes.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Part = TypeVar("Part")
Result = TypeVar("Result")

#: the environment variable that holds a process's share of the cores
SHARE = "SITEPLAN_CORES"


def core_count() -> int:
    """Return how many cores the process may use, at least one."""
    there = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    share = os.environ.get(SHARE, "")
    return max(1, min(there, int(share))) if share.isascii() and share.isdigit() else there


def on_all_cores(act: Callable[[Part], Result], parts: Sequence[Part], *, alone: bool = False) -> Iterator[Result]:
    """Yield what comes of each part, in order; `alone` where threads would take longer to start than to answer."""
    if alone or len(parts) < 2:
        yield from map(act, parts)
        return
    with ThreadPoolExecutor(core_count()) as pool:
        yield from pool.map(act, parts)


def one_process_of(cores: int) -> dict[str, str]:
    """Return the environment by which a process and its libraries use so many cores.

    Examples
    --------
    >>> one_process_of(1)["SITEPLAN_CORES"]
    '1'
    """
    libraries = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
    return dict.fromkeys((SHARE, *libraries), str(max(1, cores)))
