"""Is the ground between measured heights a TIN: planes exact, everything else within the published bound?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.grid import Grid
from siteplan.land.measured_ground import ground_between, tilted_ground

GRID = Grid(west=-10, north=30, cell=1, rows=40, columns=40)  # reaches 10 m beyond the heights below, to each side
CENTRES = GRID.centres()
SQUARE = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]])


def lifted(places, height):
    return np.column_stack([places, height(places[:, 0], places[:, 1])])


def test_a_plane_by_hand():
    # 0 at the south-west corner, 0.5 m up to the east over 20 m, 1 m down to the north: z = x/40 - y/20. At the
    # centre of the cell at 3.5 east, 7.5 north: 0.0875 - 0.375 = -0.2875
    ground = ground_between(lifted(SQUARE[:3], lambda x, y: x / 40 - y / 20), GRID)
    row, column = GRID.cell_of(3.5, 7.5)
    assert ground.elevation[row, column] == pytest.approx(-0.2875, abs=1e-9)
    assert ground.height_at([3.5, 4.0], [7.5, 8.0]) == pytest.approx([-0.2875, -0.3], abs=1e-9)


@settings(deadline=None, max_examples=30)
@given(
    st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=3, max_size=12, unique=True),
    st.floats(-0.3, 0.3),
    st.floats(-0.3, 0.3),
    st.floats(-100, 100),
)
def test_a_plane_comes_back_everywhere(places, east, north, start):
    """Linear interpolation over any triangles is exact on a plane (de Berg et al. 2008, chapter 9), so is its trend."""
    found = np.array(places, dtype=float)
    spread = np.linalg.svd(found - found.mean(axis=0), compute_uv=False)
    if spread[1] < 1e-6 * spread[0]:
        return  # on one line: told apart below
    ground = ground_between(lifted(found, lambda x, y: start + east * x + north * y), GRID)
    expected = start + east * CENTRES[:, 0] + north * CENTRES[:, 1]
    assert ground.elevation.ravel() == pytest.approx(expected, abs=1e-6)


def test_it_passes_through_what_was_measured():
    seeded = np.random.default_rng(7)
    measured = np.column_stack([seeded.uniform(0, 20, (9, 2)), seeded.uniform(0, 2, 9)])
    cells = Grid(measured[4, 0] - 0.5e-3, measured[4, 1] + 0.5e-3, 1e-3, 1, 1)  # one cell, centred on the fifth
    assert ground_between(measured, cells).elevation[0, 0] == pytest.approx(measured[4, 2], abs=1e-6)


def test_a_bowl_within_the_published_bound():
    """Waldron (1998), The error in linear interpolation at the vertices of a simplex, from memory.

    |f - Lf| <= M R^2 / 2 over a triangle of circumradius R whose second derivatives are at most M, reached by
    a (x^2 + y^2), where M = 2 a, at the circumcentre. Heights 4 m apart on a square: R^2 = 8 m2, so that 0.01 (x^2 +
    y^2) is off by 0.08 m in the middle of each square, and nowhere by more.
    """
    x, y = np.meshgrid(np.arange(0.0, 21, 4), np.arange(0.0, 21, 4))
    places = np.column_stack([x.ravel(), y.ravel()])
    inside = Grid(west=0, north=20, cell=0.5, rows=40, columns=40)
    ground = ground_between(lifted(places, lambda x, y: 0.01 * (x**2 + y**2)), inside)
    centres = inside.centres()
    off = ground.elevation.ravel() - 0.01 * (centres**2).sum(axis=1)
    assert off.min() >= -1e-9
    assert off.max() <= 0.08 + 1e-9
    middle = Grid(west=1.5, north=2.5, cell=1, rows=1, columns=1)  # its one centre is that of the first square
    bowl = ground_between(lifted(places, lambda x, y: 0.01 * (x**2 + y**2)), middle)
    # points are moved toward the middle by 1e-9 of the way, so that those on the rim lie within a triangle
    assert bowl.elevation[0, 0] - 0.08 == pytest.approx(0.08, abs=1e-7)


def test_it_is_continuous_across_the_hull():
    ground = ground_between(lifted(SQUARE, lambda x, y: np.where((x > 0) & (y > 0), 1.0, 0.0)), GRID)
    steps = max(np.abs(np.diff(ground.elevation, axis=axis)).max() for axis in (0, 1))
    assert steps < 0.2  # a metre over a square of 20 m; a jump at the rim would be some tenths in one cell


def test_few_heights():
    one = ground_between(np.array([[5.0, 5.0, 3.0]]), GRID)
    assert one.elevation == pytest.approx(np.full(GRID.shape, 3.0))
    two = ground_between(np.array([[0.0, 5.0, 0.0], [10.0, 5.0, 1.0]]), GRID)  # a tenth up to the east, level across
    assert two.elevation.ravel() == pytest.approx(CENTRES[:, 0] / 10, abs=1e-9)
    bent = ground_between(np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 1.0], [20.0, 0.0, 1.0]]), GRID)
    row, column = GRID.cell_of(9.5, 25.5)
    assert bent.elevation[row, column] == pytest.approx(0.95, abs=1e-9)
    nearly = ground_between(np.array([[0.0, 20.0, 0.0], [10.0, 20.0, 1.0], [20.0, 20.0 + 1e-10, 1.0]]), GRID)
    assert nearly.elevation == pytest.approx(bent.elevation, abs=1e-6)  # a hair off the line is on it
    slanted = ground_between(np.array([[10.0, 20.0, 0.0], [15.0, 15.0, 1.0], [20.0, 10.0, 1.0]]), GRID)
    row, column = GRID.cell_of(12.5, 17.5)  # half way between the first two
    assert slanted.elevation[row, column] == pytest.approx(0.5, abs=1e-9)


@pytest.mark.parametrize(("toward", "east", "north"), [(0, 0, 1), (90, 1, 0), (180, 0, -1), (225, -1, -1)])
def test_a_single_fall(toward, east, north):
    # 0.6 m lower after 20 m: three in a hundred, downhill along the azimuth
    ground = tilted_ground(0.6, 20.0, toward, (10.0, 10.0), GRID)
    size = np.hypot(east, north)
    expected = -0.03 * ((CENTRES[:, 0] - 10) * east + (CENTRES[:, 1] - 10) * north) / size
    assert ground.elevation.ravel() == pytest.approx(expected, abs=1e-12)
