"""Do cells lie where a GeoTIFF would have them?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from siteplan.land.grid import Grid, grid_over


def test_first_cell_is_the_north_west():
    grid = Grid(west=0, north=2, cell=1, rows=2, columns=3)
    assert grid.shape == (2, 3)
    assert (grid.east, grid.south) == (3, 0)
    assert grid.x.tolist() == [0.5, 1.5, 2.5]
    assert grid.y.tolist() == [1.5, 0.5]
    assert grid.centres().tolist() == [[0.5, 1.5], [1.5, 1.5], [2.5, 1.5], [0.5, 0.5], [1.5, 0.5], [2.5, 0.5]]


def test_inside_counts_centres_and_the_edge():
    grid = Grid(west=0, north=2, cell=1, rows=2, columns=3)
    assert grid.inside(box(0, 0, 1.5, 1)).tolist() == [[False, False, False], [True, True, False]]
    assert grid.inside(box(0.6, 0.6, 1.4, 1.4)).any() == False  # noqa: E712  # between the centres


def test_cell_of_every_centre_is_its_own():
    grid = Grid(west=-1, north=4, cell=0.25, rows=7, columns=5)
    cells = [grid.cell_of(x, y) for x, y in grid.centres()]
    assert cells == [(row, column) for row in range(7) for column in range(5)]
    assert grid.cell_of(-1.1, 4.1) == (-1, -1)  # outside


@settings(deadline=None, max_examples=60)
@given(
    st.floats(-500, 500),
    st.floats(-500, 500),
    st.floats(0.01, 80),
    st.floats(0.01, 80),
    st.sampled_from([0.25, 0.3, 1.0]),
)
def test_grid_covers_its_shape_and_is_centred_on_it(west, south, width, height, cell):
    shape = box(west, south, west + width, south + height)
    grid = grid_over(shape, cell)
    slack = 1e-6 * cell + 1e-9
    assert grid.west <= west + slack
    assert grid.east >= west + width - slack
    assert grid.south <= south + slack
    assert grid.north >= south + height - slack
    assert grid.columns * cell < width + cell * (1 + 1e-6)  # not a cell more than needed
    assert (grid.west + grid.east) / 2 == pytest.approx(west + width / 2, abs=1e-6)
    assert np.diff(grid.x) == pytest.approx(cell) if grid.columns > 1 else True


@pytest.mark.parametrize("cell", [0.25, 2.0])
def test_the_edges_of_cells_that_are_no_metre_wide(cell):
    grid = Grid(west=-3, north=7, cell=cell, rows=4, columns=6)
    assert (grid.east, grid.south) == (-3 + 6 * cell, 7 - 4 * cell)
    assert grid.x.tolist() == [-3 + cell * (k + 0.5) for k in range(6)]
    assert grid.y.tolist() == [7 - cell * (k + 0.5) for k in range(4)]
    assert grid.cell_of(-3 + 2.5 * cell, 7 - 1.5 * cell) == (1, 2)


def test_the_part_of_an_empty_shape_is_nothing():
    grid = Grid(west=0, north=2, cell=1, rows=2, columns=3)
    where, there = grid.part(Polygon())
    assert where == (slice(0, 0), slice(0, 0))
    assert there.shape == (0, 0)
    assert not grid.inside(Polygon()).any()


@pytest.mark.parametrize(("shape", "rows", "columns"), [
    (box(10, 20, 12, 22), (8, 10), (0, 2)),  # the south-west corner
    (box(14.9, 25.1, 99, 99), (0, 5), (5, 10)),
    (box(10.5, 20.5, 12.5, 22.5), (7, 10), (0, 3)),  # from centre to centre, both counted
    (box(10.51, 20.51, 12.49, 22.49), (8, 9), (1, 2)),
    (box(0, 0, 5, 5), (10, 10), (0, 0)),
])  # fmt: skip
def test_rows_and_columns_that_a_shape_spans(shape, rows, columns):
    grid = Grid(west=10, north=30, cell=1, rows=10, columns=10)
    where, there = grid.part(shape)
    assert where == (slice(*rows), slice(*columns))
    assert there.shape == (rows[1] - rows[0], columns[1] - columns[0])
    assert there.all()


@pytest.mark.parametrize(
    ("width", "columns"), [(0.1, 1), (0.5, 1), (0.5000002, 1), (0.500001, 2), (1.0, 2), (1.2, 3)]
)
def test_a_millionth_of_a_cell_makes_no_cell_more(width, columns):
    wide, tall = grid_over(box(0, 0, width, 2), 0.5), grid_over(box(0, 0, 2, width), 0.5)
    assert (wide.columns, wide.rows) == (columns, 4)
    assert (tall.columns, tall.rows) == (4, columns)
    assert (wide.west + wide.east) / 2 == pytest.approx(width / 2)
    assert (tall.south + tall.north) / 2 == pytest.approx(width / 2)


def test_a_line_has_a_cell():
    assert grid_over(LineString([(0, 0), (0, 2)]), 0.5).shape == (4, 1)
    assert grid_over(Point(3, 4), 0.5) == Grid(west=2.75, north=4.25, cell=0.5, rows=1, columns=1)
