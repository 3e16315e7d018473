from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from siteplan.haul.ground import ground_cost
from siteplan.haul.results import Route
from siteplan.haul.route import Router
from siteplan.haul.standing import beside
from siteplan.haul.tipping import TippingSpot, heap_size, kept_free, place_heaps, tipping_spots
from siteplan.haul.ways import Ways
from siteplan.land.features import Bed, Keepout, Pile, Surface, Tree
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle


def test_a_cone_by_hand():
    # V = pi r^2 h / 3: a cone 1 m high at 45 degrees has a radius of 1 m and holds pi / 3 m3
    assert heap_size(math.pi / 3, repose=45.0) == pytest.approx((1.0, 1.0), rel=1e-12)  # rounding


@settings(deadline=None, max_examples=30)
@given(volume=st.floats(0.01, 50), repose=st.floats(20, 45))
def test_a_cone_holds_its_volume(volume, repose):
    radius, height = heap_size(volume, repose=repose)
    assert math.pi * radius**2 * height / 3 == pytest.approx(volume, rel=1e-9)  # rounding
    assert height / radius == pytest.approx(math.tan(math.radians(repose)), rel=1e-9)


def spot(zone):
    return TippingSpot("zone", Point(0.1, 0.1), np.array([[0, 0]], dtype=np.int32), zone, 0.0)


def test_heaps_lie_in_the_zone_and_not_on_each_other(bare_yard):
    zone = box(0, 0, 6, 4)
    heaps, cautions = place_heaps(bare_yard, spot(zone), {"topsoil": 2.0, "compost": 1.0, "chips": 0.3})
    assert not cautions
    rounds = [heap.centre.buffer(heap.radius) for heap in heaps]
    assert all(zone.buffer(1e-6).contains(item) for item in rounds)
    for i, item in enumerate(rounds):
        assert all(item.intersection(other).area < 1e-6 for other in rounds[:i])
    assert heaps[0].material == "topsoil"


def test_a_heap_that_does_not_fit_is_said_so(bare_yard):
    heaps, cautions = place_heaps(bare_yard, spot(box(0, 0, 1.5, 1.5)), {"topsoil": 2.0})
    assert [caution.code for caution in cautions] == ["heap-too-big"]
    assert "topsoil" in cautions[0].text
    assert len(heaps) == 1


@pytest.mark.parametrize("seed", range(4))
def test_the_spot_equals_brute_force_over_the_zone(bare_yard, seed):
    # every cell of the zone is tried by itself: out to the best side of each bed and back, times the trips
    chance = np.random.default_rng(seed)
    beds = tuple(
        Bed(id=f"bed {k}", height=0.4,
            outline=rectangle(x, y, length=2, width=1, heading=float(chance.uniform(0, 180))))
        for k, (x, y) in enumerate([(-3.5, 2.5), (3.5, 2.5), (2.5, -2.5)])
    )  # fmt: skip
    x, y = chance.uniform((-3.5, -3.5), (0, 0))
    zone = Pile(id="zone", shape=box(x, y, x + 1.2, y + 1.0), drop=True)
    mire = Surface(id="mire", outline=Point(chance.uniform(-3, 3), 0).buffer(1.5), surface="mud")
    site = dataclasses.replace(bare_yard, beds=beds, piles=(zone,), surfaces=(mire,))
    grid = grid_over(site.boundary, 0.25)
    trips = {bed.id: int(chance.integers(1, 12)) for bed in beds}
    (found,) = tipping_spots(Ways(site, grid=grid), trips)
    ground = ground_cost(site, grid)
    router = Router(ground)
    work = {}
    for cell in np.argwhere(grid.inside(zone.shape) & np.isfinite(ground.loaded)):
        out = router.field(cell[None], loaded=True).seconds
        home = router.field(cell[None], loaded=False, towards=True).seconds
        total = 0.0
        for bed in beds:
            cells = beside(ground, bed.outline, own=bed.id)
            total += trips[bed.id] * (out + home)[cells[:, 0], cells[:, 1]].min()
        work[tuple(int(value) for value in cell)] = total
    best = min(work.values())
    assert found.minutes * 60 == pytest.approx(best, rel=1e-4)  # moves are kept in single precision
    assert work[tuple(int(value) for value in found.cells[0])] == pytest.approx(best, rel=1e-4)


def test_spots_come_with_the_least_work_first(bare_yard):
    site = dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -1, 5, 1), height=0.4),),
        piles=(Pile(id="far", shape=Point(-4, 0), drop=True), Pile(id="near", shape=Point(1, 0), drop=True)),
    )
    found = tipping_spots(Ways(site), {"bed": 10})
    assert [item.id for item in found] == ["near", "far"]
    assert found[0].minutes < found[1].minutes


def test_heaps_keep_off_roots_walls_and_the_ways_of_others(bare_yard):
    tree = Tree(
        id="pear", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=6, crown_base=2, trunk_diameter=0.1
    )
    site = dataclasses.replace(
        bare_yard, trees=(tree,), keepouts=(Keepout(id="drain", outline=box(3, 0, 4, 4), reason="drain"),)
    )
    lane = LineString([(0, 3.2), (6, 3.2)])
    passing = Route("heap", "bed", lane, 6.0, 0.0, 1.0, 1.0, lane.reverse())
    heaps, cautions = place_heaps(site, spot(box(0, 0, 6, 4)), {"topsoil": 0.4, "compost": 0.2}, routes=[passing])
    assert not cautions
    for heap in heaps:
        foot = heap.centre.buffer(heap.radius - 1e-6)
        assert foot.disjoint(Point(0, 0).buffer(12 * 0.1 - 0.01))  # a round of many corners
        assert foot.disjoint(site.keepouts[0].outline)
        assert foot.disjoint(lane.buffer(0.42))
    assert kept_free(site).covers(Point(1.1, 0))


def test_a_heap_that_lies_on_a_way_is_said_so(bare_yard):
    lane = LineString([(0, 0.5), (2, 0.5)])
    passing = Route("heap", "bed", lane, 2.0, 0.0, 1.0, 1.0, lane.reverse())
    _, cautions = place_heaps(bare_yard, spot(box(0, 0, 1.5, 1.5)), {"topsoil": 1.0}, routes=[passing])
    assert [caution.code for caution in cautions] == ["heap-too-big", "heap-in-the-way"]
