from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.haul.ground.cost_field import CostField, cost_field
from siteplan.haul.loads.work_rates import EMPTY_SPEED, LOADED_SPEED
from siteplan.haul.routes.grid_moves import cells_crossed, octile_moves, taut_moves
from siteplan.haul.routes.router import Router
from siteplan.land.features import Surface
from siteplan.land.grid import Grid, grid_over
from siteplan.land.terrain import Terrain


def plain(shut=(), shape=(9, 9)):
    """Return cells of 1 m that take 1 s a metre, some of them shut."""
    time = np.ones(shape)
    for row, column in shut:
        time[row, column] = np.inf
    flat = np.zeros(shape)
    return CostField(Grid(0, shape[0], 1, *shape), time, time, flat, flat, flat, max_grade=0.125)


def seconds(router, start, end, **options):
    options = {"loaded": True} | options
    return router.least_times(np.array([start]), **options).seconds[end]


def test_each_move_crosses_its_whole_length():
    for moves in (taut_moves(), octile_moves()):
        for k, (row, column) in enumerate(moves.steps):
            lengths = moves.lengths[moves.starts[k] : moves.starts[k + 1]]
            assert lengths.sum() == pytest.approx(math.hypot(row, column), rel=1e-9)  # sums of floats
            assert (moves.steps[moves.opposite[k]] == (-row, -column)).all()


def test_a_knights_move_by_hand():
    # from the middle of a cell two east and one north: half the line in the first and last, a quarter in each between
    quarter = math.sqrt(5) / 4
    found = cells_crossed(-1, 2)
    assert [cell[:2] for cell in found] == [(0, 0), (0, 1), (-1, 1), (-1, 2)]
    assert [cell[2] for cell in found] == pytest.approx([quarter] * 4, rel=1e-12)  # rounding


def test_a_grid_by_hand():
    # a wall with its only gap in the last row: by octile moves 2 down, then round the end without cutting it
    #   S . # .        down 3 is the gap's row: (0,0) to (3,0..3) and up to (0,3)
    ground = plain([(0, 2), (1, 2), (2, 2)], (5, 5))
    router = Router(ground, moves=octile_moves())
    # (0,0) -> (1,0) .. diagonal (2,1), straight (3,1), (3,2), (3,3), (2,3), (1,3), (0,3)
    assert seconds(router, (0, 0), (0, 3)) == pytest.approx(
        1 + math.sqrt(2) + 1 + 1 + 1 + 3, rel=1e-6
    )  # float32 moves


def test_a_corner_is_never_cut():
    ground = plain([(4, 4)])
    assert seconds(Router(ground, moves=octile_moves()), (4, 3), (3, 4)) == pytest.approx(2, rel=1e-6)
    router = Router(ground)
    line, taken = router.quickest_line(router.least_times(np.array([(4, 3)]), loaded=True), (3, 4))
    assert not line.crosses(box(4, 4, 5, 5))
    assert taken >= math.sqrt(2)


def test_two_cells_that_touch_at_a_corner_leave_no_gap():
    shut = [(4, k) for k in range(5)] + [(3, k) for k in range(5, 9)]
    assert seconds(Router(plain(shut)), (8, 0), (0, 8)) == math.inf


def test_no_way_is_infinite_and_the_start_is_nought():
    router = Router(plain([(4, k) for k in range(9)]))
    assert seconds(router, (0, 0), (8, 8)) == math.inf
    line, taken = router.quickest_line(router.least_times(np.array([(0, 0)]), loaded=True), (0, 0))
    assert (line.length, taken) == (0.0, 0.0)


def test_several_starts_serve_each_cell_from_the_nearest():
    router = Router(plain())
    field = router.least_times(np.array([(0, 0), (0, 8)]), loaded=True)
    assert field.seconds[0, 7] == pytest.approx(1, rel=1e-6)
    assert router.quickest_line(field, (0, 7))[0].coords[0] == (8.5, 8.5)


