"""How much do leaves take from each direction around a point?

The bins of azimuth are taken two by two, and each pair is cut into cells of elevation. Over a cell the way through a
body is measured once, in the middle of what the body covers there; so its edges need no cells of their own.
It leaves out what the sun's time in a cell is.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.path.sky_table import CELL, LEVELS, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

RUN = 16  # cells that a loop goes over at once, as the processor takes them


class Leaves(NamedTuple):
    """What leaves let through around a point, direction by direction and cell by cell; and work arrays.

    Attributes
    ----------
    through : ndarray of float32, shape (pairs, states, cells)
        Share of the light let through; states differ by what is in leaf. Where `begin` is `end` it means nothing.
    begin, end : ndarray of int, shape (pairs,)
        From which cell to before which leaves take something.
    way : ndarray of float32, shape (pairs, cells)
        Work array: the way through the body at hand, as a mean over the cell. [m]
    low, high : ndarray of float32, shape (pairs,)
        Work arrays: levels from which to which that body is seen; `low` lies above `high` where it is not.
    share : ndarray of float32, shape (pairs,)
        Work array: of the pair's bins in which it is seen. [0 to 1]
    seen : ndarray of int, shape (pairs,)
        Work array: the pairs in which it is.
    floor, run, slant : ndarray of float32, shape (cells,)
        Level at which each cell begins, and of a ray through its middle the way on the level for each metre that it
        rises, and its length for each metre on the level.
    extinction : ndarray of float32, shape (bodies, states)
        Of each body. [1/m]
    state : ndarray of int, shape (columns,)
        Of the sky's columns.
    """

    through: Singles
    begin: Integers
    end: Integers
    way: Singles
    low: Singles
    high: Singles
    share: Singles
    seen: Integers
    floor: Singles
    run: Singles
    slant: Singles
    extinction: Singles
    state: Integers


def no_leaves(table: SkyTable, extinction: Singles, state: Integers) -> Leaves:
    """Return room for leaves in a table's directions."""
    pairs, cells = len(table.held), LEVELS // CELL
    floor = np.arange(0, LEVELS, CELL, dtype=np.float32)
    run = (LEVELS - floor - CELL / 2) / (floor + CELL / 2)
    singles, integers = np.zeros(pairs, dtype=np.float32), np.zeros(pairs, dtype=np.int64)
    return Leaves(
        np.ones((pairs, extinction.shape[1], cells), dtype=np.float32), integers, integers.copy(),
        np.zeros((pairs, cells), dtype=np.float32), singles + np.float32(LEVELS), singles, singles.copy(),
        integers.copy(), floor, run.astype(np.float32), np.hypot(1, 1 / run).astype(np.float32), extinction, state,
    )  # fmt: skip


@inlined
def add_way(
    leaves: Leaves, b: int, near: np.float32, far: np.float32, bottom: np.float32, top: np.float32,
    hidden: np.float32, upto: np.float32, share: np.float32, seen: int,
) -> int:  # fmt: skip
    """Add the way through a piece of the body at hand in one pair of bins; return how many pairs it is seen in.

    Parameters
    ----------
    near, far : float
        How far away rays enter and leave its outline. [m]
    bottom, top : float
        Its heights above the point; `bottom` is 0 where it lies below. [m]
    hidden, upto : float
        Levels below which all is hidden, and above which the sky holds nothing.
    share : float
        Of the pair's bins in which the piece is seen.
    seen : int
        In how many pairs the body has been seen so far.
    """
    zero, levels = np.float32(0), np.float32(LEVELS)
    low, high = levels * (bottom / (bottom + far)), levels * (top / (top + near))
    if min(high, upto) <= max(low, hidden):
        return seen
    if leaves.low[b] > leaves.high[b]:
        leaves.seen[seen] = b
        seen += 1
    leaves.low[b], leaves.high[b] = min(leaves.low[b], low), max(leaves.high[b], high)
    leaves.share[b] = max(leaves.share[b], share)
    first, last = int(low / np.float32(CELL)), min(int(high / np.float32(CELL)), len(leaves.floor) - 1)
    before, before_last = leaves.way[b, first], leaves.way[b, last]
    begin, end = _whole_runs(first, last)
    way, run, slant = leaves.way[b, begin:end], leaves.run[begin:end], leaves.slant[begin:end]
    for n in range(len(way)):  # without a branch, so that the processor takes eight at once
        inside = min(far, top * run[n]) - max(near, bottom * run[n])  # below 0 where the middle misses the piece
        way[n] += max(inside, zero) * slant[n]
    leaves.way[b, last] = before_last + _way_in_edge(leaves.floor[last], low, high, near, far, bottom, top)
    if first < last:
        leaves.way[b, first] = before + _way_in_edge(leaves.floor[first], low, high, near, far, bottom, top)
    return seen


