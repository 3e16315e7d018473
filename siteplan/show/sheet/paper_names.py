"""Where do names stand on the paper plan?

Each beside its shape, where it hides least of beds, places, piles, symbols, numbers and the names set before it.
It leaves out how they are written: paper_plan does that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

Box = tuple[float, float, float, float]  # left, top, right, bottom [mm]

#: mm; a letter of the names is about so tall, and so many times that wide on average
TALL, BOLD, PLAIN = 3.1, 0.56, 0.5
_GAP = 0.5  # mm between a shape and its name


@dataclass(frozen=True)
class Name:
    """A name to set: its text, whether it is bold, and the box of what it names."""

    text: str
    bold: bool
    shape: Box


def shared_area(one: Box, other: Box) -> float:
    """Return the area that two boxes share. [mm2]

    Examples
    --------
    >>> shared_area((0, 0, 2, 2), (1, 1, 3, 3)), shared_area((0, 0, 1, 1), (1, 0, 2, 1))
    (1, 0.0)
    """
    wide, tall = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    return wide * tall if wide > 0 and tall > 0 else 0.0


def name_boxes(names: Sequence[Name], taken: Sequence[Box], *, wide: float, tall: float) -> list[Box]:
    """Return where each name stands: where it hides least, below its shape if that is free.

    Parameters
    ----------
    names : sequence of Name
        The first have the first choice.
    taken : sequence of (left, top, right, bottom)
        What no name should lie on. [mm]
    wide, tall : float
        Of the paper; a name off its edge counts as hidden. [mm]
    """
    busy = list(taken)
    found = []
    for name in names:
        spots = list(_spots(name))
        hidden = [sum(shared_area(spot, other) for other in busy) + _off(spot, wide, tall) for spot in spots]
        best = spots[min(range(len(spots)), key=hidden.__getitem__)]
        busy.append(best)
        found.append(best)
    return found


def _spots(name: Name) -> Iterator[Box]:
    """Yield where a name may stand around its shape, the best first."""
    left, top, right, bottom = name.shape
    width = (BOLD if name.bold else PLAIN) * TALL * len(name.text)
    middle, beside = (left + right - width) / 2, (top + bottom - TALL) / 2
    for step in (0.0, 1.0, 2.0):
        down, aside = _GAP + step * TALL, _GAP + step * 4
        yield from (
            (x, y, x + width, y + TALL)
            for x, y in (
                (middle, bottom + down), (middle, top - down - TALL),
                (right + aside, beside), (left - aside - width, beside),
                (right + aside, bottom + down), (left - aside - width, bottom + down),
                (right + aside, top - down - TALL), (left - aside - width, top - down - TALL),
            )
        )  # fmt: skip


def _off(spot: Box, wide: float, tall: float) -> float:
    """Return how much of a box lies off the paper. [mm2]"""
    return (spot[2] - spot[0]) * (spot[3] - spot[1]) - shared_area(spot, (0.0, 0.0, wide, tall))
