"""Where a lorry gets to, by hand: widths, edges, fences and what overhangs."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString, Point, box

from siteplan.haul.access_maps import minutes_field
from siteplan.haul.delivery.lorry import TAILGATE, lorry_ground, tipping_zones
from siteplan.land.features import Building, Fence, Gate, Pile, Surface, Tree
from siteplan.land.grid import grid_over
from siteplan.land.site import HaulSettings

DRIVE = Surface(id="drive", outline=box(-2, -5, 1, 1), surface="paved")  # 3 m wide, from the edge at y = -5


def test_a_drive_as_wide_as_the_lorry_is_reached_to_its_end(bare_yard):
    found = lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,)))
    # a disc of 2.5 m leaves the two far corners of the drive, each (1 - pi / 4) r2 = 0.34 m2, of 18 m2
    assert found.area == pytest.approx(18 - 2 * 0.2146 * 1.25**2, rel=0.02)  # joints of 5 cm


def test_a_narrower_drive_is_not_reached(bare_yard):
    path = dataclasses.replace(DRIVE, outline=box(-2, -5, 0.3, 1))
    assert lorry_ground(dataclasses.replace(bare_yard, surfaces=(path,))).is_empty
    narrow = dataclasses.replace(bare_yard, surfaces=(path,), haul=HaulSettings(lorry_width=2.2))
    assert not lorry_ground(narrow).is_empty


def test_hard_ground_that_does_not_come_to_the_edge_is_not_reached(bare_yard):
    terrace = Surface(id="terrace", outline=box(-2, -2, 2, 2), surface="paved")
    assert lorry_ground(dataclasses.replace(bare_yard, surfaces=(terrace,))).is_empty
    joined = dataclasses.replace(bare_yard, surfaces=(terrace, dataclasses.replace(DRIVE, surface="gravel")))
    assert lorry_ground(joined).intersection(terrace.outline).area > 12


def test_a_fence_shuts_the_edge_but_for_a_gate_as_wide_as_the_lorry(bare_yard):
    front = Fence(id="front", line=LineString([(-6, -5), (6, -5)]), height=1.2)
    shut = dataclasses.replace(bare_yard, surfaces=(DRIVE,), fences=(front,))
    assert lorry_ground(shut).is_empty
    for width, empty in ((2.0, True), (2.9, False)):
        gate = Gate(id="gate", place=Point(-0.5, -5), width=width,
                    line=LineString([(-0.5 - width / 2, -5), (-0.5 + width / 2, -5)]))  # fmt: skip
        assert lorry_ground(dataclasses.replace(shut, gates=(gate,))).is_empty == empty


def test_a_garage_and_a_low_crown_stop_it_and_a_high_one_does_not(bare_yard):
    tree = Tree(id="elm", outline=Point(3, 0).buffer(3), trunk=Point(3, 0), height=12, crown_base=2.5)
    free = lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,))).bounds[3]
    low = lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,), trees=(tree,))).bounds[3]
    high = lorry_ground(
        dataclasses.replace(bare_yard, surfaces=(DRIVE,), trees=(dataclasses.replace(tree, crown_base=4.5),))
    ).bounds[3]
    tall = dataclasses.replace(tree, trunk=Point(1.5, 0), crown_base=4.5)  # half a metre beside the drive
    beside, within = (
        lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,), trees=(one,))).bounds[3]
        for one in (tall, dataclasses.replace(tall, trunk=Point(-0.5, 0)))
    )
    assert beside == free
    assert (
        -0.35 < within < 0
    )  # up to the trunk with its root flare, less a joint of 5 cm, and a little past its sides
    garage = Building(id="garage", outline=box(-2, -1, 1, 1), height=3)
    parked = lorry_ground(dataclasses.replace(bare_yard, surfaces=(DRIVE,), buildings=(garage,))).bounds[3]
    assert free == pytest.approx(1.0, abs=1e-6)
    assert high == free
    assert low < 0
    assert parked == pytest.approx(-1.0, abs=0.06)  # the joint of 5 cm


def test_a_heap_lies_no_farther_from_the_lorry_than_it_tips_and_not_over_a_fence(bare_yard):
    fence = Fence(id="side", line=LineString([(2, -5), (2, 5)]), height=1.2)
    (zone,) = tipping_zones(dataclasses.replace(bare_yard, surfaces=(DRIVE,), fences=(fence,)))
    assert zone.id == "drive"
    assert zone.shape.bounds[2] <= 2.0
    assert zone.shape.bounds[3] == pytest.approx(1.0 + TAILGATE, abs=0.01)  # a round of many corners
    assert dict(zone.findings[0].figures)["width"] == 2.5


def test_drop_zones_go_first_and_alone_unless_asked(bare_yard):
    zone = Pile(id="tip", shape=box(-5, 0, -3, 2), drop=True)
    site = dataclasses.replace(bare_yard, surfaces=(DRIVE,), piles=(zone,))
    assert [one.id for one in tipping_zones(site)] == ["tip"]
    asked = dataclasses.replace(site, haul=HaulSettings(tip_anywhere=True))
    assert [one.id for one in tipping_zones(asked)] == ["tip", "drive"]


def test_without_a_way_in_the_heap_lies_at_the_open_edge_nearest_the_middle(bare_yard):
    west, south, east, north = bare_yard.boundary.bounds
    assert tipping_zones(bare_yard)[0].shape.distance(bare_yard.boundary.exterior) < 1e-9
    inside = 0.4  # m; a fence inside the edge shuts out what is tipped at the edge
    corners = [(west, south), (east, south), (east, north), (west, north)]  # open to the west, the farthest edge
    line = LineString(corners).parallel_offset(inside, "left", join_style="mitre")
    three = dataclasses.replace(bare_yard, fences=(Fence(id="fence", line=line, height=1.5),))
    (zone,) = tipping_zones(three)
    assert (zone.shape.x, zone.shape.y) == pytest.approx((west, (south + north) / 2))
    minutes = minutes_field(three, grid_over(three.boundary, 0.5), sources=())
    assert minutes[minutes.shape[0] // 2, minutes.shape[1] // 2] > 0
    front = Fence(id="front", line=LineString([(west, south), (west, north)]), height=1.2)
    (shut,) = tipping_zones(dataclasses.replace(three, fences=(*three.fences, front)))
    assert shut.shape.distance(bare_yard.boundary.exterior) < 1e-9  # no edge is open


@pytest.mark.parametrize(("off", "zone"), [
    (0.0, "wicket"), (0.4, "wicket"), (0.6, "edge of the property"), (4.0, "edge of the property"),
])  # fmt: skip
def test_a_lorry_tips_at_a_gate_at_the_edge_and_at_none_inside(bare_yard, off, zone):
    gap = LineString([(-0.5, off - 5), (0.5, off - 5)])
    site = dataclasses.replace(bare_yard, gates=(Gate(id="wicket", place=gap.centroid, line=gap, width=1.0),))
    (found,) = tipping_zones(site)
    assert found.id == zone
    assert [one.feature for one in found.findings] == [zone]


def test_a_lorry_passes_a_wide_gate_in_a_thick_wall(bare_yard):
    # only the south end of the drive is open to the street: what lies north of the wall is reached through the gate
    band = box(-6, -1.2, 6, 1.2)
    around = LineString([(-6, -4.9), (-6, 5), (6, 5), (6, -4.9)])
    site = dataclasses.replace(
        bare_yard,
        surfaces=(Surface(id="drive", outline=box(-2.5, -5, 2.5, 5), surface="paved"),),
        fences=(
            Fence(id="wall", line=LineString(band.exterior), outline=band, height=1.5),
            Fence(id="around", line=around, height=1.5),
        ),
    )
    gap = LineString([(-1.7, -1.2), (1.7, -1.2)])
    gate = Gate(id="gate", place=gap.centroid, line=gap, width=3.4)
    beyond = Point(0, 3)
    assert lorry_ground(dataclasses.replace(site, gates=(gate,))).covers(beyond)
    assert not lorry_ground(site).intersects(beyond)


def test_a_drive_that_ends_a_hand_before_the_edge_is_reached(bare_yard):
    # as drawn by hand: 0.3 m short of the boundary; the docstring's half a metre
    for short, reached in ((0.3, True), (0.7, False)):
        drive = dataclasses.replace(DRIVE, outline=box(-2, -5 + short, 1, 1))
        assert lorry_ground(dataclasses.replace(bare_yard, surfaces=(drive,))).is_empty is not reached
