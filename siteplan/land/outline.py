"""How long, wide and thick is an outline, which way does it run, and which of its sides faces the pole?

By the smallest rectangle around it; its mean width and thickness by its perimeter and area.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

#: compass points as azimuths, clockwise from true north [degrees]
COMPASS = {"north": 0.0, "northeast": 45.0, "east": 90.0, "southeast": 135.0}
COMPASS |= {"south": 180.0, "southwest": 225.0, "west": 270.0, "northwest": 315.0}
SAME_POINT = 1e-6  # m; far below what a tape or a map tells apart
SPECK = 1e-6  # m2; a square of a millimetre
_HUGE = 1e9  # m; longer than twenty times around the earth


def nearest_compass_point(azimuth: float) -> str:
    """Return the nearest of the eight compass points.

    Parameters
    ----------
    azimuth : float
        Clockwise from true north, any number of turns. [degrees]

    Examples
    --------
    >>> nearest_compass_point(22), nearest_compass_point(23), nearest_compass_point(-100), nearest_compass_point(359)
    ('north', 'northeast', 'west', 'north')
    """
    return tuple(COMPASS)[round(azimuth % 360 / 45) % 8]


def rectangle(x: float, y: float, *, length: float, width: float, heading: float) -> Polygon:
    """Return the rectangle centred at (x, y) whose long axis points along `heading`.

    Parameters
    ----------
    x, y, length, width : float
        [m]
    heading : float
        Of the long axis, clockwise from true north. [degrees]

    Examples
    --------
    >>> rectangle(0, 0, length=4, width=2, heading=90).bounds
    (-2.0, -1.0, 2.0, 1.0)
    """
    turn = math.radians(heading)
    along = np.array([math.sin(turn), math.cos(turn)]) * length / 2
    across = np.array([math.cos(turn), -math.sin(turn)]) * width / 2
    centre = np.array([x, y])
    corners = [
        centre - along - across,
        centre + along - across,
        centre + along + across,
        centre - along + across,
    ]
    return Polygon(np.round(corners, 9))


def smallest_rectangle(outline: BaseGeometry) -> tuple[float, float, float]:
    """Return length, width and heading of the smallest rectangle around an outline.

    Returns
    -------
    length, width : float
        Long and short side. [m]
    heading : float
        Of the long axis, clockwise from true north, 0 <= heading < 180; 0 for a square set north. [degrees]

    Examples
    --------
    >>> [round(value, 6) for value in smallest_rectangle(rectangle(3, 4, length=4, width=2, heading=30))]
    [4.0, 2.0, 30.0]
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    if len(corners) < 4:
        length = float(shapely.length(outline))
        return length, 0.0, 0.0
    sides = np.diff(corners[:3], axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    headings = np.degrees(np.arctan2(sides[:, 0], sides[:, 1])) % 180
    headings = np.where(headings > 180 - 1e-6, 0.0, headings)
    if math.isclose(lengths[0], lengths[1], rel_tol=1e-6):
        longer = int(np.argmin(headings))
    else:
        longer = int(np.argmax(lengths))
    return float(lengths[longer]), float(lengths[1 - longer]), float(headings[longer])


def longer_side(outline: BaseGeometry) -> float:
    """Return the longer side of the smallest rectangle around an outline, rounded to a hundredth of a millimetre. [m]

    It is the same whichever way the outline is turned.

    Examples
    --------
    >>> longer_side(rectangle(3, 4, length=5, width=1, heading=30))
    5.0
    """
    west, south, east, north = outline.bounds
    across = max(east - west, north - south)
    return round(smallest_rectangle(outline)[0], 5) if across < _HUGE else across  # GEOS overflows


def corners_of(outline: Polygon) -> np.ndarray:
    """Return an outline's corners clockwise from the most north-westerly, shape (n, 2). [m]

    A point on a straight side is no corner.

    Examples
    --------
    >>> from shapely import box
    >>> corners_of(box(0, 0, 2, 1)).tolist()
    [[0.0, 1.0], [2.0, 1.0], [2.0, 0.0], [0.0, 0.0]]
    """
    ring = shapely.get_exterior_ring(shapely.simplify(outline, 0.001))
    corners = shapely.get_coordinates(ring)[:-1]
    if shapely.is_ccw(ring):
        corners = corners[::-1]
    start = int(np.argmax(np.round(corners[:, 1] - corners[:, 0], 6)))
    return np.asarray(np.roll(corners, -start, axis=0))


def solid_parts(shape: BaseGeometry) -> tuple[Polygon, ...]:
    """Return the polygons of a shape, cleaned for the kernels: valid, without repeated points, specks and pinholes.

    Points nearer to each other than `SAME_POINT` become one; parts and holes smaller than `SPECK` are dropped. A
    shape that crosses itself is repaired.

    Examples
    --------
    >>> doubled = Polygon([(0, 0), (0, 0), (2, 0), (2, 1e-200), (2, 1), (0, 1)])
    >>> [len(part.exterior.coords) for part in solid_parts(doubled)]
    [5]
    >>> solid_parts(rectangle(0, 0, length=1e-9, width=1, heading=0))
    ()
    """
    valid = shape if shapely.is_valid(shape) else shapely.make_valid(shape)
    parts: list[Polygon] = []
    for part in shapely.get_parts(shapely.get_parts(valid)):
        if not isinstance(part, Polygon) or part.area < SPECK:
            continue
        holes = [ring for ring in part.interiors if Polygon(ring).area >= SPECK]
        without_specks = part if len(holes) == len(part.interiors) else Polygon(part.exterior, holes)
        clean: BaseGeometry = shapely.remove_repeated_points(without_specks, SAME_POINT)
        clean = clean if shapely.is_valid(clean) else shapely.make_valid(clean)
        parts += [piece for piece in shapely.get_parts(clean) if isinstance(piece, Polygon) and piece.area >= SPECK]
    return tuple(parts)


def mean_width(outline: BaseGeometry) -> float:
    """Return the mean width of an outline over all directions, by Cauchy's theorem: its hull's perimeter over pi. [m]

    Examples
    --------
    >>> from shapely import Point
    >>> round(mean_width(Point(0, 0).buffer(3.0, quad_segs=64)), 2)
    6.0
    """
    return float(outline.convex_hull.length / math.pi)


def thickness(band: BaseGeometry) -> float:
    """Return the thickness of a straight or bent band: the short side of a rectangle of its area and perimeter. [m]

    Examples
    --------
    >>> from shapely import box
    >>> round(thickness(box(0, 0, 12, 0.8)), 9)
    0.8
    """
    half = band.length / 4  # for the sides a and b of a rectangle: a + b = 2 half, a b = area
    return float(half - math.sqrt(max(half**2 - band.area, 0.0)))


def poleward_azimuth(latitude: float) -> float:
    """Return the azimuth of the nearer pole: 0 (north) north of the equator, else 180. [degrees]"""
    return 0.0 if latitude >= 0 else 180.0


def side_facing(outline: Polygon, azimuth: float) -> LineString:
    """Return the side of the smallest rectangle around `outline` whose outward normal is nearest `azimuth`.

    Where two sides are equally near, the longer wins.

    Examples
    --------
    >>> side_facing(rectangle(0, 0, length=4, width=2, heading=90), 0.0).bounds
    (-2.0, 1.0, 2.0, 1.0)
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))[:5]
    centre = corners[:4].mean(axis=0)
    direction = np.array([math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))])
    facing: tuple[float, float, LineString] | None = None
    for start, end in itertools.pairwise(corners):
        outward = (start + end) / 2 - centre
        nearness = round(float(outward @ direction / np.hypot(*outward)), 6)
        length = float(np.hypot(*(end - start)))
        if facing is None or (nearness, length) > facing[:2]:
            facing = (nearness, length, LineString([start, end]))
    assert facing is not None  # noqa: S101  # a rectangle has four sides
    return facing[2]
