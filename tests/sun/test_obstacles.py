from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, box, union_all

from siteplan.land.features import Building, Fence, Gate, Hedge, MonthDay, Tree
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.obstacles.crowns import SLICES
from siteplan.sun.obstacles.prisms import Prism, bed_prisms, obstacle_prisms, own_shade
from siteplan.sun.ray_casting import _most_sides, solids


def of(site, owner):
    return [prism for prism in obstacle_prisms(site) if prism.owner == owner]


def only(site, **features):
    nothing = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}
    return replace(site, **(nothing | features))


def test_everything_that_stands_is_there(tiny_yard):
    assert {prism.owner for prism in obstacle_prisms(tiny_yard)} == {"shed", "pear", "fence", "north bed", "new bed"}
    assert not [prism for prism in obstacle_prisms(tiny_yard, without=["pear"]) if prism.owner == "pear"]


def test_an_empty_site_has_no_prisms(tiny_yard):
    assert obstacle_prisms(only(tiny_yard)) == ()


def test_a_gate_is_a_gap_in_the_fence(tiny_yard):
    fence = union_all([prism.outline for prism in of(tiny_yard, "fence")])
    assert not fence.intersects(Point(5, -5))
    assert fence.intersects(Point(4.3, -5))
    assert fence.length == pytest.approx(2 * (44 - 1.2), abs=0.3)  # both sides of the line, less the gate


def test_a_fence_of_panels_bends_without_losing_its_height(tiny_yard):
    fence = Fence(id="f", line=LineString([(0, 0), (3, 0), (3, 3)]), height=1.8, base=0.2, transmittance=0.4)
    (prism,) = obstacle_prisms(only(tiny_yard, fences=(fence,)))
    assert (prism.bottom, prism.top, prism.transmittance_leafy) == (0.2, 1.8, 0.4)
    assert prism.outline.area == pytest.approx(6 * 0.04, rel=1e-6)


def test_a_gate_across_the_whole_fence_leaves_nothing(tiny_yard):
    fence = Fence(id="f", line=LineString([(0, 0), (3, 0)]), height=1.8)
    gate = Gate(id="g", place=Point(1.5, 0), line=LineString([(-1, 0), (4, 0)]), width=5.0)
    assert obstacle_prisms(only(tiny_yard, fences=(fence,), gates=(gate,))) == ()


def test_a_tree_is_crown_and_trunk(tiny_yard):
    crown, trunk = of(tiny_yard, "pear")
    assert (crown.part, crown.bottom, crown.top) == ("crown", 1.5, 5.0)
    assert (crown.leaf_out, crown.leaf_fall) == (100, 300)
    assert len(trunk.outline.exterior.coords) - 1 == 12  # nearly round
    assert (trunk.part, trunk.bottom, trunk.top, trunk.transmittance_leafy) == ("trunk", 0.0, 1.5, 0.0)


def test_an_evergreen_has_no_leaf_dates(tiny_yard):
    pine = replace(
        tiny_yard.trees[0], id="pine", foliage="evergreen", leaf_out=MonthDay(4, 1), leaf_fall=MonthDay(10, 1)
    )
    assert {prism.leaf_out for prism in obstacle_prisms(only(tiny_yard, trees=(pine,)))} == {None}


@pytest.mark.parametrize(("form", "share"), [("cone", 1 / 3), ("ellipsoid", 2 / 3)])
def test_crown_forms_keep_their_volume(tiny_yard, form, share):
    crown = Point(0, 0).buffer(2.0, quad_segs=32)
    tree = Tree(id="t", outline=crown, trunk=Point(0, 0), height=9, crown_base=3, crown_form=form)
    prisms = obstacle_prisms(only(tiny_yard, trees=(tree,)))
    assert len(prisms) == SLICES
    volume = sum(prism.outline.area * (prism.top - prism.bottom) for prism in prisms)
    assert volume == pytest.approx(share * crown.area * 6, rel=0.03)  # corners left out to 2 cm
    assert all(below.top == above.bottom for below, above in itertools.pairwise(prisms))


