"""Are eaves, ridge and direction of a roof those of the roof that the points lie on? By hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity, box

from siteplan.heights.roofs import roof_of
from siteplan.land.outline import rectangle


def points(side=16.0, step=0.4):
    x, y = (each.ravel() for each in np.meshgrid(*2 * [np.arange(-side / 2 + step / 2, side / 2, step)]))
    return x, y


def gable(x, y, *, heading, half, ridge, eaves):
    """Return the heights of a roof whose ridge runs through the origin."""
    turn = np.radians(heading)
    return ridge - (ridge - eaves) * np.abs(x * np.cos(turn) - y * np.sin(turn)) / half


@pytest.mark.parametrize("heading", [0.0, 20.0, 90.0, 135.0, 170.0])
@pytest.mark.parametrize("across", [False, True])  # whether the ridge runs along the short side
def test_a_gable_comes_back(heading, across):
    outline = rectangle(0, 0, length=12, width=7, heading=heading)
    x, y = points()
    ridge_heading, half = ((heading + 90) % 180, 6.0) if across else (heading, 3.5)
    height = gable(x, y, heading=ridge_heading, half=half, ridge=8.0, eaves=4.5)
    roof = roof_of(outline, x, y, height)
    assert roof.height == pytest.approx(8.0, abs=0.01)
    assert roof.eaves == pytest.approx(4.5, abs=0.01)
    assert abs((roof.ridge_heading - ridge_heading + 90) % 180 - 90) < 1.0
    assert roof.spread == 0.1  # not better than a survey's own heights
    own = height[shapely.contains_xy(outline.buffer(-0.3), x, y)]
    assert roof.points == len(own)
    assert roof.high == pytest.approx(np.quantile(own, 0.9))


def test_a_ridge_that_runs_along_no_wall_is_found_by_the_highest_points():
    """Of a square house under a roof turned by 30 degrees; the eaves are where its corners lie, 6.83 m off."""
    x, y = points(10.0)
    half = 5 * (np.cos(np.radians(30)) + np.sin(np.radians(30)))
    roof = roof_of(box(-5, -5, 5, 5), x, y, gable(x, y, heading=30, half=half, ridge=9.0, eaves=4.0))
    assert roof.ridge_heading == pytest.approx(30, abs=1)
    assert (roof.height, roof.eaves) == pytest.approx((9.0, 4.0), abs=0.1)


def test_chimneys_and_dormers_do_not_count():
    x, y = points()
    height = gable(x, y, heading=90, half=4, ridge=8.0, eaves=5.0)
    height = np.where((np.abs(x - 2) < 1.5) & (y > 1) & (y < 3), 7.4, height)  # a dormer
    height = np.where(np.hypot(x + 3, y) < 0.6, 9.5, height)  # a chimney
    roof = roof_of(box(-6, -4, 6, 4), x, y, height)
    assert (roof.height, roof.eaves, roof.ridge_heading) == pytest.approx((8.0, 5.0, 90.0), abs=0.05)


@pytest.mark.parametrize(("rise", "is_gable"), [(0.65, True), (0.55, False), (3.0, True)])
def test_a_roof_that_hardly_rises_is_level(rise, is_gable):
    x, y = points()
    roof = roof_of(box(-6, -4, 6, 4), x, y, gable(x, y, heading=90, half=4, ridge=5.0, eaves=5.0 - rise))
    if is_gable:
        assert (roof.height, roof.eaves, roof.ridge_heading) == pytest.approx((5.0, 5.0 - rise, 90.0), abs=0.01)
    else:
        assert (roof.eaves, roof.ridge_heading) == (None, None)
        assert 5.0 - rise < roof.height <= 5.0


def test_eaves_below_the_ground_are_none():
    x, y = points()
    roof = roof_of(box(-6, -4, 6, 4), x, y, gable(x, y, heading=90, half=4, ridge=5.0, eaves=-0.2))
    assert roof.eaves is None


def test_a_gable_that_fits_little_better_than_a_level_roof_is_level():
    """Of noise and a slight rise: the level's spread is 1.4826 times the median distance from the middle."""
    x, y = points()
    for noise, is_gable in ((0.1, True), (0.6, False)):
        height = gable(x, y, heading=90, half=4, ridge=6.0, eaves=5.0)
        height += np.random.default_rng(1).normal(0, noise, len(x))
        roof = roof_of(box(-6, -4, 6, 4), x, y, height)
        assert (roof.eaves is not None) == is_gable
        own = height[(np.abs(x) < 5.7) & (np.abs(y) < 3.7)]
        if is_gable:
            assert roof.spread == pytest.approx(max(noise, 0.1), rel=0.1)
        else:
            assert roof.spread == pytest.approx(1.4826 * np.median(np.abs(own - np.median(own))))


