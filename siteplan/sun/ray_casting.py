"""Which rays of the sun reach a point, step by step?

Ray casting: the ray towards the sun is intersected with every side of every prism, holes included, without bins.
Leaves attenuate it by the length of its path through them. This is slow: it is the reference that the lookup is
tested against.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.compiled import compiled, compiled_fused
from siteplan.land.cores import core_count, on_all_cores
from siteplan.sun.obstacles.bodies import Body, body_of, extinctions, transmittances
from siteplan.sun.obstacles.outline_repair import sound_prisms
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TOUCH = 1e-6  # m; heights above a point that are smaller than this count as 0
SECTORS = 720  # of the horizon; a ray is intersected with the prisms that reach into its sector
MARGIN = 1e-6  # of a sector, for rounding


class Solids(NamedTuple):
    """Prisms with all their sides, holes included, for the exact test.

    Attributes
    ----------
    start : ndarray of int, shape (prisms + 1,)
        Where each prism's sides begin.
    sides : ndarray, shape (sides, 4)
        x and y of both ends. [m]
    bottom, top : ndarray, shape (prisms,)
        Lowest and highest point. [m]
    plane : ndarray, shape (prisms, 3)
        East slope, north slope and constant of the top.
    body : ndarray of int, shape (prisms,)
        Number of the body that each belongs to, ascending.
    circle : ndarray, shape (prisms, 3)
        x, y and radius of a circle around it. [m]
    """

    start: Integers
    sides: Floats
    bottom: Floats
    top: Floats
    plane: Floats
    body: Integers
    circle: Floats


def solids(prisms: Sequence[Prism]) -> tuple[Solids, tuple[Body, ...]]:
    """Return prisms as flat arrays of sides, and their bodies; invalid outlines are repaired first."""
    prisms = sound_prisms(prisms)
    order: dict[Body, int] = {}
    numbers = np.array([order.setdefault(body_of(prism), len(order)) for prism in prisms], dtype=np.int64)
    placed = [prisms[number] for number in np.argsort(numbers, kind="stable")]
    sides = [_sides(prism) for prism in placed]
    circles = []
    for prism in placed:
        west, south, east, north = prism.outline.bounds
        circles.append(((west + east) / 2, (south + north) / 2, np.hypot(east - west, north - south) / 2))
    packed = Solids(
        start=np.concatenate([[0], np.cumsum([len(side) for side in sides])]).astype(np.int64),
        sides=np.concatenate([*sides, np.empty((0, 4))]),
        bottom=np.array([prism.bottom for prism in placed], dtype=np.float64),
        top=np.array([prism.top for prism in placed], dtype=np.float64),
        plane=np.array([p.top_plane or (0.0, 0.0, p.top) for p in placed], dtype=np.float64).reshape(-1, 3),
        body=np.sort(numbers),
        circle=np.array(circles, dtype=np.float64).reshape(-1, 3),
    )
    return packed, tuple(order)


def _sides(prism: Prism) -> Floats:
    """Return both ends of each side of a prism, holes included, shape (sides, 4). [m]"""
    rings = [prism.outline.exterior, *prism.outline.interiors]
    corners = [shapely.get_coordinates(ring) for ring in rings]
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in corners])


def cast_light(points: Floats, path: SunPath, prisms: Sequence[Prism], ground: Floats) -> Floats:
    """Return the share of direct sun at each point and step of a path, shape (n, steps).

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    path : SunPath
    prisms : sequence of Prism
        The obstacles.
    ground : ndarray, shape (1 or n, steps)
        Slope of the horizon of ground and far hills, in the direction of each step.
    """
    light = np.zeros((len(points), len(path.hours)))
    obstacles, screens, leaves = _ready(prisms, path)
    suns = _suns(path)

    def cast(rows: slice) -> None:
        _cast(points[rows], obstacles, suns, screens, leaves, path.day - 1, _of_rows(ground, rows), light[rows])

    list(on_all_cores(cast, _parts(len(points))))
    return light


def cast_hours(points: Floats, path: SunPath, prisms: Sequence[Prism], ground: Floats, weight: Floats) -> Floats:
    """Return weighted sums of the light of all steps: twelve months, then the season, shape (n, 13).

    Parameters are those of `cast_light`, and:

    weight : ndarray, shape (steps, 2)
        Weight of each step in its month and in the season; the sums have its unit.
    """
    hours = np.zeros((len(points), 13))
    obstacles, screens, leaves = _ready(prisms, path)
    suns = _suns(path)

    def cast(rows: slice) -> None:
        light = np.zeros((1, len(path.hours)))
        for i in range(*rows.indices(len(points))):
            row = slice(i, i + 1)
            _cast(points[row], obstacles, suns, screens, leaves, path.day - 1, _of_rows(ground, row), light)
            hours[i, :12] = np.bincount(path.month - 1, weights=light[0] * weight[:, 0], minlength=12)
            hours[i, 12] = light[0] @ weight[:, 1]

    list(on_all_cores(cast, _parts(len(points))))
    return hours


def _of_rows(ground: Floats, rows: slice) -> Floats:
    """Return the rows of the ground's slopes, or its single row, in the memory layout that numba compiled for."""
    return np.ascontiguousarray(ground if len(ground) == 1 else ground[rows])