def test_a_gabled_roof_is_two_exact_halves(tiny_yard):
    house = Building(id="h", outline=box(0, 0, 10, 6), height=7, eaves=4)
    halves = obstacle_prisms(only(tiny_yard, buildings=(house,)))
    assert len(halves) == 2
    volume = sum(
        half.outline.area * (np.dot(half.top_plane[:2], half.outline.centroid.coords[0]) + half.top_plane[2])
        for half in halves
    )
    assert volume == pytest.approx(10 * 6 * 4 + 10 * 6 * 3 / 2)  # walls to the eaves, and half the box above them
    assert [half.top for half in halves] == pytest.approx([7.0, 7.0])
    assert all(half.outline.area == pytest.approx(30) for half in halves)  # the ridge lies along the longer side


def test_a_ridge_may_run_across(tiny_yard):
    house = Building(id="h", outline=box(0, 0, 10, 6), height=7, eaves=4, ridge_heading=0.0)
    halves = obstacle_prisms(only(tiny_yard, buildings=(house,)))
    assert sorted(half.outline.bounds[0] for half in halves) == pytest.approx([0, 5])


def test_eaves_at_the_top_are_a_flat_roof(tiny_yard):
    (flat,) = obstacle_prisms(
        only(tiny_yard, buildings=(Building(id="h", outline=box(0, 0, 9, 6), height=4, eaves=4),))
    )
    assert flat.top_plane is None


def test_parts_and_holes_stay(tiny_yard):
    ring = box(0, 0, 6, 6).difference(box(2, 2, 4, 4))
    both = MultiPolygon([ring, box(8, 0, 9, 1)])
    prisms = obstacle_prisms(only(tiny_yard, hedges=(Hedge(id="h", outline=both, height=1.5),)))
    assert [len(prism.outline.interiors) for prism in prisms] == [1, 0]


def test_a_bed_is_soil_trellis_and_crop(tiny_yard):
    bed = replace(tiny_yard.beds[1], crop_height=1.2)
    soil, trellis, crop = bed_prisms(tiny_yard, bed)
    assert (soil.bottom, soil.top, soil.transmittance_leafy) == (0.0, 0.45, 0.0)
    assert (trellis.bottom, trellis.top) == (0.45, 1.8)
    assert trellis.outline.bounds[1] > 1.1  # the north end of a bed that runs north to south
    assert (crop.bottom, crop.top, crop.transmittance_bare) == (0.45, 1.2, 1.0)
    assert own_shade(tiny_yard, bed) == (trellis,)


def test_a_southern_trellis_stands_on_the_south_side(tiny_yard):
    south = replace(tiny_yard, frame=LocalFrame(longitude=149.0, latitude=-35.0))
    (trellis,) = own_shade(south, tiny_yard.beds[1])
    assert trellis.outline.bounds[3] < -1.1


def test_feet_stand_on_the_terrain(tiny_yard):
    # the ground rises by a tenth towards the east, 100 m at x = 0
    grid = Grid(west=-20, north=20, cell=1, rows=40, columns=40)
    hill = Terrain(grid, 100 + 0.1 * np.broadcast_to(grid.x, grid.shape))
    site = replace(tiny_yard, terrain=hill)
    (shed,) = of(site, "shed")
    assert shed.top == pytest.approx(100.05 + 2.5)  # its middle is at x = 0.5
    assert shed.bottom < 99.9  # below its lowest corner, at x = -1
    panels = of(site, "fence")
    assert max(p.top for p in panels) - min(p.top for p in panels) == pytest.approx(1.2, abs=0.25)  # 12 m of slope


def test_feet_beyond_the_terrain_stand_on_its_edge(tiny_yard):
    grid = Grid(west=-3, north=3, cell=1, rows=6, columns=6)
    site = replace(tiny_yard, terrain=Terrain(grid, np.full(grid.shape, 50.0)))
    assert of(site, "pear")[0].top == pytest.approx(55.0)


def test_a_ray_may_cross_as_many_sides_as_the_body_with_most_of_them_has():
    """The exact test keeps room for the crossings of one ray with one body: a court of 4 corners counts with its hole."""
    court = box(0, 0, 9, 9).difference(box(2, 2, 4, 4))
    bodies = [
        Prism(outline=outline, bottom=0, top=3, owner="x")
        for outline in (box(20, 0, 21, 1), court, Point(30, 0).buffer(1, 1))
    ]
    assert _most_sides(solids(bodies)[0]) == 8
    assert _most_sides(solids(bodies[::2])[0]) == 4
    assert _most_sides(solids([])[0]) >= 2
