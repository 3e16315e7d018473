from __future__ import annotations

import dataclasses
import math

import pytest
from shapely import LineString, Point, box

from siteplan.fill.results import Supply
from siteplan.haul.compare import compare_drops, compare_plans, summarised
from siteplan.haul.plan import plan_haul
from siteplan.land.features import Bed, Fence, Gate, Pile


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
