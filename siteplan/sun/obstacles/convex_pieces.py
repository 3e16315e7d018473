"""Into which convex pieces is an outline cut?

Constrained Delaunay triangles, which are merged as long as the result is convex (Hertel and Mehlhorn 1983). This
gives at most four times the fewest pieces possible.
"""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

CONVEX = 1e-9  # relative tolerance of area and length within which an outline counts as equal to its convex hull
FLAT = 1e-8  # m2; smaller triangles are dropped: seen from one of its ends, a sliver may seem to surround the point
Floats = NDArray[np.float64]
Corner = tuple[float, float]


def convex_rings(outline: Polygon) -> list[Floats]:
    """Return convex rings that together cover an outline, each counterclockwise, its first corner not repeated.

    Examples
    --------
    >>> from shapely import box
    >>> [ring.tolist() for ring in convex_rings(box(0, 0, 2, 1))]
    [[[2.0, 0.0], [2.0, 1.0], [0.0, 1.0], [0.0, 0.0]]]
    >>> courtyard = box(0, 0, 3, 3).difference(box(1, 1, 2, 2))
    >>> rings = convex_rings(courtyard)
    >>> len(rings) <= 8, round(sum(Polygon(ring).area for ring in rings), 9)
    (True, 8.0)
    """
    if outline.is_empty:
        return []
    if not outline.interiors and _is_convex(outline):
        return [_ring(outline)]
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    rings = [[(float(x), float(y)) for x, y in _ring(triangle)] for triangle in triangles if triangle.area > FLAT]
    return [np.array(ring) for ring in _joined(rings)]


def _is_convex(outline: Polygon) -> bool:
    """Return whether an outline equals its convex hull: a dent shows in its area, a slit in its perimeter."""
    hull = outline.convex_hull
    return bool(outline.area >= hull.area * (1 - CONVEX) and outline.length <= hull.length * (1 + CONVEX))


def _ring(polygon: Polygon) -> Floats:
    oriented = shapely.orient_polygons(polygon, exterior_cw=False)
    return np.asarray(shapely.get_coordinates(oriented.exterior)[:-1], dtype=np.float64)


def _joined(rings: list[list[Corner]]) -> list[list[Corner]]:
    """Merge rings across their shared sides as long as the result is convex."""
    ring_of = {side: number for number, ring in enumerate(rings) for side in _sides(ring)}
    for side in list(ring_of):
        start, end = side
        number, neighbour = ring_of.get(side), ring_of.get((end, start))
        if number is None or neighbour is None or number == neighbour:
            continue
        merged = _merged(rings[number], rings[neighbour], start, end)
        if merged is None:
            continue
        for moved_side in _sides(rings[neighbour]):
            ring_of[moved_side] = number
        del ring_of[side], ring_of[end, start]
        rings[number], rings[neighbour] = merged, []
    return [ring for ring in rings if ring]


def _sides(ring: list[Corner]) -> list[tuple[Corner, Corner]]:
    return list(itertools.pairwise([*ring, ring[0]]))


def _merged(ring: list[Corner], neighbour: list[Corner], start: Corner, end: Corner) -> list[Corner] | None:
    """Return two rings that share the side from `start` to `end` as one; None if that would not be convex."""
    at_end = ring.index(end)
    at_start = neighbour.index(start)
    from_end = ring[at_end:] + ring[:at_end]  # from end round to start
    from_start = neighbour[at_start:] + neighbour[:at_start]  # from start round to end
    turn_at_start = _turn(from_end[-2], start, from_start[1])
    turn_at_end = _turn(from_start[-2], end, from_end[1])
    if min(turn_at_start, turn_at_end) < 0:
        return None
    return from_end + from_start[1:-1]


def _turn(before: Corner, at: Corner, after: Corner) -> float:
    """Return the cross product of two sides that meet in a corner, positive where they turn left. [m2]"""
    return (at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])
