"""Where heaps may lie, and which of them fit where. By hand."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.haul.delivery.heaps import (
    HeapGround,
    barrow_lanes,
    fit_heaps,
    heap_ground,
    heap_size,
    lawn,
    no_heap_ground,
    place_heaps,
    ridge_length,
)
from siteplan.haul.delivery.tipping import _lattice, best_cell, fits
from siteplan.haul.haul_results import Heap, Route
from siteplan.land.features import Bed, Building, Fence, Hedge, Keepout, Surface, Tree
from siteplan.land.site import HaulSettings


def ground(yard, **features):
    return no_heap_ground(dataclasses.replace(yard, **features)).area


def test_heaps_are_as_steep_as_the_site_says():
    # loose soil and compost, about 35 degrees (common practice, no source)
    assert HaulSettings().heap_angle == 35.0
    radius, height = heap_size(1.0)
    assert height / radius == pytest.approx(math.tan(math.radians(35)))
    assert ridge_length(1.0, 0.5) == pytest.approx(
        (1 - math.pi / 24 * math.tan(math.radians(35))) / (0.25 * math.tan(math.radians(35)))
    )
    assert HeapGround(box(0, 0, 1, 1)).repose == 35.0


@pytest.mark.parametrize(("base", "area"), [(0.0, 4.0), (1.99, 4.0), (2.0, 0.0)])
def test_under_a_high_roof_a_heap_may_lie(bare_yard, base, area):
    building = Building(id="b", outline=box(0, 0, 2, 2), height=4, base=base)
    assert ground(bare_yard, buildings=(building,)) == pytest.approx(area)


@pytest.mark.parametrize(
    ("trunk", "radius"), [(0.1, 1.2), (0.5, 6.0), (1.2, 14.4), (1.3, 15.0), (2.0, 15.0), (None, 2.0)]
)
def test_heaps_keep_off_roots_by_twelve_diameters_of_the_stem(bare_yard, trunk, radius):
    # BS 5837:2012, at most 15 m (seen second-hand); the crown where no diameter is known
    tree = Tree(
        id="t", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=9, crown_base=2, trunk_diameter=trunk
    )
    west, south, east, north = no_heap_ground(dataclasses.replace(bare_yard, trees=(tree,))).bounds
    assert (west, south, east, north) == pytest.approx((-radius, -radius, radius, radius))


def test_heaps_keep_off_what_is_drawn(bare_yard):
    assert ground(bare_yard) == 0.0
    assert ground(bare_yard, hedges=(Hedge(id="h", outline=box(0, 0, 3, 1), height=1),)) == pytest.approx(3)
    assert ground(bare_yard, beds=(Bed(id="bed", outline=box(0, 0, 2, 1), height=0.3),)) == pytest.approx(2)
    pond = Keepout(id="k", outline=box(0, 0, 1, 1), reason="pond", setback=0.5)
    assert ground(bare_yard, keepouts=(pond,)) == pytest.approx(
        1 + 4 * 0.5 + math.pi * 0.25, rel=0.01
    )  # round corners
    fence = Fence(id="f", line=LineString([(0, 0), (4, 0)]), height=1, thickness=0.2)
    assert ground(bare_yard, fences=(fence,)) == pytest.approx(0.8)


def test_a_lawn_is_the_grass_without_what_lies_on_it(bare_yard):
    grass = Surface(id="grass", outline=box(0, 0, 6, 5), surface="grass")
    path = Surface(id="path", outline=box(0, 0, 6, 1), surface="paved")
    tuft = Surface(id="tuft", outline=box(0, 0, 1, 1), surface="grass")
    site = dataclasses.replace(bare_yard, surfaces=(tuft, path, grass))
    assert lawn(site).area == pytest.approx(30 - 6 + 1)
    assert ground(site) == 0.0
    assert ground(site, haul=HaulSettings(off_lawn=True)) == pytest.approx(25)
    # of two as large as each other the one whose name comes later lies on top
    same = [
        Surface(id=name, outline=box(0, 0, 2, 2), surface=kind) for name, kind in (("a", "grass"), ("b", "paved"))
    ]
    assert lawn(dataclasses.replace(bare_yard, surfaces=tuple(same))).area == 0.0
    assert lawn(dataclasses.replace(bare_yard, surfaces=tuple(reversed(same)))).area == 0.0


def test_the_ground_for_heaps_is_its_zone_without_lanes(bare_yard):
    zone = box(0, 0, 4, 4)
    site = dataclasses.replace(
        bare_yard, haul=HaulSettings(heap_angle=30.0), beds=(Bed(id="b", outline=box(0, 0, 1, 4), height=0.3),)
    )
    room = heap_ground(site, zone, box(3, 0, 5, 4))
    assert room.ground.area == pytest.approx(8)
    assert room.repose == 30.0
    assert HeapGround(box(0, 0, 4, 1)).along == pytest.approx(90)
    assert HeapGround(box(0, 0, 1, 4)).along % 180 == pytest.approx(0)
    assert HeapGround(Point(0, 0).buffer(1e-5)).along == 0.0
    assert HeapGround(box(0, 0, 4, 2)).within(0.5).area == pytest.approx(3)


def route(name, *ends):
    out, home = LineString(ends), LineString([(x, y + 2) for x, y in ends])
    return Route(name, "bed", out, out.length, 0.0, 1.0, 1.0, home)


def test_lanes_are_as_wide_as_the_barrow_and_its_clearance(bare_yard):
    # 0.65 m and 0.10 m on either side: 0.85 m, out and back
    lanes = barrow_lanes(bare_yard, [route("a", (-50, 0), (50, 0))], box(0, -1, 4, 4))
    west, south, east, north = lanes.bounds
    assert (south, north) == pytest.approx((-0.425, 2.425))
    assert west <= -0.425
    assert east >= 4.425
    assert east - west < 8  # what is far away is left out
    assert barrow_lanes(bare_yard, [], box(0, 0, 1, 1)).area == 0.0
    assert barrow_lanes(bare_yard, [route("a", (-50, 0), (50, 0))], Point().buffer(0)).area == 0.0
    assert barrow_lanes(bare_yard, [route("a", (0, 20), (9, 20))], box(0, 0, 4, 4)).area == 0.0


def test_the_largest_heap_comes_first_and_of_equal_ones_that_of_the_first_name():
    heaps, crowded = fit_heaps(HeapGround(box(0, 0, 20, 20)), {"b": 0.5, "a": 0.5, "c": 1.0}, Point(10, 10))
    assert ([heap.material for heap in heaps], crowded) == (["c", "a", "b"], [])
    assert (heaps[0].centre.x, heaps[0].centre.y) == pytest.approx((10, 10))
    # a second cone touches the first: 1.11 m and 0.88 m
    assert heaps[1].centre.distance(heaps[0].centre) == pytest.approx(heaps[0].radius + heaps[1].radius, rel=0.01)


def test_those_that_do_not_fit_are_named_or_end_the_trial():
    room = HeapGround(box(0, 0, 2.3, 2.3))  # a cone of 1 m3 is 2.22 m across
    small = {"a": 9.0, "b": 8.0, "c": 1.0}
    heaps, crowded = fit_heaps(room, small, Point(0, 0))
    assert ([heap.material for heap in heaps], crowded) == (["c"], ["a", "b"])
    assert fit_heaps(room, small, Point(0, 0), all_or_none=True) == ([], ["a"])


@pytest.mark.parametrize(
    ("wide", "share"), [(2.3, 1.0), (2.0, 0.85), (1.6, 0.7), (1.3, 0.55), (0.95, 0.4), (0.8, None)]
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_ridge_is_as_wide_as_its_strip_allows(wide, share, turned):
    # 1 m3: a radius of (3 / (pi 0.70021))^(1/3) = 1.10896 m; shares of it are 1.885, 1.553, 1.220, 0.887 m wide
    strip = box(0, 0, wide, 12) if turned else box(0, 0, 12, wide)
    heaps, crowded = fit_heaps(HeapGround(strip), {"soil": 1.0}, Point(6, 0))
    if share is None:
        assert (heaps, crowded) == ([], ["soil"])
        return
    (heap,) = heaps
    half = 1.10896 * share
    assert heap.radius == pytest.approx(half, abs=1e-4)
    assert heap.height == pytest.approx(half * math.tan(math.radians(35)), abs=1e-4)
    if share < 1:
        assert heap.heading % 180 == pytest.approx(0 if turned else 90)
        assert heap.length == pytest.approx(ridge_length(1.0, heap.radius))
    else:
        assert (heap.length, heap.heading) == (0.0, 0.0)
    assert strip.buffer(1e-5).covers(heap.outline)


def test_a_ridge_lies_across_a_strip_where_it_does_not_fit_along_it():
    # free ground in two strips across the longer side: 1.6 m wide, 5 m long, 7 m apart
    ground = box(0, 0, 1.6, 5).union(box(8.6, 0, 10.2, 5))
    (heap,), _ = fit_heaps(HeapGround(ground), {"soil": 1.0}, Point(0, 2.5))
    assert heap.heading % 180 == pytest.approx(0)
    assert heap.centre.x == pytest.approx(0.8, abs=0.1)
    assert fit_heaps(HeapGround(Point(0, 0).buffer(1e-5)), {"soil": 1.0}, Point(0, 0)) == ([], ["soil"])


def test_what_is_too_big_is_drawn_in_the_middle_and_told_with_the_widest(bare_yard):
    zone = box(0, 0, 2, 2)
    heaps, found = place_heaps(bare_yard, "drop", zone, Point(0, 0), {"a": 3.0, "b": 9.0, "c": 0.2})
    assert [heap.material for heap in heaps] == ["b", "a", "c"]
    assert [(heap.centre.x, heap.centre.y) for heap in heaps[:2]] == [(1.0, 1.0)] * 2
    assert [(one.code, one.feature) for one in found] == [("heap-too-big", "drop")]
    figures = dict(found[0].figures)
    assert figures["materials"] == ("a", "b")
    # V = pi r3 tan 35 / 3: 9 m3 have a radius of (27 / (pi 0.70021))^(1/3) = 2.3067 m
    assert figures["widest"] == pytest.approx(2 * 2.3067, abs=1e-3)


def test_a_heap_is_an_outline_on_the_ground():
    assert Heap("a", 1.0, Point(3, 4), 2.0, 1.0).outline.area == pytest.approx(math.pi * 4, rel=0.01)
    east = Heap("a", 1.0, Point(3, 4), 1.0, 1.0, length=4.0, heading=90.0).outline
    assert east.bounds == pytest.approx((0, 3, 6, 5))
    assert east.area == pytest.approx(8 + math.pi, rel=0.01)
    north = Heap("a", 1.0, Point(3, 4), 1.0, 1.0, length=4.0, heading=0.0).outline
    assert north.bounds == pytest.approx((2, 1, 4, 7))


@pytest.mark.parametrize(("away", "enough"), [(2.99, True), (3.01, False)])
def test_heaps_lie_within_three_metres_of_the_barrow(away, enough):
    room = HeapGround(box(0, 0, 4, 4))
    assert fits(room, {"soil": 0.2}, np.array([-away, 2.0])) is enough
    assert fits(room, {}, np.array([-99.0, 2.0])) is True
    assert fits(room, {"soil": 90.0}, np.array([2.0, 2.0])) is False
    # the second heap must be near as well: each of 1 m3 is 2.2 m across
    lane = HeapGround(box(0, 0, 12, 2.3))
    assert fits(lane, {"a": 1.0, "b": 1.0}, np.array([0.0, 1.1])) is True
    assert fits(lane, {"a": 1.0, "b": 1.0, "c": 1.0}, np.array([0.0, 1.1])) is False


def test_the_cell_of_the_least_time_whose_heaps_fit():
    cells = np.array([[0, k] for k in range(5)], dtype=np.int32)
    seconds = np.array([5.0, np.inf, 2.0, 3.0, 2.0])
    assert best_cell(seconds, cells, lambda _: True) == 2  # the first of two as good
    assert best_cell(seconds, cells, lambda k: k in {0, 3}) == 3
    assert best_cell(seconds, cells, lambda k: k == 1) == 2  # nobody gets to where they fit
    assert best_cell(np.full(5, np.inf), cells, lambda _: True) == 0


def test_among_many_cells_those_around_the_best_of_a_lattice_are_tried():
    # 30 x 30 cells, 900 of them: every third row and column is tried first, then those less than three cells away
    cells = np.argwhere(np.ones((30, 30), dtype=bool)).astype(np.int32)
    seconds = (100 * cells[:, 0] + cells[:, 1]).astype(float)
    tried = []

    def fit(k):
        tried.append(k)
        row, column = cells[k]
        return row >= 10 and column >= 5

    assert cells[best_cell(seconds, cells, fit)].tolist() == [10, 5]
    assert len(tried) < 150  # of 900
    assert cells[best_cell(seconds, cells, lambda k: tuple(cells[k]) == (4, 4))].tolist() == [
        0,
        0,
    ]  # none of the lattice


def test_a_lattice_has_at_most_as_many_cells_as_asked_and_at_least_one():
    cells = np.argwhere(np.ones((4, 6), dtype=bool)).astype(np.int32)
    assert len(_lattice(cells, most=24)) == 24
    assert len(_lattice(cells, most=23)) == 6
    assert len(_lattice(cells + 1, most=1)) == 1
    assert _lattice(cells[1:2] + 1000, most=1).tolist() == [[1000, 1001]]
