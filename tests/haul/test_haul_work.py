"""The work of a small haul: barrows, tipping spots and what is refused, by hand."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.fill.fill_results import Supply
from siteplan.haul import haul_plan
from siteplan.haul.alternatives import _gates, _spots, _widened
from siteplan.haul.haul_plan import best_haul, plan_haul
from siteplan.haul.haul_results import Load, Run
from siteplan.haul.haul_work import haul_work
from siteplan.haul.loads.loads import crew_choice
from siteplan.haul.loads.pile_service import _is_choice, _most_in_a_load, _round_trip, assign_piles
from siteplan.haul.loads.work_order import deliveries_of, order_of_work
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.features import Bed, Fence, Gate, Pile, Surface
from siteplan.land.grid import grid_over
from siteplan.land.site import Barrow, HaulSettings, Labour


@pytest.fixture
def yard(bare_yard):
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="tip", shape=Point(-5, -4), drop=True), Pile(id="heap", shape=Point(-5, 3))),
    )


def supply(at="", volume=0.4, *, bed="bed", material="topsoil", order=0):
    return Supply(bed=bed, material=material, at=at, volume=volume, mass=1250 * volume, order=order)


def work_of(site, *supplies, **options):
    return haul_work(RouteFinder(site, grid=grid_over(site.boundary, 0.25)), supplies, **options)


@pytest.mark.parametrize(("count", "people", "rate", "helps"), [
    (2, 2, 5.0, True), (1, 2, 5.0, False), (2, 1, 5.0, False), (3, 2, 5.0, True),
    (2, 2, 0.1, False),  # shovelling takes far longer than wheeling: both had better shovel
])  # fmt: skip
def test_a_second_barrow_is_used_where_it_helps(yard, count, people, rate, helps):
    site = dataclasses.replace(
        yard, barrow=Barrow(count=count), labour=Labour(people=people),
        haul=HaulSettings(shovel_pace=rate), materials={},
    )  # fmt: skip
    (load,) = work_of(site, supply()).loads
    assert load.side_by_side is helps
    crew = crew_choice(load, people)
    assert load.minutes == pytest.approx(crew.side_by_side if helps else crew.together)


def test_a_single_trip_is_pushed_and_nothing_is_not(yard):
    one, nothing = work_of(yard, supply("heap", 0.05), supply("heap", 0.0, order=1)).loads
    assert (one.trips, nothing.trips) == (1, 0)
    assert math.isfinite(one.push_force)
    assert one.peak_force >= one.push_force > 0
    assert math.isnan(nothing.push_force)
    assert nothing.minutes == 0.0


def test_the_spot_is_that_of_what_is_delivered(yard):
    both = work_of(yard, supply("heap"), supply(order=1))
    assert both.spot is not None
    assert both.spot.id == "tip"
    assert [route.from_id for route in both.routes] == ["heap", "tip"]
    assert work_of(yard, supply("heap")).spot is None


def test_runs_tell_what_waits_for_a_delivery(yard):
    plan = plan_haul(yard, [supply("heap"), supply(order=1)], grid=grid_over(yard.boundary, 0.25))
    assert {(run.from_id, run.delivered) for run in plan.order} == {("heap", False), ("tip", True)}
    assert (plan.drop, [heap.material for heap in plan.heaps]) == ("tip", ["topsoil"])


@pytest.mark.parametrize(("wrong", "drop", "told"), [
    ({}, "heap", "drop zone 'heap' is not there; there are: tip"),
    ({"bed": "x"}, None, "goes to bed 'x', which is not there"),
    ({"at": "x"}, "tip", "lies at pile 'x', which is not there"),
])  # fmt: skip
def test_what_is_not_there_is_refused(yard, wrong, drop, told):
    with pytest.raises(ValueError, match=told):
        plan_haul(yard, [dataclasses.replace(supply(), **wrong)], drop=drop)


@pytest.mark.parametrize(("count", "compared"), [(12, ("a row",)), (13, ())])
def test_up_to_twelve_beds_are_compared(yard, monkeypatch, count, compared):
    work = SimpleNamespace(
        spot=None, tipped={}, reached_parts=(), loads=(), load_routes=(), unreached_parts=(), routes=(), minutes=0.0
    )
    for name, value in {
        "RouteFinder": lambda site: SimpleNamespace(site=site, ground=None), "haul_work": lambda *_, **__: work,
        "assign_piles": lambda _site, supplies, **_: supplies, "compare_hauls": lambda *_, **__: ("a row",),
        "choose_boards": lambda *_: (),
    }.items():  # fmt: skip
        monkeypatch.setattr(haul_plan, name, value)
    beds = tuple(Bed(id=str(k), outline=box(k, 0, k + 0.5, 1), height=0.4) for k in range(13))
    supplies = [supply(bed=str(k)) for k in range(count)]
    assert best_haul(dataclasses.replace(yard, beds=beds), supplies).comparison == compared


def test_the_least_of_a_beds_cells_counts_and_without_a_way_a_day():
    seconds = np.array([[1.0, 5.0, 2.0], [9.0, 0.5, 3.0]])
    finder = SimpleNamespace(
        site=SimpleNamespace(bed=lambda name: name), cells_beside=lambda _: np.array([[0, 1], [1, 0], [1, 2]])
    )
    assert _round_trip(finder, seconds, "bed") == 3.0
    assert _round_trip(finder, np.full((2, 3), math.inf), "bed") == 100_000.0
    nowhere = SimpleNamespace(site=finder.site, cells_beside=lambda _: np.empty((0, 2), dtype=int))
    assert _round_trip(nowhere, seconds, "bed") == 100_000.0


@pytest.mark.parametrize(("density", "volume"), [(1250.0, 0.064), (300.0, 0.085), (0.0, 0.085)])
def test_a_load_is_full_by_volume_or_by_mass(density, volume):
    assert _most_in_a_load(density, Barrow(volume=0.085, load=80)) == pytest.approx(volume)


def test_a_choice_has_several_piles_and_several_layers():
    east, west = supply("a", bed="east"), supply("b", bed="west")
    assert _is_choice([east, west], "topsoil")
    assert not _is_choice([east, supply("b", bed="east")], "topsoil")
    assert not _is_choice([east, supply("a", bed="west")], "topsoil")
    assert not _is_choice([east, west], "compost")


def test_only_what_lies_in_several_piles_is_assigned_anew(yard):
    # a fence parts the yard: topsoil comes from its own side, since there is no other way; compost lies in one pile
    beds = (*yard.beds, Bed(id="west", outline=box(-5, -0.6, -3, 0.6), height=0.4))
    piles = (Pile(id="east heap", shape=Point(4, 3)), Pile(id="west heap", shape=Point(-4, 3)))
    fence = Fence(id="fence", line=LineString([(0, -5), (0, 5)]), height=1.2)
    site = dataclasses.replace(yard, beds=beds, piles=piles, fences=(fence,))
    compost = [supply("west heap", 0.1, bed=name, material="compost", order=1) for name in ("bed", "west")]
    crossed = [supply("west heap", bed="bed"), supply("east heap", bed="west"), *compost]
    finder = RouteFinder(site, grid=grid_over(site.boundary, 0.25))
    found = assign_piles(site, crossed, finder=finder)
    assert [(one.material, one.bed, one.at, one.order) for one in found] == [
        ("topsoil", "bed", "east heap", 0), ("topsoil", "west", "west heap", 0),
        ("compost", "bed", "west heap", 1), ("compost", "west", "west heap", 1),
    ]  # fmt: skip
    assert [one.volume for one in found] == pytest.approx([0.4, 0.4, 0.1, 0.1])
    assert [one.mass for one in found] == pytest.approx([500, 500, 125, 125])


def load(bed, material, *, minutes=50.0, trips=5, push=10.0):
    return Load(bed, material, "heap", 1.0, 100.0, trips, 0.1, 20.0, "mass", minutes - push, push, 0.0, 0.0, minutes)


def test_all_that_lies_below_deliveries_is_laid_before_they_come():
    loads = [load(bed, material) for bed in ("a", "c") for material in ("base", "soil")]
    runs = order_of_work(
        loads, [0, 1, 0, 1], [False, True] * 2, Labour(hours_per_day=10), haul=HaulSettings(delivery_day=2)
    )
    assert [(run.bed, run.material, run.day) for run in runs] == [
        ("a", "base", 1), ("c", "base", 1), ("a", "soil", 2), ("c", "soil", 2),
    ]  # fmt: skip
    at_once = order_of_work(loads, [0, 1, 0, 1], [False, True] * 2, Labour(hours_per_day=10))
    assert [(run.bed, run.material) for run in at_once] == [
        ("a", "base"), ("a", "soil"), ("c", "base"), ("c", "soil"),
    ]  # fmt: skip


def test_the_farthest_comes_first_by_its_single_trip():
    # 2 min and 4 min a trip
    near, far = load("a", "near", push=10.0, trips=5), load("a", "far", push=8.0, trips=2)
    runs = order_of_work([near, far], [0, 0], [False, False], Labour(hours_per_day=10))
    assert [run.material for run in runs] == ["far", "near"]
    beds = [load("a", "near", push=10.0, trips=5), load("b", "far", push=8.0, trips=2)]
    assert [run.bed for run in order_of_work(beds, [0, 0], [False, False], Labour(hours_per_day=10))] == ["b", "a"]


def test_half_a_minute_into_the_day_a_trip_of_a_whole_day_waits_for_the_next():
    # 5 of 6 minutes are work: 0.54 min, then a trip of an hour in days of an hour
    loads = [load("a", "little", minutes=0.45, trips=1, push=0.4), load("a", "much", minutes=50.0, trips=1)]
    runs = order_of_work(loads, [0, 1], [False, False], Labour(hours_per_day=1))
    assert [(run.day, run.start) for run in runs] == [(1, 0.0), (2, 0.0)]


def test_a_delivery_of_unknown_volume_has_none():
    (found,) = deliveries_of([Run(1, 1, "bed", "soil", "tip", 4, 0.0, 5.0, delivered=True)], {})
    assert (found.material, found.volume, found.day, found.before_run) == ("soil", 0.0, 1, 1)


def gate(name, y, width):
    line = LineString([(1.5, y - width / 2), (1.5, y + width / 2)])
    return Gate(id=name, place=Point(1.5, y), line=line, width=width)


def test_gates_are_shut_if_they_are_used_and_widened_if_they_are_narrow(yard):
    used, aside, narrow = gate("used", 0, 1.2), gate("aside", 4, 1.2), gate("narrow", -3, 0.7)
    site = dataclasses.replace(yard, gates=(used, aside, narrow))
    work = SimpleNamespace(routes=[SimpleNamespace(gates=("used",))])
    shut, widened = _gates(site, work)
    assert (shut[0], shut[2], shut[1].gates) == ("shut", "used", (aside, narrow))
    assert (widened[0], widened[2], widened[1].gates[:2]) == ("widened", "narrow", (used, aside))
    wide = widened[1].gates[2]
    assert (wide.id, wide.width, wide.line.length) == ("narrow", pytest.approx(0.85), pytest.approx(0.85))
    assert wide.line.centroid.y == pytest.approx(-3)
    assert _widened(narrow, 1.4).line.bounds == pytest.approx((1.5, -3.7, 1.5, -2.3))


def test_used_gates_come_before_narrow_ones_and_what_lacks_least_before_the_rest(yard):
    # the barrow needs 0.85 m: of the narrow gates one lacks 0.35 m, two 0.15 m
    gates = (gate("c", -3, 0.5), gate("b", -1, 0.7), gate("a", 1, 0.7), gate("y", 3, 1.2), gate("x", 4, 1.2))
    work = SimpleNamespace(routes=[SimpleNamespace(gates=("y", "x"))])
    for drawn in (gates, gates[::-1]):
        found = _gates(dataclasses.replace(yard, gates=drawn), work)
        assert [(change, name) for change, _, name in found] == [
            ("shut", "x"), ("shut", "y"), ("widened", "a"), ("widened", "b"), ("widened", "c"),
        ]  # fmt: skip


def test_other_spots_are_the_other_zones_and_what_a_lorry_reaches(yard):
    drive = Surface(id="drive", outline=box(-3, -5, 0, -2), surface="gravel")
    other = Pile(id="other", shape=Point(-5, 0), drop=True)
    site = dataclasses.replace(yard, piles=(*yard.piles, other), surfaces=(drive,))
    tipped_on = SimpleNamespace(spot=SimpleNamespace(id="tip"))
    assert _spots(site, SimpleNamespace(spot=None)) == []
    (zone, lorry) = _spots(site, tipped_on)
    assert (zone[0], zone[1], zone[2]) == ("tipped", site, "other")
    assert (lorry[0], lorry[2]) == ("lorry", "drive")
    assert [(pile.id, pile.drop) for pile in lorry[1].piles] == [("tip", False), ("heap", False), ("other", False)]
    anywhere = dataclasses.replace(site, haul=HaulSettings(tip_anywhere=True))
    assert [(change, name) for change, _, name in _spots(anywhere, tipped_on)] == [
        ("tipped", "other"), ("tipped", "drive"),
    ]  # fmt: skip
    bare = dataclasses.replace(site, surfaces=())
    assert [name for _, _, name in _spots(bare, tipped_on)] == ["other"]
    undrawn = dataclasses.replace(site, piles=yard.piles[1:])
    assert _spots(undrawn, SimpleNamespace(spot=SimpleNamespace(id="drive"))) == []
