"""Do cells say what the points in them say, and is what nobody saw spanned evenly? By hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import MultiPolygon, box

from siteplan.heights.cells import (
    PointIndex,
    _coarser,
    _finer,
    at_points,
    cell_numbers,
    filled,
    highest,
    lowest,
    mean,
    outline_of,
    part_of_grid,
    point_counts,
)
from siteplan.land.grid import Grid

GRID = Grid(west=10.0, north=21.0, cell=0.5, rows=2, columns=3)
#: two in the first cell, one in the fourth, which is the first of the second row, one in the last
X, Y = np.array([10.1, 10.4, 10.2, 11.4]), np.array([20.9, 20.6, 20.4, 20.1])
Z = np.array([3.0, 5.0, 7.0, -2.0])
nan = np.nan


def test_points_fall_into_their_cells():
    assert cell_numbers(GRID, X, Y).tolist() == [0, 0, 3, 5]
    # one on a line between two cells lies in the eastern, and in the southern
    assert cell_numbers(GRID, np.array([10.5, 10.2]), np.array([20.8, 20.5])).tolist() == [1, 3]
    # one outside counts to the nearest edge
    assert cell_numbers(GRID, np.array([9.0, 13.0, 9.0]), np.array([30.0, 20.8, 0.0])).tolist() == [0, 2, 3]


def test_highest_lowest_mean_and_count():
    assert np.array_equal(highest(GRID, X, Y, Z), [[5, nan, nan], [7, nan, -2]], equal_nan=True)
    assert np.array_equal(lowest(GRID, X, Y, Z), [[3, nan, nan], [7, nan, -2]], equal_nan=True)
    assert np.array_equal(mean(GRID, X, Y, Z), [[4, nan, nan], [7, nan, -2]], equal_nan=True)
    assert point_counts(GRID, X, Y).tolist() == [[2, 0, 0], [1, 0, 1]]


def test_a_map_is_read_straight_between_the_centres():
    values = np.array([[1.0, 3.0, 7.0], [5.0, 9.0, 0.0]])
    x = np.array([10.25, 10.75, 10.5, 10.25, 10.5, 8.0, 11.25])
    y = np.array([20.75, 20.25, 20.75, 20.5, 20.5, 30.0, 20.375])
    assert at_points(GRID, values, x, y) == pytest.approx([1, 9, 2, 3, 4.5, 1, 1.75])


def plane(rows, columns):
    row, column = np.mgrid[:rows, :columns]
    return 10 + 0.2 * row - 0.1 * column


@pytest.mark.parametrize("shape", [(30, 40), (41, 23), (20, 24)])
def test_a_film_over_a_hole_in_a_plane_is_the_plane(shape):
    """A plane solves Laplace's equation, so that it is the film over each of its own holes."""
    whole = plane(*shape)
    torn = whole.copy()
    torn[5:13, 6:16] = nan
    spanned = filled(torn)
    known = np.isfinite(torn)
    assert np.array_equal(spanned[known], whole[known])
    assert np.abs(spanned - whole).max() < 0.02


def test_a_film_stays_between_the_heights_it_hangs_on():
    """The maximum principle: no wave of its own, beyond the edge of what is known either."""
    chance = np.random.default_rng(5)
    torn = np.where(chance.uniform(size=(37, 29)) < 0.1, chance.uniform(4, 9, (37, 29)), nan)
    spanned = filled(torn)
    assert np.isfinite(spanned).all()
    assert np.nanmin(torn) <= spanned.min()
    assert spanned.max() <= np.nanmax(torn)


def test_a_film_lies_near_what_lies_near_it():
    """Between a low and a high wall it rises evenly from the one to the other."""
    torn = np.full((9, 33), nan)
    torn[:, 0], torn[:, -1] = 0.0, 32.0
    spanned = filled(torn)
    assert (np.diff(spanned, axis=1) > 0.2).all()
    assert spanned == pytest.approx(np.tile(np.arange(33.0), (9, 1)), abs=3.5)  # a film is soon found, not finely


