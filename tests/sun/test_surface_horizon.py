"""The horizon of a surface raster: by hand, and against columns that are clipped one by one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.sun.lookup.surface_horizon import DARK, surface_slopes
from siteplan.sun.obstacles.surface_columns import SurfaceColumns

NO_HOLE = np.zeros(4)


def layer(tops, *, place, hole=NO_HOLE):
    """Return columns with the highest top of each block of 16 by 16 cells."""
    tops = np.asarray(tops, dtype=np.float32)
    rows, columns = (-(-count // 16) for count in tops.shape)
    blocks = np.array(
        [[tops[16 * r : 16 * r + 16, 16 * c : 16 * c + 16].max() for c in range(columns)] for r in range(rows)]
    )
    return SurfaceColumns(
        tops, blocks, np.asarray(place, dtype=float), np.asarray(hole, dtype=float), float(tops.max())
    )


def exact(point, columns, azimuth):
    """Return the slope along one ray: over all columns that it crosses, where it enters each; no hole is left out."""
    east, north = math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))
    column, row = columns.place @ [point[0], point[1], 1]
    across, down = columns.place[:, :2] @ [east, north]
    steepest = 0.0
    for (r, c), top in np.ndenumerate(columns.tops):
        begin, end = 0.0, math.inf
        for at, speed, low in ((column, across, c), (row, down, r)):
            if speed == 0:
                end = end if low <= at < low + 1 else -1.0
            else:
                one, other = sorted(((low - at) / speed, (low + 1 - at) / speed))
                begin, end = max(begin, one), min(end, other)
        if end > begin and top - point[2] > 1e-6:
            steepest = max(steepest, DARK if begin == 0 else float(top - point[2]) / begin)
    return steepest


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_slopes_are_those_to_all_columns_one_by_one(seed, turned):
    # 20 by 36 cells are two blocks by three, the last of them cut; cells of half a metre, on a grid that lies askew
    chance = np.random.default_rng(seed)
    tops = np.where(chance.uniform(size=(20, 36)) < 0.9, -np.inf, chance.uniform(0, 3, (20, 36)))
    place = [[1.6, 1.2, 18], [1.2, -1.6, 10]] if turned else [[2.0, 0, 18], [0, -2.0, 10]]
    columns = layer(tops, place=place)
    points = np.column_stack([chance.uniform(-4, 4, (3, 2)), [0.0, 0.5, 1.5]])
    points[2, :2] *= 4  # beside the raster, or at its edge
    azimuth = np.array([0.0, 17.0, 90.0, 123.0, 180.0, 222.2, 270.0, 301.0])
    found = surface_slopes(points, [columns], azimuth)
    for point, slopes in zip(points, found, strict=True):
        assert slopes == pytest.approx([exact(point, columns, one) for one in azimuth], rel=1e-6)
    assert (found[:2] > 0).any()


def column_at(row, column, top, *, shape=(6, 6), **more):
    tops = np.full(shape, -np.inf)
    tops[row, column] = top
    return layer(
        tops, place=[[1.0, 0, 0], [0, -1.0, shape[0]]], **more
    )  # cells of 1 m, the lower left corner at 0, 0


def test_one_column_by_hand_seen_from_each_side():
    # the cell of columns 2 to 3 and row 3 from above, so from y = 2 to 3, 4 m high
    tower = column_at(3, 2, 4.0)
    points = np.array([[2.5, 0.5, 0.0], [0.5, 2.5, 1.0], [2.5, 5.5, 0.0], [4.0, 2.5, 3.0], [2.5, 0.5, 4.0]])
    found = surface_slopes(points, [tower], np.array([0.0, 90.0, 180.0, 270.0]))
    expected = [[4 / 1.5, 0, 0, 0], [0, 3 / 1.5, 0, 0], [0, 0, 4 / 2.5, 0], [0, 0, 0, 1 / 1.0], [0, 0, 0, 0]]
    assert found == pytest.approx(np.array(expected))
    # from beside the raster, on the other side of it, and past it
    points = np.array([[-3.0, 2.5, 0.0], [9.0, 2.5, 0.0], [2.5, -4.0, 0.0], [2.5, 16.0, 0.0], [-3.0, 3.5, 0.0]])
    found = surface_slopes(points, [tower], np.array([90.0, 270.0, 0.0, 180.0]))
    assert np.diag(found) == pytest.approx([4 / 5, 4 / 6, 4 / 6, 4 / 13])
    assert found[4].tolist() == [0, 0, 0, 0]
    assert found.sum() == pytest.approx(np.diag(found).sum())


def test_a_diagonal_by_hand():
    # north-east from the corner (0, 0): into the cell at (2, 2) after two diagonals
    (found,) = surface_slopes(np.array([[0.0, 0.0, 0.0]]), [column_at(3, 2, 4.0)], np.array([45.0]))
    assert found == pytest.approx([4 / math.hypot(2, 2)])


def test_within_a_column_it_is_dark_all_round_and_on_top_of_it_open():
    tower = column_at(3, 2, 4.0)
    azimuth = np.array([0.0, 45.0, 200.0])
    points = np.array([[2.5, 2.5, 3.9], [2.5, 2.5, 4.0], [2.5, 2.5, 4.0 - 5e-7], [2.5, 2.5, 5.0]])
    assert surface_slopes(points, [tower], azimuth).tolist() == [[DARK] * 3, [0] * 3, [0] * 3, [0] * 3]


def test_layers_add_up_and_an_empty_one_hides_nothing():
    low, high = column_at(3, 2, 1.0), column_at(1, 2, 9.0)  # from y = 2 and from y = 4
    nothing = column_at(3, 2, -np.inf)
    point, north = np.array([[2.5, 0.0, 0.0]]), np.array([0.0])
    for layers in ([low, nothing, high], [high, nothing, low]):
        assert surface_slopes(point, layers, north) == pytest.approx(np.array([[9 / 4]]))
    assert surface_slopes(point, [nothing], north).tolist() == [[0.0]]
    assert surface_slopes(point, [], north).tolist() == [[0.0]]


def test_a_hole_is_skipped_by_those_within_it():
    # the hole from column 1 to 5, row 2 to 4 from above: y from 2 to 4; another layer holds what stands there
    hole = [1, 2, 5, 4]
    within, beyond = column_at(3, 3, 5.0, hole=hole), column_at(3, 5, 5.0, hole=hole)
    points, sideways = np.array([[1.5, 2.5, 0.0], [4.5, 2.5, 0.0]]), np.array([90.0, 270.0])
    assert surface_slopes(points, [within], sideways).tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert surface_slopes(points, [beyond], sideways) == pytest.approx(np.array([[5 / 3.5, 0], [5 / 0.5, 0]]))
    outside = np.array(
        [[0.5, 2.5, 0.0], [5.5, 2.5, 0.0], [3.5, 1.5, 0.0], [3.5, 4.5, 0.0]]
    )  # all cells count for them
    found = surface_slopes(outside, [within], np.array([90.0, 270.0, 0.0, 180.0]))
    assert np.diag(found) == pytest.approx([5 / 2.5, 5 / 1.5, 5 / 0.5, 5 / 1.5])
    # aslant out of the hole by its northern edge, y = 4, before its eastern, x = 5: from there on columns count
    corner = column_at(1, 4, 5.0, hole=hole)
    (found,) = surface_slopes(np.array([[3.0, 3.5, 0.0]]), [corner], np.array([60.0]))
    assert found == pytest.approx([5 / ((4 - 3.0) / math.sin(math.radians(60)))])  # at x = 4, where y is 4.08
