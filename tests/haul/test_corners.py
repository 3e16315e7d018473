"""Ways from corner to corner, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.corners import ASIDE, corners_of, quickest_by_corners
from siteplan.haul.routes.router import Router
from siteplan.land.grid import Grid


def barred(*cells, shape=(12, 12)):
    time = np.ones(shape)
    for row, column in cells:
        time[row, column] = np.inf
    return time


def layers_of(level):
    flat = np.zeros(level.shape)
    return level, flat, flat, np.full(level.shape, 1e9), True, np.ones(level.shape)


def test_a_barred_cell_has_four_corners_and_a_wall_none_along_its_side():
    found = corners_of(barred((5, 5)), None)
    beside = {(5 - ASIDE, 5 - ASIDE), (6 + ASIDE, 5 - ASIDE), (5 - ASIDE, 6 + ASIDE), (6 + ASIDE, 6 + ASIDE)}
    assert {tuple(point) for point in found} == beside
    assert len(corners_of(barred((5, 4), (5, 5), (5, 6)), None)) == 4


def test_a_round_post_has_corners_all_about_and_a_straight_wall_none():
    y, x = np.mgrid[0:40, 0:40] + 0.5
    post = corners_of(np.ones((40, 40)), np.minimum(np.hypot(x - 20, y - 20) - 2.5, 5.0))
    assert len(post) >= 4
    assert np.hypot(*(post - 20).T) == pytest.approx(2.5, abs=0.2)  # room is read between centres a cell apart
    wall = (x * math.cos(0.4) + y * math.sin(0.4)) - 26
    assert len(corners_of(np.ones((40, 40)), np.minimum(np.abs(wall) - 2, 5.0))) == 0


@pytest.mark.parametrize("towards", [False, True])
def test_round_one_end_of_a_wall_by_hand(towards):
    # a wall in row 6 over columns 3 to 8: from (4.5, 4.5) to (4.5, 8.5) round its west end, whose corners are (3, 6) and
    # (3, 7): twice hypot(1.5, 1.5) and 1
    level = barred(*((6, k) for k in range(3, 9)))
    start, end = np.array([4.5, 4.5]), np.array([4.5, 8.5])
    corners = corners_of(level, None)
    seconds = np.full(len(corners), 4.0)
    found = quickest_by_corners(start, end, corners, seconds, 100.0, layers_of(level), towards=towards)
    assert found is not None
    assert (found[0] == start).all()
    assert (found[-1] == end).all()
    exact = 2 * math.hypot(1.5, 1.5) + 1
    assert np.hypot(*np.diff(found, axis=0).T).sum() == pytest.approx(exact, abs=8 * ASIDE)  # beside the corners
    assert quickest_by_corners(start, end, corners, seconds, exact - 0.01, layers_of(level), towards=towards) is None


def test_the_router_takes_the_shorter_side_where_the_grid_takes_the_other():
    # a slanted row of cells that touch at corners: the grid must keep off each of them, a straight line need not
    shut = [(r, c) for r in range(30) for c in range(40) if 4 <= c <= 33 and (r - 14) == (c - 18) // 3]
    level = barred(*shut, shape=(30, 40))
    flat = np.zeros(level.shape)
    ground = CostField(Grid(0, 30, 1, 30, 40), level, level, flat, flat, flat, max_grade=1.0)
    router = Router(ground)
    for start, end in (((8, 3), (21, 33)), ((12, 18), (17, 18)), ((3, 1), (20, 20))):
        line, seconds = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
        back, again = router.quickest_line(router.least_times(np.array([end]), loaded=True, towards=True), start)
        assert seconds == pytest.approx(again, rel=2e-3)  # the same way, sought from its other end
        assert line.length == pytest.approx(seconds, rel=1e-9)
        assert back.coords[0] == line.coords[0]
