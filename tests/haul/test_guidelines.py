from __future__ import annotations

import dataclasses

import pytest
from shapely import LineString

from siteplan.haul.guidelines import load_findings, route_findings
from siteplan.haul.haul_results import Load, Route
from siteplan.haul.loads.work_rates import GRAVITY
from siteplan.land.findings import finding
from siteplan.say import haul_cautions
from siteplan.say.cautions import in_words

LINE = LineString([(0, 0), (10, 0)])


def load(**changes):
    base = Load(
        bed="bed", material="soil", from_id="heap", volume=0.06, mass=70, trips=1, per_trip_volume=0.06,
        per_trip_mass=70, limit="mass", shovel_minutes=5, push_minutes=1, tip_minutes=1, bucket_minutes=0, minutes=7,
        push_force=5 * GRAVITY, peak_force=5 * GRAVITY,
    )  # fmt: skip
    return dataclasses.replace(base, **changes)


@pytest.mark.parametrize(
    ("keep", "peak", "said"),
    [
        (6.9, 14.9, None),
        (7.1, 7.1, "for women"),
        (5, 15.5, "for women"),
        (10.1, 10.1, "for anybody"),
        (5, 20.5, "for anybody"),
    ],
)
def test_pushes_are_held_against_the_guideline(bare_yard, keep, peak, said):
    # HSE L23 filter: 10 and 7 kgf to keep moving, 20 and 15 kgf to start
    found = load_findings(bare_yard.barrow, [load(push_force=keep * GRAVITY, peak_force=peak * GRAVITY)])
    assert [caution.code for caution in found] == ([] if said is None else ["heavy-push"])
    assert said is None or said in in_words(found, "metric")[0].text


def test_one_caution_a_bed_for_its_hardest_push(bare_yard):
    found = load_findings(
        bare_yard.barrow, [load(push_force=80.0), load(push_force=130.0, material="wet soil"), load()]
    )
    pushes = [caution for caution in found if caution.code == "heavy-push"]
    assert len(pushes) == 1
    assert "wet soil" in in_words(pushes, "metric")[0].text


def test_a_load_without_a_way_is_not_pushed(bare_yard):
    assert load_findings(bare_yard.barrow, [load(push_force=float("nan"), peak_force=float("nan"))]) == []


@pytest.mark.parametrize(("mass", "said"), [(15.0, False), (20.0, True)])
def test_heavy_bags_are_named(bare_yard, mass, said):
    # HSE lifting filter, 16 kg for women and 25 kg for men at elbow height
    found = load_findings(bare_yard.barrow, [load(bags=2, bag_mass=mass)])
    assert [caution.code for caution in found] == (["heavy-bag"] if said else [])


def test_steep_ways_and_buckets_are_named():
    route = Route("heap", "bed", LINE, 10.0, 0.9, 1.0, 1.0, LINE.reverse(), bucket_m=4.0, steepest=0.10)
    assert [caution.code for caution in route_findings(route)] == ["bucket", "steep-way"]
    assert route_findings(dataclasses.replace(route, bucket_m=0.0, steepest=0.08)) == []


FIGURES = {
    "width": 2.5, "need": 0.85, "source": "heap", "obstacle": "fence", "id": "a {b}", "wider": 0.1, "grade": 0.1,
    "short": 4.0, "guideline": 0.05, "load": 120.0, "material": "soil {x}", "mass": 90.0, "keep": 90.0, "peak": 120.0,
    "anybody": True, "men": 98.0, "women": 69.0, "men_start": 196.0, "women_start": 147.0, "ground": 10.5,
    "bags": (("compost", 20.0),), "hard": True, "reach": 3.0, "materials": ("soil", "bark"), "widest": 2.2,
}  # fmt: skip


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("code", haul_cautions.PHRASES)
def test_each_phrase_is_said(code, units):
    (said,) = in_words([finding(code, "north", **FIGURES)], units)
    assert said.text.endswith(".")
    assert said.text[0].isupper() or said.text[0].isdigit()
    assert ":length" not in said.text
    assert "{{" not in said.text
