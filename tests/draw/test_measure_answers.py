"""What the page is answered when it asks which way is north, or how high something is."""

from __future__ import annotations

import datetime as dt
import json
import math
from dataclasses import replace

import pytest

from siteplan.draw.measure_answers import PropertyPosition, height_answer, north_answer
from siteplan.land.errors import InputError
from siteplan.land.units import length_unit
from siteplan.sun.shadows import stick_shadow

IOWA = PropertyPosition(41.352, -92.204, "America/Chicago", "imperial", length_unit("ft"))
METRIC = PropertyPosition(48.5, 9.05, "Europe/Berlin")


def test_a_compass_with_the_day_of_its_declination():
    answer = north_answer({"way": "compass", "reading": 90, "line": [[0, 0], [4, 0]], "date": "2026-11-26"}, IOWA)
    # the wall goes right on the plan and reads east: up is magnetic north, 0.75 degrees west of true north
    assert answer["bearing"] == pytest.approx(360 + answer["declination"], abs=0.011)
    assert answer["declination"] == pytest.approx(-0.75, abs=0.05)
    assert answer["error_degrees"] == pytest.approx(math.hypot(2.0, answer["declination_error"]), abs=0.011)
    assert answer["date"] == "2026-11-26"
    assert "World Magnetic Model 2025" in " ".join(answer["said"])
    assert "reinforced concrete" in " ".join(answer["said"])
    json.dumps(answer)


def test_a_compass_near_a_magnetic_pole_is_told():
    polar = PropertyPosition(85.8, 139.0, "UTC")
    assert "tells nothing" in north_answer({"way": "compass", "reading": 0}, polar)["said"][1]


def test_a_shadow_by_the_clocks_of_the_place():
    line = [[0, 0], [1, 1]]  # up to the right: 45 degrees
    answer = north_answer({"way": "shadow", "date": "2026-06-21", "time": "3:30 pm", "line": line}, IOWA)
    summer = dt.datetime(2026, 6, 21, 20, 30, tzinfo=dt.UTC)  # 5 h behind UTC
    assert answer["bearing"] == pytest.approx(
        stick_shadow(41.352, -92.204, summer.timestamp()).azimuth - 45, abs=0.006
    )


def test_a_street_and_a_typed_bearing():
    street = north_answer({"way": "street", "bearing": 90, "direction": 45}, IOWA)
    assert (street["bearing"], street["error_degrees"]) == (45, 1.0)  # a degree where nobody says
    assert north_answer({"way": "typed", "bearing": -10}, IOWA) == {
        "bearing": 350.0, "error_degrees": 0.0, "said": ["Up the plan is 350.0° from true north (north)."],
    }  # fmt: skip


@pytest.mark.parametrize(("values", "told"), [
    ({}, "way: is missing, must be compass, shadow, street or typed"),
    ({"way": "sun"}, "way: it 'sun' is not known"),
    ({"way": ["compass"]}, "way: "),
    ({"way": "compass"}, "reading: is missing"),
    ({"way": "compass", "reading": 1e9}, "reading: it is 1,000,000,000 degrees"),
    ({"way": "compass", "reading": True}, "reading: True is not an angle"),
    ({"way": "compass", "reading": 1, "date": "2031-05-01"}, "date: the World Magnetic Model 2025 holds from 2025"),
    ({"way": "shadow", "date": "2026-06-21", "time": "11:30 pm"}, "below the horizon; check the day, the time"),
    ({"way": "shadow", "date": "2026-03-08", "time": "2:30"}, "put forward and never showed it"),
    ({"way": "shadow", "date": "x", "time": "y"}, "time: the time is 'y'"),
    ({"way": "street", "bearing": 4, "line": [[0, 0], [0, 0]]}, "line: has its two points in one place"),
    ({"way": "street", "bearing": 4, "line": [[0, 0]]}, "line: is .* must be 2 points"),
    ({"way": "street", "bearing": 4, "line": [[0, "0"], [0, 1]]}, "must be 2 points"),
    ({"way": "street", "bearing": 4, "line": {"a": 1}}, "must be 2 points"),
    ({"way": "street", "bearing": "9 kg"}, "bearing: '9 kg' is a mass"),
])  # fmt: skip
def test_wrong_questions_for_north(values, told):
    with pytest.raises(InputError, match=told):
        north_answer(values, IOWA)


