"""How many cores may this process use, and how are they all kept busy?

All that the system allows, or fewer if several processes share the machine: whoever starts them sets SITEPLAN_CORES.
Threads run in parallel because compiled loops release the interpreter's lock.
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


def environment_for(cores: int) -> dict[str, str]:
    """Return the environment variables that limit a process and its libraries to so many cores.

    Examples
    --------
    >>> environment_for(1)["SITEPLAN_CORES"]
    '1'
    """
    libraries = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
    return dict.fromkeys((SHARE, *libraries), str(max(1, cores)))
