"""Where are names placed on the paper plan?

Each name goes beside its shape, where it covers the least of beds, places, piles, symbols, numbers and names that are
placed already. See `paper_plan` for drawing the text.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, top, right, bottom [mm]

#: height of a letter [mm], and its average width as a multiple of the height
TALL, BOLD, PLAIN = 3.1, 0.56, 0.5
_GAP = 0.5  # mm between a shape and its name


@dataclass(frozen=True)
class Name:
    """A name to place: its text, whether it is bold, and the box around the shape that it names."""

    text: str
    bold: bool
    shape: Box


def shared_areas(spots: Floats, boxes: Floats) -> Floats:
    """Return, for each box in `spots`, the area that overlaps those in `boxes`, shape (n,). [mm2]

    Parameters
    ----------
    spots : ndarray, shape (n, 4)
    boxes : ndarray, shape (m, 4)
        Left, top, right, bottom. [mm]

    Examples
    --------
    >>> shared_areas(np.array([[0.0, 0, 2, 2], [3, 3, 4, 4]]), np.array([[1.0, 1, 3, 3], [0, 0, 1, 1]])).tolist()
    [2.0, 0.0]
    """
    low = np.maximum(spots[:, None, :2], boxes[None, :, :2])
    high = np.minimum(spots[:, None, 2:], boxes[None, :, 2:])
    return np.asarray(np.prod(np.maximum(high - low, 0.0), axis=2).sum(axis=1))


def name_boxes(names: Sequence[Name], boxes_in_use: Sequence[Box], *, wide: float, tall: float) -> list[Box]:
    """Return the box of each name: below its shape if that is free, else where it covers least.

    Parameters
    ----------
    names : sequence of Name
        Placed in this order.
    boxes_in_use : sequence of (left, top, right, bottom)
        Boxes that names should not cover. [mm]
    wide, tall : float
        Size of the paper; the part of a name beyond its edge counts as covered. [mm]
    """
    busy = np.empty((len(boxes_in_use) + len(names), 4))
    busy[: len(boxes_in_use)] = np.reshape([*boxes_in_use], (-1, 4))
    paper = np.array([[0.0, 0.0, wide, tall]])
    boxes: list[Box] = []
    for number, name in enumerate(names, start=len(boxes_in_use)):
        spots = np.array(list(_spots(name)))
        beyond_paper = np.prod(spots[:, 2:] - spots[:, :2], axis=1) - shared_areas(spots, paper)
        hidden = shared_areas(spots, busy[:number]) + beyond_paper
        busy[number] = spots[int(np.argmin(np.round(hidden, 6)))]
        left, top, right, bottom = busy[number].tolist()
        boxes.append((left, top, right, bottom))
    return boxes


def _spots(name: Name) -> Iterator[Box]:
    """Yield the boxes around its shape that a name may take, the best first."""
    left, top, right, bottom = name.shape
    width = (BOLD if name.bold else PLAIN) * TALL * len(name.text)
    middle, beside = (left + right - width) / 2, (top + bottom - TALL) / 2
    for step in (0.0, 1.0, 2.0):
        gap_y, gap_x = _GAP + step * TALL, _GAP + step * 4
        yield from (
            (x, y, x + width, y + TALL)
            for x, y in (
                (middle, bottom + gap_y), (middle, top - gap_y - TALL),
                (right + gap_x, beside), (left - gap_x - width, beside),
                (right + gap_x, bottom + gap_y), (left - gap_x - width, bottom + gap_y),
                (right + gap_x, top - gap_y - TALL), (left - gap_x - width, top - gap_y - TALL),
            )
        )  # fmt: skip
