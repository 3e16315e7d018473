"""Do cells lie where a GeoTIFF would have them?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

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
