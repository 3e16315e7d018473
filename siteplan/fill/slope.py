"""How much does a bed with a level top hold where the ground under it is not level?

The ground is sampled within the walls and its mean depth below the level top taken.
It leaves out cutting in: where the bed is let into the slope, it holds what a level one does.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from siteplan.fill.recipe import inside
from siteplan.land.features import Bed
from siteplan.land.terrain import Terrain

_SAMPLES = 1600  # points in the bounding rectangle of the inside


def volume_over_ground(bed: Bed, terrain: Terrain | None) -> float:
    """Return the volume between the ground and the bed's level top, within the walls.

    Parameters
    ----------
    bed : Bed
        Its top is level, at its height above the ground at the middle of its outline.
    terrain : Terrain or None
        Level where it is None.

    Returns
    -------
    float
        [m3]; NaN where the ground under the bed is not known.

    Notes
    -----
    On an even slope it is inside area times height, exactly, wherever the height at the middle is the mean one:
    what is missing uphill lies downhill. Where the ground rises above the top nothing is filled, and it is more.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> outline = rectangle(0, 0, length=4, width=1, heading=90)
    >>> volume_over_ground(Bed(id="a", outline=outline, height=0.5, wall_thickness=0), None)
    2.0
    """
    within = inside(bed)
    if terrain is None or within.is_empty:
        return float(within.area * bed.height)
    west, south, east, north = within.bounds
    step = math.sqrt((east - west) * (north - south) / _SAMPLES)
    columns, rows = max(2, round((east - west) / step)), max(2, round((north - south) / step))
    x = west + (np.arange(columns) + 0.5) * (east - west) / columns
    y = south + (np.arange(rows) + 0.5) * (north - south) / rows
    across, up = (axis.ravel() for axis in np.meshgrid(x, y))
    held = shapely.contains_xy(within, across, up)
    middle = shapely.centroid(bed.outline)
    top = float(terrain.height_at([middle.x], [middle.y])[0]) + bed.height
    depth = top - terrain.height_at(across[held], up[held])
    return float(within.area * _mean_depth(across[held], up[held], depth, shapely.centroid(within)))


def _mean_depth(
    x: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    y: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    depth: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    centre: shapely.Point,
) -> float:
    """Return the mean depth over an area from samples: that of the best plane at its centre, and what is off it."""
    if len(depth) == 0 or np.isnan(depth).any():
        return math.nan
    depth = np.maximum(depth, 0.0)
    terms = np.column_stack([np.ones_like(x), x - centre.x, y - centre.y])
    plane, *_ = np.linalg.lstsq(terms, depth, rcond=None)
    return float(plane[0] + np.mean(depth - terms @ plane))
