from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.fill.fill_results import Supply
from siteplan.haul.alternatives import compare_hauls, summarise
from siteplan.haul.ground.cost_field import GRASS
from siteplan.haul.haul_plan import best_haul, plan_haul
from siteplan.haul.haul_work import haul_work
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Fence, Gate, Pile, Surface
from siteplan.land.grid import grid_over
from siteplan.land.site import HaulSettings
from siteplan.land.terrain import Terrain


@pytest.fixture
def yard(bare_yard):
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="far", shape=Point(-5, -4), drop=True), Pile(id="near", shape=Point(0.05, 0.05), drop=True)),
    )


NEED = [Supply(bed="bed", material="topsoil", at="", volume=0.4, mass=500.0)]


def work_of(site, needs=NEED):
    return haul_work(RouteFinder(site), needs)


def compared(site, needs=NEED):
    finder = RouteFinder(site)
    return compare_hauls(finder, needs, haul_work(finder, needs))


def test_drop_zones_side_by_side(yard):
    # From (0.05, 0.05) and from (-5, -4) to where the barrow's middle stands 0.425 m before the bed's west side, straight
    # over bare level grass: 2.53 m, and about 8.6 m to the nearest spot of it; each of 7 loads is pushed out and back.
    near, far = compared(yard)
    assert (near.change, near.feature, near.planned) == ("none", "near", True)
    assert (far.change, far.feature, far.planned) == ("tipped", "far", False)
    assert near.trips == far.trips == 7
    assert near.walked_m == pytest.approx(7 * 2 * 2.53, abs=7 * 2 * 0.16)  # a cell and a half, see the plan's tests
    assert far.walked_m == pytest.approx(7 * 2 * math.hypot(5 + 3 - 0.425, 4 - 0.6), abs=7 * 2 * 0.3)
    # metres of a round trip at 1/1.1 of 3 km/h loaded and of 4.5 km/h empty, or whatever the settings say
    pace = (1 / yard.haul.loaded_speed + 1 / yard.haul.empty_speed) / 2 / GRASS.pace
    assert far.minutes - near.minutes == pytest.approx((far.walked_m - near.walked_m) * pace / 60, rel=1e-3)
    assert near.peak_force == pytest.approx(far.peak_force)  # level grass both


def test_a_row_by_hand(yard):
    # two beds' topsoil on a plane that rises 5 % eastward: what is climbed is 5 % of the way east, in every trip
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    hill = dataclasses.replace(yard, terrain=Terrain(grid, 0.05 * np.meshgrid(grid.x, grid.y)[0]))
    work = work_of(hill)
    (load,) = work.loads
    (route,) = work.routes
    row = summarise(work)
    assert (row.change, row.trips, row.unreached) == ("none", 7, 0)
    east = route.line.coords[-1][0] - route.line.coords[0][0]
    assert row.climbed_m == pytest.approx(7 * 0.05 * east, rel=0.01)
    assert row.walked_m == pytest.approx(7 * (route.line.length + route.back.length), rel=1e-9)
    assert row.energy_kcal == load.energy_kcal
    assert row.peak_force == load.peak_force


