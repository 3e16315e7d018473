"""How much of the year's sun does each point see?

The obstacles around a point are drawn as a horizon, as intervals above it, and as leaves. What they hide is then
subtracted from the sky's table, or looked up for single steps of the sun's path. Choosing the pieces is done in
`culling` and `occlusion_culling`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.lookup.horizon import TOUCH, Corners, Walls, corner_arrays, raise_horizon, walls_of
from siteplan.sun.lookup.intervals import View, add_pieces, empty_view
from siteplan.sun.lookup.leaf_sums import subtract_leaves
from siteplan.sun.lookup.leaves import LeafLight, no_leaves
from siteplan.sun.lookup.table_sums import TableReads, empty_reads, subtract_hidden
from siteplan.sun.obstacles.bodies import Attenuation
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import CELLS, SPAN, Sky, SkyTable, Steps

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

CAPACITY = 16  # intervals in one direction; where there are more, everything is repeated with larger arrays


class Surroundings(NamedTuple):
    """Obstacles around points near each other, sorted by how they are drawn.

    Attributes
    ----------
    walls : Walls
        Opaque pieces on the ground, drawn as a horizon.
    corners : Corners
        Work arrays for the walls.
    pieces : Pieces
        All pieces.
    not_walls : ndarray of int, shape (m,)
        Numbers of the pieces that are drawn as intervals or leaves.
    ground : ndarray of float32, shape (1 or n, bins)
        Slope of the horizon of ground and far hills; one row for each point, or one for all.
    """

    walls: Walls
    corners: Corners
    pieces: Pieces
    not_walls: Integers
    ground: Singles


def surroundings(points: Floats, near: Integers, pieces: Pieces, ground: Singles) -> Surroundings:
    """Return the near pieces sorted by how they are drawn; `near` holds their numbers, ascending."""
    on_ground = pieces.bottom[near] - points[:, 2].min() <= TOUCH
    is_wall = pieces.opaque[near] & on_ground & (pieces.round[near] == 0)  # round pieces are faster as circles
    walls = walls_of(pieces, near[is_wall])
    rows = np.ascontiguousarray(ground)  # numba would compile everything again for another memory layout
    return Surroundings(walls, corner_arrays(len(walls.x)), pieces, near[~is_wall], rows)


def visible_sums(points: Floats, around: Surroundings, sky: Sky, attenuation: Attenuation) -> Singles:
    """Return the sum of the sky's table over the part that each point sees, shape (n, columns).

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Points near each other. [m]
    around : Surroundings
        Of these points.
    sky : Sky
        Whose table is summed.
    attenuation : Attenuation
        By the obstacles' bodies.
    """
    around = around._replace(ground=np.maximum(around.ground, sky.lowest))
    light = np.empty((len(points), len(sky.total)), dtype=np.float32)
    leaves = no_leaves(sky.table, attenuation.extinction, attenuation.state)
    capacity = CAPACITY
    while True:
        view = empty_view(sky.table, sky.highest, capacity=capacity, sides=_most_sides(around))
        reads = empty_reads(attenuation.opacity, capacity, states=attenuation.extinction.shape[1])
        most_intervals = _sum_point_by_point(points, around, view, leaves, reads, sky.table, sky.total, light)
        if most_intervals <= capacity:
            return light
        capacity = 2 * most_intervals


def light_by_step(
    points: Floats, around: Surroundings, table: SkyTable, steps: Steps, attenuation: Attenuation
) -> Floats:
    """Return the share of direct sun at each step of a path, summed over the points, shape (steps,).

    Parameters are those of `visible_sums`, and:

    table : SkyTable
        Whose bins are used.
    steps : Steps
        The sun's position in the table's bins, step by step.
    """
    light = np.zeros(len(steps.bin))
    endless = np.full(len(table.lowest_level), np.inf, dtype=np.float32)
    leaves = no_leaves(table, attenuation.extinction, attenuation.state)
    capacity = CAPACITY
    while True:
        view = empty_view(table, endless, capacity=capacity, sides=_most_sides(around))
        light[:] = 0
        most_intervals = _add_step_by_step(points, around, view, leaves, steps, attenuation.opacity, light)
        if most_intervals <= capacity:
            return light
        capacity = 2 * most_intervals


def _most_sides(around: Surroundings) -> int:
    """Return the most sides of a piece that is drawn as intervals or leaves, at least 3."""
    start = around.pieces.start
    return int((start[around.not_walls + 1] - start[around.not_walls]).max(initial=3))


@inlined
def _draw(point: Floats, ground: Singles, around: Surroundings, view: View, leaves: LeafLight) -> int:
    """Draw what a point sees into a view; return the most intervals in one direction, -1 inside an opaque piece."""
    for b in range(len(view.size)):
        view.horizon[b] = ground[b]
        view.size[b] = 0
    for span in range(len(leaves.end)):
        leaves.begin[span] = leaves.end[span] = 0
    if raise_horizon(point, around.walls, view.first, view.east, view.north, around.corners, view.horizon):
        return -1
    if add_pieces(point, around.pieces, around.not_walls, view, leaves):
        return -1
    most_intervals = 0
    for size in view.size:
        most_intervals = max(most_intervals, size)
    return most_intervals


@compiled_fused
def _sum_point_by_point(
    points: Floats, around: Surroundings, view: View, leaves: LeafLight, reads: TableReads, table: SkyTable,
    total: Singles, light: Singles,
) -> int:  # fmt: skip
    """Fill `light` point by point; return the most intervals in one direction.

    If that is more than the view's capacity, `light` is not valid: the caller repeats everything with larger arrays.
    """
    most_intervals, capacity = 0, view.interval.shape[1]
    for i in range(len(points)):
        interval_count = _draw(points[i], around.ground[min(i, len(around.ground) - 1)], around, view, leaves)
        for column in range(len(total)):  # assigning a slice would take numba longer to compile
            light[i, column] = total[column] if interval_count >= 0 else 0
        most_intervals = max(most_intervals, interval_count)
        if interval_count > capacity:
            return most_intervals
        if interval_count >= 0:
            subtract_hidden(table, view, leaves, reads, light[i])
            subtract_leaves(table, view, leaves, reads, light[i])
            for column in range(len(total)):
                light[i, column] = max(light[i, column], np.float32(0))
    return most_intervals


@compiled_fused
def _add_step_by_step(
    points: Floats, around: Surroundings, view: View, leaves: LeafLight, steps: Steps, opacity: Singles, light: Floats
) -> int:
    """Add each point's light at every step to `light`; return as `_sum_point_by_point` does."""
    most_intervals, capacity = 0, view.interval.shape[1]
    for i in range(len(points)):
        interval_count = _draw(points[i], around.ground[min(i, len(around.ground) - 1)], around, view, leaves)
        most_intervals = max(most_intervals, interval_count)
        if interval_count > capacity:
            return most_intervals
        if interval_count < 0:
            continue
        for step in range(len(steps.bin)):
            b, slope, column = steps.bin[step], steps.slope[step], steps.column[step]
            if slope < view.horizon[b]:
                continue
            share, last_body = _through_leaves(leaves, b, slope, leaves.state[column]), -1
            for slot in range(view.size[b]):
                body = int(view.interval[b, slot, 2])
                if view.interval[b, slot, 0] <= slope < view.interval[b, slot, 1] and body != last_body:
                    share *= np.float32(1) - opacity[body, column]
                    last_body = body
            light[step] += share
    return most_intervals


@inlined
def _through_leaves(leaves: LeafLight, b: int, slope: np.float32, state: int) -> np.float32:
    """Return the share that leaves let through in one direction: that of its cell."""
    cell = int(np.float32(CELLS) * (slope / (np.float32(1) + slope)))
    span = b // SPAN
    return leaves.transmittance[state, span, cell] if leaves.begin[span] <= cell < leaves.end[span] else np.float32(1)
