from __future__ import annotations

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.lookup.terrain_horizon import ground_slopes

from ..skies import declination_path

GRID = Grid(west=-60, north=60, cell=1, rows=120, columns=120)
ORIGIN = np.zeros((1, 3))


def ground(height):
    return Terrain(GRID, np.asarray(height(*np.meshgrid(GRID.x, GRID.y)), dtype=float))


def test_an_even_slope_is_its_own_horizon():
    # a plane that rises by 0.3 a metre towards the east: 0.3 sin(azimuth) uphill, nothing downhill
    slopes = ground_slopes(ORIGIN, ground(lambda x, _: 0.3 * x), np.array([90.0, 30.0, 0.0, 270.0]))
    assert slopes[0] == pytest.approx([0.3, 0.15, 0, 0], abs=1e-9)


def test_level_ground_and_ground_that_falls_away_hide_nothing():
    assert ground_slopes(ORIGIN, ground(lambda x, _: 0 * x), np.arange(0, 360, 7.0)).max() == 0
    assert ground_slopes(ORIGIN, ground(lambda x, y: -0.1 * np.hypot(x, y)), np.arange(0, 360, 7.0)).max() == 0


def test_a_ridge_is_seen_over_a_hollow():
    slopes = ground_slopes(
        ORIGIN, ground(lambda _, y: np.where(y > 38, 8.0, np.where(y > 5, -3.0, 0.0))), np.array([0.0])
    )
    # its foot lies between the cells' centres at 38 and 39 m: slopes of 8 in 38 to 39
    assert slopes[0, 0] == pytest.approx(8 / 38.5, abs=8 / 38 - 8 / 39)


def test_what_is_not_known_hides_nothing():
    assert ground_slopes(ORIGIN, ground(lambda x, _: np.where(x > 10, np.nan, 0.0)), np.array([90.0])).max() == 0
    assert ground_slopes(ORIGIN, ground(lambda x, _: x * np.nan), np.array([90.0])).max() == 0


def test_higher_points_see_no_more_ground():
    hills = ground(lambda x, y: 3 * np.sin(x / 7) * np.cos(y / 9))
    azimuth = np.arange(0, 360, 5.0)
    low, high = (ground_slopes(np.array([[0.0, 0.0, z]]), hills, azimuth) for z in (0.5, 1.5))
    assert (high <= low + 1e-12).all()


def test_a_slope_that_faces_away_loses_the_low_sun(engine_of):
    # at the equator at the equinox the sun climbs 15 degrees an hour out of the east; ground rising eastward at 30
    # degrees hides it for two hours, and the western half of the day is whole
    slope = ground(lambda x, _: np.tan(np.radians(30)) * x)
    engine = engine_of(path=declination_path(0.0, 0.0, step=1 / 60), terrain=slope)
    assert engine.exact_hours(ORIGIN).month_h[0, 0] == pytest.approx(
        10.0, abs=2 / 60
    )  # a step, and rays by two degrees
    assert engine.hours(ORIGIN).month_h[0, 0] == pytest.approx(10.0, abs=2 / 60)


def test_removing_the_ground_never_darkens(engine_of, clutter):
    hills = ground(lambda x, y: 2 * np.sin(x / 5) * np.cos(y / 6) + 0.05 * y)
    rng = np.random.default_rng(4)
    points = rng.uniform(-9, 9, (30, 2))
    points = np.column_stack([points, hills.height_at(points[:, 0], points[:, 1])])
    with_ground, without = engine_of(*clutter, terrain=hills).hours(points), engine_of(*clutter).hours(points)
    assert (with_ground.month_h <= without.month_h + 2e-4).all()
    assert (with_ground.season_h < without.season_h - 0.01).any()


def test_points_side_by_side_each_see_their_own_ground(engine_of):
    # one at the foot of a bank of 2 m in the east, one on top of it: together they have the mean of what each has
    bank = ground(lambda x, _: 2 * np.clip(x - 1, 0, 1))
    points = np.array([[0.5, 0.5, 0.0], [2.8, 0.5, 2.0]])
    engine = engine_of(terrain=bank)
    foot, top = (engine.mean_light(points[k : k + 1]) for k in (0, 1))
    assert np.abs(top - foot).max() == 1  # the morning sun comes over the bank later
    assert engine.mean_light(points) == pytest.approx((foot + top) / 2, abs=1e-6)
    assert engine.mean_light(points[::-1]) == pytest.approx((foot + top) / 2, abs=1e-6)
