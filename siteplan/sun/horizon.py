"""How high does the ground itself stand around a point?

The steepest slope up to it along rays two degrees apart, out to the raster's edge; between rays it runs straight.
It leaves out ridges narrower than a thirtieth of their distance, the earth's curve, and ground beyond the raster.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.terrain import Terrain
from siteplan.sun.compiled import compiled

Floats = NDArray[np.float64]

RAYS = 180
GROWTH = 1 / 30  # of the distance from one look to the next, at least half a cell


def ground_slopes(points: Floats, terrain: Terrain, azimuth: Floats) -> Floats:
    """Return the slope (rise over run) up to the highest ground in each direction, at least 0.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [m]
    terrain : Terrain
        Where its height is not known it hides nothing.
    azimuth : ndarray, shape (m,)
        [degrees]

    Returns
    -------
    ndarray, shape (n, m)

    Examples
    --------
    >>> from siteplan.land.grid import Grid
    >>> grid = Grid(west=-50, north=50, cell=1, rows=100, columns=100)
    >>> bank = Terrain(grid, np.where(np.broadcast_to(grid.y[:, None], grid.shape) < -10, 5.0, 0.0))
    >>> ground_slopes(np.zeros((1, 3)), bank, np.array([0.0, 180.0])).round(2)
    array([[0.  , 0.48]])
    """
    grid = terrain.grid
    slopes = np.zeros((len(points), RAYS))
    if np.isfinite(terrain.elevation).any():
        highest = float(np.nanmax(terrain.elevation))
        corner = np.array([grid.west + grid.cell / 2, grid.north - grid.cell / 2, grid.cell])
        _look_around(points, np.ascontiguousarray(terrain.elevation, dtype=np.float64), corner, highest, slopes)
    place = np.asarray(azimuth, dtype=np.float64) % 360 * (RAYS / 360)
    left = place.astype(np.int64) % RAYS
    part = place - np.floor(place)
    return np.asarray(slopes[:, left] * (1 - part) + slopes[:, (left + 1) % RAYS] * part)


@compiled
def _look_around(points: Floats, elevation: Floats, corner: Floats, highest: float, slopes: Floats) -> None:
    """Fill the slopes up to the ground; `corner` is x and y of the first cell's centre, and the cell's side."""
    rows, columns = elevation.shape
    for i in range(len(points)):
        for ray in range(RAYS):
            east, north = np.sin(2 * np.pi * ray / RAYS), np.cos(2 * np.pi * ray / RAYS)
            steepest, away = 0.0, corner[2]
            while highest - points[i, 2] > steepest * away:
                column = (points[i, 0] + away * east - corner[0]) / corner[2]
                row = (corner[1] - points[i, 1] - away * north) / corner[2]
                if column < 0 or row < 0 or column > columns - 1 or row > rows - 1:
                    break
                rise = _height(elevation, row, column) - points[i, 2]
                if rise > steepest * away:  # false where the height is not known
                    steepest = rise / away
                away += max(0.5 * corner[2], GROWTH * away)
            slopes[i, ray] = steepest


@compiled
def _height(elevation: Floats, row: float, column: float) -> float:
    """Return the height between four cells' centres, NaN where one is not known."""
    top, left = min(int(row), elevation.shape[0] - 2), min(int(column), elevation.shape[1] - 2)
    down, across = row - top, column - left
    upper = elevation[top, left] * (1 - across) + elevation[top, left + 1] * across
    lower = elevation[top + 1, left] * (1 - across) + elevation[top + 1, left + 1] * across
    return float(upper * (1 - down) + lower * down)
