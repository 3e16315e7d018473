"""Does a typical year come through, with hills and without, as those who made it have it?"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pvlib
import pytest

from siteplan.files.remarks import Remarks
from siteplan.files.weather.weather_file import clear_air, read_weather
from siteplan.land.frame import LocalFrame
from siteplan.land.terrain import Skyline
from siteplan.sun.engine import SunEngine
from siteplan.sun.light.daily_light import LightEngine
from siteplan.sun.light.irradiance import clear_radiation, typical_radiation
from siteplan.sun.path.solar_path import apparent_position, sun_path

NREL = Path(pvlib.__file__).parent / "data"  # typical years of NREL's TMY3, US public domain, in pvlib's wheel
#: horizon of the second file, every 45 degrees clockwise from north
HILLS = Skyline(np.arange(0, 360, 45.0), np.array([0.0, 10, 20, 30, 40, 15, 25, 5]))


def read(path, *, latitude, longitude):
    remarks = Remarks()
    weather = read_weather(path, LocalFrame(longitude=longitude, latitude=latitude), remarks)
    assert not remarks.faults
    return weather


@cache
def half_hours(latitude, longitude, timezone):
    return sun_path(latitude, longitude, year=2026, timezone=timezone, step=0.5)  # its parts last five minutes


def lights(weather, *, latitude, longitude, timezone, skyline=None):
    path = half_hours(latitude, longitude, timezone)
    engine = SunEngine(path=path, prisms=(), season=np.ones(len(path.day_month), dtype=bool), skyline=skyline)
    start = np.datetime64("2026-01-01").astype("datetime64[s]").astype(float)
    start += {"Etc/GMT": 0, "Etc/GMT+5": 5, "Etc/GMT+9": 9}[timezone] * 3600
    typical = typical_radiation(path, weather, longitude=longitude, start=start)
    return LightEngine(engine, clear_radiation(path, clear_air(latitude, longitude)), typical)


@pytest.fixture(scope="module", params=[("723170TYA.CSV", 36.1, -79.95, 5), ("703165TY.csv", 55.317, -160.517, 9)])
def station(request):
    """Return the typical year of Greensboro or Sand Point, and the light on open ground there."""
    file, latitude, longitude, behind = request.param
    weather = read(NREL / file, latitude=latitude, longitude=longitude)
    engine = lights(weather, latitude=latitude, longitude=longitude, timezone=f"Etc/GMT+{behind}")
    return weather, engine.open.typical


def test_open_ground_gets_what_the_file_says(station):
    weather, light = station
    month = np.repeat(np.arange(12), np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24)
    days = np.bincount(month) / 24
    total, diffuse = (np.bincount(month, v) / days / 1000 for v in (weather.total, weather.diffuse))
    # an hour's diffuse light is kept but for hours in which the sun is up for less than a quarter: half a per cent
    assert light.diffuse_kwh_m2[:12, 0] == pytest.approx(diffuse, rel=0.01)
    # the sun's height changes within an hour, and the file's global is measured or modelled apart: 3 %
    assert light.total_kwh_m2[:12, 0] == pytest.approx(total, rel=0.03)
    bright = np.bincount(month, weather.direct >= 120) / days
    # an hour of rising or setting counts with that part of it in which the sun is up, two such a day at the most
    assert light.bright_h[:12, 0] == pytest.approx(bright, abs=0.5)


def test_light_outdoors_lies_within_the_published_range(station):
    # 5 to 60 mol/m2 a day outdoors in the United States: encyclopedic pages after Korczynski and Faust (second-hand)
    integral = station[1].dli_mol_m2[:12, 0]
    assert integral.max() < 60
    assert integral[2:10].min() > 5  # winters in Alaska lie below


@pytest.fixture(scope="module")
def pvgis(shared: Path):
    """Return the same typical year at 45 N, 8 E without and with hills: PVGIS, by way of pvlib's tests."""
    folder = shared / "weather"
    return tuple(
        read(folder / name, latitude=45.0, longitude=8.0)
        for name in ("pvgis_tmy_45.000_8.000_2005_2023.csv", "pvgis_tmy_45.000_8.000_userhorizon.json")
    )


def test_a_year_of_light_with_and_without_hills(pvgis):
    # sums of the two files' own columns, counted apart from our reader [kWh/m2]
    for weather, total, direct in zip(pvgis, (1436, 1251), (1592, 1014), strict=True):
        assert weather.total.sum() / 1000 == pytest.approx(total, abs=0.5)
        assert weather.direct.sum() / 1000 == pytest.approx(direct, abs=0.5)


def test_hills_take_the_beam_in_the_hours_that_they_shade(pvgis):
    bare, hilly = pvgis
    seconds = (np.arange(8760) + bare.middle) * 3600 + np.datetime64("2026-01-01").astype("datetime64[s]").astype(
        float
    )
    azimuth, elevation = apparent_position(45.0, 8.0, seconds)
    shaded = (elevation > 0) & (elevation < HILLS.elevation_at(azimuth))
    assert shaded.sum() > 2000
    # the makers' horizon runs in steps that we do not know: a moment at its edge may fall on either side
    assert (hilly.direct[shaded] > 0).sum() <= 4
    lit = (elevation > 1) & ~shaded & (bare.direct > 0)
    assert (hilly.direct[lit] > 0).mean() > 0.98


def test_our_skyline_takes_as_much_light_as_theirs(pvgis):
    bare, hilly = pvgis
    place = {"latitude": 45.0, "longitude": 8.0, "timezone": "Etc/GMT"}
    engine = lights(bare, **place, skyline=HILLS)
    here = engine.light(np.zeros((1, 3)))
    ours, unshaded = here.typical, engine.open.typical
    theirs = lights(hilly, **place).open.typical
    mean = 12
    taken = unshaded.direct_kwh_m2[mean, 0] - theirs.direct_kwh_m2[mean, 0]
    assert taken / unshaded.direct_kwh_m2[mean, 0] > 0.15  # the hills matter
    # they darken whole hours by one moment in each, as we do by minutes: over a year the difference averages out
    assert ours.direct_kwh_m2[mean, 0] == pytest.approx(theirs.direct_kwh_m2[mean, 0], rel=0.02)
    assert ours.direct_kwh_m2[:12, 0] == pytest.approx(theirs.direct_kwh_m2[:12, 0], rel=0.1, abs=0.05)
    # PVGIS leaves diffuse light as it is behind a horizon; ours is less by the sky that the hills hide
    assert hilly.diffuse == pytest.approx(bare.diffuse)
    azimuth = np.arange(0, 360, 0.1)
    hidden = np.mean(np.sin(np.radians(HILLS.elevation_at(azimuth))) ** 2)
    assert here.sky_share[12, 0] == pytest.approx(1 - hidden, abs=2e-4)  # half-degree levels
    assert ours.diffuse_kwh_m2[12, 0] == pytest.approx((1 - hidden) * unshaded.diffuse_kwh_m2[12, 0], rel=1e-3)
