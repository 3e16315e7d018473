"""The sky's table by hand: where a path's hours go, how they are summed, and in which cells they lie."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.land.surface_model import SurfaceLayer
from siteplan.sun.obstacles.surface_columns import columns_of_layer, surface_columns
from siteplan.sun.path import sky_table as module
from siteplan.sun.path.day_periods import Periods, leaf_periods, month_periods
from siteplan.sun.path.fine_path import finer
from siteplan.sun.path.sky_table import Sky, at_cache_lines, filled_up, passages_of, sky, sky_table, steps_in

from ..skies import path_of
from .test_fine_path import on_parabola


def sums(steps):
    """Return sums below each level from hours in each, shape (bins, levels, columns)."""
    steps = np.asarray(steps, dtype=np.float32)
    zero = np.zeros((len(steps), 1, steps.shape[2]), dtype=np.float32)
    return np.concatenate([zero, np.cumsum(steps, axis=1)], axis=1)


def of_table(table):
    return Sky(table, (1,), np.zeros(1, np.int64), np.eye(8), np.zeros((2, 2)))


def test_between_which_slopes_a_table_holds_hours():
    steps = np.zeros((7, 384, 8))
    steps[6, 1, 0] = 1
    steps[0, 3:6, 0] = 1  # from level 3 to level 6 in one column, to level 20 in another
    steps[0, 10:20, 5] = 1
    steps[1, 0, 0] = 1
    steps[2, 100:383, 1] = 1
    steps[3, 100:384, 1] = 1
    steps[4, 192:200, 7] = 0.5
    found = sky_table(sums(steps), 42.0)
    assert found.lowest_level.tolist() == [3, 0, 100, 100, 192, 384, 1]
    year = of_table(found)
    assert year.highest == pytest.approx([20 / 364, 1 / 383, 383, np.inf, 200 / 184, 0, 2 / 382])
    assert year.lowest == pytest.approx([3 / 381, 0, 100 / 284, 100 / 284, 1, 384_000, 1 / 383], rel=1e-4)
    assert year.total == pytest.approx([5, 283 + 284, 0, 0, 0, 10, 0, 4])
    # bins of half a degree from 42 degrees on
    assert year.azimuth == pytest.approx([42.25, 42.75, 43.25, 43.75, 44.25, 44.75, 45.25], abs=1e-4)
    assert found.toward[:, 2] == pytest.approx([math.sin(math.radians(43.25)), math.cos(math.radians(43.25))])
    assert of_table(sky_table(sums(np.zeros((2, 3, 8))), 359.5)).azimuth == pytest.approx([359.75, 0.25], abs=1e-4)


@pytest.mark.parametrize("levels", [2, 8, 60, 61, 62, 385])
@pytest.mark.parametrize("bins", [1, 2, 5])
def test_cells_hold_the_hours_of_two_bins_and_six_levels(levels, bins):
    chance = np.random.default_rng(levels)
    steps = chance.random((bins, levels - 1, 8)) * (chance.random((bins, levels - 1, 8)) < 0.2)
    steps[:, :, 3] = 0
    cells = sky_table(sums(steps), 0.0).cell_hours
    spans = -(-bins // 2)
    assert cells.first.shape == (8, spans + 1)
    assert cells.hours.shape == (len(cells.at), 8)
    found = np.zeros((8, spans, 64))
    for column in range(8):
        for span in range(spans):
            for strip in range(cells.first[column, span], cells.first[column, span + 1]):
                assert cells.at[strip] // 64 == span
                start = cells.at[strip] % 64
                assert cells.hours[strip].any()
                found[column, span, start : start + 8] += cells.hours[strip]
    expected = np.zeros((8, spans, 64))
    for b in range(bins):
        for step in range(levels - 1):
            expected[:, b // 2, step // 6] += steps[b, step]
    assert found == pytest.approx(expected, abs=1e-4)
    assert cells.first[3].tolist() == [cells.first[3, 0]] * (spans + 1)
    assert cells.first[-1, -1] == len(cells.at)


def test_arrays_begin_at_a_cache_line():
    for shape in ((3,), (2, 5), (7, 3, 8), (1, 1), (4, 16)):
        array = at_cache_lines(shape)
        assert (array.shape, array.dtype, array.ctypes.data % 64) == (shape, np.float32, 0)
        assert not array.any()
    assert [filled_up(count) for count in (0, 1, 8, 9, 16, 17)] == [0, 8, 8, 16, 16, 24]


@pytest.mark.parametrize(("azimuth", "first", "bins"), [
    ([], 0.0, 1), ([10.0], 10.0, 1), ([100.2, 100.9, 101.4], 100.0, 3), ([101.4, 100.2], 100.0, 3),
    ([359.8, 0.2, 1.1], 359.5, 4), ([90.3, 250.4], 90.0, 321), ([300.0, 20.0, 100.0], 300.0, 321),
    ([360.0, 0.6], 0.0, 2),
])  # fmt: skip
def test_the_arc_of_azimuths(azimuth, first, bins):
    # it begins after the widest gap
    assert module._arc(np.array(azimuth)) == (first, bins)


def test_in_which_row_each_step_counts():
    # steps far apart are not divided; tangents of 1.0035 and 0.5774: levels 192.3 and 140.55
    path = path_of([10.0, 30.0, 50.0], [359.8, 1.2, 0.2], [45.1, 30, 0.0], [0.25, 0.5, 0.125])
    found = passages_of(path)
    assert (found.first, found.bins, found.levels) == (359.5, 4, 194)
    assert found.row.tolist() == [0 * 194 + 193, 3 * 194 + 141, 194 + 1]
    assert found.hours.tolist() == [0.25, 0.5, 0.125]
    assert found.day.tolist() == [1, 2, 3]
    wide = passages_of(path_of([10.0, 30.0], [90.3, 250.4], [0.0, 90.0]))
    assert (wide.first, wide.bins, wide.levels) == (90.0, 321, 385)  # the zenith counts just below it
    assert wide.row.tolist() == [1, 320 * 385 + 384]
    nothing = passages_of(path_of([], 0, 0))
    assert (nothing.first, nothing.bins, nothing.levels, len(nothing.row)) == (0.0, 1, 2, 0)


def test_parts_count_at_the_elevation_in_the_middle_of_their_bin():
    path = path_of([10.0, 10.5, 11.0], [170, 180, 190], [40, 43, 44])
    fine, found = finer(path), passages_of(path)
    assert 165 <= found.first <= fine.azimuth[0]
    for k in (0, 5, 9, 17):
        b, step = divmod(int(found.row[k]), found.levels)
        middle = found.first + 0.25 + b / 2
        assert abs(middle - fine.azimuth[k]) <= 0.25
        wait = (middle - fine.azimuth[k]) / 20  # about 20 degrees an hour
        slope = math.tan(math.radians(on_parabola(path, 1, fine.time[k] + wait)[1]))
        assert step - 1 == pytest.approx(384 * slope / (1 + slope) - 0.5, abs=0.6)


PERIODS = Periods(np.array([0, 1, 1]), (1, 2), np.zeros((13, 2)))
PERIODS.mean[0], PERIODS.mean[12] = [1.0, 0.5], [0.2, 2.0]


def test_a_sky_sums_hours_from_the_horizon_up():
    # on day 1 a step in bin 0 at level 192, on day 2 one in bin 3 at level 140, on day 3 one in bin 0 at level 100
    path = path_of(
        [10.0, 34.0, 58.0],
        [359.8, 1.2, 359.6],
        [45.1, 30, math.degrees(math.atan(100.5 / 283.5))],
        [0.25, 0.5, 0.125],
    )
    year = sky(path, PERIODS)
    assert year.table.below.shape == (4, 194, 8)
    expected = np.zeros((4, 194, 8))
    expected[0, 193:, 0], expected[3, 141:, 1], expected[0, 101:, 1] = 0.25, 0.5, 0.125
    assert year.table.below.tolist() == expected.tolist()
    assert year.table.first == 359.5
    assert year.column_day == (1, 2)
    assert year.day_column.tolist() == [0, 1, 1]
    assert year.mean.shape == (13, 8)
    assert year.mean[:, :2].tolist() == PERIODS.mean.tolist()
    assert not year.mean[:, 2:].any()
    # the larger of the means: of bin 0 below level 150 0.125 x 2, below 193 0.25 x 0.2 more; of bin 3 0.5 x 2
    assert year.upper_bound.shape == (5, 194)
    assert year.upper_bound[:, 100].tolist() == [0, 0, 0, 0, 0]
    assert year.upper_bound[:, 150] == pytest.approx([0, 0.25, 0.25, 0.25, 1.25])
    assert year.upper_bound[:, 193] == pytest.approx([0, 0.3125, 0.3125, 0.3125, 1.3125])
    steps = steps_in(path, year)
    assert steps.bin.tolist() == [0, 3, 0]
    assert steps.slope == pytest.approx([math.tan(math.radians(45.1)), math.tan(math.radians(30)), 100.5 / 283.5])
    assert steps.column.tolist() == [0, 1, 1]


def test_a_sky_of_two_quantities_has_columns_for_both():
    path = path_of([10.0, 34.0], [359.8, 1.2], [45, 30], [0.25, 0.5])
    weights = np.array([[2.0, 3.0], [5.0, 7.0]])
    year = sky(path, PERIODS, weights=weights)
    assert year.table.below[:, -1, :5].tolist() == [[2, 0, 5, 0, 0], [0] * 5, [0] * 5, [0, 3, 0, 7, 0]]
    assert year.column_day == (1, 2, 1, 2)
    assert year.mean.shape == (26, 8)
    assert year.mean[:13, :2].tolist() == year.mean[13:, 2:4].tolist() == PERIODS.mean.tolist()
    assert not year.mean[:13, 2:].any()
    assert not year.mean[13:, :2].any()
    # of bin 0 5 x 1 is the most (2 x 1, 5 x 0.2), of bin 3 7 x 2
    assert year.upper_bound[:, -1] == pytest.approx([0, 5, 5, 5, 19])
    assert (
        sky(path, PERIODS, weights=weights, passages=passages_of(path)).upper_bound.tolist()
        == year.upper_bound.tolist()
    )
    night = sky(path_of([], 0, 0), PERIODS)
    assert night.table.below.tolist() == [[[0.0] * 8] * 2]


def test_days_in_groups_by_hand():
    # days 1 to 3 in January; the season is days 2 and 3, in leaf on days 1 and 2
    path, season = path_of([10.0], 180, 30), np.array([False, True, True])
    found = month_periods(path, season=season, calendars=[(1, 2)])
    assert found.of_day.tolist() == [0, 1, 2]
    assert found.one_day == (1, 2, 3)
    expected = np.zeros((13, 3))
    expected[0], expected[12] = 1 / 3, [0, 1 / 2, 1 / 2]
    assert found.mean == pytest.approx(expected)
    alike = month_periods(path, season=season)
    assert (alike.of_day.tolist(), alike.one_day) == ([0, 1, 1], (1, 2))
    leaves = leaf_periods(path, season=season, calendars=[(3, 1)])  # across the new year: on days 3 and 1
    assert (leaves.of_day.tolist(), leaves.one_day) == ([0, 1, 0], (1, 2))
    expected = np.zeros((13, 2))
    expected[0], expected[12] = [2 / 3, 1 / 3], [1 / 2, 1 / 2]
    assert leaves.mean == pytest.approx(expected)
    weighed = leaf_periods(path, season=season, calendars=[(3, 1)], weights=np.array([1.0, 10.0, 100.0]))
    expected[0], expected[12] = [101 / 3, 10 / 3], [100 / 2, 10 / 2]
    assert weighed.mean == pytest.approx(expected)
    lone = month_periods(path, season=np.array([False, False, True]))
    assert lone.mean[12].tolist() == [0.0, 1.0]
    assert leaf_periods(path, season=np.zeros(3, dtype=bool)).mean[12].tolist() == [0.0]


def test_a_slow_sun_and_one_that_passes_the_north():
    slow = path_of([10.0, 10.5, 11.0], [150, 150.75, 151.5], [30, 40, 45])  # a degree and a half an hour
    fine = finer(slow)
    azimuth, elevation = on_parabola(slow, 1, fine.time + 0.02)
    assert fine.elevation_towards(azimuth) == pytest.approx(elevation, abs=0.01)
    assert np.abs(elevation - fine.elevation).min() > 0.01
    for start in np.arange(353.0, 356.0, 0.25):
        north = path_of([10.0, 10.5, 11.0], [start, start + 20, start + 40], [30, 40, 45])
        fine = finer(north)
        azimuth, elevation = on_parabola(north, 1, fine.time + 0.04)
        assert fine.elevation_towards(azimuth) == pytest.approx(elevation, abs=0.01)


def test_steps_of_several_lengths_follow_each_other():
    path = path_of([10.0, 10.4, 10.9, 11.5], [150, 155, 160, 165], 30, [0.3, 0.5, 0.5, 0.7])
    assert finer(path).middle.tolist() == [1] * 6 + [1] * 6 + [2] * 6 + [2] * 6


def test_a_raster_without_a_hole_and_its_blocks(tiny_yard):
    tops = np.full((17, 33), np.nan, dtype=np.float32)
    tops[3, 5], tops[16, 5], tops[2, 32], tops[1, 1] = 2.0, 3.0, 4.0, -1.0
    found = columns_of_layer(SurfaceLayer(tops, np.array([[2.0, 0, 1], [0, -2.0, 3]]), 0.5))
    assert found.tops.shape == (17, 33)
    assert sorted(found.tops[np.isfinite(found.tops)].tolist()) == [-1, 2, 3, 4]
    assert found.tops.min() == -np.inf
    assert found.blocks.tolist() == [[2, -np.inf, 4], [3, -np.inf, -np.inf]]
    assert found.place.tolist() == [[2, 0, 1], [0, -2, 3]]
    assert (found.hole.tolist(), found.highest) == ([0, 0, 0, 0], 4.0)
    holed = columns_of_layer(SurfaceLayer(tops, np.eye(2, 3), 0.5, hole=(1.0, 2.0, 3.0, 4.0)))
    assert holed.hole.tolist() == [1, 2, 3, 4]
    assert surface_columns(tiny_yard) == ()
