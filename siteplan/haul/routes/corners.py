"""Around which corners of barriers does the quickest path go?

On even ground a shortest path turns only at corners of barriers. So it is a shortest path in the visibility graph:
straight free lines from corner to corner. Only the lines that may help are timed. Turns where only the ground changes
are not considered here.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from siteplan.haul.routes.least_time import line_time
from siteplan.land.compiled import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]
Layers = tuple[Floats, Floats, Floats, Floats, bool, Floats]

ASIDE = 1e-4  # cells; distance of a turning point from a blocked cell's corner
CLEAR = 0.02  # cells; room that a turning point keeps, if room is known
# an edge counts as a rounded corner if REACH cells along it, both ways, there are BENT more cells of room
REACH, BENT = 3.0, 0.3
LONGER = 1.1  # a search on the grid may find a time this much longer than the least ...
APART = 3.0  # ... plus this many cells


def corners_of(level: Floats, room: Floats | None) -> Floats:
    """Return where a path may turn: beside convex corners of barriers.

    Parameters
    ----------
    level : ndarray, shape (rows, columns)
        Time of a metre on the level, infinite where blocked. [s/m]
    room : ndarray, shape (rows, columns), or None
        Free distance at each cell's centre, as in `CostField`; None if only whole cells are blocked. [cells]

    Returns
    -------
    ndarray, shape (n, 2)
        Column and row. [cells]
    """
    barred = ~np.isfinite(level) if room is None else room < 0
    windows = np.stack([barred[:-1, :-1], barred[:-1, 1:], barred[1:, :-1], barred[1:, 1:]])
    row, column = np.nonzero(windows.sum(axis=0) == 1)
    barred_quarter = np.argmax(windows[:, row, column], axis=0)
    diagonal = np.column_stack(
        [np.where(barred_quarter % 2 == 0, 1.0, -1.0), np.where(barred_quarter < 2, 1.0, -1.0)]
    )
    points = np.column_stack([column, row]) + 1.0 + ASIDE * diagonal
    return points if room is None else _beside_round_corners(points, room)


def _beside_round_corners(points: Floats, room: Floats) -> Floats:
    """Return the points moved to where room is CLEAR, without those at which that edge is straight."""
    inner = np.array(room.shape)[::-1] - 2.0 - REACH
    points = points[((points > REACH + 2) & (points < inner)).all(axis=1)]
    for _ in range(3):
        uphill = _uphill(points, room)
        points = points + uphill * (CLEAR - _room_at(points, room))[:, None]
    along = _uphill(points, room)[:, ::-1] * [-1.0, 1.0]
    beside = np.minimum(_room_at(points + REACH * along, room), _room_at(points - REACH * along, room))
    return np.asarray(points[(beside > BENT) & (_room_at(points, room) >= 0)])


def _uphill(points: Floats, room: Floats) -> Floats:
    """Return the unit vector in which room grows, shape (n, 2)."""
    east, south = np.array([0.5, 0.0]), np.array([0.0, 0.5])
    uphill = np.column_stack(
        [_room_at(points + axis, room) - _room_at(points - axis, room) for axis in (east, south)]
    )
    return np.asarray(uphill / np.maximum(np.hypot(*uphill.T), 1e-9)[:, None])


def _room_at(points: Floats, room: Floats) -> Floats:
    """Return the room at points by bilinear interpolation, as `least_time.room_at` does, shape (n,). [cells]"""
    from scipy.ndimage import map_coordinates

    return np.asarray(map_coordinates(room, points.T[::-1] - 0.5, order=1, mode="nearest"))


def quickest_by_corners(
    start: Floats, end: Floats, corners: Floats, seconds: Floats, most: float, layers: Layers, *, towards: bool
) -> Floats | None:
    """Return the quickest path of straight lines from corner to corner, shape (k, 2); None if not below `most`.

    Parameters
    ----------
    start, end : ndarray, shape (2,)
        Column and row, in cells.
    corners : ndarray, shape (n, 2)
        Where the path may turn.
    seconds : ndarray, shape (n,)
        Least time from `start` to each corner by the search on the grid. [s]
    most : float
        Time of the path known so far. [s]
    layers : tuple
        Arguments of `line_time` after the two points.
    towards : bool
        Whether it is walked from `end` to `start`; it is returned from `start` to `end` in any case.
    """
    level = layers[0]
    fastest = float(np.min(level))
    onward = np.hypot(*(corners - end).T) * fastest
    from_start = np.hypot(*(corners - start).T) * fastest
    least_times = np.maximum(from_start, seconds / LONGER - APART * fastest)
    useful = np.flatnonzero(least_times + onward < most)
    if not len(useful):
        return None
    points = np.vstack([start, corners[useful], end])
    to_end = np.append(np.append(0.0, onward[useful]), 0.0)
    count = len(points)
    time, previous = np.full(count, np.inf), np.full(count, -1, dtype=np.int32)
    time[-1] = most
    _search(points, to_end, time, previous, np.zeros(count, dtype=np.bool_), fastest, towards, layers)
    chain = [count - 1]
    while previous[chain[-1]] >= 0:
        chain.append(int(previous[chain[-1]]))
    return points[chain[::-1]] if len(chain) > 1 else None


@compiled
def _search(
    points: Floats, to_end: Floats, time: Floats, previous: Ints, settled: NDArray[np.bool_], fastest: float,
    towards: bool, layers: Layers,  # noqa: FBT001
) -> None:  # fmt: skip
    """Fill in the least time to each point and the point before it, by A*; only lines that may help are timed."""
    goal = len(points) - 1
    time[0] = 0.0
    while True:
        point = goal
        for k in range(goal):
            if not settled[k] and time[k] + to_end[k] < time[point] + to_end[point]:
                point = k
        if point == goal:
            return
        settled[point] = True
        for k in range(goal, 0, -1):
            if settled[k]:
                continue
            length = math.hypot(points[k, 0] - points[point, 0], points[k, 1] - points[point, 1])
            fastest_arrival = time[point] + length * fastest
            if fastest_arrival >= time[k] or fastest_arrival + to_end[k] >= time[goal]:
                continue
            if towards:
                duration = line_time(points[k], points[point], *layers)
            else:
                duration = line_time(points[point], points[k], *layers)
            if time[point] + duration < time[k]:
                time[k] = time[point] + duration
                previous[k] = point
