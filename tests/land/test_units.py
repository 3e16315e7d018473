"""Does every way to write a quantity come out as one float, and every other as a word?"""

from __future__ import annotations

import math
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.units import (
    MEASURES,
    force_text,
    is_plain,
    length_text,
    length_unit,
    mass_text,
    plain_length_means,
    pressure_text,
    registry,
    si_value,
    tape_mark,
    volume_text,
    water_text,
)
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
        ("-5 ft 6 in", "length", -66 * 0.0254),
        ("-0' 6\"", "length", -6 * 0.0254),
        ("-1 1/2 ft", "length", -1.5 * 0.3048),
        ("-1/2 ft", "length", -0.5 * 0.3048),
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
        ("1,5 m", "length", "'1,5 m' has a comma: write 1.5 for one and a half, 1500 for thousands; give a length"),
        ("1,500", "mass", "has a comma"),
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


INCH = 0.0254


@pytest.mark.parametrize(("metres", "text"), [
    (0.0, "0 cm"), (0.0004, "0 cm"), (0.0006, "1 mm"), (0.004, "4 mm"), (0.0094, "9 mm"), (0.0096, "1 cm"), (0.15, "15 cm"),
    (0.994, "99 cm"), (0.996, "1.00 m"), (1.0, "1.00 m"), (9.994, "9.99 m"), (9.996, "10.0 m"), (12.34, "12.3 m"),
    (-0.5, "-50 cm"), (-0.004, "-4 mm"), (-12.34, "-12.3 m"), (-3.456, "-3.46 m"),
])  # fmt: skip
def test_a_length_on_a_metric_tape(metres, text):
    assert length_text(metres, "metric") == text


@pytest.mark.parametrize(("inches", "text"), [
    (0.0, "0 in"), (0.12, "0 in"), (0.13, "1/4 in"), (0.37, "1/4 in"), (0.38, "1/2 in"), (0.75, "3/4 in"), (0.87, "3/4 in"),
    (0.88, "1 in"), (1.24, "1 in"), (1.26, "1 1/2 in"), (1.74, "1 1/2 in"), (1.76, "2 in"), (11.7, "11 1/2 in"),
    (11.8, "1 ft"), (12.2, "1 ft"), (12.3, "1 ft 1/2 in"), (17.0, "1 ft 5 in"), (66.5, "5 ft 6 1/2 in"),
    (239.7, "19 ft 11 1/2 in"), (239.8, "20 ft"), (245.9, "20 ft"), (246.1, "21 ft"), (1200.0, "100 ft"),
    (-6.0, "-6 in"), (-0.5, "-1/2 in"), (-17.0, "-1 ft 5 in"), (-252.0, "-21 ft"),
])  # fmt: skip
def test_a_length_on_a_tape_of_feet_and_inches(inches, text):
    assert length_text(inches * INCH, "imperial") == text


@pytest.mark.parametrize(("metres", "metric", "imperial"), [
    (0.9, "90 cm", "2 ft 11 1/2 in"),  # 35.43 in
    (0.8351, "84 cm", "2 ft 9 in"),  # 32.88 in
    (1.6667, "1.67 m", "5 ft 5 1/2 in"),  # 65.62 in
    (0.007, "1 cm", "1/2 in"),  # 0.28 in: a mark is never finer than the tape
])  # fmt: skip
def test_a_mark_on_a_tape(metres, metric, imperial):
    assert (tape_mark(metres, "metric"), tape_mark(metres, "imperial")) == (metric, imperial)


@pytest.mark.parametrize(("tell", "value", "metric", "imperial"), [
    # a cubic foot is 28.3168 L, a cubic yard 764.555 L
    (volume_text, 0.04, "40 L", "1.4 ft³"), (volume_text, 0.4994, "499 L", "17.6 ft³"), (volume_text, 0.5, "0.50 m³", "0.65 yd³"),
    (volume_text, -0.4, "-400 L", "-14.1 ft³"), (volume_text, -0.6, "-0.60 m³", "-0.78 yd³"),
    # a pound is 0.453592 kg
    (mass_text, 999.4, "999 kg", "2,203 lb"), (mass_text, 1000.0, "1.00 t", "2,205 lb"), (mass_text, 1.4, "1 kg", "3 lb"),
    # a US gallon is 3.78541 L
    (water_text, 0.00994, "9.9 L", "2.6 gal"), (water_text, 0.00996, "10 L", "2.6 gal"), (water_text, 0.0376, "38 L", "9.9 gal"),
    (water_text, 0.0377, "38 L", "10 gal"), (water_text, 1.234, "1,234 L", "326 gal"), (water_text, 12.0, "12,000 L", "3,170 gal"),
    # a kilogram presses with 9.80665 N, a pound with 4.44822 N; a square foot is 0.092903 m2
    (force_text, 100.0, "10 kg", "22 lb"), (force_text, 53.0, "5 kg", "12 lb"),
    (pressure_text, 100.0, "10 kg/m²", "2 lb/ft²"), (pressure_text, 9806.0, "1,000 kg/m²", "205 lb/ft²"),
    (pressure_text, 150.0, "20 kg/m²", "3 lb/ft²"),
])  # fmt: skip
def test_a_figure_as_it_is_bought_or_weighed(tell, value, metric, imperial):
    assert (tell(value, "metric"), tell(value, "imperial")) == (metric, imperial)


