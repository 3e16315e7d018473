"""plan.json on what the fill weighs, pushes, drinks and wants in the years to come."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from siteplan.fill.fill_plan import plan_fill
from siteplan.land.site import SoilSettings
from siteplan.show.tables.document import plan_document


def test_beds_carry_their_numbers(drawn_plan):
    document = plan_document(drawn_plan)
    for bed, shown in zip(drawn_plan.fill.beds, document["beds"], strict=True):
        assert shown["id"] == bed.bed
        assert shown["fill"]["inside_area_m2"] == bed.area
        assert shown["fill"]["weekly_water_m3"] == pytest.approx(bed.area * 0.0254)  # an inch
        assert shown["fill"]["mass_wet_kg"] > shown["fill"]["mass_kg"]


def test_a_bed_that_is_full_gets_nothing_and_without_a_fill_plan_nothing_is_known(drawn_plan):
    full = replace(drawn_plan.fill, layers=(), beds=(), top_ups=())
    shown = plan_document(replace(drawn_plan, fill=full))["beds"][0]["fill"]
    assert shown == {
        "volume_m3": 0, "mass_kg": 0, "depth_m": 0.0, "settled_depth_m": 0.0, "layers": [], "top_up": [],
    }  # fmt: skip
    assert plan_document(replace(drawn_plan, fill=None))["beds"][0]["fill"] is None


def test_years_to_come(drawn_plan):
    fill = plan_document(drawn_plan)["fill"]
    assert [year["year"] for year in fill["top_up"]] == [1, 2, 3]
    assert all({"material", "volume_m3"} == set(one) for year in fill["top_up"] for one in year["volumes"])
    assert all({"material", "bags", "bag_m3", "volume_m3"} == set(one) for one in fill["loose_beats_bags_from"])
    json.dumps(fill, allow_nan=False)


def test_a_full_bed_says_so_and_wants_nothing(drawn_plan):
    full = replace(drawn_plan.site.beds[0], filled=True)
    site = replace(drawn_plan.site, beds=(full, *drawn_plan.site.beds[1:]), soil=SoilSettings(lead=250))
    document = plan_document(replace(drawn_plan, site=site, fill=plan_fill(site)))
    first, second = document["beds"][:2]
    assert (first["filled"], second["filled"]) == (True, False)
    assert (first["fill"]["volume_m3"], first["fill"]["layers"], first["fill"]["top_up"]) == (0, [], [])
    assert [year["year"] for year in second["fill"]["top_up"]] == [1, 2, 3]
    assert document["fill"]["full_already"] == [full.id]
    assert document["fill"]["soil"]["lead_class"] == "above screening"


def test_nothing_on_offer_is_no_price(drawn_plan):
    site = replace(drawn_plan.site, offers=())
    fill = plan_document(replace(drawn_plan, site=site, fill=plan_fill(site)))["fill"]
    assert fill["total_cost"] is None
    assert fill["complete"] is False
    assert set(fill["lacking"]) == {line["material"] for line in fill["purchase"]}
    assert {line["why"] for line in fill["purchase"]} == {"nobody offers it"}
