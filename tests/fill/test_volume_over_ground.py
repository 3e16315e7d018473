"""Level-topped beds on ground that is not level."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.fill.bed_ground import volume_over_ground
from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain

FOOT = 0.3048


def ground(shape, cell=1.0, size=20):
    """Return terrain of 20 m by 20 m around the origin, of elevation shape(x, y) at the cells' centres."""
    half = size / 2
    count = round(size / cell)
    grid = Grid(-half, half, cell, count, count)
    x = -half + (np.arange(count) + 0.5) * cell
    return Terrain(grid, shape(*np.meshgrid(x, x[::-1])))


def bed(outline, height, wall=0.0):
    return Bed(id="a", outline=outline, height=height, wall_thickness=wall)


@pytest.mark.parametrize(
    "outline",
    [
        box(-2, -0.5, 2, 0.5),
        Polygon([(0, 0), (3, 0), (0, 2)]),
        Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)]),
    ],
)
def test_an_even_slope_changes_nothing(outline):
    slope = ground(lambda x, y: 0.05 * x - 0.03 * y)
    one = bed(outline, 0.4)
    assert volume_over_ground(one, slope) == pytest.approx(outline.area * 0.4, rel=1e-9)  # a plane is met exactly


def test_level_ground_and_no_terrain_agree():
    one = bed(box(-2, -0.5, 2, 0.5), 0.4, wall=0.05)
    assert volume_over_ground(one, ground(lambda x, _: 0 * x)) == pytest.approx(volume_over_ground(one, None))


def test_a_hump_under_the_bed_takes_its_own_volume():
    # a ridge along y through the middle, falling 0.2 m a metre both ways: at the middle 0.4 m deep, at the ends 0.8;
    # mean 0.6 over 4 m2; read from cells of 0.1 m whose line between centres cuts the ridge off by 1 cm there
    ridge = ground(lambda x, _: -0.2 * np.abs(x), cell=0.1)
    assert volume_over_ground(bed(box(-2, -0.5, 2, 0.5), 0.4), ridge) == pytest.approx(4 * (0.6 - 0.01), rel=2e-3)


@pytest.mark.parametrize(("east", "north"), [(0.1, 0.0), (0.0, 0.1), (0.05, 0.15)])
def test_a_hollow_and_its_slope_by_integration(east, north):
    # ground a x^2 + b y^2 under a bed 3 m by 2 m that lies off its bottom, from (1, -2) to (4, 0): the mean of x^2
    # over it is 2.5^2 + 3^2 / 12, that of y^2 1^2 + 2^2 / 12; the top lies 1.5 m above the ground at (2.5, -1)
    bowl = ground(lambda x, y: east * x**2 + north * y**2, cell=0.05)
    mean_rise = east * 9 / 12 + north * 4 / 12  # above the ground at the middle
    found = volume_over_ground(bed(box(1, -2, 4, 0), 1.5), bowl)
    assert found == pytest.approx(6 * (1.5 - mean_rise), rel=1e-3)  # sampled every 5 cm


def test_a_wedge_by_the_trade():
    # a trade how-to: half of length x width x height; 50 ft x 18 ft x 3 ft are 1350 ft3, 50 yd3 (seen)
    slope = ground(lambda x, _: -x * 3 * FOOT / (50 * FOOT))
    one = bed(box(-25 * FOOT, -9 * FOOT, 25 * FOOT, 9 * FOOT), 1.5 * FOOT)
    assert volume_over_ground(one, slope) / FOOT**3 == pytest.approx(1350, rel=1e-6)  # the uphill edge lies flush


def test_ground_above_the_top_is_not_filled():
    # 0.25 m at the middle, rising 0.5 m a metre: filled from 0.5 m uphill on, a triangle 2.5 m long and 1.25 m deep
    slope = ground(lambda x, _: 0.5 * x)
    found = volume_over_ground(bed(box(-2, -0.5, 2, 0.5), 0.25), slope)
    assert found == pytest.approx(2.5 * 1.25 / 2, rel=2e-3)  # sampled every 5 cm


def test_unknown_ground_is_unknown():
    assert math.isnan(volume_over_ground(bed(box(15, 15, 16, 16), 0.4), ground(lambda x, _: x)))
    assert volume_over_ground(bed(box(0, 0, 1, 1), 0.4, wall=0.6), ground(lambda x, _: x)) == 0
