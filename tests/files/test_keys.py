"""How each kind of value is read from a file, and what is said of those that are none."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from shapely import Polygon

from siteplan.files.remarks import Remarks, far_text, label
from siteplan.files.site_toml.keys import Keys
from siteplan.land.features import MonthDay
from siteplan.land.units import length_unit
from siteplan.land.values import Day, Flag, Lengths, Money, Names, OneOf, Quantity, Side, Text, Whole

LENGTH = Quantity("length", above=0, most=3, usual=(0.3, 2), spread=True)
FEET = length_unit("ft")


class Read:
    """The keys of one table, and what is said of them."""

    def __init__(self, values, *, feature="", unit=None, system="metric", **more):
        self.remarks = Remarks(**({"unit": unit} if unit else {}), system=system)
        self.keys = Keys(values, self.remarks, file="f", where="[t]", feature=feature, **more)

    @property
    def faults(self):
        return [f"{one.where}: {one.text}" for one in self.remarks.faults]

    @property
    def cautions(self):
        return [f"{one.code} {one.feature}: {one.text}" for one in self.remarks.all_cautions()]


def of(value, method, rule=None, **more):
    """Return what a value is read as, and what is wrong with it."""
    read = Read({"k": value}, **more)
    return getattr(read.keys, method)("k", rule), read.faults


@pytest.mark.parametrize(("value", "number", "words"), [
    (3, 3.0, ""), ("50 cm", 0.5, ""), (3.01, None, "[t]: k is 3.01 m, must be above 0 and at most 3 m"),
    ("4 m", None, "[t]: k is 4 m, must be above 0 and at most 3 m"), (0, None, "[t]: k is 0 m, must be above 0"),
    ("3 kg", None, "[t]: k: '3 kg' is a mass"), ("tall", None, "[t]: k: "), (True, None, "[t]: k: "),
    ("1 m +- 0.2 m", 1.0, ""), ("1 m +- tall", None, "[t]: k: "),
])  # fmt: skip
def test_a_length(value, number, words):
    got, faults = of(value, "quantity", LENGTH)
    assert got == number
    assert len(faults) == bool(words)
    assert not words or faults[0].startswith(words)


def test_a_plain_length_that_is_too_large_is_told_its_unit():
    assert of(30, "quantity", LENGTH)[1] == [
        '[t]: k is 30 m, must be above 0 and at most 3 m; a plain number is metres; give the unit, as in "18 in"'
    ]
    assert ";" not in of("30 m", "quantity", LENGTH)[1][0]
    assert ";" not in of(-1, "quantity", LENGTH)[1][0]
    (told,) = of(30, "quantity", LENGTH, unit=FEET, system="imperial")[1]
    assert told.startswith("[t]: k is 30 ft, must be above 0 and at most 9 ft 10 in; ")
    angle = of(500, "quantity", Quantity("angle", least=0, most=90))[1][0]
    assert angle.startswith("[t]: k is 500 degrees, must be at least 0 and at most 90 degrees; ")


def test_lengths_in_the_unit_of_the_drawing_are_told_once():
    read = Read({"a": 3, "b": 4, "c": "1 m", "d": 0}, unit=FEET, feature="pear")
    rule = Quantity("length", least=0, most=9)
    assert [read.keys.quantity(key, rule) for key in "abcd"] == [
        pytest.approx(0.9144),
        pytest.approx(1.2192),
        1.0,
        0.0,
    ]
    assert read.cautions == [
        (
            "plain-lengths pear: a = 3 is read in feet, the unit of the drawing, like all lengths without a unit. If metres are meant, "
            'write "3 m". So is 1 more.'
        )
    ]
    assert Read({"a": 3}).keys.quantity("z", rule) is None
    table = Read({"a": 3}, unit=FEET)
    table.keys.quantity("a", rule)
    assert table.cautions[0].startswith("plain-lengths : [t] a = 3 is read in feet")


def test_an_unusual_length_is_told_with_what_may_be_meant():
    read = Read({"a": 0.2, "b": "20 cm", "c": 2.5}, feature="pear")
    assert [read.keys.quantity(key, LENGTH) for key in "abc"] == [0.2, 0.2, 2.5]
    assert read.cautions == [
        "unusual-size pear: a is 0.2 m. Usual is 30 cm to 2 m.", "unusual-size pear: b is 20 cm. Usual is 30 cm to 2 m.",
        'unusual-size pear: c is 2.5 m. Usual is 30 cm to 2 m. Is "2.5 ft" meant?',
    ]  # fmt: skip
    inches = Read({"a": 2.9}, unit=length_unit("m"), system="imperial")
    inches.keys.quantity("a", Quantity("length", least=0, most=9, usual=(0.05, 0.1)))
    assert inches.cautions[0].startswith("unusual-size : [t] a is 2.9 m. Usual is")
    assert inches.cautions[0].endswith('Is "2.9 in" meant?')
    two = Read({"a": 40}, system="metric")
    two.keys.quantity("a", Quantity("length", least=0, most=99, usual=(0.03, 0.5)))
    assert two.cautions[0].endswith('Usual is 3 cm to 50 cm. Is "40 cm" or "40 mm" meant?')
    angle = Read({"a": 80})
    angle.keys.quantity("a", Quantity("angle", least=0, most=90, usual=(0, 45)))
    assert angle.cautions[0].startswith("unusual-size : [t] a is 80; ")


def test_a_spread_is_kept_where_it_counts():
    read = Read({"a": "2 m +- 10 %", "b": "2 m +- 0.5 m"}, feature="pear")
    read.keys.quantity("a", LENGTH)
    read.keys.quantity("b", Quantity("length", most=3))
    assert read.keys.spreads == {"a": pytest.approx(0.2)}
    assert read.cautions == ["spread-unused pear: b is '2 m +- 0.5 m'. Its spread changes nothing here."]


@pytest.mark.parametrize(("value", "text", "words"), [
    ("a", "a", ""), (" a\tb ", "a b", ""), ("", None, "k"), ("  ", None, "k"), (5, None, "k"), ("a" * 201, None, "k"),
])  # fmt: skip
def test_a_text(value, text, words):
    got, faults = of(value, "text")
    assert got == text
    assert len(faults) == bool(words)
    assert of("east", "text", OneOf(("east", "west"))) == ("east", [])
    assert of("up", "text", OneOf(("east", "west")))[0] is None
    assert len(of("", "text", OneOf(("", "west")))[1]) == 1
    assert of("abc", "text", Text(longest=3)) == ("abc", [])
    assert of("abcd", "text", Text(longest=3))[0] is None


@pytest.mark.parametrize(("value", "number"), [
    (3, 3), (3.0, 3), (1, 1), (9, 9), (0, None), (10, None), (3.5, None), ("3", None), (True, None), (math.inf, None), (math.nan, None),
])  # fmt: skip
def test_a_whole_number(value, number):
    got, faults = of(value, "whole", Whole(1, 9))
    assert got == number
    assert type(got) is (int if number else type(None))
    assert len(faults) == (number is None)


@pytest.mark.parametrize(("value", "flag"), [
    (True, True), (False, False), (1, True), (0, False), (1.0, True), (" TRUE ", True), ("1", True), ("False", False), ("0", False),
    ("yes", None), (2, None), ([True], None), ({}, None),
])  # fmt: skip
def test_true_or_false(value, flag):
    got, faults = of(value, "flag", Flag())
    assert got is flag
    assert len(faults) == (flag is None)


@pytest.mark.parametrize(("value", "day", "words"), [
    ("04-15", MonthDay(4, 15), ""), (" 4-5 ", MonthDay(4, 5), ""), ("02-29", MonthDay(2, 29), ""), ("12-31", MonthDay(12, 31), ""),
    ("02-30", None, '[t]: k is \'02-30\', must be a month and a day of it, such as "05-10"'),
    ("15-04", None, '[t]: k is \'15-04\', must be a month and a day of it, such as "05-10"; the month comes first: "04-15"?'),
    ("00-10", None, "[t]: k is '00-10', must be a month"), ("2026-04-15", None, "[t]: k is '2026-04-15', must be a month"), (5, None, "[t]: k is 5, must be"),
])  # fmt: skip
def test_a_day_of_the_year(value, day, words):
    got, faults = of(value, "month_day")
    assert got == day
    assert faults == ([words] if words.endswith(('"', "?")) else faults)
    assert len(faults) == bool(words)


def test_the_spread_of_a_day():
    read = Read({"k": "04-15 +- 10 days"}, feature="pear")
    assert read.keys.month_day("k", None) == MonthDay(4, 15)
    assert read.keys.spreads == {"k": 10}
    table = Read({"k": "04-15 +- 10 days"})
    table.keys.month_day("k", None)
    assert table.keys.spreads == {}
    assert table.cautions[0].startswith("spread-unused : [t] k is '04-15 +- 10 days'.")
    assert of("04-15 +- 2 m", "month_day")[1][0].startswith("[t]: k: ")


@pytest.mark.parametrize(
    "value", ["2024-05-06", " 2024-05-06 ", dt.date(2024, 5, 6), dt.datetime(2024, 5, 6, 7, tzinfo=dt.UTC)]
)
def test_a_date(value):
    assert of(value, "date", Day()) == (dt.date(2024, 5, 6), [])
    for wrong in ("spring", "2024-13-01", 2024):
        got, faults = of(wrong, "date", Day())
        assert got is None
        assert len(faults) == 1


def test_names_of_crops():
    assert of("tomato, Lettuce,,tomato ", "names", Names("crops")) == (("tomato", "lettuce"), [])
    assert of(["lettuce"], "names", Names("crops")) == (("lettuce",), [])
    got, faults = of("tomatto, lettuce, xyzzy", "names", Names("crops"))
    assert got is None
    assert faults[0] == "[t]: k: 'tomatto' is not known; did you mean 'tomato'?"
    assert faults[1].startswith("[t]: k: 'xyzzy' is not known; known are ")
    for wrong in (5, [5], ["tomato", 5], {}):
        assert "must be names with commas" in of(wrong, "names", Names("crops"))[1][0]


EACH = Lengths(Quantity("length", above=0, most=9))


def test_several_lengths():
    assert of("3 m, 100 cm", "lengths", EACH) == ((1.0, 3.0), [])
    assert of([2, "1 m"], "lengths", EACH) == ((1.0, 2.0), [])
    assert of(2, "lengths", EACH) == ((2.0,), [])
    assert of(["1 m", "10 m"], "lengths", EACH) == (None, ["[t] k: 2 is 10 m, must be above 0 and at most 9 m"])
    assert of([], "lengths", EACH) == (None, ['[t]: k is empty; give lengths, such as ["8 ft", "12 ft"]'])


@pytest.mark.parametrize(("value", "azimuth"), [
    ("north", 0), ("N", 0), ("North-East", 45), ("south west", 225), ("nw", 315), ("se", 135), ("e", 90), ("s", 180), ("w", 270), ("sw", 225),
    ("ne", 45), (45, 45), ("400 deg", None), (-90, 270), ("360 deg", 0), ("poleward", None), (" Poleward", None),
])  # fmt: skip
def test_a_side(value, azimuth):
    got, faults = of(value, "side", Side(poleward=True))
    assert got == azimuth
    assert len(faults) == (value == "400 deg")


def test_a_side_that_is_none():
    points = "north, northeast, east, southeast, south, southwest, west, northwest"
    assert of("nort", "side", Side(poleward=True)) == (None, [
        f"[t]: k 'nort' is not a compass point; did you mean 'north'? (allowed: {points}, poleward)"
    ])  # fmt: skip
    assert of("poleward", "side", Side()) == (None, [f"[t]: k 'poleward' is not a compass point (allowed: {points})"])
    assert of("polewards", "side", Side(poleward=True))[1][0].startswith(
        "[t]: k 'polewards' is not a compass point; did you mean 'poleward'?"
    )
    assert "poleward'?" not in of("polewards", "side", Side())[1][0]
    assert of("up", "side", Side())[1][0].startswith("[t]: k 'up' is not a compass point")
    assert of("x5", "side", Side())[1][0].startswith("[t]: k: ")


def test_an_outline():
    assert of([[0, 0], [4, 0], [4, 2]], "ring")[0].equals(Polygon([(0, 0), (4, 0), (4, 2)]))
    for wrong in (
        5,
        [[0, 0], [4, 0]],
        [[0, 0, 1], [4, 0, 1], [4, 2, 1]],
        [["a", 0], [4, 0], [4, 2]],
        "abc",
        [[10**400, 0], [4, 0], [4, 2]],
    ):
        got, faults = of(wrong, "ring")
        assert got is None
        assert faults[0].endswith(", must be three corners or more, such as [[0, 0], [4, 0], [4, 2]]")


def test_tables_within_a_table():
    read = Read({"a": {"b": 1}, "c": 5, "d": [{"e": 1}], "f": [5], "n": None})
    assert read.keys.table("a") == {"b": 1}
    assert read.keys.table("n") is None
    assert read.keys.table("c") is None
    assert read.keys.table_keys("a").values == {"b": 1}
    assert read.keys.table_keys("a").where == "[a]"
    assert read.keys.tables("d", "x") == [{"e": 1}]
    assert read.keys.tables("z", "x") == []
    assert read.keys.tables("f", "as in [[f]]") == []
    assert read.keys.tables("c", "as in [[c]]") == []
    assert read.faults == [
        "[t]: c is 5, must be a table that starts with the line [c]", "[t]: f must be as in [[f]]", "[t]: c must be as in [[c]]",
    ]  # fmt: skip


def test_what_is_missing_and_what_is_not_known():
    read = Read({"heigth": 1, "x": 2})
    assert read.keys.require("height", "say it") is False
    read.keys.has("width")
    read.keys.no_others()
    assert read.faults == [
        "[t]: height is missing; say it; is 'heigth' meant for it?",
        "[t]: 'heigth' is not known; did you mean 'height'? (known here: height, width)",
        "[t]: 'x' is not known; (known here: height, width)",
    ]
    given = Read({"height": 1, "widht": 2})
    assert given.keys.require("height", "say it") is True
    assert given.keys.require("length", "say it") is False
    assert given.faults == ["[t]: length is missing; say it"]


def test_the_currency_of_prices():
    assert Read({}).keys.currency == "USD"
    assert Read({"currency": "EUR"}).keys.currency == "EUR"
    assert Read({"currency": 5}).keys.currency == "USD"
    assert Read({"currency": "EUR"}, currency="CHF").keys.currency == "CHF"
    assert of("40 USD", "money", Money()) == (40.0, [])
    assert of("40 EUR", "money", Money(), currency="EUR") == (40.0, [])
    got, faults = of("40 EUR", "money", Money())
    assert got is None
    assert faults == ["[t]: k is '40 EUR', in EUR, but the site's currency is USD; give it in USD"]
    volume = Read({"k": "30 / m3"})
    assert volume.keys.money("k", Money(), size=0.5) == 15.0
    assert volume.keys.money("k", Money()) is None
    assert volume.keys.money("z", Money()) is None
    assert volume.faults == []


@pytest.mark.parametrize(("metres", "system", "text"), [
    (999.4, "metric", "999 m"), (1000, "metric", "1 km"), (1050, "metric", "1.1 km"), (19_960, "metric", "20 km"), (20_400, "metric", "20 km"),
    (20_600, "metric", "21 km"), (1_234_567, "metric", "1,235 km"), (1609.3, "imperial", "5,280 ft"), (1609.344, "imperial", "1 mi"),
    (8046.72, "imperial", "5 mi"), (31_900, "imperial", "19.8 mi"), (33_796, "imperial", "21 mi"),
])  # fmt: skip
def test_long_distances(metres, system, text):
    assert far_text(metres, system) == text
    assert Remarks(system=system).far(metres) == text


def test_elevations_and_names_in_messages():
    assert Remarks().high(1234.4) == "1,234 m"
    assert Remarks(system="imperial").high(304.8) == "1,000 ft"
    assert label("bed", "a" * 60) == f'bed "{"a" * 60}"'
    assert label("bed", "a" * 61) == f'bed "{"a" * 57}..."'


def test_only_the_first_of_a_group_is_shown():
    remarks = Remarks()
    for number in range(3):
        remarks.caution_once("c", "g", f"f{number}", f"text {number}.")
    remarks.caution_once("c", "h", "g0", "other.")
    remarks.caution("d", "", "first")
    assert [(one.code, one.feature, one.text) for one in remarks.all_cautions()] == [
        ("d", "", "first"), ("c", "f0", "text 0. So are 2 more."), ("c", "g0", "other."),
    ]  # fmt: skip
