"""Which rays of the sun reach a point, step by step?

The ray towards the sun is cut with every side of every prism, holes included; nothing is binned.
It leaves out speed: it is the reference for the lookup, and serves single beds hour by hour.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.compiled import compiled
from siteplan.sun.pieces import Solids

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOUCH = 1e-6  # m; what rises less than this above a point, or hangs less above it, does not


@compiled
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
    for i in range(len(points)):
        for step in range(len(suns)):
            light[i, step] = _light(points[i], suns[step], solids, through[day[step]], crossings)


@compiled
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
    for i in range(len(points)):
        row = min(i, len(floor) - 1)
        for step in range(len(suns)):
            if suns[step, 2] < floor[row, step]:
                continue
            light = _light(points[i], suns[step], solids, through[day[step]], crossings)
            hours[i, column[step]] += light * weight[step, 0]
            hours[i, last] += light * weight[step, 1]


@compiled
def _most_sides(solids: Solids) -> int:
    most = 2
    for k in range(len(solids.start) - 1):
        most = max(most, solids.start[k + 1] - solids.start[k])
    return most


@compiled
def _light(point: Floats, sun: Floats, solids: Solids, through: Floats, crossings: Floats) -> float:
    """Return the share of the sun that reaches a point along one ray; each body counts once."""
    light = 1.0
    met = -1
    for k in range(len(solids.body)):
        body = solids.body[k]
        if body == met or through[body] == 1.0:
            continue
        east, north = solids.circle[k, 0] - point[0], solids.circle[k, 1] - point[1]
        aside = east * sun[1] - north * sun[0]
        if abs(aside) > solids.circle[k, 2] or east * sun[0] + north * sun[1] < -solids.circle[k, 2]:
            continue
        if _hits(point, sun, solids, k, crossings):
            met = body
            light *= through[body]
            if light == 0:
                return 0.0
    return light


@compiled
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


@compiled
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
