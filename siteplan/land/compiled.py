"""How are inner loops compiled?

By numba, without the interpreter's lock. The machine code is kept on disk, so that only the first run waits for it.
It leaves out threads: who calls a loop decides which thread runs it.
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
    """Return a function that is compiled on its first call, and kept on disk where a folder can be written.

    Numba keeps machine code beside the module, else in the user's cache folder, or where NUMBA_CACHE_DIR says. Where
    none of them can be written, as in an installation that belongs to somebody else, every run compiles anew.

    Divisions by zero give infinity or NaN, as in numpy.
    """
    return _compiled(function)


def compiled_fused(function: Function) -> Function:
    """Return a function compiled as by `compiled`, whose sums of products may be fused.

    A product and a sum are then rounded once and not twice, a division by the same number many times becomes a
    product, and the sign of a zero does not count. The last digit may differ from that of the same loop in numpy.

    It makes no arrays of its own, so that numba need not count who holds which (`_nrt`): the counts of arrays that
    threads share would go back and forth between the cores, at every slice and every call.
    """
    return _compiled(function, fastmath={"contract", "arcp", "nsz"}, _nrt=False)


def compiled_uncounted(function: Function) -> Function:
    """Return a function compiled as by `compiled`, which makes no arrays: numba need not count who holds which."""
    return _compiled(function, _nrt=False)


def inlined(function: Function) -> Function:
    """Return a function that is compiled as part of each compiled function that calls it, with that one's options.

    For parts of a long loop that are called in one place. Compiled alone, each would be compiled once more within its
    caller, and again within the caller's caller: that is most of what the first run waits for.
    """
    return _compiled(function, inline="always")


def _compiled(function: Function, **options: Any) -> Function:
    options |= {"nogil": True, "error_model": "numpy"}
    try:
        kept = njit(cache=True, **options)(function)
    except RuntimeError:  # numba found no folder for its cache
        return cast("Function", njit(**options)(function))
    if kept is function:  # nothing is compiled where NUMBA_DISABLE_JIT says so
        return function
    # numba asks whether a function's own file has changed, not whether what it calls has: code of two versions
    # together would read the wrong memory
    file = kept._cache._cache_file  # noqa: SLF001 - numba has no other way to say it
    file._source_stamp = (file._source_stamp, loop_sources())  # noqa: SLF001
    return cast("Function", kept)


@cache
def loop_sources() -> str:
    """Return a digest of all modules with compiled loops, and of those that they import from."""
    texts = {path: path.read_bytes() for path in sorted(PACKAGE.rglob("*.py"))}
    loops = {path for path, text in texts.items() if b"siteplan.land.compiled import" in text}
    imports = re.compile(rb"^from siteplan\.([\w.]+) import", re.MULTILINE)
    named = {name for path in loops for name in imports.findall(texts[path])}
    asked = loops | {PACKAGE / (name.decode().replace(".", "/") + ".py") for name in named}
    return hashlib.sha256(b"".join(texts[path] for path in sorted(asked & texts.keys()))).hexdigest()
