"""Times over small grids: moves and lines cell by cell, Dijkstra's search by trying all, paths by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from siteplan.haul.routes.grid_moves import octile_moves, taut_moves
from siteplan.haul.routes.least_time import (
    dijkstra,
    line_time,
    move_times,
    pull_taut,
    relax,
    subdivide,
    times_of_return,
)

FREE = 1e9


def layers_of(level, *, east=0.0, north=0.0, room=FREE, loaded=True, max_grade=1.0):
    """Return what lines are timed by: time of a metre, rises, room, whether loaded, steepest climb."""
    level = np.asarray(level, dtype=float)
    full = [
        np.ascontiguousarray(np.broadcast_to(np.asarray(one, dtype=float), level.shape))
        for one in (east, north, room, max_grade)
    ]
    return level, *full[:3], loaded, full[3]


def pace(level, rise, *, loaded, max_grade):
    """Return the time of a metre: loaded 1 + (rise / 0.1)2 times that on the level, empty by Tobler's function."""
    if loaded:
        return math.inf if rise > max_grade else level * (1 + (rise / 0.1) ** 2)
    return level * math.exp(3.5 * abs(rise + 0.05)) / math.exp(3.5 * 0.05)


def exact(start, end, layers):
    """Return the time of a line, cut at each edge of a row or column; it must not run along an edge."""
    level, east, north, _, loaded, max_grade = layers
    length = math.dist(start, end)
    cuts = {0.0, 1.0}
    for a, b in zip(start, end, strict=True):
        if a != b:
            cuts |= {(edge - a) / (b - a) for edge in range(math.floor(min(a, b)) + 1, math.ceil(max(a, b)))}
    total = 0.0
    for begin, stop in itertools.pairwise(sorted(cuts)):
        u, v = (a + (begin + stop) / 2 * (b - a) for a, b in zip(start, end, strict=True))
        cell = int(v), int(u)
        rise = (east[cell] * (end[0] - start[0]) - north[cell] * (end[1] - start[1])) / length
        if stop - begin > 1e-9:
            total += (stop - begin) * length * pace(level[cell], rise, loaded=loaded, max_grade=max_grade[cell])
    return total


def ground(seed, shape, *, loaded, slope=0.2):
    chance = np.random.default_rng(seed)
    return layers_of(
        chance.uniform(1, 3, shape), east=chance.uniform(-slope, slope, shape),
        north=chance.uniform(-slope, slope, shape), loaded=loaded,
    )  # fmt: skip


@pytest.mark.parametrize("loaded", [True, False])
def test_lines_cross_cell_after_cell(loaded):
    layers, chance = ground(1, (8, 9), loaded=loaded), np.random.default_rng(2)
    for start, end in chance.uniform(0.6, 7.4, (60, 2, 2)):
        assert line_time(start, end, *layers) == pytest.approx(exact(start, end, layers), rel=1e-9)
    for start, end in (((1.5, 1.5), (6.5, 1.5)), ((6.5, 1.5), (1.5, 1.5)), ((2.5, 6.5), (2.5, 1.2)), ((2.5, 1.2), (2.5, 6.5)),
                       ((1.5, 1.5), (5.5, 5.5)), ((5.5, 1.5), (1.5, 5.5)), ((3.0, 3.0), (1.2, 2.2)), ((3.0, 3.0), (4.2, 4.4)),
                       ((3.0, 3.0), (4.1, 1.2)), ((3.0, 3.0), (2.1, 4.6))):  # fmt: skip
        assert line_time(np.array(start), np.array(end), *layers) == pytest.approx(
            exact(start, end, layers), rel=1e-9
        )


def test_a_line_of_no_length_takes_no_time_where_one_may_stand():
    level = np.ones((4, 5))
    level[2, 3] = np.inf
    here, there = np.array([1.5, 1.5]), np.array([3.5, 2.5])
    assert line_time(here, here, *layers_of(level)) == 0.0
    assert line_time(there, there, *layers_of(level)) == math.inf
    narrow = layers_of(np.ones((4, 5)), room=-1.0)
    assert line_time(here, here, *narrow) == math.inf


