"""Sums under a footprint at every cell: against plain numpy, and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.place.search.footprint_sums import best_of_each, scan_heading

FEET = np.array([[0, 0], [0, 1], [-1, 0], [1, 2]], dtype=np.int64)  # rows and columns from the middle
SHARE = np.array([1.0, 0.8, 0.3, 0.1])
CENTRED = np.array([True, True, False, True])
RING = np.array([[0, 3], [-2, 0]], dtype=np.int64)
NO_WAY, COUNTS = 5, 0.3


def scanned(bits, sun, minutes, on_property, feet=FEET, centred=CENTRED):
    return scan_heading(bits, sun, minutes, on_property, feet, SHARE, centred, RING, NO_WAY, COUNTS)


def within(values, row, column):
    return values[row, column] if 0 <= row < values.shape[0] and 0 <= column < values.shape[1] else None


@pytest.mark.parametrize(
    ("feet", "centred"),
    [(FEET, CENTRED), (FEET, np.array([True, False, False, False])), (-FEET, np.array([True, False, False, True]))],
)
@pytest.mark.parametrize("seed", range(3))
def test_every_spot_is_as_it_is_looked_at_alone(seed, feet, centred):
    chance, shape = np.random.default_rng(seed), (6, 7)
    bits = np.where(chance.uniform(size=shape) < 0.75, 0, 2 ** chance.integers(1, 4, shape)).astype(np.int64)
    sun = np.where(chance.uniform(size=shape) < 0.8, chance.uniform(1, 9, shape), np.nan)
    minutes = np.where(chance.uniform(size=shape) < 0.7, chance.uniform(0, 5, shape), np.inf)
    on_property = chance.uniform(size=shape) < 0.9
    found, blocked, alone = scanned(bits, sun, minutes, on_property, feet, centred)
    rows, forbids, forbids_alone = [], np.zeros(62, int), np.zeros(62, int)
    for row, column in np.argwhere(on_property):
        there = [within(bits, row + r, column + c) for (r, c), counts in zip(feet, centred, strict=True) if counts]
        limits = {0 for one in there if one is None} | {
            bit for one in there if one is not None for bit in range(6) if one & 1 << bit
        }
        around = [within(minutes, row + r, column + c) for r, c in RING]
        nearest = min((one for one in around if one is not None), default=math.inf)
        if not limits and math.isinf(nearest):
            limits = {NO_WAY}
        for bit in limits:
            forbids[bit] += 1
            forbids_alone[bit] += len(limits) == 1
        known = [
            (share, hours) for (r, c), share in zip(feet, SHARE, strict=True)
            if (hours := within(sun, row + r, column + c)) is not None and not math.isnan(hours)
        ]  # fmt: skip
        if not limits and known:
            mean = sum(share * hours for share, hours in known) / sum(share for share, _ in known)
            worst = min([hours for share, hours in known if share >= COUNTS] + [mean])
            rows.append([row, column, mean, worst, nearest])
    assert found == pytest.approx(np.array(rows).reshape(-1, 5))
    assert blocked.tolist() == forbids.tolist()
    assert alone.tolist() == forbids_alone.tolist()
    assert len(rows) > 1
    assert forbids[NO_WAY] > 0


def test_a_footprint_may_end_at_the_edge_of_the_map_and_not_past_it():
    # the feet reach from a row above to a row below, and two columns east; the row above is not covered to its centre
    shape = (3, 4)
    found, blocked, alone = scanned(
        np.zeros(shape, np.int64), np.full(shape, 6.0), np.zeros(shape), np.ones(shape, bool)
    )
    # the ring lies three columns east and two rows above: for (0, 1) and (1, 1) both of its cells are off the map
    assert found[:, :2].tolist() == [[0, 0], [1, 0]]
    assert (blocked[0], alone[0]) == (8, 8)  # four in the last row, two more in each of the others
    assert (blocked[NO_WAY], alone[NO_WAY]) == (2, 2)
    assert blocked.sum() == 10


def test_the_mean_counts_shares_and_the_worst_cell_must_count():
    shape = (4, 5)
    sun = np.full(shape, 8.0)
    sun[1, 1], sun[1, 2], sun[0, 1], sun[2, 3] = 8.0, 6.0, 5.0, 1.0
    only = np.zeros(shape, bool)
    only[1, 1] = True
    minutes = np.full(shape, np.inf)
    minutes[1, 4] = 2.5
    (spot,), _, _ = scanned(np.zeros(shape, np.int64), sun, minutes, only)
    mean = (8 + 0.8 * 6 + 0.3 * 5 + 0.1 * 1) / 2.2
    assert spot == pytest.approx([1, 1, mean, 5.0, 2.5])  # a tenth of a cell is too little to be the worst
    sun[0, 1] = sun[1, 1] = sun[1, 2] = np.nan
    (spot,), _, _ = scanned(np.zeros(shape, np.int64), sun, minutes, only)
    assert spot == pytest.approx([1, 1, 1.0, 1.0, 2.5])  # no cell counts: the mean stands for the worst
    sun[2, 3] = np.nan
    found, blocked, _ = scanned(np.zeros(shape, np.int64), sun, minutes, only)
    assert found.shape == (0, 5)
    assert blocked.sum() == 0


def test_each_limit_under_the_footprint_counts_once():
    shape = (4, 5)
    bits = np.zeros(shape, np.int64)
    bits[1, 1], bits[1, 2] = 0b110, 0b100  # limits 1 and 2, and 2 once more
    only = np.zeros(shape, bool)
    only[1, 1] = True
    found, blocked, alone = scanned(bits, np.ones(shape), np.zeros(shape), only)
    assert (len(found), blocked[:4].tolist(), alone.sum()) == (0, [0, 1, 1, 0], 0)
    bits[1, 1] = 1 << 61
    bits[1, 2] = 0
    _, blocked, alone = scanned(bits, np.ones(shape), np.zeros(shape), only)
    assert (blocked[61], alone[61], blocked.sum(), len(blocked), len(alone)) == (1, 1, 1, 62, 62)
    bits[1, 1], bits[0, 1] = 0, 2  # the cell above is covered, but not its centre
    found, blocked, _ = scanned(bits, np.ones(shape), np.zeros(shape), only)
    assert (len(found), blocked.sum()) == (1, 0)


def test_the_best_of_each_cell_is_the_first_of_equal_ones():
    cell = np.array([2, 0, 2, 2, 0], dtype=np.int64)
    value = np.array([1.0, 5.0, 3.0, 3.0, 4.0])
    assert best_of_each(cell, value, 4).tolist() == [1, -1, 2, -1]
    assert best_of_each(cell[:0], value[:0], 2).tolist() == [-1, -1]
    assert best_of_each(np.array([1, 1]), np.array([-3.0, -2.0]), 2).tolist() == [-1, 1]
