"""How much of the sky's table do leaves hide?

For cells above the horizon the table has the sun time by cell, which is multiplied by the leaves' transmittance.
Cells that the horizon cuts are summed bin by bin. Bins with intervals are left to `table_sums.subtract_hidden`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.lookup.intervals import View
from siteplan.sun.lookup.leaves import LeafLight
from siteplan.sun.lookup.table_sums import READS, TableReads, row_below
from siteplan.sun.path.sky_table import CELL, CELLS, LANES, SPAN, CellHours, SkyTable

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]


@inlined
def subtract_leaves(sky: SkyTable, view: View, leaves: LeafLight, reads: TableReads, light: Singles) -> None:
    """Subtract what leaves hide in bins without intervals; `subtract_hidden` does the bins with intervals.

    Parameters are those of `subtract_hidden`, which must run first: it turns the view's slopes into levels.
    """
    bins, levels, columns = sky.below.shape
    below, full = sky.below.reshape(-1), np.float32(1)
    count, spans = int(np.int64(0)), len(leaves.end)
    for span in range(spans):
        begin, end = leaves.begin[span], leaves.end[span]
        if begin < end:
            start, stop = span * SPAN, min(span * SPAN + SPAN, bins)
            horizon, highest, no_intervals = np.float32(0), np.float32(0), True
            for b in range(start, stop):
                horizon, highest = max(horizon, view.horizon[b]), max(highest, view.highest[b])
                no_intervals = no_intervals and view.size[b] == 0
            end = min(end, int(np.ceil((full - full / (full + highest)) * np.float32(CELLS))))
            first_whole = min(int(np.ceil(horizon / np.float32(CELL))), end) if no_intervals else end
            for b in range(start, stop):
                if view.size[b] == 0:
                    first_cut = max(begin, int(view.horizon[b]) // CELL)
                    count = _note_cells(
                        leaves, span, b, first_cut, first_whole, view.horizon[b], levels, columns, reads, count
                    )
            for state in range(len(leaves.transmittance)):  # cells summed bin by bin must not count again below
                for n in range(begin, first_whole if no_intervals else leaves.end[span]):
                    leaves.transmittance[state, span, n] = full
        if count >= READS or (span == spans - 1 and count > 0):
            _subtract_taken(below, columns, reads.upper, reads.change, count, leaves.state, light)
            count = 0
    _subtract_whole_cells(sky.cell_hours, leaves, light)


@inlined
def _note_cells(
    leaves: LeafLight, span: int, b: int, first: int, last: int, horizon: np.float32, levels: int, columns: int,
    reads: TableReads, count: int,
) -> int:  # fmt: skip
    """Note a read of the table at each level between a bin's cells; return how many reads are noted.

    `reads.change` is by how much the hidden share falls from below that level to above it.
    """
    full, states = np.float32(1), len(reads.change)
    for n in range(first, last):
        row, share = row_below(b, max(np.float32(n * CELL), horizon), levels, columns)
        reads.upper[count], reads.upper[count + 1] = row, row + columns
        for state in range(states):
            previous = leaves.transmittance[state, span, n - 1] if n > first else full
            change = leaves.transmittance[state, span, n] - previous
            reads.change[state, count], reads.change[state, count + 1] = change * (full - share), change * share
        count += 2
    if first < last:
        reads.upper[count] = (b * levels + min(last * CELL, levels - 1)) * columns
        for state in range(states):
            reads.change[state, count] = full - leaves.transmittance[state, span, last - 1]
        count += 1
    return count


@compiled_fused
def _subtract_whole_cells(cells: CellHours, leaves: LeafLight, light: Singles) -> None:
    """Subtract what leaves hide of whole cells, span after span, for each column in its own leaf state.

    All cells of a strip are read at once. Their sums are kept apart in registers until the end of the column.
    """
    transmittance, full = leaves.transmittance.reshape(-1), np.float32(1)
    spans, state_size = len(leaves.end), len(leaves.end) * CELLS
    for column in range(len(light)):
        state, first_strip = leaves.state[column] * state_size, cells.first[column]
        a = b = c = d = e = f = g = h = np.float32(0)
        span = 0
        while span < spans:
            while span < spans and leaves.begin[span] >= leaves.end[span]:
                span += 1
            start = span
            while span < spans and leaves.begin[span] < leaves.end[span]:
                span += 1
            for strip in range(first_strip[start], first_strip[span]):
                share, hours = transmittance[state + cells.at[strip] :], cells.hours[strip]
                a += (full - share[0]) * hours[0]
                b += (full - share[1]) * hours[1]
                c += (full - share[2]) * hours[2]
                d += (full - share[3]) * hours[3]
                e += (full - share[4]) * hours[4]
                f += (full - share[5]) * hours[5]
                g += (full - share[6]) * hours[6]
                h += (full - share[7]) * hours[7]
        light[column] -= ((a + b) + (c + d)) + ((e + f) + (g + h))


@compiled_fused
def _subtract_taken(
    table: Singles, columns: int, row: Integers, changes: Singles, count: int, states: Integers, light: Singles
) -> None:
    """Subtract the hidden share of the noted rows, for each column in its own leaf state.

    LANES columns are summed at once for each state among them. Neighbouring columns are neighbouring periods of the
    year, so that there are few states in one group.
    """
    for lane in range(0, columns, LANES):
        for column in range(lane, lane + LANES):
            state, is_done = states[column], False
            for earlier in range(lane, column):
                is_done = is_done or states[earlier] == state
            if is_done:
                continue
            a = b = c = d = e = f = g = h = np.float32(0)
            for n in range(count):
                row_sums, share = table[row[n] + lane :], changes[state, n]
                a += share * row_sums[0]
                b += share * row_sums[1]
                c += share * row_sums[2]
                d += share * row_sums[3]
                e += share * row_sums[4]
                f += share * row_sums[5]
                g += share * row_sums[6]
                h += share * row_sums[7]
            light[lane] -= a if states[lane] == state else np.float32(0)
            light[lane + 1] -= b if states[lane + 1] == state else np.float32(0)
            light[lane + 2] -= c if states[lane + 2] == state else np.float32(0)
            light[lane + 3] -= d if states[lane + 3] == state else np.float32(0)
            light[lane + 4] -= e if states[lane + 4] == state else np.float32(0)
            light[lane + 5] -= f if states[lane + 5] == state else np.float32(0)
            light[lane + 6] -= g if states[lane + 6] == state else np.float32(0)
            light[lane + 7] -= h if states[lane + 7] == state else np.float32(0)
