"""How much sun would a bed get on every cell and at every heading, and which of these spots are free?

Compiled sums over the rotated footprint on the maps. Forbidden ground is given as one bit for each kind of limit.
The exact outline and the exact sun are computed later, for the best spots.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.place.search.footprint import Floats, Form, cells_around, footprint

#: a cell counts for the worst cell only if at least this share of it is covered
COUNTS = 0.3
#: number of kinds of limit that fit into one cell's bits
BITS = 62


@dataclass(frozen=True, eq=False, kw_only=True)
class Scan:
    """All free spots, one entry each, and counts of those that are not free.

    Attributes
    ----------
    row, column, heading : ndarray of int, shape (n,)
        Cell under the bed's middle, and number of the heading in `headings`.
    mean, worst : ndarray, shape (n,)
        Season's sun, capped at plenty: mean over the footprint, and its worst cell. [h a day]
    minutes : ndarray, shape (n,)
        Time of one barrow trip to the nearest cell around the bed; 0 if no minutes were given. [min]
    headings : ndarray, shape (k,)
        [degrees]
    scanned : int
        Number of all spots whose middle is on the property.
    blocked, alone : ndarray of int, shape (bits,)
        Number of spots that each kind of limit forbids, and that it alone forbids.
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
    """Return the free spots with their sun and barrow time.

    Parameters
    ----------
    bits : ndarray of int, shape (rows, columns)
        One bit for each kind of limit on that cell; bit 0 is the boundary, which cells off the raster break too.
    sun : ndarray, shape (rows, columns)
        Season's sun, capped at plenty. NaN cells do not count. [h a day]
    minutes : ndarray, shape (rows, columns), or None
        Time of one trip by barrow; NaN where it cannot go. [min]
    property_cells : ndarray of bool, shape (rows, columns)
        Where a bed's middle may lie.
    headings : sequence of float
        [degrees]
    form : Form
        Of the bed.
    aisle, cell : float
        [m]
    no_way : int
        The bit for "the barrow does not reach it".

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
    from siteplan.place.search.footprint_sums import scan_heading  # imported here: numba takes long to load

    reached = np.zeros(bits.shape) if minutes is None else np.where(np.isnan(minutes), np.inf, minutes)
    maps = (np.ascontiguousarray(bits, dtype=np.int64), np.ascontiguousarray(sun, dtype=np.float64), reached)
    rows, blocked, alone = [], np.zeros(BITS, np.int64), np.zeros(BITS, np.int64)
    for index, heading in enumerate(headings):
        feet = footprint(form, heading=float(heading), cell=cell)
        ring = cells_around(form, heading=float(heading), cell=cell, aisle=aisle)
        spots, blocked_here, alone_here = scan_heading(
            *maps, property_cells, feet.offsets, feet.share, feet.centred, ring, no_way, COUNTS
        )
        blocked += blocked_here
        alone += alone_here
        rows.append(np.column_stack([spots, np.full(len(spots), index)]))
    all_rows = np.vstack(rows) if rows else np.empty((0, 6))
    return Scan(
        row=all_rows[:, 0].astype(np.int32),
        column=all_rows[:, 1].astype(np.int32),
        heading=all_rows[:, 5].astype(np.int32),
        mean=all_rows[:, 2],
        worst=all_rows[:, 3],
        minutes=all_rows[:, 4],
        headings=np.asarray(headings, dtype=np.float64),
        scanned=int(property_cells.sum()) * len(headings),
        blocked=blocked,
        alone=alone,
    )
