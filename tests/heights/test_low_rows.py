"""Which low and narrow rows are hedges and fences, how long, wide and high are they? By hand, in half-metre cells."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, affinity, box

from siteplan.heights.low_rows import find_rows
from siteplan.land.grid import Grid

GRID = Grid(west=-20.0, north=30.0, cell=0.5, rows=60, columns=80)
NONE = np.zeros(GRID.shape, dtype=bool)
X, Y = np.meshgrid(GRID.x, GRID.y)


def rows(*shapes, leaves=1.0, points=8, taken=NONE, tops=None):
    """Return the rows in shapes, each with its height, where so many points lie in each cell."""
    top = np.full(GRID.shape, np.nan)
    for shape, tall in shapes:
        top[GRID.inside(shape)] = tall
    if tops is not None:
        top = np.where(np.isfinite(top), tops, np.nan)
    count = np.where(np.isfinite(top), points, 0)
    return find_rows(top, leaves * count, count, GRID, occupied=taken)


HEDGE = box(-10, 10, 2, 11)


def test_a_hedge_is_where_its_cells_are():
    (row,) = rows((HEDGE, 1.8))
    assert row.kind == "hedge"
    assert row.line.hausdorff_distance(LineString([(-10, 10.5), (2, 10.5)])) < 1e-6
    assert row.width == pytest.approx(0.5)  # in cells it is a cell wider than it is
    assert (row.height, row.spread) == pytest.approx((1.8, 0.15))
    assert row.points == 8 * 24 * 2


@pytest.mark.parametrize("turn", [0, 22.5, 45, 70, 90, 135])
def test_it_is_found_whichever_way_it_runs(turn):
    own = affinity.rotate(box(-8, 14, 8, 15.5), turn, origin=(0, 14.75))
    (row,) = rows((own, 1.5))
    along = affinity.rotate(LineString([(-8, 14.75), (8, 14.75)]), turn, origin=(0, 14.75))
    assert row.line.hausdorff_distance(along) < 0.8
    assert row.width == pytest.approx(1.0, abs=0.5)


def test_what_splits_no_pulses_is_a_fence_and_what_is_wide_then_is_none():
    narrow, wide = box(-10, 10, 2, 11), box(-10, 10, 2, 11.5)
    (row,) = rows((narrow, 1.8), leaves=0.0)
    assert row.kind == "fence"
    assert rows((wide, 1.8), leaves=0.0) == []  # a container
    assert [one.kind for one in rows((wide, 1.8), leaves=0.45)] == ["hedge"]
    assert rows((wide, 1.8), leaves=0.35) == []
    assert [one.kind for one in rows((narrow, 1.8), leaves=0.35)] == ["fence"]
    # half a metre of cells is too thin for a hedge, whatever it splits
    thin = box(-10, 10, 2, 10.5)
    (row,) = rows((thin, 1.8), leaves=1.0)
    assert (row.kind, row.width) == ("fence", 0.1)


@pytest.mark.parametrize(("shape", "tall", "found"), [
    (HEDGE, 0.65, 0), (HEDGE, 0.75, 1), (HEDGE, 3.9, 1), (HEDGE, 4.1, 0),
    (box(-10, 10, -4.5, 11), 1.8, 1),  # 5.5 m long
    (box(-10, 10, -5.5, 11), 1.8, 0),  # 4.5 m
    (box(-10, 10, 2, 13), 1.8, 1),  # 3 m of cells: 2.5 m wide
    (box(-10, 10, 4, 13.5), 1.8, 0),
    (box(-10, 10, -1.5, 12.5), 1.8, 0),  # 3.4 times as long as wide
    (box(-10, 10, -1, 12.5), 1.8, 1),  # 3.6 times
])  # fmt: skip
def test_how_low_and_long_and_narrow_a_row_is(shape, tall, found):
    assert len(rows((shape, tall))) == found


def test_a_row_wants_points():
    """4 to a metre, and six tenths of its cells with one; a wall that is seldom hit has gaps of up to 1.5 m."""
    thin = box(-10, 10, 2, 10.5)  # 2 cells to a metre
    assert len(rows((thin, 1.8), points=3)) == 1
    assert rows((thin, 1.8), points=1) == []
    for gap, count in ((1, 1), (2, 0)):  # of each three cells so many are empty
        top = np.where(GRID.inside(thin) & (np.arange(GRID.columns) % 3 >= gap), 1.8, np.nan)
        many = np.where(np.isfinite(top), 40, 0)
        assert len(find_rows(top, 1.0 * many, many, GRID, occupied=NONE)) == count


def test_an_uneven_row_is_shrubs():
    """Nine tenths of a row may lie half a metre above its middle height, no more; the spread is half of the rest."""
    for more, kept in ((0.4, 1), (0.6, 0)):
        tops = np.where(np.arange(GRID.columns) % 4 == 0, 1.5 + more, 1.5)
        found = rows((HEDGE, 1.0), tops=np.broadcast_to(tops, GRID.shape))
        assert len(found) == kept
        if kept:
            assert (found[0].height, found[0].spread) == pytest.approx((1.9, 0.2))


def test_what_belongs_to_trees_and_houses_is_none():
    assert rows((HEDGE, 1.8), taken=GRID.inside(HEDGE)) == []
    # beside a house, a cell off, it is taken for its foot
    assert rows((box(-10, 10, 2, 10.5), 1.8), taken=GRID.inside(box(-10, 10.5, 2, 16))) == []
    assert len(rows((HEDGE, 1.8), taken=GRID.inside(box(-10, 12, 2, 16)))) == 1


def test_the_longest_comes_first_and_each_once():
    found = rows((HEDGE, 1.8), (box(6, 2, 7, 28), 1.4), (box(-18, 4, -2, 5), 2.0))
    assert [round(one.line.length) for one in found] == [26, 16, 12]
    assert [one.height for one in found] == pytest.approx([1.4, 2.0, 1.8])


@pytest.mark.parametrize(("deep", "found"), [(1.0, 1), (2.0, 0)])
def test_a_row_with_a_lump_beside_it_is_none_where_it_fills_too_little(deep, found):
    """12 m of 0.5 m with a lump of 2.5 m by 1 m fill 8.5 of 18 m2, by 2 m 11 of 30 m2; four tenths are enough."""
    assert len(rows((box(-10, 10, 2, 10.5), 1.5), (box(-5, 10.5, -2.5, 10.5 + deep), 1.5))) == found


@pytest.mark.parametrize("wide", [0.5, 1.0, 2.0])
def test_a_hedge_around_a_corner_is_two(wide):
    first, second = box(-10, 10, 6, 10 + wide), box(6 - wide, 10, 6, 24)
    one, other = rows((first, 1.8), (second, 1.8))
    assert one.line.hausdorff_distance(LineString([(-10, 10 + wide / 2), (6, 10 + wide / 2)])) < 0.6
    assert other.line.hausdorff_distance(LineString([(6 - wide / 2, 10), (6 - wide / 2, 24)])) < 0.6
    assert (one.width, other.width) == pytest.approx((max(wide - 0.5, 0.1),) * 2, abs=0.1)


def test_hedges_that_cross_or_meet_in_a_t_are_two():
    for north in (24, 11):
        found = rows((box(-10, 10, 6, 11), 1.8), (box(-3, 1, -2, north), 1.8))
        assert len(found) == 2
        assert {round(one.line.length) for one in found} == {16, north - 1}


@pytest.mark.parametrize("shape", [box(-20, 10, -8, 11), box(8, 10, 20, 11), box(-10, 29, 2, 30), box(-10, 0, 2, 1)])
def test_a_hedge_along_the_edge_of_the_map(shape):
    (row,) = rows((shape, 1.8))
    west, _, east, _ = shape.bounds
    y = shape.centroid.y
    assert row.line.hausdorff_distance(LineString([(west, y), (east, y)])) < 1e-6
    assert (row.width, row.points) == (pytest.approx(0.5), 8 * 24 * 2)
