"""How are the inner loops compiled?

By numba, without the interpreter's lock and kept on disk, so that only the first run of an installation waits.
It leaves out threads: blocks of points are handed out by the engine.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])


def compiled(function: Function) -> Function:
    """Return a function compiled on its first call, kept on disk where a folder can be written.

    Numba keeps compiled code beside the module, else in the user's cache folder, or where NUMBA_CACHE_DIR says.
    Where none of them can be written it compiles anew in each run.
    """
    options: dict[str, Any] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract", "nsz", "arcp"}}
    try:
        return cast("Function", njit(cache=True, **options)(function))
    except RuntimeError:  # numba found no folder for its cache
        return cast("Function", njit(**options)(function))
