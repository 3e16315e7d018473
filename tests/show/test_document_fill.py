"""plan.json on what the fill weighs, pushes, drinks and wants in the years to come."""

from __future__ import annotations

import json

import pytest

from siteplan.show.document import plan_document


def test_beds_carry_their_numbers(drawn_plan):
    document = plan_document(drawn_plan)
    for bed, shown in zip(drawn_plan.fill.beds, document["beds"], strict=True):
        assert shown["id"] == bed.bed
        assert shown["fill"]["inside_area_m2"] == bed.area
        assert shown["fill"]["weekly_water_m3"] == pytest.approx(bed.area * 0.0254)  # an inch
        assert shown["fill"]["mass_wet_kg"] > shown["fill"]["mass_kg"]


def test_years_to_come(drawn_plan):
    fill = plan_document(drawn_plan)["fill"]
    assert [year["year"] for year in fill["top_up"]] == [1, 2, 3]
    assert all({"material", "volume_m3"} == set(one) for year in fill["top_up"] for one in year["volumes"])
    assert all({"material", "volume_m3"} == set(one) for one in fill["loose_beats_bags_above"])
    json.dumps(fill, allow_nan=False)
