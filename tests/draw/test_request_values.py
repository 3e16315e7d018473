"""Which values of a request are taken, and what is said of the others, all at once."""

from __future__ import annotations

import math

import pytest

from siteplan.draw.request_values import RequestValues
from siteplan.land.errors import InputError
from siteplan.land.units import length_unit
from siteplan.land.values import Quantity

TALL = Quantity("length", above=0, most=3)


def told(values):
    return [(one.where, one.text) for one in values.faults]


@pytest.mark.parametrize(("value", "given"), [
    (None, False), ("", False), (0, True), (False, True), ("0", True), ([], True), ({}, True), ([1], True),
])  # fmt: skip
def test_what_counts_as_given(value, given):
    assert RequestValues({"a": value}).has("a") == given
    assert not RequestValues({}).has("a")


def test_a_quantity_in_metres():
    values = RequestValues({"a": "6 ft", "b": 2, "c": "3 m", "d": ""}, plain=length_unit("ft"))
    assert values.quantity("a", TALL) == pytest.approx(1.8288)
    assert values.quantity("b", TALL) == pytest.approx(0.6096)  # in the plain unit
    assert values.quantity("c", TALL) == 3
    assert values.quantity("d", TALL, default=0.5) == 0.5
    assert values.quantity("e", TALL, default=0.0) == 0.0
    assert told(values) == []
    values.check()
    assert RequestValues({"b": 2}).quantity("b", TALL) == 2


def test_a_quantity_that_is_none():
    values = RequestValues({"a": "tall", "b": 3.1, "c": 0})
    assert all(math.isnan(values.quantity(name, TALL)) for name in ("a", "b", "c", "d"))
    assert math.isnan(values.quantity("b", TALL, default=1.0))
    assert [name for name, _ in told(values)] == ["a", "b", "c", "d", "b"]
    assert told(values)[1][1] == "it is 3.1 m, must be above 0 and at most 3 m"
    assert told(values)[3][1] == "is missing, must be above 0, to 3 m"
    with pytest.raises(InputError) as caught:
        values.check()
    assert len(caught.value.faults) == 5


def test_one_of_a_few_words():
    values = RequestValues({"a": "west", "b": "up", "c": 3})
    assert values.word("a", "east", "west") == "west"
    assert values.word("d", "east", "west", default="west") == "west"
    assert told(values) == []
    assert values.word("b", "east", "west") == "east"
    assert values.word("c", "east", "west", default="west") == "east"
    assert values.word("d", "east", "west") == "east"
    assert [name for name, _ in told(values)] == ["b", "c", "d"]
    assert told(values)[2][1].startswith("is missing, must be")
    assert not told(values)[0][1].startswith("is missing")


def test_a_text():
    values = RequestValues({"a": "x" * 200, "b": "x" * 201, "c": 5, "e": "abc"})
    assert values.text("a") == "x" * 200
    assert values.text("e", longest=3) == "abc"
    assert told(values) == []
    assert [values.text(name) for name in ("b", "c", "d")] == ["", "", ""]
    assert values.text("e", longest=2) == ""
    assert [name for name, _ in told(values)] == ["b", "c", "d", "e"]


def test_true_or_false():
    values = RequestValues({"a": True, "b": False, "c": 1})
    assert [values.flag("a"), values.flag("b"), values.flag("d")] == [True, False, False]
    assert values.flag("d", default=True) is True
    assert values.flag("b", default=True) is False
    assert told(values) == []
    assert values.flag("c") is False
    assert values.flag("c", default=True) is True
    assert [name for name, _ in told(values)] == ["c", "c"]


@pytest.mark.parametrize("points", [[[0, 0], [9, -9]], [[9.0, 9], [-9, 0.5]]])
def test_points(points):
    values = RequestValues({"a": points})
    assert values.points("a", 2, most=9) == [tuple(map(float, one)) for one in points]
    assert told(values) == []


@pytest.mark.parametrize("points", [
    None, "x", [], [[0, 0]], [[0, 0]] * 3, [[0, 0], [9.1, 0]], [[0, 0], [0, -9.1]], [[0, 0], [0]], [[0, 0], [0, 0, 0]],
    [[0, 0], [True, 0]], [[0, 0], ["1", 0]], [[0, 0], (0, 0)], [[0, 0], [math.nan, 0]],
])  # fmt: skip
def test_points_that_are_none(points):
    values = RequestValues({"a": points})
    assert all(math.isnan(one) for point in values.points("a", 2, most=9) for one in point)
    ((name, text),) = told(values)
    assert name == "a"
    assert text.endswith(", must be 2 points, each [x, y] with numbers from -9 to 9")
