"""How much work is it to level the ground for a bed on a slope?

Cut and fill by the prismoidal formula over cross-sections, and the height of the boards on the lower side. Swelling
and shrinking of the moved soil are not counted: they depend on the soil.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.outline import smallest_rectangle
from siteplan.land.terrain import Terrain

Floats = NDArray[np.float64]

#: number of strips along and across a bed; even, as the prismoidal formula requires
STRIPS = 16


@dataclass(frozen=True, kw_only=True)
class Levelling:
    """A bed on uneven ground.

    Attributes
    ----------
    drop : float
        Height difference between the highest and the lowest ground under the bed. [m]
    slope : float
        Slope of the plane that fits the ground best. [rise / run]
    cut, fill : float
        Soil to dig away and to fill in for a level floor at the mean height of the ground. [m3]
    lower_board : float
        Without digging: height of the wall at the lowest ground, if the bed's top is level and its height is measured
        from the highest ground. [m]
    """

    drop: float
    slope: float
    cut: float
    fill: float
    lower_board: float


def prismoidal_volume(length: float, first: float, middle: float, last: float) -> float:
    """Return the volume between two parallel sections, given also the area of the section halfway.

    Parameters
    ----------
    length : float
        From the first section to the last. [m]
    first, middle, last : float
        Areas of the sections; the middle one is measured, not the mean of the ends. [m2]

    References
    ----------
    Survey texts (seen): V = L (A1 + 4 Am + A2) / 6.

    Examples
    --------
    >>> prismoidal_volume(3, 4, 9, 16)
    28.0
    """
    return length * (first + 4 * middle + last) / 6


def levelling(outline: Polygon, height: float, terrain: Terrain | None) -> Levelling:
    """Return the levelling of the ground for a bed.

    Parameters
    ----------
    outline : Polygon
        Of the bed; its smallest enclosing rectangle is levelled. [m]
    height : float
        Of its walls above the ground. [m]
    terrain : Terrain or None
        None for level ground; unknown ground counts as level too.

    Examples
    --------
    >>> from shapely import box
    >>> levelling(box(0, 0, 2, 1), 0.4, None).lower_board
    0.4
    """
    length, width, heading = smallest_rectangle(outline)
    level = Levelling(drop=0.0, slope=0.0, cut=0.0, fill=0.0, lower_board=height)
    if terrain is None or width <= 0:
        return level
    along, across, ground = _ground_under(outline, length, width, heading, terrain)
    if not np.isfinite(ground).all():
        return level
    matrix = np.column_stack([along.ravel(), across.ravel(), np.ones(along.size)])
    plane = np.linalg.lstsq(matrix, ground.ravel(), rcond=None)[0]
    floor = _prismoidal(ground, length, width) / (length * width)
    drop = float(ground.max() - ground.min())
    return Levelling(
        drop=drop,
        slope=math.hypot(float(plane[0]), float(plane[1])),
        cut=_prismoidal(np.maximum(ground - floor, 0), length, width),
        fill=_prismoidal(np.maximum(floor - ground, 0), length, width),
        lower_board=height + drop,
    )


def _ground_under(
    outline: Polygon, length: float, width: float, heading: float, terrain: Terrain
) -> tuple[Floats, Floats, Floats]:
    """Return positions along and across the bed and the ground's height there, each (STRIPS + 1, STRIPS + 1)."""
    shares = np.linspace(-0.5, 0.5, STRIPS + 1)
    along, across = np.meshgrid(shares * length, shares * width, indexing="ij")
    turn = math.radians(heading)
    middle = outline.minimum_rotated_rectangle.centroid
    x = middle.x + along * math.sin(turn) + across * math.cos(turn)
    y = middle.y + along * math.cos(turn) - across * math.sin(turn)
    return along, across, terrain.height_at(x.ravel(), y.ravel()).reshape(along.shape)


def _prismoidal(depth: Floats, length: float, width: float) -> float:
    """Return the volume of depths on a regular grid: the formula across each section, then along the bed. [m3]"""
    areas = [
        sum(prismoidal_volume(2 * width / STRIPS, *section[k : k + 3].tolist()) for k in range(0, STRIPS, 2))
        for section in depth
    ]
    return float(sum(prismoidal_volume(2 * length / STRIPS, *areas[k : k + 3]) for k in range(0, STRIPS, 2)))
