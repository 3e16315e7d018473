"""Does the sun stand where almanacs say?"""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import ephem
import numpy as np
import pandas as pd
import pytest
from pvlib.irradiance import aoi
from pvlib.solarposition import spa_python

from siteplan.sun.path import apparent_position, declination_path, rise_and_set, sun_path

# Reda and Andreas (2008), NREL/TP-560-34302, appendix A.5: seen in several test suites that quote it
SPA_LATITUDE, SPA_LONGITUDE = 39.742476, -105.1786
SPA_MOMENT = pd.Timestamp("2003-10-17 12:30:30-07:00")


def test_worked_example_of_the_algorithm():
    seconds = np.array([SPA_MOMENT.timestamp()])
    azimuth, elevation = apparent_position(SPA_LATITUDE, SPA_LONGITUDE, seconds)
    # the report's pressure (820 mbar, 1830 m up) refracts less than our sea-level air: 0.0163 against 0.0200 degrees
    assert azimuth[0] == pytest.approx(194.34024, abs=1e-3)  # height moves the azimuth by parallax, below 1e-3
    assert elevation[0] == pytest.approx(90 - 50.11162, abs=5e-3)  # the difference in refraction
    exact = spa_python(
        pd.DatetimeIndex([SPA_MOMENT]), SPA_LATITUDE, SPA_LONGITUDE, altitude=1830.14, pressure=82000, temperature=11
    ).iloc[0]
    assert exact["apparent_zenith"] == pytest.approx(50.11162, abs=1e-5)  # the report prints five decimals
    assert exact["azimuth"] == pytest.approx(194.34024, abs=1e-5)


def test_worked_example_of_rise_transit_and_set():
    # Rise and set seen second-hand; the transit is calculated from the report's equation of time. The report works in
    # the day of universal time, so that its sunset, 00:20 on the 17th there, is that of the 16th in Colorado.
    two_seconds = pd.Timedelta(seconds=2)  # whole seconds are printed, for the earth's centre: parallax is 0.8 s
    on_17th = rise_and_set(SPA_LATITUDE, SPA_LONGITUDE, day=date(2003, 10, 17), timezone="Etc/GMT+7")
    on_16th = rise_and_set(SPA_LATITUDE, SPA_LONGITUDE, day=date(2003, 10, 16), timezone="Etc/GMT+7")
    assert abs(on_17th.rise - pd.Timestamp("2003-10-17 06:12:43-07:00")) < two_seconds
    assert abs(on_17th.transit - pd.Timestamp("2003-10-17 11:46:05-07:00")) < two_seconds
    assert abs(on_16th.set - pd.Timestamp("2003-10-16 17:20:19-07:00")) < two_seconds


def test_worked_example_of_incidence_on_a_tilted_plane():
    # surface tilted 30 degrees, 10 degrees east of south: 25.18700; only one sign of the rotation gives it
    incidence = aoi(30, 170, 50.11162, 194.34024)
    assert incidence == pytest.approx(25.18700, abs=1e-3)  # five-decimal inputs
    assert abs(aoi(30, 190, 50.11162, 194.34024) - 25.187) > 1


@pytest.mark.parametrize(
    ("latitude", "lengths"),
    [
        (25, ("12:07", "13:41", "10:35")),
        (40, ("12:08", "15:01", "09:19")),
        (50, ("12:10", "16:22", "08:04")),
        (60, ("12:13", "18:52", "05:52")),
        (-35, ("12:07", "09:47", "14:31")),
    ],
)
def test_day_lengths_of_equinox_and_solstices(latitude, lengths):
    # upper limb with refraction, 20 March, 21 June, 21 December 2025, longitude 0: calculated by SPA
    for day, printed in zip((date(2025, 3, 20), date(2025, 6, 21), date(2025, 12, 21)), lengths, strict=True):
        sun = rise_and_set(latitude, 0.0, day=day, timezone="UTC")
        assert abs((sun.set - sun.rise) - pd.Timedelta(f"{printed}:00")) < pd.Timedelta(minutes=2)  # whole minutes


@pytest.mark.parametrize(
    ("latitude", "june", "december"),
    [(40, 73.44, 26.56), (50, 63.44, 16.56), (25, 88.44, 41.56), (-35, 31.56, 78.44)],
)
def test_noon_elevation_at_the_solstices(latitude, june, december):
    # 90 - |latitude - declination|, declination 23.44: geometry
    path = sun_path(latitude, 0.0, year=2025, timezone="UTC")
    for day, expected in ((172, june), (355, december)):
        today = path.day == day
        highest = path.elevation[today].argmax()
        # within 5 minutes of noon the sun is lower by less than 0.05 degrees at 40 and 50, 0.2 at 25 in June;
        # refraction lifts it by less than 0.06
        assert path.elevation[today][highest] == pytest.approx(expected, abs=0.2 if expected > 80 else 0.07)
        if latitude < 0:
            assert np.cos(np.radians(path.azimuth[today][highest])) > 0.99  # the noon sun stands in the north


