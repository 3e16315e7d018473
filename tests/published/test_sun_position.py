"""Does the sun stand where almanacs say?"""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from pathlib import Path

import ephem
import numpy as np
import pandas as pd
import pytest

from siteplan.sun.path.solar_path import apparent_position, sun_path

from ..skies import rise_and_set, transit

# Reda and Andreas (2008), NREL/TP-560-34302, appendix A.5: seen in several test suites that quote it
SPA_LATITUDE, SPA_LONGITUDE = 39.742476, -105.1786
SPA_TRUE, SPA_APPARENT = 39.87205, 90 - 50.11162  # degrees; elevation without and with the report's refraction
SPA_DAY = 290  # 17 October 2003
SECOND = 1 / 3600  # h


@pytest.fixture(scope="module")
def spa_year():
    """Return the year of the report's example in minutes; the middle of one of them is its moment, 12:30:30."""
    return sun_path(SPA_LATITUDE, SPA_LONGITUDE, year=2003, timezone="Etc/GMT+7", step=1 / 60)


@pytest.fixture(scope="module")
def spa_sun(spa_year):
    """Return azimuth and elevation at the report's moment."""
    step = np.abs(spa_year.time - ((SPA_DAY - 1) * 24 + 12 + 30.5 / 60)).argmin()
    assert spa_year.clock[step] == pytest.approx(12 + 30.5 / 60, abs=1e-6)
    return spa_year.azimuth[step], spa_year.elevation[step]


def test_worked_example_of_the_algorithm(spa_sun):
    azimuth, elevation = spa_sun
    # five decimals are printed; our sea level instead of 1830 m up moves the sun by a millionth of a degree
    assert azimuth == pytest.approx(194.34024, abs=1e-4)
    # the report's air (820 mbar, 11 degrees) bends the ray less than ours (1013.25 mbar, 12 degrees): in proportion to
    # pressure over absolute temperature, by the report's own formula for refraction
    bent = (SPA_APPARENT - SPA_TRUE) * (1013.25 / 820) * (284 / 285)
    assert elevation == pytest.approx(SPA_TRUE + bent, abs=1e-4)


def test_worked_example_of_rise_transit_and_set(spa_year):
    # Rise and set seen second-hand; the transit is calculated from the report's equation of time. The report works in
    # the day of universal time, so that its sunset, 00:20 on the 17th there, is that of the 16th in Colorado.
    # Theirs are seen from the earth's centre, ours from its surface: parallax lowers the sun by 8.794 arc seconds on
    # the horizon, where it climbs by 15 cos(latitude) cos(declination) sin(hour angle) arc seconds a second.
    declination, half_day = np.radians(-9.3), np.radians(15 * 5.56)
    climb = 15 * np.cos(np.radians(SPA_LATITUDE)) * np.cos(declination) * np.sin(half_day)
    parallax = 8.794 / climb * SECOND
    rise, _ = rise_and_set(spa_year, SPA_DAY)
    _, evening = rise_and_set(spa_year, SPA_DAY - 1)
    # whole seconds are printed
    assert rise - parallax == pytest.approx(6 + 12 / 60 + 43 * SECOND, abs=SECOND)
    assert transit(spa_year, SPA_DAY) == pytest.approx(11 + 46 / 60 + 5 * SECOND, abs=SECOND)
    assert evening + parallax == pytest.approx(17 + 20 / 60 + 19 * SECOND, abs=SECOND)


def test_worked_example_of_incidence_on_a_tilted_plane(spa_sun):
    # Surface tilted 30 degrees, 10 degrees east of south: 25.18700; only clockwise azimuths from north give it. The
    # cosine of the incidence is the product of the unit vectors to the sun and along the surface's normal.
    azimuth, elevation = np.radians(spa_sun)
    elevation -= np.radians(0.0201 - 0.0163)  # what our air bends the ray more than the report's, see above

    def incidence(faces):
        level = np.cos(elevation) * np.sin(np.radians(30)) * np.cos(azimuth - np.radians(faces))
        return float(np.degrees(np.arccos(np.sin(elevation) * np.cos(np.radians(30)) + level)))

    assert incidence(170.0) == pytest.approx(25.18700, abs=1e-3)  # as exact as what is taken off for the air
    assert abs(incidence(190.0) - 25.187) > 1