def test_heights_in_the_unit_of_the_drawing():
    answer = height_answer({"way": "angle", "distance": 40, "angle": 35}, IOWA)
    assert answer["height_m"] == pytest.approx(40 * 0.3048 * math.tan(math.radians(35)) + 1.6, abs=1e-3)
    assert answer["said"] == ["It is 33 ft high.", "If the angle is off by 1°, it is 32 ft to 34 ft."]
    slope = height_answer({"way": "angle", "distance": "10 m", "angle": 45, "foot_angle": -45}, IOWA)
    assert slope["height_m"] == pytest.approx(20)


def test_heights_by_shadows():
    asked = {"way": "shadow", "shadow": 10, "date": "2026-06-21", "time": "17:00"}
    answer = height_answer(asked, METRIC)
    sun = stick_shadow(48.5, 9.05, dt.datetime(2026, 6, 21, 15, 0, tzinfo=dt.UTC).timestamp())
    assert answer["height_m"] == pytest.approx(10 * math.tan(math.radians(sun.elevation)), abs=1e-3)
    assert "10 cm, and the clock by a minute" in answer["said"][1]
    stick = height_answer({"way": "stick", "shadow": 12, "stick": 1, "stick_shadow": 1.5}, METRIC)
    assert stick["height_m"] == 8
    assert stick["low_m"] < 8 < stick["high_m"]
    assert "10 cm" in stick["said"][1]


@pytest.mark.parametrize(("values", "told"), [
    ({"way": "angle", "angle": 89}, "distance: is missing"),
    ({"way": "angle", "distance": 5, "angle": 89}, "angle: it is 89 degrees, must be at least -45 and at most 80"),
    ({"way": "angle", "distance": 5, "angle": -40}, "height: comes to .* must be above 0"),
    ({"way": "angle", "distance": 0, "angle": 40}, "distance: it is 0 m, must be above 0"),
    ({"way": "angle", "distance": None, "angle": "x"}, "angle: 'x' does not start with a number"),
    ({"way": "stick", "shadow": 5, "stick": 1}, "stick_shadow: is missing"),
    ({"way": "stick", "shadow": 1000, "stick": "900 m", "stick_shadow": "1 mm"}, "height: comes to"),
    ({"way": "shadow", "shadow": 5, "date": "2026-06-21"}, "time: "),
    ({"way": "shadow", "shadow": {"x": 1}, "date": "2026-06-21", "time": "12:00"}, "shadow: "),
])  # fmt: skip
def test_wrong_questions_for_a_height(values, told):
    with pytest.raises(InputError, match=told):
        height_answer(values, METRIC)


def test_all_faults_at_once():
    with pytest.raises(InputError) as caught:
        height_answer({"way": "angle", "distance": "x", "angle": 99, "eye_height": -1}, METRIC)
    assert [fault.where for fault in caught.value.faults] == ["distance", "angle", "eye_height"]


@pytest.mark.parametrize(("way", "name", "sound", "wrong"), [
    ("typed", "bearing", (-360, 360), (-360.1, 360.1)), ("street", "doubt", (0, 45), (-0.1, 45.1)), ("street", "direction", (-360, 360), (360.1,)),
    ("compass", "reading", (-360, 360), (-361, 361)), ("compass", "reading_doubt", (0, 45), (-0.1, 45.1)),
])  # fmt: skip
def test_the_range_of_each_figure_for_north(way, name, sound, wrong):
    plain = {"way": way, "bearing": 10, "reading": 10, "date": "2026-05-01"}
    for value in sound:
        assert north_answer(plain | {name: value}, METRIC)["bearing"] < 360
    for value in wrong:
        with pytest.raises(InputError, match=f"{name}: it is"):
            north_answer(plain | {name: value}, METRIC)