def test_a_barred_cell_stops_lines_through_it_and_past_its_corner():
    level = np.ones((7, 7))
    level[2, 3] = np.inf  # from column 3 to 4, row 2 to 3
    layers = layers_of(level)

    def time(*ends):
        return line_time(*(np.array(end, dtype=float) for end in ends), *layers)

    assert time((1.5, 2.5), (5.5, 2.5)) == math.inf
    assert time((5.5, 2.5), (1.5, 2.5)) == math.inf
    assert time((3.5, 0.5), (3.5, 5.5)) == math.inf
    assert time((1.5, 1.5), (5.5, 1.5)) == pytest.approx(4.0)
    # through its corners at (3, 2), (4, 2), (3, 3) and (4, 3), from either end
    for one, other in (((2, 3), (4, 1)), ((3, 1), (5, 3)), ((2, 2), (4, 4)), ((3, 4), (5, 2))):
        for ends in ((one, other), (other, one)):
            assert time(*ends) == math.inf
    for one, other in (((2.1, 2.8), (3.9, 1.0)), ((3.1, 1.0), (4.9, 2.8))):  # a tenth of a cell off
        for ends in ((one, other), (other, one)):
            assert time(*ends) == pytest.approx(1.8 * math.sqrt(2))
    # up to it, and away from it: an edge belongs to the cell into which the line goes
    assert time((3.0, 2.5), (1.5, 2.5)) == pytest.approx(1.5)
    assert time((1.5, 2.5), (3.0, 2.5)) == pytest.approx(1.5)
    assert time((3.5, 3.0), (3.5, 4.5)) == pytest.approx(1.5)
    assert time((3.5, 2.0), (3.5, 0.5)) == pytest.approx(1.5)
    assert time((3.0, 2.5), (3.5, 2.5)) == math.inf


def test_a_climb_too_steep_stops_a_loaded_line_and_none_going_down():
    steep = layers_of(np.ones((4, 8)), east=np.where(np.arange(8) == 4, 0.31, 0.0), max_grade=0.3)
    west, east = np.array([1.5, 1.5]), np.array([6.5, 1.5])
    assert line_time(west, east, *steep) == math.inf
    assert line_time(east, west, *steep) == pytest.approx(4 + 1 + 3.1**2)
    within = layers_of(np.ones((4, 8)), east=np.where(np.arange(8) == 4, 0.3, 0.0), max_grade=0.3)
    assert line_time(west, east, *within) == pytest.approx(4 + 1 + 3.0**2)
    empty = layers_of(np.ones((4, 8)), east=np.where(np.arange(8) == 4, 0.31, 0.0), max_grade=0.3, loaded=False)
    assert line_time(west, east, *empty) == pytest.approx(4 + math.exp(3.5 * 0.31))  # |0.36| - 0.05
    assert line_time(east, west, *empty) == pytest.approx(4 + math.exp(3.5 * 0.21))  # |-0.31 + 0.05| - 0.05
    level = layers_of(np.full((4, 8), 2.0), loaded=False)
    assert line_time(west, east, *level) == pytest.approx(10.0)


