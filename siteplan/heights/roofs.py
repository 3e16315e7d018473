"""How high are the eaves and the ridge of a roof, and which way does the ridge run?

A gabled roof as siteplan models it (ridge in the middle of the outline, even slopes to either side) is fitted to the
points on it by least absolute deviations, which ignore chimneys and dormers, in up to three directions; the best one
counts. If a level roof fits about as well, the roof is level. `canopy.py` finds the points on roofs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.land.grid import Floats
from siteplan.land.outline import smallest_rectangle

FEWEST, ENOUGH = 10, 2000  # fewest points on a roof; more than enough are thinned
EDGE = 0.3  # m along the outline that is ignored: walls and gutters
RISE = 0.6  # m; least rise from eaves to ridge, else the roof is level
BETTER = 0.75  # largest spread of a gable over that of a level roof, to be preferred
LEVEL_AT = 0.9  # share of the points of a level or mixed roof that lie below its height
LEVEL_OFF = 0.5  # m; points farther from the median height are not part of a level roof, if they are few
LEVEL_SHARE = 0.8  # least share of points that must remain; else the roof has several levels
LEAST_SPREAD = 0.1  # m; accuracy of a survey's heights
ROUNDS = 15  # of reweighted fitting
FIT = 0.6  # m; largest spread of a gabled roof


@dataclass(frozen=True)
class Roof:
    """The roof of one building.

    Attributes
    ----------
    height : float
        Of its ridge; without a ridge, the 90th percentile of its points. [m]
    eaves, ridge_heading : float or None
        None for a roof without a ridge. [m, degrees]
    spread : float
        How far off its points lie from it: 1.4826 times the median distance, as a standard deviation. [m]
    points : int
    high : float
        90th percentile of its points, whatever its form. [m]
    """

    height: float
    eaves: float | None
    ridge_heading: float | None
    spread: float
    points: int
    high: float


class _Gable(NamedTuple):
    """A gabled roof: how far off its points lie, heights of ridge and eaves [m], heading of the ridge [degrees]."""

    spread: float
    ridge: float
    eaves: float
    heading: float

    def beats(self, level_spread: float) -> bool:
        """Return whether it fits well, and clearly better than a level roof of that spread."""
        fits = self.spread < min(BETTER * level_spread, FIT)
        return fits and self.ridge - self.eaves > RISE and self.eaves > 0


def roof_of(outline: BaseGeometry, x: Floats, y: Floats, height: Floats) -> Roof | None:
    """Return the roof over an outline, or None if it has too few points.

    Parameters
    ----------
    outline : Polygon or MultiPolygon
        In the local frame. [m]
    x, y, height : ndarray, shape (points,)
        Points on and near it; heights above the ground. [m]

    Examples
    --------
    >>> from shapely import box
    >>> x, y = (axis.ravel() for axis in np.meshgrid(np.arange(0.25, 10, 0.5), np.arange(0.25, 6, 0.5)))
    >>> roof = roof_of(box(0, 0, 10, 6), x, y, 6.0 - abs(y - 3.0))
    >>> round(roof.height, 2), round(roof.eaves, 2), roof.ridge_heading
    (6.0, 3.0, 90.0)
    """
    is_on = np.asarray(shapely.contains_xy(outline.buffer(-EDGE), x, y))
    if is_on.sum() < FEWEST:  # a small roof, or a glass roof with a solid rim
        is_on = np.asarray(shapely.contains_xy(outline, x, y))
    if is_on.sum() < FEWEST:
        return None
    count = int(is_on.sum())
    chosen = np.flatnonzero(is_on)[:: 1 + count // ENOUGH]
    x, y, height = x[chosen], y[chosen], height[chosen]
    high = float(np.quantile(height, LEVEL_AT))
    middle = float(np.median(height))
    level = _spread(height - middle)
    gable = _best_gable(outline, x, y, height)
    if gable is not None and gable.beats(level):
        return Roof(gable.ridge, gable.eaves, gable.heading, max(gable.spread, LEAST_SPREAD), count, high)
    # without a neighbour's wall, or an aerial
    near_level = height[np.abs(height - middle) < max(LEVEL_OFF, 3 * level)]
    one_level = len(near_level) > LEVEL_SHARE * len(height)
    top = float(np.quantile(near_level, LEVEL_AT)) if one_level else high
    return Roof(top, None, None, max(level, LEAST_SPREAD), count, high)


def _best_gable(outline: BaseGeometry, x: Floats, y: Floats, height: Floats) -> _Gable | None:
    """Return the gabled roof that fits best, of equal ones the first; None for too narrow an outline."""
    best = None
    for heading in _headings(outline, x, y, height):
        across = _across(outline, x, y, heading)
        if across is None:
            continue
        ridge, fall = _line(across, height)
        spread = _spread(height - ridge + fall * across)
        if best is None or spread < best.spread - 1e-9:
            best = _Gable(spread, ridge, ridge - fall, heading)
    return best


def _spread(distance: Floats) -> float:
    return 1.4826 * float(np.median(np.abs(distance)))


def _headings(outline: BaseGeometry, x: Floats, y: Floats, height: Floats) -> list[float]:
    """Return the directions in which a ridge may run: along the outline, across it, along the highest points."""
    along = smallest_rectangle(outline)[2]
    headings = [along % 180, (along + 90) % 180]
    top = height >= np.quantile(height, 0.85)
    if top.sum() >= FEWEST:
        spread = np.cov(np.array([x[top], y[top]]))
        values, directions = np.linalg.eigh(spread)
        if values[1] > 3 * max(values[0], 1e-6):
            east, north = directions[:, 1]
            headings.append(round(math.degrees(math.atan2(east, north)) % 180, 1) % 180)
    return headings


def _across(outline: BaseGeometry, x: Floats, y: Floats, heading: float) -> Floats | None:
    """Return the distance of points from the ridge, over that of the eaves; None for too narrow an outline."""
    turn = math.radians(heading)
    east, north = math.cos(turn), -math.sin(turn)  # across the ridge
    corners = shapely.get_coordinates(outline) @ np.array([east, north])
    middle, half = (corners.max() + corners.min()) / 2, (corners.max() - corners.min()) / 2
    return np.abs(x * east + y * north - middle) / half if half > 0.5 else None


def _line(across: Floats, height: Floats) -> tuple[float, float]:
    """Return the height of the ridge and the drop from it to the eaves, by least absolute deviations. [m]

    By iteratively reweighted least squares, with weights of one over the distance (Schlossmacher 1973, Journal of the
    American Statistical Association 68, 857-859; memory).
    """
    weight = np.ones(len(height))
    ridge, fall = float(height.mean()), 0.0
    for _ in range(ROUNDS):
        total = weight.sum()
        mean_a, mean_h = (weight @ across) / total, (weight @ height) / total
        spread = weight @ (across - mean_a) ** 2
        if spread < 1e-12:
            break
        slope = (weight @ ((across - mean_a) * height)) / spread  # the mean of the first factor is 0
        ridge, fall = float(mean_h - slope * mean_a), float(-slope)
        weight = 1 / np.maximum(np.abs(height - ridge + fall * across), 0.02)
    return ridge, fall