def _parts(count: int) -> list[slice]:
    """Return `count` rows cut into equal slices, a few for each core."""
    ends = np.linspace(0, count, min(count, 4 * core_count()) + 1).astype(np.int64).tolist()
    return [slice(begin, end) for begin, end in itertools.pairwise(ends)]


def _ready(prisms: Sequence[Prism], path: SunPath) -> tuple[Solids, Floats, Floats]:
    """Return the obstacles as flat arrays, the transmittance of screens and the extinction of leaves.

    The last two have the shape (days, bodies); 1 is the transmittance of leaves there, 0 the extinction of screens.
    """
    packed, bodies = solids(prisms)
    days = np.arange(1, len(path.day_month) + 1)
    leaves = np.array([body.is_leaves for body in bodies], dtype=np.bool_)
    screens = np.where(leaves[:, None], 1.0, transmittances(bodies, days))
    return packed, np.ascontiguousarray(screens.T), np.ascontiguousarray(extinctions(bodies, days).T)


def _suns(path: SunPath) -> Floats:
    """Return the east and north components of the direction to the sun, and its slope, at each step, (steps, 3)."""
    azimuth = np.radians(path.azimuth)
    return np.column_stack([np.sin(azimuth), np.cos(azimuth), np.tan(np.radians(path.elevation))])


@compiled
def _cast(
    points: Floats, solids: Solids, suns: Floats, screens: Floats, leaves: Floats, day: Integers, ground: Floats,
    light: Floats,
) -> None:  # fmt: skip
    """Fill `light`, shape (n, steps).

    `screens` are transmittances and `leaves` extinctions, shape (days, bodies); `day` is the row for each step.
    """
    crossings = np.empty(_most_sides(solids))
    sector = _sectors_of(suns)
    for i in range(len(points)):
        begin, member, steepest = _stand_around(points[i], solids)
        ground_row = min(i, len(ground) - 1)
        for step in range(len(suns)):
            prisms_there = member[begin[sector[step]] : begin[sector[step] + 1]]
            light[i, step] = 0.0
            if suns[step, 2] >= ground[ground_row, step]:
                today = day[step]
                light[i, step] = _light(
                    points[i], suns[step], solids, prisms_there, steepest, screens[today], leaves[today], crossings
                )


@compiled_fused
def _most_sides(solids: Solids) -> int:
    """Return the most sides of a prism, at least 2."""
    count = 2
    for k in range(len(solids.start) - 1):
        count = max(count, solids.start[k + 1] - solids.start[k])
    return count


@compiled
def _sectors_of(suns: Floats) -> Integers:
    """Return the sector of the horizon in which the sun stands at each step, shape (steps,)."""
    sector = np.empty(len(suns), np.int64)
    for step in range(len(suns)):
        sector[step] = int((np.arctan2(suns[step, 0], suns[step, 1]) / (2 * np.pi) + 1) * SECTORS) % SECTORS
    return sector


