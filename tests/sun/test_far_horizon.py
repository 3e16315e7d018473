"""Is ground in rings, coarser farther off, seen as the same ground in one piece?"""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

AZIMUTH = np.arange(0.0, 360.0, 4.0)


def rolling(x, y):
    return 6 * np.sin(x / 23) * np.cos(y / 31) + np.maximum(0, np.hypot(x, y) - 300) * 0.1


def piece(half, cell, *, without=0.0):
    count = round(2 * half / cell)
    grid = Grid(west=-half, north=half, cell=cell, rows=count, columns=count)
    x, y = np.meshgrid(grid.x, grid.y)
    known = np.maximum(np.abs(x), np.abs(y)) > without - 1.5 * cell
    return Terrain(grid, np.where(known, rolling(x, y), np.nan))


@pytest.fixture(scope="module")
def whole():
    return piece(800, 1)


@pytest.fixture(scope="module")
def parted():
    near = piece(50, 1)
    return Terrain(near.grid, near.elevation, beyond=(piece(200, 1, without=50), piece(800, 4, without=200)))


@pytest.fixture(scope="module")
def points():
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(-20, 21, 4.0), np.arange(-20, 21, 4.0)))
    return np.column_stack([x, y, rolling(x, y) + 0.5])


def test_rings_are_seen_as_one_piece(whole, parted, points):
    one, other = ground_slopes(points, whole, AZIMUTH), ground_slopes(points, parted, AZIMUTH)
    off = np.degrees(np.arctan(other) - np.arctan(one))
    assert np.degrees(np.arctan(one)).max() > 5  # there is something to see
    # the crests are those of sines 23 m across: looks and cells elsewhere see them a few decimetres lower or higher
    assert np.abs(off).mean() <= 0.02
    assert np.abs(off).max() <= 0.25


def test_what_lies_far_is_not_seen_without_its_ring(parted, points):
    near = Terrain(parted.grid, parted.elevation)
    more = ground_slopes(points, parted, AZIMUTH) - ground_slopes(points, near, AZIMUTH)
    assert more.min() >= 0  # ground that is added hides more, never less
    assert more.mean() > 0.01


def test_points_side_by_side_share_their_look_at_rings(parted):
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(0, 3, 0.25), np.arange(0, 3, 0.25)))
    points = np.column_stack([x, y, rolling(x, y)])
    off = shared_slopes(points, parted, AZIMUTH) - ground_slopes(points, parted, AZIMUTH)
    assert np.degrees(np.abs(off)).max() <= 0.3  # as for ground in one piece: a look beside another


def test_points_beyond_the_near_ground_see_the_rings_all_the_same(whole, parted):
    point = np.array([[60.0, 0.0, rolling(60.0, 0.0)]])
    one, other = ground_slopes(point, whole, AZIMUTH), ground_slopes(point, parted, AZIMUTH)
    assert np.degrees(np.abs(np.arctan(one) - np.arctan(other))).max() <= 0.5


def test_a_ring_without_a_known_cell_hides_nothing(parted, points):
    empty = piece(800, 4)
    empty = Terrain(empty.grid, np.full(empty.grid.shape, np.nan))
    near = Terrain(parted.grid, parted.elevation)
    with_it = Terrain(parted.grid, parted.elevation, beyond=(empty,))
    assert np.array_equal(ground_slopes(points, near, AZIMUTH), ground_slopes(points, with_it, AZIMUTH))


def test_the_highest_cell_is_known():
    grid = Grid(0, 2, 1, 2, 2)
    assert Terrain(grid, np.array([[1.0, np.nan], [3, 2]])).highest == 3
    assert Terrain(grid, np.full((2, 2), np.nan)).highest == -np.inf