@pytest.mark.parametrize(("name", "sound", "wrong"), [
    ("distance", ("1000 m",), (1000.1, 0)), ("angle", (80,), (-45.1, 80.1)), ("eye_height", (0, 10), (-0.1, 10.1)), ("foot_angle", (-80, 20), (-80.1, 45.1)),
])  # fmt: skip
def test_the_range_of_each_figure_for_a_height(name, sound, wrong):
    plain = {"way": "angle", "distance": 20, "angle": 25}
    for value in sound:
        assert (
            height_answer(plain | {name: value} | ({"angle": 10} if name == "distance" else {}), METRIC)["height_m"]
            > 0
        )
    for value in wrong:
        with pytest.raises(InputError, match=f"{name}: it is"):
            height_answer(plain | {name: value}, METRIC)


def test_what_is_out_of_range_is_told_in_the_propertys_units():
    position = replace(METRIC, units="imperial")
    with pytest.raises(InputError, match=r"distance: it is 4000 ft, must be above 0 and at most 3281 ft"):
        height_answer({"way": "angle", "distance": "4000 ft", "angle": 40}, position)
    with pytest.raises(InputError, match="shadow: is missing, must be above 0, to 3281 ft"):
        height_answer({"way": "stick", "stick": 1, "stick_shadow": 1}, position)
    with pytest.raises(InputError, match="height: comes to 1644 ft, must be above 0 and at most 1640 ft"):
        height_answer({"way": "stick", "shadow": 501, "stick": 1, "stick_shadow": 1}, position)


def test_a_height_of_at_most_500_m():
    assert height_answer({"way": "stick", "shadow": 500, "stick": 1, "stick_shadow": 1}, METRIC)["height_m"] == 500
    with pytest.raises(
        InputError, match="height: comes to 501 m, must be above 0 and at most 500 m; look at the measures again"
    ):
        height_answer({"way": "stick", "shadow": 501, "stick": 1, "stick_shadow": 1}, METRIC)


def test_a_line_of_a_centimetre_has_a_direction():
    asked = {"way": "street", "bearing": 90}
    assert north_answer(asked | {"line": [[0, 0], [0.01, 0]]}, METRIC)["bearing"] == 0
    with pytest.raises(InputError, match="has its two points in one place"):
        north_answer(asked | {"line": [[0, 0], [0.009, 0]]}, METRIC)
    assert north_answer(asked | {"line": [[0, 0], [1e6, 0]]}, METRIC)["bearing"] == 0
    with pytest.raises(InputError, match="must be 2 points"):
        north_answer(asked | {"line": [[0, 0], [1.1e6, 0]]}, METRIC)


def test_a_bearing_that_rounds_to_a_whole_turn_is_0():
    assert north_answer({"way": "typed", "bearing": 359.999}, METRIC)["bearing"] == 0


def test_the_day_of_a_compass_counts_as_a_part_of_its_year(monkeypatch):
    """1 January 0, 31 December 364 of 365, or 365 of 366, of a year."""
    from siteplan.draw import measure_answers
    from siteplan.land.declination import declination

    seen = []
    monkeypatch.setattr(
        measure_answers, "declination", lambda *place, year: seen.append(year) or declination(*place, year=year)
    )
    for day in ("2025-01-01", "2025-12-31", "2028-12-31", "2028-07-01"):
        north_answer({"way": "compass", "reading": 1, "date": day}, METRIC)
    assert seen == pytest.approx([2025, 2025 + 364 / 365, 2028 + 365 / 366, 2028 + 182 / 366], abs=1e-9)


def test_what_is_said_of_the_doubt_of_a_height():
    feet = height_answer({"way": "stick", "shadow": 12, "stick": 3, "stick_shadow": 4}, IOWA)
    assert feet["said"][1].startswith("If its shadow's end is off by 4 in, and the stick's by 1/2 in, it is")
    angle = height_answer({"way": "angle", "distance": 20, "angle": 45, "eye_height": 0}, METRIC)
    assert (angle["height_m"], angle["low_m"], angle["high_m"]) == pytest.approx(
        (20, 20 * math.tan(math.radians(44)), 20 * math.tan(math.radians(46))), abs=1e-3
    )
