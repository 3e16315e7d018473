"""Does the ground shade from a point's own foot on, nearer than a cell?"""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

from ..skies import declination_path

AZIMUTH = np.arange(0.0, 360.0, 6.0)
CELLS = (0.25, 0.5, 1.0, 5.0)


def ground(height, cell):
    count = round(100 / cell)
    grid = Grid(west=-50 + cell / 2, north=50, cell=cell, rows=count, columns=count)  # a column's centre at x = 0
    return Terrain(grid, np.asarray(height(*np.meshgrid(grid.x, grid.y)), dtype=float))


def standing(terrain, x):
    x = np.asarray(x, dtype=float)
    y = np.linspace(-0.4, 0.4, len(x)) * terrain.grid.cell
    return np.column_stack([x, y, terrain.height_at(x, y)])


def bank(x, _):
    return np.clip(x, -20, 0)  # 45 degrees up to the east, level from x = 0 on


@pytest.mark.parametrize("cell", CELLS)
def test_just_below_the_edge_of_a_bank_it_is_as_steep_as_anywhere_on_it(cell):
    # by hand: a plane that rises by 1 to the east is its own horizon, sin(azimuth), however near its upper edge is
    terrain = ground(bank, cell)
    points = standing(terrain, [-0.9 * cell, -0.5 * cell, -0.1 * cell, -0.01 * cell])
    expected = np.maximum(np.sin(np.radians(AZIMUTH)), 0)
    for slopes in (ground_slopes, shared_slopes):
        found = slopes(points, terrain, AZIMUTH)
        assert found == pytest.approx(
            np.broadcast_to(expected, found.shape), abs=0.003
        )  # a look at a 1000th of a cell


@pytest.mark.parametrize("cell", CELLS)
def test_a_ridge_within_a_cell_in_closed_form(cell):
    # a roof-shaped ridge along x = 0, slope 0.5: from its western side the eastern sky is hidden up to the plane, and
    # what lies west of it is not
    terrain = ground(lambda x, _: -0.5 * np.abs(x), cell)
    found = ground_slopes(standing(terrain, [-0.3 * cell, -0.02 * cell]), terrain, np.array([90.0, 30.0, 270.0]))
    assert found == pytest.approx(np.array([[0.5, 0.25, 0.0]] * 2), abs=1e-9)


def test_hours_below_the_edge_of_a_bank(engine_of):
    # at the equator at the equinox the sun climbs 15 degrees an hour out of the east: a bank of 45 degrees takes three
    # hours, and did so but for the last cell below its edge, which had up to 0.8 h more
    terrain = ground(bank, 1.0)
    engine = engine_of(path=declination_path(0.0, 0.0, step=1 / 60), terrain=terrain)
    points = standing(terrain, np.linspace(-1.5, -0.05, 12))
    expected = pytest.approx(np.full(12, 9.0), abs=2 / 60)  # a step, and rays by two degrees
    assert engine.exact_hours(points).month_h[0] == expected
    assert engine.hours(points).month_h[0] == expected


@pytest.mark.parametrize("seed", range(4))
def test_rough_ground_is_seen_as_a_march_in_hundredths_of_a_cell_sees_it(seed):
    chance = np.random.default_rng(seed)
    grid = Grid(west=-12, north=12, cell=1, rows=24, columns=24)
    terrain = Terrain(grid, chance.uniform(0, 0.6, grid.shape))
    points = np.column_stack([chance.uniform(-4, 4, (20, 2)), np.zeros(20)])
    points[:, 2] = terrain.height_at(points[:, 0], points[:, 1]) + chance.choice([0.0, 0.05, 0.4], 20)
    azimuth = np.arange(0.0, 360.0, 10.0)
    near = np.concatenate([[1e-3], np.arange(0.01, 2.0, 0.01)])  # where the ray leaves cells; then come strides
    found = ground_slopes(points, terrain, azimuth)
    for point, slopes in zip(points, found, strict=True):
        for direction, slope in zip(np.radians(azimuth), slopes, strict=True):
            there = terrain.height_at(point[0] + near * math.sin(direction), point[1] + near * math.cos(direction))
            seen = max(0.0, float(((there - point[2]) / near).max()))
            assert slope >= seen - 1e-9  # the look within two cells is exact


def test_soil_let_into_a_slope_is_not_buried():
    # 10 cm below ground that rises by 0.2: within its own cell it looks from the ground above it
    terrain = ground(lambda x, _: 0.2 * x, 1.0)
    point = standing(terrain, [0.3]) - [0, 0, 0.1]
    assert ground_slopes(point, terrain, np.array([90.0]))[0, 0] <= 0.2 + 0.1 + 1e-9
