"""How many beds of one size fit on some ground?

In straight rows along a direction or across it, with an aisle between any two beds. More beds may fit in layouts with
rotated rows, which are not tried. The sun is not considered.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

Flags = NDArray[np.bool_]

STEP = 0.25  # m; largest distance between the positions tried
_TOUCH = 0.001  # m; tolerance by which a bed may stick out of the ground


def beds_in_rows(free: BaseGeometry, *, length: float, width: float, heading: float, aisle: float) -> int:
    """Return how many beds fit on some ground, in rows along a heading or across it.

    Each row is filled from its start, bed after bed, which gives the most beds of the row. The rows are chosen by
    dynamic programming over their positions, which gives the most beds in all for positions on these steps.

    Parameters
    ----------
    free : shapely geometry
        Ground on which a bed may stand. [m]
    length, width : float
        Of a bed. [m]
    heading : float
        Clockwise from true north. [degrees]
    aisle : float
        Between two beds. [m]

    Examples
    --------
    >>> from shapely import box
    >>> beds_in_rows(box(0, 0, 6.0, 8.1), length=3, width=1.5, heading=0, aisle=0.6)  # three rows of two
    6
    """
    ground = shapely.buffer(rotate(free, heading - 90, origin=(0, 0)), _TOUCH, join_style="mitre")
    return max(_rows(ground, length, width, aisle), _rows(ground, width, length, aisle))


def _rows(ground: BaseGeometry, along: float, across: float, aisle: float) -> int:
    """Return how many boxes fit in rows along x, by dynamic programming over the rows' positions."""
    if ground.is_empty:
        return 0
    west, south, east, north = shapely.bounds(ground).tolist()
    x, x_stride = _starts(west, east - along, along + aisle)
    y, y_stride = _starts(south, north - across, across + aisle)
    if not (len(x) and len(y)):
        return 0
    shapely.prepare(ground)
    left, low = np.meshgrid(x, y)
    fits = shapely.contains(ground, shapely.box(left, low, left + along, low + across))
    most_beds = np.zeros(len(y) + y_stride, dtype=np.int64)  # from each row on, upwards
    for row in range(len(y) - 1, -1, -1):
        most_beds[row] = max(most_beds[row + 1], most_beds[row + y_stride] + _in_a_row(fits[row], x_stride))
    return int(most_beds[0])


def _starts(low: float, high: float, pitch: float) -> tuple[NDArray[np.float64], int]:
    """Return the positions at which a box may begin [m], and how many positions further the next box may begin."""
    stride = math.ceil(pitch / STEP)
    step = pitch / stride
    count = max(0, math.floor((high - low) / step + 1e-9) + 1)
    return np.linspace(low, low + step * (count - 1), count) if count else np.empty(0), stride


def _in_a_row(fits: Flags, stride: int) -> int:
    """Return how many boxes one row holds; `fits` tells at which positions a box fits."""
    count = next_free = 0
    for start in np.flatnonzero(fits).tolist():
        if start >= next_free:
            count, next_free = count + 1, start + stride
    return count
