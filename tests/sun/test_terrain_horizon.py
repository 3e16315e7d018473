"""The horizon of the ground on rasters of a few cells: by hand, and against a look at every hundredth of a cell."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

NORTH, EAST, SOUTH, WEST = 0.0, 90.0, 180.0, 270.0


def raster(elevation, *, cell=1.0, west=0.0, south=0.0, beyond=()):
    """Return ground whose first row is the northern one."""
    elevation = np.asarray(elevation, dtype=float)
    rows, columns = elevation.shape
    grid = Grid(west=west, north=south + rows * cell, cell=cell, rows=rows, columns=columns)
    return Terrain(grid, elevation, beyond=beyond)


def wall(rows, columns, *, east=None, south=None, height=1.0, **more):
    """Return level ground with a column of cells, or a row, of a height."""
    ground = np.zeros((rows, columns))
    if east is not None:
        ground[:, east] = height
    if south is not None:
        ground[south] = height
    return raster(ground, **more)


def bilinear(terrain, x, y):
    """Return the height between the centres of four cells; NaN beyond them."""
    grid, ground = terrain.grid, terrain.elevation
    column, row = (x - grid.west) / grid.cell - 0.5, (grid.north - y) / grid.cell - 0.5
    if not (0 <= column <= grid.columns - 1 and 0 <= row <= grid.rows - 1):
        return math.nan
    left, top = min(int(column), grid.columns - 2), min(int(row), grid.rows - 2)
    u, v = column - left, row - top
    return float(
        (1 - v) * ((1 - u) * ground[top, left] + u * ground[top, left + 1])
        + v * ((1 - u) * ground[top + 1, left] + u * ground[top + 1, left + 1])
    )


def looked(terrain, point, azimuth, upto, *, every=0.005):
    """Return the steepest slope at any of many distances from a point on the ground or above. [m]"""
    distances = np.arange(every, upto, every) * terrain.grid.cell
    heights = np.array([
        bilinear(
            terrain, point[0] + one * math.sin(math.radians(azimuth)), point[1] + one * math.cos(math.radians(azimuth))
        )
        for one in distances
    ])  # fmt: skip
    slopes = (heights - point[2]) / distances
    return max(0.0, float(np.nanmax(slopes, initial=0.0)))


@pytest.mark.parametrize("cell", [1.0, 0.5, 4.0])
def test_a_wall_within_two_cells_in_closed_form(cell):
    # the ground rises to the top of the wall, whose middle is 1.5 cells off, within a cell: a straight flank
    ground = wall(5, 7, east=4, height=2.0 * cell, cell=cell)
    foot = np.array([[3.0 * cell, 2.5 * cell, 0.0]])  # half a cell past the centre of the third column
    across = ground_slopes(foot, ground, np.array([EAST, WEST]))
    assert across == pytest.approx(np.array([[2 / 1.5, 0.0]]))
    up = foot + np.array([0, 0, 0.5 * cell])
    assert ground_slopes(up, ground, np.array([EAST])) == pytest.approx(np.array([[1.5 / 1.5]]))
    turned = wall(7, 5, south=2, height=2.0 * cell, cell=cell)  # to the north of a point in the middle of row 4
    found = ground_slopes(np.array([[2.5 * cell, 3.0 * cell, 0.0]]), turned, np.array([NORTH, SOUTH]))
    assert found == pytest.approx(np.array([[2 / 1.5, 0.0]]))


@pytest.mark.parametrize("seed", range(3))
def test_rough_ground_within_two_cells_is_exact(seed):
    chance = np.random.default_rng(seed)
    ground = raster(chance.uniform(0, 0.5, (7, 7)), cell=2.0)  # it ends more than two cells off
    points = np.array([[7.3, 6.9, 0.0], [6.2, 7.7, 0.0], [7.0, 7.0, 0.0]])
    points[:, 2] = [bilinear(ground, x, y) + up for (x, y, _), up in zip(points, [0.0, 0.1, 0.6], strict=True)]
    azimuth = np.arange(0.0, 360.0, 34.0)
    found = ground_slopes(points, ground, azimuth)
    for point, slopes in zip(points, found, strict=True):
        for one, slope in zip(azimuth, slopes, strict=True):
            seen = looked(ground, point, one, 2.0)
            assert slope >= seen - 1e-9  # never below what is seen within two cells
            assert slope <= looked(ground, point, one, 4.0) + 0.012  # nor above all: a look at a 200th of a cell


def within_a_stride(found, exact, *, part=1):
    """Check slopes to an edge: looked at in strides of a 30th of the distance, or in a part of that, from it on."""
    assert (found <= exact * 1.003).all()  # between nodes a straight line stands for 1 / distance
    assert (found >= exact / (1 + 1 / (30 * part))).all()


def test_far_edges_in_strides():
    # a plateau 3 m high whose edge, the centre of the first cell on it, is 16 m off, and 8 m from another point
    plateau = raster(np.where(np.arange(40) >= 20, 3.0, 0.0) * np.ones((3, 1)))
    point = np.array([[4.5, 1.5, 0.0]])
    for up in (0.0, 1.0):
        within_a_stride(ground_slopes(point + np.array([0, 0, up]), plateau, np.array([EAST])), (3 - up) / 16)
    assert ground_slopes(point + np.array([0, 0, 3.0]), plateau, np.array([EAST])).tolist() == [[0.0]]
    nearer = ground_slopes(np.array([[12.5, 1.5, 0.0]]), plateau, np.array([EAST]))
    assert nearer == pytest.approx(np.array([[3 / 8]]), rel=1 / 16)  # strides are half a cell there
    # of two walls the one that stands steeper counts, before or behind
    for first, second, exact in ((3.0, 3.0, 3 / 16), (3.0, 12.0, 12 / 26), (5.0, 6.0, 5 / 16)):
        two = np.zeros((3, 40))
        two[:, 20:24], two[:, 30:34] = first, second
        within_a_stride(ground_slopes(point, raster(two), np.array([EAST])), exact)


@pytest.mark.parametrize("away", [3, 4, 6, 8])
@pytest.mark.parametrize("cell", [0.25, 4.0])
def test_strides_begin_two_cells_off_whatever_a_cell_measures(cell, away):
    plateau = raster(np.where(np.arange(20) >= away + 3, 3.0, 0.0) * np.ones((3, 1)), cell=cell)
    (found,) = ground_slopes(np.array([[3.5 * cell, 1.5 * cell, 0.0]]), plateau, np.array([EAST]))
    assert 3 / (cell * (away + 0.5)) - 1e-9 <= found[0] <= 3 / (cell * away) + 1e-9  # strides are half a cell


@pytest.mark.parametrize("away", [60, 63, 67, 71])
def test_strides_longer_than_a_cell_are_divided_by_four(away):
    # from 2 m on, 60 cells off and more: strides are 2 cells there, and looked at in quarters where their end is higher
    plateau = raster(np.where(np.arange(80) >= away + 3, 3.0, 0.0) * np.ones((3, 1)), cell=0.5)
    found = ground_slopes(np.array([[1.75, 0.75, 0.0]]), plateau, np.array([EAST]))
    within_a_stride(found, 3 / (0.5 * away), part=4)


def test_a_plane_is_its_own_horizon_in_each_direction():
    # rises by 0.4 to the east and 0.3 to the north: 0.4 sin a + 0.3 cos a, straight lines between rays 2 degrees apart
    x, y = np.meshgrid(np.arange(9) + 0.5, 8.5 - np.arange(9))
    ground = raster(0.4 * x + 0.3 * y)
    points = np.array([[4.2, 4.7, 0.0], [4.0, 4.0, 0.0]])
    points[:, 2] = 0.4 * points[:, 0] + 0.3 * points[:, 1]
    azimuth = np.array([0.0, 1.0, 37.0, 90.0, 120.7, 200.0, 233.0, 300.0, 359.0, -3.0, 723.0])
    expected = np.maximum(0.4 * np.sin(np.radians(azimuth)) + 0.3 * np.cos(np.radians(azimuth)), 0)
    for slopes in (ground_slopes, shared_slopes):
        assert slopes(points, ground, azimuth) == pytest.approx(np.array([expected] * 2), abs=2e-4)


def test_between_rays_the_horizon_is_interpolated():
    # a wall to the east, 1.5 cells off, seen on either side of azimuth 91 along rays of 90 and 92 degrees
    ground = wall(5, 7, east=4, height=2.0)
    foot = np.array([[3.0, 2.5, 0.0]])
    rays = ground_slopes(foot, ground, np.array([90.0, 92.0]))[0]
    between = ground_slopes(foot, ground, np.array([90.5, 91.0, 91.5]))[0]
    assert between == pytest.approx(rays[0] + (rays[1] - rays[0]) * np.array([0.25, 0.5, 0.75]))
    assert rays[1] == pytest.approx(2 * math.cos(math.radians(2)) / 1.5)


def test_unknown_ground_hides_nothing_and_ends_nothing():
    ground = np.zeros((3, 30))
    ground[:, 10:14], ground[:, 20:] = np.nan, 3.0
    point = np.array([[2.5, 1.5, 0.0]])
    assert ground_slopes(point, raster(ground), np.array([EAST])) == pytest.approx(np.array([[3 / 18]]), rel=0.02)
    nothing = raster(np.full((3, 3), np.nan))
    assert ground_slopes(point, nothing, np.array([EAST, WEST])).tolist() == [[0, 0]]
    narrow = raster(np.array([[0.0, 5.0, 9.0]]))  # a single row has no ground between four cells
    assert ground_slopes(np.array([[0.5, 0.5, 0.0]]), narrow, np.array([EAST])).tolist() == [[0]]
    two = raster(np.array([[0.0, 2.0, 2.0], [0.0, 2.0, 2.0]]))
    assert ground_slopes(np.array([[0.5, 1.0, 0.0]]), two, np.array([EAST])) == pytest.approx(np.array([[2.0]]))


@pytest.mark.parametrize(("x", "y"), [(0.0, 0.0), (100.0, -300.0)])
def test_a_farther_raster_counts_from_the_edge_of_the_nearer_one_on(x, y):
    # the nearer is level, 10 m by 10 m; the farther, of cells of 2 m, has a bank of 6 m from 20 m east of its west edge
    far = np.where(np.arange(20) * 2 - 10 >= 20, 6.0, 0.0) * np.ones((15, 1))

    def before(elevation):
        beyond = raster(elevation, cell=2.0, west=x - 10.0, south=y - 10.0)
        return raster(np.zeros((10, 10)), west=x, south=y, beyond=(beyond,))

    point = np.array([[x + 5.0, y + 5.0, 0.0]])
    found = ground_slopes(point, before(far), np.array([EAST, WEST, NORTH]))[0]
    assert found[0] == pytest.approx(6 / 16, rel=0.03)  # the first centre on the bank, at x = 21
    assert found[1:].tolist() == [0.0, 0.0]
    # what the farther raster holds nearer than the edge, less two of its cells, does not count: 5 - 4 m
    hump = np.zeros((15, 20))
    hump[7, 7] = 9.0  # a cell at x from 4 to 6, y from 4 to 6: about the point itself
    assert ground_slopes(point, before(hump), np.array([EAST]))[0, 0] <= 9 * 0.5 / 1.0
    lower = ground_slopes(point - np.array([0.0, 4.0, 0.0]), before(hump), np.array([NORTH]))
    assert lower[0, 0] == pytest.approx(9 / 4, rel=0.06)


@pytest.mark.parametrize("turned", [False, True])
def test_far_ground_is_interpolated_between_the_nodes_on_either_side(turned):
    # a bank of 2 m, its edge 9 m to 13 m from 30 points: nodes 2 m apart; a straight line on from the others' would be
    # 6 % too low at the nearest points
    bank = np.where(np.arange(120) * 0.25 + 0.125 > 23.0, 2.0, 0.0)
    along, aside = (axis.ravel() for axis in np.meshgrid(np.linspace(10.125, 14.125, 10), [2.0, 2.5, 3.0]))
    if turned:  # to the north
        ground = raster(bank[::-1, None] * np.ones((1, 24)), cell=0.25)
        points, towards = np.column_stack([aside, along, np.zeros(30)]), NORTH
    else:
        ground = raster(bank * np.ones((24, 1)), cell=0.25)
        points, towards = np.column_stack([along, aside, np.zeros(30)]), EAST
    found = shared_slopes(points, ground, np.array([towards]))[:, 0]
    exact = 2 / (23.125 - along)
    assert (found <= exact * 1.01).all()  # a chord of 1 / distance over 2 m
    assert (found >= exact / (1 + 1 / 30)).all()


def test_shared_slopes_look_at_far_ground_from_few_nodes():
    # a bank of 4 m in the east, its edge at x = 39.5, seen by 30 points in a strip of 4 m by 1 m: more than the six
    # nodes about them. Far slopes are 4 over the distance; between nodes 2 m apart that is nearly a straight line
    ground = raster(np.where(np.arange(60) >= 39, 4.0, 0.0) * np.ones((12, 1)))
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(10, 14, 10), [5.0, 5.5, 6.0]))
    points = np.column_stack([x, y, np.zeros(30)])
    found = shared_slopes(points, ground, np.array([EAST, WEST]))
    within_a_stride(found[:, 0], 4 / (39.5 - x))
    assert found[:, 1].tolist() == [0.0] * 30
    above = points + np.array([0, 0, 0.5])
    within_a_stride(shared_slopes(above, ground, np.array([EAST]))[:, 0], 3.5 / (39.5 - x))
    # a bank of half a metre, its edge 3.5 m off to the west of the nearest, is looked up for each point in half cells
    near = ground.elevation.copy()
    near[:, 3:7] = 0.5
    found = shared_slopes(points, raster(near), np.array([WEST]))[:, 0]
    close, away = x - 6.5 < 7.4, x - 6.5
    assert (found <= 0.5 / away + 1e-9)[close].all()
    assert (found >= 0.5 / (away + 0.5) - 1e-9)[close].all()
    across = raster(np.where(np.arange(60) >= 39, 4.0, 0.0)[:, None] * np.ones((1, 12)))  # the same in the south
    found = shared_slopes(np.column_stack([y, 60 - x, np.zeros(30)]), across, np.array([SOUTH, NORTH]))
    within_a_stride(found[:, 0], 4 / (39.5 - x))
    assert found[:, 1].tolist() == [0.0] * 30


def test_shared_slopes_follow_points_over_slanted_ground():
    # ground rises by 0.1 to the north: the nodes stand on it as the points do, 0.2 m above; a bank of 6 m more beyond
    y = 59.5 - np.arange(60)
    ground = raster((0.1 * y + np.where(y > 40, 6.0, 0.0))[:, None] * np.ones((1, 12)))
    x, south = (axis.ravel() for axis in np.meshgrid([4.0, 5.0, 6.0], np.linspace(10, 14, 8)))
    points = np.column_stack([x, south, 0.1 * south + 0.2])
    found = shared_slopes(points, ground, np.array([NORTH]))[:, 0]
    within_a_stride(found - 0.1, 5.8 / (40.5 - south))
