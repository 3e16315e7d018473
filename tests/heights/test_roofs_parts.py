"""The steps from points to a roof, each by hand: which ridges are tried, how a line is fitted, what is level."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from siteplan.heights.roofs import _across, _Gable, _headings, _line, _spread, roof_of


@pytest.mark.parametrize(("spread", "level", "rise", "eaves", "better"), [
    (0.29, 0.4, 3, 4, True), (0.31, 0.4, 3, 4, False),  # three quarters of the level's spread
    (0.59, 2.0, 3, 4, True), (0.61, 2.0, 3, 4, False),  # 0.6 m at most
    (0.1, 1.0, 0.61, 4, True), (0.1, 1.0, 0.59, 4, False),
    (0.1, 1.0, 3, 0.01, True), (0.1, 1.0, 3, 0.0, False), (0.1, 1.0, 3, -0.01, False),
])  # fmt: skip
def test_when_a_gable_is_better_than_a_level_roof(spread, level, rise, eaves, better):
    assert _Gable(spread, eaves + rise, eaves, 90.0).beats(level) is better


def test_the_spread_is_that_of_a_normal_error():
    assert _spread(np.array([-1.0, 2.0, -5.0])) == pytest.approx(2 * 1.4826)


def test_how_far_points_are_from_the_ridge():
    house = box(10, 20, 16, 30)
    x, y = np.array([13.0, 16.0, 11.5, 19.0]), np.array([25.0, 30.0, 22.5, 20.0])
    assert _across(house, x, y, 0.0) == pytest.approx([0, 1, 0.5, 2])  # the eaves are 3 m off
    assert _across(house, x, y, 90.0) == pytest.approx([0, 1, 0.5, 1])  # 5 m
    # along north-east: the corners (16, 20) and (10, 30) are 8 / root 2 m off, the first and the third point 0 and 1
    assert _across(house, x, y, 45.0) == pytest.approx([0, 2 / 8, 1 / 8, 11 / 8])
    assert _across(box(0, 0, 1, 5), x, y, 0.0) is None
    assert _across(box(0, 0, 1.02, 5), x, y, 0.0) is not None


def heights_with_a_crest(count, lower):
    """Return points of which so many are high and lie on a line to 30 degrees, and the lower ones aside."""
    along = np.linspace(-4, 4, count)
    x = np.concatenate([along * 0.5, np.linspace(-5, 5, lower)])
    y = np.concatenate([along * np.sqrt(0.75), np.full(lower, 2.0)])
    return x, y, np.concatenate([np.full(count, 9.0), np.linspace(3, 5, lower)])


@pytest.mark.parametrize(("count", "lower", "headings"), [
    (11, 59, [90, 0, 30]), (10, 56, [90, 0, 30]), (9, 51, [90, 0]),  # ten of the highest 15 % are wanted
])  # fmt: skip
def test_a_crest_is_tried_as_a_ridge(count, lower, headings):
    assert _headings(box(-5, -3, 5, 3), *heights_with_a_crest(count, lower)) == pytest.approx(headings)


@pytest.mark.parametrize(("long", "tried"), [(1.70, False), (1.76, True)])
def test_a_round_top_has_no_crest(long, tried):
    """Of an ellipse 1.7 times as long the variances are as 2.9 to 1, of one of 1.76 as 3.1 to 1."""
    turn = np.arange(12) * np.pi / 6
    x = np.concatenate([np.cos(turn), np.linspace(-2, 2, 62)])
    y = np.concatenate([long * np.sin(turn), np.full(62, -2.0)])
    found = _headings(box(-5, -3, 5, 3), x, y, np.concatenate([np.full(12, 9.0), np.linspace(3, 5, 62)]))
    assert found == pytest.approx([90, 0, 0] if tried else [90, 0])


def test_a_line_through_most_points():
    across = np.linspace(0, 1, 21)
    height = 8 - 3 * across
    assert _line(across, height) == pytest.approx((8, 3))
    height[[2, 9, 15]] += (4, 2, -3)  # a chimney, a dormer, a window
    assert _line(across, height) == pytest.approx((8, 3), abs=0.01)
    assert _line(np.full(4, 0.5), np.array([1.0, 2.0, 3.0, 6.0])) == (3.0, 0.0)  # all as far: level


X, Y = (axis.ravel() for axis in np.meshgrid(*2 * [np.linspace(0.5, 9.5, 10)]))


def level_roof(*heights):
    """Return the roof of a hundred points: so many of each height, dealt out evenly."""
    dealt = np.concatenate([np.full(count, height) for count, height in heights])
    return roof_of(box(0, 0, 10, 10), X, Y, dealt[np.arange(100) * 37 % 100])


@pytest.mark.parametrize(("heights", "height", "spread"), [
    (((88, 3.0), (12, 3.48)), 3.48, 0.1), (((88, 3.0), (12, 3.52)), 3.0, 0.1),  # half a metre from the middle
    # the median distance is 0.3 m, the spread 0.445: three times that are 1.334 m
    (((40, 2.7), (20, 3.0), (28, 3.3), (12, 4.3)), 4.3, 0.44478),
    (((40, 2.7), (20, 3.0), (28, 3.3), (12, 4.37)), 3.3, 0.44478),
    (((81, 3.0), (19, 5.0)), 3.0, 0.1), (((80, 3.0), (20, 5.0)), 5.0, 0.1),  # more than eight tenths are one level
])  # fmt: skip
def test_what_belongs_to_a_level_roof(heights, height, spread):
    roof = level_roof(*heights)
    assert (roof.height, roof.spread) == pytest.approx((height, spread))
    assert (roof.eaves, roof.ridge_heading, roof.points) == (None, None, 100)
