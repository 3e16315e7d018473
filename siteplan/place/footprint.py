"""Which cells does a bed cover when it is turned?

The rectangle is laid on the raster with its middle on a cell's centre; each cell counts by the share of it covered.
It leaves out what the cells say: that is the scan's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.outline import rectangle

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footprint:
    """The cells that a turned rectangle covers, counted from the cell under its middle.

    Attributes
    ----------
    rows, columns : ndarray of int, shape (n,)
        Offsets; rows grow southward.
    share : ndarray, shape (n,)
        Of each cell that is covered. [0 to 1]
    centred : ndarray of bool, shape (n,)
        Whether the cell's own centre is covered.
    """

    rows: Ints
    columns: Ints
    share: Floats
    centred: NDArray[np.bool_]

    @property
    def offsets(self) -> Ints:
        """Rows and columns, shape (n, 2)."""
        return np.ascontiguousarray(np.column_stack([self.rows, self.columns]))


def footprint(*, length: float, width: float, heading: float, cell: float) -> Footprint:
    """Return the cells under a rectangle.

    Parameters
    ----------
    length, width : float
        Long and short side. [m]
    heading : float
        Of the long side, clockwise from true north. [degrees]
    cell : float
        Side of a cell. [m]

    Examples
    --------
    >>> east = footprint(length=3, width=1, heading=90, cell=1)
    >>> east.rows.tolist(), east.columns.tolist(), east.share.tolist()
    ([0, 0, 0], [-1, 0, 1], [1.0, 1.0, 1.0])
    """
    outline = rectangle(0, 0, length=length, width=width, heading=heading)
    columns, rows, beyond = _offsets(length=length, width=width, heading=heading, cell=cell)
    diagonal = cell * np.sqrt(0.5)
    near = beyond < diagonal  # the others the rectangle cannot touch
    columns, rows, beyond = columns[near], rows[near], beyond[near]
    share = np.ones(len(columns))
    edge = beyond > -diagonal
    x, y, half = columns[edge] * cell, -rows[edge] * cell, cell / 2
    cells = shapely.box(x - half, y - half, x + half, y + half)
    share[edge] = np.round(shapely.area(shapely.intersection(cells, outline)) / cell**2, 9)
    covered = share > 0
    return Footprint(rows[covered], columns[covered], share[covered], beyond[covered] < -1e-6)


def cells_around(*, length: float, width: float, heading: float, cell: float) -> Ints:
    """Return the offsets (row, column) of the cells whose centre lies in a rectangle, the middle one always, (n, 2).

    Examples
    --------
    >>> cells_around(length=3, width=1, heading=0, cell=1).tolist()
    [[-1, 0], [0, 0], [1, 0]]
    """
    columns, rows, beyond = _offsets(length=length, width=width, heading=heading, cell=cell)
    within = (beyond <= 1e-9) | ((columns == 0) & (rows == 0))
    return np.ascontiguousarray(np.column_stack([rows[within], columns[within]]))


def _offsets(*, length: float, width: float, heading: float, cell: float) -> tuple[Ints, Ints, Floats]:
    """Return columns and rows of all cells near, and how far beyond the nearest side their centres lie. [m]"""
    reach = int(np.hypot(length, width) / 2 / cell + 1.5)
    steps = np.arange(-reach, reach + 1, dtype=np.int64)
    rows, columns = (part.ravel() for part in np.meshgrid(steps, steps, indexing="ij"))
    turn = np.radians(heading)
    along = (columns * np.sin(turn) - rows * np.cos(turn)) * cell
    across = (columns * np.cos(turn) + rows * np.sin(turn)) * cell
    return columns, rows, np.maximum(np.abs(along) - length / 2, np.abs(across) - width / 2)


def rectangles(x: Floats, y: Floats, heading: Floats, *, length: float, width: float) -> NDArray[np.object_]:
    """Return many rectangles at once, as an array of polygons.

    Parameters
    ----------
    x, y, heading : ndarray, shape (n,)
        Middles [m] and directions of the long side [degrees].
    length, width : float
        [m]

    Examples
    --------
    >>> one = rectangles(np.array([0.0]), np.array([0.0]), np.array([90.0]), length=4, width=2)[0]
    >>> one.equals(rectangle(0, 0, length=4, width=2, heading=90))
    True
    >>> len(rectangles(np.array([]), np.array([]), np.array([]), length=4, width=2))
    0
    """
    turn = np.radians(heading)
    along = np.stack([np.sin(turn), np.cos(turn)], axis=-1) * length / 2
    across = np.stack([np.cos(turn), -np.sin(turn)], axis=-1) * width / 2
    centre = np.stack([x, y], axis=-1)
    ring = [centre - along - across, centre + along - across, centre + along + across, centre - along + across]
    corners = np.round(np.stack([*ring, ring[0]], axis=-2), 9)
    return np.asarray(shapely.polygons(corners)) if len(corners) else np.empty(0, dtype=object)
