"""A bed must not shut the barrow's way: a passage by hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, box
from shapely.affinity import rotate

from siteplan.haul.access_maps import minutes_field
from siteplan.land.features import Building, Fence, Gate, Hedge, Keepout, Pile, Surface, Tree
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import PlaceSettings
from siteplan.place.limits.barrow_way import barrow_way
from siteplan.place.search.search import find_places
from siteplan.say.place_reasons import result_sentences

YARD = box(0, 0, 10, 14)


def with_passage(yard, wide):
    """Return a yard that a house divides but for a passage in the west; loads come from the south."""
    house = Building(id="house", outline=box(wide, 5, 10, 9), height=5)
    site = yard(YARD, cell=0.25, buildings=(house,), place=PlaceSettings(length=2.0, width=1.0, height=0.4, count=1))
    grid = grid_over(YARD, 0.25)
    y = np.meshgrid(grid.x, grid.y)[1]
    return site, grid, np.where(grid.inside(house.outline), np.nan, 1 + 0.1 * y)


def test_a_bed_in_the_passage_cuts_off_what_lies_beyond(yard):
    # the passage is 2.4 m wide: a bed of 1 m in its middle leaves 0.7 m on each side, and the barrow wants 0.85 m
    site, grid, minutes = with_passage(yard, 2.4)
    way = barrow_way(site, grid, minutes)
    across = rectangle(1.2, 7, length=2, width=1, heading=0)
    # beyond lie 10 m by 5 m and some of the passage; the barrow's middle keeps 0.325 m from house and boundary and
    # 0.425 m from the bed: 9.35 x 4.35 + 1.75 x 0.9 = 42.2 m2, to half a cell along 30 m of edge
    assert way.cut_off(across) == pytest.approx(42.2, abs=3.5)
    assert way.blocks_way(across)
    assert not way.blocks_way(rectangle(5, 2, length=2, width=1, heading=0))
    assert not way.blocks_way(rectangle(5, 12, length=2, width=1, heading=0))


def test_beside_a_bed_in_a_wide_passage_the_barrow_gets_through(yard):
    site, grid, minutes = with_passage(yard, 4.0)
    assert not barrow_way(site, grid, minutes).blocks_way(rectangle(0.9, 7, length=2, width=1, heading=0))


def test_a_gate_is_a_way_and_a_fence_is_none(yard):
    fence = Fence(id="run", line=LineString([(0, 7), (10, 7)]), height=1.2)
    gate = Gate(id="gate", place=Point(5, 7), line=LineString([(4.25, 7), (5.75, 7)]), width=1.5)
    grid = grid_over(YARD, 0.25)
    minutes = 1 + 0.1 * np.meshgrid(grid.x, grid.y)[1]
    closed = barrow_way(yard(YARD, cell=0.25, fences=(fence,)), grid, minutes)
    opened = barrow_way(yard(YARD, cell=0.25, fences=(fence,), gates=(gate,)), grid, minutes)
    beyond = grid.cell_of(5, 12)
    assert not closed.reached[beyond]
    assert opened.reached[beyond]
    assert opened.blocks_way(rectangle(5, 6, length=2, width=1, heading=90))  # before the gate


WEST, EAST = box(0, 7, 4, 7.5), box(6, 7, 10, 7.5)


def stems():
    """Return stems of half a metre in a row, half a metre apart, with crowns that one walks under."""
    for x in (0.25, 1.25, 2.25, 3.25, 6.75, 7.75, 8.75, 9.75):
        crown = Point(x, 7.25).buffer(1)
        yield Tree(id=f"t{x}", outline=crown, trunk=Point(x, 7.25), height=6, crown_base=2, trunk_diameter=0.5)


def bush(name, outline):
    return Tree(id=name, outline=outline, trunk=outline.centroid, height=2, crown_base=0.3)


@pytest.mark.parametrize("across", [
    {"hedges": (Hedge(id="w", outline=WEST, height=1), Hedge(id="e", outline=EAST, height=1))},
    {"keepouts": (Keepout(id="w", outline=WEST, reason="pond"), Keepout(id="e", outline=EAST, reason="pond"))},
    {"trees": (bush("w", WEST), bush("e", EAST))},
    {"trees": tuple(stems())},
], ids=["hedge", "keepout", "bushes", "stems"])  # fmt: skip
def test_whatever_stands_across_the_yard_a_bed_in_its_gap_cuts_off_what_lies_beyond(yard, across):
    site, grid = yard(YARD, cell=0.25, **across), grid_over(YARD, 0.25)
    way = barrow_way(site, grid, 1 + 0.1 * np.meshgrid(grid.x, grid.y)[1])
    # beyond lie 10 m by 6.5 m; the barrow's middle keeps 0.325 m from all edges, and of 2 m it keeps 0.1 m more from
    # the bed: 9.35 x 5.85 - 2 x 0.1 = 54.5 m2, to half a cell along 30 m of edge
    in_the_gap = rectangle(5, 7.25, length=2, width=0.5, heading=90)
    assert way.cut_off(in_the_gap) == pytest.approx(54.5, abs=3.5)
    assert way.blocks_way(in_the_gap)
    assert not way.blocks_way(rectangle(5, 2, length=2, width=0.5, heading=90))


def test_what_is_left_out_does_not_stand_in_the_way(yard):
    keepouts = tuple(Keepout(id=name, outline=part, reason="pond") for name, part in (("w", WEST), ("e", EAST)))
    grid = grid_over(YARD, 0.25)
    minutes = 1 + 0.1 * np.meshgrid(grid.x, grid.y)[1]
    way = barrow_way(yard(YARD, cell=0.25, keepouts=keepouts), grid, minutes, ignore=("e",))
    assert not way.blocks_way(rectangle(5, 7.25, length=2, width=0.5, heading=90))


def test_the_search_leaves_the_passage_open(yard, maps_from):
    # the passage is the sunniest ground there is, but a bed in it would shut the way to the back
    site, _, minutes = with_passage(yard, 2.0)
    maps = maps_from(site, lambda x, y: 4 + 4 * np.exp(-((y - 7) ** 2) / 3) * (x < 2.0))
    drawn = find_places(site, maps).places[0]
    assert 5 < drawn.y < 9
    found = find_places(site, maps, minutes=minutes)
    assert not 5 < found.places[0].y < 9
    assert result_sentences(found, "metric") == (
        "spots where a bed would cut off the barrow's way to the ground behind it were left out",
    )
    assert all(not 5.5 < choice.y < 8.5 for choice in found.trade_off)


@pytest.mark.parametrize(("gates", "fit"), [(0, False), (1, True)])
@pytest.mark.parametrize(("width", "setback"), [(1.0, 0.6), (0.5, 0.1)])  # a narrow bed may lie near the fence
def test_a_pen_without_a_gate_has_no_place_for_a_bed(yard, maps_from, width, setback, gates, fit):
    # the pile is outside, where all ground is paved: a bed fits into the pen alone
    pen = box(2, 2, 8, 6)
    site = yard(
        box(0, 0, 10, 8), cell=0.25,
        fences=(Fence(id="pen", line=pen.exterior, height=1.2, thickness=0.05),),
        gates=(Gate(id="gate", place=Point(2, 4), line=LineString([(2, 3.5), (2, 4.5)]), width=1.0),)[:gates],
        surfaces=(Surface(id="paving", outline=box(0, 0, 10, 8).difference(pen.buffer(0.1)), surface="paved"),),
        piles=(Pile(id="heap", shape=Point(1, 1)),),
        place=PlaceSettings(length=2.0, width=width, height=0.4, count=1, wall_setback=setback),
    )  # fmt: skip
    maps = maps_from(site, lambda x, y: 6 + 0 * x + 0 * y)
    minutes = minutes_field(site, maps.grid, sources=())
    inside = maps.grid.inside(pen.buffer(-0.05))
    assert np.isfinite(minutes[inside]).any() == fit
    assert bool(find_places(site, maps, minutes=minutes).places) == fit


def test_where_every_spot_shuts_the_way_it_says_so(yard, maps_from):
    # a strip 1.9 m wide, loads from its one end: a bed anywhere but at the far end cuts off more than a corner
    site = yard(box(0, 0, 1.9, 16), cell=0.25, place=PlaceSettings(length=2, width=1, boundary_setback=0.3, count=1))
    maps = maps_from(site, lambda x, y: 6 + 0 * x + 0 * y)
    minutes = 1 + 0.1 * np.meshgrid(maps.grid.x, maps.grid.y)[1]
    place = find_places(site, maps, minutes=minutes).places[0]
    # 4 m2 are 3.2 m of the 1.25 m that the barrow's middle can use: 16 - 0.325 - 3.2 - 0.425 - half the bed
    assert place.y > 11.05


@pytest.mark.parametrize("thick", [0.25, 0.6, 1.5])
@pytest.mark.parametrize("turned", [0.0, 25.0])
@pytest.mark.parametrize("kind", ["hedge", "wall"])
def test_a_gate_opens_a_hedge_and_a_wall_as_it_does_a_fence(yard, kind, thick, turned):
    band = rotate(box(-10, 7 - thick / 2, 20, 7 + thick / 2), turned, origin=(5, 7))
    wall = Fence(id="b", line=LineString(band.exterior), outline=band, height=1.5)
    barrier = {"hedges": (Hedge(id="b", outline=band, height=1.5),)} if kind == "hedge" else {"fences": (wall,)}
    grid = grid_over(YARD, 0.25)
    minutes = 1 + 0.1 * np.meshgrid(grid.x, grid.y)[1]
    for width, opens in ((1.5, True), (0.86, True), (0.8, False)):  # the barrow needs 0.65 + 2 x 0.10 m
        edge = 7 - thick / 2  # gates are laid along the outline
        gap = rotate(LineString([(5 - width / 2, edge), (5 + width / 2, edge)]), turned, origin=(5, 7))
        gate = Gate(id="gate", place=gap.centroid, line=gap, width=width)
        way = barrow_way(yard(YARD, cell=0.25, gates=(gate,), **barrier), grid, minutes)
        assert way.reached[grid.cell_of(5, 2)]
        assert way.reached[grid.cell_of(5, 12)] == opens
        before = rotate(rectangle(5, edge - 0.6, length=2, width=1, heading=90), turned, origin=(5, 7))
        assert way.blocks_way(before) == opens
