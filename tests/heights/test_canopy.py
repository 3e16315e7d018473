"""Is a roof told from leaves, with and without the survey's own classes? By hand, on points in rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from siteplan.heights.canopy import canopy, large_patches, off_plane
from siteplan.land.grid import Grid
from siteplan.land.returns import BUILDING, Returns

GRID = Grid(west=0.0, north=20.0, cell=0.5, rows=40, columns=40)
NONE = np.zeros(GRID.shape, dtype=bool)


def plan(*things, kind=1):
    """Return a point in each cell at the height of what stands there, on ground at 100 m, and which lie on it.

    A thing is west, south, east, north, its height (a function of x and y, or a number), and whether pulses split.
    """
    x, y = np.meshgrid(GRID.x, GRID.y)
    height, split = np.zeros(GRID.shape), NONE.copy()
    for west, south, east, north, tall, leafy in things:
        own = (x > west) & (x < east) & (y > south) & (y < north)
        height[own] = tall(x, y)[own] if callable(tall) else tall
        split[own] = leafy
    flat = height.ravel()
    returns = Returns(
        x.ravel(), y.ravel(), 100 + flat, np.where(flat > 0, kind, 2).astype(np.uint8), np.ones(1600, dtype=bool),
        split.ravel(),
    )  # fmt: skip
    return returns, flat == 0


def told(returns, on_ground, *, built=NONE, grown=NONE):
    return canopy(returns, on_ground, GRID, np.full(GRID.shape, 100.0), built=built, grown=grown)


def rough(x, y):
    """Return heights like those of leaves: 4 m, up and down by 2 m from cell to cell."""
    return 4 + 2 * np.where((np.rint(x / 0.5 - 0.5) + np.rint(y / 0.5 - 0.5)) % 2 == 0, 1, -1)


def share(cells, west, south, east, north):
    """Return the share of the cells of a rectangle that hold something."""
    x, y = np.meshgrid(GRID.x, GRID.y)
    own = (x > west) & (x < east) & (y > south) & (y < north)
    return np.isfinite(cells)[own].mean()


def test_where_pulses_tell_a_roof_is_what_does_not_split_them():
    points, on_ground = plan((2, 2, 8, 8, 5.0, False), (12, 2, 18, 8, 5.0, True))
    found = told(points, on_ground)
    assert share(found.roof, 2, 2, 8, 8) == 1
    assert share(found.plant, 12, 2, 18, 8) == 1
    assert share(found.roof, 12, 2, 18, 8) == share(found.plant, 2, 2, 8, 8) == 0
    assert np.nanmin(found.roof) == np.nanmax(found.roof) == pytest.approx(5.0)
    assert found.height == pytest.approx(points.z - 100)


@pytest.mark.parametrize(("split", "is_roof"), [(1, True), (2, True), (3, False), (5, False)])
def test_the_share_of_split_pulses_tells_however_dense_they_are(split, is_roof):
    """Of five points in a cell one or two are split: 0.2 and 0.4, below 0.45 at the core of a roof; three are leaves."""
    points, on_ground = plan((2, 2, 8, 8, 5.0, True))
    high = ~on_ground
    every = np.concatenate([np.flatnonzero(on_ground), *[np.flatnonzero(high)] * 5])
    dense = points.subset(every)
    copy = np.repeat(np.arange(6), [on_ground.sum(), *[high.sum()] * 5])
    dense = replace(dense, several=(copy > 0) & (copy <= split))
    found = told(dense, on_ground[every])
    assert share(found.roof, 2, 2, 8, 8) == (1 if is_roof else 0)


def test_where_no_pulse_tells_a_roof_is_what_lies_in_a_plane():
    points, on_ground = plan((2, 2, 8, 8, lambda x, y: 3 + 0.5 * x + 0 * y, False), (12, 2, 18, 8, rough, False))
    found = told(points, on_ground)
    assert share(found.roof, 2, 2, 8, 8) > 0.9
    assert share(found.plant, 12, 2, 18, 8) == 1
    assert share(found.roof, 12, 2, 18, 8) == 0


@pytest.mark.parametrize(("wide", "tall", "is_roof"), [
    (2.0, 5.0, False),  # 4 m2: a porch, or a piece of a crown
    (3.0, 5.0, True),  # 9 m2
    (4.0, 2.1, False),  # lower than 2.2 m: a bin, a car
    (4.0, 2.3, True),
])  # fmt: skip
def test_what_is_small_or_low_is_no_roof(wide, tall, is_roof):
    # a tree stands far off, so that pulses are known to split
    points, on_ground = plan((5, 5, 5 + wide, 5 + wide, tall, False), (14, 14, 19, 19, 6.0, True))
    found = told(points, on_ground)
    assert share(found.roof, 5, 5, 5 + wide, 5 + wide) == is_roof
    assert share(found.plant, 5, 5, 5 + wide, 5 + wide) == (not is_roof)


def test_a_drawn_crown_is_no_roof_and_a_drawn_house_is_one():
    things = (2, 2, 8, 8, 5.0, False), (12, 2, 18, 8, 5.0, True)
    x, y = np.meshgrid(GRID.x, GRID.y)
    house, tree = (x < 10) & (y < 10), (x > 10) & (y < 10)
    found = told(*plan(*things), grown=house, built=tree)
    assert share(found.plant, 2, 2, 8, 8) == share(found.roof, 12, 2, 18, 8) == 1
    assert share(found.roof, 2, 2, 8, 8) == share(found.plant, 12, 2, 18, 8) == 0


def test_the_surveys_own_classes_come_first():
    """A wall of a house counts from half of the lowest roof up, 1.1 m; what splits pulses may be a roof of glass."""
    things = (2, 2, 8, 8, 5.0, True), (10, 2, 11, 8, 1.0, False), (12, 2, 13, 8, 1.2, False)
    found = told(*plan(*things, kind=BUILDING))
    assert share(found.roof, 2, 2, 8, 8) == share(found.roof, 12, 2, 13, 8) == 1
    assert share(found.roof, 10, 2, 11, 8) == 0
    assert share(found.plant, 10, 2, 11, 8) == 1


def test_leaves_begin_above_a_lawn_and_wires_are_passed_over():
    points, on_ground = plan((2, 2, 4, 4, 0.25, False), (6, 2, 8, 4, 0.35, False))
    found = told(points, on_ground)
    assert share(found.plant, 2, 2, 4, 4) == 0
    assert share(found.plant, 6, 2, 8, 4) == 1
    for kind in (10, 14, 17):  # a rail, a wire, a bridge
        found = told(*plan((2, 2, 8, 8, 5.0, False), kind=kind))
        assert not np.isfinite(found.plant).any()
        assert not np.isfinite(found.roof).any()


def test_how_far_heights_lie_off_their_plane():
    """As least squares of numpy have it, in each window of five by five."""
    top = np.random.default_rng(3).uniform(2, 9, (9, 8))
    found = off_plane(top)
    down, across = (each.ravel() for each in np.mgrid[-2:3, -2:3])
    matrix = np.column_stack([across, down, np.ones(25)])
    for row, column in ((2, 2), (4, 5), (6, 3)):
        window = top[row - 2 : row + 3, column - 2 : column + 3].ravel()
        plane = np.linalg.lstsq(matrix, window)[0]
        assert found[row, column] == pytest.approx(np.sqrt(np.mean((window - matrix @ plane) ** 2)), rel=1e-6)


def test_what_is_not_known_does_not_count_against_a_plane():
    top = np.add.outer(0.3 * np.arange(9.0), 5 + 0.2 * np.arange(8.0))
    top[[2, 4, 6, 5], [3, 1, 6, 4]] = np.nan
    assert off_plane(top)[2:-2, 2:-2] == pytest.approx(0, abs=1e-3)


def test_a_plane_is_told_from_half_of_a_window_up():
    for known, told_from in ((12, False), (13, True)):
        top = np.full(25, np.nan)
        top[:known] = 5.0
        assert np.isfinite(off_plane(top.reshape(5, 5))[2, 2]) == told_from


def test_patches_are_large_from_so_many_cells_up():
    cells = np.array([[1, 1, 0, 1, 1], [1, 1, 0, 1, 0], [0, 0, 0, 0, 0], [1, 0, 0, 0, 0]], dtype=bool)
    assert large_patches(cells, 4).astype(int).tolist() == [[1, 1, 0, 0, 0], [1, 1, 0, 0, 0], [0] * 5, [0] * 5]
    assert np.array_equal(large_patches(cells, 1), cells)


def dense(split_of, *things):
    """Return points of which 25 lie in each cell of what stands there, so many of them from split pulses."""
    points, on_ground = plan(*things)
    high = np.flatnonzero(~on_ground)
    every = np.concatenate([np.flatnonzero(on_ground), *[high] * 25])
    copy = np.concatenate([np.zeros(on_ground.sum(), dtype=int), np.repeat(np.arange(1, 26), len(high))])
    many = points.subset(every)
    return replace(many, several=(copy > 0) & (copy <= split_of(many.x))), on_ground[every]


@pytest.mark.parametrize(("split", "is_roof"), [(11, True), (12, False)])
def test_the_split_pulses_at_the_core_of_a_roof(split, is_roof):
    """0.44 or 0.48 of the pulses; 0.45 is the bound."""
    found = told(*dense(lambda x: split, (2, 2, 8, 8, 5.0, True)))  # noqa: ARG005
    assert share(found.roof, 2, 2, 8, 8) == is_roof


@pytest.mark.parametrize(("split", "is_roof"), [(22, True), (23, False)])
def test_the_split_pulses_at_the_edge_of_a_roof(split, is_roof):
    """In the last of two columns with split pulses two thirds of those around count: 0.587 or 0.613 of all."""
    found = told(*dense(lambda x: np.where(x > 7, split, 0), (2, 2, 8, 8, 5.0, True)))
    assert share(found.roof, 2, 2, 7.5, 8) == 1
    assert share(found.roof, 7.5, 2, 8, 8) == is_roof


def checkered(tall, up_and_down, beyond):
    """Return heights that go up and down from cell to cell east of somewhere."""

    def height(x, y):
        even = (np.rint(x / 0.5 - 0.5) + np.rint(y / 0.5 - 0.5)) % 2 == 0
        return tall + np.where(x > beyond, np.where(even, up_and_down, -up_and_down), 0)

    return height


@pytest.mark.parametrize(("off", "is_roof"), [(0.34, True), (0.37, False)])
def test_how_far_off_a_plane_the_core_of_a_roof_is(off, is_roof):
    """0.35 m; the mean of 25 of them takes a thousandth of it."""
    found = told(*plan((2, 2, 10, 10, checkered(6.0, off, 0.0), False)))
    assert (share(found.roof, 3, 3, 9, 9), share(found.plant, 3, 3, 9, 9)) == (is_roof, not is_roof)


@pytest.mark.parametrize(("off", "is_roof"), [(1.95, True), (2.10, False)])
def test_how_far_off_a_plane_the_edge_of_a_roof_is(off, is_roof):
    """Of 25 cells the five in the last column are off: 4.88 / 25 of the square is left, 0.86 or 0.93 m of 0.9."""
    found = told(*plan((2, 2, 10, 10, checkered(6.0, off, 9.5), False)))
    assert share(found.roof, 3, 4, 8.5, 8) == 1
    assert share(found.roof, 8.5, 4, 9, 8) == is_roof


@pytest.mark.parametrize(("west", "cells", "is_roof"), [(5.0, 24, True), (5.5, 20, False)])
def test_six_square_metres_are_a_roof(west, cells, is_roof):
    points, on_ground = plan((west, 5, 8, 7, 5.0, False), (14, 14, 19, 19, 6.0, True))
    assert (~on_ground).sum() == cells + 100
    assert share(told(points, on_ground).roof, west, 5, 8, 7) == is_roof
    points, on_ground = plan((5.5, 5, 8, 7.5, 5.0, False), (14, 14, 19, 19, 6.0, True))
    assert share(told(points, on_ground).roof, 5.5, 5, 8, 7.5) == 1  # 6.25 m2