@pytest.mark.parametrize(("value", "plain"), [
    (4, True), (4.5, True), ("4", True), (" -1.5e2 ", True), ("1 1/2", True), ("1/2", True), ("4 ft", False), ("4'", False),
    ("", False), (None, False), ([4], False),
])  # fmt: skip
def test_a_plain_number_has_no_unit(value, plain):
    assert is_plain(value) is plain


@pytest.mark.parametrize(("name", "sign", "plural", "metres", "whose"), [
    ("ft", "ft", "feet", 0.3048, ", the unit of the drawing"), ("in", "in", "inches", 0.0254, ", the unit of the drawing"),
    ("cm", "cm", "centimetres", 0.01, ", the unit of the drawing"), ("m", "m", "metres", 1.0, ""),
    ("yards", "yd", "yards", 0.9144, ", the unit of the drawing"),
])  # fmt: skip
def test_the_unit_of_a_drawing(name, sign, plural, metres, whose):
    unit = length_unit(name)
    assert (unit.sign, unit.plural, unit.metres) == (sign, plural, metres)
    assert plain_length_means(unit) == f'a plain number is {plural}{whose}; give the unit, as in "18 in"'
    assert si_value(3, "length", plain=unit) == pytest.approx(3 * metres)
    assert si_value("3", "length", plain=unit) == pytest.approx(3 * metres)
    assert si_value("3 m", "length", plain=unit) == 3.0


@pytest.mark.parametrize(
    ("dimension", "kernel"),  # of a plain 1
    [("angle", 1.0), ("mass", 1.0), ("volume", 0.001), ("time", 1.0), ("fraction", 1.0), ("density", 1.0), ("rate", 1.0),
     ("speed", 1 / 3.6), ("concentration", 1.0)],
)  # fmt: skip
def test_what_a_plain_number_means(dimension, kernel):
    assert si_value(1, dimension) == pytest.approx(kernel)
    assert si_value("1", dimension) == pytest.approx(kernel)
    assert si_value(-1.0, dimension) == pytest.approx(-kernel)


def test_whole_numbers_beyond_any_size():
    assert si_value(10**300, "mass") == pytest.approx(1e300)
    for value, sign in ((10**301, "inf"), (-(10**301), "-inf")):
        with pytest.raises(ValueError, match=f"^{sign} is not finite"):
            si_value(value, "mass")


@pytest.mark.parametrize(("text", "words"), [
    ("4 " + "m" * 60, "has a unit that is not known"),
    ("m m m m", "does not start with a number"),
    ("4 m*m*m*m*m*m", "has a unit that is not known"),  # of six units
    ("4 m m m m m", "is not a length"),  # of five
    ("4 ft lb", "is not a length"),
    ("4 N", "is a force, not a length"),
    ("4 Pa", "is a pressure"),
    ("4 J", "is an energy"),
    ("4 kg/m^3", "is a density"),
    ("4 m/s", "is a speed"),
    ("4 L/min", "is a rate"),
    ("4 kg/h", "is a mass in a time"),
    ("4 kg/m^2", "is a mass on an area"),
    ("4 h", "is a time"),
    ("4 L", "is a volume"),
    ("4 grad", "is an angle"),
    ("4 turn", "is an angle"),
    ("4 %", "is a pure number"),
])  # fmt: skip
def test_what_is_no_length(text, words):
    with pytest.raises(ValueError, match=words):
        si_value(text, "length")


def test_what_is_no_length_is_shown_short():
    with pytest.raises(ValueError, match=r"^'x{58}' does not start"):  # sixty characters with the quotes
        si_value("x" * 58, "length")
    with pytest.raises(ValueError, match=r"^'x{56}\.\.\. does not start"):
        si_value("x" * 59, "length")


@pytest.fixture
def cache_folder(tmp_path, monkeypatch):
    """Let pint keep what it reads in a folder of the test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache"


def pounds_in_kilograms():
    return registry.__wrapped__().Quantity(5, "lb").to("kilogram").magnitude


@pytest.mark.skipif(sys.platform != "linux", reason="the user's cache folder is named otherwise")
def test_units_are_the_same_whether_their_definitions_were_kept_or_not(cache_folder):
    """A pound is 0.45359237 kg exactly (international agreement of 1959)."""
    assert pounds_in_kilograms() == pytest.approx(2.26796185, rel=1e-12)
    kept = list(cache_folder.rglob("*.pickle"))
    assert kept
    assert pounds_in_kilograms() == pytest.approx(2.26796185, rel=1e-12)
    for file in kept:
        file.write_bytes(file.read_bytes()[:100])
    assert pounds_in_kilograms() == pytest.approx(2.26796185, rel=1e-12)


def test_units_without_a_folder_to_keep_their_definitions_in(cache_folder):
    cache_folder.write_text("a file in the way of the folder")
    assert pounds_in_kilograms() == pytest.approx(2.26796185, rel=1e-12)
    assert cache_folder.read_text() == "a file in the way of the folder"
