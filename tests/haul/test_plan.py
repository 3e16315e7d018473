from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.fill.fill_results import PurchaseLine, Supply
from siteplan.haul.access_maps import minutes_field
from siteplan.haul.delivery.lorry import TAILGATE
from siteplan.haul.delivery.packaging import bag_volumes
from siteplan.haul.ground.cost_field import GRASS
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.loads.work_rates import EMPTY_SPEED, GRAVITY, LOADED_SPEED
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.haul.routes.obstruction import Obstacle
from siteplan.land.constants import RollingSurface
from siteplan.land.features import Bed, Building, Fence, Gate, Pile, Surface
from siteplan.land.grid import grid_over
from siteplan.land.site import Barrow, Labour
from siteplan.land.terrain import Terrain
from siteplan.say.cautions import in_words


def supply(bed="bed", at="heap", material="topsoil", volume=0.4, density=1250, order=0):
    return Supply(bed=bed, material=material, at=at, volume=volume, mass=volume * density, order=order)


@pytest.fixture
def simple(bare_yard):
    """Return a bed in the east, a heap in the west."""
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="heap", shape=Point(-4.05, 0.05)),),
    )


def codes(plan):
    return [found.code for found in plan.findings]


def test_a_straight_route_by_hand(simple):
    plan = plan_haul(simple, [supply()])
    (route,) = plan.routes
    # from the heap straight to where the barrow's middle stands half its width and the clearance from the bed
    assert (route.from_id, route.to_id) == ("heap", "bed")
    assert route.length_m == pytest.approx(3 - 0.425 + 4.05, abs=0.16)  # within a cell and a half of the bed's reach
    pace = GRASS.pace
    assert route.loaded_s == pytest.approx(route.length_m / (LOADED_SPEED * pace), rel=1e-6)  # single-precision moves
    assert route.empty_s == pytest.approx(route.length_m / (EMPTY_SPEED * pace), rel=1e-6)
    assert (route.climb_m, route.bucket_m) == (0.0, 0.0)
    assert (route.steepest, route.steepest_down, route.cross_fall) == (0.0, 0.0, 0.0)
    (load,) = plan.loads
    assert (load.trips, load.per_trip_mass) == (7, pytest.approx(500 / 7))
    assert load.push_force == pytest.approx((500 / 7 + simple.barrow.mass) * GRAVITY * GRASS.rolling, rel=1e-9)
    assert plan.total_minutes == load.minutes
    assert plan.drop == ""


def test_it_asks_for_the_side_that_can_be_reached(simple):
    # a wall along the bed's near side: the barrow goes round to another side
    wall = Building(id="wall", outline=box(2.7, -1.5, 2.95, 1.5), height=2)
    plan = plan_haul(dataclasses.replace(simple, buildings=(wall,)), [supply()])
    end = Point(plan.routes[0].line.coords[-1])
    assert end.x > 3
    assert abs(end.y) > 0.9
    assert plan.routes[0].line.distance(wall.outline) > simple.barrow.width / 2
    assert plan.routes[0].line.distance(simple.beds[0].outline) >= simple.barrow.width / 2


def test_a_fence_is_not_reached_across(simple):
    # the bed lies against the fence: from behind it is near enough to tip, but the fence is between
    fence = Fence(id="fence", line=LineString([(2.98, -5), (2.98, 5)]), height=1.5, thickness=0.02)
    site = dataclasses.replace(simple, fences=(fence,))
    plan = plan_haul(site, [supply()])
    assert codes(plan)[0] == "no-way-in"
    assert not plan.routes


def test_no_way_in_names_the_barrier_and_leaves_the_minutes_open(simple):
    fence = Fence(id="back fence", line=LineString([(0, -5), (0, 5)]), height=1.5)
    plan = plan_haul(dataclasses.replace(simple, fences=(fence,)), [supply()])
    assert plan.loads == ()
    assert (plan.trips, plan.total_minutes, plan.mass) == (0, 0, 0)
    (missing,) = plan.unreached
    assert (missing.bed, missing.from_id, missing.volume, missing.delivered) == ("bed", "heap", 0.4, False)
    assert missing.trips == plan_haul(simple, [supply()]).trips > 1  # as many as without the fence
    assert plan.order == ()
    (caution,) = in_words([item for item in plan.findings if item.code == "no-way-in"], "metric")
    assert caution.feature == "bed"
    assert 'fence "back fence"' in caution.text


