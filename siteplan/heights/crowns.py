"""How high is a tree, where does its crown begin, and how much light goes through it?

By the points within its outline. The share of pulses that reach the ground is a first guess of the transmittance, in
the season of the flight. `trees.py` finds the outline.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Floats

Flags = NDArray[np.bool_]

LEAST_SPREAD, SPREAD_SHARE = 0.5, 0.05  # m, and share of the height: a pulse seldom hits the very top (no source)
GAP, GAP_SHARE = 1.0, 0.12  # m, and share of the height: below a gap without points something else begins
SHARP, TOP_CELLS = 1.5, 8  # the spread is at least SHARP times the drop from the top to the mean of the highest cells
FEW = 15  # fewest points for a crown's base, fewest pulses for its transmittance
BASE_SPREAD, BASE_SPREAD_SHARE = 0.5, 0.1  # m, and share of the height: 9 of 10 simulated bases lie within
LOW = 0.5  # m; lower points are the ground
BASE_SHARE = 0.01  # share of a crown's points that lie below its base: twigs, the trunk


@dataclass(frozen=True)
class CrownFigures:
    """The figures of a crown, from the points in it.

    Attributes
    ----------
    height, height_spread : float
        Of its highest point, and how far off it may be. [m]
    base, base_spread : float or None
        Where the crown begins; None if there are too few points. [m]
    ground_share, ground_share_spread : float or None
        Share of pulses that reach the ground below it, and twice its standard error; None if there are too few.
    depth : float
        Mean length of a vertical path through it. [m]
    points, pulses : int
        Number of points in the crown; number of pulses that entered it or reached the ground through it.
    """

    height: float
    height_spread: float
    base: float | None
    base_spread: float
    ground_share: float | None
    ground_share_spread: float
    depth: float
    points: int
    pulses: int


def crown_figures(
    height: Floats, leaf: Flags, last: Flags, *, top: float, canopy_heights: Floats, pulsed: bool = True
) -> CrownFigures:
    """Return the figures of one crown.

    Parameters
    ----------
    height : ndarray, shape (points,)
        Of all points within its outline, above the ground. [m]
    leaf, last : ndarray of bool, shape (points,)
        Which may be leaves; which are the last of their pulse.
    top : float
        Of its highest cell. [m]
    canopy_heights : ndarray, shape (cells,)
        Height of the canopy in each of its cells. [m]
    pulsed : bool
        Whether the points come from pulses, which pass through leaves; a raster has only the highest leaves.
    """
    leaf_heights = np.sort(height[leaf & (height <= top + 0.01)])
    above = leaf_heights[leaf_heights > LOW]
    base, spread = _base(above, top) if pulsed else (None, 0.0)
    crown_base = 0.25 * top if base is None else base
    pulses = int(last.sum())
    to_ground = int((last & (height < LOW)).sum())
    share, share_spread = None, 0.0
    if pulsed and pulses >= FEW:
        share = to_ground / pulses
        share_spread = 2 * math.sqrt(max(share * (1 - share), 1 / pulses) / pulses)
    return CrownFigures(
        height=top,
        height_spread=max(LEAST_SPREAD, SPREAD_SHARE * top, SHARP * _sharp(canopy_heights, top)),
        base=base,
        base_spread=spread,
        ground_share=share,
        ground_share_spread=share_spread,
        depth=float(np.maximum(canopy_heights - crown_base, 0.3).mean()),
        points=len(above),
        pulses=pulses,
    )


def _sharp(canopy_heights: Floats, top: float) -> float:
    """Return the drop from a crown's top to the mean of its highest cells. [m]"""
    highest_cells = np.sort(canopy_heights)[-TOP_CELLS:]
    return float(top - highest_cells.mean())


def _base(above: Floats, top: float) -> tuple[float | None, float]:
    """Return the height at which a crown begins, and its spread; None if there are too few points. [m]"""
    if len(above) < FEW:
        return None, 0.0
    gap = max(GAP, GAP_SHARE * top)
    steps = np.diff(above)
    empty = np.flatnonzero((steps > gap) & (above[1:] < 0.75 * top))
    crown = above[empty[-1] + 1 :] if empty.size else above
    if len(crown) < FEW:
        return None, 0.0
    base = float(np.quantile(crown, BASE_SHARE))
    return base, min(max(BASE_SPREAD, BASE_SPREAD_SHARE * top), base)
