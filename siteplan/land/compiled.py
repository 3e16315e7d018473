"""How are inner loops compiled?

By numba, which releases the interpreter's lock while a loop runs. The machine code is cached on disk, so that only
the first run waits for it. The callers start the threads (`land/cores.py`).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])

PACKAGE = Path(__file__).parents[1]


def compiled(function: Function) -> Function:
    """Return a function that is compiled on its first call, and cached on disk if a folder is writable.

    Numba caches machine code beside the module, else in the user's cache folder, or where NUMBA_CACHE_DIR says. If
    none of them is writable, as in an installation that belongs to another user, every run compiles anew.

    Divisions by zero give infinity or NaN, as in numpy.
    """
    return _compiled(function)


def compiled_fused(function: Function) -> Function:
    """Return a function compiled as by `compiled`, with fused multiply-adds.

    A product and a sum are then rounded once and not twice, repeated division by one number becomes multiplication,
    and the sign of a zero is ignored. The last digit may differ from that of the same loop in numpy.

    The function must make no arrays of its own: numba's reference counting is off (`_nrt`). With it, the counts of
    arrays that threads share would travel between the cores, at every slice and every call.
    """
    return _compiled(function, fastmath={"contract", "arcp", "nsz"}, _nrt=False)


def compiled_uncounted(function: Function) -> Function:
    """Return a function compiled as by `compiled`, without reference counting: it must make no arrays."""
    return _compiled(function, _nrt=False)


def inlined(function: Function) -> Function:
    """Return a function that is inlined into each compiled function that calls it, with the caller's options.

    For parts of a long loop that are called in one place. Otherwise numba would compile each part alone, once more
    within its caller, and again within the caller's caller: most of the first run's waiting time.
    """
    return _compiled(function, inline="always")


def _compiled(function: Function, **options: Any) -> Function:
    options |= {"nogil": True, "error_model": "numpy"}
    try:
        cached = njit(cache=True, **options)(function)
    except RuntimeError:  # numba found no folder for its cache
        return cast("Function", njit(**options)(function))
    if cached is function:  # nothing is compiled where NUMBA_DISABLE_JIT says so
        return function
    # numba checks only whether a function's own file has changed, not the files of the functions that it calls: code
    # of two versions together would read the wrong memory. The digest is added to numba's version, which is compared
    # before the rest of a cache file is unpickled: that may name a class that no longer exists
    file = cached._cache._cache_file  # noqa: SLF001 - numba has no public way to extend its version
    file._version = (file._version, loop_sources())  # noqa: SLF001
    return cast("Function", cached)


def waits_for_compiler(loop: Callable[..., Any]) -> bool:
    """Return whether a loop's machine code is missing on disk, and would be kept there for other processes."""
    file = getattr(getattr(loop, "_cache", None), "_cache_file", None)
    return file is not None and not file._load_index()  # noqa: SLF001 - of other versions it loads nothing


@cache
def loop_sources() -> str:
    """Return a digest of all modules with compiled loops, and of those that they import from."""
    texts = {path: path.read_bytes() for path in sorted(PACKAGE.rglob("*.py"))}
    loops = {path for path, text in texts.items() if b"siteplan.land.compiled import" in text}
    imports = re.compile(rb"^from siteplan\.([\w.]+) import", re.MULTILINE)
    imported = {name for path in loops for name in imports.findall(texts[path])}
    sources = loops | {PACKAGE / (name.decode().replace(".", "/") + ".py") for name in imported}
    return hashlib.sha256(b"".join(texts[path] for path in sorted(sources & texts.keys()))).hexdigest()
