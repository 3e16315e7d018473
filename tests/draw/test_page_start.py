"""From nothing: what is asked first, in the order in which a person can answer."""

from __future__ import annotations

import pytest

from .stand_in import StandIn
from .visits import visiting

pytestmark = pytest.mark.browser


def test_from_nothing_to_an_outline(chromium):
    with visiting(chromium, StandIn([], {"units": "imperial"})) as visit:
        page, held = visit.page, visit.held

        def done(step):
            page.wait_for_selector(f"#step-{step}.done")

        assert page.locator(".step .what").all_inner_texts()[0].startswith("Name and units")
        page.locator("#site-name").fill("Larkspur Rise")
        page.locator("#site-name").press("Enter")
        done("name")
        assert page.locator("h1").inner_text() == "Larkspur Rise"

        page.locator("#where-text").fill("somewhere")
        page.locator("#where-text").press("Enter")
        page.locator("#step-where .caution").wait_for()
        page.locator("#where-text").fill("41°21'N 92°12'W")
        page.locator("#where-text").press("Enter")
        page.locator("#where-take").click()
        done("where")
        assert (held.settings["origin.latitude"], held.settings["origin.longitude"]) == (41.35, -92.2)

        page.locator("#north-compass > summary").click()
        page.locator("#north-compass-reading").fill("11.6")
        page.locator("#north-compass-reading").press("Enter")
        page.locator("#north-take").click()
        done("north")
        assert held.settings["origin.bearing"] == 12
        _, asked = next(one for one in held.asked if one[0] == "north")
        assert (asked["way"], asked["reading"]) == ("compass", 11.6)

        page.locator("#frost-last").fill("05-04")
        page.locator("#frost-first").fill("10-04")
        page.locator("#frost-first").press("Enter")
        done("frost")

        page.locator("#start-boundary").click()
        page.mouse.click(*visit.at(3, 3))
        visit.type("60 ft <90", "40 ft <0", "60 ft <270")
        page.keyboard.press("Enter")
        visit.saved()
        page.keyboard.press("Escape")
        page.locator("#asked-first > summary").click()
        done("outline")
        assert "sound" in page.locator("#checks").inner_text()
        assert all("400" in one for one in visit.said)  # the browser tells of the refusal, which is meant


def test_the_next_town_by_its_first_letters(chromium):
    with visiting(chromium, StandIn([], {"name": "Yard", "units": "imperial"})) as visit:
        visit.page.locator("#town").type("har")
        visit.page.get_by_role("button", name="Harlan, Iowa: it lies here").click()
        visit.saved()
        assert visit.held.settings["origin.latitude"] == 41.65


def test_north_waits_for_the_place(chromium):
    with visiting(chromium, StandIn([], {"name": "Yard", "units": "imperial"})) as visit:
        visit.page.locator("#step-north > summary").click()
        assert "Say first where it lies" in visit.page.locator("#step-north").inner_text()
