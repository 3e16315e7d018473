"""Quantities as a person would have written them, round figures, and messages in feet: by hand."""

from __future__ import annotations

import pytest

from siteplan.land.written import in_feet, round_text, written


@pytest.mark.parametrize(("value", "dimension", "text"), [
    (0, "length", "0 m"), (0, "volume", "0 m^3"), (0, "fraction", "0"),
    (1, "length", "1 m"), (0.5, "length", "50 cm"), (0.01, "length", "1 cm"), (0.005, "length", "5 mm"),
    (-0.5, "length", "-50 cm"), (2.4384, "length", "8 ft"), (0.0254, "length", "2.54 cm"), (999, "length", "999 m"),
    (1 / 3, "length", "0.3333333333 m"),  # short in no unit: ten digits of the first
    (1.2345, "length", "1.2345 m"), (12345.0, "mass", "12345 kg"), (0.25, "mass", "250 g"), (1.005, "mass", "1005 g"),
    (0.001, "volume", "1 L"), (0.000_25, "volume", "250 mL"), (1.5, "volume", "1.5 m^3"),
    (1 / 6, "time", "10 min"), (1 / 120, "time", "30 s"), (1.5, "time", "1.5 h"),
    (45, "angle", "45 degrees"), (0.15, "fraction", "0.15"), (1200, "density", "1200 kg/m^3"), (150, "concentration", "150 ppm"),
    (0.6, "rate", "10 L/min"), (2, "rate", "2 m^3/h"), (5 / 3.6, "speed", "5 km/h"),
])  # fmt: skip
def test_as_a_person_writes_it(value, dimension, text):
    assert written(value, dimension) == text


@pytest.mark.parametrize(("value", "dimension", "metric", "imperial"), [
    # below 30 cm in inches, from 1 m in metres; a figure from 10 on (from 3 of feet) is whole
    (0.1, "length", "10 cm", "4 in"), (0.07, "length", "7 cm", "2.8 in"), (0.29, "length", "29 cm", "11 in"),
    (0.3, "length", "30 cm", "1 ft"), (0.7, "length", "70 cm", "2.3 ft"), (0.99, "length", "99 cm", "3 ft"),
    (1.0, "length", "1 m", "3 ft"), (1.04, "length", "1 m", "3 ft"), (1.06, "length", "1.1 m", "3 ft"),
    (9.94, "length", "9.9 m", "33 ft"), (10.4, "length", "10 m", "34 ft"), (10.6, "length", "11 m", "35 ft"),
    # 0.7 m3 is 0.92 yd3 and 24.7 ft3
    (0.69, "volume", "690 L", "24 ft³"), (0.7, "volume", "700 L", "0.9 yd³"), (0.999, "volume", "999 L", "1.3 yd³"),
    (1.0, "volume", "1 m³", "1.3 yd³"), (2.5, "volume", "2.5 m³", "3 yd³"), (0.0075, "volume", "7.5 L", "0.3 ft³"),
    (20, "mass", "20 kg", "44 lb"), (1.3, "mass", "1.3 kg", "2.9 lb"), (0.5, "mass", "500 g", "1.1 lb"),
    (0.5, "time", "30 min", "30 min"), (0.15, "fraction", "0.15", "0.15"),
])  # fmt: skip
def test_in_round_figures(value, dimension, metric, imperial):
    assert (round_text(value, dimension, "metric"), round_text(value, dimension, "imperial")) == (metric, imperial)


@pytest.mark.parametrize(("text", "feet"), [
    ("a is 3 m", "a is 9 ft 10 in"),
    ("a is -1 m, must be at least 0 and at most 3 m", "a is -3 ft 3 1/2 in, must be at least 0 and at most 9 ft 10 in"),
    ("above 0.5 and at most 3 m", "above 1 ft 7 1/2 in and at most 9 ft 10 in"),
    ("it is 0 m", "it is 0 ft"),
    ("a is 99999 m", "a is 328081 ft"),
    ("a is 100000 m", "a is 3.281e+05 ft"),  # four digits from 100 km on
    ("a is -100000 m", "a is -3.281e+05 ft"),
    ("3 m and 3.001 m", "9.843 ft and 9.846 ft"),  # both are 9 ft 10 in on a tape
    ("3 m and 3.0 m", "9 ft 10 in and 9 ft 10 in"),  # the same length twice
    ("a is 1 m2 and 2 m", "a is 10.8 ft2 and 6 ft 6 1/2 in"),
    ("it is 2 m2", "it is 21.5 ft2"),
    ("12 m3, 5 mm, x-3 m", "12 m3, 5 mm, x-3 m"),
    ("of at least 2 and at most 5 L", "of at least 2 and at most 5 L"),
    ("12,000 m off, 0.1 to 3 m", "39370 ft off, 4 in to 9 ft 10 in"), ("1,000 m2 of 1,234.5 m2", "1.08e+04 ft2 of 1.33e+04 ft2"),
    ("3 to 5 h, 2 to 4 kg", "3 to 5 h, 2 to 4 kg"), ("0 to 0.3048 m", "0 to 1 ft"),
])  # fmt: skip
def test_a_message_in_feet(text, feet):
    assert in_feet(text) == feet
