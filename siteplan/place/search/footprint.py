"""Which ground and which cells does a bed cover at a given heading?

The bed's form is laid on the raster with its middle on a cell's centre; each cell counts by the share of it that is
covered. Reading the maps under it is done in `footprint_scan`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, affinity

from siteplan.land.outline import rectangle, smallest_rectangle

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Footprint:
    """The cells that a rotated form covers, relative to the cell under its middle.

    Attributes
    ----------
    rows, columns : ndarray of int, shape (n,)
        Offsets; rows grow southward.
    share : ndarray, shape (n,)
        Share of each cell that is covered. [0 to 1]
    centred : ndarray of bool, shape (n,)
        Whether the cell's own centre is covered.
    """

    rows: Ints
    columns: Ints
    share: Floats
    centred: NDArray[np.bool_]

    @property
    def offsets(self) -> Ints:
        """Offsets as pairs of row and column, shape (n, 2)."""
        return np.ascontiguousarray(np.column_stack([self.rows, self.columns]))


@dataclass(frozen=True, eq=False)
class Form:
    """Outline of a bed from above, with its middle at the origin and its long side pointing north.

    Attributes
    ----------
    outline : Polygon
        Without holes. [m]
    length, width : float
        Of the smallest rectangle around it. [m]
    """

    outline: Polygon
    length: float
    width: float

    @cached_property
    def period(self) -> float:
        """Rotational period: 180 if half a turn maps the form onto itself, as for a rectangle, else 360. [degrees]"""
        half = affinity.rotate(self.outline, 180, origin=(0, 0))
        return 180.0 if half.symmetric_difference(self.outline).area < 1e-6 * self.outline.area else 360.0

    @cached_property
    def core(self) -> float:
        """Diameter of the circle around its middle that it contains: beds whose middles are nearer overlap. [m]"""
        middle = shapely.Point(0, 0)
        return 2 * float(self.outline.exterior.distance(middle)) if self.outline.contains(middle) else 0.0

    def outlines(self, x: Floats, y: Floats, heading: Floats, *, shrink: float = 0.0) -> NDArray[np.object_]:
        """Return the form at many places, as an array of polygons, shape (n,).

        Parameters
        ----------
        x, y, heading : ndarray, shape (n,)
            Middles [m] and directions of the long side [degrees].
        shrink : float
            By how much each side is moved inward. [m]

        Examples
        --------
        >>> two = form_of_size(4, 2)
        >>> two.outlines(np.array([0.0]), np.array([0.0]), np.array([90.0]))[0].bounds
        (-2.0, -1.0, 2.0, 1.0)
        >>> len(two.outlines(np.array([]), np.array([]), np.array([])))
        0
        """
        if not len(x):
            return np.empty(0, dtype=object)
        shape = self.outline.buffer(-shrink, join_style="mitre") if shrink else self.outline
        corners = shapely.get_coordinates(shape.exterior if isinstance(shape, Polygon) else self.outline.exterior)
        turn = np.radians(heading)[:, None]
        east = corners[:, 0] * np.cos(turn) + corners[:, 1] * np.sin(turn) + x[:, None]
        north = corners[:, 1] * np.cos(turn) - corners[:, 0] * np.sin(turn) + y[:, None]
        return np.asarray(shapely.polygons(np.round(np.stack([east, north], axis=-1), 9)))

    def turned(self, heading: float) -> Polygon:
        """Return the form at the origin, rotated to a heading. [degrees]"""
        zero = np.zeros(1)
        polygon: Polygon = self.outlines(zero, zero, np.array([heading]))[0]
        return polygon


def form_of_size(length: float, width: float) -> Form:
    """Return a rectangle as a form; the long side is the length. [m]"""
    length, width = max(length, width), min(length, width)
    return Form(rectangle(0, 0, length=length, width=width, heading=0), length, width)


def form_of(shape: Polygon) -> Form:
    """Return any outline as a form, its middle that of the smallest rectangle around it.

    Raises
    ------
    ValueError
        Where it is empty, not valid, or has a hole.

    Examples
    --------
    >>> ell = Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (0, 2)])
    >>> form = form_of(ell)
    >>> (round(form.length, 6), round(form.width, 6), form.period, round(form.outline.area, 6))
    (3.0, 2.0, 360.0, 4.0)
    """
    if shape.is_empty or not shape.is_valid or shape.interiors:
        raise ValueError("the bed's shape must be one simple outline without holes, such as an L or a keyhole")
    length, width, heading = smallest_rectangle(shape)
    middle = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))[:4].mean(axis=0)
    moved = affinity.translate(shape, -float(middle[0]), -float(middle[1]))
    return Form(affinity.rotate(moved, heading, origin=(0, 0)), length, width)


def footprint(form: Form, *, heading: float, cell: float) -> Footprint:
    """Return the cells under a form.

    Parameters
    ----------
    form : Form
    heading : float
        Of the long side, clockwise from true north. [degrees]
    cell : float
        Side of a cell. [m]

    Examples
    --------
    >>> east = footprint(form_of_size(3, 1), heading=90, cell=1)
    >>> east.rows.tolist(), east.columns.tolist(), east.share.tolist()
    ([0, 0, 0], [-1, 0, 1], [1.0, 1.0, 1.0])
    """
    outline = form.turned(heading)
    columns, rows = _offsets(outline, cell)
    x, y, half = columns * cell, -rows * cell, cell / 2
    cells = shapely.box(x - half, y - half, x + half, y + half)
    shapely.prepare(outline)
    covered_whole = shapely.contains(outline, cells)
    cut = ~covered_whole & shapely.intersects(outline, cells)
    share = covered_whole.astype(np.float64)
    share[cut] = np.round(shapely.area(shapely.intersection(cells[cut], outline)) / cell**2, 9)
    used = share > 0
    centred = shapely.contains_xy(outline.buffer(-1e-6), x[used], y[used])
    return Footprint(rows[used], columns[used], share[used], centred)


def cells_around(form: Form, *, heading: float, cell: float, aisle: float) -> Ints:
    """Return the offsets of the cells whose centre lies in a form or its aisle, and of the middle cell, shape (n, 2).

    Examples
    --------
    >>> cells_around(form_of_size(1, 1), heading=0, cell=1, aisle=0).tolist()
    [[0, 0]]
    >>> len(cells_around(form_of_size(1, 1), heading=0, cell=1, aisle=0.5))
    5
    """
    outline = form.turned(heading).buffer(aisle + 1e-9)  # round: at a corner the aisle is no wider than elsewhere
    columns, rows = _offsets(outline, cell)
    within = shapely.intersects_xy(outline, columns * cell, -rows * cell) | ((columns == 0) & (rows == 0))
    return np.ascontiguousarray(np.column_stack([rows[within], columns[within]]))


def _offsets(outline: Polygon, cell: float) -> tuple[Ints, Ints]:
    """Return column and row offsets of all cells within the bounds of an outline around the origin."""
    farthest = int(max(np.abs(outline.bounds)) / cell + 1.5)
    steps = np.arange(-farthest, farthest + 1, dtype=np.int64)
    rows, columns = (axis.ravel() for axis in np.meshgrid(steps, steps, indexing="ij"))
    return columns, rows
