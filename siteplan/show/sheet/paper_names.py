"""Where do names stand on the paper plan?

Each beside its shape, where it hides least of beds, places, piles, symbols, numbers and the names set before it.
It leaves out how they are written: paper_plan does that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
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


def shared_areas(spots: Floats, others: Floats) -> Floats:
    """Return the area that each spot shares with all the others, shape (n,). [mm2]

    Parameters
    ----------
    spots : ndarray, shape (n, 4)
    others : ndarray, shape (m, 4)
        Left, top, right, bottom. [mm]

    Examples
    --------
    >>> shared_areas(np.array([[0.0, 0, 2, 2], [3, 3, 4, 4]]), np.array([[1.0, 1, 3, 3], [0, 0, 1, 1]])).tolist()
    [2.0, 0.0]
    """
    low = np.maximum(spots[:, None, :2], others[None, :, :2])
    high = np.minimum(spots[:, None, 2:], others[None, :, 2:])
    return np.asarray(np.prod(np.maximum(high - low, 0.0), axis=2).sum(axis=1))


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
    busy = np.empty((len(taken) + len(names), 4))
    busy[: len(taken)] = np.reshape([*taken], (-1, 4))
    paper = np.array([[0.0, 0.0, wide, tall]])
    found: list[Box] = []
    for number, name in enumerate(names, start=len(taken)):
        spots = np.array(list(_spots(name)))
        off = np.prod(spots[:, 2:] - spots[:, :2], axis=1) - shared_areas(spots, paper)
        hidden = shared_areas(spots, busy[:number]) + off
        busy[number] = spots[int(np.argmin(np.round(hidden, 6)))]
        left, top, right, bottom = busy[number].tolist()
        found.append((left, top, right, bottom))
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
