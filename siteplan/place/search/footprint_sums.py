"""What do the cells under one turned footprint say, at every cell of the map?

Plain loops, compiled by numba; imported only when a scan is asked for, since the compiler is slow to load.
It leaves out which headings and which limits: the scan hands them in as offsets and bits.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from siteplan.land.compiled import compiled


@compiled
def _bits_under(bits: Any, row: int, column: int, feet: Any, centred: Any) -> int:  # pragma: no cover
    """Return the bits of all cells whose centre is covered; bit 0 where one lies off the raster."""
    rows, columns = bits.shape
    barred = 0
    for k in range(feet.shape[0]):
        if centred[k]:
            r, c = row + feet[k, 0], column + feet[k, 1]
            barred |= bits[r, c] if 0 <= r < rows and 0 <= c < columns else 1
    return barred


@compiled
def _least_around(values: Any, row: int, column: int, ring: Any) -> float:  # pragma: no cover
    """Return the least value around the footprint."""
    rows, columns = values.shape
    least = np.inf
    for k in range(ring.shape[0]):
        r, c = row + ring[k, 0], column + ring[k, 1]
        if 0 <= r < rows and 0 <= c < columns and values[r, c] < least:
            least = values[r, c]
    return least


@compiled
def _sun_under(sun: Any, row: int, column: int, feet: Any, share: Any, counts: float) -> Any:  # pragma: no cover
    """Return the mean over the footprint, and the worst cell that is covered by at least `counts`; else NaN."""
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
def _count(barred: int, blocked: Any, alone: Any) -> None:  # pragma: no cover
    """Add one spot to the counts of the bits that forbid it."""
    how_many, last = 0, 0
    for bit in range(blocked.shape[0]):
        if (barred >> bit) & 1:
            blocked[bit] += 1
            how_many += 1
            last = bit
    if how_many == 1:
        alone[last] += 1


@compiled
def scan_heading(
    bits: Any, sun: Any, minutes: Any, asked: Any, feet: Any, share: Any, centred: Any, ring: Any,
    no_way: int, counts: float,
) -> Any:  # fmt: skip  # pragma: no cover
    """Return the free spots of one heading (row, column, mean, worst, minutes), and the counts of what forbids."""
    rows, columns = bits.shape
    found = np.empty((rows * columns, 5))
    n = 0
    blocked, alone = np.zeros(62, np.int64), np.zeros(62, np.int64)
    for row in range(rows):
        for column in range(columns):
            if not asked[row, column]:
                continue
            barred = _bits_under(bits, row, column, feet, centred)
            nearest = np.inf
            if barred == 0:
                nearest = _least_around(minutes, row, column, ring)
                if nearest == np.inf:
                    barred = 1 << no_way
            if barred != 0:
                _count(barred, blocked, alone)
                continue
            mean, worst = _sun_under(sun, row, column, feet, share, counts)
            if not np.isnan(mean):
                found[n, 0], found[n, 1], found[n, 2] = row, column, mean
                found[n, 3], found[n, 4] = worst, nearest
                n += 1
    return found[:n], blocked, alone


@compiled
def best_of_each(cell: Any, value: Any, cells: int) -> Any:  # pragma: no cover
    """Return which entry has the greatest value on each cell, the first of equal ones; -1 where there is none."""
    best = np.full(cells, -1, np.int64)
    for index in range(cell.shape[0]):
        there = best[cell[index]]
        if there < 0 or value[index] > value[there]:
            best[cell[index]] = index
    return best