@pytest.mark.parametrize(
    ("declination", "hours", "elevation", "azimuth"),
    [(23.44, 3, 48.82, 99.83), (23.44, 4, 37.38, 89.30), (-23.44, 2, 20.67, 150.65), (-23.44, 3, 13.97, 138.06)],
)
def test_elevation_and_azimuth_by_hour_at_40_north(declination, hours, elevation, azimuth):
    # calculated by SPA for 21 June and 21 December 2025 at longitude 0, where the declination is within 0.01 of this
    path = declination_path(40.0, declination, step=1 / 60)
    morning = np.abs(path.clock - (12 - hours)).argmin()
    evening = np.abs(path.clock - (12 + hours)).argmin()
    assert path.elevation[morning] == pytest.approx(elevation, abs=0.1)  # half a minute is 0.09 degrees
    assert path.azimuth[morning] == pytest.approx(azimuth, abs=0.1)
    assert path.azimuth[evening] == pytest.approx(360 - azimuth, abs=0.1)


@pytest.fixture(scope="module")
def almanac(shared: Path) -> dict:
    """JPL Horizons positions and US Naval Observatory times for 14 places; seen, with its own source line."""
    return json.loads((shared / "sun" / "horizons_usno_fixtures.json").read_text(encoding="utf-8"))


def test_positions_of_horizons(almanac):
    checked = 0
    for place in almanac["locations"]:
        rows = almanac["positions"][place["name"]]["sun"]
        moments = pd.DatetimeIndex(pd.to_datetime(list(rows), utc=True)).as_unit("ns")
        azimuth, elevation = apparent_position(place["lat"], place["lng"], moments.asi8 / 1e9)
        table = pd.DataFrame(list(rows.values()))
        high = table["altitude"].to_numpy() > 5
        # 0.01 degrees: the sun's own width is 0.5; below 5 degrees refraction differs between the two models
        assert np.abs(elevation - table["altitude"].to_numpy())[high].max(initial=0) < 0.01
        turn = np.abs((azimuth - table["azimuth"].to_numpy() + 180) % 360 - 180) * np.cos(np.radians(elevation))
        assert turn[high].max(initial=0) < 0.01
        checked += int(high.sum())
    assert checked > 200


def test_rise_and_set_of_the_naval_observatory(almanac):
    checked = 0
    for place in almanac["locations"]:
        for day, entry in almanac["times"][place["name"]].items():
            for row in entry["sundata"]:
                if row["phen"] in ("Rise", "Set"):
                    printed = pd.Timestamp(f"{day} {row['time']}", tz="UTC")
                    gap = nearest_gap(place, day, row["phen"].lower(), printed)
                    assert gap <= pd.Timedelta(minutes=1), (place["name"], day, row)  # whole minutes are printed
                    checked += 1
    assert checked > 200


def nearest_gap(place, day, which, printed):
    """Return how far the nearest event lies from the printed one; a day in UTC may hold its neighbour's."""
    zone = f"Etc/GMT{round(-place['lng'] / 15):+d}"  # these zones count westward
    gaps = []
    for shift in (0, -1, 1):
        other = date.fromisoformat(day) + timedelta(days=shift)
        when = getattr(rise_and_set(place["lat"], place["lng"], day=other, timezone=zone), which)
        gaps.append(pd.Timedelta(days=9) if pd.isna(when) else abs(when - printed))
        if gaps[-1] <= pd.Timedelta(minutes=1):
            break
    return min(gaps)


def test_positions_of_ephem_at_random_places_and_times():
    # ephem (XEphem's series) is independent of SPA
    rng = np.random.default_rng(20260321)
    worst = 0.0
    for _ in range(200):
        latitude, longitude = float(rng.uniform(-78, 78)), float(rng.uniform(-180, 180))
        moment = pd.Timestamp("2020-01-01", tz="UTC") + pd.Timedelta(seconds=int(rng.integers(0, 12 * 365 * 86400)))
        observer = ephem.Observer()
        observer.lat, observer.lon = np.radians(latitude), np.radians(longitude)
        observer.pressure, observer.date = 0, moment.strftime("%Y/%m/%d %H:%M:%S")
        sun = ephem.Sun(observer)
        ours = spa_python(pd.DatetimeIndex([moment]), latitude, longitude).iloc[0]
        worst = max(worst, abs(np.degrees(sun.alt) - ours["elevation"]))
        turn = (np.degrees(sun.az) - ours["azimuth"] + 180) % 360 - 180
        worst = max(worst, abs(turn) * np.cos(np.radians(ours["elevation"])))
    assert worst < 0.02  # ephem leaves out parts of nutation and rounds to a few seconds of arc
