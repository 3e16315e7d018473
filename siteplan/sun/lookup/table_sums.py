"""How much of the sky's table do a horizon and the intervals above it hide?

The table holds sums along elevation (prefix sums). So what a horizon hides in one direction is one read of the table,
and what an interval hides is the difference of two reads. The reads are noted first and then added up together.
Leaves count here only in bins that have intervals; the others are in `leaf_sums`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.lookup.intervals import View
from siteplan.sun.lookup.leaves import LeafLight
from siteplan.sun.path.sky_table import CELL, CELLS, LANES, LEVELS, SPAN, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

READS = 1024  # reads noted before they are added up
MIXES = 64  # combinations of several bodies behind one another among those reads


class TableReads(NamedTuple):
    """Reads of the table that are still to be added up, and work arrays.

    Attributes
    ----------
    upper, lower : ndarray of int, shape (reads,)
        Offset in the flat table of the row below a level: for the upper and the lower level of a hidden interval.
    upper_part, lower_part : ndarray of float32, shape (reads,)
        Position of the level between that row and the next, for linear interpolation. [0 to 1]
    opacity_row : ndarray of int, shape (reads,)
        Row of `opacity` for what hides the interval.
    opacity : ndarray of float32, shape (bodies + mixes, columns)
        Share of the light hidden in each column: first by each body, then by combinations of bodies. [0 to 1]
    bodies : int
        How many rows of `opacity` are single bodies.
    ends : ndarray of float32, shape (2 * capacity,)
        Work array: the levels at which the intervals of a direction begin and end.
    change : ndarray of float32, shape (states, reads)
        Work array: by how much the share hidden by leaves falls at a level, going up, in each leaf state.
    """

    upper: Integers
    upper_part: Singles
    lower: Integers
    lower_part: Singles
    opacity_row: Integers
    opacity: Singles
    bodies: int
    ends: Singles
    change: Singles


def empty_reads(opacity: Singles, capacity: int, *, states: int) -> TableReads:
    """Return empty reads.

    Parameters
    ----------
    opacity : ndarray of float32, shape (bodies, columns)
        Of each body. [0 to 1]
    capacity : int
        Most intervals in one direction.
    states : int
        Number of leaf states.
    """
    reads, mixes = READS + 4 * SPAN * (capacity + CELLS), MIXES + 2 * (capacity + CELLS)
    integers, singles = np.empty(reads, dtype=np.int64), np.empty(reads, dtype=np.float32)
    mixed = np.zeros((mixes, opacity.shape[1]), dtype=np.float32)
    return TableReads(
        integers, singles, integers.copy(), singles.copy(), integers.copy(), np.concatenate([opacity, mixed]),
        len(opacity), np.empty(2 * capacity, dtype=np.float32), np.empty((states, reads), dtype=np.float32),
    )  # fmt: skip


@compiled_fused
def subtract_hidden(sky: SkyTable, view: View, leaves: LeafLight, reads: TableReads, light: Singles) -> None:
    """Subtract from `light`, shape (columns,), what the horizon and the intervals of a view hide.

    Parameters
    ----------
    sky : SkyTable
        From which is subtracted.
    view : View
        Its slopes, of horizon and intervals, are turned into levels in place.
    leaves : LeafLight
        Their transmittance in the same directions; it counts in bins that have intervals.
    reads : TableReads
        Work arrays.
    """
    below, lowest = sky.below, sky.lowest_level
    bins, levels, columns = below.shape
    table = below.reshape(-1)
    horizon = view.horizon
    count = int(np.int64(0))
    for b in range(bins):  # a loop of its own, so that the processor takes eight at once
        horizon[b] = _level(horizon[b], levels)
    for b in range(bins):
        if horizon[b] > lowest[b]:
            reads.upper[count], reads.upper_part[count] = row_below(b, horizon[b], levels, columns)
            count += 1
        horizon[b] = max(horizon[b], lowest[b])
        if count == READS or (b == bins - 1 and count > 0):
            _subtract_below(table, columns, reads, count, light)
            count = 0
    _subtract_intervals(below, view, leaves, reads, light)


@compiled_fused
def _level(slope: np.float32, levels: int) -> np.float32:
    """Return the level of a slope as `sky_table.level` does, kept within the table."""
    slope = max(slope, np.float32(0))
    return min(np.float32(LEVELS) * (slope / (np.float32(1) + slope)), np.float32(levels - 1))


@compiled_fused
def row_below(b: int, level: np.float32, levels: int, columns: int) -> tuple[int, np.float32]:
    """Return the offset of the row below a level in the flat table, and how far the level is on to the next row."""
    step = min(int(level), levels - 2)
    return (b * levels + step) * columns, level - np.float32(step)


@inlined
def _subtract_below(table: Singles, columns: int, reads: TableReads, count: int, light: Singles) -> None:
    """Subtract the sums below the noted levels.

    Eight columns at a time are written out by hand, so that their sums stay in registers: a short inner loop over an
    array takes several times as long. Slices are indexed by constants, for which numba checks no negative index.
    """
    full = np.float32(1)
    for lane in range(0, columns, LANES):
        a = b = c = d = e = f = g = h = np.float32(0)
        for n in range(count):
            k, upper = reads.upper[n] + lane, reads.upper_part[n]
            low, high, lower = table[k:], table[k + columns :], full - upper
            a += lower * low[0] + upper * high[0]
            b += lower * low[1] + upper * high[1]
            c += lower * low[2] + upper * high[2]
            d += lower * low[3] + upper * high[3]
            e += lower * low[4] + upper * high[4]
            f += lower * low[5] + upper * high[5]
            g += lower * low[6] + upper * high[6]
            h += lower * low[7] + upper * high[7]
        light[lane] -= a
        light[lane + 1] -= b
        light[lane + 2] -= c
        light[lane + 3] -= d
        light[lane + 4] -= e
        light[lane + 5] -= f
        light[lane + 6] -= g
        light[lane + 7] -= h


@inlined
def _subtract_intervals(below: Singles, view: View, leaves: LeafLight, reads: TableReads, light: Singles) -> None:
    """Subtract what intervals hide: between two neighbouring ends, the transmittances of all bodies there multiply.

    In spans with leaves, what the leaves hide of the rest is subtracted with it.
    """
    _, levels, columns = below.shape
    table, bins = below.reshape(-1), len(view.size)
    horizon, interval, ends = view.horizon, view.interval, reads.ends
    count, mixes = int(np.int64(0)), int(np.int64(0))
    for b in range(bins):
        above = _above_horizon(interval[b], view.size[b], horizon[b], levels)
        view.size[b] = above
        end_count = _sort_ends(interval[b], above, ends)
        for n in range(end_count - 1):
            opacity_row = _row_hiding(interval[b], above, ends[n], ends[n + 1], reads.opacity, reads.bodies + mixes)
            if opacity_row >= 0:
                mixes += opacity_row >= reads.bodies
                reads.lower[count], reads.lower_part[count] = row_below(b, ends[n], levels, columns)
                reads.upper[count], reads.upper_part[count] = row_below(b, ends[n + 1], levels, columns)
                reads.opacity_row[count] = opacity_row
                count += 1
        if end_count > 0 and leaves.begin[b // SPAN] < leaves.end[b // SPAN]:
            count, mixes = _note_leaves(
                interval[b], above, horizon[b], b, end_count, levels, leaves, reads, count, mixes
            )
        if count >= READS or mixes >= MIXES or (b == bins - 1 and count > 0):
            _subtract_between(table, columns, reads, count, light)
            count, mixes = 0, 0


@inlined
def _note_leaves(
    interval: Singles, above: int, horizon: np.float32, b: int, end_count: int, levels: int, leaves: LeafLight,
    reads: TableReads, count: int, mixes: int,
) -> tuple[int, int]:  # fmt: skip
    """Note what leaves hide in a bin with intervals, of the light that the intervals leave; return both counts.

    Each cell is cut at the ends of the intervals. In every part of it the same bodies hide the same share.
    """
    full, columns, span = np.float32(1), reads.opacity.shape[1], b // SPAN
    for n in range(max(leaves.begin[span], int(horizon) // CELL), leaves.end[span]):
        low, stop = max(np.float32(n * CELL), horizon), np.float32(min((n + 1) * CELL, levels - 1))
        while low < stop:
            high = stop
            for k in range(end_count):
                high = min(high, reads.ends[k]) if reads.ends[k] > low else high
            mix = reads.bodies + mixes
            opacity_row = _row_hiding(interval, above, low, high, reads.opacity, mix)
            for column in range(columns):
                remaining = full - reads.opacity[opacity_row, column] if opacity_row >= 0 else full
                hidden = full - leaves.transmittance[leaves.state[column], span, n]
                reads.opacity[mix, column] = remaining * hidden
            reads.lower[count], reads.lower_part[count] = row_below(b, low, levels, columns)
            reads.upper[count], reads.upper_part[count] = row_below(b, high, levels, columns)
            reads.opacity_row[count] = mix
            count += 1
            mixes += 1
            low = high
    return count, mixes


@inlined
def _above_horizon(interval: Singles, size: int, horizon: np.float32, levels: int) -> int:
    """Turn slopes into levels, drop what lies below the horizon, and return how many intervals are left."""
    count = int(np.int64(0))  # one type from the start, so that functions called with it are compiled once
    for slot in range(size):
        bottom, top = max(_level(interval[slot, 0], levels), horizon), _level(interval[slot, 1], levels)
        if top > bottom:
            interval[count, 0], interval[count, 1], interval[count, 2] = bottom, top, interval[slot, 2]
            count += 1
    return count


@inlined
def _sort_ends(interval: Singles, count: int, ends: Singles) -> int:
    """Set `ends` to the levels at which intervals begin or end, ascending, each once; return how many."""
    end_count = 0
    for slot in range(count):
        for side in range(2):
            end = interval[slot, side]
            n = end_count
            while n > 0 and ends[n - 1] > end:
                n -= 1
            if n > 0 and ends[n - 1] == end:
                continue
            for k in range(end_count, n, -1):
                ends[k] = ends[k - 1]
            ends[n] = end
            end_count += 1
    return end_count


@inlined
def _row_hiding(interval: Singles, count: int, at: np.float32, upto: np.float32, opacity: Singles, mix: int) -> int:
    """Return the row of `opacity` between two levels: one body's, `mix` (set here) for several, -1 for none."""
    met, last = int(np.int64(-1)), int(np.int64(-1))
    for slot in range(count):
        body = int(interval[slot, 2])
        if interval[slot, 0] > at or upto > interval[slot, 1] or body == last:
            continue
        if met < 0:
            met = body
        else:
            for column in range(opacity.shape[1]):
                through = np.float32(1) - opacity[met, column]
                opacity[mix, column] = opacity[met, column] + through * opacity[body, column]
            met = mix
        last = body
    return met


@inlined
def _subtract_between(table: Singles, columns: int, reads: TableReads, count: int, light: Singles) -> None:
    """Subtract the hidden share of the sums between the noted levels."""
    full = np.float32(1)
    for lane in range(0, columns, 4):
        a = b = c = d = np.float32(0)
        for n in range(count):
            k, upper = reads.upper[n] + lane, reads.upper_part[n]
            i, lower = reads.lower[n] + lane, reads.lower_part[n]
            top, above, bottom, next_up = table[k:], table[k + columns :], table[i:], table[i + columns :]
            hidden, over, under = reads.opacity[reads.opacity_row[n], lane:], full - upper, full - lower
            a += hidden[0] * (over * top[0] + upper * above[0] - under * bottom[0] - lower * next_up[0])
            b += hidden[1] * (over * top[1] + upper * above[1] - under * bottom[1] - lower * next_up[1])
            c += hidden[2] * (over * top[2] + upper * above[2] - under * bottom[2] - lower * next_up[2])
            d += hidden[3] * (over * top[3] + upper * above[3] - under * bottom[3] - lower * next_up[3])
        light[lane] -= a
        light[lane + 1] -= b
        light[lane + 2] -= c
        light[lane + 3] -= d
