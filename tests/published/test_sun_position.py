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

from siteplan.sun.path.solar_path import _sun, apparent_position, declination_path, rise_and_set, sun_path
from siteplan.sun.shadow import profile_angle

# Reda and Andreas (2008), NREL/TP-560-34302, appendix A.5: seen in several test suites that quote it
SPA_LATITUDE, SPA_LONGITUDE = 39.742476, -105.1786
SPA_MOMENT = pd.Timestamp("2003-10-17 12:30:30-07:00")


def test_worked_example_of_the_algorithm():
    seconds = np.array([SPA_MOMENT.timestamp()])
    azimuth, elevation = apparent_position(SPA_LATITUDE, SPA_LONGITUDE, seconds)
    true = _sun(SPA_LATITUDE, SPA_LONGITUDE, seconds)["elevation"].to_numpy()
    # five decimals are printed; our sea level instead of 1830 m up moves the sun by a millionth of a degree
    assert azimuth[0] == pytest.approx(194.34024, abs=1e-4)
    assert true[0] == pytest.approx(39.87205, abs=1e-4)
    # the report's air (820 mbar, 11 degrees) bends the ray less than ours (1013.25 mbar, 12 degrees): in proportion to
    # pressure over absolute temperature, by the report's own formula for refraction
    bent = (elevation - true) * (820 / 1013.25) * (285 / 284)
    assert true[0] + bent[0] == pytest.approx(90 - 50.11162, abs=1e-4)


def test_worked_example_of_rise_transit_and_set():
    # Rise and set seen second-hand; the transit is calculated from the report's equation of time. The report works in
    # the day of universal time, so that its sunset, 00:20 on the 17th there, is that of the 16th in Colorado.
    second = pd.Timedelta(seconds=1)  # whole seconds are printed
    on_17th = rise_and_set(SPA_LATITUDE, SPA_LONGITUDE, day=date(2003, 10, 17), timezone="Etc/GMT+7")
    on_16th = rise_and_set(SPA_LATITUDE, SPA_LONGITUDE, day=date(2003, 10, 16), timezone="Etc/GMT+7")
    # Theirs are seen from the earth's centre, ours from its surface: parallax lowers the sun by 8.794 arc seconds on
    # the horizon, where it climbs by 15 cos(latitude) cos(declination) sin(hour angle) arc seconds a second.
    declination, half_day = np.radians(-9.3), np.radians(15 * 5.56)
    climb = 15 * np.cos(np.radians(SPA_LATITUDE)) * np.cos(declination) * np.sin(half_day)
    parallax = pd.Timedelta(seconds=8.794 / climb)
    assert abs(on_17th.rise - parallax - pd.Timestamp("2003-10-17 06:12:43-07:00")) < second
    assert abs(on_17th.transit - pd.Timestamp("2003-10-17 11:46:05-07:00")) < second
    assert abs(on_16th.set + parallax - pd.Timestamp("2003-10-16 17:20:19-07:00")) < second


def test_worked_example_of_incidence_on_a_tilted_plane():
    # Surface tilted 30 degrees, 10 degrees east of south: 25.18700; only one sign of the rotation gives it. Our profile
    # angle P is the sun's elevation in the upright plane through the surface's normal, which stands at 60 degrees in
    # it: cos(incidence) = sin(e) / sin(P) cos(P - 60 degrees).
    azimuth, elevation = apparent_position(SPA_LATITUDE, SPA_LONGITUDE, np.array([SPA_MOMENT.timestamp()]))
    elevation = elevation - (0.0201 - 0.0163)  # what our air bends the ray more than the report's, see above

    def incidence(faces):
        profile = np.radians(profile_angle(float(elevation[0]), float(azimuth[0]), faces))
        cosine = np.sin(np.radians(elevation[0])) / np.sin(profile) * np.cos(profile - np.radians(60))
        return float(np.degrees(np.arccos(cosine)))

    assert incidence(170.0) == pytest.approx(25.18700, abs=1e-3)  # as exact as what is taken off for the air
    assert abs(incidence(190.0) - 25.187) > 1
    assert incidence(170.0) == pytest.approx(aoi(30, 170, 90 - elevation[0], azimuth[0]), abs=1e-9)


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
    # 90 - |latitude - declination|, declination 23.44: geometry, without refraction
    path = sun_path(latitude, 0.0, year=2025, timezone="UTC", step=1 / 6)
    for day, expected in ((date(2025, 6, 21), june), (date(2025, 12, 21), december)):
        noon = rise_and_set(latitude, 0.0, day=day, timezone="UTC").transit
        sun = _sun(latitude, 0.0, np.array([noon.timestamp()])).iloc[0]
        assert sun["elevation"] == pytest.approx(expected, abs=0.005)  # two decimals
        azimuth = 0.0 if latitude < 0 else 180.0  # south of the tropics the noon sun stands in the north
        assert abs((sun["azimuth"] - azimuth + 180) % 360 - 180) < 0.05
        today = path.elevation[path.day == noon.day_of_year]
        # within 5 minutes of noon the sun is lower by less than 0.03 degrees where it stands below 80, 0.4 above, and
        # refraction lifts it by less than 0.06
        assert today.max() == pytest.approx(expected, abs=0.4 if expected > 80 else 0.06)


@pytest.mark.parametrize(
    ("declination", "day", "hours", "elevation", "azimuth"),
    [
        (23.44, date(2025, 6, 21), 3, 48.82, 99.83),
        (23.44, date(2025, 6, 21), 4, 37.38, 89.30),
        (-23.44, date(2025, 12, 21), 2, 20.67, 150.65),
        (-23.44, date(2025, 12, 21), 3, 13.97, 138.06),
    ],
)
def test_elevation_and_azimuth_by_hour_at_40_north(declination, day, hours, elevation, azimuth):
    # calculated by SPA for longitude 0, without refraction, so many hours before and after the sun's transit
    noon = rise_and_set(40.0, 0.0, day=day, timezone="UTC").transit.timestamp()
    sun = _sun(40.0, 0.0, noon + np.array([-3600.0, 3600.0]) * hours)
    assert sun["elevation"].to_numpy() == pytest.approx([elevation] * 2, abs=0.006)  # two decimals
    assert sun["azimuth"].to_numpy() == pytest.approx([azimuth, 360 - azimuth], abs=0.006)
    apparent = apparent_position(40.0, 0.0, noon + np.array([-3600.0, 3600.0]) * hours)[1]
    assert apparent == pytest.approx([elevation] * 2, abs=0.1)  # with refraction, 0.065 degrees at 14
    # our idealised day has the same declination to 0.01
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
