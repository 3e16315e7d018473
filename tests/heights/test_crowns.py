"""What do the points of one crown say of it? Each figure by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.heights.crowns import crown_figures


def figures(leaves, *, ground=0, trunk=(), top=None, deep=None, pulsed=True):
    """Return the figures of a crown with leaves at some heights, points on the ground and on a trunk below it."""
    height = np.concatenate([leaves, trunk, np.zeros(ground)])
    leaf = np.arange(len(height)) < len(leaves) + len(trunk)
    top = float(np.max(leaves)) if top is None else top
    deep = np.full(20, top) if deep is None else deep
    return crown_figures(height, leaf, np.ones(len(height), dtype=bool), top=top, canopy_heights=deep, pulsed=pulsed)


LEAVES = np.linspace(3.0, 10.0, 101)


def test_a_crown_begins_at_its_lowest_hundredth():
    found = figures(LEAVES)
    assert found.height == 10.0
    assert found.base == pytest.approx(3.07)  # 1 % up of 101 points, 0.07 m apart
    assert found.base_spread == pytest.approx(1.0)  # a tenth of the height
    assert found.points == 101
    # half a metre at least, and never more than the base itself
    assert figures(LEAVES * 0.4).base_spread == 0.5
    assert figures(np.linspace(0.6, 4.0, 60)).base_spread == pytest.approx(0.5)
    low = figures(np.linspace(0.55, 9.0, 200))
    assert low.base_spread == low.base < 0.9


def test_what_lies_below_a_gap_is_something_else():
    """A gap of more than 1 m, or 12 % of the height; the highest one below three quarters of the tree counts."""
    shrub = np.linspace(0.6, 1.5, 20)
    assert figures(LEAVES, trunk=shrub).base == pytest.approx(3.07)
    assert figures(LEAVES, trunk=shrub + 0.25).base > 3.0  # the gap is 1.25 m, more than 1.2
    assert figures(LEAVES, trunk=shrub + 0.35).base < 1.2  # 1.15 m
    small = np.linspace(2.2, 5.0, 60)  # 5 m high: 1 m counts, 0.6 m does not
    assert figures(small, trunk=np.linspace(0.6, 1.1, 20)).base > 2.2
    assert figures(small, trunk=np.linspace(0.6, 1.3, 20)).base < 1.0
    # a gap near the top parts no crown
    split = np.concatenate([np.linspace(3, 6, 60), np.linspace(8, 10, 40)])
    assert figures(split).base == pytest.approx(3.05, abs=0.05)
    assert figures(np.concatenate([np.linspace(3, 5, 60), np.linspace(7, 10, 40)])).base > 7.0


def test_few_points_tell_no_base():
    assert figures(np.linspace(3, 8, 15)).base is not None
    few = figures(np.linspace(3, 8, 14))
    assert (few.base, few.base_spread) == (None, 0.0)
    # what is left above a gap must be enough as well
    left = figures(np.concatenate([np.linspace(0.6, 2, 30), np.linspace(4, 8, 14)]))
    assert (left.base, left.base_spread) == (None, 0.0)


def test_grass_and_birds_are_no_leaves():
    found = figures(np.concatenate([LEAVES, np.full(30, 0.45), np.full(5, 10.5)]), top=10.0)
    assert found.points == 101
    assert found.base == pytest.approx(3.07)


def test_the_share_of_pulses_that_reach_the_ground():
    found = figures(LEAVES[:60], ground=40, top=10.0)
    assert found.ground_share == pytest.approx(0.4)
    assert found.pulses == 100
    assert found.ground_share_spread == pytest.approx(2 * math.sqrt(0.4 * 0.6 / 100))
    # of none that comes through, as of one
    assert figures(LEAVES[:50]).ground_share == 0.0
    assert figures(LEAVES[:50]).ground_share_spread == pytest.approx(2 / 50)
    assert figures(LEAVES[:10], ground=5, top=10.0).ground_share == pytest.approx(1 / 3)
    few = figures(LEAVES[:10], ground=4, top=10.0)
    assert (few.ground_share, few.ground_share_spread, few.pulses) == (None, 0.0, 14)


def test_only_the_last_of_a_pulse_is_counted():
    height = np.concatenate([np.linspace(3, 9, 40), np.zeros(20)])
    last = np.concatenate([np.arange(40) % 2 == 0, np.ones(20, dtype=bool)])
    found = crown_figures(height, height > 0.3, last, top=9.0, canopy_heights=np.full(9, 9.0))
    assert (found.pulses, found.ground_share) == (40, 0.5)


def test_how_far_off_the_height_may_be():
    """Half a metre, a twentieth of it, or half as much again as a sharp top falls to its 8 highest cells."""
    assert figures(LEAVES * 0.8).height_spread == 0.5
    assert figures(LEAVES * 2).height_spread == pytest.approx(1.0)
    sharp = np.concatenate([np.zeros(30), [10, 9, 9, 8, 8, 8, 8, 8]])  # the mean of eight is 8.5
    assert figures(LEAVES, deep=sharp).height_spread == pytest.approx(1.5 * 1.5)
    assert figures(LEAVES, deep=np.array([10.0, 8.0])).height_spread == pytest.approx(1.5)


def test_how_deep_a_crown_is():
    """From its base to its surface, on the mean; 0.3 m at least, and from a quarter of the height where no base is."""
    assert figures(LEAVES, deep=np.array([10.0, 8.0, 6.0])).depth == pytest.approx(8 - 3.07)
    assert figures(LEAVES, deep=np.array([10.0, 3.0])).depth == pytest.approx((10 - 3.07 + 0.3) / 2)
    assert figures(np.array([8.0]), deep=np.array([8.0, 6.0])).depth == pytest.approx(5.0)


def test_a_raster_tells_neither_base_nor_leaves():
    found = figures(LEAVES, ground=40, top=10.0, pulsed=False)
    assert (found.base, found.base_spread, found.ground_share, found.ground_share_spread) == (None, 0.0, None, 0.0)
    assert found.depth == pytest.approx(7.5)