def test_room_is_kept_along_lines_but_for_a_fiftieth_of_a_cell():
    # room as beside a wall along column 4, in cells: linear, so that it is the same between centres
    room = np.arange(12) + 0.5 - 4
    layers = layers_of(np.ones((12, 12)), room=room)
    for column, passes in ((4.0, True), (3.985, True), (3.975, False), (6.0, True)):
        line = np.array([column, 1.5]), np.array([column, 9.5])
        assert math.isfinite(line_time(*line, *layers)) is passes
        across = np.array([1.5, column]), np.array([9.5, column])
        assert math.isfinite(line_time(*across, *layers_of(np.ones((12, 12)), room=room[:, None]))) is passes
        into = np.array([9.5, 6.5]), np.array([column, 6.5])
        assert math.isfinite(line_time(*into, *layers)) is passes
        assert math.isfinite(line_time(*into[::-1], *layers)) is passes
    # a post of no width in the middle of a line: the room falls to it from both sides, cell by cell
    rows, columns = np.mgrid[0:13, 0:13] + 0.5
    post = np.hypot(rows - 6.5, columns - 6.5) - 1.0
    for row, passes in ((6.5, False), (7.2, False), (7.7, True), (5.3, True)):
        line = np.array([1.5, row]), np.array([11.5, row])
        assert math.isfinite(line_time(*line, *layers_of(np.ones((13, 13)), room=post))) is passes


@pytest.mark.parametrize("loaded", [True, False])
@pytest.mark.parametrize(("moves", "size"), [(octile_moves(), 6), (taut_moves(), 13)])
def test_moves_take_as_long_as_the_lines_between_the_cells(moves, size, loaded):
    layers = ground(3, (size, size + 1), loaded=loaded)
    times = moved(layers, moves)
    margin = moves.margin
    inner = [(r, c) for r in range(margin, size - margin) for c in range(margin, size + 1 - margin)]
    assert len(inner) >= 20
    for row, column in inner:
        for k, (down, across) in enumerate(moves.steps):
            start, end = (column + 0.5, row + 0.5), (column + across + 0.5, row + down + 0.5)
            assert times[row, column, k] == pytest.approx(exact(start, end, layers), rel=1e-5)  # single precision
    outer = np.ones((size, size + 1), bool)
    outer[tuple(np.array(inner).T)] = False
    assert (times[outer] == 7.0).all()  # untouched


def moved(layers, moves, stale=None):
    """Return the times of moves from stale cells, shape (rows, columns, moves); 7 where none was written."""
    level, east, north, room, loaded, max_grade = layers
    stale = np.ones(level.shape, bool) if stale is None else stale
    times = np.full((level.size, len(moves.steps)), 7.0, dtype=np.float32)
    move_times(
        times,
        stale,
        stale.any(axis=1),
        level.copy(),
        moves.margin,
        level,
        east,
        north,
        room,
        moves,
        loaded,
        max_grade,
    )
    return times.reshape(*level.shape, -1)


def test_only_stale_cells_are_timed_anew_also_in_the_second_strip_of_rows():
    # rows are taken 40 at a time
    layers, moves = ground(4, (50, 5), loaded=True), octile_moves()
    stale = np.zeros((50, 5), bool)
    stale[[3, 40, 41, 48], [1, 2, 3, 3]] = True
    every, some = moved(layers, moves), moved(layers, moves, stale)
    assert np.array_equal(some[stale], every[stale])
    assert (some[~stale] == 7.0).all()
    none = np.zeros((50, 5), bool)
    none[48, 2] = True
    assert (moved(layers, moves, none) != 7.0).any(axis=2).sum() == 1


def test_no_move_touches_a_barred_cell_or_climbs_too_steeply():
    level, moves = np.ones((7, 7)), octile_moves()
    level[3, 3] = np.inf
    times = moved(layers_of(level), moves)
    steps = {tuple(step): k for k, step in enumerate(moves.steps.tolist())}
    assert np.isinf(times[3, 3]).all()
    assert np.isinf(times[3, 2, steps[0, 1]])
    assert np.isinf(times[2, 3, steps[1, 1]])  # past its corner
    assert times[2, 3, steps[0, 1]] == 1.0
    assert times[2, 3, steps[-1, -1]] == pytest.approx(math.sqrt(2))
    climb = moved(layers_of(np.ones((7, 7)), north=0.25, max_grade=0.2), moves)
    assert np.isinf(climb[3, 3, steps[-1, 0]])  # northward is up
    assert climb[3, 3, steps[0, 1]] == 1.0
    assert climb[3, 3, steps[1, 0]] == pytest.approx(1 + 2.5**2)
    assert climb[3, 3, steps[-1, 1]] == pytest.approx(math.sqrt(2) * (1 + 2.5**2 / 2))  # 0.25 / sqrt(2) aslant


