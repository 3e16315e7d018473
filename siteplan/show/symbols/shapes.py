"""Which lines does a feature have in a drawn plan?

Coordinates in metres, rounded to the millimetre: roofs with their ridge, crowns with a lobed or a spiked edge, arrows
along a run. It leaves out colours and pages: the map and the work sheet draw the same lines.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Building, Tree
from siteplan.land.outline import smallest_rectangle

Points = list[list[float]]


def points_of(shape: BaseGeometry) -> Points:
    """Return the points of a line or a ring. [m]

    Examples
    --------
    >>> points_of(LineString([(0, 0), (1, 2.00049)]))
    [[0.0, 0.0], [1.0, 2.0]]
    """
    rounded: Points = (np.round(shapely.get_coordinates(shape), 3) + 0.0).tolist()
    return rounded


def drawn(shape: BaseGeometry) -> dict[str, Any]:
    """Return a shape as the page's scripts read it: its type and its points.

    Examples
    --------
    >>> from shapely import Point
    >>> drawn(Point(1, 2))
    {'g': 'point', 'c': [1.0, 2.0]}
    >>> drawn(LineString([(0, 0), (1, 1)]))
    {'g': 'line', 'c': [[[0.0, 0.0], [1.0, 1.0]]]}
    """
    if isinstance(shape, (Polygon, MultiPolygon)):
        polygons = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
        rings = [[points_of(ring)[:-1] for ring in (part.exterior, *part.interiors)] for part in polygons]
        return {"g": "area", "c": rings}
    if isinstance(shape, (LineString, MultiLineString)):
        lines = shape.geoms if isinstance(shape, MultiLineString) else [shape]
        return {"g": "line", "c": [points_of(line) for line in lines]}
    return {"g": "point", "c": points_of(shape)[0]}


def ridge_line(building: Building) -> LineString | None:
    """Return the ridge of a gabled roof, seen from above; None for a flat roof.

    Examples
    --------
    >>> from shapely import box
    >>> house = Building(id="house", outline=box(0, 0, 10, 6), height=7, eaves=4)
    >>> print(ridge_line(house).wkt)
    LINESTRING (0 3, 10 3)
    """
    if building.eaves is None or building.eaves >= building.height:
        return None
    long_heading = smallest_rectangle(building.outline)[2]
    heading = math.radians(building.ridge_heading if building.ridge_heading is not None else long_heading)
    middle = shapely.centroid(building.outline)
    reach = shapely.minimum_bounding_radius(building.outline) * 2
    along = np.array([math.sin(heading), math.cos(heading)]) * reach
    centre = np.array([middle.x, middle.y])
    cut = shapely.intersection(LineString([centre - along, centre + along]), building.outline)
    parts = [part for part in shapely.get_parts(cut) if isinstance(part, LineString)]
    if not parts:
        return None
    longest = max(parts, key=shapely.length)
    return LineString(np.round(shapely.get_coordinates(longest), 6) + 0.0)


def crown_edges(tree: Tree) -> list[Polygon]:
    """Return a tree crown as it is drawn: with rounded lobes if deciduous, with spikes if evergreen.

    Lobes and spikes reach beyond the true edge of the crown by up to half their width, at most 45 cm.
    """
    parts = shapely.get_parts(tree.outline)
    return [_edged(part, spiked=tree.foliage == "evergreen") for part in parts if isinstance(part, Polygon)]


def _edged(outline: Polygon, *, spiked: bool) -> Polygon:
    """Return an outline with lobes or spikes along its edge."""
    ring = shapely.get_exterior_ring(outline)
    if not shapely.is_ccw(ring):
        ring = shapely.reverse(ring)
    length = shapely.length(ring)
    width = min(max(length / (26 if spiked else 18), 0.35), 1.6)
    count = max(8, round(length / width))
    stops = np.arange(count + 1) / count * length
    feet: NDArray[np.float64] = shapely.get_coordinates(shapely.line_interpolate_point(ring, stops))
    rise = min(0.45, width / 2) if spiked else min(0.4, width / 3.2)
    shares = np.array([0.0, 0.5]) if spiked else np.linspace(0, 1, 6)[:-1]
    steps = np.diff(feet, axis=0)
    outward = np.column_stack([steps[:, 1], -steps[:, 0]]) / np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
    along = feet[:-1, None] + shares[:, None] * steps[:, None]
    points = along + outward[:, None] * (rise * np.sin(np.pi * shares))[:, None]
    return Polygon(np.round(points.reshape(-1, 2), 3))


def arrow_marks(line: LineString, *, every: float) -> list[tuple[float, float, float]]:
    """Return the position and direction of arrows along a line: x, y [m] and azimuth [degrees].

    Examples
    --------
    >>> arrow_marks(LineString([(0, 0), (10, 0)]), every=5)
    [(5.0, 0.0, 90.0)]
    """
    length = float(shapely.length(line))
    count = max(1, int(length / every) - 1) if length > 0 else 0
    marks = []
    for number in range(1, count + 1):
        distance = length * number / (count + 1)
        behind, middle, ahead = shapely.get_coordinates(
            shapely.line_interpolate_point(line, [max(distance - 0.2, 0), distance, min(distance + 0.2, length)]),
        )
        east, north = ahead - behind
        azimuth = math.degrees(math.atan2(east, north)) % 360
        marks.append((round(float(middle[0]), 3), round(float(middle[1]), 3), round(azimuth, 1)))
    return marks