@inlined
def _whole_runs(first: int, last: int) -> tuple[int, int]:
    """Return from which to before which cell a loop runs that holds all from `first` to `last`, in whole runs."""
    return first // RUN * RUN, (last // RUN + 1) * RUN


@compiled_fused
def _way_in_edge(
    floor: np.float32, low: np.float32, high: np.float32, near: np.float32, far: np.float32, bottom: np.float32,
    top: np.float32,
) -> np.float32:  # fmt: skip
    """Return the mean over a cell of the way through a piece that covers part of it. [m]"""
    cell, zero, levels = np.float32(CELL), np.float32(0), np.float32(LEVELS)
    start, stop = max(low, floor), min(high, floor + cell)
    middle = np.float32(0.5) * (start + stop)
    rest = max(levels - middle, np.float32(1e-3))
    run = rest / max(middle, np.float32(1e-3))
    inside = max(min(far, top * run) - max(near, bottom * run), zero)
    slant = np.sqrt(np.float32(1) + middle * middle / (rest * rest))
    return np.float32(max(stop - start, zero) / cell * inside * slant)


@inlined
def weaken(leaves: Leaves, body: int, seen: int) -> None:
    """Weaken the light by the body at hand, which is seen in so many pairs, and make ready for the next."""
    one, zero, cell = np.float32(1), np.float32(0), np.float32(CELL)
    for k in range(seen):
        b = leaves.seen[k]
        low, high, share = leaves.low[b], leaves.high[b], leaves.share[b]
        fresh = leaves.begin[b] >= leaves.end[b]
        first, last = int(low / cell), min(int(high / cell), len(leaves.floor) - 1)
        from_first, from_last = leaves.way[b, first], leaves.way[b, last]
        leaves.way[b, first] = leaves.way[b, last] = zero
        begin, end = _whole_runs(first, last)
        for state in range(leaves.through.shape[1]):
            if fresh:
                for n in range(len(leaves.floor)):
                    leaves.through[b, state, n] = one
            way, through = leaves.way[b, begin:end], leaves.through[b, state, begin:end]
            weak = -leaves.extinction[body, state]
            for n in range(len(way)):
                through[n] *= one - share + share * _exp(weak * way[n])
            leaves.through[b, state, last] *= _through_edge(low, high, leaves.floor[last], weak * from_last, share)
            if first < last:
                leaves.through[b, state, first] *= _through_edge(
                    low, high, leaves.floor[first], weak * from_first, share
                )
        for n in range(first, last):
            leaves.way[b, n] = zero
        leaves.begin[b] = first if fresh else min(leaves.begin[b], first)
        leaves.end[b] = last + 1 if fresh else max(leaves.end[b], last + 1)
        leaves.low[b], leaves.high[b], leaves.share[b] = np.float32(LEVELS), zero, zero


@compiled_fused
def _through_edge(
    low: np.float32, high: np.float32, floor: np.float32, weak: np.float32, share: np.float32
) -> np.float32:
    """Return what comes through a cell covered in part; `weak` is minus the mean optical depth over all of it."""
    part = max(min(high, floor + np.float32(CELL)) - max(low, floor), np.float32(0)) / np.float32(CELL)
    return np.float32(1) - share * part * (np.float32(1) - _exp(weak / max(part, np.float32(1e-6))))


@inlined
def _exp(x: np.float32) -> np.float32:
    """Return e to the power of a number below 0, to 0.0001; without a call, so that eight are taken at once.

    The 16th power of Taylor's series of a sixteenth of it.
    """
    part = max(x, np.float32(-16)) * np.float32(1 / 16)
    root = np.float32(1) + part * (np.float32(1) + part * (np.float32(0.5) + part * np.float32(1 / 6)))
    root *= root
    root *= root
    root *= root
    return root * root
