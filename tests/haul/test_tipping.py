from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from siteplan.haul.delivery.heaps import fit_heaps, heap_ground, heap_size, no_heap_ground, place_heaps, ridge_length
from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.delivery.tipping import BESIDE, MOST_TRIED, best_cell, tipping_spots
from siteplan.haul.ground.cost_field import cost_field
from siteplan.haul.ground.standing_places import cells_beside
from siteplan.haul.haul_results import Route
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.haul.routes.router import Router
from siteplan.land.features import Bed, Fence, Keepout, Pile, Surface, Tree
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import HaulSettings
from siteplan.land.terrain import Terrain
from siteplan.say.cautions import in_words


def test_a_cone_by_hand():
    # V = pi r^2 h / 3: a cone 1 m high at 45 degrees has a radius of 1 m and holds pi / 3 m3
    assert heap_size(math.pi / 3, repose=45.0) == pytest.approx((1.0, 1.0), rel=1e-12)  # rounding


@settings(deadline=None, max_examples=30)
@given(volume=st.floats(0.01, 50), repose=st.floats(20, 45))
def test_a_cone_holds_its_volume(volume, repose):
    radius, height = heap_size(volume, repose=repose)
    assert math.pi * radius**2 * height / 3 == pytest.approx(volume, rel=1e-9)  # rounding
    assert height / radius == pytest.approx(math.tan(math.radians(repose)), rel=1e-9)


def test_heaps_lie_in_the_zone_and_not_on_each_other(bare_yard):
    zone = box(0, 0, 6, 4)
    heaps, cautions = place_heaps(
        bare_yard, "zone", zone, Point(0.1, 0.1), {"topsoil": 2.0, "compost": 1.0, "chips": 0.3}
    )
    assert not cautions
    rounds = [heap.outline for heap in heaps]
    assert all(zone.buffer(1e-6).contains(item) for item in rounds)
    for i, item in enumerate(rounds):
        assert all(item.intersection(other).area < 1e-6 for other in rounds[:i])
    assert heaps[0].material == "topsoil"


def test_a_heap_that_does_not_fit_is_said_so(bare_yard):
    heaps, cautions = place_heaps(bare_yard, "zone", box(0, 0, 1.5, 1.5), Point(0.1, 0.1), {"topsoil": 2.0})
    assert [caution.code for caution in cautions] == ["heap-too-big"]
    assert "topsoil" in in_words(cautions, "metric")[0].text
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
    (found,) = tipping_spots(RouteFinder(site, grid=grid), trips)
    ground = cost_field(site, grid)
    router = Router(ground)
    work = {}
    for cell in np.argwhere(grid.inside(zone.shape) & np.isfinite(ground.loaded)):
        out = router.least_times(cell[None], loaded=True).seconds
        home = router.least_times(cell[None], loaded=False, towards=True).seconds
        total = 0.0
        for bed in beds:
            cells = cells_beside(ground, bed)
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
    found = tipping_spots(RouteFinder(site), {"bed": 10})
    assert [item.id for item in found] == ["near", "far"]
    assert found[0].minutes < found[1].minutes