def test_what_lies_far_off_a_gable_is_no_gable():
    """A normal noise of 0.75 m is more than 0.6 m, though a gable 6 m high fits far better than a level roof."""
    x, y = points()
    for noise, is_gable in ((0.5, True), (0.75, False)):
        height = gable(x, y, heading=90, half=4, ridge=11.0, eaves=5.0)
        height += np.random.default_rng(1).normal(0, noise, len(x))
        assert (roof_of(box(-6, -4, 6, 4), x, y, height).eaves is not None) == is_gable


def test_the_height_of_a_level_roof():
    """Of the points within half a metre of its middle 9 in 10 lie below; a neighbour's wall and an aerial are none."""
    x, y = points()
    height = 3 + np.linspace(-0.2, 0.2, len(x))
    walls = np.where(np.arange(len(x)) % 7 == 0, 8.0, height)  # a seventh: 0.86 of them are left, more than 0.8
    roof = roof_of(box(-6, -4, 6, 4), x, y, walls)
    own = walls[(np.abs(x) < 5.7) & (np.abs(y) < 3.7)]
    assert roof.height == pytest.approx(np.quantile(own[own < 4], 0.9))
    assert roof.high == pytest.approx(np.quantile(own, 0.9))
    assert roof.high > 7
    levels = np.where(np.arange(len(x)) % 4 == 0, 8.0, height)  # a quarter: another level
    roof = roof_of(box(-6, -4, 6, 4), x, y, levels)
    assert roof.height == roof.high == 8.0
    assert roof.eaves is None


def test_how_many_points_a_roof_wants():
    outline = box(0, 0, 4, 4)
    inner = np.linspace(0.5, 3.5, 10)
    assert roof_of(outline, inner, inner, np.full(10, 3.0)).points == 10
    assert roof_of(outline, inner[:9], inner[:9], np.full(9, 3.0)) is None
    # all ten lie within 0.3 m of the edge, where gutters are: with too few others they count
    rim = np.linspace(0.1, 3.9, 10)
    west = np.full(10, 0.2)
    assert roof_of(outline, west, rim, np.full(10, 3.0)).points == 10
    assert roof_of(outline, np.append(west, inner), np.append(rim, inner), np.full(20, 3.0)).points == 10


def test_of_many_points_some_are_enough():
    x, y = points(16.0, 0.1)
    assert len(x) > 20_000
    roof = roof_of(box(-6, -4, 6, 4), x, y, gable(x, y, heading=90, half=4, ridge=8.0, eaves=5.0))
    assert (roof.height, roof.eaves, roof.ridge_heading) == pytest.approx((8.0, 5.0, 90.0), abs=0.02)
    assert roof.points == np.sum((np.abs(x) < 5.7) & (np.abs(y) < 3.7))


def test_a_roof_turns_with_its_house():
    """A law: turned by 40 degrees and moved, the ridge turns along, and heights stay."""
    x, y = points(12.0)
    height = gable(x, y, heading=90, half=3, ridge=7.0, eaves=4.0) + np.random.default_rng(4).normal(0, 0.05, len(x))
    here = roof_of(box(-5, -3, 5, 3), x, y, height)
    turn = np.radians(40)  # counter-clockwise
    there = roof_of(
        affinity.translate(affinity.rotate(box(-5, -3, 5, 3), 40, origin=(0, 0)), 100, -50),
        x * np.cos(turn) - y * np.sin(turn) + 100, x * np.sin(turn) + y * np.cos(turn) - 50, height,
    )  # fmt: skip
    assert there.ridge_heading == pytest.approx(here.ridge_heading - 40, abs=0.5)
    assert (there.height, there.eaves, there.spread) == pytest.approx(
        (here.height, here.eaves, here.spread), abs=0.02
    )
