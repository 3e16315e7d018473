"""What are the sums and limits under one rotated footprint, at every cell of the map?

Plain loops, compiled by numba; imported only for a scan, since numba takes long to load. Headings and limits are
handed in by the scan as offsets and bits.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from siteplan.land.compiled import compiled


@compiled
def _bits_under(bits: Any, row: int, column: int, feet: Any, centred: Any) -> int:  # pragma: no cover
    """Return the union of the bits of all cells whose centre is covered; bit 0 if one lies off the raster."""
    rows, columns = bits.shape
    forbidding = 0
    for k in range(feet.shape[0]):
        if centred[k]:
            r, c = row + feet[k, 0], column + feet[k, 1]
            forbidding |= bits[r, c] if 0 <= r < rows and 0 <= c < columns else 1
    return forbidding


@compiled
def _least_around(values: Any, row: int, column: int, ring: Any) -> float:  # pragma: no cover
    """Return the least value around the footprint."""
    rows, columns = values.shape
    lowest = np.inf
    for k in range(ring.shape[0]):
        r, c = row + ring[k, 0], column + ring[k, 1]
        if 0 <= r < rows and 0 <= c < columns and values[r, c] < lowest:
            lowest = values[r, c]
    return lowest


@compiled
def _sun_under(sun: Any, row: int, column: int, feet: Any, share: Any, counts: float) -> Any:  # pragma: no cover
    """Return the mean over the footprint, and its worst cell covered by at least `counts`; NaN if none is known."""
    rows, columns = sun.shape
    total, area, worst = 0.0, 0.0, np.inf
    for k in range(feet.shape[0]):
        r, c = row + feet[k, 0], column + feet[k, 1]
        if 0 <= r < rows and 0 <= c < columns and not np.isnan(sun[r, c]):
            total += share[k] * sun[r, c]
            area += share[k]
            if share[k] >= counts and sun[r, c] < worst:
                worst = sun[r, c]
    if area == 0.0:
        return np.nan, np.nan
    return total / area, min(worst, total / area)


@compiled
def _count(forbidding: int, blocked: Any, alone: Any) -> None:  # pragma: no cover
    """Add one spot to the counts of the bits that forbid it."""
    count, last_bit = 0, 0
    for bit in range(blocked.shape[0]):
        if (forbidding >> bit) & 1:
            blocked[bit] += 1
            count += 1
            last_bit = bit
    if count == 1:
        alone[last_bit] += 1


@compiled
def scan_heading(
    bits: Any, sun: Any, minutes: Any, property_cells: Any, feet: Any, share: Any, centred: Any, ring: Any,
    no_way: int, counts: float,
) -> Any:  # fmt: skip  # pragma: no cover
    """Return the free spots of one heading, and how many spots each bit forbids, and forbids alone.

    A spot is a row of five figures: row, column, mean and worst sun, minutes.
    """
    rows, columns = bits.shape
    spots = np.empty((rows * columns, 5))
    count = 0
    blocked, alone = np.zeros(62, np.int64), np.zeros(62, np.int64)
    for row in range(rows):
        for column in range(columns):
            if not property_cells[row, column]:
                continue
            forbidding = _bits_under(bits, row, column, feet, centred)
            nearest = np.inf
            if forbidding == 0:
                nearest = _least_around(minutes, row, column, ring)
                if nearest == np.inf:
                    forbidding = 1 << no_way
            if forbidding != 0:
                _count(forbidding, blocked, alone)
                continue
            mean, worst = _sun_under(sun, row, column, feet, share, counts)
            if not np.isnan(mean):
                spots[count, 0], spots[count, 1], spots[count, 2] = row, column, mean
                spots[count, 3], spots[count, 4] = worst, nearest
                count += 1
    return spots[:count], blocked, alone


@compiled
def best_of_each(cell: Any, value: Any, cells: int) -> Any:  # pragma: no cover
    """Return the number of the entry with the greatest value on each cell, the first of equal ones; -1 if none."""
    best = np.full(cells, -1, np.int64)
    for index in range(cell.shape[0]):
        best_on_cell = best[cell[index]]
        if best_on_cell < 0 or value[index] > value[best_on_cell]:
            best[cell[index]] = index
    return best
