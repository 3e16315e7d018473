"""How much of the year's sun does each point see?

What stands is drawn around a point as a horizon and veils over it; what they hide is taken from the sky's table.
It leaves out choosing the pieces.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused
from siteplan.sun.lookup.horizon import TOUCH, Around, Walls, draw_walls, room_around, walls_of
from siteplan.sun.lookup.intervals import View, hang_veils, view_of
from siteplan.sun.lookup.table_sums import Notes, room_for_notes, take_away
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import Sky, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]


def light_left(
    points: Floats,
    near: Integers,
    pieces: Pieces,
    sky: Sky,
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
    pieces, sky
        What stands, and what it hides.
    share : ndarray of float32, shape (bodies, columns)
        Of the sun that each body takes in each spell.
    floor : ndarray of float32, shape (1 or n, bins)
        Slope of the horizon behind everything.
    room : int
        For how many veils there is room in each direction; where more are met the answer is void.
    """
    on_ground = pieces.bottom[near] - points[:, 2].min() <= TOUCH
    is_wall = pieces.opaque[near] & on_ground & (pieces.round[near] == 0)  # what is round is drawn faster as a circle
    other = near[~is_wall]
    sides = int((pieces.start[other + 1] - pieces.start[other]).max(initial=3))
    walls = walls_of(pieces, near[is_wall])
    view = view_of(sky.table, sky.highest, room=room, sides=sides)
    notes = room_for_notes(share, room)
    around = room_around(len(walls.x))
    ground = np.maximum(floor, sky.lowest)
    return int(
        _light_of_points(points, walls, around, pieces, other, view, notes, sky.table, ground, sky.total, left)
    )


@compiled_fused
def _light_of_points(
    points: Floats, walls: Walls, around: Around, pieces: Pieces, other: Integers, view: View, notes: Notes,
    table: SkyTable, floor: Singles, total: Singles, left: Singles,
) -> int:  # fmt: skip
    """Fill `left` point by point; return the most veils in one direction."""
    most, room = 0, view.veils.shape[1]
    for i in range(len(points)):
        row = min(i, len(floor) - 1)
        for b in range(len(view.size)):
            view.horizon[b] = floor[row, b]
            view.size[b] = 0
        for column in range(len(total)):  # a slice assigned brings its error messages, long to compile
            left[i, column] = 0
        if draw_walls(points[i], walls, view.first, view.east, view.north, around, view.horizon):
            continue
        if hang_veils(points[i], pieces, other, view):
            continue
        for column in range(len(total)):
            left[i, column] = total[column]
        for size in view.size:
            most = max(most, size)
        if most <= room:
            take_away(table.below, table.lowest, view, notes, left[i])
    return most