def test_a_shut_start_leads_nowhere():
    router = Router(plain([(0, 0)]))
    assert np.isinf(router.least_times(np.array([(0, 0)]), loaded=True).seconds).all()


def slope(yard, east=0.0, north=0.0):
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    x, y = np.meshgrid(grid.x, grid.y)
    return dataclasses.replace(yard, terrain=Terrain(grid, east * x + north * y))


def test_up_and_down_a_slope_by_hand(bare_yard):
    # 6 m east on a plane that rises 6 %. Loaded, up or down, a metre takes 1 + 0.6^2 times as long as on the level;
    # empty exp(3.5 (|0.06 + 0.05| - 0.05)) times up and exp(3.5 (|-0.06 + 0.05| - 0.05)) times down (Tobler)
    site = slope(bare_yard, east=0.06)
    ground = cost_field(site, grid_over(site.boundary, 0.25))
    router = Router(ground)
    west, east = ground.grid.cell_of(-2.9, 0.1), ground.grid.cell_of(3.1, 0.1)
    rel = 1e-6  # sums over cells
    for loaded, level, up, down in (
        (True, 6 / (LOADED_SPEED / 1.1), 1.36, 1.36),
        (False, 6 / (EMPTY_SPEED / 1.1), 1.23368, 0.86936),
    ):
        for start, end, factor in ((west, east, up), (east, west, down)):
            line, taken = router.quickest_line(router.least_times(np.array([start]), loaded=loaded), end)
            assert line.length == pytest.approx(6, rel=rel)
            assert taken == pytest.approx(level * factor, rel=1e-5)  # the factors' five decimals
    pieces = ground.along(LineString([(-3.0, 0.1), (3.0, 0.1)]))
    assert pieces.length.sum() == pytest.approx(6, rel=rel)
    assert (pieces.rise * pieces.length).sum() == pytest.approx(0.36, rel=rel)


def time_by_hand(ground, line, *, loaded):
    """Return the time along a line, summed centimetre by centimetre over the cells under it. [s]"""
    total = 0.0
    for start, end in itertools.pairwise(np.asarray(line.coords)):
        length = float(np.hypot(*(end - start)))
        pieces = max(1, math.ceil(length / 0.01))
        for k in range(pieces):
            cell = ground.grid.cell_of(*(start + (end - start) * (k + 0.5) / pieces))
            rise = (ground.rise_east[cell] * (end - start)[0] + ground.rise_north[cell] * (end - start)[1]) / length
            slower = 1 + (rise / 0.10) ** 2 if loaded else math.exp(3.5 * (abs(rise + 0.05) - 0.05))
            total += (ground.loaded if loaded else ground.empty)[cell] * slower * length / pieces
    return total


def test_the_field_home_is_the_field_out_of_the_mirrored_slope(bare_yard):
    site, mirror = slope(bare_yard, east=0.05), slope(bare_yard, east=-0.05)
    grid = grid_over(site.boundary, 0.5)
    start = np.array([grid.cell_of(-4.1, 0.1)])
    home = Router(cost_field(site, grid)).least_times(start, loaded=False, towards=True).seconds
    out = Router(cost_field(mirror, grid)).least_times(start, loaded=False).seconds
    known = np.isfinite(out)
    assert (known == np.isfinite(home)).all()
    np.testing.assert_allclose(home[known], out[known], rtol=1e-5)  # single-precision moves


def test_too_steep_straight_up_is_climbed_at_a_slant(bare_yard):
    # 15 % is more than the barrow's 12.5 %: straight north is barred, zigzags of at most 12.5 % are not
    site = slope(bare_yard, north=0.15)
    ground = cost_field(site, grid_over(site.boundary, 0.25))
    router = Router(ground)
    start, end = ground.grid.cell_of(0.1, -3.1), ground.grid.cell_of(0.1, 3.1)
    line, taken = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
    rise = ground.along(line).rise
    assert math.isfinite(taken)
    assert rise.max() <= 0.125 + 1e-9
    assert line.length >= 6 * 0.15 / 0.125  # the least that spreads the climb


