"""Is the ground read between its cells, and the hills between their rows?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.grid import Grid
from siteplan.land.terrain import Skyline, Terrain, earth_curve_drop

GRID = Grid(west=0, north=10, cell=1, rows=10, columns=20)


def test_corner_of_four_cells_by_hand():
    known = Terrain(Grid(0, 2, 1, 2, 2), np.array([[1.0, 3.0], [5.0, 11.0]]))
    assert known.height_at([1.0], [1.0]) == pytest.approx([5.0])  # the mean of the four
    assert known.height_at([0.5, 1.5], [1.5, 0.5]) == pytest.approx([1.0, 11.0])  # at the centres
    assert known.height_at([0.75], [1.5]) == pytest.approx([1.5])  # a quarter of the way from 1 to 3
    assert known.height_at([0.0, 2.0], [2.0, 0.0]) == pytest.approx(
        [1.0, 11.0]
    )  # the edge takes the outermost centres


def test_outside_and_unknown_are_no_number():
    elevation = np.zeros((10, 20))
    elevation[0, 0] = np.nan
    ground = Terrain(GRID, elevation)
    assert np.isnan(ground.height_at([-0.1, 20.1, 5, 5, 0.5], [5, 5, -0.1, 10.1, 9.5])).all()
    assert ground.height_at([], []).shape == (0,)


def test_beside_the_unknown_a_cell_is_known_in_its_middle_and_towards_what_is_known():
    # known in the middle of nine; two more known: west and south of it
    nan = np.nan
    patch = Terrain(Grid(0, 3, 1, 3, 3), np.array([[nan, nan, nan], [5.0, 7.0, nan], [nan, 9.0, nan]]))
    assert patch.height_at([1.5, 1.0, 1.5, 1.25], [1.5, 1.5, 1.0, 1.5]).tolist() == [7.0, 6.0, 8.0, 6.5]
    assert np.isnan(patch.height_at([1.6, 1.5, 1.4], [1.5, 1.6, 1.4])).all()


def test_single_cell():
    assert Terrain(Grid(0, 1, 1, 1, 1), np.array([[7.0]])).height_at([0.2, 0.9], [0.1, 0.9]).tolist() == [7, 7]


@settings(deadline=None, max_examples=40)
@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.5, 19.5), st.floats(0.5, 9.5))
def test_a_plane_is_read_exactly(rise_east, rise_north, x, y):
    east, north = np.meshgrid(GRID.x, GRID.y)
    ground = Terrain(GRID, 50 + rise_east * east + rise_north * north)
    assert ground.height_at([x], [y]) == pytest.approx([50 + rise_east * x + rise_north * y], abs=1e-9)


def test_hills_run_round_past_north():
    hills = Skyline(np.array([10.0, 350.0]), np.array([4.0, 8.0]))
    assert hills.elevation_at([0, 360, -10, 10, 180]) == pytest.approx([6, 6, 8, 4, 6])


def test_hills_of_one_azimuth_are_as_high_all_round():
    assert Skyline(np.array([90.0]), np.array([3.0])).elevation_at([0, 90, 271]).tolist() == [3, 3, 3]


def test_the_ground_drops_with_the_square_of_the_distance():
    """Levelling: the drop of the earth less the bending of the ray, 0.87 d2 / 2 R; 68 mm at a kilometre."""
    x, y = np.array([1000.0, 0.0, 3000.0, -4000.0]), np.array([0.0, -1000.0, 4000.0, 3000.0])
    assert earth_curve_drop(x, y) == pytest.approx([0.068278, 0.068278, 1.706953, 1.706953], abs=1e-6)


def test_the_highest_that_is_known():
    assert Terrain(Grid(0, 1, 1, 1, 3), np.array([[2.0, 7.0, np.nan]])).highest == 7.0
    assert Terrain(Grid(0, 1, 1, 1, 2), np.full((1, 2), np.nan)).highest == -np.inf


@pytest.mark.parametrize(("x", "y", "height"), [
    (0.0, 2.0, 1.0), (3.0, 0.0, 40.0), (0.0, 0.0, 10.0), (3.0, 2.0, 4.0),  # the corners of the raster
    (3.001, 1.0, np.nan), (-0.001, 1.0, np.nan), (1.0, 2.001, np.nan), (1.0, -0.001, np.nan),
    (2.5, 1.0, 22.0), (0.5, 1.0, 5.5), (1.75, 0.5, 25.0), (2.75, 1.75, 4.0), (0.25, 0.25, 10.0), (1.0, 1.0, 8.25),
])  # fmt: skip
def test_between_six_cells_by_hand(x, y, height):
    for cell, west, south in ((1, 0.0, 0.0), (2.5, 0.0, 0.0), (0.5, 300.0, -70.0)):
        grid = Grid(west=west, north=south + 2 * cell, cell=cell, rows=2, columns=3)
        ground = Terrain(grid, np.array([[1.0, 2.0, 4.0], [10.0, 20.0, 40.0]]))
        assert ground.height_at([west + cell * x], [south + cell * y]) == pytest.approx([height], nan_ok=True)


def test_a_strip_of_one_row_or_column():
    row = Terrain(Grid(0, 1, 1, 1, 3), np.array([[1.0, 2.0, 4.0]]))
    assert row.height_at([0.5, 1.0, 2.25], [0.1, 0.9, 0.5]) == pytest.approx([1, 1.5, 3.5])
    column = Terrain(Grid(0, 3, 1, 3, 1), np.array([[1.0], [2.0], [4.0]]))
    assert column.height_at([0.1, 0.9, 0.5], [2.5, 2.0, 0.75]) == pytest.approx([1, 1.5, 3.5])
