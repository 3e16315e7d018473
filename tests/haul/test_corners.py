"""Ways from corner to corner, by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.corners import ASIDE, corners_of, quickest_by_corners
from siteplan.haul.routes.least_time import line_time, room_at
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


def shortest(start, end, corners, layers):
    """Return the least time from corner to corner, by trying all lines again and again."""
    points = np.vstack([start, corners, end])
    times = np.array([[line_time(one, other, *layers) for other in points] for one in points])
    least = times[0]
    for _ in points:
        least = np.minimum(least, (least[:, None] + times).min(axis=0))
    return float(least[-1])


@pytest.mark.parametrize("towards", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_the_quickest_path_among_few_barred_cells_is_that_of_trying_all_lines(seed, towards):
    chance = np.random.default_rng(seed)
    cells = {tuple(cell) for cell in chance.integers(3, 9, (9, 2)).tolist()}
    level = barred(*cells) * 2.0
    level[:, :2] = 3.0  # nowhere less than 2 s a metre
    corners = corners_of(level, None)
    start, end = np.array([1.5, 5.3]), np.array([10.4, 6.7])
    flat = np.zeros(level.shape)
    slope = np.full(level.shape, 0.02)  # eastward up: loaded, there and back take the same; the steepest is free
    layers = level, slope, flat, np.full(level.shape, 1e9), True, np.ones(level.shape)
    least = shortest(end, start, corners, layers) if towards else shortest(start, end, corners, layers)
    assert math.isfinite(least)
    seconds = np.zeros(len(corners))
    found = quickest_by_corners(start, end, corners, seconds, least + 0.01, layers, towards=towards)
    assert found is not None
    path = found[::-1] if towards else found
    timed = sum(line_time(one, other, *layers) for one, other in itertools.pairwise(path))
    assert timed == pytest.approx(least, rel=1e-9)
    assert found[0].tolist() == start.tolist()
    assert found[-1].tolist() == end.tolist()
    assert quickest_by_corners(start, end, corners, seconds, least - 0.01, layers, towards=towards) is None


def test_walked_towards_the_start_it_takes_the_time_of_that_way():
    # empty and up 5 % westward, from (8, 5.5) to (2, 5.5): 6 m by Tobler's function, which is more than 6 s
    level = np.ones((12, 12))
    east = np.full(level.shape, -0.05)
    layers = level, east, np.zeros(level.shape), np.full(level.shape, 1e9), False, np.ones(level.shape)
    start, end, aside = np.array([2.0, 5.5]), np.array([8.0, 5.5]), np.array([[5.0, 5.6]])
    time = 6 * math.exp(3.5 * 0.05)
    found = quickest_by_corners(start, end, aside, np.zeros(1), time + 0.01, layers, towards=True)
    assert found is not None
    assert found.tolist() == [start.tolist(), end.tolist()]
    assert quickest_by_corners(start, end, aside, np.zeros(1), time - 0.01, layers, towards=True) is None


@pytest.mark.parametrize("pace", [1.0, 2.0])
def test_corners_that_the_grid_reaches_too_late_are_left_out(pace):
    # the search on the grid may be a tenth and three cells too long
    layers = layers_of(pace * barred((5, 5)))
    start, end, corner = np.array([1.5, 5.5]), np.array([10.5, 5.5]), corners_of(barred((5, 5)), None)
    most = shortest(start, end, corner, layers) + 0.5
    onward = pace * np.hypot(*(corner - end).T)
    late = 1.1 * (most - onward + 3.0 * pace)
    assert quickest_by_corners(start, end, corner, late - 0.01, most, layers, towards=False) is not None
    assert quickest_by_corners(start, end, corner, late + 0.01, most, layers, towards=False) is None
    assert quickest_by_corners(start, end, corner[:0], late[:0], most, layers, towards=False) is None


@pytest.mark.parametrize("quarter", range(4))
def test_each_corner_of_barred_ground_lies_aside_of_it(quarter):
    # a quarter of the map is barred: its inner corner is at (6, 6), and a path turns a little outside of it
    level = np.ones((12, 12))
    rows = slice(0, 6) if quarter < 2 else slice(6, 12)
    columns = slice(0, 6) if quarter % 2 == 0 else slice(6, 12)
    level[rows, columns] = np.inf
    (found,) = corners_of(level, None)
    expected = [6 + (ASIDE if quarter % 2 == 0 else -ASIDE), 6 + (ASIDE if quarter < 2 else -ASIDE)]
    assert found.tolist() == pytest.approx(expected, abs=1e-9)


def test_where_room_is_known_corners_keep_a_fiftieth_of_a_cell():
    # about the end of a wall that is 4 cells thick and rounded, from the west to (20, 20)
    y, x = np.mgrid[0:40, 0:40] + 0.5
    wall = np.where(x < 20, np.abs(y - 20), np.hypot(x - 20, y - 20)) - 2.3
    found = corners_of(np.ones((40, 40)), np.minimum(wall, 5.0))
    assert len(found) > 1
    away = np.where(found[:, 0] < 20, np.abs(found[:, 1] - 20), np.hypot(*(found - 20).T))
    assert away == pytest.approx(np.full(len(found), 2.32), abs=0.06)  # room is read between centres a cell apart
    room = np.minimum(wall, 5.0)
    assert [room_at(*point, room) for point in found] == pytest.approx([0.02] * len(found), abs=2e-3)
    # three cells along the straight flank, and back, there are 0.3 cells more of room at one side at most: on the flank
    # the lesser is 0, so a corner is no farther from the round end than three cells
    assert (found[:, 0] > 17).all()
    assert ((found[:, 0] > 20) | (np.abs(found[:, 1] - 20) < 3)).all()
    # less than five cells from the map's edge there are none: the three cells along, and two more
    for column, row in ((2.2, 20), (37.8, 20), (20, 2.2), (20, 37.8)):
        beside = corners_of(np.ones((40, 40)), np.minimum(np.hypot(x - column, y - row) - 2.3, 5.0))
        assert len(beside) == 0
