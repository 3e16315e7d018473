"""Is one value what it must be?

Each function returns the normalised value or raises a ValueError that says what came and what is allowed.
It leaves out where the value stood: the caller knows file, feature and key.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from difflib import get_close_matches


def number_within(
    value: float, low: float, high: float, *, above: bool = False, what: str = "it", unit: str = ""
) -> float:
    """Return `value` if it lies from `low` to `high` (above `low` where `above` is set).

    Examples
    --------
    >>> number_within(0.3, 0, 1)
    0.3
    >>> number_within(-1.2, 0, 100, above=True, what="width", unit="m")
    Traceback (most recent call last):
    ...
    ValueError: width is -1.2 m, must be above 0 and at most 100 m
    """
    fits = math.isfinite(value) and value <= high and (value > low if above else value >= low)
    if fits:
        return float(value)
    space = f" {unit}" if unit else ""
    start = f"above {low:g}" if above else f"at least {low:g}"
    raise ValueError(f"{what} is {value:g}{space}, must be {start} and at most {high:g}{space}")


def one_of(value: str, allowed: Collection[str], *, what: str = "it") -> str:
    """Return `value` if it is one of those allowed; else name the nearest.

    Examples
    --------
    >>> one_of("evergreen", ["deciduous", "evergreen"])
    'evergreen'
    >>> one_of("evergren", ["deciduous", "evergreen"], what="foliage")
    Traceback (most recent call last):
    ...
    ValueError: foliage 'evergren' is not known; did you mean 'evergreen'? (allowed: deciduous, evergreen)
    """
    if value in allowed:
        return value
    hint = nearest(value, allowed)
    meant = f"; did you mean {hint!r}?" if hint else ";"
    raise ValueError(f"{what} {value[:60]!r} is not known{meant} (allowed: {', '.join(sorted(allowed))})")


def nearest(value: str, known: Collection[str], *, likeness: float = 0.6) -> str | None:
    """Return the known word that looks most like `value`, or None where none is as like as `likeness` (0 to 1).

    Examples
    --------
    >>> nearest("hieght", ["height", "width"]), nearest("colour", ["height"])
    ('height', None)
    """
    close = get_close_matches(value.lower().replace("-", "_")[:200], list(known), n=1, cutoff=likeness)
    return close[0] if close else None
