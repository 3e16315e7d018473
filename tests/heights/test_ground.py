"""Which points does the filter call ground? By hand, on a lawn with one thing on it."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.heights.ground import ground_by_filter, ground_surface
from siteplan.heights.lone import lone
from siteplan.land.grid import Grid
from siteplan.land.returns import Returns


def points(x, y, z):
    x, y, z = (np.asarray(each, dtype=float).ravel() for each in (x, y, z))
    return Returns(
        x, y, z, np.ones(len(x), dtype=np.uint8), np.ones(len(x), dtype=bool), np.zeros(len(x), dtype=bool)
    )


def lawn(side=40, slope=0.0):
    """Return a point in the middle of each cell, and one in each of two outer corners, so that cells lie so."""
    x, y = (each.ravel() for each in np.meshgrid(np.arange(0.5, side), np.arange(0.5, side)))
    x, y = np.append(x, (0.0, side)), np.append(y, (0.0, side))
    return x, y, 50 + slope * x


def with_a_block(side, wide, tall):
    """Return a lawn with a level block in its middle, and which points lie on that."""
    x, y, z = lawn(side)
    on = (np.abs(x - side / 2) < wide / 2) & (np.abs(y - side / 2) < wide / 2)
    return points(x, y, np.where(on, z + tall, z)), on


@pytest.mark.parametrize(("side", "wide", "tall"), [(40, 4, 2.5), (40, 12, 4.0), (60, 30, 8.0), (60, 36, 4.0)])
def test_a_house_is_no_ground_and_the_lawn_around_it_is(side, wide, tall):
    returns, on = with_a_block(side, wide, tall)
    assert np.array_equal(ground_by_filter(returns), ~on)


def test_what_is_wider_than_the_largest_window_is_ground():
    """A window of 18 m to either side: a terrace 40 m wide is ground above ground."""
    returns, on = with_a_block(60, 40, 4.0)
    assert ground_by_filter(returns)[on].mean() > 0.8


def test_a_hill_that_rises_evenly_is_ground():
    for slope in (0.05, 0.12, -0.12):
        assert ground_by_filter(points(*lawn(slope=slope))).all()


def beside(slope, above):
    """Return whether a point so far above the middle of a lawn is ground, another point lying below it."""
    x, y, z = lawn(slope=slope)
    found = ground_by_filter(points(np.append(x, 20.5), np.append(y, 20.5), np.append(z, 50 + slope * 20.5 + above)))
    assert found[:-1].all()
    return found[-1]


def test_how_far_above_the_surface_is_ground():
    """Half a metre, and 1.25 m for each unit of slope: on 0.12 that is 0.65 m."""
    assert beside(0.0, 0.45)
    assert not beside(0.0, 0.55)
    assert beside(0.12, 0.60)
    assert not beside(0.12, 0.70)


def test_a_hole_in_the_data_is_no_ground():
    x, y, z = lawn()
    for deep, is_hole in ((5.1, True), (4.9, False)):
        below = z.copy()
        below[820] -= deep
        found = ground_by_filter(points(x, y, below))
        assert found[820] != is_hole
        assert np.delete(found, 820).all()


def test_a_surface_is_the_mean_of_its_points_and_a_film():
    grid = Grid(west=0.0, north=1.0, cell=1.0, rows=1, columns=3)
    surface = ground_surface(grid, points([0.2, 0.8, 2.5], [0.5, 0.5, 0.5], [4.0, 6.0, 9.0]))
    assert surface == pytest.approx(np.array([[5.0, 7.0, 9.0]]), abs=0.01)


def in_the_air(*offsets):
    """Return which of some points 20 m above a lawn, so far from the first, are alone."""
    x, y, z = lawn(20)
    more = np.array([10.0, 10.0, 20.0]) + np.array(offsets)
    found = lone(points(np.append(x, more[:, 0]), np.append(y, more[:, 1]), np.append(z - 50, more[:, 2])))
    assert not found[: len(x)].any()
    return found[len(x) :].tolist()


def test_three_points_in_the_air_are_a_flock_and_four_a_twig():
    assert in_the_air((0, 0, 0), (0.2, 0, 0), (0, 0.2, 0)) == [True] * 3
    assert in_the_air((0, 0, 0), (0.2, 0, 0), (0, 0.2, 0), (0, 0, 0.2)) == [False] * 4


@pytest.mark.parametrize("way", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (-1, 0, 0), (0, -1, 0), (0, 0, -1)])
def test_points_in_the_next_cube_count_and_those_beyond_do_not(way):
    """Cubes are 2 m wide: 2 m on lies in the next, 4.1 m on in none that touches."""
    near, far = 2.0 * np.array(way), 4.1 * np.array(way)
    assert in_the_air((0.5, 0.5, 0.5), (0.6, 0.5, 0.5), *(near + 0.5, near + 0.6)) == [False] * 4
    assert in_the_air((0.5, 0.5, 0.5), (0.6, 0.5, 0.5), *(far + 0.5, far + 0.6)) == [True] * 4


def test_no_points_are_not_alone():
    assert lone(points([], [], [])).tolist() == []