def test_a_zone_that_also_holds_stock_is_two_places_to_load(yard):
    # a strip along the south edge, its north side at y = -3. Stock goes straight up to bed "west", 7 trips of 2.57 m: the
    # barrow's middle stands 0.425 m below the bed. Of what is delivered 7 trips go to "east" and 2 to "west": it is
    # tipped where 7 sin a = 2 sin b, a little west of "east", and "west" is 7 to 8 m away from there
    strip = Pile(id="strip", shape=box(-5, -4.5, 5, -3), drop=True)
    beds = tuple(Bed(id=name, outline=box(x, 0, x + 1, 1), height=0.4) for name, x in (("west", -5), ("east", 4)))
    site = dataclasses.replace(yard, beds=beds, piles=(strip,))
    stock = dataclasses.replace(NEED[0], bed="west", at="strip")
    more, east = (
        dataclasses.replace(NEED[0], bed=bed, volume=v, mass=1250 * v) for bed, v in (("west", 0.1), ("east", 0.4))
    )
    work = work_of(site, [stock, more, east])
    assert [(load.bed, load.from_id, load.trips) for load in work.loads] == [
        ("west", "strip", 7), ("west", "strip", 2), ("east", "strip", 7),
    ]  # fmt: skip
    near, far, aside = (route.length_m for route in work.load_routes)
    assert near == pytest.approx(3 - 0.425, abs=0.15)  # cells of 10 cm at both ends
    assert 7 < far < 8
    assert aside == pytest.approx((3 - 0.425) / math.cos(math.asin(2 / 7)), abs=0.2)
    # a round trip is twice the way; the two ways from "strip" to "west" were once taken for one
    assert summarise(work).walked_m == pytest.approx(2 * (7 * near + 2 * far + 7 * aside), rel=1e-3)


def test_a_bed_that_is_not_reached_counts_as_such_and_adds_nothing(yard):
    # a second bed behind a fence without a gate: its load has no minutes, and the row holds the first bed alone
    fence = Fence(id="fence", line=LineString([(-2, -5), (-2, 5)]), height=1.2)
    shut_in = Bed(id="shut in", outline=box(-5, 2, -3, 3.2), height=0.4)
    site = dataclasses.replace(yard, fences=(fence,), beds=(*yard.beds, shut_in), piles=yard.piles[1:])
    both = [NEED[0], dataclasses.replace(NEED[0], bed="shut in")]
    row, alone = (summarise(work_of(site, needs)) for needs in (both, NEED))
    assert (row.unreached, alone.unreached) == (7, 0)  # trips, as many as to the other bed
    assert row.trips == alone.trips == 7
    assert row.walked_m == alone.walked_m
    assert row.energy_kcal == alone.energy_kcal
    nobody = summarise(work_of(site, both[1:]))
    assert (nobody.unreached, nobody.trips, nobody.walked_m) == (7, 0, 0)
    assert math.isnan(nobody.peak_force)


def fenced(yard, *gates):
    fence = Fence(id="fence", line=LineString([(1.5, -5), (1.5, 5)]), height=1.2)
    return dataclasses.replace(yard, fences=(fence,), gates=gates)


def gate(name, y, width):
    return Gate(
        id=name, place=Point(1.5, y), line=LineString([(1.5, y - width / 2), (1.5, y + width / 2)]), width=width
    )


def test_the_plan_beside_spots_and_gates(yard):
    drive = Surface(id="drive", outline=box(-3, -5, 0, -2), surface="gravel")
    site = dataclasses.replace(fenced(yard, gate("wide", 3, 1.2), gate("narrow", 0, 0.7)), surfaces=(drive,))
    rows = compared(site)
    plan = plan_haul(site, NEED)
    assert rows[0].planned
    assert rows[0].feature == "near"
    assert rows[0].minutes == plan.total_minutes
    found = {(row.change, row.feature): row for row in rows[1:]}
    assert set(found) == {("tipped", "far"), ("lorry", "drive"), ("shut", "wide"), ("widened", "narrow")}
    assert found["shut", "wide"].minutes > plan.total_minutes  # buckets pass the narrow one
    assert found["widened", "narrow"].minutes < plan.total_minutes
    assert found["tipped", "far"].minutes > plan.total_minutes
    assert not any(row.planned for row in rows[1:])


def test_a_second_gate_is_shut_to_see_what_it_brings(yard):
    site = fenced(yard, gate("first", 4, 1.2), gate("second", 0, 1.2))
    plan = plan_haul(site, NEED)
    shut = {(row.change, row.feature): row for row in compared(site)}["shut", "second"]
    assert shut.minutes == plan_haul(fenced(yard, gate("first", 4, 1.2)), NEED).total_minutes
    assert shut.minutes > plan.total_minutes


