"""How much of the sky's table do a horizon and the intervals above it hide?

The table holds sums along elevation (prefix sums). So what a horizon hides in one direction is one look into it, and
what an interval hides is the difference of two. The looks are noted first and then added up together. It leaves out
where horizon and intervals come from, and leaves where no interval is seen.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.lookup.intervals import View
from siteplan.sun.lookup.leaves import Leaves
from siteplan.sun.path.sky_table import CELL, CELLS, LANES, LEVELS, SPAN, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

LOOKS = 1024  # noted before they are added up
MIXES = 64  # bodies behind one another, among those looks


class Looks(NamedTuple):
    """Looks into the table that are still to be added up, and work arrays.

    Attributes
    ----------
    upper, lower : ndarray of int, shape (looks,)
        Where the table's row below a level begins: the upper and the lower level of what is hidden.
    upper_part, lower_part : ndarray of float32, shape (looks,)
        How far the level lies from that row to the next. [0 to 1]
    taker : ndarray of int, shape (looks,)
        Row of `opacity`: what hides it.
    opacity : ndarray of float32, shape (bodies + mixes, columns)
        Share of the light taken in each column, by each body and then by bodies behind one another.
    bodies : int
        How many rows of it are bodies.
    ends : ndarray of float32, shape (2 * capacity,)
        Work array: the levels where the intervals of a direction begin and end.
    change : ndarray of float32, shape (states, looks)
        Work array: what leaves take less above a level than below it, in each state.
    """

    upper: Integers
    upper_part: Singles
    lower: Integers
    lower_part: Singles
    taker: Integers
    opacity: Singles
    bodies: int
    ends: Singles
    change: Singles


def empty_looks(opacity: Singles, capacity: int, *, states: int) -> Looks:
    """Return room for looks behind bodies of an opacity, shape (bodies, columns), so many intervals and states."""
    looks, mixes = LOOKS + 4 * SPAN * (capacity + CELLS), MIXES + 2 * (capacity + CELLS)
    integers, singles = np.empty(looks, dtype=np.int64), np.empty(looks, dtype=np.float32)
    mixed = np.zeros((mixes, opacity.shape[1]), dtype=np.float32)
    return Looks(
        integers, singles, integers.copy(), singles.copy(), integers.copy(), np.concatenate([opacity, mixed]),
        len(opacity), np.empty(2 * capacity, dtype=np.float32), np.empty((states, looks), dtype=np.float32),
    )  # fmt: skip


@compiled_fused
def subtract_hidden(sky: SkyTable, view: View, leaves: Leaves, looks: Looks, light: Singles) -> None:
    """Subtract from `light`, shape (columns,), what the horizon and the intervals of a view hide.

    Parameters
    ----------
    sky : SkyTable
        What the sky holds.
    view : View
        The slopes of its horizon and of its intervals are turned into levels.
    leaves : Leaves
        What they let through in the same directions: it counts where intervals are seen too.
    looks : Looks
        Work arrays.
    """
    below, lowest = sky.below, sky.lowest
    bins, levels, columns = below.shape
    table = below.reshape(-1)
    horizon = view.horizon
    count = int(np.int64(0))
    for b in range(bins):  # alone, so that the processor takes eight at once
        horizon[b] = _level(horizon[b], levels)
    for b in range(bins):
        if horizon[b] > lowest[b]:
            looks.upper[count], looks.upper_part[count] = row_below(b, horizon[b], levels, columns)
            count += 1
        horizon[b] = max(horizon[b], lowest[b])
        if count == LOOKS or (b == bins - 1 and count > 0):
            _subtract_below(table, columns, looks, count, light)
            count = 0
    _subtract_intervals(below, view, leaves, looks, light)


@compiled_fused
def _level(slope: np.float32, levels: int) -> np.float32:
    """Return the level of a slope as `sky_table.level` does, kept within the table."""
    slope = max(slope, np.float32(0))
    return min(np.float32(LEVELS) * (slope / (np.float32(1) + slope)), np.float32(levels - 1))


@compiled_fused
def row_below(b: int, level: np.float32, levels: int, columns: int) -> tuple[int, np.float32]:
    """Return where the row below a level begins in the table, and how far from it to the next the level lies."""
    step = min(int(level), levels - 2)
    return (b * levels + step) * columns, level - np.float32(step)


@inlined
def _subtract_below(table: Singles, columns: int, looks: Looks, count: int, light: Singles) -> None:
    """Subtract all that lies below the noted levels.

    A few columns at a time, written out, so that their sums stay in registers: a loop as short as this over an array
    costs several times as much. Slices are read by constant numbers, which need no look whether they are below 0.
    """
    one = np.float32(1)
    for lane in range(0, columns, LANES):
        a = b = c = d = e = f = g = h = np.float32(0)
        for n in range(count):
            k, upper = looks.upper[n] + lane, looks.upper_part[n]
            low, high, lower = table[k:], table[k + columns :], one - upper
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
def _subtract_intervals(below: Singles, view: View, leaves: Leaves, looks: Looks, light: Singles) -> None:
    """Subtract what intervals hide: between two of their ends the transmittances of all bodies there multiply.

    Where leaves are seen too, what they take of the rest is subtracted with it.
    """
    _, levels, columns = below.shape
    table, bins = below.reshape(-1), len(view.size)
    horizon, interval, ends = view.horizon, view.interval, looks.ends
    count, mixes = int(np.int64(0)), int(np.int64(0))
    for b in range(bins):
        above = _above_horizon(interval[b], view.size[b], horizon[b], levels)
        view.size[b] = above
        number = _sort_ends(interval[b], above, ends)
        for n in range(number - 1):
            taker = _taker(interval[b], above, ends[n], ends[n + 1], looks.opacity, looks.bodies + mixes)
            if taker >= 0:
                mixes += taker >= looks.bodies
                looks.lower[count], looks.lower_part[count] = row_below(b, ends[n], levels, columns)
                looks.upper[count], looks.upper_part[count] = row_below(b, ends[n + 1], levels, columns)
                looks.taker[count] = taker
                count += 1
        span = b // SPAN
        if number > 0 and leaves.begin[span] < leaves.end[span]:
            for n in range(max(leaves.begin[span], int(horizon[b]) // CELL), leaves.end[span]):
                at, stop = max(np.float32(n * CELL), horizon[b]), np.float32(min((n + 1) * CELL, levels - 1))
                while at < stop:
                    upto = stop
                    for k in range(number):
                        upto = min(upto, ends[k]) if ends[k] > at else upto
                    mix = looks.bodies + mixes
                    taker = _taker(interval[b], above, at, upto, looks.opacity, mix)
                    for column in range(columns):
                        left = np.float32(1) - looks.opacity[taker, column] if taker >= 0 else np.float32(1)
                        taken = np.float32(1) - leaves.through[leaves.state[column], span, n]
                        looks.opacity[mix, column] = left * taken
                    looks.lower[count], looks.lower_part[count] = row_below(b, at, levels, columns)
                    looks.upper[count], looks.upper_part[count] = row_below(b, upto, levels, columns)
                    looks.taker[count] = mix
                    count += 1
                    mixes += 1
                    at = upto
        if count >= LOOKS or mixes >= MIXES or (b == bins - 1 and count > 0):
            _subtract_between(table, columns, looks, count, light)
            count, mixes = 0, 0


@inlined
def _above_horizon(interval: Singles, size: int, horizon: np.float32, levels: int) -> int:
    """Turn slopes into levels, drop what lies below the horizon, and return how many intervals are left."""
    count = int(np.int64(0))  # of one type from the start, so that what it is handed to is compiled once
    for slot in range(size):
        bottom, top = max(_level(interval[slot, 0], levels), horizon), _level(interval[slot, 1], levels)
        if top > bottom:
            interval[count, 0], interval[count, 1], interval[count, 2] = bottom, top, interval[slot, 2]
            count += 1
    return count


@inlined
def _sort_ends(interval: Singles, count: int, ends: Singles) -> int:
    """Set `ends` to the levels where intervals begin or end, rising, each once; return how many."""
    number = 0
    for slot in range(count):
        for side in range(2):
            end = interval[slot, side]
            n = number
            while n > 0 and ends[n - 1] > end:
                n -= 1
            if n > 0 and ends[n - 1] == end:
                continue
            for k in range(number, n, -1):
                ends[k] = ends[k - 1]
            ends[n] = end
            number += 1
    return number


@inlined
def _taker(interval: Singles, count: int, at: np.float32, upto: np.float32, opacity: Singles, mix: int) -> int:
    """Return the row of the opacity that takes the light between two levels: a body's, or `mix`, or -1 for none."""
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
def _subtract_between(table: Singles, columns: int, looks: Looks, count: int, light: Singles) -> None:
    """Subtract from what lies between the noted levels the share that is taken there."""
    one = np.float32(1)
    for lane in range(0, columns, 4):
        a = b = c = d = np.float32(0)
        for n in range(count):
            k, upper, i, lower = (
                looks.upper[n] + lane,
                looks.upper_part[n],
                looks.lower[n] + lane,
                looks.lower_part[n],
            )
            top, above, bottom, next_up = table[k:], table[k + columns :], table[i:], table[i + columns :]
            taken, over, under = looks.opacity[looks.taker[n], lane:], one - upper, one - lower
            a += taken[0] * (over * top[0] + upper * above[0] - under * bottom[0] - lower * next_up[0])
            b += taken[1] * (over * top[1] + upper * above[1] - under * bottom[1] - lower * next_up[1])
            c += taken[2] * (over * top[2] + upper * above[2] - under * bottom[2] - lower * next_up[2])
            d += taken[3] * (over * top[3] + upper * above[3] - under * bottom[3] - lower * next_up[3])
        light[lane] -= a
        light[lane + 1] -= b
        light[lane + 2] -= c
        light[lane + 3] -= d
