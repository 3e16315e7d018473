"""Levelling a bed: by hand on planes, and by law."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.grid import Grid
from siteplan.land.outline import rectangle
from siteplan.land.terrain import Terrain
from siteplan.place.merit.levelling import levelling

GRID = Grid(west=-10, north=10, cell=0.5, rows=40, columns=40)


def plane(east, north):
    x, y = np.meshgrid(GRID.x, GRID.y)
    return Terrain(GRID, 50 + east * x + north * y)


def test_a_wedge_by_hand():
    # 10 % across a bed 4 m by 1 m: half of it is cut as a wedge 0.5 m wide and 0.05 m deep: 4 x 0.5 x 0.05 / 2
    found = levelling(rectangle(0, 0, length=4, width=1, heading=0), 0.4, plane(0.1, 0.0))
    assert found.slope == pytest.approx(0.1)
    assert found.drop == pytest.approx(0.1)
    assert found.cut == pytest.approx(0.05, rel=1e-9)
    assert found.fill == pytest.approx(0.05, rel=1e-9)
    assert found.lower_board == pytest.approx(0.5)


def test_along_the_slope_the_drop_is_longer():
    found = levelling(rectangle(0, 0, length=4, width=1, heading=90), 0.4, plane(0.1, 0.0))
    assert found.drop == pytest.approx(0.4)
    assert found.cut == pytest.approx(1 * 2 * 0.2 / 2)


@settings(deadline=None, max_examples=30)
@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.floats(0, 179))
def test_cut_and_fill_balance_at_the_mean_height(east, north, heading):
    found = levelling(rectangle(1, -1, length=2.4, width=1.2, heading=heading), 0.4, plane(east, north))
    assert found.cut == pytest.approx(found.fill, abs=1e-9)
    assert found.slope == pytest.approx(np.hypot(east, north), abs=1e-9)
    assert found.lower_board >= 0.4


def test_unknown_ground_is_taken_as_level():
    terrain = Terrain(GRID, np.full(GRID.shape, np.nan))
    assert levelling(rectangle(0, 0, length=2, width=1, heading=0), 0.4, terrain).cut == 0.0
