"""Which pieces of obstacles can matter to a block of points?

Culling by an upper bound: a piece hides at most the sun time below its top, in the directions in which it may be seen
from anywhere in the block. The pieces with the smallest bounds are dropped, as long as their sum is negligible. That
pieces may be hidden by others is not considered here but in `occlusion_culling`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND, Sky, level

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

NEGLIGIBLE = 0.002  # h a day; all dropped pieces together hide less than this, in any month


def pieces_that_matter(
    points: Floats, pieces: Pieces, sky: Sky, among: Integers, negligible: float = NEGLIGIBLE
) -> Integers:
    """Return the numbers of the pieces that may matter to the points, ascending.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Points near each other. [m]
    pieces : Pieces
        All obstacles.
    sky : Sky
        Whose sun time they may hide.
    among : ndarray of int, shape (m,)
        Numbers of the pieces to choose from, ascending.
    negligible : float
        Most time that the dropped pieces may hide together. [h a day]
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    spread = float(np.hypot(points[:, 0] - middle[0], points[:, 1] - middle[1]).max())
    east, north = pieces.centre_x[among] - middle[0], pieces.centre_y[among] - middle[1]
    distance = np.hypot(east, north)
    circle = pieces.radius[among] + spread
    outside = distance > circle + 1e-6
    gap = np.where(outside, distance - circle, 1.0)
    rise = np.maximum(pieces.top[among] - points[:, 2].min(), 0)
    table = sky.table
    levels = sky.upper_bound.shape[1]
    level_of_top = np.minimum(np.ceil(level(rise / gap)).astype(np.int64), levels - 1)
    azimuth = (np.degrees(np.arctan2(east, north)) - table.first) % 360 * (AROUND / 360)
    sine = np.where(outside, circle / np.where(outside, distance, 1.0), 1.0)
    half_width = np.degrees(np.arcsin(sine)) * (AROUND / 360)
    bound = _most_hidden(azimuth - half_width, azimuth + half_width, level_of_top, sky.upper_bound)
    bound = np.where(outside, bound, np.where(rise > 0, np.inf, 0.0))
    order = np.argsort(bound)
    dropped = np.searchsorted(np.cumsum(bound[order]), negligible, side="right")
    return among[np.sort(order[dropped:])]


def _most_hidden(begin: Floats, end: Floats, level_of_top: Integers, bound: Floats) -> Floats:
    """Return the bound summed over the bins from `begin` to `end`, which may run past bin 0 or the last bin."""
    bins = len(bound) - 1
    total = np.zeros(len(begin))
    for turn in (-AROUND, 0, AROUND):
        low = np.clip(np.floor(begin + turn), 0, bins).astype(np.int64)
        high = np.clip(np.ceil(end + turn), 0, bins).astype(np.int64)
        total += bound[high, level_of_top] - bound[low, level_of_top]
    return total
