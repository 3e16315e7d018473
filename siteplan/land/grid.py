"""Which cells lie over the property?

A north-up raster in the local frame: row 0 is the northernmost, as in a GeoTIFF.
A grid holds no values: a map is an array of shape (rows, columns) beside its grid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """A north-up raster of square cells.

    Attributes
    ----------
    west, north : float
        Of the outer corner of cell (0, 0). [m]
    cell : float
        Side of a cell. [m]
    rows, columns : int
        How many cells.
    """

    west: float
    north: float
    cell: float
    rows: int
    columns: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns

    @property
    def east(self) -> float:
        """The outer edge on the right. [m]"""
        return self.west + self.columns * self.cell

    @property
    def south(self) -> float:
        """The outer edge at the bottom. [m]"""
        return self.north - self.rows * self.cell

    @property
    def x(self) -> Floats:
        """Centres of the columns, shape (columns,). [m]"""
        return np.asarray(self.west + (np.arange(self.columns) + 0.5) * self.cell, dtype=np.float64)

    @property
    def y(self) -> Floats:
        """Centres of the rows, north first, shape (rows,). [m]"""
        return np.asarray(self.north - (np.arange(self.rows) + 0.5) * self.cell, dtype=np.float64)

    def centres(self) -> Floats:
        """Return the centres of all cells row by row, shape (rows * columns, 2). [m]"""
        x, y = np.meshgrid(self.x, self.y)
        return np.column_stack([x.ravel(), y.ravel()])

    def inside(self, shape: BaseGeometry) -> NDArray[np.bool_]:
        """Return which cells have their centre in `shape` (its edge counts), shape (rows, columns)."""
        inside = np.zeros(self.shape, dtype=np.bool_)
        window, inside_window = self.part(shape)
        inside[window] = inside_window
        return inside

    def part(self, shape: BaseGeometry) -> tuple[tuple[slice, slice], NDArray[np.bool_]]:
        """Return the rows and columns that a shape spans, and which of those cells have their centre in it.

        Examples
        --------
        >>> from shapely import box
        >>> window, inside = Grid(0, 3, 1, 3, 3).part(box(0, 0, 1, 2))
        >>> window, inside.tolist()
        ((slice(1, 3, None), slice(0, 1, None)), [[True], [True]])
        """
        if shape.is_empty:
            return (slice(0, 0), slice(0, 0)), np.zeros((0, 0), dtype=np.bool_)
        west, south, east, north = shape.bounds
        columns = slice(*np.searchsorted(self.x, (west, east + 1e-12), side="left").tolist())
        rows = slice(*np.searchsorted(-self.y, (-north, -south + 1e-12), side="left").tolist())
        x, y = np.meshgrid(self.x[columns], self.y[rows])
        shapely.prepare(shape)
        return (rows, columns), np.asarray(shapely.intersects_xy(shape, x, y), dtype=np.bool_)

    def cell_of(self, x: float, y: float) -> tuple[int, int]:
        """Return row and column of the cell that holds a point; it may lie outside the grid."""
        return math.floor((self.north - y) / self.cell), math.floor((x - self.west) / self.cell)


def grid_over(shape: BaseGeometry, cell: float) -> Grid:
    """Return the grid that covers the bounds of `shape` with whole cells, centred on it.

    Examples
    --------
    >>> from shapely import box
    >>> grid_over(box(0, 0, 10, 5), 0.25)
    Grid(west=0.0, north=5.0, cell=0.25, rows=20, columns=40)
    >>> grid_over(box(0, 0, 1.1, 1), 0.5).columns
    3
    """
    west, south, east, north = shape.bounds
    columns = max(1, math.ceil(round((east - west) / cell, 6)))
    rows = max(1, math.ceil(round((north - south) / cell, 6)))
    return Grid(
        west=(west + east - columns * cell) / 2,
        north=(south + north + rows * cell) / 2,
        cell=cell,
        rows=rows,
        columns=columns,
    )
