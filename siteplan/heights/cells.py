"""How do scattered points become a map of cells, and how are cells without points filled?"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely import MultiPolygon, Polygon

from siteplan.land.grid import Floats, Grid

Cells = NDArray[np.intp]
#: a square of cells three by three
SQUARE = np.ones((3, 3), dtype=np.bool_)
_SWEEPS = 12  # relaxation sweeps per level; more change the result by less than a centimetre in a yard


def cell_numbers(grid: Grid, x: Floats, y: Floats) -> Cells:
    """Return the number of each point's cell, counted row by row; a point outside gets the nearest edge cell."""
    rows = np.clip(np.floor((grid.north - y) / grid.cell).astype(np.intp), 0, grid.rows - 1)
    columns = np.clip(np.floor((x - grid.west) / grid.cell).astype(np.intp), 0, grid.columns - 1)
    return np.asarray(rows * grid.columns + columns)


def highest(grid: Grid, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the highest value in each cell, NaN without points, shape (rows, columns)."""
    return _extreme(grid, x, y, z, np.maximum, -np.inf)


def lowest(grid: Grid, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the lowest value in each cell, NaN without points, shape (rows, columns)."""
    return _extreme(grid, x, y, z, np.minimum, np.inf)


def _extreme(grid: Grid, x: Floats, y: Floats, z: Floats, choose: np.ufunc, empty: float) -> Floats:
    extremes = np.full(grid.rows * grid.columns, empty)
    choose.at(extremes, cell_numbers(grid, x, y), z)
    return np.where(np.isfinite(extremes), extremes, np.nan).reshape(grid.shape)


def mean(grid: Grid, x: Floats, y: Floats, z: Floats) -> Floats:
    """Return the mean value in each cell, NaN without points, shape (rows, columns)."""
    cell, size = cell_numbers(grid, x, y), grid.rows * grid.columns
    count = np.bincount(cell, minlength=size)
    total = np.bincount(cell, weights=z, minlength=size)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan).reshape(grid.shape)


def point_counts(grid: Grid, x: Floats, y: Floats) -> NDArray[np.intp]:
    """Return how many points lie in each cell, shape (rows, columns)."""
    return np.bincount(cell_numbers(grid, x, y), minlength=grid.rows * grid.columns).reshape(grid.shape)


def at_points(grid: Grid, values: Floats, x: Floats, y: Floats) -> Floats:
    """Return a map's values at points, interpolated bilinearly between the centres of its cells, shape (points,)."""
    place = np.array([(grid.north - y) / grid.cell - 0.5, (x - grid.west) / grid.cell - 0.5])
    return np.asarray(ndimage.map_coordinates(values, place, order=1, mode="nearest"))


def filled(values: Floats) -> Floats:
    """Return a map with its holes filled by a smooth surface (a solution of Laplace's equation).

    Parameters
    ----------
    values : ndarray, shape (rows, columns)
        NaN in unknown cells; at least one must be known.

    Returns
    -------
    ndarray, shape (rows, columns)
        Known cells are unchanged.

    Notes
    -----
    From coarse cells to fine ones, each level relaxed by a few sweeps (Briggs, Henson and McCormick 2000, A
    Multigrid Tutorial, chapter 3: nested iteration; memory).

    Examples
    --------
    >>> filled(np.array([[1.0, np.nan, np.nan, 4.0]])).round(2).tolist()
    [[1.0, 2.0, 3.0, 4.0]]
    """
    unknown = np.isnan(values)
    if not unknown.any():
        return values
    if unknown.all():
        raise ValueError("nothing is known")
    if max(values.shape) <= 2:
        surface = np.where(unknown, np.nanmean(values), values)
    else:
        surface = np.where(unknown, _finer(filled(_coarser(values)), values.shape), values)
    for _ in range(_SWEEPS):
        padded = np.pad(surface, 1, mode="edge")
        mean_of_neighbours = (padded[:-2, 1:-1] + padded[2:, 1:-1] + padded[1:-1, :-2] + padded[1:-1, 2:]) / 4
        surface = np.where(unknown, mean_of_neighbours, surface)
    return surface


