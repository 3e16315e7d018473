"""How much light do leaves let through in each direction around a point?

A few bins of azimuth make a span, and each span is divided into cells of elevation. In each cell the path through a
body is measured once, in the middle of the part that the body covers: so the cells need not follow the body's edges.
The sun time in the cells is in `leaf_sums`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import inlined
from siteplan.sun.path.sky_table import CELL, CELLS, LEVELS, SPAN, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

RUN = 8  # loops run over a multiple of this many cells, which the processor takes at once
TINY = np.float32(1e-3)  # levels; keeps from dividing by zero at the zenith and at the horizon


class LeafLight(NamedTuple):
    """Transmittance of leaves around a point, cell by cell of the sky; and work arrays for one body at a time.

    Attributes
    ----------
    transmittance : ndarray of float32, shape (states, spans, cells)
        Share of the light let through in each leaf state. Undefined in spans where `begin` equals `end`.
    begin, end : ndarray of int, shape (spans,)
        First cell in which leaves hide something, and the cell after the last.
    path : ndarray of float32, shape (spans, cells)
        Work array: path through the current body, as a mean over the cell. [m]
    factor : ndarray of float32, shape (cells,)
        Work array: transmittance of the current body in one span.
    low, high : ndarray of float32, shape (spans,)
        Work arrays: lowest and highest level at which the current body is seen; `low` > `high` if it is not.
    share : ndarray of float32, shape (spans,)
        Work array: share of the span's bins in which the current body is seen. [0 to 1]
    spans : ndarray of int, shape (spans,)
        Work array: numbers of the spans in which the current body is seen.
    floor : ndarray of float32, shape (cells,)
        Level at which each cell begins.
    extinction : ndarray of float32, shape (bodies, states)
        Extinction coefficient of each body in each leaf state. [1/m]
    state : ndarray of int, shape (columns,)
        Leaf state of each column of the sky.
    """

    transmittance: Singles
    begin: Integers
    end: Integers
    path: Singles
    factor: Singles
    low: Singles
    high: Singles
    share: Singles
    spans: Integers
    floor: Singles
    extinction: Singles
    state: Integers


def no_leaves(table: SkyTable, extinction: Singles, state: Integers) -> LeafLight:
    """Return the arrays for a table's directions, without any leaves yet."""
    spans, cells = -(-len(table.lowest_level) // SPAN), CELLS
    floor = np.arange(0, LEVELS, CELL, dtype=np.float32)
    singles, integers = np.zeros(spans, dtype=np.float32), np.zeros(spans, dtype=np.int64)
    return LeafLight(
        np.ones((extinction.shape[1], spans, cells), dtype=np.float32), integers, integers.copy(),
        np.zeros((spans, cells), dtype=np.float32), np.zeros(cells, dtype=np.float32),
        singles + np.float32(LEVELS), singles, singles.copy(), integers.copy(), floor, extinction, state,
    )  # fmt: skip


@inlined
def add_path(
    leaves: LeafLight, span: int, near: np.float32, far: np.float32, bottom: np.float32, top: np.float32,
    horizon: np.float32, table_end: np.float32, share: np.float32, span_count: int,
) -> int:  # fmt: skip
    """Add the path through one piece of the current body in one span; return in how many spans the body is seen.

    Parameters
    ----------
    leaves : LeafLight
    span : int
        Number of the span.
    near, far : float
        Horizontal distances at which rays enter and leave the piece's outline. [m]
    bottom, top : float
        Heights above the point; `bottom` is 0 if it lies below the point. [m]
    horizon, table_end : float
        Level of the horizon, and level above which the sky's table is empty.
    share : float
        Share of the span's bins in which the piece is seen. [0 to 1]
    span_count : int
        In how many spans the body has been seen so far.
    """
    full, zero, levels, cell = np.float32(1), np.float32(0), np.float32(LEVELS), np.float32(CELL)
    low, high = levels * (bottom / (bottom + far)), levels * (top / (top + near))
    if min(high, table_end) <= max(low, horizon):
        return span_count
    if leaves.low[span] > leaves.high[span]:
        leaves.spans[span_count] = span
        span_count += 1
    leaves.low[span], leaves.high[span] = min(leaves.low[span], low), max(leaves.high[span], high)
    leaves.share[span] = max(leaves.share[span], share)
    begin, end = _whole_runs(low, high)
    path, floor = leaves.path[span, begin:end], leaves.floor[begin:end]
    for n in range(len(path)):  # without a branch, so that the processor takes eight at once
        start, stop = max(low, floor[n]), min(high, floor[n] + cell)
        middle = np.float32(0.5) * (start + stop)
        below_zenith = max(levels - middle, TINY)
        run = below_zenith / max(middle, TINY)  # horizontal distance for each metre that a ray rises
        inside = max(min(far, top * run) - max(near, bottom * run), zero)  # 0 where the middle misses the piece
        path[n] += max(stop - start, zero) / cell * inside * np.sqrt(full + full / (run * run))
    return span_count


@inlined
def _whole_runs(low: np.float32, high: np.float32) -> tuple[int, int]:
    """Return the cells between two levels, first and end, widened to multiples of RUN."""
    last = min(int(high), LEVELS - 1) // CELL
    return int(low) // CELL // RUN * RUN, (last // RUN + 1) * RUN


@inlined
def attenuate(leaves: LeafLight, body: int, span_count: int) -> None:
    """Multiply the light by the current body's transmittance, and clear the work arrays for the next body.

    `span_count` is the number of spans in which the body is seen.
    """
    full, zero = np.float32(1), np.float32(0)
    states = len(leaves.transmittance)
    for k in range(span_count):
        span = leaves.spans[k]
        first_cell = int(leaves.low[span]) // CELL
        end = min(int(leaves.high[span]), LEVELS - 1) // CELL + 1
        if leaves.begin[span] >= leaves.end[span]:
            for state in range(states):
                for n in range(len(leaves.floor)):
                    leaves.transmittance[state, span, n] = full
            leaves.begin[span], leaves.end[span] = first_cell, end
        leaves.begin[span], leaves.end[span] = min(leaves.begin[span], first_cell), max(leaves.end[span], end)
    for state in range(states):
        if not _attenuated_alike(leaves.extinction, body, state):
            _attenuate_states(leaves, body, state, span_count)
    for k in range(span_count):
        span = leaves.spans[k]
        begin, end = _whole_runs(leaves.low[span], leaves.high[span])
        for n in range(begin, end):
            leaves.path[span, n] = zero
        leaves.low[span], leaves.high[span], leaves.share[span] = np.float32(LEVELS), zero, zero


@inlined
def _attenuated_alike(extinction: Singles, body: int, state: int) -> bool:
    """Return whether a body has the same extinction in an earlier state as in this one."""
    alike = False
    for earlier in range(state):
        alike = alike or extinction[body, earlier] == extinction[body, state]
    return alike


@inlined
def _attenuate_states(leaves: LeafLight, body: int, state: int, span_count: int) -> None:
    """Multiply the light by a body's transmittance in a state and in all later states of the same extinction."""
    full, zero, cell = np.float32(1), np.float32(0), np.float32(CELL)
    exponent = -leaves.extinction[body, state]
    for k in range(span_count):
        span = leaves.spans[k]
        low, high, share = leaves.low[span], leaves.high[span], leaves.share[span]
        begin, end = _whole_runs(low, high)
        path, floor, factor = leaves.path[span, begin:end], leaves.floor[begin:end], leaves.factor[begin:end]
        for n in range(len(path)):
            covered = max(min(high, floor[n] + cell) - max(low, floor[n]), zero) / cell
            factor[n] = full - share * covered * (full - _exp(exponent * path[n] / max(covered, TINY)))
        for later in range(state, len(leaves.transmittance)):
            if leaves.extinction[body, later] == leaves.extinction[body, state]:
                light = leaves.transmittance[later, span, begin:end]
                for n in range(len(light)):
                    light[n] *= factor[n]


@inlined
def _exp(x: np.float32) -> np.float32:
    """Return e to the power of a negative number, to 0.0001; no call to a library, so that eight are taken at once.

    The 16th power of the Taylor series at a sixteenth of it.
    """
    sixteenth = max(x, np.float32(-16)) * np.float32(1 / 16)
    root = np.float32(1) + sixteenth * (np.float32(1) + sixteenth * (np.float32(0.5) + sixteenth * np.float32(1 / 6)))
    root *= root
    root *= root
    root *= root
    return root * root
