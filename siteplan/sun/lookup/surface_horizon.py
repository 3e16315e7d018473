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
            row_begin, row_end = _span(row, down, 0.0, float(tops.shape[0]))
            begin, end = max(begin, row_begin, 0.0), min(end, row_end)
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
    crossing_low, crossing_high = (low - at) / speed, (high - at) / speed
    return min(crossing_low, crossing_high), max(crossing_low, crossing_high)


@compiled_fused
def _over_blocks(
    tops: Singles, blocks: Singles, column: float, row: float, across: float, down: float, height: float,
    highest: float, begin: float, end: float, steepest: float,
) -> float:  # fmt: skip
    """Return the steepest slope to the columns between two distances along a ray, block by block."""
    distance = begin
    block_column = _cell(column + across * distance, across, BLOCK, blocks.shape[1])
    block_row = _cell(row + down * distance, down, BLOCK, blocks.shape[0])
    to_column, to_row = _leave(column, across, block_column, BLOCK), _leave(row, down, block_row, BLOCK)
    while distance < end and highest - height > steepest * distance:
        leave_at = min(to_column, to_row, end)
        if leave_at > distance or distance == 0.0:
            if blocks[block_row, block_column] - height > max(steepest * distance, TOUCH):
                steepest = _over_cells(
                    tops, block_row, block_column, column, row, across, down, height, distance, leave_at, steepest
                )
            distance = max(leave_at, distance)
        if to_column <= to_row:
            block_column += 1 if across > 0 else -1
            if block_column < 0 or block_column >= blocks.shape[1]:
                break
            to_column = _leave(column, across, block_column, BLOCK)
        else:
            block_row += 1 if down > 0 else -1
            if block_row < 0 or block_row >= blocks.shape[0]:
                break
            to_row = _leave(row, down, block_row, BLOCK)
    return steepest


@inlined
def _over_cells(
    tops: Singles, block_row: int, block_column: int, column: float, row: float, across: float, down: float,
    height: float, distance: float, end: float, steepest: float,
) -> float:  # fmt: skip
    """Return the steepest slope to the columns of one block, from where the ray enters it to where it leaves it."""
    first_column, first_row = block_column * BLOCK, block_row * BLOCK
    end_column, end_row = min(first_column + BLOCK, tops.shape[1]), min(first_row + BLOCK, tops.shape[0])
    cell_column = min(max(_cell(column + across * distance, across, 1, tops.shape[1]), first_column), end_column - 1)
    cell_row = min(max(_cell(row + down * distance, down, 1, tops.shape[0]), first_row), end_row - 1)
    to_column, to_row = _leave(column, across, cell_column, 1), _leave(row, down, cell_row, 1)
    while True:
        rise = tops[cell_row, cell_column] - height
        if rise > TOUCH and rise > steepest * distance:
            steepest = min(rise / distance, DARK) if distance > 0.0 else DARK
        if min(to_column, to_row) >= end:
            break
        if to_column <= to_row:
            distance = max(distance, to_column)
            cell_column += 1 if across > 0 else -1
            to_column = _leave(column, across, cell_column, 1)
        else:
            distance = max(distance, to_row)
            cell_row += 1 if down > 0 else -1
            to_row = _leave(row, down, cell_row, 1)
        if cell_column < first_column or cell_column >= end_column or cell_row < first_row or cell_row >= end_row:
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
