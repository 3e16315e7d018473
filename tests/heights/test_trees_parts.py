"""The steps from a canopy to its trees, each on a few cells by hand: smoothing, passes, merging, outline, tops."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.heights.trees import (
    _crown,
    _is_group,
    _merged,
    _passes,
    _smooth_outline,
    _smoothed,
    _tops,
    sound_canopy,
)
from siteplan.land.grid import Grid

nan, none = np.nan, -np.inf


def grid_of(cells, cell):
    rows, columns = np.shape(cells)
    return Grid(west=0.0, north=rows * cell, cell=cell, rows=rows, columns=columns)


def test_smoothing_takes_known_cells_alone():
    canopy = np.full((12, 12), nan)
    canopy[5, 5:7] = 4.0, 8.0
    smooth = _smoothed(canopy)
    # a neighbour counts exp(-1/2) = 0.60653 as much: (4 + 0.60653 x 8) / 1.60653, and the other way round
    assert smooth[5, 5:7] == pytest.approx([5.5102, 6.4898], abs=1e-4)
    assert np.isfinite(smooth).sum() == 2
    assert (smooth[~np.isfinite(canopy)] == none).all()
    assert _smoothed(np.full((4, 5), 6.5)) == pytest.approx(np.full((4, 5), 6.5))


def test_the_passes_between_pieces_from_the_highest_down():
    canopy = np.array([[9.0, 6.0, 7.0, none], [8.0, 5.0, 8.0, 4.0]])
    piece = np.array([[1, 1, 2, 0], [1, 3, 2, 3]], dtype=np.int32)
    assert _passes(canopy, piece) == [(6.0, 1, 2), (5.0, 1, 3), (5.0, 1, 3), (5.0, 2, 3), (4.0, 2, 3)]


def test_passes_that_are_as_high_go_by_the_numbers_of_their_pieces():
    flat = np.full((3, 3), 5.0)
    assert _passes(flat, np.array([[2, 3, 0], [0, 0, 0], [1, 4, 0]], dtype=np.int32)) == [(5.0, 1, 4), (5.0, 2, 3)]
    assert _passes(flat, np.array([[1, 3, 0], [0, 0, 0], [1, 2, 0]], dtype=np.int32)) == [(5.0, 1, 2), (5.0, 1, 3)]


def merged(smooth, piece, tops, cell):
    smooth = np.array(smooth, dtype=float)
    return _merged(smooth, np.array(piece, dtype=np.int32), dict(enumerate(tops, 1)), grid_of(smooth, cell)).tolist()


@pytest.mark.parametrize(("cell", "one"), [(0.853, True), (0.855, False)])
def test_a_top_in_the_window_of_a_lower_one_joins_it(cell, one):
    """The window of 10 m is 2.51503 + 0.00901 x 100 = 3.416 m wide: two cells from each other are 1.706 or 1.710 m."""
    assert merged([[12, 0, 10]], [[1, 1, 2]], [0, 2], cell) == [[1, 1, 1 if one else 2]]
    assert merged([[10, 0, 12]], [[1, 1, 2]], [0, 2], cell) == ([[2, 2, 2]] if one else [[1, 1, 2]])
    assert merged([[12], [0], [10]], [[1], [1], [2]], [0, 2], cell) == [[1], [1], [1 if one else 2]]
    assert merged([[0, 12, 0, 10]], [[1, 1, 1, 2]], [1, 3], cell) == [[1, 1, 1, 1 if one else 2]]


@pytest.mark.parametrize(("cell", "one"), [(0.763, True), (0.765, False)])
def test_tops_are_apart_by_rows_and_columns(cell, one):
    """One row and two columns: the root of 5 cells, 1.706 or 1.711 m."""
    found = merged([[12, 0, 0], [0, 0, 10]], [[1, 1, 1], [1, 1, 2]], [0, 5], cell)
    assert found == [[1, 1, 1], [1, 1, 1 if one else 2]]


@pytest.mark.parametrize(("high", "low", "dip", "one"), [
    (20, 10, 9.21, True), (20, 10, 9.19, False),  # 8 % of the lower top
    (20, 5, 4.51, True), (20, 5, 4.49, False),  # half a metre at least
])  # fmt: skip
def test_a_dip_that_parts(high, low, dip, one):
    """Cells of 5 m: far beyond every window, and none is narrow."""
    assert merged([[high, dip, low]], [[1, 1, 2]], [0, 2], 5.0) == [[1, 1, 1 if one else 2]]


@pytest.mark.parametrize(("cell", "dip", "one"), [
    (2.70, 7.51, True), (2.70, 7.49, False),  # a quarter of the height
    (2.71, 7.51, False),  # 7.29 m2 and 7.34; 0.8 of the window's pi x 1.708^2 are 7.33
])  # fmt: skip
def test_a_piece_that_is_too_narrow(cell, dip, one):
    assert merged([[12, dip, 10]], [[1, 1, 2]], [0, 2], cell) == [[1, 1, 1 if one else 2]]


def test_a_narrow_piece_that_took_in_another_is_narrow_no_more():
    """In cells of a metre: 7 m2 are less than 0.8 pi 1.726^2 = 7.49 of a top of 10.2 m, with 2 m2 more they are not."""
    middle = [9, 10.2, 9, 9, 9, 9, 9]
    row, pieces = [12, *[9] * 18, 8, *middle], [1] * 20 + [2] * 7
    assert merged([row], [pieces], [0, 21], 1.0) == [[1] * 27]
    assert merged([[*row, 8.5, 10]], [[*pieces, 3, 3]], [0, 21, 28], 1.0) == [[1] * 20 + [2] * 9]


@pytest.mark.parametrize(("cell", "kept"), [(0.47, False), (0.475, True)])
def test_two_square_metres_are_a_crown(cell, kept):
    """Nine cells: 1.99 or 2.03 m2."""
    plant = np.full((9, 9), nan)
    plant[3:6, 3:6] = 5.0
    assert np.isfinite(sound_canopy(plant, cell)).sum() == 9 * kept
    whole = np.ones((3, 3), dtype=bool)
    grid = grid_of(plant, cell)
    crown = _crown(plant[3:6, 3:6], whole, grid, (slice(3, 6), slice(3, 6)))
    assert (crown is not None) is kept
    if kept:
        assert crown.cells.tolist() == [30, 31, 32, 39, 40, 41, 48, 49, 50]  # nine in a row, from the fourth row on
        assert (crown.top, crown.tops, crown.group) == (5.0, 1, False)


def crown(heights, cell):
    heights = np.array([heights], dtype=float)
    return _crown(heights, np.isfinite(heights), grid_of(heights, cell), (slice(0, 1), slice(0, heights.size)))


def test_of_a_crown_a_cell_wide_its_highest_are_kept():
    """98 % of the top; where they are apart the most of them."""
    assert crown([9.7, 10.0, 9.85], 1.5).cells.tolist() == [1, 2]
    assert crown([10.0, 1.0, 9.9, 9.85], 1.5).cells.tolist() == [2, 3]
    assert crown([9.9, 9.85, 1.0, 10.0], 1.5).cells.tolist() == [0, 1]
    assert crown([10.0], 1.4) is None  # 1.96 m2


def test_the_outline_of_cells_is_smooth_and_about_as_large():
    cells = np.zeros((26, 40), dtype=bool)
    cells[3:23, 3:23] = True
    square = _smooth_outline(cells, grid_of(cells, 1.0))
    assert square.area == pytest.approx(400, rel=0.03)  # each side may lean by 0.3 of a cell
    assert square.symmetric_difference(box(3, 3, 23, 23)).area < 12
    assert len(square.exterior.coords) <= 13  # three points at a corner at the most
    cells[9, 23:36] = True  # a twig a cell wide
    assert _smooth_outline(cells, grid_of(cells, 1.0)).symmetric_difference(square).area < 5
    cells[12, 12] = False  # a pit of a cell
    assert len(_smooth_outline(cells, grid_of(cells, 1.0)).interiors) == 0
    one = np.zeros((3, 3), dtype=bool)
    one[0, 1] = True
    assert _smooth_outline(one, grid_of(one, 0.5)).equals(box(0.5, 1.0, 1.0, 1.5))


@pytest.mark.parametrize(("lower", "across", "down", "tops"), [
    # of 5.05 m it is 2.745 m wide, five cells of half a metre: it reaches two; of 5.16 m 2.755 m, six, and so three
    (5.05, 3, 0, 2), (5.16, 3, 0, 1), (5.05, 2, 0, 1), (5.16, 4, 0, 2), (5.16, 0, 3, 1), (5.05, 0, 3, 2),
    (5.16, 3, 1, 1), (5.16, 3, 2, 2),  # a disc: the root of 10 cells, but not of 13, are within 3.5
])  # fmt: skip
def test_a_top_in_the_window_of_its_height_is_none(lower, across, down, tops):
    canopy = np.full((21, 21), none)
    canopy[8, 8], canopy[8 + down, 8 + across] = 7.0, lower
    assert _tops(canopy, 0.5) == tops


def test_the_least_window_is_three_cells_wide():
    canopy = np.full((9, 9), none)
    canopy[4, 2], canopy[4, 4] = 3.0, 2.5  # 2.57 m in cells of a metre
    assert _tops(canopy, 1.0) == 2
    canopy[4, 4] = none
    assert _tops(canopy, 5.0) == 1
    assert _tops(np.full((5, 5), none), 0.5) == 1


@pytest.mark.parametrize(("cut", "group"), [(6.4, False), (6.8, True)])
def test_the_raggedness_of_an_angle(cut, group):
    """Of 10 m with a corner out of it: 0.742 and 0.699 of its hull; from 0.72 on it is one crown."""
    angle = Polygon([(0, 0), (10, 0), (10, 10 - cut), (10 - cut, 10 - cut), (10 - cut, 10), (0, 10)])
    assert _is_group(angle, 12.0) is group
