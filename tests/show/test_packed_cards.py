"""The insides of many cards are packed: are they the same once opened, on paper too, and as harmless?"""

from __future__ import annotations

import pytest

from siteplan.show.map import packing
from siteplan.show.map.site_map import site_map

from .visits import Visit

pytestmark = pytest.mark.browser

OPENED = """card => { siteplan.open_card(card.id);
                      return card.querySelector(".inside").innerHTML.replace(/\\s+/g, " ").trim(); }"""


@pytest.fixture(scope="module")
def pages(drawn_plan, tmp_path_factory):
    """Return the map with cards as they are, and with packed ones."""
    folder = tmp_path_factory.mktemp("packed")
    site_map(drawn_plan).save(folder / "plain.html")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(packing, "MANY_CARDS", 0)
        site_map(drawn_plan).save(folder / "packed.html")
    return folder / "plain.html", folder / "packed.html"


def insides(visit):
    visit.page.wait_for_function("!siteplan.data.cards || siteplan.insides")
    cards = visit.page.locator("details.card.bed, details.card.run")
    return [card.evaluate(OPENED) for card in cards.all()]


def test_packed_cards_hold_the_same(chromium, pages):
    plain, packed = (Visit(chromium, path) for path in pages)
    assert packed.page.locator(".inside[data-held]").count() > 3
    assert insides(packed) == insides(plain)
    assert packed.page.locator(".inside[data-held]").count() == 0
    assert packed.said == []
    packed.page.locator("details.card.bed button.find").first.click()
    assert packed.page.locator("details.card.bed.chosen").count() == 1


def test_card_is_filled_when_it_is_clicked(chromium, pages):
    visit = Visit(chromium, pages[1])
    visit.page.wait_for_function("siteplan.insides")
    card = visit.page.locator("details.card.bed").first
    card.locator("summary").first.click()
    card.locator("button.find").wait_for()
    assert visit.page.locator(".inside[data-held]").count() > 0  # the others wait
    visit.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert visit.page.locator(".inside[data-held]").count() == 0


def test_old_browser_says_why_cards_are_empty(chromium, pages):
    visit = Visit(chromium, pages[1], before="delete window.DecompressionStream")
    card = visit.page.locator("details.card.bed").first
    card.locator("summary").first.click()
    card.get_by_text("This browser is too old").wait_for()
    assert visit.said == []


def test_names_that_would_be_code_stay_names(chromium, hostile_plan, tmp_path, monkeypatch):
    monkeypatch.setattr(packing, "MANY_CARDS", 0)
    site_map(hostile_plan).save(tmp_path / "hostile.html")
    visit = Visit(chromium, tmp_path / "hostile.html")
    assert all(insides(visit))
    assert visit.said == []
    assert visit.outside == []
