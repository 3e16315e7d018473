"""Maps of minutes and metres, cell by cell and by hand."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.haul.access_maps import _length, _read, _within_reach, minutes_field, walking_distances
from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.router import Router
from siteplan.land.barriers import Barrier
from siteplan.land.features import Building, Pile
from siteplan.land.grid import Grid, grid_over

NAN, INF = math.nan, math.inf


def test_a_map_is_read_under_each_centre_and_nothing_beside_it():
    fine, values = Grid(0, 3, 1, 3, 4), np.arange(12.0).reshape(3, 4)
    values[1, 2] = INF
    assert np.array_equal(
        _read(values, fine, Grid(-1, 4, 1, 5, 6)),
        [[NAN] * 6, [NAN, 0, 1, 2, 3, NAN], [NAN, 4, 5, NAN, 7, NAN], [NAN, 8, 9, 10, 11, NAN], [NAN] * 6],
        equal_nan=True,
    )
    assert _read(values, fine, Grid(2.5, 2.5, 0.5, 1, 2)).tolist() == [[2, 3]]


def ground(*reaches, shape=(1, 8), cell=0.5):
    level = np.ones(shape)
    barriers = tuple(Barrier("building", str(k), Point(99, 99), reach) for k, reach in enumerate(reaches))
    return CostField(Grid(0, shape[0] * cell, cell, *shape), level, level, level, level, level, 1.0, barriers)


@pytest.mark.parametrize(("reaches", "cell", "expected"), [
    ((0.25, 1.0), 0.5, [3, 3, 3, 3, NAN, NAN, NAN, NAN]),  # 1 m of reach and half a metre of cell: 1.5 m
    ((), 0.5, [3, 3, NAN, NAN, NAN, NAN, NAN, NAN]),
    ((), 2.0, [3, NAN]),  # within 2 m; the second cell's middle is 3 m from the map's edge
    ((), 0.25, [3, 3, 3, 3, NAN, NAN, NAN, NAN]),  # the routes' own cell is larger
])  # fmt: skip
def test_what_is_near_a_wall_has_the_minutes_of_the_nearest_cell(reaches, cell, expected):
    minutes = np.array([[3.0, INF, INF, INF, INF, INF, INF, INF]])
    found = _within_reach(minutes, ground(*reaches), Grid(0, 0.25 + cell / 2, cell, 1, len(expected)))
    assert np.array_equal(found, [expected], equal_nan=True)


def test_the_nearest_of_two_counts_and_none_is_none():
    minutes = np.full((2, 8), INF)
    minutes[0, 0], minutes[1, 3] = 3.0, 8.0
    found = _within_reach(minutes, ground(shape=(2, 8)), Grid(0, 1, 0.5, 2, 8))
    assert np.array_equal(
        found, [[3, 3, NAN, 8, NAN, NAN, NAN, NAN], [3, NAN, 8, 8, 8, NAN, NAN, NAN]], equal_nan=True
    )
    nothing = _within_reach(np.full((2, 8), INF), ground(shape=(2, 8)), Grid(0, 1, 0.5, 3, 5))
    assert nothing.shape == (3, 5)
    assert np.isnan(nothing).all()


def test_a_barrier_keeps_the_minutes_on_its_own_side():
    # a wall between the third and the fourth cell, which is within reach otherwise; a post beside the way keeps nothing
    wall = Barrier("fence", "wall", LineString([(1.5, 0), (1.5, 0.5)]), 1.5)
    post = Barrier("tree", "post", Point(1.0, 0.45), 0.1)
    minutes = np.array([[3.0, INF, INF, INF, INF, INF, INF, INF]])
    for barriers, expected in ((wall, post), [3, 3, 3]), ((post,), [3, 3, 3, 3]):
        field = dataclasses.replace(ground(1.5), barriers=(*ground(1.5).barriers, *barriers))
        found = _within_reach(minutes, field, Grid(0, 0.5, 0.5, 1, 4))
        assert np.array_equal(found, [expected + [NAN] * (4 - len(expected))], equal_nan=True)


def test_two_metres_more_out_and_back_by_hand(bare_yard):
    # on grass, 1/1.1 of 3 km/h out and of 4.5 km/h back: 2 m x 1.1 x (1.2 + 0.8) s, in minutes
    grid = grid_over(bare_yard.boundary, 0.1)
    site = dataclasses.replace(bare_yard, piles=(Pile(id="heap", shape=Point(-3.05, 0.05)),))
    found = minutes_field(site, grid, sources=("heap",))
    near, far = (found[grid.cell_of(x, 0.05)] for x in (1.05, 3.05))
    assert far - near == pytest.approx(2 * 1.1 * 2.0 / 60, rel=1e-5)  # single precision


def test_a_pile_that_nobody_gets_to_has_no_minutes(bare_yard):
    site = dataclasses.replace(
        bare_yard,
        buildings=(Building(id="shed", outline=box(-2, -2, 2, 2), height=3),),
        piles=(Pile(id="heap", shape=Point(0, 0)),),
    )
    found = minutes_field(site, Grid(0, 3, 0.5, 6, 4), sources=("heap",))
    assert found.shape == (6, 4)
    assert np.isnan(found).all()


def test_a_walk_from_cell_to_cell_by_hand(bare_yard):
    # walkers' cells are 0.25 m: from the middle of one, 4 m and then 4.25 m east; nowhere for the goal without points
    strip = Grid(1.0, 0.2, 0.05, 1, 10)
    nowhere, found = walking_distances(bare_yard, strip, [[], [Point(-2.875, 0.125)]])
    assert np.isnan(nowhere).all()
    assert nowhere.shape == found.shape == (1, 10)
    assert found[0] == pytest.approx([4.0] * 5 + [4.25] * 5, rel=1e-6)  # single precision
    # a tap a decimetre beside the middle is that much farther
    (beside,) = walking_distances(bare_yard, strip, [[Point(-2.975, 0.125)]])
    assert beside[0] == pytest.approx([4.1] * 5 + [4.35] * 5, rel=1e-6)


def test_on_a_large_property_the_walkers_cells_grow(bare_yard, monkeypatch):
    # 120 m2 in thirty cells: 2 m each
    monkeypatch.setattr("siteplan.haul.access_maps.MOST_CELLS", 30)
    (found,) = walking_distances(bare_yard, Grid(0.0, 0.5, 0.5, 1, 8), [[Point(-3, 0)]])
    assert found[0] == pytest.approx([4.0] * 4 + [6.0] * 4, rel=1e-6)


@pytest.mark.parametrize(("away", "known"), [(1.5, True), (1.625, False)])
def test_a_tap_is_reached_from_a_metre_and_a_half(away, known):
    level = np.ones((1, 5))
    field = CostField(Grid(0, 1, 1, 1, 5), level, level, 0 * level, 0 * level, level, 1.0)
    found = _length(Router(field), [Point(0.5 - away, 0.5)])
    assert found.shape == (1, 5)
    assert np.isfinite(found).all() == known
    if known:
        assert found[0] == pytest.approx([1.5, 2.5, 3.5, 4.5, 5.5])
