"""The parts of a weather file's reader and of ground measured with a tape, by hand."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from shapely import Point, box

from siteplan.files.ground.levels import Ground, _across, _grid, measured_terrain
from siteplan.files.remarks import Remarks
from siteplan.files.timezone import at_sea, country_name, country_of, same_clock, sound_zone
from siteplan.files.weather.weather_file import (
    _check_station,
    _epw,
    _parser,
    _place,
    _pvgis_csv,
    _pvgis_json,
    _radiation,
    _tmy3,
    clear_air,
    read_weather,
    usual_altitude,
)
from siteplan.land.features import Level
from siteplan.land.frame import LocalFrame

FRAME = LocalFrame(longitude=8.0, latitude=45.0)


def said(remarks):
    return [f"{one.where}: {one.text}" for one in remarks.faults] + [
        f"{one.code} {one.feature}: {one.text}" for one in remarks.all_cautions()
    ]


def station(latitude, longitude=8.0, elevation=None, *, frame=FRAME):
    _check_station(latitude, longitude, elevation, frame=frame, file="a", remarks=(remarks := Remarks()))
    return said(remarks)


def test_a_station_within_50_km():
    """A degree of latitude is 111.1 km at 45 degrees."""
    assert station(45.449) == []
    (told,) = station(45.451)
    assert told == "weather-far : a is from a station 50 km away; its clouds may not be the property's."
    assert station(45.0, 8.7)[0].startswith("weather-far : a is from a station 55 km away")


def test_a_station_on_the_other_side_of_the_equator():
    near = LocalFrame(longitude=8.0, latitude=0.1)
    assert station(-0.1, frame=near) == []  # 22 km
    assert station(-0.5, frame=near)[0].startswith(
        "weather-hemisphere : a is from the other hemisphere, 66 km away: its summer"
    )
    assert station(-0.5, frame=LocalFrame(longitude=8.0, latitude=0.0))[0].startswith("weather-far")


@pytest.mark.parametrize(
    ("elevation", "odd"), [(-500, False), (9000, False), (-501, True), (9001, True), (None, False), (0, False)]
)
def test_the_height_of_a_station(elevation, odd):
    told = station(45.0, elevation=elevation)
    assert told == ([f"weather-height : a has its station at {elevation:,.0f} m, where no land lies."] if odd else [])


@pytest.mark.parametrize(("text", "parser"), [
    (" \n location,a", _epw), ("LOCATION", _epw), ("[1]", _pvgis_json), (" {", _pvgis_json), ("Latitude (decimal degrees): 45", _pvgis_csv),
    ("123,name\nDate (MM/DD/YYYY),x", _tmy3), ("123,name\nDate (MM/DD/YYYY)", _tmy3), ("Date (MM/DD/YYYY)\n1", None), ("", None), ("x", None), ("LOCATIO", None),
    (" " * 3990 + "LOCATION", _epw), (" " * 3993 + "LOCATION", None),
])  # fmt: skip
def test_the_format_by_the_first_bytes(text, parser):
    assert _parser(text) is parser


def test_the_place_of_a_station():
    found = _place({"latitude": "45", "longitude": 8, "altitude": "250", "elevation": 9}, name="a\x1b" + "b" * 99)
    assert (found.latitude, found.longitude, found.elevation, found.name) == (45.0, 8.0, 250.0, "a" + "b" * 59)
    assert _place({"latitude": 45, "longitude": 8, "elevation": 9}).elevation == 9.0
    assert _place({"latitude": 45, "longitude": 8}).elevation is None


def test_the_columns_of_radiation_under_either_name():
    table = pd.DataFrame({"ghi": [1, "x"], "G(h)": [5, 5], "Gb(n)": [2, None], "dhi": ["3", 4]})
    found = _radiation(table)
    assert found["total"][0] == 1
    assert math.isnan(found["total"][1])
    assert found["direct"][0] == 2
    assert found["diffuse"].tolist() == [3, 4]
    with pytest.raises(KeyError, match="dni"):
        _radiation(table.drop(columns="Gb(n)"))


@pytest.mark.parametrize(
    ("latitude", "longitude", "on_earth"),
    [
        (90.1, 8, False),
        (-90.1, 8, False),
        (45, 180.1, False),
        (45, -180.1, False),
        (90, 180, True),
        (-90, -180, True),
    ],
)
def test_a_station_on_the_earth(monkeypatch, tmp_path, latitude, longitude, on_earth):
    from siteplan.files.weather import weather_file

    place = _place({"latitude": latitude, "longitude": longitude})
    monkeypatch.setattr(weather_file, "_parsed", lambda *_: ("hours", place))
    monkeypatch.setattr(weather_file, "_weather", lambda *parts: parts[1])
    (tmp_path / "a.epw").write_text("x")
    found = read_weather(tmp_path / "a.epw", FRAME, remarks := Remarks())
    assert (found is place) == on_earth
    if not on_earth:
        assert said(remarks) == [
            f": says that its station is at latitude {latitude:g}, longitude {longitude:g}, which is not on the earth"
        ]


def test_turbidity_by_the_day(monkeypatch):
    """Monthly values stand in the middle of their months, 366 days to the year: January's at day 15.5, February's at 45.5."""
    import pvlib.clearsky

    months = pd.Series([2.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0, 0.5])
    monkeypatch.setattr(
        pvlib.clearsky, "lookup_linke_turbidity", lambda *_, interp_turbidity: None if interp_turbidity else months
    )
    air = clear_air(45.0, 8.0, altitude=100.0)
    # day n is the n-th of a leap year
    assert air.turbidity[29] == pytest.approx(2 + 2 * (30 - 15.5) / 30)
    assert air.turbidity[100] == 4.0
    assert air.turbidity[349] == 1.0  # never clearer than clean dry air
    assert air.altitude == 100.0
    assert clear_air(45.0, 8.0, altitude=0.0).altitude == 0.0


def test_the_usual_altitude_is_pvlibs():
    from pvlib.location import lookup_altitude

    assert usual_altitude(46.0, 7.7) == lookup_altitude(46.0, 7.7) > 1000  # the Valais


# ---- time zones and countries


@pytest.mark.parametrize(("zone", "sea"), [("Etc/GMT+2", True), ("", True), ("Europe/Rome", False)])
def test_zones_at_sea(zone, sea):
    assert at_sea(zone) is sea


def test_zones_and_countries():
    assert (country_of("Europe/Rome"), country_of("nowhere")) == ("IT", "")
    assert (country_name("IT"), country_name("??")) == ("Italy", "??")
    assert same_clock("Europe/Rome", "Europe/Berlin") is True
    assert same_clock("America/Phoenix", "America/Denver") is False  # the same in winter alone
    assert same_clock("America/Phoenix", "America/Los_Angeles") is False  # in summer alone
    assert same_clock("Europe/Rome", "nowhere") is True


@pytest.mark.parametrize(("name", "words"), [
    ("europe/rome", "did you mean 'Europe/Rome'?"), ("Europe/Romee", "did you mean 'Europe/Rome'?"),
    ("xyzzyxyzzy", 'it must be an IANA name such as "America/Denver"'), ("../x", 'it must be an IANA name such as "America/Denver"'),
])  # fmt: skip
def test_a_zone_that_is_none(name, words):
    try:
        assert sound_zone(name) == "Europe/Rome"  # where the disk's names have no case
    except ValueError as error:
        assert str(error) == f"timezone '{name}' is not known; {words}"  # noqa: PT017


# ---- the ground by a tape


YARD = box(-15, -10, 15, 10)


def level(name, x, y, elevation):
    return Level(id=name, place=Point(x, y), elevation=elevation)


def ground(*levels, boundary=YARD, shapes=(), **fall):
    found = measured_terrain(levels, Ground(**fall), boundary, shapes, remarks := Remarks(), file="f")
    return found, said(remarks)


def test_the_extent_along_a_direction():
    assert _across(YARD, 0.0) == pytest.approx(20)
    assert _across(YARD, 90.0) == pytest.approx(30)
    assert _across(YARD, 45.0) == pytest.approx(50 / math.sqrt(2))


def test_the_grid_over_all_that_is_drawn():
    """Five metres around it; cells of half a metre, or of a two-hundredth."""
    found = _grid(YARD, [Point(20, 0)])
    assert (found.west, found.east, found.south, found.north, found.cell) == (-20, 25, -15, 15, 0.5)
    assert _grid(box(0, 0, 100, 50), []).cell == 0.5
    assert _grid(box(0, 0, 50, 200), []).cell == 1.0


def test_a_fall_across_the_property():
    found, told = ground(fall=2.0, toward=90.0)
    assert told == []
    assert np.diff(found.height_at([-15.0, 15.0], [0.0, 0.0]))[0] == pytest.approx(-2.0)
    found, _ = ground(fall=2.0, toward=0.0, over=10.0)
    assert np.diff(found.height_at([0.0, 0.0], [-5.0, 5.0]))[0] == pytest.approx(-2.0)
    assert ground() == (None, [])
    assert ground(fall=19.9, toward=0.0)[1] == []
    found, told = ground(fall=20.1, toward=0.0)
    assert found is None
    assert told == [
        "[ground]: fall is 20.1 m over the property's 20.0 m, steeper than one in one; is it the right unit?"
    ]


@pytest.mark.parametrize(("more", "words"), [
    ({"fall": 1.0}, "fall and toward belong together"), ({"toward": 90.0}, "fall and toward belong together"), ({"over": 5.0}, "over is the distance of a fall"),
    ({"fall": 5.1, "toward": 0.0, "over": 5.0}, "fall is 5.1 m over 5 m, steeper than one in one; swap them?"),
])  # fmt: skip
def test_a_fall_that_is_none(more, words):
    with pytest.raises(ValueError, match=words):
        Ground(**more)
    assert Ground(fall=5.0, toward=0.0, over=5.0).over == 5.0


CORNERS = [level("a", -15, -10, 0.0), level("b", 15, -10, 0.0), level("c", 15, 10, 1.0), level("d", -15, 10, 1.0)]


def test_levels_come_before_a_fall():
    found, told = ground(*CORNERS, fall=2.0, toward=90.0)
    assert told == ["fall-unused : Levels are drawn, so the fall in [ground] of site.toml is not used."]
    assert found.height_at([0.0], [0.0]) == pytest.approx([0.5], abs=1e-2)
    assert ground(*CORNERS)[1] == []


def test_levels_that_tell_too_little():
    few = (
        "levels-few : Fewer than three levels, or all on one line, do not tell how the ground falls to the side; there it is taken as level. "
        "Measure one more, off the line."
    )
    assert ground(*CORNERS[:2])[1] == [few]
    assert ground(CORNERS[0], CORNERS[1], level("e", 0, -10, 0.0))[1] == [few]
    (told,) = ground(*CORNERS[:3])[1]
    assert told.startswith(
        "levels-few : The levels surround 50% of the property. Beyond them the ground is taken to go on with"
    )
    inner = [
        level(str(at), x * 0.98, y * 0.98, 0.0)
        for at, (x, y) in enumerate(((-15, -10), (15, -10), (15, 10), (-15, 10)))
    ]
    assert ground(*inner)[1] == []  # 96 %
    inner = [
        level(str(at), x * 0.97, y * 0.97, 0.0)
        for at, (x, y) in enumerate(((-15, -10), (15, -10), (15, 10), (-15, 10)))
    ]
    assert "surround 94%" in ground(*inner)[1][0]


def test_levels_that_contradict_each_other():
    found, told = ground(*CORNERS, level("e", 15, 10.009, 1.0))
    assert found is None
    assert told == ['level "c": lies at the same place as level "e"; take one of them out']
    found, told = ground(*CORNERS, level("e", 15, 11.0, 2.05))
    assert found is not None
    assert told[0].startswith(
        'levels-steep c: It lies 1.05 m above or below level "e", which is only 1.00 m away. Unless a wall'
    )
    assert ground(*CORNERS, level("e", 15, 11.0, 1.95))[1] == []
