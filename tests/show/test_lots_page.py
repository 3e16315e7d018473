"""The page of many lots: what can be ranked, what is listed, and where the lots lie. By hand."""

from __future__ import annotations

import json
import re

import pytest
from shapely import MultiPolygon, Polygon, box

from siteplan.screen.rows import COLUMNS
from siteplan.show.lots_page import _MEASURES, _data, _figure, _measures, _shapes, _values, lots_page
from tests.screen.engines import planned_row


def faulty(lot, why="no height"):
    return {"lot": lot, "status": "fault", "why": why}


@pytest.mark.parametrize(("ask", "keys"), [
    ((), ["lot_m2", "cautions"]),
    (("place",), ["place_season_sun_h", "place_worst_cell_sun_h", "beds_fit", "lot_m2", "cautions"]),
    (("sun",), ["ground_6h_m2", "ground_8h_m2", "mean_season_sun_h", "lot_m2", "cautions"]),
    (("fill",), ["cost", "lot_m2", "cautions"]), (("haul",), ["work_h", "lot_m2", "cautions"]),
])  # fmt: skip
def test_lots_are_ranked_by_what_was_asked(ask, keys):
    assert [one["key"] for one in _measures([], ask)] == keys


def test_a_measure_has_its_name_unit_and_digits_and_of_some_less_is_better():
    found = {
        one["key"]: one
        for one in _measures([planned_row("a"), planned_row("b", currency="CHF")], ("sun", "place", "fill", "haul"))
    }
    assert found.keys() <= COLUMNS.keys()
    assert len(found) == len(_MEASURES)
    assert found["place_season_sun_h"] == {
        "key": "place_season_sun_h", "name": "Sun at the best place", "short": "Sun", "said": "the sun at the best place",
        "unit": "h", "digits": 1, "low": False,
    }  # fmt: skip
    assert {key for key, one in found.items() if one["low"]} == {"cost", "work_h", "cautions"}
    assert {key for key, one in found.items() if one["digits"] == 1} == {
        "place_season_sun_h", "place_worst_cell_sun_h", "mean_season_sun_h", "work_h",
    }  # fmt: skip
    assert {one["digits"] for one in found.values()} == {0, 1}
    assert {key: one["unit"] for key, one in found.items() if one["unit"] != "h"} == {
        "ground_6h_m2": "m²", "ground_8h_m2": "m²", "lot_m2": "m²", "beds_fit": "", "cautions": "", "cost": "CHF",
    }  # fmt: skip


def test_lots_are_counted_with_and_without_a_place():
    rows = [planned_row("a", plan="plans/1"), planned_row("b", plan=""), planned_row("c"), faulty("d")]
    said = _values(rows, _measures(rows, ()))
    assert said["title"] == "4 lots"
    assert {one["name"]: one["value"] for one in said["facts"]} == {"With a place": "3", "Without": "1", "Plans": "1"}
    assert said["faults"] == [{"lot": "d", "why": "fault: no height"}]
    assert said["fault_count"] == "1 lot of 4."
    assert said["costs"] == ""
    assert _values(rows, _measures(rows, ("fill",)))["costs"].startswith("Cost and work are those of the beds")


def test_of_many_lots_without_figures_two_hundred_are_listed():
    rows = [faulty(f"lot {n}") for n in range(200)]
    assert len(_values(rows, [])["faults"]) == 200
    listed = _values([*rows, *[faulty(f"more {n}") for n in range(1000)]], [])["faults"]
    assert len(listed) == 201
    assert listed[199]["lot"] == "lot 199"
    assert listed[200] == {"lot": "", "why": "1,000 more stand in screen.csv"}


def test_the_script_has_a_value_of_each_lot_for_each_measure():
    rows = [planned_row("a", lot_m2=123.45678, beds_fit=2, plan="plans/1"), faulty("b")]
    found = _data(rows, _measures(rows, ()))
    assert found["ids"] == ["a", "b"]
    assert found["words"] == ["", "fault: no height"]
    assert found["plans"] == ["plans/1", ""]
    assert found["values"] == {"beds_fit": [2.0, None], "cautions": [None, None], "lot_m2": [123.4568, None]}
    assert found["shapes"] == [None, None]
    assert _figure(0) == 0.0


def test_lots_lie_where_they_are_in_metres_around_the_middle_of_all():
    # at the equator a degree of longitude is 111.32 km (radius 6,378.137 km), one of latitude 110.57 km (WGS 84)
    west, east = box(10.0, -0.0005, 10.0001, 0.0005), box(10.0009, -0.0005, 10.001, 0.0005)
    rows = [
        planned_row("west", outline=west.wkb_hex),
        planned_row("nowhere"),
        planned_row("east", outline=east.wkb_hex),
    ]
    first, none, last = _shapes(rows)
    assert none is None
    assert [len(part) for part in (first, first[0], first[0][0])] == [1, 1, 5]
    xs, ys = ([point[k] for point in first[0][0]] for k in (0, 1))
    assert (min(xs), max(xs)) == pytest.approx((-55.7, -44.5), abs=0.11)
    assert (min(ys), max(ys)) == pytest.approx((-55.3, 55.3), abs=0.11)
    assert max(point[0] for point in last[0][0]) == pytest.approx(55.7, abs=0.11)
    assert all(round(value, 1) == value for point in first[0][0] for value in point)


def test_a_lot_may_have_holes_and_parts():
    ring = Polygon(box(0, 0, 0.001, 0.001).exterior, [box(0.0004, 0.0004, 0.0006, 0.0006).exterior])
    shape = MultiPolygon([ring, box(0.002, 0, 0.003, 0.001)])
    ((one, other),) = _shapes([planned_row("a", outline=shape.wkb_hex)])
    assert (len(one), len(other)) == (2, 1)


def test_lots_far_north_lie_around_their_middle_too():
    """At 45 N a thousandth of a degree of latitude is 111.13 m (WGS 84): half of it to the north and to the south."""
    (shape,) = _shapes([planned_row("a", outline=box(-0.0005, 44.9995, 0.0005, 45.0005).wkb_hex)])
    ((ring,),) = shape
    ys = [y for _, y in ring]
    assert (min(ys), max(ys)) == pytest.approx((-55.6, 55.6), abs=0.11)


def test_the_page_holds_its_map_and_its_lots():
    """One map that zooms in quarters, by halves, and by a turn of the wheel of 120; and the lots as data."""
    page = lots_page([planned_row("lot-a", outline=box(0, 0, 0.001, 0.001).wkb_hex), faulty("lot-b")], ask=("sun",))
    assert "<title>Screen of lots</title>" in page
    options = re.sub(r"\s", "", page)
    for option in ('"zoom":0', '"zoomSnap":0.25', '"zoomDelta":0.5', '"wheelPxPerZoomLevel":120'):
        assert f"{option}," in options or f"{option}}}" in options
    data = re.search(r'id="siteplan-data">(.*?)</script>', page, re.DOTALL)[1]
    assert json.loads(data)["ids"] == ["lot-a", "lot-b"]
