"""How far off may a figure be?

A spread bounds the true value: ``24 ft +- 2 ft`` is 22 to 26 ft. Values near the given one are likelier: a triangular
distribution (Guide to the expression of uncertainty in measurement, JCGM 100:2008, 4.3.9).
`sun/doubt` works out what it means for the hours of sun.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.land.record import Record
from siteplan.land.units import METRE, Dimension, LengthUnit, is_plain, si_value
from siteplan.land.values import Quantity, Text

_SIGN = re.compile(r"\s*(?:\+\s?/?\s?-|±)\s*")
_DAYS = re.compile(r"(\d{1,3}(?:\.\d*)?)\s*(?:d|days?)")
MOST_DAYS = 60.0  # largest spread of a leaf date

#: how the figures of a feature were measured: data/spreads.csv has a spread for each
How = Literal["typed", "guess", "paced", "tape", "angle", "laser"]


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How far off one figure of a feature may be.

    Attributes
    ----------
    of : str
        The property; ``position`` of where the feature lies.
    below, above : float
        How far below and above the given value the true one may lie, in the figure's own unit; days for a date.
    how : str
        Where the spread comes from: ``given`` beside the value, ``crowns`` for data/crowns.csv, else how the figure
        was measured, by which data/spreads.csv was looked up.
    """

    of: str
    below: float
    above: float
    how: str = "given"


@dataclass(frozen=True, kw_only=True)
class Measured(Record):
    """A feature whose figures may be uncertain, and how they were measured.

    `spreads` has the spread of each uncertain figure; a figure without one is taken to be exact.
    """

    measured: Annotated[
        How, "how its lengths were measured: guessed, paced, by tape, by angle or by laser; typed: not known"
    ] = "typed"
    position_spread: Annotated[
        float | None,
        Quantity("length", least=0, most=20),
        "how far off its position may be, each way; where left out, by how it was measured",
    ] = None
    height_from: Annotated[
        str, Text(), "what its height was taken from, such as a laser survey of 2014-03; shown beside it"
    ] = ""
    spreads: tuple[Spread, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        for spread in self.spreads:
            value = getattr(self, spread.of, None)
            largest = value if isinstance(value, float) else math.inf
            if not (0 <= spread.below <= largest and 0 <= spread.above < math.inf):
                ends = f"{spread.below:g} below and {spread.above:g} above"
                name = spread.of
                raise ValueError(f"{name} has a spread of {ends}, must be at least 0, and below at most its value")


def split_spread(value: object) -> tuple[object, str]:
    """Split a quantity at its ± sign: return the value, and the text of the spread (empty if there is none).

    Examples
    --------
    >>> split_spread("24 ft +- 2 ft"), split_spread("24 ft ± 10 %"), split_spread("24 ft"), split_spread(24)
    (('24 ft', '2 ft'), ('24 ft', '10 %'), ('24 ft', ''), (24, ''))
    """
    if not isinstance(value, str) or (sign := _SIGN.search(value)) is None:
        return value, ""
    return value[: sign.start()], value[sign.end() :].strip() or "?"


def spread_size(
    text: str, value: object, number: float, dimension: Dimension, *, plain: LengthUnit = METRE
) -> float | None:
    """Return the size of a spread in the kernels' unit, from the text after the ± sign.

    Parameters
    ----------
    text : str
        A quantity, or per cent of the value; for a share, per cent are percentage points. If it is empty there is no
        spread, and the result is None.
    value, number : object, float
        What stands before the ± sign, as it is written and in the kernels' unit.
    dimension, plain
        As for `units.si_value`.

    Raises
    ------
    ValueError
        If it is no quantity, below 0, or more than the value itself.

    Examples
    --------
    >>> [round(spread_size(text, "24 ft", 7.3152, "length"), 4) for text in ("2 ft", "10 %")]
    [0.6096, 0.7315]
    >>> spread_size("25 ft", "24 ft", 7.3152, "length")
    Traceback (most recent call last):
    ...
    ValueError: the spread of 25 ft is more than the value, 24 ft; say how far off it may be, such as +- 10 %
    """
    if not text:
        return None
    relative = text.endswith("%") and dimension != "fraction"
    if relative:
        size = number * si_value(text, "fraction")
    else:
        if dimension == "length" and is_plain(text) and not is_plain(value):
            raise ValueError(f"the spread of {text[:40]} has no unit; give one, such as +- 2 ft, or +- 10 %")
        size = si_value(text, dimension, plain=plain)
    if size < 0:
        raise ValueError(f"the spread of {text[:40]} is below 0; one sign is enough, such as +- 10 %")
    if size > number * (1 + 1e-9):
        problem = f"the spread of {text[:40]} is more than the value, {str(value)[:40]}"
        raise ValueError(f"{problem}; say how far off it may be, such as +- 10 %")
    return min(size, number)


def spread_days(text: str) -> float | None:
    """Return by how many days a date may be off, None for an empty text; ValueError if the text is no days.

    Examples
    --------
    >>> spread_days("10 days"), spread_days("7 d")
    (10.0, 7.0)
    """
    if not text:
        return None
    match = _DAYS.fullmatch(text)
    days = float(match[1]) if match else math.inf
    if days > MOST_DAYS:
        raise ValueError(f"the spread of {text[:40]!r} must be days, at most {MOST_DAYS:g}, such as +- 10 days")
    return days