@compiled
def _stand_around(point: Floats, solids: Solids) -> tuple[Integers, Integers, Floats]:
    """Return which prisms reach into each sector around a point, and a bound of the slope to each prism.

    Returns
    -------
    begin : ndarray of int, shape (SECTORS + 2,)
        Where each sector's prisms begin in `member`.
    member : ndarray of int
        Numbers of the prisms, sector by sector, ascending in each.
    steepest : ndarray, shape (prisms,)
        No part of the prism is seen at a steeper slope; infinite if the point may lie within it.
    """
    count = len(solids.body)
    first, last, steepest = np.empty(count, np.int64), np.empty(count, np.int64), np.full(count, np.inf)
    begin = np.zeros(SECTORS + 2, np.int64)
    for k in range(count):
        east, north = solids.circle[k, 0] - point[0], solids.circle[k, 1] - point[1]
        distance, radius = np.hypot(east, north), solids.circle[k, 2] + TOUCH
        first[k], last[k] = 0, SECTORS - 1
        if distance > radius:
            middle, half = np.arctan2(east, north) / (2 * np.pi) + 1, np.arcsin(radius / distance) / (2 * np.pi)
            first[k] = int(np.floor((middle - half) * SECTORS - MARGIN))
            last[k] = min(int(np.floor((middle + half) * SECTORS + MARGIN)), first[k] + SECTORS - 1)
            steepest[k] = (solids.top[k] - point[2]) / (distance - radius)
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
    point: Floats, sun: Floats, solids: Solids, prisms_there: Integers, steepest: Floats, screens: Floats,
    leaves: Floats, crossings: Floats,
) -> float:  # fmt: skip
    """Return the share of the sun that reaches a point along one ray: screens count once, leaves by path length."""
    light, last_screen = 1.0, -1
    slant = np.sqrt(1 + sun[2] * sun[2])  # length of the ray for each metre of horizontal distance
    for k in prisms_there:
        body = solids.body[k]
        if sun[2] > steepest[k] or body == last_screen or (screens[body] == 1.0 and leaves[body] == 0):
            continue
        path = _way_within(point, sun, solids, k, crossings)
        if leaves[body] > 0:
            light *= np.exp(-leaves[body] * max(path, 0.0) * slant)
        elif path >= 0:
            last_screen = body
            light *= screens[body]
            if light == 0:
                return 0.0
    return light


@compiled_fused
def _way_within(point: Floats, sun: Floats, solids: Solids, k: int, crossings: Floats) -> float:
    """Return the horizontal length of a ray within a prism; negative if it misses the prism. [m]

    Seen from above, the ray is inside between every other pair of crossings of the outline. Of this the part between
    bottom and top counts.
    """
    count = _cross(point, sun, solids, k, crossings)
    begin, path = 0.0, -1.0
    for n in range(count):
        if (count - n) % 2 == 1:
            inside = _between_heights(point, sun, solids, k, begin, crossings[n])
            if inside >= 0:
                path = max(path, 0.0) + inside
        begin = crossings[n]
    return path


@compiled_fused
def _cross(point: Floats, sun: Floats, solids: Solids, k: int, crossings: Floats) -> int:
    """Set the horizontal distances at which a ray crosses a prism's outline, ascending; return how many. [m]"""
    count = 0
    for side in range(solids.start[k], solids.start[k + 1]):
        ax, ay = solids.sides[side, 0] - point[0], solids.sides[side, 1] - point[1]
        bx, by = solids.sides[side, 2] - point[0], solids.sides[side, 3] - point[1]
        left_of_a, left_of_b = sun[0] * ay - sun[1] * ax, sun[0] * by - sun[1] * bx
        if (left_of_a > 0) == (left_of_b > 0):
            continue
        distance = (ax * by - ay * bx) / (left_of_b - left_of_a)
        if distance <= 0:
            continue
        n = count
        while n > 0 and crossings[n - 1] > distance:
            crossings[n] = crossings[n - 1]
            n -= 1
        crossings[n] = distance
        count += 1
    return count


@compiled_fused
def _between_heights(point: Floats, sun: Floats, solids: Solids, k: int, begin: float, end: float) -> float:
    """Return the length from `begin` to `end` in which a ray is between bottom and top; negative if none is. [m]"""
    bottom = solids.bottom[k] - point[2]
    if bottom > TOUCH:
        if sun[2] * end < bottom:
            return -1.0
        begin = max(begin, bottom / sun[2])
    slope_east, slope_north, level = solids.plane[k]
    top = slope_east * point[0] + slope_north * point[1] + level - point[2]
    fall = sun[2] - slope_east * sun[0] - slope_north * sun[1]  # by how much the top falls against the ray, per metre
    if max(top - fall * begin, top - fall * end) <= TOUCH:
        return -1.0
    if fall > 0:
        return float(min(end, top / fall) - begin)
    return end - (max(begin, top / fall) if fall < 0 else begin)