def test_a_narrow_gate_is_why(simple):
    fence = Fence(id="back fence", line=LineString([(0, -5), (0, 5)]), height=1.5)
    gate = Gate(id="wicket", place=Point(0, 0), line=LineString([(0, -0.4), (0, 0.4)]), width=0.8)
    site = dataclasses.replace(simple, fences=(fence,), gates=(gate,))
    plan = plan_haul(site, [supply()])
    # 0.8 m let nobody with a barrow of 0.85 m through, but somebody with two buckets: the last metres are carried
    assert {"gate-too-narrow", "bucket"} <= set(codes(plan))
    (route,) = plan.routes
    assert route.line.coords[-1][0] < 0
    assert 2.0 < route.bucket_m < 4.0  # from before the fence to beside the bed, 3 m behind it
    assert plan.loads[0].bucket_minutes > plan.loads[0].push_minutes
    open_gate = plan_haul(dataclasses.replace(site, barrow=Barrow(width=0.55)), [supply()])
    assert "bucket" not in codes(open_gate)
    assert open_gate.total_minutes < plan.total_minutes


def test_steps_are_carried_over_by_bucket(simple):
    steps = Surface(id="stair", outline=box(0, -5, 1, 5), surface="steps")
    rolling_surfaces = {
        "steps": RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.6, loaded=False)
    }
    plan = plan_haul(dataclasses.replace(simple, surfaces=(steps,), rolling_surfaces=rolling_surfaces), [supply()])
    assert "bucket" in codes(plan)
    assert plan.routes[0].line.coords[-1][0] <= 0.0


def test_steps_shorten_the_way_back(simple):
    # a stair right in the way: loaded round it, empty over it
    steps = Surface(id="stair", outline=box(-1, -3, 1, 3), surface="steps")
    rolling_surfaces = {
        "steps": RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.9, loaded=False)
    }
    (route,) = plan_haul(
        dataclasses.replace(simple, surfaces=(steps,), rolling_surfaces=rolling_surfaces), [supply()]
    ).routes
    assert route.back.length < route.line.length - 1
    assert route.line.disjoint(box(-0.99, -2.99, 0.99, 2.99))
    assert route.back.intersects(box(-0.99, -2.99, 0.99, 2.99))


def test_a_delivery_is_tipped_where_the_work_is_least(simple):
    far = Pile(id="far", shape=box(-5.5, -4.5, -4, -3), drop=True)
    near = Pile(id="near", shape=box(0, 2, 1.5, 3.5), drop=True)
    plan = plan_haul(dataclasses.replace(simple, piles=(*simple.piles, far, near)), [supply(at=""), supply()])
    assert plan.drop == "near"
    assert plan.drop_place.within(near.shape.buffer(0.1))
    assert {route.from_id for route in plan.routes} == {"near", "heap"}
    assert [load.from_id for load in plan.loads] == ["near", "heap"]


def test_without_a_drop_zone_the_hard_ground_at_the_edge_serves(simple):
    drive = Surface(id="drive", outline=box(-6, -5, -3, -2), surface="paved")
    plan = plan_haul(dataclasses.replace(simple, surfaces=(drive,)), [supply(at="")])
    assert plan.drop == "drive"
    assert "no-drop" in codes(plan)
    assert plan.drop_place.distance(drive.outline) <= TAILGATE + 1e-6
    assert plan.routes[0].from_id == "drive"


