"""When is a patch of cells a row? Both sides of each bound, on cells of any size."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.heights.low_rows import _line, _row
from siteplan.land.grid import Grid


def row(cells, *, cell=0.5, tops=1.5, points=8, leaves=1.0):
    """Return the row of cells, each with its top and its points, of which so many come from split pulses."""
    cells = np.array(cells, dtype=bool)
    tops = np.broadcast_to(tops, cells.shape).astype(float)
    count = np.broadcast_to(points, cells.shape).astype(np.intp)
    rows, columns = cells.shape
    grid = Grid(west=0.0, north=rows * cell, cell=cell, rows=rows, columns=columns)
    return _row(cells, tops, leaves * count, count, grid)


@pytest.mark.parametrize(("shape", "cell", "found"), [
    ((1, 10), 0.5005, True), ((1, 10), 0.4995, False),  # 5 m long
    ((5, 20), 0.62, True), ((5, 20), 0.63, False),  # 2.5 m wide, and a cell
    ((2, 7), 1.0, True), ((4, 13), 0.5, False), ((4, 14), 0.5, True),  # 3.5 times as long as wide
])  # fmt: skip
def test_how_long_and_how_wide_a_row_is(shape, cell, found):
    assert (row(np.ones(shape), cell=cell) is not None) is found


@pytest.mark.parametrize(("gone", "found"), [(0, True), (1, False)])
def test_how_much_of_its_rectangle_a_row_fills(gone, found):
    """20 cells and a lump of 12 are 32 of 80, four tenths; one less is too little."""
    cells = np.zeros((4, 20), dtype=bool)
    cells[0], cells[1:, :4] = True, True
    cells[2, 3] = not gone
    assert (row(cells) is not None) is found


@pytest.mark.parametrize(("points", "found"), [
    ([4] * 10, True), ([4] * 9 + [3], False),  # 40 and 39 on 10 m
    ([10] * 6 + [0] * 4, True), ([20] * 5 + [0] * 5, False),  # six and five cells of ten
])  # fmt: skip
def test_how_many_points_a_row_wants(points, found):
    assert (row(np.ones((1, 10)), cell=1.0, points=points) is not None) is found


def test_cells_without_a_top_have_no_points():
    tops = [1.5] * 7 + [np.nan] * 3
    assert row(np.ones((1, 10)), cell=1.0, tops=tops, points=8).points == 56
    assert row(np.ones((1, 10)), cell=1.0, tops=tops, points=5) is None  # 35 on 10 m


@pytest.mark.parametrize(("rows", "cell", "leaves", "kind"), [
    (2, 0.5, 0.39, "fence"), (2, 0.51, 0.39, None), (2, 0.51, 0.41, "hedge"),  # a metre wide
    (1, 0.59, 1.0, "fence"), (1, 0.61, 1.0, "hedge"), (1, 0.61, 0.39, "fence"),  # 0.6 m wide
])  # fmt: skip
def test_hedge_or_fence_or_none(rows, cell, leaves, kind):
    found = row(np.ones((rows, 20)), cell=cell, leaves=leaves, points=100)
    assert (found and found.kind) == kind


@pytest.mark.parametrize(("more", "found"), [(0.49, True), (0.51, False)])
def test_how_even_a_row_is(more, found):
    """Of eleven cells the second highest is the 90th percentile: half a metre above the middle at most."""
    one = row(np.ones((1, 11)), tops=[1.0] * 9 + [1 + more] * 2)
    assert (one is not None) is found
    if one:
        assert (one.height, one.spread) == pytest.approx((1.49, 0.245))


def test_a_row_in_full():
    """Tops from 1 to 1.9 m: 1.45 m in the middle, 1.81 at nine tenths; the highest is 0.45 m above the middle."""
    found = row(np.ones((2, 10)), cell=0.75, tops=np.arange(1, 2, 0.1), points=3)
    assert (found.kind, found.points) == ("hedge", 60)
    assert (found.width, found.height, found.spread) == pytest.approx((0.75, 1.81, 0.225))
    ends = sorted(found.line.coords)
    assert [pytest.approx(end) for end in ends] == [(0.0, 0.75), (7.5, 0.75)]
    flat = row(np.ones((1, 10)), cell=0.55)  # cells as wide as the row: a tenth of a metre is left
    assert (flat.width, flat.height, flat.spread) == (0.1, 1.5, 0.15)


@pytest.mark.parametrize(("heading", "length", "cells"), [
    (0.0, 2.0, ["010", "010", "010"]),
    (45.0, 4.0, ["00000", "00010", "00100", "01000", "00000"]),
    (135.0, 4.0, ["00000", "01000", "00100", "00010", "00000"]),
    # 22.5 degrees: two cells along are 1.85 up and 0.77 aside, one and a half 1.39 and 0.57, one 0.92 and 0.38
    (22.5, 4.0, ["00010", "00110", "00100", "01100", "01000"]),
    (90.0, 3.4, ["00000", "00000", "11111", "00000", "00000"]),
])  # fmt: skip
def test_a_line_of_cells(heading, length, cells):
    assert _line(heading, length).astype(int).tolist() == [[int(cell) for cell in line] for line in cells]


def test_one_point_in_a_cell_is_enough():
    """Of cells of a quarter of a metre, eight to a metre of a row half a metre wide."""
    found = row(np.ones((2, 24)), cell=0.25, points=1)
    assert (found.points, found.width) == (48, 0.25)
