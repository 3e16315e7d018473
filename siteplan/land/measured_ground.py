"""How does the ground lie between a few heights measured with a tape and a level?

Three heights or more make a triangulated surface (TIN): Delaunay triangles, linear within each. Beyond the outermost
heights the ground goes on with the slope of the plane that fits them best. A single fall makes one tilted plane.
Kerbs and terraces between the heights are missed: a step appears only if both of its edges were measured.
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

ON_A_LINE = 1e-6  # places spread less than this across, over their spread along, lie on one line: no triangles


def ground_between(measured: Floats, grid: Grid) -> Terrain:
    """Return the ground that passes through measured heights.

    Parameters
    ----------
    measured : ndarray, shape (n, 3)
        East, north and height of each, at least one, no two at the same place. [m]
    grid : Grid
        The cells to fill.

    Returns
    -------
    Terrain

    Notes
    -----
    The surface is a plane fitted by least squares, plus the residual of each height, interpolated linearly over
    Delaunay triangles. Beyond their convex hull the residual is that of the nearest point of the hull: the surface is
    continuous, and heights of one plane give that plane everywhere. If all places lie on one line, the ground is
    taken to be level across that line. One height gives level ground.

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
    residuals = heights - heights.mean() - (places - middle) @ plane
    centres = grid.centres()
    elevation = heights.mean() + (centres - middle) @ plane + _residual_at(places, residuals, centres)
    return Terrain(grid=grid, elevation=elevation.reshape(grid.shape))


def _residual_at(places: Floats, residuals: Floats, centres: Floats) -> Floats:
    """Return the residual at points: linear between the measured places, beyond them that of the nearest point."""
    middle = places.mean(axis=0)
    hull = MultiPoint(places).convex_hull
    if isinstance(hull, Polygon) and not _is_flat(places):
        within = _nudged_inward(_nearest_on(hull, centres), middle)
        return np.asarray(LinearNDInterpolator(Delaunay(places), residuals)(within))
    # all places on one line: interpolate along it, by the first principal axis
    _, _, axes = np.linalg.svd(places - middle, full_matrices=False)
    along = (places - middle) @ axes[0]
    order = np.argsort(along)
    return np.asarray(np.interp((centres - middle) @ axes[0], along[order], residuals[order]))


def _is_flat(places: Floats) -> bool:
    """Return whether places lie on one line."""
    spread = np.linalg.svd(places - places.mean(axis=0), compute_uv=False)
    return len(spread) < 2 or bool(spread[1] <= ON_A_LINE * spread[0])


def _nearest_on(hull: BaseGeometry, points: Floats) -> Floats:
    """Return the nearest point of a hull to each point; a point within stays where it is."""
    lines = shortest_line(hull, points_of(points))
    return np.asarray(get_coordinates(get_point(lines, 0)), dtype=np.float64)


def _nudged_inward(points: Floats, middle: Floats) -> Floats:
    """Return points moved by a billionth toward the middle, so that those on the rim lie within a triangle."""
    return points + 1e-9 * (middle - points)


def tilted_ground(fall: float, over: float, toward: float, middle: tuple[float, float], grid: Grid) -> Terrain:
    """Return a plane that falls one way, at height 0 in the middle.

    Parameters
    ----------
    fall, over : float
        Drop, and the horizontal distance over which it drops. [m]
    toward : float
        The direction in which it falls, clockwise from north. [degrees]
    middle : (float, float)
        Where its height is 0. [m]
    grid : Grid
        The cells to fill.

    Examples
    --------
    >>> tilted_ground(1.0, 10.0, 90.0, (5.0, 5.0), Grid(0, 10, 5, 2, 2)).elevation.round(9)
    array([[ 0.25, -0.25],
           [ 0.25, -0.25]])
    """
    azimuth = math.radians(toward)
    downhill = (grid.centres() - middle) @ np.array([math.sin(azimuth), math.cos(azimuth)])
    return Terrain(grid=grid, elevation=(-fall / over * downhill).reshape(grid.shape))
