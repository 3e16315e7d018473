"""Rows of the work sheet and words of the drawing: a tier's sun, a bed's fill, what is on hand, roofs and trunks. By hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Point, box

from siteplan.land.features import Bed, Building, Tree
from siteplan.show.sheet import work_sheet
from siteplan.show.sheet.sun_rows import sun_rows
from siteplan.show.symbols.property import _building, _tree
from siteplan.sun.bed_sun import TierSun

METRIC = SimpleNamespace(units="metric")


def test_each_tier_has_a_row_of_its_own(drawn_plan):
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.3))
    shelf = Bed(id="shelf", outline=box(0, 0, 3, 2), tiers=tiers)
    suns = tuple(
        TierSun(number, np.full(12, hours), hours, 1.0, "full sun") for number, hours in ((1, 7.0), (2, 8.0))
    )
    report = drawn_plan.beds[0]
    report = replace(report, bed=shelf, sun=replace(report.sun, tiers=suns), light=None)
    bed, first, second = sun_rows(drawn_plan, report)
    assert (bed["bed"], first["bed"], second["bed"]) == ("shelf", "tier 1", "tier 2")
    assert first == {"bed": "tier 1", "hours": ["7.0"] * 12, "season": "7.0", "worst": "(1.0)", "need": "6", "light": "full sun",
                     "light_line": "", "range": ""}  # fmt: skip
    assert second["season"] == "8.0"


def test_each_bed_has_its_own_fill(drawn_plan):
    for bed, filled in zip(drawn_plan.site.beds, drawn_plan.fill.beds, strict=True):
        assert filled.bed == bed.id
        found = work_sheet._fill(drawn_plan, bed)
        assert found["title"] == bed.id
        assert found["weight"] == work_sheet.bed_line(drawn_plan, filled)
    assert work_sheet._fill(replace(drawn_plan, fill=None), drawn_plan.site.beds[0]) is None


def test_what_is_taken_from_the_piles():
    """All in cubic metres, since of one more than half a cubic metre is left."""
    uses = (
        SimpleNamespace(material="soil", at="heap", volume=0.2, left=0.6),
        SimpleNamespace(material="bark", at="", volume=0.1, left=0.0),
    )
    plan = SimpleNamespace(site=METRIC, fill=SimpleNamespace(on_hand=uses))
    assert work_sheet._on_hand(plan) == [
        {"material": "soil", "at": "heap", "volume": "0.20 m³", "left": "0.60 m³"},
        {"material": "bark", "at": "", "volume": "0.10 m³", "left": "0.00 m³"},
    ]
    assert work_sheet._on_hand(SimpleNamespace(site=METRIC, fill=None)) == []


@pytest.mark.parametrize(("more", "kind", "words"), [
    ({}, "roof", "5.00 m high"), ({"base": 2.5}, "roof-open", "from 2.50 m to 5.00 m above the ground"),
    ({"eaves": 3.0}, "roof", "eaves 3.00 m, ridge 5.00 m"), ({"eaves": 5.0}, "roof", "5.00 m high"),
])  # fmt: skip
def test_a_roof_stands_on_walls_or_is_open(more, kind, words):
    first, *ridge = _building(Building(id="h", outline=box(0, 0, 4, 3), height=5.0, **more), METRIC)
    assert (first["k"], first["t"]) == (kind, ["h", words])
    assert len(ridge) == (more.get("eaves") == 3.0)


@pytest.mark.parametrize(("thick", "radius"), [(None, 0.15), (0.4567, 0.228), (0.5, 0.25)])
def test_a_trunk_is_drawn_to_the_millimetre(thick, radius):
    tree = Tree(
        id="t", outline=Point(0, 0).buffer(2), trunk=Point(0, 0), height=5, crown_base=1, trunk_diameter=thick
    )
    *_, trunk = _tree(tree, METRIC)
    assert (trunk["k"], trunk["r"]) == ("trunk", radius)