def test_a_lorry_that_may_tip_anywhere_is_set_beside_the_drop_zones(yard):
    drive = Surface(id="drive", outline=box(-3, -5, 0, -2), surface="gravel")
    site = dataclasses.replace(yard, surfaces=(drive,), haul=HaulSettings(tip_anywhere=True))
    assert {row.feature for row in compared(site)} == {"near", "far", "drive"}


@pytest.mark.parametrize("hilly", [False, True])
def test_what_rows_share_changes_no_figure(yard, hilly):
    # ways about a gate that is shut or widened, and the plan's own, against ways worked out from nothing: equal times
    # of moves, least times, routes and loads; with steps, on which loaded and empty ways differ
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    stair = Surface(id="stair", outline=box(1.8, -1.2, 2.3, 1.0), surface="steps")
    site = dataclasses.replace(
        fenced(yard, gate("wide", 3, 1.2), gate("narrow", 0, 0.7)),
        surfaces=(stair,),
        rolling_surfaces={
            "steps": RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.6, loaded=False)
        },
        terrain=Terrain(grid, 0.04 * np.meshgrid(grid.x, grid.y)[0]) if hilly else None,
    )
    finder = RouteFinder(site)
    haul_work(finder, NEED)
    for gates in ((site.gates[1],), (site.gates[0], gate("narrow", 0, 0.85))):
        other = dataclasses.replace(site, gates=gates)
        shared, fresh = finder.with_gates_of(other), RouteFinder(other)
        for name in ("loaded", "empty", "room"):
            np.testing.assert_allclose(
                getattr(shared.ground, name), getattr(fresh.ground, name), rtol=1e-9, atol=1e-9
            )
        for loaded in (True, False):
            both = [one.router.times_of_moves(loaded=loaded, towards=False) for one in (shared, fresh)]
            np.testing.assert_allclose(*both, rtol=1e-6)  # single precision
        one, two = haul_work(shared, NEED), haul_work(fresh, NEED)
        assert summarise(one).minutes == pytest.approx(summarise(two).minutes, rel=1e-6)
        assert summarise(one).walked_m == pytest.approx(summarise(two).walked_m, rel=1e-6)


def test_nothing_beside_it_is_an_empty_comparison(yard):
    assert compared(yard, [dataclasses.replace(NEED[0], at="far")]) == ()


def test_the_whole_work_serves_from_the_nearest_pile_and_sets_others_beside(yard):
    beds = (*yard.beds, Bed(id="west", outline=box(-5, 2, -3, 3.2), height=0.4))
    piles = (Pile(id="east heap", shape=Point(4, 3)), Pile(id="west heap", shape=Point(-4, 0.5)))
    site = dataclasses.replace(yard, beds=beds, piles=piles)
    crossed = [dataclasses.replace(NEED[0], at="west heap"), dataclasses.replace(NEED[0], bed="west", at="east heap")]
    plan = best_haul(site, crossed)
    assert {(item.bed, item.at) for item in plan.supplies} == {("bed", "east heap"), ("west", "west heap")}
    assert plan.total_minutes < plan_haul(site, crossed).total_minutes
    assert plan.crew is not None
    assert best_haul(site, []).loads == ()


def test_a_full_bed_shuts_no_way(yard):
    # beds stand in each other's way, full or empty: no way, to whichever bed, leads over another
    row = tuple(Bed(id=f"bed {k}", outline=box(1.5 + 1.5 * k, -1, 2 + 1.5 * k, 1), height=0.4) for k in range(3))
    site = dataclasses.replace(yard, beds=row)
    plan = plan_haul(site, [dataclasses.replace(NEED[0], bed=bed.id, order=k % 2) for k, bed in enumerate(row)])
    assert len(plan.routes) == 3
    for route in plan.routes:
        for bed in row:
            assert (
                route.line.distance(bed.outline) > 0.40
            )  # half the barrow and its clearance, less a cell's rounding
            assert route.back.distance(bed.outline) > 0.40