def test_without_any_hard_ground_the_gate_serves(simple):
    fence = Fence(id="front", line=LineString([(-6, -5), (6, -5)]), height=1.2)
    gate = Gate(id="wicket", place=Point(-3, -5), line=LineString([(-3.6, -5), (-2.4, -5)]), width=1.2)
    plan = plan_haul(dataclasses.replace(simple, fences=(fence,), gates=(gate,)), [supply(at="")])
    assert plan.drop == "wicket"
    assert math.isfinite(plan.total_minutes)
    assert plan.total_minutes > 0


def test_nothing_to_do_is_an_empty_plan(simple):
    plan = plan_haul(simple, [])
    assert (plan.routes, plan.loads, plan.total_minutes, plan.order, plan.days) == ((), (), 0, (), 0)


@pytest.mark.parametrize("wrong", [{"bed": "nowhere"}, {"at": "nowhere"}])
def test_a_supply_from_or_to_nowhere_is_refused(simple, wrong):
    with pytest.raises(ValueError, match="'nowhere', which is not there"):
        plan_haul(simple, [supply(**wrong)])


def test_a_pile_that_is_walled_in_has_no_way(simple):
    pen = Fence(id="pen", line=box(-4.6, -0.5, -3.6, 0.5).exterior, height=1.2)
    plan = plan_haul(dataclasses.replace(simple, fences=(pen,)), [supply()])
    assert plan.unreached[0].obstacle == Obstacle("fence", "pen")


def test_a_stair_before_a_fence_is_named_first(simple):
    steps = Surface(id="stair", outline=box(0, -5, 1, 5), surface="steps")
    rolling_surfaces = {
        "steps": RollingSurface(surface="steps", rolling=0.02, rolling_wet=0.02, pace=0.6, loaded=False)
    }
    fence = Fence(id="back fence", line=LineString([(2, -5), (2, 5)]), height=1.5)
    site = dataclasses.replace(simple, surfaces=(steps,), rolling_surfaces=rolling_surfaces, fences=(fence,))
    assert plan_haul(site, [supply()]).unreached[0].obstacle == Obstacle("steps", "stair")


def test_a_bed_that_blocks_nobody_still_stands_in_the_way(simple):
    other = Bed(id="other", outline=box(-0.6, -2, 0.6, 2), height=0.4, proposed=True)
    (route,) = plan_haul(dataclasses.replace(simple, beds=(*simple.beds, other)), [supply()]).routes
    assert route.line.distance(other.outline) >= 0.425 - 0.01  # room is read between centres 10 cm apart
    assert route.length_m > 7


def test_wet_ground_is_pushed_harder_and_said_so(simple):
    dry, wet = plan_haul(simple, [supply()]), plan_haul(simple, [supply()], wet=True)
    assert wet.loads[0].push_force == pytest.approx(dry.loads[0].push_force * 0.12 / 0.07, rel=1e-9)
    assert "heavy-push" in codes(wet)
    assert "heavy-push" not in codes(dry)
    # the push takes the same power: with 0.12 / 0.07 of the force a loaded metre takes so many times as long
    assert wet.routes[0].loaded_s == pytest.approx(dry.routes[0].loaded_s * 0.12 / 0.07, rel=1e-6)
    assert wet.routes[0].empty_s == pytest.approx(dry.routes[0].empty_s, rel=1e-6)
    assert wet.total_minutes > dry.total_minutes


def test_a_climb_that_is_just_right_when_dry_is_too_steep_when_wet(simple):
    # 10 % up: below the 12.5 % of a dry barrow, above 12.5 - (12 - 7) = 7.5 % on wet grass
    grid = grid_over(simple.boundary, 0.5)
    hill = dataclasses.replace(simple, terrain=Terrain(grid, 0.10 * np.meshgrid(grid.x, grid.y)[0]))
    assert plan_haul(hill, [supply()]).unreached == ()
    straight = plan_haul(hill, [supply()]).routes[0]
    assert straight.steepest == pytest.approx(0.10, abs=0.005)
    wet = plan_haul(hill, [supply()], wet=True)
    assert all(route.steepest <= 0.075 + 0.005 for route in wet.routes)


