"""Which rays of the sun reach a point, step by step?

The ray towards the sun is cut with every side of every prism, holes included; nothing is binned.
It leaves out speed: it is the reference for the lookup, and serves single beds hour by hour.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused
from siteplan.sun.obstacles.packed_prisms import Solids

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOUCH = 1e-6  # m; what rises less than this above a point, or hangs less above it, does not
SECTORS = 720  # of the horizon; a ray is cut with what reaches into its own
MARGIN = 1e-6  # of a sector, for rounding


@compiled_fused
def light_by_step(
    points: Floats, solids: Solids, suns: Floats, through: Floats, day: Integers, light: Floats
) -> None:
    """Fill `light`, shape (n, steps), with the share of direct sun that reaches each point.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [m]
    solids : Solids
        What stands.
    suns : ndarray, shape (steps, 3)
        East and north of the direction towards the sun, of length 1 on the plan, and its slope.
    through : ndarray, shape (days, bodies)
        What each body lets through on each day.
    day : ndarray of int, shape (steps,)
        Row of `through`.
    """
    crossings = np.empty(_most_sides(solids))
    sector = _sectors_of(suns)
    for i in range(len(points)):
        begin, member, steepest = _stand_around(points[i], solids)
        for step in range(len(suns)):
            there = member[begin[sector[step]] : begin[sector[step] + 1]]
            light[i, step] = _light(points[i], suns[step], solids, there, steepest, through[day[step]], crossings)


@compiled_fused
def hours_by_column(
    points: Floats,
    solids: Solids,
    suns: Floats,
    through: Floats,
    day: Integers,
    floor: Floats,
    weight: Floats,
    column: Integers,
    hours: Floats,
) -> None:
    """Add the light of every step to `hours`, shape (n, columns).

    Parameters are those of `light_by_step`, and:

    floor : ndarray, shape (1 or n, steps)
        Slope of the horizon behind everything, in the direction of each step.
    weight : ndarray, shape (steps, 2)
        Of each step in its own column and in the last.
    column : ndarray of int, shape (steps,)
        The step's own column.
    """
    crossings = np.empty(_most_sides(solids))
    last = hours.shape[1] - 1
    sector = _sectors_of(suns)
    for i in range(len(points)):
        begin, member, steepest = _stand_around(points[i], solids)
        row = min(i, len(floor) - 1)
        for step in range(len(suns)):
            if suns[step, 2] < floor[row, step]:
                continue
            there = member[begin[sector[step]] : begin[sector[step] + 1]]
            light = _light(points[i], suns[step], solids, there, steepest, through[day[step]], crossings)
            hours[i, column[step]] += light * weight[step, 0]
            hours[i, last] += light * weight[step, 1]


@compiled_fused
def _most_sides(solids: Solids) -> int:
    most = 2
    for k in range(len(solids.start) - 1):
        most = max(most, solids.start[k + 1] - solids.start[k])
    return most


@compiled_fused
def _sectors_of(suns: Floats) -> Integers:
    """Return the sector of the horizon in which each sun stands, shape (steps,)."""
    sector = np.empty(len(suns), np.int64)
    for step in range(len(suns)):
        sector[step] = int((np.arctan2(suns[step, 0], suns[step, 1]) / (2 * np.pi) + 1) * SECTORS) % SECTORS
    return sector


@compiled_fused
def _stand_around(point: Floats, solids: Solids) -> tuple[Integers, Integers, Floats]:
    """Return which prisms reach into each sector around a point, and the steepest slope to anything of each prism.

    The first is where each sector begins in the second, shape (SECTORS + 1,), which holds prisms in ascending order.
    """
    count = len(solids.body)
    first, last, steepest = np.empty(count, np.int64), np.empty(count, np.int64), np.full(count, np.inf)
    begin = np.zeros(SECTORS + 2, np.int64)
    for k in range(count):
        east, north = solids.circle[k, 0] - point[0], solids.circle[k, 1] - point[1]
        away, radius = np.hypot(east, north), solids.circle[k, 2] + TOUCH
        first[k], last[k] = 0, SECTORS - 1
        if away > radius:
            middle, half = np.arctan2(east, north) / (2 * np.pi) + 1, np.arcsin(radius / away) / (2 * np.pi)
            first[k] = int(np.floor((middle - half) * SECTORS - MARGIN))
            last[k] = min(int(np.floor((middle + half) * SECTORS + MARGIN)), first[k] + SECTORS - 1)
            steepest[k] = (solids.top[k] - point[2]) / (away - radius)
        for sector in range(first[k], last[k] + 1):
            begin[sector % SECTORS + 2] += 1
    begin = begin.cumsum()
    member = np.empty(begin[-1], np.int64)
    for k in range(count):
        for sector in range(first[k], last[k] + 1):
            member[begin[sector % SECTORS + 1]] = k
            begin[sector % SECTORS + 1] += 1
    return begin, member, steepest


@compiled_fused
def _light(
    point: Floats, sun: Floats, solids: Solids, there: Integers, steepest: Floats, through: Floats, crossings: Floats
) -> float:
    """Return the share of the sun that reaches a point along one ray; each body counts once."""
    light = 1.0
    met = -1
    for k in there:
        body = solids.body[k]
        if sun[2] > steepest[k] or body == met or through[body] == 1.0:
            continue
        if _hits(point, sun, solids, k, crossings):
            met = body
            light *= through[body]
            if light == 0:
                return 0.0
    return light


@compiled_fused
def _hits(point: Floats, sun: Floats, solids: Solids, k: int, crossings: Floats) -> bool:
    """Return whether a ray meets a prism: between two crossings of its outline it must be above bottom, below top."""
    count = 0
    for side in range(solids.start[k], solids.start[k + 1]):
        ax, ay = solids.sides[side, 0] - point[0], solids.sides[side, 1] - point[1]
        bx, by = solids.sides[side, 2] - point[0], solids.sides[side, 3] - point[1]
        left_of_a, left_of_b = sun[0] * ay - sun[1] * ax, sun[0] * by - sun[1] * bx
        if (left_of_a > 0) == (left_of_b > 0):
            continue
        away = (ax * by - ay * bx) / (left_of_b - left_of_a)
        if away <= 0:
            continue
        n = count
        while n > 0 and crossings[n - 1] > away:
            crossings[n] = crossings[n - 1]
            n -= 1
        crossings[n] = away
        count += 1
    begin = 0.0
    for n in range(count):
        if (count - n) % 2 == 1 and _within_heights(point, sun, solids, k, begin, crossings[n]):
            return True
        begin = crossings[n]
    return False


@compiled_fused
def _within_heights(point: Floats, sun: Floats, solids: Solids, k: int, begin: float, end: float) -> bool:
    """Return whether the ray runs between a prism's bottom and top anywhere from `begin` to `end`. [m]"""
    bottom = solids.bottom[k] - point[2]
    if bottom > TOUCH:
        if sun[2] * end < bottom:
            return False
        begin = max(begin, bottom / sun[2])
    slope_east, slope_north, level = solids.plane[k]
    top = slope_east * point[0] + slope_north * point[1] + level - point[2]
    rise = slope_east * sun[0] + slope_north * sun[1] - sun[2]
    return bool(max(top + rise * begin, top + rise * end) > TOUCH)
