"""What each rule lets through, and in which words it refuses the rest: both sides of each end, by hand."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from siteplan.land.values import (
    Day,
    Flag,
    Layers,
    Lengths,
    Mix,
    Money,
    Names,
    OneOf,
    Quantity,
    Side,
    Text,
    Whole,
    figure,
    nearest,
    printable,
    shown,
)

WALL = Quantity("length", above=0, most=3)
SIDE = Quantity("length", least=0.1, most=100)
STEP = Quantity("time", least=1 / 120, most=1)


@pytest.mark.parametrize(("rule", "span", "low", "unit"), [
    (WALL, "above 0, to 3 m", 0, "m"),
    (Quantity("length", least=0, most=3), "0 to 3 m", 0, "m"),
    (SIDE, "10 cm to 100 m", 0.1, "m"),
    (Quantity("length", least=1, most=2000), "1 to 2,000 m", 1, "m"),
    (Quantity("length", above=0.5, most=3, spread=True), "above 50 cm, to 3 m ±", 0.5, "m"),
    (Quantity("volume", above=0, spread=True), "above 0 ±", 0, "m3"),
    (Quantity("volume", above=0), "above 0", 0, "m3"),
    (Quantity("fraction", least=0, most=1), "0 to 1", 0, ""),
    (Quantity("angle", least=-360, most=360), "-360 to 360 degrees", -360, "degrees"),
    (STEP, "30 s to 1 h", 1 / 120, "h"),
    (Quantity("mass", above=0, most=50_000), "above 0, to 50,000 kg", 0, "kg"),
])  # fmt: skip
def test_a_range_in_print(rule, span, low, unit):
    assert (rule.span, rule.low, rule.unit) == (span, low, unit)


@pytest.mark.parametrize(("rule", "value", "words"), [
    (WALL, 0, "x is 0 m, must be above 0 and at most 3 m"),
    (WALL, 1e-9, ""),
    (WALL, 3, ""),
    (WALL, 3.001, "x is 3.001 m, must be above 0 and at most 3 m"),
    (SIDE, 0.1, ""),
    (SIDE, 0.0999, "x is 0.0999 m, must be at least 0.1 and at most 100 m"),
    (SIDE, 100, ""),
    (SIDE, 100.1, "x is 100.1 m, must be at least 0.1 and at most 100 m"),
    (SIDE, math.nan, "x is nan m, must be at least 0.1 and at most 100 m"),
    (SIDE, math.inf, "x is inf m, must be at least 0.1 and at most 100 m"),
    (SIDE, np.float64(2), ""),
    (SIDE, True, "x is True, must be a number"),
    (SIDE, "1", "x is '1', must be a number"),
    (STEP, 0.008, "x is 0.008 h, must be at least 30 s and at most 1 h"),
    (Quantity("volume", above=0), -1, "x is -1 m3, must be above 0 m3"),
    (Quantity("volume", above=0), math.inf, ""),
    (Quantity("volume", most=5), 6, "x is 6 m3, must be at most 5 m3"),
    (Quantity("volume", most=5), -1e9, ""),
    (Quantity("fraction"), math.nan, "x is nan, must be a number"),
    (Quantity("fraction", least=0, most=1), 1.5, "x is 1.5, must be at least 0 and at most 1"),
    (Side(), 360, ""),
    (Side(), 361, "x is 361 degrees, must be at least -360 and at most 360 degrees"),
    (Side(), -361, "x is -361 degrees, must be at least -360 and at most 360 degrees"),
    (Whole(1, 20), 1, ""),
    (Whole(1, 20), 20, ""),
    (Whole(1, 20), np.int64(3), ""),
    (Whole(1, 20), 0, "x is 0, must be a whole number from 1 to 20"),
    (Whole(1, 20), 21, "x is 21, must be a whole number from 1 to 20"),
    (Whole(1, 20), 2.0, "x is 2.0, must be a whole number from 1 to 20"),
    (Whole(1, 20), True, "x is True, must be a whole number from 1 to 20"),
    (OneOf(("a", "b", "c")), "b", ""),
    (OneOf(("a", "b", "c")), 1, "x is 1, must be a text: a, b or c"),
    (OneOf(("width", "height")), "hieght", "x 'hieght' is not known; did you mean 'height'? (allowed: height, width)"),
    (OneOf(("width", "height")), "z" * 70, f"x '{'z' * 60}' is not known; (allowed: height, width)"),
    (Flag(), False, ""),
    (Flag(), np.True_, ""),
    (Flag(), 1, "x is 1, must be true or false"),
    (Text(), "x" * 200, ""),
    (Text(), "x" * 201, "x is 201 characters long, must be at most 200"),
    (Text(longest=3), "four", "x is 4 characters long, must be at most 3"),
    (Text(), "", "x is empty; say something or leave it out"),
    (Text(), 5, "x is 5, must be a text in quotes"),
    (Text(pattern="[A-Z]{3}", wanted="three capitals"), "EUR", ""),
    (Text(pattern="[A-Z]{3}", wanted="three capitals"), "EURO", "x is 'EURO', must be three capitals"),
    (Day(), dt.date(1949, 12, 31), "x is 1949-12-31, must be a day such as 2026-03-01: year, month, day"),
    (Day(), dt.date(1950, 1, 1), ""),
    (Day(), dt.date(2100, 12, 31), ""),
    (Day(), dt.date(2101, 1, 1), "x is 2101-01-01, must be a day such as 2026-03-01: year, month, day"),
    (Day(), "2026", "x is '2026', must be a day such as 2026-03-01: year, month, day"),
    (Mix(), (("a", 1.0), ("b", 2.0)), ""),
    (Mix(), (("a", 1.0), ("b", 0.0)), "share of b is 0, must be above 0"),
    (Mix(), [], "x is [], must be pairs of a material and its share"),
    (Names("crops"), ("a", "b"), ""),
    (Names("crops"), ("a", ""), "x is ('a', ''), must be names of crops"),
    (Names("crops"), (1,), "x is (1,), must be names of crops"),
    (Names("crops"), ["a"], "x is ['a'], must be names of crops"),
    (Lengths(WALL), (1.0, 3.0), ""),
    (Lengths(WALL), (1.0, 4.0, 5.0), "x is 4 m, must be above 0 and at most 3 m"),
    (Lengths(WALL), [1.0], "x is [1.0], must be lengths"),
    (Layers(), (), ""),
    (Layers(), [], "x is [], must be layers"),
])  # fmt: skip
def test_what_is_let_through_and_what_is_refused(rule, value, words):
    assert rule.fault(value, "x") == words


@pytest.mark.parametrize(("value", "refused"), [
    (0, ""), (1e9, ""), (5.5, ""), (-0.01, "-0.01"), (1e9 + 1, "1,000,000,001"), ("5", "'5'"), (True, "True"), (None, "None"),
])  # fmt: skip
def test_an_amount_of_money(value, refused):
    limits = (
        "must be a plain number such as 5.50, at least 0 and at most 1,000,000,000, for one, in the site's currency"
    )
    assert Money().fault(value, "price") == (f"price is {refused}, {limits}" if refused else "")


def test_money_says_what_it_is_for():
    assert "at least 0 and at most 5, for one bag, in" in Money(most=5, each="one bag").fault(6, "price")
    assert Money(most=5).fault(5, "price") == ""
    assert Money().span == "0 to 1,000,000,000, in the currency"


@pytest.mark.parametrize(("rule", "span"), [
    (Whole(1, 20), "whole, 1 to 20"), (OneOf(("a", "b", "c")), "a, b or c"), (OneOf(("a", "b")), "a or b"),
    (Text(), "text"), (Text(pattern="x", wanted="one x"), "one x"), (Names("crops"), "names of crops, with commas between"),
    (Lengths(WALL), "a list of lengths, each above 0, to 3 m"),
])  # fmt: skip
def test_rules_in_print(rule, span):
    assert rule.span == span


@pytest.mark.parametrize(("value", "usual"), [
    (0.2996, False), (0.2998, True), (15.01, True), (15.02, False), (0.3, True), (15, True),  # a thousandth is forgiven
])  # fmt: skip
def test_a_usual_range_and_its_ends(value, usual):
    rule = Quantity("length", above=0, most=500, usual=(0.3, 15))
    assert rule.is_usual(value) is usual
    assert rule.unusual(value, "metric") == ("" if usual else "30 cm to 15 m")
    assert rule.unusual(value, "imperial") == ("" if usual else "1 ft to 49 ft")
    assert Quantity("length").is_usual(value)
    assert Quantity("length").unusual(value, "metric") == ""


@pytest.mark.parametrize(("value", "text"), [
    (0.125, "0.125"), (1 / 3, "0.333"), (1 / 120, "0.00833"), (123456.7, "123457"), (99999.5, "99999.5"),
    (999_999, "999999"), (1e6, "1,000,000"), (-1e6, "-1,000,000"), (1234567.8, "1,234,568"),
    (9.99e14, "999,000,000,000,000"), (1e15, "1e+15"), (1e-7, "1e-07"), (math.inf, "inf"), (-math.inf, "-inf"),
])  # fmt: skip
def test_a_number_in_a_message(value, text):
    assert figure(value) == text


def test_the_nearest_word():
    known = ["height", "row_spacing"]
    assert [nearest(word, known) for word in ("HIEGHT", "row-spacing", "colour")] == ["height", "row_spacing", None]
    # difflib: 2 x 3 letters alike of 10 is 0.6, of 11 is 0.55
    assert nearest("abcxx", ["abcyy"]) == "abcyy"
    assert nearest("abcxxx", ["abcyy"]) is None
    assert nearest("hieght", known, likeness=0.95) is None
    assert nearest("row_spacings", known, likeness=0.95) == "row_spacing"  # 22 of 23


def test_what_a_person_wrote_is_shown_short():
    assert shown("x" * 60) == repr("x" * 60)
    assert shown("x" * 61) == repr("x" * 57 + "...")
    assert len(shown(list(range(52)))) == 180  # three times as long
    whole = [*range(46), 4567]  # 180 characters
    assert shown(whole) == repr(whole)
    assert shown(list(range(200))).endswith(", 45, 46...")
    assert shown(10**5000) == "a whole number of thousands of digits"
    assert shown([10**5000]) == "a list"
    nested: list = []
    for _ in range(100_000):
        nested = [nested]
    assert shown(nested) == "a list nested too deeply"


@pytest.mark.parametrize(
    ("text", "longest", "told"),
    [
        ("a" * 60, 60, "a" * 60),
        ("a" * 61, 60, "a" * 57 + "..."),
        ("abcdefgh", 5, "ab..."),
        ("abcde", 5, "abcde"),
        ("é\x07\n", 60, "é??"),
    ],
)
def test_a_name_is_printed_short(text, longest, told):
    assert printable(text, longest) == told
    assert longest != 60 or printable(text) == told