def test_a_line_of_the_day_sheet():
    # NOAA's day sheet for 21 June 2010, 00:06, 40 N 105 W (seen second-hand), a low-order series: the sun far below
    moment = pd.Timestamp("2010-06-21 00:06-07:00").timestamp()
    azimuth, elevation = apparent_position(40.0, -105.0, np.array([moment]))
    assert elevation[0] == pytest.approx(-26.5538, abs=0.05)
    assert azimuth[0] == pytest.approx(1.0987, abs=0.05)


@cache
def year_2025(latitude, step=1 / 20):
    return sun_path(latitude, 0.0, year=2025, timezone="UTC", step=step)


def day_of(year, month, day):
    return date(year, month, day).timetuple().tm_yday


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
    # Upper limb with refraction, 20 March, 21 June, 21 December 2025. The sunrise equation, of any textbook of
    # astronomy: cos H = (sin(-0.8333) - sin(lat) sin(decl)) / (cos(lat) cos(decl)); declination 0, 23.44, -23.44.
    phi = np.radians(latitude)
    days = (day_of(2025, 3, 20), day_of(2025, 6, 21), day_of(2025, 12, 21))
    for day, declination, printed in zip(days, (0.0, 23.44, -23.44), lengths, strict=True):
        delta = np.radians(declination)
        cosine = (np.sin(np.radians(-0.8333)) - np.sin(phi) * np.sin(delta)) / (np.cos(phi) * np.cos(delta))
        expected = 2 * np.degrees(np.arccos(cosine)) / 15
        rise, evening = rise_and_set(year_2025(latitude), day)
        assert evening - rise == pytest.approx(
            expected, abs=1.5 / 60
        )  # the equinox moves on by 0.2 degrees in half a day
        hours, minutes = printed.split(":")
        assert evening - rise == pytest.approx(int(hours) + int(minutes) / 60, abs=1.5 / 60)  # whole minutes


def lifted(true):
    """Return the apparent elevation by the formula of Saemundsson (1986), Sky and Telescope 72:70 (memory). [degrees]"""
    return true + 1.02 / 60 / np.tan(np.radians(true + 10.3 / (true + 5.11)))


@pytest.mark.parametrize(
    ("latitude", "june", "december"),
    [(40, 73.44, 26.56), (50, 63.44, 16.56), (25, 88.44, 41.56), (-35, 31.56, 78.44)],
)
def test_noon_elevation_at_the_solstices(latitude, june, december):
    # 90 - |latitude - declination|, declination 23.44: geometry, without refraction
    path = year_2025(latitude)
    for day, expected in ((day_of(2025, 6, 21), june), (day_of(2025, 12, 21), december)):
        today = np.flatnonzero(path.day == day)
        noon = today[path.elevation[today].argmax()]
        # within 1.5 minutes of noon, 0.4 degrees of hour angle, the sun is lower by less than 0.005 degrees, and by
        # 0.05 where it passes 1.6 degrees from overhead
        assert path.elevation[noon] == pytest.approx(lifted(expected), abs=0.05 if expected > 85 else 0.01)
        azimuth = 0.0 if latitude < 0 else 180.0  # south of the tropics the noon sun stands in the north
        if expected < 85:
            assert abs((path.azimuth[noon] - azimuth + 180) % 360 - 180) < 2.0


