"""How high is the horizon of a surface raster around a point?

Each ray walks from cell to cell of the raster (Amanatides and Woo, A fast voxel traversal algorithm for ray tracing,
Eurographics 1987). It skips a block of cells if none of them rises above the slope found so far. A cell is a column
with a level top: its slope is steepest where the ray enters it. All columns are opaque, tree crowns included.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.obstacles.surface_columns import BLOCK, SurfaceColumns

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

DARK = 1e6  # slope for a point within a column, which sees no sky
TOUCH = 1e-6  # m; a column that rises less than this above a point hides nothing


def surface_slopes(points: Floats, columns: Sequence[SurfaceColumns], azimuth: Floats) -> Floats:
    """Return the slope (rise over run) up to the highest column in each direction, at least 0.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    columns : sequence of SurfaceColumns
    azimuth : ndarray, shape (m,)
        [degrees]

    Returns
    -------
    ndarray, shape (n, m)
        `DARK` in all directions for a point within a column.

    Examples
    --------
    A tower 10 m high that begins 10 m north of a point:

    >>> tops = np.full((40, 40), -np.inf, dtype=np.float32)
    >>> tops[5:10, 18:22] = 10.0
    >>> place = np.array([[1.0, 0, 20], [0, -1, 20]])
    >>> tower = SurfaceColumns(tops, np.full((3, 3), 10.0, np.float32), place, np.zeros(4), 10.0)
    >>> surface_slopes(np.array([[0.1, 0.0, 0.0]]), [tower], np.array([0.0, 180.0]))
    array([[1., 0.]])
    """
    slopes = np.zeros((len(points), len(azimuth)))
    bearing = np.radians(azimuth)
    toward = np.column_stack([np.sin(bearing), np.cos(bearing)])
    for layer in columns:
        if np.isfinite(layer.highest):
            _raise_slopes(points, layer.tops, layer.blocks, layer.place, layer.hole, layer.highest, toward, slopes)
    return slopes


@compiled_fused
def _raise_slopes(
    points: Floats, tops: Singles, blocks: Singles, place: Floats, hole: Floats, highest: float, toward: Floats,
    slopes: Floats,
) -> None:  # fmt: skip
    """Raise the slopes, shape (n, m), to those up to the columns of one layer."""
    for i in range(len(points)):
        x, y, height = points[i, 0], points[i, 1], points[i, 2]
        column = place[0, 0] * x + place[0, 1] * y + place[0, 2]
        row = place[1, 0] * x + place[1, 1] * y + place[1, 2]
        for k in range(len(toward)):
            across = place[0, 0] * toward[k, 0] + place[0, 1] * toward[k, 1]  # cells a metre
            down = place[1, 0] * toward[k, 0] + place[1, 1] * toward[k, 1]
            begin, end = _span(column, across, 0.0, float(tops.shape[1]))
            first, last = _span(row, down, 0.0, float(tops.shape[0]))
            begin, end = max(begin, first, 0.0), min(end, last)
            if hole[0] < column < hole[2] and hole[1] < row < hole[3]:
                begin = max(
                    begin, min(_span(column, across, hole[0], hole[2])[1], _span(row, down, hole[1], hole[3])[1])
                )
            if begin < end:
                slopes[i, k] = _over_blocks(
                    tops, blocks, column, row, across, down, height, highest, begin, end, slopes[i, k]
                )


@compiled_fused
def _span(at: float, speed: float, low: float, high: float) -> tuple[float, float]:
    """Return the distances along a ray between which one coordinate is within bounds; begin > end if never. [m]"""
    if speed == 0.0:
        return (-np.inf, np.inf) if low <= at < high else (np.inf, -np.inf)
    one, other = (low - at) / speed, (high - at) / speed
    return min(one, other), max(one, other)


@compiled_fused
def _over_blocks(
    tops: Singles, blocks: Singles, column: float, row: float, across: float, down: float, height: float,
    highest: float, begin: float, end: float, steepest: float,
) -> float:  # fmt: skip
    """Return the steepest slope to the columns between two distances along a ray, block by block."""
    away = begin
    right = _cell(column + across * away, across, BLOCK, blocks.shape[1])
    below = _cell(row + down * away, down, BLOCK, blocks.shape[0])
    to_column, to_row = _leave(column, across, right, BLOCK), _leave(row, down, below, BLOCK)
    while away < end and highest - height > steepest * away:
        out = min(to_column, to_row, end)
        if out > away or away == 0.0:
            if blocks[below, right] - height > max(steepest * away, TOUCH):
                steepest = _over_cells(tops, below, right, column, row, across, down, height, away, out, steepest)
            away = max(out, away)
        if to_column <= to_row:
            right += 1 if across > 0 else -1
            if right < 0 or right >= blocks.shape[1]:
                break
            to_column = _leave(column, across, right, BLOCK)
        else:
            below += 1 if down > 0 else -1
            if below < 0 or below >= blocks.shape[0]:
                break
            to_row = _leave(row, down, below, BLOCK)
    return steepest


@inlined
def _over_cells(
    tops: Singles, below: int, right: int, column: float, row: float, across: float, down: float, height: float,
    away: float, end: float, steepest: float,
) -> float:  # fmt: skip
    """Return the steepest slope to the columns of one block, from where the ray enters it to where it leaves it."""
    left, top = right * BLOCK, below * BLOCK
    past, under = min(left + BLOCK, tops.shape[1]), min(top + BLOCK, tops.shape[0])
    at = min(max(_cell(column + across * away, across, 1, tops.shape[1]), left), past - 1)
    line = min(max(_cell(row + down * away, down, 1, tops.shape[0]), top), under - 1)
    to_column, to_row = _leave(column, across, at, 1), _leave(row, down, line, 1)
    while True:
        rise = tops[line, at] - height
        if rise > TOUCH and rise > steepest * away:
            steepest = min(rise / away, DARK) if away > 0.0 else DARK
        if min(to_column, to_row) >= end:
            break
        if to_column <= to_row:
            away = max(away, to_column)
            at += 1 if across > 0 else -1
            to_column = _leave(column, across, at, 1)
        else:
            away = max(away, to_row)
            line += 1 if down > 0 else -1
            to_row = _leave(row, down, line, 1)
        if at < left or at >= past or line < top or line >= under:
            break
    return steepest


@compiled_fused
def _cell(at: float, speed: float, side: int, count: int) -> int:
    """Return the cell, or block of `side` cells, into which a ray goes on from a position; on an edge, the next."""
    number = int(np.floor(at / side))
    if speed < 0 and number * side == at:
        number -= 1
    return min(max(number, 0), count - 1)


@compiled_fused
def _leave(at: float, speed: float, number: int, side: int) -> float:
    """Return the distance at which a ray leaves a cell. [m]"""
    if speed == 0.0:
        return np.inf
    return ((number + 1 if speed > 0 else number) * side - at) / speed