def test_taut_ways_take_no_longer_than_the_search_on_mixed_sloping_ground(bare_yard):
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    x, y = np.meshgrid(grid.x, grid.y)
    site = dataclasses.replace(
        bare_yard,
        terrain=Terrain(grid, 0.3 * np.sin(x / 2) * np.cos(y / 3)),
        surfaces=(Surface(id="mire", outline=Point(0, 0).buffer(2), surface="mud"),),
        rolling_surfaces={"mud": dataclasses.replace(_mud(), pace=0.4)},
    )
    ground = cost_field(site, grid_over(site.boundary, 0.2))
    router = Router(ground)
    field = router.least_times(np.array([ground.grid.cell_of(-5, -4)]), loaded=True)
    for target in ((5, 4), (4, -4), (0.1, 3), (0.1, 0.1)):
        cell = ground.grid.cell_of(*target)
        line, taken = router.quickest_line(field, cell)
        assert taken <= field.seconds[cell] * (1 + 1e-6)  # single-precision moves
        assert (
            taken >= 0.97 * field.seconds[cell]
        )  # 40 directions are at most 0.8 % long, slopes and edges as much again
        # the hand's sum takes a cell's ground for each centimetre that begins in it
        assert time_by_hand(ground, line, loaded=True) == pytest.approx(taken, rel=2e-3)


def _mud():
    from siteplan.land.constants import RollingSurface

    return RollingSurface(surface="mud", rolling=0.2, rolling_wet=0.25, pace=0.5, loaded=True)


def test_a_fine_grid_agrees_on_mixed_ground(bare_yard):
    # the same yard at a quarter of the cell: the reference that the coarse answer is held to
    site = dataclasses.replace(
        bare_yard,
        surfaces=(Surface(id="mire", outline=box(-2, -3, 1, 3), surface="mud"),),
        rolling_surfaces={"mud": dataclasses.replace(_mud(), pace=0.5)},
    )
    times = []
    for cell in (0.2, 0.05):
        ground = cost_field(site, grid_over(site.boundary, cell))
        router = Router(ground)
        start, end = ground.grid.cell_of(-4.9, -0.9), ground.grid.cell_of(4.9, 0.9)
        _, taken = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
        a, b = (np.array([ground.grid.x[c], ground.grid.y[r]]) for r, c in (start, end))
        times.append(taken / np.hypot(*(b - a)))
    assert times[0] == pytest.approx(times[1], rel=0.01)  # the stated 1 %


@pytest.mark.parametrize("loaded", [True, False])
def test_a_fine_grid_agrees_on_hilly_ground(bare_yard, loaded):
    # the way found on cells of 20 cm, timed on cells of 5 cm, against the best that is found there
    grid = grid_over(box(-20, -20, 20, 20), 0.5)
    x, y = np.meshgrid(grid.x, grid.y)
    site = dataclasses.replace(bare_yard, terrain=Terrain(grid, 0.25 * np.sin(x / 1.5) * np.cos(y / 2)))
    coarse, fine = (Router(cost_field(site, grid_over(site.boundary, cell))) for cell in (0.2, 0.05))
    cells = [coarse.ground.grid.cell_of(*at) for at in ((-4.9, -3.9), (4.9, 3.9))]
    line, _ = coarse.quickest_line(coarse.least_times(np.array([cells[0]]), loaded=loaded), cells[1])
    ends = [fine.ground.grid.cell_of(*line.coords[k]) for k in (0, -1)]
    best, taken = fine.quickest_line(fine.least_times(np.array([ends[0]]), loaded=loaded), ends[1])
    assert best.length > 10
    by_hand = time_by_hand(fine.ground, line, loaded=loaded)
    assert by_hand <= taken * 1.01  # the stated 1 %; the ends are up to 4 cm apart
    assert by_hand >= taken * 0.98