@pytest.mark.parametrize(
    ("declination", "day", "hours", "elevation", "azimuth"),
    [
        (23.44, day_of(2025, 6, 21), 3, 48.82, 99.83),
        (23.44, day_of(2025, 6, 21), 4, 37.38, 89.30),
        (-23.44, day_of(2025, 12, 21), 2, 20.67, 150.65),
        (-23.44, day_of(2025, 12, 21), 3, 13.97, 138.06),
    ],
)
def test_elevation_and_azimuth_by_hour_at_40_north(declination, day, hours, elevation, azimuth):
    # so many hours before and after the sun's transit: sin e = sin(lat) sin(decl) + cos(lat) cos(decl) cos(15 h), and
    # the azimuth by tan A = -sin(15 h) / (cos(lat) tan(decl) - sin(lat) cos(15 h)); geometry
    phi, delta, angle = np.radians([40.0, declination, -15.0 * hours])
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    # the declination moves within the day, and the sun's hour is not quite an hour: 0.01 degrees
    assert np.degrees(np.arcsin(sine)) == pytest.approx(elevation, abs=0.02)
    toward = np.arctan2(-np.sin(angle), np.cos(phi) * np.tan(delta) - np.sin(phi) * np.cos(angle))
    assert np.degrees(toward) == pytest.approx(azimuth, abs=0.02)
    path = year_2025(40)
    today = path.day == day
    when = (day - 1) * 24 + transit(path, day) + np.array([-hours, hours])
    at = np.interp(when, path.time[today], path.elevation[today])
    assert at == pytest.approx([lifted(elevation)] * 2, abs=0.02)  # a straight line over 3 minutes; the declination
    toward = np.interp(when, path.time[today], path.azimuth[today])
    assert toward == pytest.approx([azimuth, 360 - azimuth], abs=0.02)


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
    # 2026 alone, the year of most lines: a path holds a whole year
    checked = 0
    for place in almanac["locations"]:
        zone = f"Etc/GMT{round(-place['lng'] / 15):+d}"  # these zones count westward
        path = sun_path(place["lat"], place["lng"], year=2026, timezone=zone, step=0.5)
        start = pd.Timestamp("2026-01-01", tz=zone).timestamp() / 3600
        up = np.stack([path.time - path.hours / 2, path.time + path.hours / 2]) + start  # h since 1970
        apart = np.flatnonzero(up[0, 1:] - up[1, :-1] > 1e-6)  # a night lies between
        events = {"Rise": up[0, apart + 1], "Set": up[1, apart]}
        for day, entry in almanac["times"][place["name"]].items():
            for row in entry["sundata"]:
                if row["phen"] in events and day.startswith("2026"):
                    printed = pd.Timestamp(f"{day} {row['time']}", tz="UTC").timestamp() / 3600
                    gap = np.abs(events[row["phen"]] - printed).min()
                    assert gap <= 1 / 60 + 1e-9, (place["name"], day, row)  # whole minutes are printed
                    checked += 1
    assert checked > 200


def test_positions_of_ephem_at_random_places_and_times():
    # ephem (XEphem's series) is independent of the algorithm that ours are taken from
    rng = np.random.default_rng(20260321)
    worst, checked = 0.0, 0
    for _ in range(400):
        latitude, longitude = float(rng.uniform(-78, 78)), float(rng.uniform(-180, 180))
        moment = pd.Timestamp("2020-01-01", tz="UTC") + pd.Timedelta(seconds=int(rng.integers(0, 12 * 365 * 86400)))
        observer = ephem.Observer()
        observer.lat, observer.lon = np.radians(latitude), np.radians(longitude)
        observer.pressure, observer.temp = 1013.25, 12.0  # mbar, degrees Celsius
        observer.date = moment.strftime("%Y/%m/%d %H:%M:%S")
        sun = ephem.Sun(observer)
        if np.degrees(sun.alt) < 5:
            continue  # refraction differs between the two models
        azimuth, elevation = apparent_position(latitude, longitude, np.array([moment.timestamp()]))
        worst = max(worst, abs(np.degrees(sun.alt) - elevation[0]))
        turn = (np.degrees(sun.az) - azimuth[0] + 180) % 360 - 180
        worst = max(worst, abs(turn) * np.cos(np.radians(elevation[0])))
        checked += 1
    assert checked > 150
    assert worst < 0.02  # ephem leaves out parts of nutation and rounds to a few seconds of arc
