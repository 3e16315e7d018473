"""What a survey proposes, on the page: shown over the paper, taken one by one, undone, and told where yours differs."""

from __future__ import annotations

import json

import pytest

from siteplan.draw.server import Server

from .proposed import SOURCE, write_proposals
from .test_page_access import HOSTILE, found_by_axe
from .visits import Visit

pytestmark = pytest.mark.browser


def ids(folder):
    document = json.loads((folder / "features.geojson").read_text(encoding="utf-8"))
    return [one["id"] for one in document["features"]]


def test_proposals_are_shown_taken_one_by_one_and_undone(chromium, yard):
    from playwright.sync_api import expect

    rules = pytest.importorskip("axe_playwright_python")
    file = write_proposals(yard)
    document = json.loads(file.read_text(encoding="utf-8"))
    document["features"][3]["id"] = HOSTILE[0]
    file.write_text(json.dumps(document), encoding="utf-8")
    drawn = ids(yard)
    with Server(yard).running() as address:
        visit = Visit(chromium, None, address.link)
        page = visit.page
        page.locator("#proposals .found").first.wait_for()
        assert page.locator("#proposals .found").count() == 4
        assert page.locator("path.dr-found").count() == 0
        page.locator("#found-on").check()
        expect(page.locator("path.dr-found")).to_have_count(4)
        page.locator("#proposals summary", has_text="tree-1").click()
        card = page.locator("#proposals details[open]")
        said = " ".join(card.inner_text().split())
        assert "29.53 ft ± 2 ft" in said
        assert f"Points used 1,204 Flight {SOURCE}" in said
        page.locator(".dr-found-name", has_text="tree-1").wait_for(state="attached")
        assert found_by_axe(rules, visit) == []
        page.set_viewport_size({"width": 390, "height": 844})
        assert found_by_axe(rules, visit) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.set_viewport_size({"width": 1280, "height": 800})
        card.get_by_role("button", name="Take it").click()
        page.locator("#undo", has_text="took tree-1 from the survey").wait_for()
        expect(page.locator("#proposals .found")).to_have_count(3)
        assert ids(yard) == [*drawn, "tree-1"]
        page.locator("#undo").click()
        expect(page.locator("#proposals .found")).to_have_count(4)
        assert ids(yard) == drawn
        page.locator("#proposals summary", has_text="plum").click()
        assert "Yours stays" in page.locator("#proposals details[open] .caution").inner_text()
        page.locator("#found-all").click()
        page.locator("#undo", has_text="took 3 proposals from the survey").wait_for()
        assert sorted(ids(yard)) == sorted([*drawn, "tree-1", HOSTILE[0]])
        page.get_by_role("button", name="Take its figures over yours: plum").click()
        page.locator("#undo", has_text="took plum from the survey").wait_for()
        page.wait_for_selector("#proposals", state="hidden")
        assert "plum: height was 14 ft, is now 24.93 ft" in visit.foot()
        file.write_text("{", encoding="utf-8")  # somebody damages the file while the page is open
        page.locator("#proposals .fault", has_text="holds no proposals any more").wait_for()
        assert page.locator("#sheet img, .leaflet-marker-pane img").count() == 0
        visit.click(8, -5)
        assert visit.said == []
        visit.close()
