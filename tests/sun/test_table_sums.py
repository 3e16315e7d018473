"""What is subtracted from a sky's table: random small skies against sums over all the pieces between two cuts."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from siteplan.sun.lookup import leaf_sums, table_sums
from siteplan.sun.lookup.intervals import empty_view
from siteplan.sun.lookup.leaves import no_leaves
from siteplan.sun.path.sky_table import sky_table

CELL = 6  # levels
BINS = 7  # the last span of two has but one of them


def slope_of(level):
    """Return the slope of a level: 384 of them up to the zenith."""
    return level / (384 - level)


class Sky:
    """A random table, of seven bins as a rule, and what stands before it; everything in levels."""

    def __init__(self, seed, *, levels=62, columns=16, bins=BINS, intervals=True, leaves=True, full=False, cells=14):
        rng = np.random.default_rng(seed)
        self.levels, self.columns, self.bins, spans = levels, columns, bins, -(-bins // 2)
        step = rng.random((bins, levels - 1, columns))
        self.lowest, self.highest = rng.integers(0, 12, bins), rng.integers(levels - 25, levels, bins)
        for b in range(bins):  # no sun at the bottom and at the top
            step[b, : self.lowest[b]] = step[b, self.highest[b] :] = 0
        self.below = np.concatenate([np.zeros((bins, 1, columns)), np.cumsum(step, axis=1)], axis=1)
        self.horizon = rng.uniform(0, 12 if intervals == "apart" else 30, bins) * (
            1 if full else rng.integers(0, 2, bins)
        )
        self.opacity = rng.random((4, columns))
        self.intervals = [[] for _ in range(bins)]
        if intervals:
            for b in range(bins) if full else rng.choice(bins, 4, replace=False):
                for _ in range((1 if intervals == "one" else 4) if full else rng.integers(1, 5)):
                    low, high = np.sort(rng.uniform(0, levels + 3, 2))
                    self.intervals[b].append((low, high, int(rng.integers(0, 4))))
                if intervals == "apart":
                    ends = np.sort(rng.uniform(0, levels, 8)).tolist()
                    self.intervals[b] = [(low, high, 1) for low, high in zip(ends[::2], ends[1::2], strict=True)]
                self.intervals[b].sort(key=lambda one: one[2])  # those of one body follow each other
        self.state = np.array(rng.integers(0, 2, columns))
        self.state[[0, -1]] = 2  # the last column alone in its lane
        self.cells = [(0, 0)] * spans
        self.through = np.ones((3, spans, 64))
        if leaves:
            for span in range(spans) if full else rng.choice(spans, 3, replace=False):
                begin, end = (0, cells) if full else sorted(rng.choice(cells, 2, replace=False).tolist())
                self.cells[span] = begin, end
                self.through[:, span, begin:end] = rng.random((3, end - begin))

    def arrays(self, capacity=5):
        """Return the same as the loops have it."""
        table = sky_table(np.ascontiguousarray(self.below, dtype=np.float32), 30.0)
        view = empty_view(table, slope_of(self.highest).astype(np.float32), capacity=capacity, sides=3)
        view.horizon[:] = slope_of(self.horizon)
        for b, some in enumerate(self.intervals):
            view.size[b] = len(some)
            for slot, (low, high, body) in enumerate(some):
                view.interval[b, slot] = slope_of(low), slope_of(high), body
        light = no_leaves(table, np.zeros((4, 3), dtype=np.float32), self.state)
        for span, (begin, end) in enumerate(self.cells):
            light.begin[span], light.end[span] = begin, end
            light.transmittance[:, span] = self.through[:, span] if begin < end else 0.123
        reads = table_sums.empty_reads(self.opacity.astype(np.float32), capacity, states=3)
        return table, view, light, reads

    def hidden(self):
        """Return what is hidden in each column: between neighbouring cuts the same things let their shares through."""
        total = np.zeros(self.columns)
        for b in range(self.bins):
            horizon, top, (begin, end) = self.horizon[b], self.levels - 1, self.cells[b // 2]
            total += self.below_level(b, horizon)
            cuts = {
                horizon,
                top,
                *range(0, 384, CELL),
                *(end for low, high, _ in self.intervals[b] for end in (low, high)),
            }
            cuts = sorted(cut for cut in cuts if horizon <= cut <= top)
            for low, high in itertools.pairwise(cuts):
                middle, through = (low + high) / 2, np.ones(self.columns)
                for body in {body for at, to, body in self.intervals[b] if at < middle < to}:
                    through = through * (1 - self.opacity[body])
                if begin <= middle // CELL < end:
                    through = through * self.through[self.state, b // 2, int(middle // CELL)]
                total += (1 - through) * (self.below_level(b, high) - self.below_level(b, low))
        return total

    def below_level(self, b, level):
        step = min(int(level), self.levels - 2)
        return self.below[b, step] + (level - step) * (self.below[b, step + 1] - self.below[b, step])


WIDE = {"bins": 150, "full": True, "columns": 8}
KINDS = {
    "horizon": {"intervals": False, "leaves": False}, "screens": {"leaves": False}, "leaves": {"intervals": False},
    "both": {}, "small": {"levels": 60, "columns": 8}, "one": {"full": True, "intervals": "one"},
    "full": {"full": True, "levels": 122, "cells": 21}, "wide": WIDE | {"leaves": False},
    "leafy": WIDE | {"intervals": False}, "apart": WIDE | {"intervals": "apart", "leaves": False},
    "lone": {"full": True, "intervals": "one", "leaves": False},
}  # fmt: skip


@pytest.mark.parametrize("at_once", [1024, 3])
@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_is_hidden_in_all(plain_loops, monkeypatch, seed, kind, at_once):
    if seed > 1 and kind.get("bins"):
        return  # one wide sky is enough
    add_up_after(monkeypatch, at_once)
    compare(Sky(seed, **kind))


def test_leaves_beside_a_screen_and_just_below_the_horizon(plain_loops):
    # a screen in every other bin, so that the bins beside it are summed one by one, up to the top of the table
    for ends in ((14, 4, 5, 14), (4, 14, 14, 14), (9, 10, 11, 12)):
        sky = Sky(5, full=True, intervals="one")
        for b in range(0, BINS, 2):
            sky.intervals[b] = []
        for span, end in enumerate(ends):
            sky.cells[span] = 0, end
            sky.through[:, span, end:] = 1
        sky.horizon[[0, 2, 4]] = 25.0, 25.5, 31.0  # in the cell after the last with leaves
        sky.highest[:] = 61
        sky.below[:, -14:] += 0.5 * np.arange(14)[:, None]
        compare(sky)


def add_up_after(monkeypatch, at_once):
    """Add up after so few reads that it is done several times, in arrays that hold no more than they must."""
    monkeypatch.setattr(table_sums, "READS", at_once)
    monkeypatch.setattr(leaf_sums, "READS", at_once)
    monkeypatch.setattr(table_sums, "MIXES", min(at_once, 65) - 1)


def compare(sky):
    table, view, leaves, reads = sky.arrays()
    light = np.zeros(sky.columns, dtype=np.float32)
    table_sums.subtract_hidden(table, view, leaves, reads, light)
    leaf_sums.subtract_leaves(table, view, leaves, reads, light)
    expected = sky.hidden()
    assert expected.min() > 1
    assert -light == pytest.approx(expected, rel=2e-5)  # single floats


def test_room_for_what_a_few_bins_may_add():
    # 1024 reads, and of the two bins of a span two for each end of 5 intervals and 64 cells; mixes likewise
    reads = table_sums.empty_reads(np.full((3, 16), 0.5, dtype=np.float32), 5, states=2)
    assert len(reads.upper) == len(reads.lower) == len(reads.upper_part) == len(reads.lower_part) >= 1024 + 4 * 2 * 69
    assert len(reads.opacity_row) == len(reads.upper)
    assert reads.change.shape == (2, len(reads.upper))
    assert reads.opacity.shape == (3 + 64 + 2 * 69, 16)
    assert reads.opacity[:3].tolist() == [[0.5] * 16] * 3
    assert reads.opacity[3:].max() == 0
    assert (reads.bodies, len(reads.ends)) == (3, 10)
    assert len({id(one) for one in (reads.upper, reads.lower, reads.opacity_row)}) == 3
    assert not np.shares_memory(reads.upper_part, reads.lower_part)


@pytest.mark.parametrize(("slope", "level"), [(-1.0, 0.0), (0.0, 0.0), (0.25, 76.8), (1.0, 99.0), (np.inf, 99.0)])
def test_levels_are_kept_within_the_table(plain_loops, slope, level):
    with np.errstate(invalid="ignore"):
        found = table_sums._level(np.float32(min(slope, 1e9)), 100)
    assert found == pytest.approx(level)
    assert table_sums._level(np.float32(1.0), 385) == 192


def test_the_row_below_a_level(plain_loops):
    assert table_sums.row_below(2, np.float32(3.25), 10, 8) == ((2 * 10 + 3) * 8, 0.25)
    assert table_sums.row_below(0, np.float32(9.0), 10, 8) == (8 * 8, 1.0)  # the last row has none above it
    assert table_sums.row_below(1, np.float32(0.0), 10, 16) == (160, 0.0)


def test_intervals_above_the_horizon_in_levels(plain_loops):
    # slopes of the levels 10 to 20, 30 to 40, 5 to 12 and 2 to 8; the horizon is at 12
    levels = np.array([[10, 20], [30, 40], [5, 12], [2, 8], [50, 70]], dtype=float)
    rows = np.column_stack([slope_of(levels), [4, 5, 6, 7, 8]]).astype(np.float32)
    assert table_sums._above_horizon(rows, 5, np.float32(12), 61) == 3
    assert rows[:3] == pytest.approx(np.array([[12, 20, 4], [30, 40, 5], [50, 60, 8]]), rel=1e-5)
    assert table_sums._above_horizon(rows, 0, np.float32(12), 61) == 0


def test_ends_are_sorted_each_once(plain_loops):
    rows = np.array([[10, 20, 0], [5, 10, 0], [12, 30, 1], [5, 30, 2], [1, 2, 3]], dtype=np.float32)
    ends = np.full(10, -1, dtype=np.float32)
    assert table_sums._sort_ends(rows, 4, ends) == 5
    assert ends[:5].tolist() == [5, 10, 12, 20, 30]
    assert table_sums._sort_ends(rows, 5, ends) == 7
    assert ends[:7].tolist() == [1, 2, 5, 10, 12, 20, 30]
    assert table_sums._sort_ends(rows, 0, ends) == 0
    for left in (99.0, 10.0):  # from the point before
        ends[:] = left
        assert table_sums._sort_ends(rows, 1, ends) == 2
        assert ends[:2].tolist() == [10, 20]


def test_the_row_that_says_what_hides(plain_loops):
    opacity = np.zeros((5, 2), dtype=np.float32)
    opacity[:3] = [[0.5, 0.2], [0.4, 0.5], [0.1, 0.0]]
    rows = np.array([[10, 20, 0], [15, 30, 1], [12, 18, 2], [40, 50, 1], [45, 60, 1]], dtype=np.float32)

    def row(at, upto, count=5):
        return table_sums._row_hiding(rows, count, np.float32(at), np.float32(upto), opacity, 4)

    assert row(10, 12) == 0
    assert row(20, 30) == 1
    assert row(30, 40) == -1
    assert row(45, 50) == 1  # the same body twice counts once
    assert row(15, 18, count=1) == 0
    assert opacity[3:].max() == 0
    # 1 - 0.5 x 0.6 x 0.9 and 1 - 0.8 x 0.5
    assert row(15, 18) == 4
    assert opacity[4] == pytest.approx([1 - 0.27, 1 - 0.4])
    assert row(18, 20) == 4
    assert opacity[4] == pytest.approx([1 - 0.3, 1 - 0.4])
