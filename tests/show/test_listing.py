"""A bed's corners, its care and the shopping list. By hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from siteplan import answers
from siteplan.fill.fill_results import PurchaseLine, TopUp
from siteplan.land.features import Bed
from siteplan.land.findings import finding
from siteplan.show.charts.clock import clock_lines, mark_of
from siteplan.show.listing import aftercare, bed_size, numbered_corners, place_beds, purchase_rows, size_text
from tests.place.conftest import bare_yard


def test_sizes_have_a_height_where_it_is_given(drawn_plan):
    metric = replace(drawn_plan, site=replace(drawn_plan.site, units="metric"))
    assert size_text(box(0, 0, 1, 2), None, metric) == "2.00 m × 1.00 m"
    assert size_text(box(0, 0, 1, 2), 0.3, metric) == "2.00 m × 1.00 m × 30 cm"
    plain = Bed(id="a", outline=box(0, 0, 1, 2), height=0.3)
    shelf = Bed(id="a", outline=box(0, 0, 1, 2), tiers=(Bed.Tier(height=0.2), Bed.Tier(height=0.1, inset=0.2)))
    assert bed_size(plain, metric) == "2.00 m × 1.00 m × 30 cm"
    assert bed_size(shelf, metric) == "2.00 m × 1.00 m × 30 cm, in 2 tiers"


def test_corners_are_numbered_from_one_clockwise_from_the_north_west():
    site = bare_yard()
    found = numbered_corners(box(1, 2, 3, 3), site)
    assert [one.number for one in found] == [1, 2, 3, 4]
    degrees = [
        site.frame.to_lonlat(box(x, y, x + 1e-9, y + 1e-9)).centroid for x, y in ((1, 3), (3, 3), (3, 2), (1, 2))
    ]
    for one, there in zip(found, degrees, strict=True):
        assert (one.lon, one.lat) == pytest.approx((there.x, there.y), abs=2e-9)
        assert (one.lon, one.lat) == (round(one.lon, 9), round(one.lat, 9))
        assert str(one.drawn_x) != "-0.0"
        assert (one.drawn_x, one.drawn_y) == pytest.approx((one.lon, one.lat), abs=1e-6)  # it is drawn in degrees


def test_of_many_places_the_sheet_has_three(drawn_plan):
    places = drawn_plan.places
    more = replace(drawn_plan, places=replace(places, places=places.places + places.places))
    assert len(place_beds(more)) == 3
    assert place_beds(replace(drawn_plan, places=None)) == []


def test_a_bed_s_care_is_its_water_and_the_first_autumn(drawn_plan):
    assert aftercare(replace(drawn_plan, fill=None), "north bed") == []
    ups = (
        TopUp(bed="north bed", year=2, drop=0.01, volumes=(("late", 0.2),)), TopUp(bed="other", year=1, drop=0.01, volumes=(("far", 0.2),)),
        TopUp(bed="north bed", year=1, drop=0.01, volumes=(("compost", 0.2), ("soil", 0.1))),
    )  # fmt: skip
    metric = replace(
        drawn_plan, site=replace(drawn_plan.site, units="metric"), fill=replace(drawn_plan.fill, top_ups=ups)
    )
    water, top = aftercare(metric, "north bed")
    assert water.startswith("25 mm of water a week is ")
    assert top == "top up in the first autumn with 200 L of compost and 100 L of soil"
    empty = replace(metric.fill, top_ups=(TopUp(bed="north bed", year=1, drop=0.0, volumes=()),))
    assert len(aftercare(replace(metric, fill=empty), "north bed")) == 1


def test_the_shopping_list(drawn_plan):
    assert purchase_rows(replace(drawn_plan, fill=None)) == []
    lines = (
        PurchaseLine(material="soil", kind="loose", count=2, volume=1.0, cost=60.0, size=0.5, deliveries=1),
        PurchaseLine(material="bark", kind="none", count=0, volume=0.2, cost=None, why=finding("no-offer")),
    )
    metric = replace(
        drawn_plan, site=replace(drawn_plan.site, units="metric"), fill=replace(drawn_plan.fill, purchase=lines)
    )
    soil, bark = purchase_rows(metric)
    assert soil == {
        "material": "soil", "offer": "0.5 m³ loose, delivered", "count": 2, "kind": "loose", "volume": "1.00 m³", "cost": "$60.00",
        "deliveries": 1,
    }  # fmt: skip
    assert (bark["count"], bark["volume"], bark["cost"]) == ("—", "0.20 m³", "—")
    assert bark["offer"] != ""


@pytest.mark.parametrize(("share", "mark"), [
    (0.0, "."), (0.05, "."), (0.051, "-"), (0.35, "-"), (0.36, "+"), (0.65, "+"), (0.66, "#"), (0.95, "#"), (0.96, "@"), (1.0, "@"), (1.01, "@"),
])  # fmt: skip
def test_marks_of_the_clock_at_their_bounds(share, mark):
    assert mark_of(share) == mark


def test_the_clock_begins_and_ends_at_whole_hours():
    lit = np.zeros((12, 48))
    lit[0, 15:40] = 0.06  # from half past seven to eight in the evening
    head, first, *_ = clock_lines(lit)
    assert head == "     " + "".join(f"{hour:<4}" for hour in range(7, 20))
    assert first == "Jan  " + ".." + "--" * 25
    lit[6, 0:40] = 1.0  # twenty hours: half as wide, each second hour named
    head, *_ = clock_lines(lit)
    assert head == "     " + "".join(f"{hour:<2}  " for hour in range(0, 20, 2))
    lit[6, 0:40] = 0.0
    lit[6, 4:40] = 1.0  # eighteen hours still have the full width
    assert clock_lines(lit)[0].startswith("     2   3   4   ")
    assert clock_lines(np.zeros((12, 48)))[0] == "     " + "".join(f"{hour:<4}" for hour in range(6, 18))


def test_a_bed_s_reach_is_its_half_diagonal_and_a_step(monkeypatch):
    bed = Bed(id="a", outline=box(0, 0, 4, 3), height=0.5)
    cells = [(1, np.array([[0, 0, 0.5], [0, 0, 0.4]])), (2, np.array([[0, 0, 0.9]]))]
    monkeypatch.setattr(answers, "tier_cells", lambda *_: cells)
    corners = answers.bed_reach(SimpleNamespace(terrain=None), bed)
    far = 2.5 + answers.FURTHEST  # half of the diagonal of 5 m
    assert corners.tolist() == [
        pytest.approx([2 + x * far, 1.5 + y * far, 0.4]) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    sloped = answers.bed_reach(SimpleNamespace(terrain="some"), bed)
    assert sloped[:, 2] == pytest.approx(0.4 - answers._SLOPED)
    assert answers._SLOPED > 0
