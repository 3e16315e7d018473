"""Does every way to write a quantity come out as one float, and every other as a word?"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.units import MEASURES, length_text, mass_text, si_value, volume_text
from siteplan.land.written import written


@pytest.mark.parametrize(
    ("written", "dimension", "value"),
    [
        (1.2, "length", 1.2),
        (3, "length", 3.0),
        ("3", "length", 3.0),
        ("-0.5", "length", -0.5),
        (".5 m", "length", 0.5),
        ("1e2 cm", "length", 1.0),
        ("4 ft", "length", 1.2192),
        ("4ft", "length", 1.2192),
        ("4'", "length", 1.2192),
        ("4 ft.", "length", 1.2192),
        ("18 in.", "length", 0.4572),
        ("1 cu. yd.", "volume", 0.764554857984),
        ("5 lb.", "mass", 2.26796185),
        ('18"', "length", 0.4572),
        ("5' 6\"", "length", 1.6764),
        ("5 ft 6 in", "length", 1.6764),
        ("5′6″", "length", 1.6764),
        ("3 ft 3 1/4 in", "length", 0.3048 * 3 + 0.0254 * 3.25),
        ("3' 1/2\"", "length", 0.3048 * 3 + 0.0127),
        ("1/2 in", "length", 0.0127),
        ("1 1/2 in", "length", 0.0381),
        ("  2  m ", "length", 2.0),
        ("6 cu ft", "volume", 6 * 0.3048**3),
        ("6 ft3", "volume", 6 * 0.3048**3),
        ("6 ft³", "volume", 6 * 0.3048**3),
        ("6 ft**3", "volume", 6 * 0.3048**3),
        ("2 cubic yards", "volume", 2 * 0.9144**3),
        (40, "volume", 0.04),
        ("40 L", "volume", 0.04),
        ("40 litres", "volume", 0.04),
        ("9 stone", "mass", 57.15263862),
        ("200 lbs", "mass", 90.718474),
        ("12 degrees", "angle", 12.0),
        ("12°", "angle", 12.0),
        ("0.5 rad", "angle", math.degrees(0.5)),
        ("90 min", "time", 1.5),
        ("30 %", "fraction", 0.3),
        ("30%", "fraction", 0.3),
        ("1/8", "fraction", 0.125),
        ("1 yd^3/h", "rate", 0.9144**3),
        ("1.2 t/m^3", "density", 1200.0),
        (150, "concentration", 150.0),
        ("150 ppm", "concentration", 150.0),
        ("0.15 g/kg", "concentration", 150.0),
    ],
)
def test_ways_to_write(written, dimension, value):
    assert si_value(written, dimension) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(
    ("written", "dimension", "words"),
    [
        ("", "length", "does not start with a number"),
        ("ft 4", "length", "does not start with a number"),
        ("4 fet", "length", "has a unit that is not known"),
        ("1,5 m", "length", "has a unit that is not known"),
        ("4 m 20 cm 3", "length", "has a unit that is not known"),
        ("4 m^9^9^9^9", "length", "has a unit that is not known"),  # once ran for ever
        ("4 __import__('os')", "length", "has a unit that is not known"),
        ("4 " + "m" * 100, "length", "has a unit that is not known"),
        ("4 kg", "length", "is a mass, not a length; give a length such as"),
        ("10 W", "length", "'10 W' is a power, not a length"),
        ("10 cd", "length", "'10 cd' is not a length"),
        ("4 m^2", "length", "is an area"),
        ("4 ft", "volume", "is a length"),
        ("4 degC", "length", "is a temperature, not a length"),
        ("12 degrees", "fraction", "is an angle, not a fraction"),
        ("30 %", "angle", "is a pure number, not an angle"),
        ("1/0 m", "length", "divides by zero"),
        ("1 1/0 m", "length", "divides by zero"),
        ("3 ft 1/0 in", "length", "divides by zero"),
        ("1e999 m", "length", "is not finite"),
        (math.nan, "length", "is not finite"),
        (math.inf, "length", "is not finite"),
        (10**400, "length", "is not finite"),
        ("nan", "length", "does not start with a number"),
        (True, "length", "is not a length"),
        (None, "length", "is not a length"),
        ([4], "length", "is not a length"),
        ({}, "mass", "is not a mass"),
        ("x" * 1000, "length", r"\.\.\. does not start"),
    ],
)
def test_what_is_no_quantity(written, dimension, words):
    with pytest.raises(ValueError, match=words):
        si_value(written, dimension)


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=40), st.sampled_from(["length", "volume", "fraction", "angle"]))
def test_any_text_is_a_finite_number_or_a_value_error(text, dimension):
    try:
        value = si_value(text, dimension)
    except ValueError:
        return
    assert math.isfinite(value)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.001, 1000), st.sampled_from([("ft", 0.3048), ("in", 0.0254), ("cm", 0.01), ("yd", 0.9144)]))
def test_a_unit_scales(number, unit):
    name, metres = unit
    assert si_value(f"{number!r} {name}", "length") == pytest.approx(number * metres, rel=1e-12)


@settings(deadline=None, max_examples=60)
@given(st.floats(0.01, 6.0))
def test_printed_length_is_read_back_to_a_quarter_of_an_inch(metres):
    assert si_value(length_text(metres, "imperial"), "length") == pytest.approx(metres, abs=0.0254 / 4 + 1e-9)
    assert si_value(length_text(metres, "metric"), "length") == pytest.approx(metres, abs=0.005 + 1e-9)


def test_texts_carry_their_unit():
    assert volume_text(0.04, "metric") == "40 L"
    assert volume_text(2.0, "metric") == "2.00 m³"
    assert volume_text(0.764554857984, "imperial") == "1.00 yd³"
    assert mass_text(0.45359237 * 250, "imperial") == "250 lb"
    assert length_text(0.0, "imperial") == "0 in"
    assert length_text(30.48, "imperial") == "100 ft"


@settings(deadline=None, max_examples=60)
@given(st.floats(1e-3, 1e5), st.sampled_from([*MEASURES]))
def test_a_written_quantity_is_read_back(value, dimension):
    # ten digits are written
    assert si_value(written(value, dimension), dimension) == pytest.approx(value, rel=1e-9)
