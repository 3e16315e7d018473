from __future__ import annotations

import dataclasses
import math

import pytest
from shapely import LineString, Point, box

from siteplan.fill.results import Supply
from siteplan.haul.alternatives import compare_drops, compare_hauls, compare_plans, summarised
from siteplan.haul.best_haul import whole_haul
from siteplan.haul.haul_plan import plan_haul
from siteplan.land.features import Bed, Fence, Gate, Pile, Surface


@pytest.fixture
def yard(bare_yard):
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="bed", outline=box(3, -0.6, 5, 0.6), height=0.4),),
        piles=(Pile(id="far", shape=Point(-5, -4), drop=True), Pile(id="near", shape=Point(0.05, 0.05), drop=True)),
    )


NEED = [Supply(bed="bed", material="topsoil", at="", volume=0.4, mass=500.0)]


def test_drop_zones_side_by_side(yard):
    near, far = compare_drops(yard, NEED)
    assert (near.name, far.name) == ("near", "far")
    assert near.trips == far.trips == 7
    assert near.walked_m < far.walked_m
    assert near.minutes == plan_haul(yard, NEED).total_minutes
    assert near.peak_force == pytest.approx(far.peak_force)  # level grass both


def test_a_row_by_hand(yard):
    plan = plan_haul(yard, NEED)
    row = summarised("as it is", plan)
    assert row.walked_m == pytest.approx(7 * 2 * plan.routes[0].length_m)
    assert (row.climbed_m, row.unreached) == (0.0, 0)


def test_a_second_gate_side_by_side(yard):
    fence = Fence(id="fence", line=LineString([(1.5, -5), (1.5, 5)]), height=1.2)
    first = Gate(id="first", place=Point(1.5, 4), line=LineString([(1.5, 3.4), (1.5, 4.6)]), width=1.2)
    second = Gate(id="second", place=Point(1.5, 0), line=LineString([(1.5, -0.6), (1.5, 0.6)]), width=1.2)
    fenced = dataclasses.replace(yard, fences=(fence,))
    rows = compare_plans(
        {
            "no gate": plan_haul(dataclasses.replace(fenced), NEED),
            "one gate": plan_haul(dataclasses.replace(fenced, gates=(first,)), NEED),
            "two gates": plan_haul(dataclasses.replace(fenced, gates=(first, second)), NEED),
        }
    )
    assert [row.name for row in rows] == ["two gates", "one gate", "no gate"]
    assert [row.unreached for row in rows] == [0, 0, 1]
    assert math.isnan(rows[-1].peak_force)


def test_nothing_delivered_is_nothing_to_compare(yard):
    assert compare_drops(yard, [dataclasses.replace(NEED[0], at="far")]) == ()


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
    plan = plan_haul(site, NEED)
    rows = compare_hauls(site, NEED, plan)
    assert rows[0].planned
    assert rows[0].name == 'as planned, tipped at "near"'
    assert rows[0].minutes == plan.total_minutes
    names = {row.name: row for row in rows[1:]}
    assert set(names) == {
        'tipped at "far"',
        'tipped where a lorry gets to on "drive"',
        'with gate "wide" shut',
        'with gate "narrow" wide enough',
    }
    assert names['with gate "wide" shut'].minutes > plan.total_minutes  # buckets pass the narrow one
    assert names['with gate "narrow" wide enough'].minutes < plan.total_minutes
    assert names['tipped at "far"'].minutes > plan.total_minutes
    assert not any(row.planned for row in rows[1:])


def test_a_second_gate_is_shut_to_see_what_it_brings(yard):
    site = fenced(yard, gate("first", 4, 1.2), gate("second", 0, 1.2))
    plan = plan_haul(site, NEED)
    shut = {row.name: row for row in compare_hauls(site, NEED, plan)}['with gate "second" shut']
    assert shut.minutes == plan_haul(fenced(yard, gate("first", 4, 1.2)), NEED).total_minutes
    assert shut.minutes > plan.total_minutes


def test_nothing_beside_it_is_an_empty_comparison(yard):
    needs = [dataclasses.replace(NEED[0], at="far")]
    assert compare_hauls(yard, needs, plan_haul(yard, needs)) == ()


def test_the_whole_work_serves_from_the_nearest_pile_and_sets_others_beside(yard):
    beds = (*yard.beds, Bed(id="west", outline=box(-5, 2, -3, 3.2), height=0.4))
    piles = (Pile(id="east heap", shape=Point(4, 3)), Pile(id="west heap", shape=Point(-4, 0.5)))
    site = dataclasses.replace(yard, beds=beds, piles=piles)
    crossed = [dataclasses.replace(NEED[0], at="west heap"), dataclasses.replace(NEED[0], bed="west", at="east heap")]
    plan = whole_haul(site, crossed)
    assert {(item.bed, item.at) for item in plan.supplies} == {("bed", "east heap"), ("west", "west heap")}
    assert plan.total_minutes < plan_haul(site, crossed).total_minutes
    assert plan.crew is not None
    assert whole_haul(site, []).loads == ()


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