def test_moves_keep_the_room_along_their_way():
    # there is no room along column 7, nor on the rim of four cells to which moves may go
    moves = taut_moves()
    steps = {tuple(step): k for k, step in enumerate(moves.steps.tolist())}
    rows, columns = np.mgrid[0:13, 0:15] + 0.5

    def timed(room):
        rim = np.minimum(np.minimum(rows, 13 - rows), np.minimum(columns, 15 - columns)) < 2
        return moved(layers_of(np.ones((13, 15)), room=np.where(rim, -1.0, room)), moves)

    times = timed(np.minimum(np.abs(columns - 7.5) - 0.4, 5.0))
    assert np.isinf(times[6, 7]).all()
    assert times[6, 6, steps[1, 0]] == 1.0
    assert np.isinf(times[6, 6, steps[0, 1]])
    assert np.isinf(times[6, 6, steps[1, 4]])  # to column 10, which is free, but across
    assert np.isinf(times[6, 9, steps[1, -3]])
    assert times[6, 6, steps[2, -1]] == pytest.approx(math.hypot(2, 1))
    for towards in (1, -1):  # no room to spare at the centres of column 6, and less of it to one side
        edge = timed(towards * (columns - 6.5))
        assert edge[6, 6, steps[1, 0]] == 1.0
        assert edge[6, 6, steps[2, towards]] == pytest.approx(math.hypot(2, 1))
        assert np.isinf(edge[6, 6, steps[2, -towards]])
    for towards in (1, -1):
        edge = timed(towards * (rows - 6.5))
        assert edge[6, 6, steps[0, 1]] == 1.0
        assert edge[6, 6, steps[towards, 2]] == pytest.approx(math.hypot(2, 1))
    far = timed(5.0)[6, 6]
    reaches = np.abs(moves.steps).max(axis=1) <= 4
    assert far[reaches] == pytest.approx(np.hypot(*moves.steps[reaches].T))
    assert np.isinf(timed(5.0)[8, 6, steps[4, 1]])  # into the rim
    # a post between the ends of the longest moves, with more than a cell of room at each
    times = timed(np.hypot(rows - 6.5, columns - 8.5) - 0.6)
    assert np.isinf(times[6, 6, steps[1, 4]])
    assert times[4, 6, steps[1, 4]] == pytest.approx(math.hypot(1, 4))


def test_times_of_return_are_those_of_the_opposite_moves_from_where_a_move_ends():
    times = np.arange(12, dtype=np.float32).reshape(4, 3)
    steps, opposite = np.array([1, -1, 2], np.int32), np.array([1, 0, 2], np.int32)
    back = times_of_return(times, steps, opposite)
    inf = math.inf
    # move 0 ends a cell on, and the way back is move 1 from there: times[1][1] = 4, times[2][1] = 7, times[3][1] = 10
    assert back.tolist() == [[4, inf, 8], [7, 0, 11], [10, 3, inf], [inf, 6, inf]]


@pytest.mark.parametrize("seed", range(3))
def test_the_search_finds_what_trying_all_moves_again_and_again_finds(seed):
    chance, side = np.random.default_rng(seed), 11
    steps = np.array([1, -1, side, -side, side + 1, -side - 1], np.int32)
    times = chance.uniform(0.1, 9.0, (side * side, 6)).astype(np.float32)
    times[chance.uniform(size=times.shape) < 0.3] = np.inf
    cells = np.arange(side * side)
    for k, step in enumerate(steps):
        times[(cells + step < 0) | (cells + step >= side * side), k] = np.inf
    starts = np.array([17, 80, 17], np.int32)
    found, before = dijkstra(times, steps, starts)
    least = np.full(side * side, np.inf)
    least[starts] = 0
    for _ in range(side * side):
        for k, step in enumerate(steps):
            there = cells[np.isfinite(times[:, k])]
            np.minimum.at(least, there + step, least[there] + times[there, k])
    assert found == pytest.approx(least)
    assert (before[starts] == -1).all()
    assert (before[~np.isfinite(least)] == -1).all()
    for node in np.flatnonzero(before >= 0):
        move = list(steps).index(node - before[node])
        assert found[node] == found[before[node]] + times[before[node], move]


