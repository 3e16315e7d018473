"""What would every cell and every heading give a bed?

Sums over the turned footprint on the maps, compiled; forbidden ground is told by one bit for each kind of limit.
It leaves out the exact outline and the exact sun: those are computed for the best that come out of here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.place.search.footprint import Floats, Form, cells_around, footprint

#: a cell counts for the worst hour where at least this share of it is covered
COUNTS = 0.3
#: kinds of limit that fit into one cell's bits
BITS = 62


@dataclass(frozen=True, eq=False, kw_only=True)
class Scan:
    """All spots whose cells are free, one entry each.

    Attributes
    ----------
    row, column, heading : ndarray of int, shape (n,)
        Cell under the middle, and which of `headings`.
    mean, worst : ndarray, shape (n,)
        Season's sun up to plenty over the footprint, and in its worst cell. [h/day]
    minutes : ndarray, shape (n,)
        Of one trip to the nearest cell around the bed; 0 where none were handed in. [min]
    headings : ndarray, shape (k,)
        [degrees]
    scanned : int
        How many spots have their middle on the property.
    blocked, alone : ndarray of int, shape (bits,)
        How many spots each kind of limit forbids, and how many it alone forbids.
    """

    row: NDArray[np.int32]
    column: NDArray[np.int32]
    heading: NDArray[np.int32]
    mean: Floats
    worst: Floats
    minutes: Floats
    headings: Floats
    scanned: int
    blocked: NDArray[np.int64]
    alone: NDArray[np.int64]


def scan(
    *,
    bits: NDArray[np.int64],
    sun: Floats,
    minutes: Floats | None,
    property_cells: NDArray[np.bool_],
    headings: Sequence[float] | Floats,
    form: Form,
    aisle: float,
    cell: float,
    no_way: int,
) -> Scan:
    """Return what every free cell and heading gives.

    Parameters
    ----------
    bits : ndarray of int, shape (rows, columns)
        One bit for each kind of limit on that cell; bit 0 is the boundary, and stands for cells off the raster.
    sun : ndarray, shape (rows, columns)
        Season's sun up to plenty. NaN cells do not count. [h/day]
    minutes : ndarray, shape (rows, columns), or None
        Of one trip by barrow; NaN where it cannot get. [min]
    property_cells : ndarray of bool, shape (rows, columns)
        Where a bed's middle may lie.
    headings : sequence of float
        [degrees]
    form : Form
        Of the bed.
    aisle, cell : float
        [m]
    no_way : int
        The bit that stands for "no way in for the barrow".

    Returns
    -------
    Scan

    Examples
    --------
    >>> from siteplan.place.search.footprint import form_of_size
    >>> free = scan(bits=np.zeros((1, 3), int), sun=np.array([[4.0, 6, 8]]), minutes=None,
    ...     property_cells=np.ones((1, 3), bool), headings=[90], form=form_of_size(2.2, 1), aisle=0, cell=1, no_way=5)
    >>> free.column.tolist(), free.mean.round(6).tolist(), free.worst.tolist(), free.scanned
    ([1], [6.0], [4.0], 3)
    """
    from siteplan.place.search.footprint_sums import scan_heading  # the compiler is loaded when it is needed

    reached = np.zeros(bits.shape) if minutes is None else np.where(np.isnan(minutes), np.inf, minutes)
    maps = (np.ascontiguousarray(bits, dtype=np.int64), np.ascontiguousarray(sun, dtype=np.float64), reached)
    parts, blocked, alone = [], np.zeros(BITS, np.int64), np.zeros(BITS, np.int64)
    for index, heading in enumerate(headings):
        feet = footprint(form, heading=float(heading), cell=cell)
        ring = cells_around(form, heading=float(heading), cell=cell, aisle=aisle)
        found, blocked_here, alone_here = scan_heading(
            *maps, property_cells, feet.offsets, feet.share, feet.centred, ring, no_way, COUNTS
        )
        blocked += blocked_here
        alone += alone_here
        parts.append(np.column_stack([found, np.full(len(found), index)]))
    whole = np.vstack(parts) if parts else np.empty((0, 6))
    return Scan(
        row=whole[:, 0].astype(np.int32),
        column=whole[:, 1].astype(np.int32),
        heading=whole[:, 5].astype(np.int32),
        mean=whole[:, 2],
        worst=whole[:, 3],
        minutes=whole[:, 4],
        headings=np.asarray(headings, dtype=np.float64),
        scanned=int(property_cells.sum()) * len(headings),
        blocked=blocked,
        alone=alone,
    )
