"""Deliveries where one condition decides: heaps, zones of a lorry, bags and tipping spots, by hand."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box
from shapely.affinity import rotate

from siteplan.fill.fill_results import PurchaseLine, Supply
from siteplan.haul.delivery.heaps import HeapGround, fit_heaps, place_heaps
from siteplan.haul.delivery.lorry import Zone, lorry_ground, tipping_zones
from siteplan.haul.delivery.packaging import delivered_parts
from siteplan.haul.delivery.tipping import _spot, best_cell, tipping_spots, work_at
from siteplan.haul.haul_results import Route
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.features import Bed, Building, Fence, Gate, Pile, Surface, Tree
from siteplan.land.site import HaulSettings

DRIVE = Surface(id="drive", outline=box(-2, -5, 1, 1), surface="paved")


@pytest.mark.parametrize("turned", [0, 30, 90, 120])
@pytest.mark.parametrize("spot", [(0.0, 0.0), (9.0, 9.0), (-9.0, -9.0)])
def test_a_ridge_fits_a_strip_of_its_own_length(turned, spot):
    # 1 m3 in a strip 2 m wide: half width 0.85 x 1.10896 m; 1 - 0.85^3 of the volume lies between its half cones, over
    # 0.62216 m2: a crest of 0.62022 m, 2.50545 m with its ends. The narrower ridges are longer than the strip
    strip = rotate(box(-1.26, -1, 1.26, 1), turned, origin=(0, 0))
    (heap,), crowded = fit_heaps(HeapGround(strip), {"soil": 1.0}, Point(spot))
    assert crowded == []
    assert heap.length == pytest.approx(0.62022, abs=1e-4)
    assert 0 <= heap.heading < 180
    assert (heap.heading - (90 - turned)) % 180 == pytest.approx(0, abs=1e-6) or turned == 90
    assert strip.buffer(1e-5).covers(heap.outline)


@pytest.mark.parametrize("turned", [0, 90])
def test_a_ridge_does_not_lie_over_a_gap(turned):
    # the narrowest ridge of 1 m3, 0.4 x 1.10896 m to each side, has a crest of 6.793 m: its ends would lie on two
    # squares 6.8 m apart, its middle on neither
    squares = rotate(box(0, 0, 1, 0.95).union(box(6.8, 0, 7.8, 0.95)), turned, origin=(0, 0))
    assert fit_heaps(HeapGround(squares), {"soil": 1.0}, Point(3, 0)) == ([], ["soil"])


def passing(*points):
    line = LineString(points)
    return Route("other", "bed", line, line.length, 0.0, 1.0, 1.0, line.reverse())


@pytest.mark.parametrize(("east", "told"), [(5.7, True), (6.1, False)])
def test_a_heap_too_big_for_its_zone_lies_in_the_way_of_lanes_beyond_it(bare_yard, east, told):
    # a cone of 5 m radius about (0.5, 0.5): 5^3 x pi x tan 35 / 3 = 91.66 m3; a lane is 0.425 m wide to each side
    heaps, found = place_heaps(
        bare_yard, "zone", box(0, 0, 1, 1), Point(0, 0), {"bark": 0.05, "soil": 91.66},
        routes=[passing((east, -9), (east, 9))],
    )  # fmt: skip
    assert heaps[0].radius == pytest.approx(5.0, abs=1e-3)
    in_the_way = [dict(one.figures)["material"] for one in found if one.code == "heap-in-the-way"]
    assert in_the_way == (["soil"] if told else [])


def test_a_heap_that_touches_a_lane_is_not_in_its_way(bare_yard):
    heaps, found = place_heaps(
        bare_yard, "zone", box(-3, -3, 3, 3), Point(0, 0), {"soil": 0.3}, routes=[passing((-9, 0), (9, 0))]
    )
    assert abs(heaps[0].centre.y) == pytest.approx(0.425 + heaps[0].radius, abs=1e-6)
    assert found == []


def test_heaps_lie_on_a_drawn_zone_or_within_three_metres_of_a_point(bare_yard):
    small = Pile(id="small", shape=box(-4, 0, -3.5, 1), drop=True)
    spot = Pile(id="spot", shape=Point(0, 0), drop=True)
    edge = Pile(id="edge", shape=Point(6, 0), drop=True)
    zones = tipping_zones(dataclasses.replace(bare_yard, piles=(small, spot, edge)))
    areas = [zone.ground.area for zone in zones]
    assert areas == pytest.approx([0.5, math.pi * 9, math.pi * 4.5], rel=0.01)  # circles of many corners
    assert [zone.id for zone in zones] == ["small", "spot", "edge"]
    assert [zone.pile.drop for zone in zones] == [True, True, True]
    assert [zone.pile.shape.geom_type for zone in zones] == ["MultiPolygon", "Point", "Point"]


def test_a_lorry_tips_within_three_metres_of_the_larger_surface(bare_yard):
    apron = Surface(id="apron", outline=box(-2, -5, 1, -4), surface="gravel")
    for surfaces in ((DRIVE, apron), (apron, DRIVE)):
        site = dataclasses.replace(bare_yard, surfaces=surfaces)
        (zone,) = tipping_zones(site)
        assert zone.id == "drive"
        assert zone.shape.bounds[3] == pytest.approx(4.0, abs=0.01)
        (note,) = zone.findings
        assert (note.code, note.feature) == ("no-drop", "drive")
        assert dict(note.figures) == {"hard": True, "width": 2.5, "reach": 3.0}
    tip = Pile(id="tip", shape=box(-5, 0, -3, 2), drop=True)
    _, zone = tipping_zones(dataclasses.replace(site, piles=(tip,), haul=HaulSettings(tip_anywhere=True)))
    assert [(note.code, note.feature) for note in zone.findings] == [("lorry", "drive")]


def test_a_path_too_narrow_for_a_lorry_takes_the_heap_at_the_edge(bare_yard):
    paths = [Surface(id=name, outline=box(x, -5, x + 1, 0), surface="gravel") for name, x in (("b", -2), ("a", 1))]
    (zone,) = tipping_zones(dataclasses.replace(bare_yard, surfaces=tuple(paths)))
    assert zone.id == "a"
    assert zone.shape.bounds == pytest.approx((-2, -5, 2, -2))
    assert [(note.code, dict(note.figures)) for note in zone.findings] == [("no-drop", {"hard": False, "width": 2.5})]


def test_without_hard_ground_the_gate_nearest_to_the_edge_takes_it(bare_yard):
    gates = [
        Gate(id=name, place=Point(x, 0), line=LineString([(x, -0.5), (x, 0.5)]), width=1.0)
        for name, x in (("inner", 2), ("outer", -5.5), ("middle", 0))
    ]
    (zone,) = tipping_zones(dataclasses.replace(bare_yard, gates=tuple(gates)))
    assert (zone.id, zone.shape.x) == ("outer", -5.5)
    assert zone.ground.bounds[0] == -6  # within the property


@pytest.mark.parametrize(("height", "reached"), [(3.9, False), (4.0, True)])
@pytest.mark.parametrize("kind", ["crown", "roof", "fence"])
def test_a_lorry_is_four_metres_high(bare_yard, height, reached, kind):
    features = {
        "crown": {
            "trees": (Tree(id="t", outline=box(-2, -3, 1, 1), trunk=Point(9, 9), height=9, crown_base=height),)
        },
        "roof": {"buildings": (Building(id="b", outline=box(-2, -3, 1, 1), height=9, base=height),)},
        "fence": {"fences": (Fence(id="f", line=LineString([(-2, -3), (1, -3)]), height=9, base=height),)},
    }[kind]
    found = lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,), **features))
    assert found.covers(Point(-0.5, 0)) is reached


def test_a_gate_as_wide_as_the_lorry_lets_it_in(bare_yard):
    front = Fence(id="front", line=LineString([(-6, -5), (6, -5)]), height=1.2)
    for width, reached in ((2.5, True), (2.49, False)):
        gap = LineString([(-0.5 - width / 2, -5), (-0.5 + width / 2, -5)])
        gate = Gate(id="gate", place=Point(-0.5, -5), width=width, line=gap)
        site = dataclasses.replace(bare_yard, surfaces=(DRIVE,), fences=(front,), gates=(gate,))
        assert lorry_ground(site).is_empty is not reached


def test_a_drive_more_than_half_a_metre_short_of_the_edge_is_not_reached(bare_yard):
    # 0.5 m, and 5 cm by which drawings may be off
    for short, reached in ((0.5, True), (0.58, False)):
        drive = dataclasses.replace(DRIVE, outline=box(-2, -5 + short, 1, 1))
        assert lorry_ground(dataclasses.replace(bare_yard, surfaces=(drive,))).is_empty is not reached


def test_a_line_without_bags_is_no_bag():
    need = Supply(bed="bed", material="compost", at="", volume=0.5, mass=350.0)
    lines = [
        PurchaseLine(material="compost", kind=kind, count=count, volume=volume, cost=1.0)
        for kind, count, volume in (("bag", 0, 0.0), ("loose", 1, 0.5))
    ]
    assert [(part.supply.volume, part.bags) for part in delivered_parts([need], lines)] == [(0.5, None)]


def test_a_bed_that_some_cells_reach_counts_and_one_that_none_reaches_does_not():
    seconds = np.array([[10.0, math.inf, 4.0], [math.inf] * 3, [1.0, 2.0, 3.0]])
    finder = SimpleNamespace(site=SimpleNamespace(bed=str), out_and_back=lambda _beds, _cells: seconds)
    work = work_at(finder, {"a": 2, "b": 9, "c": 3}, np.zeros((3, 2), dtype=np.int32))
    assert work.tolist() == [23.0, 200_006.0, 17.0]  # two trips without a way to a, and 3 x 2 s


def test_a_zone_that_no_barrow_reaches_has_no_minutes():
    zone = Zone("far", box(0, 0, 2, 2), box(0, 0, 3, 3))
    nothing = np.empty((0, 2), dtype=np.int32)
    found = _spot(SimpleNamespace(), zone, nothing, np.empty(0), HeapGround(box(0, 0, 1, 1)), {})
    assert (found.id, found.minutes, len(found.cells)) == ("far", math.inf, 0)
    assert zone.shape.covers(found.place)
    assert found.zone.equals(zone.ground)


def test_the_spot_is_one_cell_beside_which_the_heaps_fit_off_the_lanes(bare_yard):
    # a strip along the south edge with the bed at its east end: without heaps the barrow is loaded there. The eastern
    # 6 m are kept free: a cone 2.2 m across lies west of x = -1, and the barrow at most 3 m from it
    strip = Pile(id="strip", shape=box(-5, -4.5, 5, -2.1), drop=True)
    bed = Bed(id="bed", outline=box(4, 0, 5, 2), height=0.4)
    finder = RouteFinder(dataclasses.replace(bare_yard, piles=(strip,), beds=(bed,)))
    lanes, volumes = box(-1, -6, 6, 0), {"soil": 1.0}
    (free,) = tipping_spots(finder, {"bed": 1})
    (off_lanes,) = tipping_spots(finder, {"bed": 1}, volumes=volumes, lanes=lanes)
    (anywhere,) = tipping_spots(finder, {"bed": 1}, volumes=volumes)
    assert free.place.x > 3
    assert anywhere.place.x > 3
    assert 1 < off_lanes.place.x <= 2.0
    assert free.cells.shape == off_lanes.cells.shape == (1, 2)
    (none,) = tipping_spots(finder, {"bed": 1}, volumes={"soil": 1.0}, lanes=shapely.box(-9, -9, 9, 9))
    assert none.place.equals(free.place)  # nowhere do they fit


@pytest.mark.parametrize(("fitting", "best"), [
    (lambda row, column: row >= 11 and column >= 5, (11, 5)),
    (lambda row, column: (row, column) in {(12, 6), (3, 7), (7, 3)}, (12, 6)),  # not beside the lattice's best
    (lambda row, column: (row, column) in {(12, 6), (10, 7)}, (12, 6)),
    (lambda row, column: (row, column) in {(12, 6), (11, 7)}, (11, 7)),
    (lambda row, column: (row, column) in {(12, 6), (13, 5)}, (12, 6)),  # it takes longer
])  # fmt: skip
def test_of_four_hundred_cells_every_other_is_tried_and_those_beside_the_best(fitting, best):
    cells = np.argwhere(np.ones((20, 20), dtype=bool)).astype(np.int32)
    seconds = (100 * cells[:, 0] + cells[:, 1]).astype(float)
    assert tuple(cells[best_cell(seconds, cells, lambda k: fitting(*cells[k]))]) == best
