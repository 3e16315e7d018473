"""Where do hedges, fences and garden walls stand?

In straight, long and narrow rows of low cells. A row that splits pulses has leaves and is a hedge; a narrow row that
does not is a fence or a wall. Crooked rows, and anything lower than a bench, must be drawn by hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from shapely import LineString

from siteplan.heights.cells import SQUARE, outline_of, part_of_grid
from siteplan.land.grid import Floats, Grid
from siteplan.land.outline import smallest_rectangle

Flags = NDArray[np.bool_]

LOWEST, HIGHEST = 0.7, 4.0  # m
SHORTEST, WIDEST = 5.0, 2.5  # m of a row
TURN = 11.25  # degrees between the directions that are tried
GAP = 1.5  # m; longest gap in a row without a point: a thin wall is seldom hit
THIN = 0.1  # m; least width of a row, which in cells looks about a cell wider than it is
THICK, SEEN = 4.0, 0.6  # fewest points per metre of a row; least share of its cells with a point
UNEVEN = 0.5  # m; largest difference between a row's median height and its top
BESIDE = 4  # cells beside a straight line that belong to the row if they are low too, for its width
TWICE = 0.3  # largest share of a row's cells that may lie in a longer row
LONG = 3.5  # length over width; a parked car has 2.5
NARROW = 1.0  # m; a row that is narrower may be a fence or a wall
FULL = 0.4  # least share of its rectangle that a straight row fills
LEAFY = 0.4  # share of points from split pulses from which a row has leaves


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
        90th percentile of its cells' heights; half the distance from the median to the highest. [m]
    points : int
    """

    kind: Literal["hedge", "fence"]
    line: LineString
    width: float
    height: float
    spread: float
    points: int


def find_rows(top: Floats, several: Floats, count: NDArray[np.intp], grid: Grid, *, occupied: Flags) -> list[LowRow]:
    """Return the rows, longest first.

    Parameters
    ----------
    top : ndarray, shape (rows, columns)
        Height of the highest point in each cell that is not on a roof; NaN if there is none. [m]
    several : ndarray, shape (rows, columns)
        How many of its points come from pulses with several returns.
    count : ndarray of int, shape (rows, columns)
        How many points it has.
    grid : Grid
    occupied : ndarray of bool, shape (rows, columns)
        Cells of trees and of buildings.
    """
    low = (top >= LOWEST) & (top <= HIGHEST) & ~ndimage.binary_dilation(occupied)
    candidates = []
    for heading in np.arange(0.0, 180.0, TURN):
        patch, _ = ndimage.label(_along(low, heading, grid.cell) & ~occupied, structure=SQUARE)
        for number, bounds in enumerate(ndimage.find_objects(patch), 1):
            window = tuple(slice(max(part.start - BESIDE, 0), part.stop + BESIDE) for part in bounds)
            line = patch[window] == number
            cells = ndimage.binary_dilation(line, structure=SQUARE, iterations=BESIDE, mask=low[window] | line)
            cells = ndimage.binary_opening(cells, structure=_line(heading, SHORTEST / 2 / grid.cell)) | line
            row = _row(cells, top[window], several[window], count[window], part_of_grid(grid, window))
            if row is not None:
                candidates.append((row, cells, window))
    rows, used = [], np.zeros(low.shape, dtype=bool)
    for row, cells, window in sorted(candidates, key=lambda candidate: -candidate[0].line.length):
        if used[window][cells].mean() < TWICE:
            rows.append(row)
            used[window] |= ndimage.binary_dilation(cells)
    return rows


def _along(low: Flags, heading: float, cell: float) -> Flags:
    """Return the cells on a straight run of at least `SHORTEST` in one direction; small gaps are closed."""
    margin = round(SHORTEST / cell)
    padded = np.pad(low, margin)
    closed = ndimage.binary_closing(padded, structure=_line(heading, GAP / cell)) | padded
    straight = ndimage.binary_opening(closed, structure=_line(heading, SHORTEST / cell))
    return np.asarray(straight[margin:-margin, margin:-margin])


def _line(heading: float, length: float) -> Flags:
    """Return a line of cells in one direction, through the middle of a square.

    Examples
    --------
    >>> _line(90.0, 2.0).astype(int).tolist()
    [[0, 0, 0], [1, 1, 1], [0, 0, 0]]
    """
    half = round(length / 2)
    steps = np.linspace(-half, half, 4 * half + 1)
    cells = np.zeros((2 * half + 1, 2 * half + 1), dtype=bool)
    turn = math.radians(heading)
    cells[half - np.rint(steps * math.cos(turn)).astype(int), half + np.rint(steps * math.sin(turn)).astype(int)] = (
        True
    )
    return cells


def _row(cells: Flags, top: Floats, several: Floats, count: NDArray[np.intp], grid: Grid) -> LowRow | None:
    """Return the row that a patch of cells forms, None if it is no row."""
    outline = outline_of(cells, grid)
    length, across, heading = smallest_rectangle(outline)
    width = cells.sum() * grid.cell**2 / length
    if length < SHORTEST or across > WIDEST + grid.cell or length < LONG * across or width < FULL * across:
        return None
    hit = cells & (count > 0) & np.isfinite(top)
    points = int(count[hit].sum())
    if points < THICK * length or hit.sum() < SEEN * cells.sum():
        return None
    leaves = several[hit].sum() / points
    if leaves < LEAFY and width > NARROW:
        return None  # a car, a container
    middle, turn = outline.minimum_rotated_rectangle.centroid, math.radians(heading)
    half = length / 2
    east, north = half * math.sin(turn), half * math.cos(turn)
    line = LineString([(middle.x - east, middle.y - north), (middle.x + east, middle.y + north)])
    median, high, highest = np.quantile(top[hit], [0.5, 0.9, 1.0])
    if high - median > UNEVEN:
        return None  # shrubs in a row
    kind: Literal["hedge", "fence"] = "hedge" if leaves >= LEAFY and width > 0.6 else "fence"
    return LowRow(
        kind, line, max(width - grid.cell, THIN), float(high), max(0.15, float(highest - median) / 2), points
    )
