"""plan.json: every key of the contract, plain JSON, units in the names."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from shapely import Point

from siteplan.land.features import Level
from siteplan.place.merit.sensitivity import Change, Sensitivity
from siteplan.show.tables.document import SCHEMA, plan_document, site_document

BED_KEYS = {
    "id", "centroid_lon", "centroid_lat", "area_m2", "heading_deg", "month_sun_h", "season_sun_h", "worst_cell_sun_h",
    "light_class", "sun_score", "orientation_score", "best_heading_deg", "fill", "loads",
}  # fmt: skip
PLACE_KEYS = {
    "rank", "centroid_lon", "centroid_lat", "heading_deg", "length_m", "width_m", "season_sun_h", "why",
}  # fmt: skip


@pytest.fixture(scope="module")
def document(drawn_plan):
    return plan_document(drawn_plan)


def test_it_is_plain_json(document):
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    assert document["schema"] == SCHEMA


def test_every_key_of_the_contract(document):
    assert all(BED_KEYS.issubset(bed) for bed in document["beds"])
    assert all(len(bed["month_sun_h"]) == 12 for bed in document["beds"])
    assert all(PLACE_KEYS.issubset(place) for place in document["places"])
    fill, haul = document["fill"], document["haul"]
    assert {"layers", "on_hand", "purchase", "total_cost", "alternatives"} <= set(fill)
    assert all({"bed", "material", "volume_m3", "mass_kg"} <= set(layer) for layer in fill["layers"])
    assert all({"material", "offer", "count", "cost"} <= set(line) for line in fill["purchase"])
    assert all("total_cost" in other for other in fill["alternatives"])
    assert {"routes", "loads", "total_minutes"} <= set(haul)
    assert all({"from", "to", "length_m", "climb_m", "geometry"} <= set(route) for route in haul["routes"])
    assert all({"bed", "material", "from", "trips", "minutes"} <= set(load) for load in haul["loads"])
    assert all(set(warning) == {"code", "feature", "text"} for warning in document["warnings"])


def test_figures_are_the_plan_s_own(document, drawn_plan):
    bed, report = document["beds"][0], drawn_plan.beds[0]
    assert bed["season_sun_h"] == report.sun.season_sun_h
    assert bed["area_m2"] == pytest.approx(2.4384 * 1.2192)  # 8 ft by 4 ft
    assert bed["fill"]["volume_m3"] == pytest.approx(sum(layer["volume_m3"] for layer in bed["fill"]["layers"]))
    assert document["fill"]["total_cost"] == drawn_plan.fill.total_cost


def test_middle_is_on_the_globe(document):
    bed = document["beds"][0]
    # 2 m east and 6.5 m north of the frame's centre; a degree of latitude is 111 km, of longitude 111 km cos 39.74
    assert bed["centroid_lat"] == pytest.approx(39.74 + 6.5 / 111_030, abs=1e-6)
    assert bed["centroid_lon"] == pytest.approx(-105.18 + 2.0 / 85_720, abs=1e-6)


def test_the_search_as_a_whole(document, drawn_plan):
    """`gap` and `search_gap` are shares of plenty, 8 h: a hundredth of it is 0.08 h."""
    found = document["search"]
    assert {key: found[key] for key in found if key != "sentences"} == {
        "spots": 10_000, "free": 2_000, "asked_of_the_exact_sun": 12, "gap": 0.0, "search_gap": 0.01, "gap_h": 0.0,
        "search_gap_h": pytest.approx(0.08), "draws": 0, "first_stays_of_draws": None, "trade_off": [], "steady": None,
    }  # fmt: skip
    water = Change(weight="water", factor=2.0, east=9.0, north=0.0, heading=0.0, loss_h=0.3, stays=True)
    places = replace(drawn_plan.places, sensitivity=Sensitivity(changes=(water,)), gap=0.02, draws=32, first_stays=30)
    found = plan_document(replace(drawn_plan, places=places))["search"]
    assert found["steady"].startswith("the first choice stays the best when any one weight")
    assert (found["gap_h"], found["draws"], found["first_stays_of_draws"]) == (pytest.approx(0.16), 32, 30)


def test_what_a_bed_s_loads_come_to(document):
    for bed in document["beds"]:
        loads = [load for load in document["haul"]["loads"] if load["bed"] == bed["id"]]
        assert bed["loads"]["trips"] == sum(load["trips"] for load in loads)
        assert bed["loads"]["minutes"] == pytest.approx(sum(load["minutes"] for load in loads))
        layers = [layer for layer in document["fill"]["layers"] if layer["bed"] == bed["id"]]
        assert bed["fill"]["mass_kg"] == pytest.approx(sum(layer["mass_kg"] for layer in layers))
        assert bed["fill"]["depth_m"] == max(layer["top_m"] for layer in layers)
    assert sum(bed["loads"]["trips"] for bed in document["beds"]) > 0


def test_what_was_not_asked_is_null(drawn_plan):
    document = plan_document(replace(drawn_plan, maps=None, beds=(), places=None, fill=None, haul=None))
    assert document["fill"] is None
    assert document["haul"] is None
    assert document["places"] == []
    assert [bed["season_sun_h"] for bed in document["beds"]] == [None] * 3
    assert json.dumps(document, allow_nan=False)


def test_nan_is_null(drawn_plan):
    load = replace(drawn_plan.haul.loads[0], minutes=float("nan"))
    document = plan_document(replace(drawn_plan, haul=replace(drawn_plan.haul, loads=(load,))))
    assert document["haul"]["loads"][0]["minutes"] is None


def test_site_alone(drawn_site):
    document = site_document(drawn_site)
    assert document["features"]["bed"] == 3
    level = Level(id="l", place=Point(0, 0), elevation=1.0)
    assert site_document(replace(drawn_site, levels=(level,) * 3))["features"]["level"] == 3
    assert document["site"]["name"] == "Larkspur Rise"


def test_a_bed_wants_its_own_hours_or_the_site_s(drawn_plan):
    bed = drawn_plan.site.beds[0]
    own = replace(drawn_plan.site, beds=(replace(bed, need=4.5), replace(bed, id="other", need=None)))
    assert own.sun.need != 4.5
    found = plan_document(replace(drawn_plan, site=own))["beds"]
    assert [one["need_h"] for one in found] == [4.5, own.sun.need]
