"""Where do hedges, fences and garden walls stand?

Straight, long and narrow rows of low cells: what splits pulses has leaves, a narrow row that does not is a fence or a
wall. Crooked ones are left to be drawn by hand, and so is what is lower than a bench.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from shapely import LineString

from siteplan.heights.cells import SQUARE, outline_of
from siteplan.land.grid import Floats, Grid
from siteplan.land.outline import smallest_rectangle

Flags = NDArray[np.bool_]

LOWEST, HIGHEST = 0.7, 4.0  # m
SHORTEST, WIDEST = 4.0, 2.5  # m of a row
LONG = 3.5  # length over width; a parked car has 2.5
NARROW = 1.0  # m; a row that is narrower may be a fence or a wall
FULL = 0.6  # share of its rectangle that a straight row fills
LEAFY = 0.4  # share of its points from pulses that came back in parts, from which a row has leaves


@dataclass(frozen=True, eq=False)
class LowRow:
    """A hedge, or a fence or wall.

    Attributes
    ----------
    kind : str
        ``hedge``, or ``fence`` for walls too.
    line : LineString
        Along its middle. [m]
    width : float
        Across. [m]
    height, spread : float
        Below which 9 in 10 of its cells lie, and half of the way from the 5th of 10 to the highest. [m]
    points : int
    """

    kind: Literal["hedge", "fence"]
    line: LineString
    width: float
    height: float
    spread: float
    points: int


def find_rows(top: Floats, several: Floats, count: NDArray[np.intp], grid: Grid, *, taken: Flags) -> list[LowRow]:
    """Return the rows, longest first.

    Parameters
    ----------
    top : ndarray, shape (rows, columns)
        Height of the highest point in each cell that is of no roof; NaN where there is none. [m]
    several : ndarray, shape (rows, columns)
        How many of its points come from pulses that came back in parts.
    count : ndarray of int, shape (rows, columns)
        How many points it has.
    grid : Grid
    taken : ndarray of bool, shape (rows, columns)
        Cells of trees and of buildings.
    """
    low = (top >= LOWEST) & (top <= HIGHEST) & ~taken
    low = ndimage.binary_closing(np.pad(low, 1), structure=SQUARE[:2, :2])[1:-1, 1:-1] & ~taken | low
    patch, _ = ndimage.label(low, structure=SQUARE)
    found = []
    for number, place in enumerate(ndimage.find_objects(patch), 1):
        rows, columns = (part.stop - part.start for part in place)
        if math.hypot(rows, columns) * grid.cell < SHORTEST:
            continue
        own = patch[place] == number
        corner = Grid(
            grid.west + place[1].start * grid.cell, grid.north - place[0].start * grid.cell, grid.cell, rows, columns
        )
        found.append(_row(own, top[place], several[place], count[place], corner))
    return sorted((one for one in found if one is not None), key=lambda one: -one.line.length)


def _row(own: Flags, top: Floats, several: Floats, count: NDArray[np.intp], grid: Grid) -> LowRow | None:
    """Return the row that a patch of cells is, None where it is none."""
    outline = outline_of(own, grid)
    if own.sum() * grid.cell**2 < 0.4 * SHORTEST * grid.cell:
        return None
    length, across, heading = smallest_rectangle(outline)
    width = own.sum() * grid.cell**2 / length
    if length < SHORTEST or across > WIDEST + grid.cell or length < LONG * across or width < FULL * across / 1.5:
        return None
    seen = own & (count > 0) & np.isfinite(top)
    points = int(count[seen].sum())
    if points < 8:
        return None
    leaves = several[seen].sum() / points
    if leaves < LEAFY and width > NARROW:
        return None  # a car, a container
    middle, turn = outline.minimum_rotated_rectangle.centroid, math.radians(heading)
    half = length / 2
    east, north = half * math.sin(turn), half * math.cos(turn)
    line = LineString([(middle.x - east, middle.y - north), (middle.x + east, middle.y + north)])
    half_way, high, highest = np.quantile(top[seen], [0.5, 0.9, 1.0])
    kind: Literal["hedge", "fence"] = "hedge" if leaves >= LEAFY and width > 0.6 else "fence"
    return LowRow(kind, line, width, float(high), max(0.15, float(highest - half_way) / 2), points)
