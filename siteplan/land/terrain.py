"""How high is the ground?

Elevation on a grid in the local frame, interpolated bilinearly between the centres of its cells.
`files/ground` has resampled the raster into the frame before.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from siteplan.land.grid import Floats, Grid

EARTH_RADIUS = 6_371_000.0  # m, mean
REFRACTION = 0.13  # refraction coefficient: a ray's curvature over the earth's; survey practice, from memory


def earth_curve_drop(x: Floats, y: Floats) -> Floats:
    """Return how far the ground drops below the level plane with distance from the frame's centre. [m]

    Examples
    --------
    >>> earth_curve_drop(np.array([0.0, 10_000.0]), np.array([0.0, 0.0])).round(2)
    array([0.  , 6.83])
    """
    return np.asarray((x**2 + y**2) * (1 - REFRACTION) / (2 * EARTH_RADIUS))


@dataclass(frozen=True, eq=False)
class Terrain:
    """Ground elevation.

    Attributes
    ----------
    grid : Grid
        Of the cells.
    elevation : ndarray, shape (rows, columns)
        At the centres of the cells; NaN where it is not known. [m]
    beyond : tuple of Terrain
        Coarser ground farther off, nearest first, NaN where a finer one covers it; it only hides the sun. [m]
    """

    grid: Grid
    elevation: Floats
    beyond: tuple[Terrain, ...] = ()

    @cached_property
    def highest(self) -> float:
        """The highest of its cells; minus infinity where none is known. [m]"""
        known_heights = self.elevation[np.isfinite(self.elevation)]
        return float(known_heights.max()) if known_heights.size else -np.inf

    def height_at(self, x: ArrayLike, y: ArrayLike) -> Floats:
        """Return the ground's elevation at points, NaN where it is not known.

        Within half a cell of the raster's edge the elevation is that of the outermost centres.

        Parameters
        ----------
        x, y : array_like, shape (n,)
            In the local frame. [m]

        Examples
        --------
        >>> ramp = Terrain(Grid(0, 2, 1, 2, 3), np.array([[0.0, 1, 2], [0, 1, 2]]))
        >>> ramp.height_at([1.5, 2.0, 0.1, 9.0], [1.0, 1.0, 1.0, 1.0])
        array([1. , 1.5, 0. , nan])
        """
        grid = self.grid
        east, north = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        beyond = (east < grid.west) | (east > grid.east) | (north < grid.south) | (north > grid.north)
        column = np.clip((east - grid.west) / grid.cell - 0.5, 0, grid.columns - 1)
        row = np.clip((grid.north - north) / grid.cell - 0.5, 0, grid.rows - 1)
        left, top = column.astype(int), row.astype(int)
        across, down = column - left, row - top
        right, bottom = left + (across > 0), top + (down > 0)  # at a cell's very middle its neighbours do not count
        elevation = self.elevation
        upper = elevation[top, left] * (1 - across) + elevation[top, right] * across
        lower = elevation[bottom, left] * (1 - across) + elevation[bottom, right] * across
        return np.asarray(np.where(beyond, np.nan, upper * (1 - down) + lower * down))


@dataclass(frozen=True, eq=False)
class Skyline:
    """The far hills: the elevation of the horizon by azimuth.

    Attributes
    ----------
    azimuth : ndarray, shape (n,)
        Clockwise from true north, rising from 0 to below 360. [degrees]
    elevation : ndarray, shape (n,)
        Of the horizon there; linear between them, also across north. [degrees]
    """

    azimuth: Floats
    elevation: Floats

    @cached_property
    def _round(self) -> tuple[Floats, Floats]:
        """Azimuths and elevations, extended past north: the last point before the first, the first after the last."""
        azimuth = np.concatenate([self.azimuth[-1:] - 360, self.azimuth, self.azimuth[:1] + 360])
        return azimuth, np.concatenate([self.elevation[-1:], self.elevation, self.elevation[:1]])

    def elevation_at(self, azimuth: ArrayLike) -> Floats:
        """Return the horizon's elevation at any azimuth. [degrees]

        Examples
        --------
        >>> hills = Skyline(np.array([0.0, 90, 180, 270]), np.array([0.0, 10, 20, 10]))
        >>> hills.elevation_at([45, 180, 315, 720])
        array([ 5., 20.,  5.,  0.])
        """
        return np.asarray(np.interp(np.asarray(azimuth, dtype=float) % 360, *self._round))
