"""Where the loops look at far ground, stride by stride and node by node: by hand."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.lookup import terrain_horizon
from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

EAST = np.array([90.0])


def plateau(edge, *, cell, columns, height=3.0):
    """Return ground of three rows that is `height` up from the middle of cell `edge` on, and level before."""
    grid = Grid(west=0, north=3 * cell, cell=cell, rows=3, columns=columns)
    return Terrain(grid, np.where(np.arange(columns) >= edge, height, 0.0) * np.ones((3, 1)))


@pytest.mark.parametrize(
    ("cell", "edge"), [(1.0, 20), (1.0, 26), (1.0, 33), (0.25, 60), (0.25, 67), (0.25, 90), (2.0, 12)]
)
@pytest.mark.parametrize("datum", [0.0, -100.0])
def test_each_stride_is_a_thirtieth_of_the_way_or_half_a_cell(plain_loops, cell, edge, datum):
    # from the middle of cell 4; between the middles of two cells the ground rises evenly
    top = (edge - 4) * cell

    def height(x):
        return float(np.interp(x, [top - cell, top], [0.0, 3.0]))

    distance = previous = 2 * cell
    steepest = 0.0
    while distance < top + 5:
        if height(distance) > steepest * distance:
            steepest = height(distance) / distance
            if distance - previous > cell:  # a long stride is looked at in its quarters
                quarters = [distance + (previous - distance) * part for part in (0.25, 0.5, 0.75)]
                steepest = max([steepest, *(height(x) / x for x in quarters)])
        previous, distance = distance, distance + max(cell / 2, distance / 30)
    found = ground_slopes(
        np.array([[4.5 * cell, 1.5 * cell, 0.0]]), plateau(edge, cell=cell, columns=edge + 60), EAST
    )
    assert found[0, 0] == pytest.approx(steepest, rel=1e-9)


def test_the_sixteenth_metre_in_strides(plain_loops):
    # half a metre each up to 15 m and 15.5 m; then 15.5 + 15.5 / 30 = 16.0167 m is the first on the plateau
    found = ground_slopes(np.array([[4.5, 1.5, 0.0]]), plateau(20, cell=1.0, columns=60), EAST)
    assert found[0, 0] == pytest.approx(3 / (15.5 * 31 / 30))


def test_ground_between_two_distances(plain_loops):
    ground = plateau(20, cell=1.0, columns=60)
    point, needed = np.array([[4.5, 1.5, 0.0]]), np.zeros(180, dtype=np.bool_)
    needed[45] = True

    def between(begin, end):
        slopes = terrain_horizon._ray_slopes(point, ground, needed, begin, end)
        assert not np.delete(slopes, 45, axis=1).any()
        return slopes[0, 45]

    assert between(0.0, 15.0) == 0.0  # it rises from 15 m on
    assert between(0.0, 15.5) == pytest.approx(1.5 / 15.5)
    assert between(16.0, 20.0) == pytest.approx(3 / 16)
    assert between(18.0, np.inf) == pytest.approx(3 / 18)
    assert between(18.0, 18.0) == pytest.approx(3 / 18)
    assert between(19.0, 18.0) == 0.0
    near = Terrain(ground.grid, np.where(np.arange(60) >= 5, 1.0, 0.0) * np.ones((3, 1)))
    slopes = [terrain_horizon._ray_slopes(point, near, needed, 0.0, end)[0, 45] for end in (0.25, 0.75, 1.5)]
    assert slopes == pytest.approx([1.0, 1.0, 1.0])  # a flank of one in one from the foot on
    far = Terrain(ground.grid, np.where(np.arange(60) >= 6, 1.0, 0.0) * np.ones((3, 1)))
    slopes = [terrain_horizon._ray_slopes(point, far, needed, 0.0, end)[0, 45] for end in (0.9, 1.5, 3.0)]
    assert slopes == pytest.approx([0.0, 0.5 / 1.5, 0.5])
    assert (
        terrain_horizon._ray_slopes(point, plateau(20, cell=1.0, columns=60, height=np.nan), needed, 0.0, 9.0).max()
        == 0
    )
    strip = Terrain(Grid(west=0, north=1, cell=1, rows=1, columns=60), np.arange(60.0)[None])
    on_strip = np.array([[4.5, 0.5, 0.0]])
    assert terrain_horizon._ray_slopes(on_strip, strip, needed, 0.0, np.inf).max() == 0  # one row has no four cells
    wide = Terrain(
        Grid(west=0, north=6, cell=2, rows=3, columns=60), np.where(np.arange(60) >= 6, 1.0, 0.0) * np.ones((3, 1))
    )
    slopes = [
        terrain_horizon._ray_slopes(np.array([[9.0, 3.0, 0.0]]), wide, needed, 0.0, end)[0, 45] for end in (1.8, 3, 9)
    ]
    assert slopes == pytest.approx([0.0, 0.5 / 3, 0.25])  # the flank from 2 m to 4 m off


@pytest.mark.parametrize(("points", "least"), [
    ([[1, 2], [3, 7]], 3), ([[-4, 2], [3, 5]], 1), ([[1, -1], [3, 5]], 2), ([[1, 2], [8.5, 5]], 2.5), ([[1, 2], [13, 5]], -2),
])  # fmt: skip
def test_how_far_the_edge_of_a_raster_is(points, least):
    grid = Grid(west=-5, north=10, cell=1, rows=13, columns=16)  # from -5 to 11 and from -3 to 10
    points = np.column_stack([np.array(points, dtype=float), [0.0, 0.0]])
    assert terrain_horizon._to_edge(points, grid) == least


def test_a_farther_raster_counts_two_of_its_cells_before_the_edge(plain_loops, monkeypatch):
    asked = []
    monkeypatch.setattr(
        terrain_horizon, "_raise_ray_slopes", lambda *given: asked.append((given[2].tolist(), given[5], given[6]))
    )
    far = Terrain(Grid(west=-100, north=100, cell=5.0, rows=40, columns=40), np.ones((40, 40)))
    near = Terrain(Grid(west=-5, north=40, cell=1, rows=80, columns=60), np.ones((80, 60)), beyond=(far,))
    points, needed = np.array([[20.0, 0.0, 0.0], [24.0, 1.0, 0.0]]), np.ones(180, dtype=np.bool_)
    terrain_horizon._ray_slopes(points, near, needed, 0.0, np.inf)
    # 25 m to the west edge, less two cells of 5 m; corners are the middle of the first cell
    assert asked == [([-4.5, 39.5, 1.0], 0.0, np.inf), ([-97.5, 97.5, 5.0], 15.0, np.inf)]
    asked.clear()
    terrain_horizon._ray_slopes(points, near, needed, 20.0, 30.0)
    assert [(begin, end) for _, begin, end in asked] == [(20.0, 30.0), (20.0, 30.0)]
    asked.clear()
    terrain_horizon._ray_slopes(points - [21.0, 0, 0], near, needed, 0.0, 8.0)  # 4 m, less 10
    assert [(begin, end) for _, begin, end in asked] == [(0.0, 8.0), (0.0, 8.0)]
    asked.clear()
    terrain_horizon._ray_slopes(points, near, needed, 0.0, 8.0)
    assert len(asked) == 1


def test_nodes_of_far_ground(plain_loops, monkeypatch):
    asked = []

    def slopes(points, _terrain, _needed, begin, end):
        asked.append((points, begin, end))
        return np.zeros((len(points), 180)) + points[:, :1] + 10 * points[:, 1:2]

    monkeypatch.setattr(terrain_horizon, "_ray_slopes", slopes)
    ground = Terrain(Grid(west=-50, north=50, cell=1, rows=100, columns=100), np.full((100, 100), 7.0))
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(3, 8, 11), np.linspace(-2, 2.2, 7)))
    points = np.column_stack([x, y, np.full(77, 7.25)])
    found = shared_slopes(points, ground, np.array([0.0, 91.0]))
    # 5 m by 4.2 m: three strides of 5/3 m and three of 1.4 m; from 8 m on, and each point's own up to 8 m
    (nodes, *far), (own, *near) = asked
    expected = [(east, north, 7.25) for north in (-2, -0.6, 0.8, 2.2) for east in (3, 3 + 5 / 3, 3 + 10 / 3, 8)]
    assert nodes == pytest.approx(np.array(expected))
    assert (far, near) == ([8.0, np.inf], [0.0, 8.0])
    assert own.tolist() == points.tolist()
    assert found == pytest.approx(np.column_stack([x + 10 * y] * 2))  # even in both directions, so exact
    asked.clear()
    shared_slopes(points[[0, -1, *range(1, 15)]], ground, EAST)  # as many as there are nodes
    assert [(begin, end) for _, begin, end in asked] == [(0.0, np.inf)]
    asked.clear()
    shared_slopes(points[[0, -1, *range(1, 16)]], ground, EAST)
    assert [(begin, end) for _, begin, end in asked] == [(8.0, np.inf), (0.0, 8.0)]
    asked.clear()
    row = points[:11] * [1, 0, 1]  # all in one line: one stride across, which goes nowhere
    shared_slopes(row, ground, EAST)
    assert len(asked[0][0]) == 8
    assert asked[0][0][:, 1] == pytest.approx(np.zeros(8), abs=1e-6)
    unknown = Terrain(ground.grid, np.full((100, 100), np.nan))
    asked.clear()
    with pytest.warns(RuntimeWarning, match="Mean of empty slice"):
        shared_slopes(points, unknown, EAST)
    assert asked[0][0][:, 2] == pytest.approx(np.full(16, 7.25))


def test_the_height_between_four_cells(plain_loops):
    ground = np.array([[1.0, 2.0, 4.0], [3.0, 8.0, 16.0], [5.0, 6.0, 7.0]])
    height = terrain_horizon._height
    assert height(ground, 0.0, 0.0) == 1
    assert height(ground, 0.0, 2.0) == 4
    assert height(ground, 2.0, 0.0) == 5
    assert height(ground, 2.0, 2.0) == 7
    assert height(ground, 0.25, 1.5) == 0.75 * 3 + 0.25 * 12
    assert height(ground, 1.5, 0.25) == 0.5 * (0.75 * 3 + 0.25 * 8) + 0.5 * (0.75 * 5 + 0.25 * 6)
    assert height(ground, 1.0, 2.0) == 16
    for row, column in ((-0.01, 1), (1, -0.01), (2.01, 1), (1, 2.01)):
        assert height(ground, row, column) == np.inf


def test_a_point_below_the_ground_sees_what_is_near_from_the_surface(plain_loops):
    # 1 m below level ground, halfway between two cells: up to 1.5 cells the eye is on the surface, then in the ground
    ground = Terrain(Grid(west=0, north=3, cell=1, rows=3, columns=40), np.ones((3, 40)))
    needed = np.zeros(180, dtype=np.bool_)
    needed[45] = True
    slopes = [
        terrain_horizon._ray_slopes(np.array([[10.0, 1.5, 0.0]]), ground, needed, 0.0, end)[0, 45]
        for end in (0.4, 1.4, 1.9, 9.0)
    ]
    assert slopes == pytest.approx([0.0, 0.0, 1 / 1.9, 1 / 2])


@pytest.mark.parametrize("seed", range(4))
def test_rough_ground_within_two_cells_against_many_looks(plain_loops, seed):
    chance = np.random.default_rng(seed)
    ground = Terrain(Grid(west=0, north=7, cell=1, rows=7, columns=7), chance.uniform(0, 2, (7, 7)))
    x, y = 3.5 + chance.uniform(-0.4, 0.4, 2)
    height = float(ground.height_at([x], [y])[0]) + 0.1 + 0.2 * seed
    found = terrain_horizon._ray_slopes(np.array([[x, y, height]]), ground, np.ones(180, dtype=np.bool_), 0.0, 1.999)
    angle, away = np.radians(np.arange(0, 360, 2.0))[:, None], np.arange(0.001, 2.0, 0.001)
    seen = ground.height_at((x + away * np.sin(angle)).ravel(), (y + away * np.cos(angle)).ravel()).reshape(180, -1)
    expected = np.maximum(((seen - height) / away).max(axis=1), 0)
    assert np.abs(found[0] - expected).max() < 2e-3  # a look each thousandth of a cell
