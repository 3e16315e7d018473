"""The cost field cell by cell, each against a figure that is worked out by itself."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.haul.ground.cost_field import (
    GRASS,
    CostField,
    cost_field,
    routing_grid,
    walking_field,
    with_changed_gates,
)
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Building, Fence, Gate, Surface
from siteplan.land.grid import Grid
from siteplan.land.site import Barrow, HaulSettings
from siteplan.land.terrain import Terrain


def test_the_ground_along_a_line_is_read_piece_by_piece():
    # cells of 1 m, whose rolling resistance is ten times the row and the column; 3 % up eastward and 4 % northward.
    # Pieces of at most half a metre: 3 m east, 2 m south, 1.2 m west (three of 0.4 m), 0.4 m north, and no way at all
    rows, columns = np.mgrid[0:3, 0:4].astype(float)
    grid, level = Grid(10, 3, 1, 3, 4), np.ones((3, 4))
    ground = CostField(grid, level, level, 0.03 * level, 0.04 * level, 10 * rows + columns, max_grade=1.0)
    line = LineString([(10.5, 2.5), (13.5, 2.5), (13.5, 0.5), (12.3, 0.5), (12.3, 0.9), (12.3, 0.9)])
    pieces = ground.along(line)
    assert pieces.length == pytest.approx([0.5] * 10 + [0.4] * 4 + [0.0])
    assert pieces.rolling.tolist() == [0, 1, 1, 2, 2, 3, 3, 13, 13, 23, 23, 22, 22, 22, 22]
    assert pieces.rise == pytest.approx([0.03] * 6 + [-0.04] * 4 + [-0.03] * 3 + [0.04, 0.0])
    assert pieces.cross_fall == pytest.approx([0.04] * 6 + [0.03] * 4 + [0.04] * 3 + [0.03, 0.0])
    # beyond the map the outermost cell counts
    around = ground.along(LineString([(8, 2.5), (8.5, 2.5)])), ground.along(LineString([(15, 0.5), (15, -1.5)]))
    assert [part.rolling.tolist() for part in around] == [[0], [23, 23, 23, 23]]
    assert ground.along(LineString([(12.5, 4.5), (12.5, 4.9)])).rolling.tolist() == [2]


@pytest.mark.parametrize(("clearance", "cell"), [(0.02, 0.1), (0.17, 0.17), (0.6, 0.25)])
def test_cells_are_as_large_as_the_clearance_from_10_to_25_cm(bare_yard, clearance, cell):
    assert routing_grid(dataclasses.replace(bare_yard, barrow=Barrow(clearance=clearance))).cell == cell


def test_on_a_large_property_there_are_three_hundred_thousand_cells(bare_yard):
    large = dataclasses.replace(bare_yard, boundary=box(100, 50, 500, 450))
    assert routing_grid(large).cell == pytest.approx((400 * 400 / 300_000) ** 0.5, rel=1e-9)  # rounding


def test_a_barrow_may_touch_the_edge_of_its_room(bare_yard):
    # half of 0.5 m from the property's east edge, in binary fractions: room of exactly 0
    site = dataclasses.replace(bare_yard, barrow=Barrow(width=0.5, clearance=0.25))
    field = cost_field(site, Grid(5.25, 0.5, 1.0, 1, 1))
    assert field.room[0, 0] == 0.0
    assert np.isfinite(field.empty[0, 0])


def test_room_is_the_least_of_all_distances_up_to_five_cells(bare_yard):
    # cells of half a metre over and beyond the property, against distances without windows: to the shed and the fence
    # less 0.425 m, to the edge less 0.325 m, at most 2.5 m, and outside the property below 0
    shed, line = box(-3, 1, -1.5, 2.5), LineString([(1.5, -5), (1.5, 2)])
    site = dataclasses.replace(
        bare_yard,
        buildings=(Building(id="shed", outline=shed, height=2.5),),
        fences=(Fence(id="fence", line=line, height=1.2, thickness=0.1),),
    )
    grid = Grid(-10, 9, 0.5, 36, 40)
    x, y = np.meshgrid(grid.x, grid.y)
    points, edge = shapely.points(x, y), site.boundary.exterior
    inside = shapely.covers(site.boundary, points)
    to_edge = np.where(inside, shapely.distance(points, edge), -shapely.distance(points, edge)) - 0.325
    beyond = shapely.distance(points, edge) > 0.325 + 2.5
    expected = np.minimum(np.where(beyond, np.where(inside, 2.5, -2.5), to_edge), 2.5)
    expected = np.minimum(expected, shapely.distance(points, shed) - 0.425)
    expected = np.minimum(expected, shapely.distance(points, line.buffer(0.05, cap_style="flat")) - 0.425)
    field = cost_field(site, grid)
    np.testing.assert_allclose(field.room, expected, atol=1e-9)
    assert np.array_equal(np.isfinite(field.empty), expected >= 0)


def test_a_gate_that_just_fits_leaves_a_row_of_cells(bare_yard):
    # 0.86 m leave half a centimetre to each side; half a cell's diagonal of 0.25 m is 0.1768 m, less 0.125 m to the
    # middles of the two rows of cells beside the axis
    gap = LineString([(-0.43, 0), (0.43, 0)])
    site = dataclasses.replace(
        bare_yard,
        fences=(Fence(id="fence", line=LineString([(-6, 0), (6, 0)]), height=1.2, thickness=0.02),),
        gates=(Gate(id="gate", place=Point(0, 0), line=gap, width=0.86),),
    )
    field = cost_field(site, Grid(-1, 0.125, 0.25, 1, 8))
    assert field.room[0, 3:5] == pytest.approx([0.25 * 0.5**0.5 - 0.125] * 2)
    assert (np.delete(field.room[0], (3, 4)) < 0).all()


def gated(yard, *gates):
    fence = Fence(id="fence", line=LineString([(-6, 1), (6, 1)]), height=1.2, thickness=0.1)
    return dataclasses.replace(yard, fences=(fence,), gates=gates)


def gate(name, x, width):
    line = LineString([(x - width / 2, 1), (x + width / 2, 1)])
    return Gate(id=name, place=Point(x, 1), line=line, width=width)


@pytest.mark.parametrize("gates", [
    (gate("west", -3.3, 1.1),),  # the east gate is shut
    (gate("west", -3.3, 1.1), gate("east", 2.9, 0.9)),  # made narrower
    (gate("west", -3.3, 1.1), gate("east", 2.9, 1.6)),  # made wider
    (gate("west", -3.3, 1.1), gate("east", 2.9, 1.2), gate("new", 0.1, 1.0)),
    (gate("west", -3.3, 1.1), gate("east", 2.9, 0.5)),  # too narrow: as if shut
], ids=["shut", "narrower", "wider", "new", "too narrow"])  # fmt: skip
@pytest.mark.parametrize("turned", [False, True])
def test_with_other_gates_the_ground_is_that_of_the_changed_site(bare_yard, gates, turned):
    def site_with(some):
        site = gated(bare_yard, *some)
        if not turned:
            return site
        return dataclasses.replace(
            site, boundary=swapped(site.boundary),
            fences=tuple(dataclasses.replace(fence, line=swapped(fence.line)) for fence in site.fences),
            gates=tuple(
                dataclasses.replace(one, line=swapped(one.line), place=swapped(one.place)) for one in site.gates
            ),
        )  # fmt: skip

    before, after = site_with((gate("west", -3.3, 1.1), gate("east", 2.9, 1.2))), site_with(gates)
    grid = Grid(-6, 6, 0.2, 60, 60)
    found, expected = with_changed_gates(cost_field(before, grid), before, after), cost_field(after, grid)
    for layer in ("loaded", "empty", "room"):
        np.testing.assert_allclose(getattr(found, layer), getattr(expected, layer), atol=1e-9)
    assert [one.shape.wkt for one in found.barriers] == [one.shape.wkt for one in expected.barriers]
    assert found.grid == grid


def swapped(shape):
    return shapely.transform(shape, lambda points: points[:, ::-1])


def test_with_other_gates_only_the_cells_around_them_are_computed(bare_yard, monkeypatch):
    before, after = gated(bare_yard, gate("east", 2.9, 1.2)), gated(bare_yard)
    field, parts = cost_field(before, Grid(-6, 6, 0.2, 60, 60)), []
    whole = cost_field

    def watched(site, grid):
        parts.append(grid)
        return whole(site, grid)

    monkeypatch.setattr("siteplan.haul.ground.cost_field.cost_field", watched)
    with_changed_gates(field, before, after)
    (part,) = parts
    assert part.rows * part.columns < 60 * 60 / 2


def test_a_walker_is_half_a_metre_wide_and_goes_dry(bare_yard):
    # 0.8 m from a wall less 0.25 and 0.05 m; 0.8 m from the property's edge less 0.25 m; and on wet days as on dry ones
    wall = Building(id="wall", outline=box(0, -1, 1, 1), height=3)
    site = dataclasses.replace(bare_yard, buildings=(wall,), haul=HaulSettings(wet=True))
    near_wall = walking_field(site, Grid(-1.3, 0.5, 1.0, 1, 1))
    near_edge = walking_field(site, Grid(-5.7, 0.5, 1.0, 1, 1))
    assert near_wall.room[0, 0] == pytest.approx(0.5)
    assert near_edge.room[0, 0] == pytest.approx(0.55)
    assert near_wall.rolling[0, 0] == GRASS.rolling
    assert near_wall.loaded[0, 0] == near_wall.empty[0, 0] == pytest.approx(3.6 / 4.5 * 1.1)
    assert np.ravel(near_wall.max_grade)[0] == 1.0


@pytest.mark.parametrize(("kind", "carries"), [("steps", True), ("mud", False)])
def test_no_loaded_barrow_on_steps_or_where_its_surface_says_so(bare_yard, kind, carries):
    figures = RollingSurface(surface=kind, rolling=0.02, rolling_wet=0.02, pace=0.5, loaded=carries)
    site = dataclasses.replace(
        bare_yard, rolling_surfaces={kind: figures},
        surfaces=(Surface(id="a", outline=box(-1, -1, 1, 1), surface=kind),),
    )  # fmt: skip
    field = cost_field(site, Grid(-0.5, 0.5, 1.0, 1, 1))
    assert np.isinf(field.loaded[0, 0])
    assert field.empty[0, 0] == pytest.approx(3.6 / 4.5 / 0.5)


@pytest.mark.parametrize(("cell", "east", "north"), [(0.1, 0.25, 0.5), (0.8, 0.64, 1.28)])
def test_slopes_are_read_over_half_a_metre_or_a_cell_to_each_side(bare_yard, cell, east, north):
    # on a height of x3 + 2 y3 the mean slope from -b to b about the origin is b2 eastward and 2 b2 northward
    nodes = Grid(-3.05, 3.05, 0.1, 61, 61)
    x, y = np.meshgrid(nodes.x, nodes.y)
    site = dataclasses.replace(bare_yard, terrain=Terrain(nodes, x**3 + 2 * y**3))
    field = cost_field(site, Grid(-cell / 2, cell / 2, cell, 1, 1))
    assert field.rise_east[0, 0] == pytest.approx(east)
    assert field.rise_north[0, 0] == pytest.approx(north)