def test_nothing_is_found_from_nowhere():
    found, before = dijkstra(np.ones((4, 1), np.float32), np.array([0], np.int32), np.empty(0, np.int32))
    assert np.isinf(found).all()
    assert (before == -1).all()


def test_a_path_pulled_taut_keeps_its_ends_and_the_corners_that_pay():
    open_ground = layers_of(np.ones((10, 10)))
    zigzag = np.array([[1.5, 1.5], [1.5, 4.5], [4.5, 4.5], [6.5, 8.5], [8.5, 8.5]])
    assert pull_taut(zigzag, *open_ground).tolist() == [[1.5, 1.5], [8.5, 8.5]]
    straight = np.array([[1.5, 2.5], [3.5, 2.5], [3.5, 2.5], [8.5, 2.5]])
    assert pull_taut(straight, *open_ground).tolist() == [[1.5, 2.5], [8.5, 2.5]]
    level = np.ones((10, 10))
    level[0:6, 4] = np.inf  # a wall from the north: round its end, by row 6
    path = np.array([[1.5, 1.5], [1.5, 4.5], [3.5, 6.5], [5.5, 6.5], [7.5, 4.5], [7.5, 1.5]])
    taut = pull_taut(path, *layers_of(level))
    assert taut.tolist() == [[1.5, 1.5], [3.5, 6.5], [5.5, 6.5], [7.5, 1.5]]
    slow = np.ones((10, 10))
    slow[3:7, 3:7] = 9.0  # right through it takes longer than round it
    assert pull_taut(np.array([[1.5, 5.2], [2.5, 7.5], [7.5, 7.5], [8.5, 5.2]]), *layers_of(slow)).tolist() == [
        [1.5, 5.2], [2.5, 7.5], [7.5, 7.5], [8.5, 5.2],
    ]  # fmt: skip


@pytest.mark.parametrize(("slower", "points"), [(7e-6, 3), (5e-6, 2)])
def test_a_corner_must_save_two_millionths_of_the_paths_time(slower, points):
    # along the edge of two rows, of which one has a metre that is slower: a corner, a 5000th of a cell aside, saves
    # that, and must save 3 m times 2e-6, or 6e-6 m
    level = np.ones((4, 7))
    level[1, 3] += slower
    path = np.array([[1.5, 1.9999], [2.9, 2.0001], [4.1, 2.0001], [4.5, 1.9999]])
    assert len(pull_taut(path, *layers_of(level))) == points


def fenced(shape):
    """Return the room in a yard without anything in it: to its edge, less a cell and a half."""
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]] + 0.5
    return np.minimum(np.minimum(rows, shape[0] - rows), np.minimum(columns, shape[1] - columns)) - 1.5


def test_relaxing_makes_a_path_short_and_moves_no_end():
    layers = layers_of(np.ones((14, 14)), room=fenced((14, 14)))
    bent = np.array([[2.5, 2.5], [4.5, 8.5], [8.5, 3.5], [11.5, 11.5]])
    found = relax(bent, *layers, 40, 8.0, 0.0625)
    assert bent[1].tolist() == [4.5, 8.5]  # the argument stays
    assert found[[0, -1]].tolist() == bent[[0, -1]].tolist()
    length = np.hypot(*np.diff(found, axis=0).T).sum()
    assert length == pytest.approx(9 * math.sqrt(2), rel=2e-4)  # points are aside by less than the least step
    assert relax(bent, *layers, 40, 0.5, 1.0).tolist() == bent.tolist()  # there is no such step
    once = relax(np.array([[2.5, 2.5], [4.5, 3.5], [6.5, 2.5]]), *layers, 1, 1.0, 1.0)
    assert once.tolist() == [[2.5, 2.5], [4.5, 2.5], [6.5, 2.5]]  # a whole cell north, to the straight line
    assert relax(bent, *layers, 0, 8.0, 0.0625).tolist() == bent.tolist()