def test_what_needs_no_film():
    whole = plane(4, 4)
    assert filled(whole) is whole
    with pytest.raises(ValueError, match="nothing is known"):
        filled(np.full((3, 3), nan))
    # each of the two hangs on itself (the edge goes on level), on the other and on its neighbour: 5 2/3 and 6 1/3
    spanned = filled(np.array([[nan, 5.0], [nan, 7.0]]))
    assert spanned == pytest.approx(np.array([[17 / 3, 5], [19 / 3, 7]]), abs=1e-3)


def test_the_ground_that_cells_cover():
    cells = np.array([[True, False, True], [True, True, False]])
    outline = outline_of(cells, GRID)
    by_hand = box(10, 20.5, 10.5, 21) | box(11, 20.5, 11.5, 21) | box(10, 20, 11, 20.5)
    assert isinstance(outline, MultiPolygon)  # two cells that meet at a corner are two
    assert outline.symmetric_difference(by_hand).area < 1e-12
    apart = outline_of(np.array([[True, False, True], [False, False, False]]), GRID)
    assert apart.symmetric_difference(box(10, 20.5, 10.5, 21) | box(11, 20.5, 11.5, 21)).area < 1e-12


def test_the_end_of_a_row_and_the_start_of_the_next_are_not_neighbours():
    outline = outline_of(np.array([[False, False, True], [True, False, False]]), GRID)
    assert outline.symmetric_difference(box(11, 20.5, 11.5, 21) | box(10, 20, 10.5, 20.5)).area < 1e-12


def test_points_are_looked_up_by_their_ground():
    chance = np.random.default_rng(2)
    grid = Grid(west=-3.0, north=4.0, cell=1.0, rows=7, columns=6)
    x, y = chance.uniform(-3, 3, 300), chance.uniform(-3, 4, 300)
    points = PointIndex(grid, x, y)
    # all points of the cells that the rectangle touches, and no others
    for bounds, (west, south, east, north) in (
        ((-1.5, -0.5, 0.5, 1.5), (-2, -1, 1, 2)),
        ((-9.0, -9.0, -2.5, -2.5), (-3, -3, -2, -2)),
        ((2.5, 3.5, 9.0, 9.0), (2, 3, 3, 4)),
        ((-9.0, -9.0, 9.0, 9.0), (-3, -3, 3, 4)),
    ):
        by_hand = np.flatnonzero((x >= west) & (x <= east) & (y >= south) & (y <= north))
        assert sorted(points.within(bounds)) == by_hand.tolist()
        assert by_hand.size
    for bounds in ((5.0, 0.0, 6.0, 1.0), (-9.0, 0.0, -5.0, 1.0), (0.0, 8.0, 1.0, 9.0), (0.0, -9.0, 1.0, -5.0)):
        assert points.within(bounds).size == 0


def test_coarser_and_finer_cells():
    """A block of two by two is the mean of what is known in it; back, a cell lies a quarter of a block off its middle."""
    torn = np.array([[1.0, 3.0, nan], [5.0, nan, nan], [7.0, 9.0, 2.0]])
    assert np.array_equal(_coarser(torn), [[3, nan], [8, 2]], equal_nan=True)
    fine = _finer(np.array([[0.0, 4.0], [8.0, 12.0]]), (3, 4))
    assert fine == pytest.approx(np.array([[0, 1, 3, 4], [2, 3, 5, 6], [6, 7, 9, 10]]))


def test_a_window_of_a_grid():
    assert part_of_grid(GRID, (slice(0, 1), slice(1, 3))) == Grid(west=10.5, north=21.0, cell=0.5, rows=1, columns=2)
    assert part_of_grid(GRID, (slice(1, 4), slice(2, 9))) == Grid(west=11.0, north=20.5, cell=0.5, rows=1, columns=1)


def test_one_known_cell_fills_all_and_a_pair_is_left_as_it_is():
    alone = np.full((5, 7), nan)
    alone[4, 2] = 3.5
    assert filled(alone) == pytest.approx(np.full((5, 7), 3.5))
    # between a known 1 and a known 4 in a column, and beyond them level
    column = filled(np.array([[nan], [1.0], [nan], [nan], [4.0], [nan]]))
    assert column[:, 0] == pytest.approx([1, 1, 2, 3, 4, 4], abs=0.02)
