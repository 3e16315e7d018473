"""How does the ground lie between a few heights measured with a tape and a level?

Three heights or more make a triangulated surface (TIN): Delaunay triangles, linear within each. Beyond the outermost
heights the ground goes on with the slope of the plane that fits them best. A single fall makes one tilted plane.
It leaves out kerbs and terraces between the heights: a step is only there where both its edges were measured.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay
from shapely import MultiPoint, Polygon, get_coordinates, get_point, shortest_line
from shapely import points as points_of
from shapely.geometry.base import BaseGeometry

from siteplan.land.grid import Floats, Grid
from siteplan.land.terrain import Terrain

ON_A_LINE = 1e-6  # of the longer spread of the heights: less across is no triangle


def ground_between(measured: Floats, grid: Grid) -> Terrain:
    """Return the ground that passes through measured heights.

    Parameters
    ----------
    measured : ndarray, shape (n, 3)
        East, north and height of each, at least one, no two at the same place. [m]
    grid : Grid
        Of the cells that are wanted.

    Returns
    -------
    Terrain

    Notes
    -----
    The surface is a plane fitted by least squares, and the rest of each height above it in a linear interpolation
    over Delaunay triangles. Beyond their hull the rest stays what it is at the nearest point of the hull: the surface
    is continuous, and heights of one plane give that plane everywhere. Of heights on one line nothing is known to its
    sides: the ground is level across it. One height gives level ground.

    References
    ----------
    de Berg, Cheong, van Kreveld, Overmars, Computational Geometry, 3rd edition (2008), chapter 9: terrain by linear
    interpolation over a Delaunay triangulation.

    Examples
    --------
    >>> three = np.array([[0.0, 0.0, 1.0], [10.0, 0.0, 2.0], [0.0, 10.0, 1.0]])  # a tenth up to the east
    >>> ground_between(three, Grid(0, 20, 10, 2, 2)).elevation.round(9)
    array([[1.5, 2.5],
           [1.5, 2.5]])
    """
    places, heights = measured[:, :2], measured[:, 2]
    middle = places.mean(axis=0)
    plane, *_ = np.linalg.lstsq(places - middle, heights - heights.mean(), rcond=ON_A_LINE)
    rest = heights - heights.mean() - (places - middle) @ plane
    centres = grid.centres()
    above = _rest_at(places, rest, centres)
    elevation = heights.mean() + (centres - middle) @ plane + above
    return Terrain(grid=grid, elevation=elevation.reshape(grid.shape))


def _rest_at(places: Floats, rest: Floats, centres: Floats) -> Floats:
    """Return what is above the plane at points: between the measured ones linear, beyond them as at the nearest."""
    hull = MultiPoint(places).convex_hull
    within = _nearest_on(hull, centres)
    if isinstance(hull, Polygon) and not _is_flat(places):
        return np.asarray(LinearNDInterpolator(Delaunay(places), rest)(_inward(within, places.mean(axis=0))))
    _, _, axes = np.linalg.svd(places - places.mean(axis=0), full_matrices=False)
    along = (places - places.mean(axis=0)) @ axes[0]
    order = np.argsort(along)
    return np.asarray(np.interp((centres - places.mean(axis=0)) @ axes[0], along[order], rest[order]))


def _is_flat(places: Floats) -> bool:
    """Return whether places lie on one line."""
    spread = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    return len(spread) < 2 or bool(spread[1] <= ON_A_LINE * spread[0])


def _nearest_on(hull: BaseGeometry, points: Floats) -> Floats:
    """Return the nearest point of a hull to each point; a point within stays where it is."""
    lines = shortest_line(hull, points_of(points))
    return np.asarray(get_coordinates(get_point(lines, 0)), dtype=np.float64)


def _inward(points: Floats, middle: Floats) -> Floats:
    """Return points moved a hair toward the middle, so that those on the rim lie within a triangle."""
    return points + 1e-9 * (middle - points)


def tilted_ground(fall: float, over: float, toward: float, middle: tuple[float, float], grid: Grid) -> Terrain:
    """Return a plane that falls one way, at height 0 in the middle.

    Parameters
    ----------
    fall, over : float
        How much lower it is after how long a way. [m]
    toward : float
        The way that it falls, clockwise from north. [degrees]
    middle : (float, float)
        Where its height is 0. [m]
    grid : Grid
        Of the cells that are wanted.

    Examples
    --------
    >>> tilted_ground(1.0, 10.0, 90.0, (5.0, 5.0), Grid(0, 10, 5, 2, 2)).elevation.round(9)
    array([[ 0.25, -0.25],
           [ 0.25, -0.25]])
    """
    azimuth = math.radians(toward)
    downhill = (grid.centres() - middle) @ np.array([math.sin(azimuth), math.cos(azimuth)])
    return Terrain(grid=grid, elevation=(-fall / over * downhill).reshape(grid.shape))
