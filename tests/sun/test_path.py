from __future__ import annotations

import ephem
import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import spa_python

from siteplan.sun.path.solar_path import AT_ONCE, _edges, _lit_steps, apparent_position, sun_path


@pytest.fixture(scope="module", params=[-78, -67.5, -45, 0, 40, 66.5, 78])
def year(request):
    return request.param, sun_path(request.param, 10.0, year=2026, timezone="UTC")


def test_steps_add_up_to_the_time_that_the_limb_is_up(year):
    # a look every minute at pvlib's true elevation, the crossings by straight lines
    latitude, path = year
    for day in (1, 20, 45, 80, 105, 142, 172, 215, 266, 300, 355):
        start = pd.Timestamp("2026-01-01", tz="UTC") + pd.Timedelta(days=day - 1)
        times = pd.date_range(start, periods=1441, freq="min")
        up = spa_python(times, latitude, 10.0)["elevation"].to_numpy() + 0.8333
        low, high = np.minimum(up[:-1], up[1:]), np.maximum(up[:-1], up[1:])
        lit = np.clip(high / np.maximum(high - low, 1e-12), 0, 1)
        assert path.day_length[day - 1] == pytest.approx(lit.sum() / 60, abs=10 / 3600), day  # ten seconds are asked


def test_every_day_is_as_long_as_ephem_says(year):
    # ephem finds when the centre passes the true elevation at which the upper limb is seen to rise
    latitude, path = year
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.pressure, observer.horizon = str(latitude), "10", 0, "-0.8333"
    noon_height = 90 - np.abs(latitude - 23.44 * np.sin(2 * np.pi * (np.arange(365) - 80) / 365.25))
    night_depth = -90 + np.abs(latitude + 23.44 * np.sin(2 * np.pi * (np.arange(365) - 80) / 365.25))
    for day in range(0, 365, 7):
        if min(abs(noon_height[day]), abs(night_depth[day])) < 3:
            continue  # the sun grazes the horizon, where a thousandth of a degree is minutes
        observer.date = ephem.Date(f"2026/1/1 {11 + 20 / 60}") + day  # about solar noon at 10 E
        try:
            sets = observer.next_setting(ephem.Sun(), use_center=True)
            rises = observer.previous_rising(ephem.Sun(), use_center=True)
            length = (sets - rises) * 24
        except ephem.AlwaysUpError:
            length = 24.0
        except ephem.NeverUpError:
            length = 0.0
        # 20 s: parallax and ephem's rounding at the slowest rise that is left
        assert path.day_length[day] == pytest.approx(length, abs=20 / 3600), (latitude, day)


