"""Which points lie on the ground, and how high is it?

If the survey has no classes, by the simple morphological filter (SMRF) of Pingel, Clarke and McBride: the lowest
surface is opened with growing windows, and a cell that drops by more than the slope allows is not ground.
`lone.py` removes lone points in the air before.

References
----------
Pingel, T. J., Clarke, K. C., and McBride, W. A. (2013): An improved simple morphological filter for the terrain
classification of airborne LIDAR data. ISPRS Journal of Photogrammetry and Remote Sensing 77, 21-30. With one set of
settings for all of the ISPRS reference samples its mean kappa is 85.4 % (abstract, seen). The settings here are that
set (memory): cells of 1 m, windows up to 18 m, slope 0.15, threshold 0.5 m, scaled by 1.25. Two things differ:
windows are squares, not discs, and holes are filled by Laplace's equation (`cells.filled`), not by springs.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from siteplan.heights.cells import at_points, filled, lowest, mean
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.returns import Returns

Flags = NDArray[np.bool_]

CELL = 1.0  # m
WIDEST = 18.0  # m; radius of the largest window, so half the width of the widest building that is removed
SLOPE = 0.15  # rise over run of the ground
LOW_SLOPE = 5.0  # rise over run beyond which a low cell is a hole in the data
THRESHOLD, SCALE = 0.5, 1.25  # m from the surface; and for each unit of its slope


def ground_by_filter(returns: Returns) -> Flags:
    """Return which points lie on the ground, shape (points,).

    Parameters
    ----------
    returns : Returns
        Without lone points; at least one. Their classes are ignored.
    """
    grid = grid_over(shapely.MultiPoint(_corners(returns)).envelope.buffer(CELL), CELL)
    surface = _bare(lowest(grid, returns.x, returns.y, returns.z))
    rise, run = np.gradient(surface, CELL)
    steep = at_points(grid, np.hypot(rise, run), returns.x, returns.y)
    above_surface = returns.z - at_points(grid, surface, returns.x, returns.y)
    return np.asarray(np.abs(above_surface) <= THRESHOLD + SCALE * steep)


def _corners(returns: Returns) -> list[tuple[float, float]]:
    x, y = returns.x, returns.y
    return [(float(x.min()), float(y.min())), (float(x.max()), float(y.max()))]


def _bare(lowest_points: Floats) -> Floats:
    """Return the lowest surface with all obstacles and holes removed and filled."""
    surface = filled(lowest_points)
    low = ndimage.grey_closing(surface, size=(3, 3)) - surface > LOW_SLOPE * CELL
    surface = filled(np.where(low, np.nan, surface))
    stands, opened_before = np.zeros(surface.shape, dtype=bool), surface
    for steps in range(1, round(WIDEST / CELL) + 1):
        side = 2 * steps + 1
        opened = np.asarray(ndimage.grey_opening(opened_before, size=(side, side)))
        stands |= opened_before - opened > SLOPE * steps * CELL
        opened_before = opened
    bare = np.where(stands | np.isnan(lowest_points) | low, np.nan, surface)
    return filled(bare if np.isfinite(bare).any() else surface)


def ground_surface(grid: Grid, ground: Returns) -> Floats:
    """Return the ground's elevation in each cell; cells without ground points are filled smoothly. [m]

    Parameters
    ----------
    grid : Grid
    ground : Returns
        Points on the ground; at least one.

    Returns
    -------
    ndarray, shape (rows, columns)
    """
    return filled(mean(grid, ground.x, ground.y, ground.z))