@pytest.mark.parametrize("turned", [False, True])
def test_where_no_zone_reaches_all_beds_the_fewest_trips_without_a_way_count(bare_yard, turned):
    # a fence without a gate parts the yard: 2 trips to the west and 3 to the east. From "west" 3 trips have no way, from
    # "east" 2, in whichever order the zones are drawn
    zones = (Pile(id="west", shape=Point(-4, 0), drop=True), Pile(id="east", shape=Point(4, -3), drop=True))
    site = dataclasses.replace(
        bare_yard,
        fences=(Fence(id="fence", line=LineString([(0, -5), (0, 5)]), height=1.2),),
        beds=tuple(Bed(id=f"bed {x}", outline=box(x - 1, 2, x + 1, 3), height=0.4) for x in (-4, 4)),
        piles=zones[::-1] if turned else zones,
    )
    found = tipping_spots(RouteFinder(site), {"bed -4": 2, "bed 4": 3})
    assert [item.id for item in found] == ["east", "west"]
    # 1e5 s for each trip without a way, and no hour for the others
    assert [item.minutes * 60 // 1e5 for item in found] == [2, 3]


def test_heaps_keep_off_roots_walls_and_the_ways_of_others(bare_yard):
    tree = Tree(
        id="pear", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=6, crown_base=2, trunk_diameter=0.1
    )
    site = dataclasses.replace(
        bare_yard, trees=(tree,), keepouts=(Keepout(id="drain", outline=box(3, 0, 4, 4), reason="drain"),)
    )
    lane = LineString([(0, 3.2), (6, 3.2)])
    passing = Route("heap", "bed", lane, 6.0, 0.0, 1.0, 1.0, lane.reverse())
    heaps, cautions = place_heaps(
        site, "zone", box(0, 0, 6, 4), Point(0.1, 0.1), {"topsoil": 0.4, "compost": 0.2}, routes=[passing]
    )
    assert not cautions
    for heap in heaps:
        foot = heap.centre.buffer(heap.radius - 1e-6)
        assert foot.disjoint(Point(0, 0).buffer(12 * 0.1 - 0.01))  # a round of many corners
        assert foot.disjoint(site.keepouts[0].outline)
        assert foot.disjoint(lane.buffer(0.42))
    assert no_heap_ground(site).covers(Point(1.1, 0))


def test_a_heap_that_lies_on_a_way_is_said_so(bare_yard):
    lane = LineString([(0, 0.5), (2, 0.5)])
    passing = Route("heap", "bed", lane, 2.0, 0.0, 1.0, 1.0, lane.reverse())
    _, cautions = place_heaps(
        bare_yard, "zone", box(0, 0, 1.5, 1.5), Point(0.1, 0.1), {"topsoil": 1.0}, routes=[passing]
    )
    assert [caution.code for caution in cautions] == ["heap-too-big", "heap-in-the-way"]


def drawn_at_random(bare_yard, seed):
    """Return a yard with a drive, trees, beds and a mire where chance puts them, and trips to each bed."""
    chance = np.random.default_rng(seed)
    beds = tuple(
        Bed(id=f"bed {k}", height=0.4,
            outline=rectangle(x, y, length=2, width=1, heading=float(chance.uniform(0, 180))))
        for k, (x, y) in enumerate([(-4, 3), (4, 3), (4, -2)])
    )  # fmt: skip
    start = float(chance.uniform(-5, 0))
    drive = Surface(id="drive", outline=box(start, -5, start + 2.8, -2.6), surface="gravel")
    x, y = chance.uniform((-3, -2), (3, 0))
    tree = Tree(id="pear", outline=Point(x, y).buffer(1.5), trunk=Point(x, y), height=6, crown_base=4.2,
                trunk_diameter=0.1)  # fmt: skip
    mire = Surface(id="mire", outline=Point(chance.uniform(-3, 3), 1).buffer(1.0), surface="mud")
    site = dataclasses.replace(bare_yard, beds=beds, trees=(tree,), surfaces=(drive, mire))
    return site, {bed.id: int(chance.integers(1, 12)) for bed in beds}


@pytest.mark.parametrize("seed", range(4))
def test_any_spot_that_a_lorry_reaches_equals_brute_force_over_its_cells(bare_yard, seed):
    # each cell within reach of the lorry is tried by itself: its heaps must fit beside it, and of those that are left
    # the one with the least time out to all beds and back is the best
    site, trips = drawn_at_random(bare_yard, seed)
    grid = grid_over(site.boundary, 0.5)
    volumes = {"topsoil": 0.7, "compost": 0.3}
    (found,) = tipping_spots(RouteFinder(site, grid=grid), trips, volumes=volumes)
    (zone,) = tipping_zones(site)
    room = heap_ground(site, zone.ground, Point())
    ground = cost_field(site, grid)
    router = Router(ground)
    best = math.inf
    for cell in np.argwhere(grid.inside(zone.shape) & np.isfinite(ground.loaded)):
        heaps, crowded = fit_heaps(room, volumes, Point(grid.x[cell[1]], grid.y[cell[0]]))
        far = max((heap.outline.distance(Point(grid.x[cell[1]], grid.y[cell[0]])) for heap in heaps), default=0)
        if crowded or far > BESIDE:
            continue
        out = router.least_times(cell[None], loaded=True).seconds
        home = router.least_times(cell[None], loaded=False, towards=True).seconds
        total = 0.0
        for bed in site.beds:
            cells = cells_beside(ground, bed)
            total += trips[bed.id] * (out + home)[cells[:, 0], cells[:, 1]].min()
        best = min(best, total)
    assert math.isfinite(best)
    assert found.minutes * 60 == pytest.approx(best, rel=1e-4)  # moves are kept in single precision


@settings(deadline=None, max_examples=30)
@given(volume=st.floats(0.1, 20), share=st.floats(0.2, 0.95), repose=st.floats(20, 45))
def test_a_ridge_holds_its_volume(volume, share, repose):
    # a prism of triangles between two half cones, integrated over its height by itself: at z the foot is a stadium
    radius, _ = heap_size(volume, repose=repose)
    half = radius * share
    length = ridge_length(volume, half, repose=repose)
    slope = math.tan(math.radians(repose))
    heights = (np.arange(4000) + 0.5) / 4000 * half * slope
    widths = half - heights / slope
    held = float((2 * widths * length + math.pi * widths**2).sum() * half * slope / 4000)
    assert held == pytest.approx(volume, rel=1e-5)  # the sum's own steps
    assert length > 0


def test_a_ridge_where_no_cone_fits(bare_yard):
    # 1 m3 is a cone 2.2 m across, which a strip 1.6 m wide does not take; a ridge along it does
    strip = box(-5, 0, 3, 1.6)
    (heap,), cautions = place_heaps(bare_yard, "strip", strip, Point(0, 0), {"topsoil": 1.0})
    assert not cautions
    assert heap.length > 0
    assert heap.heading == pytest.approx(90)
    assert strip.buffer(1e-6).covers(heap.outline)


def test_heaps_stay_off_the_lawn_only_when_asked(bare_yard):
    lawn = Surface(id="lawn", outline=box(-6, -5, 6, 0), surface="grass")
    pad = Surface(id="pad", outline=box(-1, -3, 0, -2), surface="paved")
    site = dataclasses.replace(bare_yard, surfaces=(lawn, pad))
    zone = box(-3, -4, 3, 4)
    (on,), _ = place_heaps(site, "zone", zone, Point(0, -3), {"topsoil": 0.5})
    kept = dataclasses.replace(site, haul=HaulSettings(off_lawn=True))
    (off,), cautions = place_heaps(kept, "zone", zone, Point(0, -3), {"topsoil": 0.5})
    assert on.centre.y < -1
    assert off.outline.buffer(-1e-6).disjoint(lawn.outline.difference(pad.outline))
    assert not cautions


@pytest.mark.parametrize(
    ("volumes", "said"),
    [
        ({"compost": 9.0, "worm castings": 8.0}, "compost and worm castings need rounds of up to"),
        ({"compost": 9.0}, "compost needs a round of"),
    ],
)
def test_what_does_not_fit_is_said_in_sound_grammar(bare_yard, volumes, said):
    _, cautions = place_heaps(bare_yard, "zone", box(0, 0, 1.5, 1.5), Point(0, 0), volumes)
    assert said in in_words(cautions, "metric")[0].text


def test_heaps_leave_their_own_way_free_where_there_is_room(bare_yard):
    lane = LineString([(0, 0), (5, 0)])
    own = Route("zone", "bed", lane, 5.0, 0.0, 1.0, 1.0, lane.reverse())
    heaps, cautions = place_heaps(
        bare_yard, "zone", box(-3, -3, 3, 3), Point(0, 0), {"a": 0.6, "b": 0.4}, routes=[own]
    )
    assert not cautions
    assert all(heap.outline.buffer(-1e-6).disjoint(lane.buffer(0.42)) for heap in heaps)


@settings(deadline=None, max_examples=20)
@given(x=st.floats(5, 35), y=st.floats(5, 35), radius=st.floats(6, 15))
def test_of_many_cells_the_best_is_missed_by_no_more_than_a_stride(x, y, radius):
    # 1600 cells, time growing with the distance from a corner, heaps that fit in a round somewhere
    cells = np.argwhere(np.ones((40, 40), dtype=bool)).astype(np.int32)
    seconds = np.hypot(*cells.T).astype(float)
    fit = np.hypot(cells[:, 0] - x, cells[:, 1] - y) <= radius
    found = best_cell(seconds, cells, lambda k: bool(fit[k]))
    stride = math.ceil(math.sqrt(len(cells) / MOST_TRIED))
    assert fit[found]
    assert seconds[found] <= seconds[fit].min() + 2 * stride


def test_where_nothing_fits_the_least_time_counts():
    cells = np.argwhere(np.ones((40, 40), dtype=bool)).astype(np.int32)
    seconds = np.arange(1600)[::-1].astype(float)
    assert best_cell(seconds, cells, lambda k: False) == 1599  # noqa: ARG005


@pytest.mark.parametrize("slope", [0.0, 0.04])
def test_times_are_the_same_from_beds_and_from_cells(bare_yard, slope):
    beds = tuple(
        Bed(id=f"bed {k}", outline=rectangle(2.5 * k - 4, 2, length=2, width=1, heading=0), height=0.4)
        for k in range(4)
    )
    grid = grid_over(bare_yard.boundary, 0.25)
    ramp = Terrain(grid, np.add.outer(np.zeros(grid.rows), slope * np.arange(grid.columns) * 0.25))
    site = dataclasses.replace(bare_yard, beds=beds, terrain=ramp if slope else None)
    cells = np.array([[4, 4], [5, 9], [grid.rows - 5, 6]], dtype=np.int32)
    few, one_by_one = RouteFinder(site, grid=grid), RouteFinder(site, grid=grid)
    together = few.out_and_back(beds, cells)  # from the cells: there are fewer
    alone = np.array([one_by_one.out_and_back([bed], cells)[0] for bed in beds])  # from the beds
    # a way and its reverse are searched by the same moves, whose times are single floats
    assert together == pytest.approx(alone, rel=1e-4)


def test_many_beds_are_served_from_a_lattice_nearly_as_well(bare_yard, monkeypatch):
    beds = tuple(
        Bed(id=f"bed {k}", outline=rectangle(k - 4, 2.5, length=1, width=0.5, heading=0), height=0.4)
        for k in range(8)
    )
    site = dataclasses.replace(bare_yard, beds=beds, piles=(Pile(id="tip", shape=box(-4, -4, 4, -1), drop=True),))
    trips = {bed.id: 3 for bed in beds}
    (best,) = tipping_spots(RouteFinder(site), trips)
    monkeypatch.setattr("siteplan.haul.delivery.tipping.MANY_BEDS", 7)
    (near,) = tipping_spots(RouteFinder(site), trips)
    assert best.minutes <= near.minutes <= 1.1 * best.minutes
    assert site.piles[0].shape.covers(near.place)
