"""The page of many lots: nothing that a file says is run, and a reader can rank, find and compare."""

from __future__ import annotations

import json
import re

import pytest
from shapely import box

from siteplan.show.lots_page import lots_page

HOSTILE = "<img src=x onerror=alert(1)>{{7*7}}"


def rows(count):
    made = [
        {
            "lot": f"lot {n}", "status": "planned", "why": "", "lot_m2": 100.0, "place_season_sun_h": n / 10,
            "cost": 500.0 - n, "currency": "EUR", "beds_fit": n % 7, "outline": _outline(n), "plan": "plans/x" if n == count - 1 else "",
        }
        for n in range(count)
    ]  # fmt: skip
    return [*made, {"lot": HOSTILE, "status": "fault", "why": f"boundary: {HOSTILE}", "plan": ""}]


def _outline(n):
    return box(8 + n % 70 / 5000, 47 + n // 70 / 5000, 8 + n % 70 / 5000 + 1e-4, 47 + n // 70 / 5000 + 1e-4).wkb_hex


def test_text_of_files_is_escaped():
    page = lots_page(rows(3), ask=("sun", "place", "fill"))
    assert HOSTILE not in page
    assert "{{7*7}}" not in page
    assert "&lt;img src=x onerror=alert(1)&gt;" in page


def test_the_page_holds_the_rows_figures():
    page = lots_page(rows(5), ask=("place", "fill"))
    data = json.loads(re.search(r'id="siteplan-data">(.*?)</script>', page, re.DOTALL)[1])
    assert data["values"]["place_season_sun_h"] == [0.0, 0.1, 0.2, 0.3, 0.4, None]
    assert "work_h" not in data["values"]  # not asked
    assert [one["unit"] for one in data["measures"] if one["key"] == "cost"] == ["EUR"]
    west, east = (data["shapes"][0][0][0][k][0] for k in (2, 0))
    assert abs(west - east) == pytest.approx(7.6, abs=0.1)  # 1e-4 degrees at 47 N: 111.32 km * cos 47 * 1e-4


@pytest.mark.browser
def test_a_reader_ranks_finds_and_compares(tmp_path, chromium):
    path = tmp_path / "screen.html"
    path.write_text(lots_page(rows(5000), ask=("sun", "place", "fill", "haul")), encoding="utf-8")
    page = chromium.new_page()
    wrong = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(path.as_uri())
    assert page.inner_text("#ranking tr:first-child td:nth-child(3)") == "lot 4999"
    page.select_option("#measure", "cost")
    assert page.inner_text("#ranking tr:first-child td:nth-child(3)") == "lot 4999"  # the least cost
    page.fill("#find", "lot 12")
    assert page.locator("#ranking tr").count() == 50  # of the 111 whose name begins so
    page.locator("#more").click()
    assert page.locator("#ranking tr").count() == 100
    page.locator("#ranking input").nth(0).check()
    page.locator("#ranking input").nth(1).check()
    assert page.locator("#compare thead button").count() == 2
    assert page.locator("#compare td.best").count() > 0
    page.fill("#find", "lot 4999")
    assert page.locator("#ranking a").get_attribute("href") == "plans/x/map.html"
    assert wrong == []
