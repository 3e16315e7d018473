"""Findings about the work just at a guideline value, and just above it."""

from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString, Point

from siteplan.haul.guidelines import load_findings, route_findings
from siteplan.haul.haul_results import HaulPlan, HaulSummary, Heap, Load, Route, Run
from siteplan.land.site import Barrow
from siteplan.land.unit_sizes import GRAVITY

LINE = LineString([(0, 0), (10, 0)])
ROUTE = Route("heap", "bed", LINE, 10.0, 0.0, 1.0, 1.0, LINE.reverse())
BARROW = Barrow()


def load(**changes):
    base = Load(
        bed="bed", material="soil", from_id="heap", volume=0.06, mass=70, trips=1, per_trip_volume=0.06,
        per_trip_mass=70, limit="mass", shovel_minutes=5, push_minutes=1, tip_minutes=1, bucket_minutes=0, minutes=7,
        push_force=50.0, peak_force=50.0,
    )  # fmt: skip
    return dataclasses.replace(base, **changes)


@pytest.mark.parametrize(("changes", "told"), [
    ({"bucket_m": 0.0}, []), ({"bucket_m": 0.5}, [("bucket", {"source": "heap", "short": 0.5})]),
    ({"steepest": 1 / 12}, []), ({"steepest": 0.084}, [("steep-way", {"source": "heap", "grade": 0.084})]),
    ({"steepest_down": 1 / 12}, []),
    ({"steepest_down": 0.084}, [("steep-descent", {"source": "heap", "grade": 0.084})]),
    ({"cross_fall": 0.05}, []),
    ({"cross_fall": 0.051}, [("aslant-way", {"source": "heap", "grade": 0.051, "guideline": 0.05})]),
])  # fmt: skip
def test_a_route_at_its_guideline_is_not_told(changes, told):
    found = route_findings(dataclasses.replace(ROUTE, **changes))
    assert [(one.code, dict(one.figures)) for one in found] == told
    assert {one.feature for one in found} <= {"bed"}


@pytest.mark.parametrize(("barrow_load", "told"), [(100.0, []), (100.5, ["barrow-load"])])
def test_a_load_of_a_hundred_kilograms_is_the_most(barrow_load, told):
    found = load_findings(dataclasses.replace(BARROW, load=barrow_load), [load()])
    assert [one.code for one in found] == told
    assert [dict(one.figures) for one in found] == ([{"load": 100.5, "guideline": 100.0}] if told else [])


@pytest.mark.parametrize(("mass", "told"), [(130.0, []), (130.5, ["heavy-work"])])
def test_from_two_hundred_kilograms_in_all_it_is_heavy_work(mass, told):
    found = load_findings(BARROW, [load(mass=70.0), load(mass=mass, bed="other")])
    assert [(one.code, dict(one.figures)) for one in found] == [(code, {"mass": 200.5}) for code in told]


@pytest.mark.parametrize(("keep", "peak", "anybody"), [
    (7, 15, None), (7.01, 15, False), (7, 15.01, False), (10, 20, False), (10.01, 20, True), (10, 20.01, True),
])  # fmt: skip
def test_a_push_at_its_guideline_is_not_told(keep, peak, anybody):
    found = load_findings(BARROW, [load(push_force=keep * GRAVITY, peak_force=peak * GRAVITY)])
    assert [one.code for one in found] == ([] if anybody is None else ["heavy-push"])
    for one in found:
        assert dict(one.figures) == {
            "source": "heap", "material": "soil", "mass": 70, "keep": keep * GRAVITY, "peak": peak * GRAVITY,
            "anybody": anybody, "men": 10 * GRAVITY, "women": 7 * GRAVITY, "men_start": 20 * GRAVITY,
            "women_start": 15 * GRAVITY,
        }  # fmt: skip


@pytest.mark.parametrize("forces", [
    ((130, 60), (80, 150)),  # 160 and 155 by half the peak; by twice the peak the second
    ((80, 142), (100, 100)),  # 151 and 150; by a third of the peak the second
])  # fmt: skip
def test_half_the_peak_counts_for_the_hardest_push(forces):
    loads = [load(push_force=keep, peak_force=peak, material=f"soil {keep}") for keep, peak in forces]
    for order in (loads, loads[::-1]):
        (found,) = load_findings(BARROW, order)
        assert dict(found.figures)["material"] == f"soil {forces[0][0]}"


def test_each_bed_has_its_own_hardest_push():
    loads = [
        load(push_force=80.0, mass=1.0),
        load(push_force=130.0, bed="other", mass=1.0),
        load(bed="third", mass=1.0),
    ]
    found = [(one.feature, dict(one.figures)["keep"]) for one in load_findings(BARROW, loads)]
    assert found == [("bed", 80.0), ("other", 130.0)]


def test_of_one_materials_bags_the_heaviest_is_told():
    masses = (18.0, 20.0, 19.0, 16.0)
    loads = [
        load(bags=2, bag_mass=mass, heaviest_bag="bark" if mass == 16 else "compost", mass=1.0) for mass in masses
    ]
    (found,) = load_findings(BARROW, loads)
    figures = dict(found.figures)
    assert (figures["bags"], figures["men"], figures["women"]) == ((("compost", 20.0),), 25.0, 16.0)
    # 23 kg x 25/38 x (1 - 0.003 x 55) x (0.82 + 4.5/40) x 0.94 x 0.95, by the lifting equation
    assert figures["ground"] == pytest.approx(10.522, abs=1e-3)
    assert load_findings(BARROW, [load(bags=2, bag_mass=16.0, mass=1.0)]) == []


def test_a_bag_of_a_blend_is_told_once_and_by_its_name():
    loads = [load(bags=2, bag_mass=51.5, heaviest_bag="mix", material=part, mass=1.0) for part in ("soil", "bark")]
    (found,) = load_findings(BARROW, loads)
    assert dict(found.figures)["bags"] == (("mix", 51.5),)


def test_the_days_of_a_plan_and_its_rows():
    runs = tuple(Run(k, day, "bed", "soil", "heap", 2, 0.0, 30.0) for k, day in enumerate((1, 3, 2)))
    plan = HaulPlan((), (load(trips=3), load(trips=4)), 14.0, order=runs)
    assert (plan.days, plan.trips, plan.mass, plan.minutes_with_rests) == (3, 7, 140, 90.0)
    assert HaulPlan((), (), 0.0).days == 0
    rows = [HaulSummary(change, "", 1.0, 1, 1.0, 0.0, 1.0, 1.0, 0) for change in ("none", "shut")]
    assert [row.planned for row in rows] == [True, False]


def test_a_short_ridge_aslant_by_hand():
    # a crest of 0.6 m toward 30 degrees: its end is 0.15 m east and 0.2598 m north of the middle
    ridge = Heap("soil", 1.0, Point(3, 4), 0.5, 0.35, length=0.6, heading=30.0).outline
    assert ridge.bounds == pytest.approx((3 - 0.65, 4 - 0.7598, 3 + 0.65, 4 + 0.7598), abs=1e-3)
    assert ridge.covers(Point(3.15 + 0.24, 4.2598 + 0.42))
    assert not ridge.covers(Point(2.85 - 0.24, 4.2598 + 0.42))