def test_a_barrow_that_may_be_overloaded_is_said_so(simple):
    plan = plan_haul(dataclasses.replace(simple, barrow=Barrow(load=150, volume=0.2)), [supply()])
    assert "barrow-load" in codes(plan)
    assert "heavy-work" in codes(plan)


def test_the_minutes_field_by_hand(simple):
    grid = grid_over(simple.boundary, 0.5)
    field = minutes_field(simple, grid, sources=["heap"])
    row, column = grid.cell_of(0.3, 0.3)
    far = math.dist((grid.x[column], grid.y[row]), (-4.05, 0.05))
    expected = far / GRASS.pace * (1 / LOADED_SPEED + 1 / EMPTY_SPEED) / 60
    assert field[row, column] == pytest.approx(expected, rel=0.02)  # 40 directions, and a routes' cell of 10 cm


def test_the_minutes_field_has_none_inside_a_house_but_for_one_thought_away(simple):
    house = Building(id="house", outline=box(-2, 1, 2, 5), height=5)
    site, grid = dataclasses.replace(simple, buildings=(house,)), grid_over(simple.boundary, 0.5)
    inside = grid.cell_of(0.0, 3.0)
    assert np.isnan(minutes_field(site, grid, sources=["heap"])[inside])
    assert np.isfinite(minutes_field(site, grid, sources=["heap"], without=["house"])[inside])