def _coarser(values: Floats) -> Floats:
    """Return the means of the known cells in each block of two by two."""
    rows, columns = values.shape
    padded = np.pad(values, ((0, rows % 2), (0, columns % 2)), constant_values=np.nan)
    blocks = np.stack([padded[::2, ::2], padded[1::2, ::2], padded[::2, 1::2], padded[1::2, 1::2]])
    count = np.isfinite(blocks).sum(axis=0)
    return np.where(count > 0, np.nansum(blocks, axis=0) / np.maximum(count, 1), np.nan)


def _finer(values: Floats, shape: tuple[int, int]) -> Floats:
    """Return cells half as large, interpolated bilinearly between the coarse ones."""
    rows, columns = (np.arange(0.5, size) / 2 - 0.5 for size in shape)
    place = np.meshgrid(rows, columns, indexing="ij")
    return np.asarray(ndimage.map_coordinates(values, place, order=1, mode="nearest"))


def outline_of(cells: NDArray[np.bool_], grid: Grid) -> Polygon | MultiPolygon:
    """Return the area that cells cover, with the sides of cells as its edge.

    Parameters
    ----------
    cells : ndarray of bool, shape (rows, columns)
        At least one is true.
    grid : Grid

    Examples
    --------
    >>> outline_of(np.array([[True, True], [False, True]]), Grid(0, 2, 1, 2, 2)).area
    3.0
    """
    rows, columns = np.nonzero(cells)
    begins_run = np.ones(len(rows), dtype=bool)
    begins_run[1:] = (rows[1:] != rows[:-1]) | (columns[1:] != columns[:-1] + 1)
    starts = np.flatnonzero(begins_run)
    ends = np.append(starts[1:], len(rows)) - 1
    west, east = grid.west + columns[starts] * grid.cell, grid.west + (columns[ends] + 1) * grid.cell
    north = grid.north - rows[starts] * grid.cell
    area = shapely.union_all(shapely.box(west, north - grid.cell, east, north))
    return area if isinstance(area, Polygon | MultiPolygon) else Polygon()


def part_of_grid(grid: Grid, window: tuple[slice, ...]) -> Grid:
    """Return the grid of the cells in a window: slices of rows and columns, which may run past the last ones."""
    rows, columns = window
    west, north = grid.west + columns.start * grid.cell, grid.north - rows.start * grid.cell
    rows_end, columns_end = min(rows.stop, grid.rows), min(columns.stop, grid.columns)
    return Grid(west, north, grid.cell, rows_end - rows.start, columns_end - columns.start)


class PointIndex:
    """A spatial index of points, by grid cell.

    Parameters
    ----------
    grid : Grid
    x, y : ndarray, shape (points,)
        [m]
    """

    def __init__(self, grid: Grid, x: Floats, y: Floats) -> None:
        number = cell_numbers(grid, x, y)
        self.grid, self._order = grid, np.argsort(number, kind="stable")
        self._starts = np.searchsorted(number[self._order], np.arange(grid.rows * grid.columns + 1))

    def within(self, bounds: tuple[float, float, float, float]) -> Cells:
        """Return the indices of the points in the cells that a rectangle meets: west, south, east, north. [m]"""
        west, south, east, north = bounds
        top, left = (max(index, 0) for index in self.grid.cell_of(west, north))
        bottom, right = self.grid.cell_of(east, south)
        rows, columns = range(top, min(bottom, self.grid.rows - 1) + 1), self.grid.columns
        right = min(right, columns - 1)
        if not rows or right < left:
            return np.zeros(0, dtype=np.intp)
        spans = [(self._starts[row * columns + left], self._starts[row * columns + right + 1]) for row in rows]
        return np.concatenate([self._order[start:end] for start, end in spans])
