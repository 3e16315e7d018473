"""What is in the way to a bed that no barrow reaches, by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box

from siteplan.haul.ground.cost_field import cost_field
from siteplan.haul.routes.obstruction import Obstacle, _cell, _cheapen_gates, nearest_obstacle
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, Keepout, Surface
from siteplan.land.grid import Grid, grid_over

BED = Bed(id="bed", outline=box(3, -1, 5, 1), height=0.4)
FENCE = Fence(id="fence", line=LineString([(0, -5), (0, 5)]), height=1.2, thickness=0.1)
STEPS = RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.6, loaded=False)


def obstacle(yard, *, start=Point(-3, 0), **features):  # noqa: B008 - points never change
    site = dataclasses.replace(yard, beds=(BED,), **features)
    return nearest_obstacle(site, cost_field(site, grid_over(site.boundary, 0.25)), start, BED)


def gate(width, x=0.0, y=3.0):
    line = LineString([(x, y - width / 2), (x, y + width / 2)])
    return Gate(id="gate", place=Point(x, y), line=line, width=width)


def test_a_fence_is_told_by_its_name(bare_yard):
    assert obstacle(bare_yard, fences=(FENCE,)) == Obstacle("fence", "fence", 0.0)


def test_of_two_in_the_way_the_first_is_told(bare_yard):
    hedge = Hedge(id="hedge", outline=box(1.4, -5, 1.8, 5), height=1)
    assert obstacle(bare_yard, fences=(FENCE,), hedges=(hedge,)) == Obstacle("fence", "fence")
    assert obstacle(bare_yard, fences=(FENCE,), hedges=(hedge,), start=Point(5.4, -3)) == Obstacle("slope")
    swapped = (
        dataclasses.replace(FENCE, line=LineString([(2, -5), (2, 5)])),
        Hedge(id="hedge", outline=box(-1, -5, -0.6, 5), height=1),
    )
    assert obstacle(bare_yard, fences=swapped[:1], hedges=swapped[1:]) == Obstacle("hedge", "hedge")


@pytest.mark.parametrize(("width", "wider"), [(0.8, 0.05), (0.5, 0.35)])
def test_rather_a_wider_gate_than_a_gap_in_the_fence(bare_yard, width, wider):
    # 3 m aside; the barrow of 0.65 m needs 0.85 m
    assert obstacle(bare_yard, fences=(FENCE,), gates=(gate(width),)) == Obstacle(
        "gate", "gate", pytest.approx(wider)
    )


def test_a_gate_far_beside_the_crossing_is_not_the_obstacle(bare_yard):
    # a second fence without a gate comes first
    first = Fence(id="first", line=LineString([(-1.5, -5), (-1.5, 5)]), height=1.2, thickness=0.1)
    assert obstacle(bare_yard, fences=(first, FENCE), gates=(gate(0.8),)) == Obstacle("fence", "first")


def test_a_wall_of_a_house_is_no_place_for_a_gate(bare_yard):
    house = Building(id="house", outline=box(-0.2, -5, 0.2, 5), height=3)
    assert obstacle(bare_yard, buildings=(house,), gates=(gate(0.8),)) == Obstacle("building", "house")


def test_a_keepout_and_a_stair_are_told(bare_yard):
    pond = Keepout(id="pond", outline=box(-0.5, -5, 0.5, 5), reason="pond")
    assert obstacle(bare_yard, keepouts=(pond,)) == Obstacle("keepout", "pond")
    stair = Surface(id="stair", outline=box(-0.5, -5, 0.5, 5), surface="steps")
    paving = Surface(id="paving", outline=box(-6, -5, 6, 5), surface="paved")
    for surfaces in ((stair, paving), (paving, stair)):
        found = obstacle(bare_yard, surfaces=surfaces, rolling_surfaces={"steps": STEPS})
        assert found == Obstacle("steps", "stair")


def test_with_nothing_between_it_is_the_slope(bare_yard):
    assert obstacle(bare_yard) == Obstacle("slope", "", 0.0)


def test_a_neck_of_the_property_is_its_edge(bare_yard):
    # two parts joined by a neck 0.5 m wide: too narrow for the barrow, and nothing stands there
    neck = Polygon([(-6, -5), (-1, -5), (-1, -0.25), (1, -0.25), (1, -5), (6, -5), (6, 5), (1, 5), (1, 0.25), (-1, 0.25),
                    (-1, 5), (-6, 5)])  # fmt: skip
    assert obstacle(bare_yard, boundary=neck) == Obstacle("edge", "")


def test_rather_through_the_fence_than_over_the_neighbours_ground(bare_yard):
    # straight through the fence, though it ends a metre before the property does on the way round it
    inner = dataclasses.replace(FENCE, line=LineString([(0, -4.9), (0, 4.9)]))
    assert obstacle(bare_yard, fences=(inner,)) == Obstacle("fence", "fence")


def test_shapes_beyond_the_grid_begin_in_its_outermost_cell():
    grid = Grid(0, 3, 1, 3, 4)
    assert [_cell(grid, Point(*at)) for at in ((-5, 9), (9, -9), (1.5, 0.5), (3.5, 2.5))] == [
        (0, 0), (2, 3), (2, 1), (0, 3),
    ]  # fmt: skip


@pytest.mark.parametrize(("width", "cheap"), [(0.8, True), (0.85, False)])
def test_narrow_gates_are_cheap_as_far_as_their_fence_bars_the_way(bare_yard, width, cheap):
    # cells of 0.25 m: along 0.8 m their middles at -0.375, -0.125, 0.125 and 0.375 m; across, up to 0.425 + 0.25 m to
    # each side: three middles, up to 0.625 m
    metre = np.full((16, 16), 1e4)
    metre[8, 8] = 1.0
    _cheapen_gates(dataclasses.replace(bare_yard, gates=(gate(width, y=0.0),)), Grid(-2, 2, 0.25, 16, 16), metre)
    rows, columns = np.nonzero(metre == 100)
    assert metre[8, 8] == 1.0
    if not cheap:
        assert len(rows) == 0
        return
    assert (len(rows), rows.min(), rows.max()) == (4 * 6 - 1, 6, 9)
    assert (columns.min(), columns.max()) == (5, 10)
    assert (metre == 1e4).sum() == 16 * 16 - 24
