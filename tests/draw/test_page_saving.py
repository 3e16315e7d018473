"""Undo, a second window, a refusal, a server that is gone: nothing is lost, and all of it is said."""

from __future__ import annotations

import contextlib

import pytest

from .stand_in import StandIn, serving
from .visits import SETTINGS, Visit, lot, visiting

pytestmark = pytest.mark.browser


@pytest.fixture
def yard(chromium):
    with visiting(chromium, StandIn(lot(), SETTINGS)) as visit:
        yield visit


def test_undo_and_redo_by_keys_and_by_buttons_with_the_words_of_the_step(yard):
    before = yard.held.of("house")
    yard.drag((9, 6), (9, 12))
    yard.saved()
    assert yard.page.locator("#undo").inner_text().startswith("Undo: moved house by")
    yard.page.keyboard.press("Control+z")
    yard.page.locator("#redo", has_text="Redo: moved house").wait_for()
    assert yard.held.of("house") == before
    assert yard.foot().startswith("Undone: moved house by")
    yard.page.keyboard.press("Control+Shift+z")
    yard.page.locator("#undo", has_text="Undo: moved house").wait_for()
    assert yard.held.of("house") != before
    yard.page.locator("#undo").click()
    yard.page.wait_for_selector("#undo:disabled")
    assert yard.held.of("house") == before
    assert yard.said == []


def elsewhere(held):
    """Let another window move the house, and draw a tap."""
    house = held.of("house")
    moved = [[x + 1, y] for x, y in house["geometry"]["coordinates"][0]]
    tap = {
        "type": "Feature",
        "id": "tap",
        "properties": {"kind": "tap"},
        "geometry": {"type": "Point", "coordinates": [1, 1]},
    }
    held.edit({"says": "elsewhere", "put": [{**house, "geometry": {"type": "Polygon", "coordinates": [moved]}}, tap]})


@pytest.mark.parametrize("keep", ["theirs", "mine"])
def test_two_windows_the_later_save_is_told_and_sees_both(yard, keep):
    yard.page.mouse.move(*yard.at(9, 6))
    yard.page.mouse.down()
    yard.page.mouse.move(*yard.at(9, 12), steps=4)
    elsewhere(yard.held)
    yard.page.mouse.up()
    told = yard.page.locator("#conflict")
    told.wait_for()
    assert "moved house by" in told.inner_text()
    assert "Theirs: house, tap" in told.inner_text()
    assert yard.page.locator("path.dr-theirs").count() == 1
    theirs = yard.held.of("house")
    yard.page.locator(f"#keep-{keep}").click()
    yard.saved()
    assert yard.held.of("tap")["id"] == "tap"  # nothing of theirs is lost in either way
    assert (yard.held.of("house") == theirs) is (keep == "theirs")
    assert yard.page.locator("#conflict").count() == 0
    if keep == "theirs":
        assert "Let go: moved house by" in yard.foot()


def test_an_edit_made_elsewhere_is_seen(yard):
    elsewhere(yard.held)
    yard.page.wait_for_selector(".sp-symbol-tap", timeout=10_000)
    assert "changed elsewhere" in yard.foot()


def test_what_the_server_refuses_is_said_and_not_shown_as_done(yard):
    yard.held.refuse = "stands on the moon"
    yard.drag((9, 6), (9, 12))
    yard.page.locator("#refused").wait_for()
    assert "stands on the moon" in yard.page.locator("#refused").inner_text()
    yard.held.refuse = None
    yard.page.locator("#refused-read").click()
    assert yard.page.locator("#refused").count() == 0
    shown = yard.page.evaluate("import('/page/state.js').then(s => s.featureOf('house').geometry.coordinates)")
    assert shown == yard.held.of("house")["geometry"]["coordinates"]


def test_while_the_server_is_gone_changes_are_kept_and_then_saved(chromium):
    held = StandIn(lot(), SETTINGS)
    with contextlib.ExitStack() as first:
        address = first.enter_context(serving(held))
        visit = Visit(chromium, held, address)
        first.close()
        visit.drag((9, 6), (9, 12))
        visit.page.locator('#saving[data-state="away"]').wait_for()
        visit.page.keyboard.press("w")
        visit.click(3, 3)
        told = visit.page.locator("#trouble").inner_text()
        assert "moved house by" in told
        assert "drew tap tap-1" in told
        assert visit.page.locator(".sp-symbol-tap").count() == 1
    with serving(held, port=int(address.rsplit(":", 1)[1].strip("/"))):
        visit.saved()
        assert held.of("tap-1")["geometry"]["type"] == "Point"
        assert [says for says, _, _ in held.past] == ["moved house by 19 ft 8 1/4 in", "drew tap tap-1"] or len(
            held.past
        ) == 2
        visit.close()
