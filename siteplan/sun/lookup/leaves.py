"""How much do leaves take from each direction around a point?

A few bins of azimuth make a span, and each span is cut into cells of elevation. Over a cell the way through a body is
measured once, in the middle of what the body covers there; so its edges need no cells of their own.
It leaves out what the sun's time in a cell is.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import inlined
from siteplan.sun.path.sky_table import CELL, CELLS, LEVELS, SPAN, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

RUN = 8  # cells that a loop goes over at once, as the processor takes them
TINY = np.float32(1e-3)  # levels; keeps straight up and level from dividing by zero


class Leaves(NamedTuple):
    """What leaves let through around a point, direction by direction and cell by cell; and work arrays.

    Attributes
    ----------
    through : ndarray of float32, shape (states, spans, cells)
        Share of the light let through; states differ by what is in leaf. Where `begin` is `end` it means nothing.
    begin, end : ndarray of int, shape (spans,)
        From which cell to before which leaves take something.
    way : ndarray of float32, shape (spans, cells)
        Work array: the way through the body at hand, as a mean over the cell. [m]
    factor : ndarray of float32, shape (cells,)
        Work array: what the body at hand lets through in one span.
    low, high : ndarray of float32, shape (spans,)
        Work arrays: levels from which to which that body is seen; `low` lies above `high` where it is not.
    share : ndarray of float32, shape (spans,)
        Work array: of the span's bins in which it is seen. [0 to 1]
    seen : ndarray of int, shape (spans,)
        Work array: the spans in which it is.
    floor : ndarray of float32, shape (cells,)
        Level at which each cell begins.
    extinction : ndarray of float32, shape (bodies, states)
        Of each body. [1/m]
    state : ndarray of int, shape (columns,)
        Of the sky's columns.
    """

    through: Singles
    begin: Integers
    end: Integers
    way: Singles
    factor: Singles
    low: Singles
    high: Singles
    share: Singles
    seen: Integers
    floor: Singles
    extinction: Singles
    state: Integers


def no_leaves(table: SkyTable, extinction: Singles, state: Integers) -> Leaves:
    """Return room for leaves in a table's directions."""
    spans, cells = -(-len(table.lowest) // SPAN), CELLS
    floor = np.arange(0, LEVELS, CELL, dtype=np.float32)
    singles, integers = np.zeros(spans, dtype=np.float32), np.zeros(spans, dtype=np.int64)
    return Leaves(
        np.ones((extinction.shape[1], spans, cells), dtype=np.float32), integers, integers.copy(),
        np.zeros((spans, cells), dtype=np.float32), np.zeros(cells, dtype=np.float32),
        singles + np.float32(LEVELS), singles, singles.copy(), integers.copy(), floor, extinction, state,
    )  # fmt: skip


@inlined
def add_way(
    leaves: Leaves, span: int, near: np.float32, far: np.float32, bottom: np.float32, top: np.float32,
    hidden: np.float32, upto: np.float32, share: np.float32, seen: int,
) -> int:  # fmt: skip
    """Add the way through a piece of the body at hand in one span; return how many spans it is seen in.

    Parameters
    ----------
    near, far : float
        How far away rays enter and leave its outline. [m]
    bottom, top : float
        Its heights above the point; `bottom` is 0 where it lies below. [m]
    hidden, upto : float
        Levels below which all is hidden, and above which the sky holds nothing.
    share : float
        Of the span's bins in which the piece is seen.
    seen : int
        In how many spans the body has been seen so far.
    """
    one, zero, levels, cell = np.float32(1), np.float32(0), np.float32(LEVELS), np.float32(CELL)
    low, high = levels * (bottom / (bottom + far)), levels * (top / (top + near))
    if min(high, upto) <= max(low, hidden):
        return seen
    if leaves.low[span] > leaves.high[span]:
        leaves.seen[seen] = span
        seen += 1
    leaves.low[span], leaves.high[span] = min(leaves.low[span], low), max(leaves.high[span], high)
    leaves.share[span] = max(leaves.share[span], share)
    begin, end = _whole_runs(low, high)
    way, floor = leaves.way[span, begin:end], leaves.floor[begin:end]
    for n in range(len(way)):  # without a branch, so that the processor takes eight at once
        start, stop = max(low, floor[n]), min(high, floor[n] + cell)
        middle = np.float32(0.5) * (start + stop)
        rest = max(levels - middle, TINY)
        run = rest / max(middle, TINY)  # the way on the level for each metre that a ray rises
        inside = max(min(far, top * run) - max(near, bottom * run), zero)  # 0 where the middle misses the piece
        way[n] += max(stop - start, zero) / cell * inside * np.sqrt(one + one / (run * run))
    return seen


@inlined
def _whole_runs(low: np.float32, high: np.float32) -> tuple[int, int]:
    """Return from which to before which cell a loop runs that holds all between two levels, in whole runs."""
    last = min(int(high), LEVELS - 1) // CELL
    return int(low) // CELL // RUN * RUN, (last // RUN + 1) * RUN


@inlined
def weaken(leaves: Leaves, body: int, seen: int) -> None:
    """Weaken the light by the body at hand, which is seen in so many spans, and make ready for the next."""
    one, zero = np.float32(1), np.float32(0)
    states = len(leaves.through)
    for k in range(seen):
        span = leaves.seen[k]
        first = int(leaves.low[span]) // CELL
        end = min(int(leaves.high[span]), LEVELS - 1) // CELL + 1
        if leaves.begin[span] >= leaves.end[span]:
            for state in range(states):
                for n in range(len(leaves.floor)):
                    leaves.through[state, span, n] = one
            leaves.begin[span], leaves.end[span] = first, end
        leaves.begin[span], leaves.end[span] = min(leaves.begin[span], first), max(leaves.end[span], end)
    for state in range(states):
        if not _weakened_alike(leaves.extinction, body, state):
            _weaken_states(leaves, body, state, seen)
    for k in range(seen):
        span = leaves.seen[k]
        begin, end = _whole_runs(leaves.low[span], leaves.high[span])
        for n in range(begin, end):
            leaves.way[span, n] = zero
        leaves.low[span], leaves.high[span], leaves.share[span] = np.float32(LEVELS), zero, zero


@inlined
def _weakened_alike(extinction: Singles, body: int, state: int) -> bool:
    """Return whether an earlier state weakens a body's light as this one does."""
    alike = False
    for other in range(state):
        alike = alike or extinction[body, other] == extinction[body, state]
    return alike


@inlined
def _weaken_states(leaves: Leaves, body: int, state: int, seen: int) -> None:
    """Weaken the light by a body in a state, and in all later ones in which it weakens alike."""
    one, zero, cell = np.float32(1), np.float32(0), np.float32(CELL)
    weak = -leaves.extinction[body, state]
    for k in range(seen):
        span = leaves.seen[k]
        low, high, share = leaves.low[span], leaves.high[span], leaves.share[span]
        begin, end = _whole_runs(low, high)
        way, floor, factor = leaves.way[span, begin:end], leaves.floor[begin:end], leaves.factor[begin:end]
        for n in range(len(way)):
            part = max(min(high, floor[n] + cell) - max(low, floor[n]), zero) / cell
            factor[n] = one - share * part * (one - _exp(weak * way[n] / max(part, TINY)))
        for other in range(state, len(leaves.through)):
            if leaves.extinction[body, other] == leaves.extinction[body, state]:
                through = leaves.through[other, span, begin:end]
                for n in range(len(through)):
                    through[n] *= factor[n]


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