def test_steps_are_short_and_follow_the_calendar(year):
    _, path = year
    assert path.hours.max() <= 1 / 6 + 1e-9
    assert path.hours.min() > 0
    assert np.all(np.diff(path.time) > 0)
    assert path.elevation.min() >= 0
    assert path.month_days.tolist() == [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    assert np.all(path.day_month[path.day - 1] == path.month)


def test_polar_night_and_midnight_sun():
    path = sun_path(78.0, 15.0, year=2026, timezone="Europe/Oslo")
    assert path.day_length[0] == 0
    assert path.day_length[171] == pytest.approx(24.0, abs=1e-6)


def test_leap_year_and_summer_time_keep_every_hour():
    path = sun_path(45.0, 8.0, year=2028, timezone="Europe/Rome")
    assert len(path.day_month) == 366
    spring = np.flatnonzero(np.isin(path.day, [85, 86, 87]))  # the clocks go forward on day 86
    assert np.diff(path.day_length[84:87]).max() < 0.1
    assert path.clock[spring].min() > 5


@pytest.mark.parametrize(("zone", "latitude", "longitude", "without_summer_time"), [
    ("America/Santiago", -33.4, -70.7, "Etc/GMT+4"), ("Africa/Cairo", 30.0, 31.2, "Etc/GMT-2"),
    ("America/Havana", 23.1, -82.4, "Etc/GMT+5"), ("Atlantic/Azores", 37.7, -25.7, "Etc/GMT+1"),
    ("Asia/Beirut", 33.9, 35.5, "Etc/GMT-2"),
])  # fmt: skip
def test_clocks_that_change_at_midnight_change_no_day(zone, latitude, longitude, without_summer_time):
    """The sign of Etc/GMT+4 is that of POSIX: four hours behind UTC."""
    found = sun_path(latitude, longitude, year=2026, timezone=zone)
    steady = sun_path(latitude, longitude, year=2026, timezone=without_summer_time)
    assert len(found.day_month) == 365
    assert found.day_length == pytest.approx(steady.day_length, abs=1e-9)
    assert (found.clock - steady.clock).round(9).max() == 1


def test_a_longer_step_keeps_the_day():
    short = sun_path(52.0, 5.0, year=2026, timezone="Europe/Amsterdam", step=1 / 6)
    long = sun_path(52.0, 5.0, year=2026, timezone="Europe/Amsterdam", step=1.0)
    assert np.abs(short.day_length - long.day_length).max() < 2 / 3600  # both cut at the same root


def test_the_southern_noon_sun_stands_in_the_north():
    path = sun_path(-35.0, 149.0, year=2026, timezone="Australia/Sydney", step=0.5)
    noon = np.array(
        [path.elevation[path.day == day].argmax() + np.flatnonzero(path.day == day)[0] for day in (1, 172)]
    )
    assert np.cos(np.radians(path.azimuth[noon])).min() > 0.9


def test_sunset_is_the_evening_of_the_same_day_far_from_greenwich():
    # Melbourne, 10 January 2026: rise 06:09 and set 20:44 by the almanac of Geoscience Australia (from memory, a few
    # minutes), in summer time; each local day holds one morning and one evening
    path = sun_path(-37.8, 145.0, year=2026, timezone="Australia/Melbourne", step=0.5)
    today = path.day == 10
    assert np.diff(path.time[today] - path.hours[today] / 2).max() <= 0.5 + 1e-9  # no night in between
    assert path.clock[today][0] == pytest.approx(6.2, abs=0.35)  # middle of its first step
    assert path.clock[today][-1] == pytest.approx(20.7, abs=0.35)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_turning_point_near_the_horizon_is_looked_at(sign):
    # a height that turns at 40,037 s, between looks every 600 s: a parabola, whose vertex three looks give exactly
    def height(seconds):
        return sign * (0.004 - 0.03 * ((seconds - 40_037.0) / 600) ** 2)

    edges = _edges(np.array([0.0, 86_400.0]), 600.0, height)
    assert len(edges) == 144 + 1 + 1
    assert np.abs(edges - 40_037.0).min() < 1e-3
    # up for 600 sqrt(0.004 / 0.03) s before and after, or all day but for that
    begin, end = _lit_steps(edges, height)
    lit = 2 * 600 * np.sqrt(0.004 / 0.03)
    assert (end - begin).sum() == pytest.approx(
        lit if sign > 0 else 86_400 - lit, abs=0.5
    )  # cut to a fifth of a second


def test_one_moment_more_than_is_computed_at_once():
    seconds = 1767225600.0 + 60.0 * np.arange(AT_ONCE + 1)
    azimuth, elevation = apparent_position(45.0, 8.0, seconds)
    assert len(azimuth) == len(elevation) == 4097
    last = apparent_position(45.0, 8.0, seconds[-1:])
    assert (azimuth[-1], elevation[-1]) == pytest.approx((last[0][0], last[1][0]), abs=1e-9)


def test_each_step_says_when_it_is():
    path = sun_path(45.0, 8.0, year=2026, timezone="Europe/Rome", step=0.5)
    midnight = 1767225600.0 - 3600  # 1 January 2026, an hour before Greenwich's
    azimuth, elevation = apparent_position(45.0, 8.0, midnight + path.time * 3600)
    assert path.azimuth == pytest.approx(azimuth, abs=1e-6)
    assert path.elevation == pytest.approx(np.maximum(elevation, 0), abs=1e-6)
    clocks = path.time - 24 * (path.day - 1)
    winter = (path.day < 88) | (path.day > 298)  # the clocks change on 29 March and 25 October
    assert np.abs(path.clock - clocks)[winter].max() < 1 / 3600  # whole seconds
    summer = (path.day > 88) & (path.day < 298)
    assert np.abs(path.clock - clocks - 1)[summer].max() < 1 / 3600