@pytest.mark.parametrize("step", [8.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.125, 0.0625])
def test_a_point_aside_by_one_of_the_steps_is_shifted_back(step):
    layers = layers_of(np.ones((24, 24)), room=fenced((24, 24)))
    for axis in (0, 1):
        for side in (step, -step):
            path = np.array([[6.0, 6.0], [12.0, 12.0], [18.0, 18.0]])
            path[:, axis] = 12.0
            path[1, axis] += side
            found = relax(path, *layers, 1, step, step)
            assert found[1] == pytest.approx([12.0, 12.0])
    slanted = np.array(
        [[12 - 9 * math.sqrt(0.5), 12 - 9 * math.sqrt(0.5)], [12.0, 12.0], [12 + 9 * math.sqrt(0.5)] * 2]
    )
    for across in ((1, -1), (-1, 1)):
        path = slanted.copy()
        path[1] += np.array(across) * step * math.sqrt(0.5)
        assert relax(path, *layers, 1, step, step)[1] == pytest.approx([12.0, 12.0])


def test_relaxing_goes_round_a_wall_as_near_as_its_steps_allow():
    level = np.ones((12, 12))
    level[0:6, 5] = np.inf  # one point, at column 5.5, sees past its corners at (5, 6) and (6, 6) from row 6.7 on
    path = np.array([[2.5, 2.5], [5.5, 8.5], [8.5, 2.5]])
    layers = layers_of(level, room=fenced((12, 12)))
    found = relax(path, *layers, 40, 2.0, 0.0625)
    length = np.hypot(*np.diff(found, axis=0).T).sum()
    least = 2 * math.hypot(3.0, 4.2)
    assert least <= length <= least + 2 * 0.0625
    assert all(math.isfinite(line_time(a, b, *layers)) for a, b in itertools.pairwise(found))


def test_paths_are_subdivided_where_the_ground_changes_and_at_the_longest_span():
    level = np.ones((4, 14))
    line = np.array([[1.5, 1.5], [11.5, 1.5]])
    # in quarters of a cell: at 3, 6 and 9 cells on
    assert subdivide(line, level, 3.0)[:, 0].tolist() == [1.5, 4.5, 7.5, 10.5, 11.5]
    assert subdivide(line, level, 100.0).tolist() == line.tolist()
    assert subdivide(line, level, 3.1)[:, 0].tolist() == [1.5, 4.75, 8.0, 11.25, 11.5]
    longer = np.array([[1.5, 1.5], [11.6, 1.5]])  # 10.1 cells in 41 parts: 13 of them are the first 3 cells or more
    assert subdivide(longer, level, 3.0)[1, 0] == pytest.approx(1.5 + 13 * 10.1 / 41)
    level[:, 5:7] = 2.0  # grass from column 5 to 7: at the first quarter within, and at the first past it
    assert subdivide(line, level, 100.0)[:, 0].tolist() == [1.5, 5.0, 7.0, 11.5]
    assert subdivide(line[::-1], level, 100.0)[:, 0].tolist() == [11.5, 6.75, 4.75, 1.5]
    turned = np.array([[1.5, 1.5], [1.5, 11.5], [2.5, 11.5]])
    assert subdivide(turned, np.ascontiguousarray(level.T), 100.0)[:, 1].tolist() == [1.5, 5.0, 7.0, 11.5, 11.5]
    short = np.array([[1.5, 1.5], [1.6, 1.5], [1.6, 1.5]])
    assert subdivide(short, level, 0.01).tolist() == short.tolist()
