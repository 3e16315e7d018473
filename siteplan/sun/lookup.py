"""How much of the year's sun does each point see?

What stands is drawn around a point as a horizon and veils over it; what they hide is taken from the sky's table.
It leaves out choosing the pieces.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.compiled import compiled
from siteplan.sun.pieces import Pieces
from siteplan.sun.sky import LEVELS, SkyTable
from siteplan.sun.taking import take_away
from siteplan.sun.veils import View, hang_veils
from siteplan.sun.walls import TOUCH, draw_walls, room_around, walls_of

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]


@compiled
def light_left(
    points: Floats,
    near: Integers,
    pieces: Pieces,
    table: SkyTable,
    highest: Singles,
    share: Singles,
    floor: Singles,
    room: int,
    left: Singles,
) -> int:
    """Fill `left` with the hours that each point sees, shape (n, columns); return the most veils in one direction.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        That lie near each other. [m]
    near : ndarray of int, shape (m,)
        The pieces that may matter to these points, ascending.
    pieces, table
        What stands, and the sky.
    highest : ndarray of float32, shape (bins,)
        Slope above which the sky holds nothing.
    share : ndarray of float32, shape (bodies, columns)
        Of the sun that each body takes in each spell.
    floor : ndarray of float32, shape (1 or n, bins)
        Slope of the horizon behind everything.
    room : int
        For how many veils there is room in each direction; where more are met the answer is void.
    """
    bins, columns = table.toward.shape[1], table.below.shape[2]
    solid, other, sides = _parted(pieces, near, _lowest(points))
    walls = walls_of(pieces, solid)
    around = room_around(len(walls.x))
    ring, first = np.empty((4, sides + 1)), np.empty(sides + 1, np.int64)
    view = View(
        table.toward[0], table.toward[1], table.first, np.empty(bins, np.float32), highest,
        np.empty(bins, np.int64), np.empty((bins, room, 3), np.float32),
        np.empty(bins, np.float32), np.empty(bins, np.float32),
    )  # fmt: skip
    ends, rows = np.empty(2 * room, np.float32), np.empty((3, columns), np.float32)
    least, total = np.empty(bins, np.float32), np.zeros(columns, np.float32)
    nothing = np.zeros(columns, np.float32)
    for b in range(bins):
        least[b] = table.lowest[b] / max(LEVELS - table.lowest[b], 1e-3) if table.lowest[b] > 0 else 0.0
        for column in range(columns):
            total[column] += table.below[b, -1, column]
    most = 0
    for i in range(len(points)):
        row = min(i, len(floor) - 1)
        for b in range(bins):
            view.horizon[b] = max(floor[row, b], least[b])
            view.size[b] = 0
        _copy(nothing, left[i])
        if draw_walls(points[i], walls, table.first, view.east, view.north, around, view.horizon):
            continue
        if hang_veils(points[i], pieces, other, view, ring, first):
            continue
        _copy(total, left[i])
        most = max(most, _largest(view.size))
        if most <= room:
            take_away(table.below, table.lowest, share, view, ends, rows, left[i])
    return most


@compiled
def _copy(values: Singles, place: Singles) -> None:
    for n in range(len(values)):  # a slice assigned brings its error messages, long to compile
        place[n] = values[n]


@compiled
def _largest(values: Integers) -> int:
    largest = 0
    for value in values:
        largest = max(largest, value)
    return largest


@compiled
def _lowest(points: Floats) -> float:
    lowest = points[0, 2]
    for i in range(len(points)):
        lowest = min(lowest, points[i, 2])
    return float(lowest)


@compiled
def _parted(pieces: Pieces, near: Integers, height: float) -> tuple[Integers, Integers, int]:
    """Return which pieces hide all from their top down at a height and above, which do not, and the most sides."""
    solid, other = np.empty(len(near), np.int64), np.empty(len(near), np.int64)
    walls, veils, sides = 0, 0, 3
    for piece in near:
        if pieces.opaque[piece] and pieces.bottom[piece] - height <= TOUCH:
            solid[walls] = piece
            walls += 1
        else:
            other[veils] = piece
            veils += 1
            sides = max(sides, pieces.start[piece + 1] - pieces.start[piece])
    return solid[:walls], other[:veils], sides
