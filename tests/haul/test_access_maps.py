"""The way on foot: by hand round a wall, through a gate, and never shorter than the straight line."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from shapely import LineString, Point

from siteplan.haul.access_maps import walking_distances
from siteplan.land.features import Fence, Gate
from siteplan.land.grid import grid_over


def bare(tiny_yard):
    return dataclasses.replace(
        tiny_yard, buildings=(), trees=(), hedges=(), fences=(), gates=(), beds=(), keepouts=(), terrain=None
    )


def only_distance(site, grid, points):
    (found,) = walking_distances(site, grid, [points])
    return found


def at(lengths, grid, x, y):
    row, column = grid.cell_of(x, y)
    return float(lengths[row, column])


def test_on_open_ground_it_is_the_straight_line(tiny_yard):
    site = bare(tiny_yard)
    grid = grid_over(site.boundary, 0.5)
    found = only_distance(site, grid, [Point(-4, -3)])
    assert at(found, grid, 3.9, 2.9) == pytest.approx(math.hypot(7.9, 5.9), abs=0.6)  # a cell, and 0.8 %
    x, y = np.meshgrid(grid.x, grid.y)
    known = np.isfinite(found)
    assert known.mean() > 0.8
    assert (found[known] >= np.hypot(x + 4, y + 3)[known] - 0.5).all()  # a cell's diagonal


def test_round_the_end_of_a_fence(tiny_yard):
    # a fence along x = 0 from the south edge to y = 2: from (-3, -3) to (3, -3) the way goes round its end, a walker's
    # 0.3 m clear of it: 2 * hypot(3, 5.3) = 12.2 m instead of 6 m
    site = bare(tiny_yard)
    fence = Fence(id="f", line=LineString([(0, -5), (0, 2)]), height=1.5, thickness=0.02)
    fenced = dataclasses.replace(site, fences=(fence,))
    grid = grid_over(site.boundary, 0.25)
    found = only_distance(fenced, grid, [Point(-3, -3)])
    assert at(found, grid, 3, -3) == pytest.approx(
        12.2, abs=0.7
    )  # cells of 0.25 m at both ends and at the fence's, 0.8 %


def test_a_gate_opens_the_way_and_the_nearest_of_two_taps_counts(tiny_yard):
    site = bare(tiny_yard)
    fence = Fence(id="f", line=LineString([(0, -5), (0, 5)]), height=1.5, thickness=0.02)
    shut = dataclasses.replace(site, fences=(fence,))
    grid = grid_over(site.boundary, 0.25)
    assert math.isnan(at(only_distance(shut, grid, [Point(-3, -3)]), grid, 3, -3))
    gate = Gate(id="g", place=Point(0, -3), line=LineString([(0, -3.5), (0, -2.5)]), width=1.0)
    opened = dataclasses.replace(shut, gates=(gate,))
    assert at(only_distance(opened, grid, [Point(-3, -3)]), grid, 3, -3) == pytest.approx(
        6.0, abs=0.5
    )  # the middles of cells
    two = only_distance(opened, grid, [Point(-3, -3), Point(4, -3)])
    assert at(two, grid, 3, -3) == pytest.approx(1.0, abs=0.5)


def test_no_source_and_one_out_of_reach(tiny_yard):
    site = bare(tiny_yard)
    grid = grid_over(site.boundary, 1.0)
    assert np.isnan(only_distance(site, grid, [])).all()
    assert np.isnan(only_distance(site, grid, [Point(100, 0)])).all()
