from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from siteplan.sun.path.day_periods import leaf_periods, month_periods
from siteplan.sun.path.fine_path import PARTS, finer
from siteplan.sun.path.sky_table import level, sky, steps_in
from siteplan.sun.path.solar_path import apparent_position, sun_path

from ..skies import declination_path


@pytest.fixture(scope="module")
def path():
    return sun_path(45.0, 8.0, year=2026, timezone="UTC", step=1 / 6)


def test_the_table_holds_all_the_sun_and_no_more(path):
    season = np.zeros(365, dtype=bool)
    season[99:300] = True
    year = sky(path, month_periods(path, season=season, calendars=[(110, 290), (300, 60)]))
    hours = year.mean @ year.table.below[:, -1].sum(axis=0)
    for month in range(12):
        expected = path.day_length[path.day_month == month + 1].mean()
        assert hours[month] == pytest.approx(expected, abs=1e-4)  # single precision over half a thousand bins
    assert hours[12] == pytest.approx(path.day_length[season].mean(), abs=1e-4)


def test_days_part_where_months_the_season_and_leaves_change(path):
    season = np.zeros(365, dtype=bool)
    season[104:290] = True  # from 15 April to 17 October
    periods = month_periods(path, season=season, calendars=[(110, 305)])
    assert len(periods.one_day) == 12 + 4
    assert {105, 110, 291, 306} <= set(periods.one_day)
    assert list(periods.one_day) == sorted(periods.one_day)
    assert periods.of_day[[day - 1 for day in periods.one_day]].tolist() == list(range(16))


def test_days_of_one_sky_part_where_leaves_change_alone(path):
    season = np.zeros(365, dtype=bool)
    season[104:290] = True
    weights = np.arange(1.0, 366)
    periods = leaf_periods(path, season=season, calendars=[(110, 305)], weights=weights)
    assert periods.one_day == (1, 110)
    for month in range(12):
        assert periods.mean[month].sum() == pytest.approx(weights[path.day_month == month + 1].mean())
    assert periods.mean[12].sum() == pytest.approx(weights[season].mean())
    assert periods.mean[0, 1] == 0  # bare in January
    # in leaf from 15 April (day 110, of which the season's first five days are bare) to 17 October
    assert periods.mean[12, 0] == pytest.approx(weights[104:109].sum() / 186)


def test_nothing_stands_below_the_lowest_level(path):
    year = sky(path, month_periods(path, season=np.ones(365, dtype=bool)))
    table = year.table
    for b in range(0, len(table.lowest_level), 17):
        assert table.below[b, int(table.lowest_level[b])].sum() == 0
        assert table.below[b, int(table.lowest_level[b]) + 1].sum() > 0 or table.below[b, -1].sum() == 0
    assert np.all(np.diff(table.below, axis=1) >= -1e-5)


def test_a_winter_sun_that_never_rises_leaves_an_empty_table():
    night = declination_path(80.0, -23.0)
    year = sky(night, month_periods(night, season=np.ones(1, dtype=bool)))
    assert year.table.below.sum() == 0


def test_levels_grow_with_the_slope():
    slope = np.linspace(0, 20, 50)
    assert np.all(np.diff(level(slope)) > 0)


def test_parts_between_steps_lie_on_the_sun_s_way(path):
    fine = finer(path)
    assert len(fine.hours) == PARTS * len(path.hours)
    assert fine.hours.sum() == pytest.approx(path.hours.sum())
    start = 1767225600.0  # 2026-01-01 00:00 UTC
    some = slice(0, None, 997)
    azimuth, elevation = apparent_position(45.0, 8.0, start + fine.time[some] * 3600)
    high = elevation > 5  # below, refraction bends faster than a parabola
    assert np.abs(elevation - fine.elevation[some])[high].max() < 0.001
    turn = (azimuth - fine.azimuth[some] + 180) % 360 - 180
    assert np.abs(turn * np.cos(np.radians(elevation)))[high].max() < 0.001


def test_where_one_step_stands_alone_no_step_is_divided():
    day = declination_path(45.0, 0.0)
    some = [0, 1, 2, 3, -1]  # the last comes hours after the others
    names = ("azimuth", "elevation", "hours", "time", "clock", "day", "month")
    path = dataclasses.replace(day, **{name: getattr(day, name)[some] for name in names})
    fine = finer(path)
    assert len(fine.middle) == 0
    assert np.array_equal(fine.elevation, path.elevation)


def test_the_sun_passes_a_near_azimuth_at_the_elevation_it_has_there(path):
    fine = finer(path)
    there = fine.elevation_towards(fine.azimuth)
    assert np.abs(there - fine.elevation).max() < 1e-6


def test_each_step_of_a_path_stands_in_the_bin_of_its_azimuth(path):
    """Half a degree wide, from the first to the last that the sun passes."""
    year = sky(path, month_periods(path, season=np.ones(365, dtype=bool)))
    steps = steps_in(path, year)
    away = (path.azimuth - year.table.first) % 360 - steps.bin / 2
    assert away.min() >= 0
    assert away.max() < 0.5
    assert np.degrees(np.arctan(steps.slope)) == pytest.approx(path.elevation, abs=1e-4)