def test_the_minutes_field_stops_at_what_is_shut(simple):
    fence = Fence(id="fence", line=LineString([(0, -5), (0, 5)]), height=1.5)
    grid = grid_over(simple.boundary, 0.5)
    field = minutes_field(dataclasses.replace(simple, fences=(fence,)), grid, sources=["heap"])
    assert np.isfinite(field[:, : grid.columns // 2]).all()
    assert np.isnan(field[:, grid.columns // 2 + 2 :]).all()


def test_the_minutes_field_starts_at_the_drop_zones_when_none_is_named(simple):
    drop = Pile(id="tip", shape=box(1, 2, 2, 3), drop=True)
    site = dataclasses.replace(simple, piles=(*simple.piles, drop))
    grid = grid_over(site.boundary, 0.5)
    np.testing.assert_array_equal(minutes_field(site, grid, sources=[]), minutes_field(site, grid, sources=["tip"]))
    nearest = minutes_field(site, grid, sources=["tip", "heap"])
    assert (np.nan_to_num(nearest) <= np.nan_to_num(minutes_field(site, grid, sources=["heap"])) + 1e-9).all()
    with pytest.raises(ValueError, match="pile 'nowhere' is not there; there are: heap, tip"):
        minutes_field(site, grid, sources=["nowhere"])


def test_the_same_question_has_the_same_answer_and_the_site_is_left_alone(simple):
    before = shapely.to_wkb(simple.boundary)
    first, second = plan_haul(simple, [supply()]), plan_haul(simple, [supply()])
    assert first.total_minutes == second.total_minutes
    assert first.routes[0].line.equals(second.routes[0].line)
    assert shapely.to_wkb(simple.boundary) == before


def test_more_people_take_less_time(simple):
    two = dataclasses.replace(simple, labour=Labour(people=2))
    assert plan_haul(two, [supply()]).total_minutes < plan_haul(simple, [supply()]).total_minutes


def bought(kind, count, volume, material="compost", parts=()):
    return PurchaseLine(
        material=material,
        kind=kind,
        count=count,
        volume=volume,
        cost=1.0,
        parts=parts,
        mass_each=volume / count * 700,
    )


def test_what_is_bought_in_bags_is_carried_in_bags_and_makes_no_heap(simple):
    drop = Pile(id="tip", shape=box(-2, 2, 1, 4), drop=True)
    site = dataclasses.replace(simple, piles=(*simple.piles, drop))
    needs = [supply(at="", material="compost", volume=0.4, density=700), supply(at="", material="topsoil")]
    plan = plan_haul(site, needs, purchase=[bought("bag", 10, 0.4), bought("loose", 1, 0.5, "topsoil")])
    compost, soil = plan.loads
    assert (compost.bags, compost.shovel_minutes) == (10, 10)
    assert soil.bags == 0
    assert [heap.material for heap in plan.heaps] == ["topsoil"]
    assert "heavy-bag" in codes(plan)  # 28 kg


def test_a_bag_s_volume_is_the_mean_of_several_sizes_and_mixed_purchases_as_loose():
    assert bag_volumes([bought("bag", 2, 0.08), bought("bag", 2, 0.12)]) == {"compost": pytest.approx(0.05)}
    assert bag_volumes([bought("bag", 2, 0.08), bought("loose", 1, 0.5)]) == {}
    blend = bought("bag", 4, 0.2, "topsoil + compost", (("topsoil", 0.1), ("compost", 0.1)))
    assert bag_volumes([blend]) == {"topsoil": pytest.approx(0.05), "compost": pytest.approx(0.05)}
    assert bag_volumes([]) == {}


def test_as_many_bags_are_carried_as_are_bought_and_none_is_split(simple):
    # 0.1 and 0.26 m3 in bags of 0.04 m3 and 28 kg are 2.5 and 6.5 bags: nine are bought. The third goes to the first
    # bed, which leaves half of it; six more fill the second. The tray of 0.085 m3 takes two at once: 2 and 3 trips.
    other = Bed(id="other", outline=box(-1, 2, 1, 3.2), height=0.4)
    drop = Pile(id="tip", shape=box(-4, -4, -1, -2), drop=True)
    site = dataclasses.replace(simple, beds=(*simple.beds, other), piles=(drop,))
    needs = [
        supply(at="", material="compost", volume=0.10, density=700),
        supply("other", at="", material="compost", volume=0.26, density=700),
    ]
    first, second = plan_haul(site, needs, purchase=[bought("bag", 9, 0.36)]).loads
    assert (first.bags, second.bags) == (3, 6)
    assert (first.trips, second.trips) == (2, 3)
    for one in (first, second):
        assert one.per_trip_volume == pytest.approx(2 * 0.04)  # two whole bags
        assert one.per_trip_mass == pytest.approx(2 * 28)
        assert one.bag_mass == pytest.approx(28)


def test_the_rest_of_a_bag_is_carried_loose(simple):
    # both beds need less than half a bag: one bag is bought, opened at the first bed, and its rest taken to the second
    other = Bed(id="other", outline=box(-1, 2, 1, 3.2), height=0.4)
    drop = Pile(id="tip", shape=box(-4, -4, -1, -2), drop=True)
    site = dataclasses.replace(simple, beds=(*simple.beds, other), piles=(drop,))
    needs = [supply(bed, at="", material="compost", volume=0.015, density=700) for bed in ("bed", "other")]
    plan = plan_haul(site, needs, purchase=[bought("bag", 1, 0.04)])
    assert [(load.bags, load.trips) for load in plan.loads] == [(1, 1), (0, 1)]
    assert plan.heaps == ()


def test_rests_come_on_top(simple):
    # ten minutes in the hour: what takes 50 min of work takes 60 of the clock
    plan = plan_haul(simple, [supply()])
    assert plan.minutes_with_rests == pytest.approx(plan.total_minutes * 60 / 50)


def test_runs_name_the_gates_they_go_through(simple):
    # two fences between heap and bed, each with a gate straight on the way, and a third gate that is not used
    fences = tuple(Fence(id=f"fence {x}", line=LineString([(x, -5), (x, 5)]), height=1.5) for x in (-2, 1))
    gates = tuple(
        Gate(id=name, place=Point(x, y), line=LineString([(x, y - 0.6), (x, y + 0.6)]), width=1.2)
        for name, x, y in (("unused", -2, 4), ("second", 1, 0), ("first", -2, 0))
    )
    plan = plan_haul(dataclasses.replace(simple, fences=fences, gates=gates), [supply()])
    assert plan.routes[0].gates == plan.loads[0].gates == plan.order[0].gates == ("first", "second")
    assert plan_haul(simple, [supply()]).routes[0].gates == ()


def test_a_gate_that_is_too_narrow_is_named_before_the_fence_with_what_it_lacks(simple):
    # a gate of 0.5 m: the barrow needs 0.65 + 2 x 0.10 = 0.85 m, 0.35 m more; a walker with buckets needs 0.6 m
    fence = Fence(id="back fence", line=LineString([(0, -5), (0, 5)]), height=1.5)
    gate = Gate(id="wicket", place=Point(0, 3), line=LineString([(0, 2.75), (0, 3.25)]), width=0.5)
    plan = plan_haul(dataclasses.replace(simple, fences=(fence,), gates=(gate,)), [supply()])
    met = plan.unreached[0].obstacle
    assert (met.kind, met.id, met.wider) == ("gate", "wicket", pytest.approx(0.35))
    said = in_words([found for found in plan.findings if found.code == "no-way-in"], "metric")
    assert said[0].text == 'No way in for the barrow from "heap": gate "wicket" is 35 cm too narrow.'


def test_what_cannot_get_there_is_not_tipped(simple):
    # of two beds one is walled in: its topsoil is no trip, lies on no heap and comes with no delivery
    pen = Fence(id="pen", line=box(2, 2, 5.5, 4.5).exterior, height=1.2)
    shut = Bed(id="shut", outline=box(3, 3, 4, 3.6), height=0.4)
    drop = Pile(id="tip", shape=box(-4, -4, -1, -2), drop=True)
    site = dataclasses.replace(simple, beds=(*simple.beds, shut), fences=(pen,), piles=(drop,))
    plan = plan_haul(site, [supply(at="", volume=0.4), supply("shut", at="", volume=0.3)])
    assert [(load.bed, load.volume) for load in plan.loads] == [("bed", 0.4)]
    assert [(one.bed, one.volume, one.obstacle.id) for one in plan.unreached] == [("shut", 0.3, "pen")]
    assert [heap.volume for heap in plan.heaps] == [0.4]
    assert [delivery.volume for delivery in plan.deliveries] == [0.4]
    nothing = plan_haul(site, [supply("shut", at="")])
    assert (nothing.drop, nothing.drop_place, nothing.heaps, nothing.order) == ("", None, (), ())


def test_what_cannot_get_there_comes_from_where_the_rest_is_tipped(simple):
    # bed "shut" is walled in. From "far", drawn first, the back fence is met first; all is
    # tipped on "near", from where only the pen is in the way
    pen = Fence(id="pen", line=box(2, 2, 5.5, 4.5).exterior, height=1.2)
    fence = Fence(id="back fence", line=LineString([(-3, -5), (-3, 5)]), height=1.2)
    shut = Bed(id="shut", outline=box(3, 3, 4, 3.6), height=0.4)
    zones = (
        Pile(id="far", shape=box(-5, -4, -4, -2), drop=True),
        Pile(id="near", shape=box(0, -4, 1, -2), drop=True),
    )
    site = dataclasses.replace(simple, beds=(*simple.beds, shut), fences=(fence, pen), piles=zones)
    plan = plan_haul(site, [supply(at="", volume=0.4), supply("shut", at="", volume=0.3)])
    assert plan.drop == "near"
    assert [(one.bed, one.from_id, one.obstacle.id) for one in plan.unreached] == [("shut", "near", "pen")]
    (nothing,) = plan_haul(site, [supply("shut", at="")]).unreached  # nothing is tipped: the first drawn zone
    assert (nothing.from_id, nothing.obstacle.id) == ("far", "back fence")


def test_across_and_down_a_slope_with_a_load_is_told(simple):
    # the way runs east over 6 m. On a plane that rises 8 % northward it is all across; on one that falls 9 % eastward
    # all down; 1:12 is 8.3 %, and 5 % across is common practice, no source
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    x, y = np.meshgrid(grid.x, grid.y)
    across = plan_haul(dataclasses.replace(simple, terrain=Terrain(grid, 0.08 * y)), [supply()])
    assert across.routes[0].cross_fall == pytest.approx(0.08, rel=0.02)  # the way bends a little
    assert "aslant-way" in codes(across)
    assert "steep-descent" not in codes(across)
    down = plan_haul(dataclasses.replace(simple, terrain=Terrain(grid, -0.09 * x)), [supply()])
    assert down.routes[0].steepest_down == pytest.approx(0.09, rel=0.02)
    assert down.routes[0].steepest == pytest.approx(0, abs=0.01)
    assert "steep-descent" in codes(down)
    assert "aslant-way" not in codes(down)
    assert not {"steep-descent", "aslant-way"} & set(codes(plan_haul(simple, [supply()])))


def test_a_round_trip_takes_as_long_whichever_end_it_is_counted_from(simple):
    # up 6 % with the load and down without: from the heap to one cell beside the bed, and from that cell to the heap
    grid = grid_over(box(-20, -20, 20, 20), 1.0)
    finder = RouteFinder(dataclasses.replace(simple, terrain=Terrain(grid, 0.06 * np.meshgrid(grid.x, grid.y)[0])))
    heap, end = (finder.ground.grid.cell_of(x, 0.05) for x in (-4.05, 2.0))
    start, goal = (np.array([cell], dtype=np.int32) for cell in (heap, end))
    there = finder.source("heap", start)
    trip = finder._times_to_bed(goal, start)[0]
    assert trip == pytest.approx(there.round_trip[end], rel=1e-5)  # single precision
    assert trip == pytest.approx(finder._times_from_cell(start[0], [goal])[0], rel=1e-5)
    # not the other way round: empty up and loaded down is a different trip
    assert trip != pytest.approx(finder._times_to_bed(start, goal)[0], rel=0.01)


def test_a_drop_zone_can_be_chosen(simple):
    zones = (
        Pile(id="far", shape=box(-5.5, -4.5, -4, -3), drop=True),
        Pile(id="near", shape=box(0, 2, 1.5, 3.5), drop=True),
    )
    site = dataclasses.replace(simple, piles=zones)
    near, far = plan_haul(site, [supply(at="")]), plan_haul(site, [supply(at="")], drop="far")
    assert (near.drop, far.drop) == ("near", "far")
    assert far.total_minutes > near.total_minutes
    with pytest.raises(ValueError, match="drop zone 'heap' is not there; there are: far, near"):
        plan_haul(site, [supply(at="")], drop="heap")


def test_the_minutes_field_of_a_yard_without_piles_starts_where_a_lorry_would_tip(simple):
    drive = Surface(id="drive", outline=box(-6, -5, -3, -2), surface="paved")
    site = dataclasses.replace(simple, piles=(), surfaces=(drive,))
    grid = grid_over(site.boundary, 0.5)
    field = minutes_field(site, grid, sources=[])
    row, column = np.unravel_index(np.nanargmin(field), field.shape)
    assert drive.outline.distance(Point(grid.x[column], grid.y[row])) < TAILGATE + 0.5


def test_of_several_hard_grounds_at_the_edge_the_one_with_the_least_work_serves(simple):
    surfaces = (
        Surface(id="far drive", outline=box(-6, -5, -3, -4), surface="paved"),
        Surface(id="drive", outline=box(2, -5, 5, -4), surface="paved"),
        Surface(id="terrace", outline=box(0, -1, 2, 1), surface="paved"),
    )
    plan = plan_haul(dataclasses.replace(simple, surfaces=surfaces), [supply(at="")])
    assert plan.drop_place.distance(surfaces[1].outline) < plan.drop_place.distance(surfaces[0].outline)
    assert plan.drop_place.distance(surfaces[1].outline) <= TAILGATE + 1e-6


def test_a_path_at_the_edge_serves_where_no_drive_is_as_wide_as_a_lorry(simple):
    path = Surface(id="path", outline=box(2, -5, 3, -2), surface="paved")
    plan = plan_haul(dataclasses.replace(simple, surfaces=(path,)), [supply(at="")])
    assert plan.drop == "path"
    assert [found.feature for found in plan.findings if found.code == "no-drop"] == ["path"]
    assert path.outline.covers(plan.drop_place)
