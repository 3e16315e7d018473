"""The page for everybody: by keys alone, by touch, on a tablet and a phone, with any name, and asking nobody else."""

from __future__ import annotations

from importlib import resources

import pytest

from .stand_in import StandIn
from .visits import FOOT, SETTINGS, area, lot, visiting

pytestmark = pytest.mark.browser

#: what nobody would call a shed, except to break a page
HOSTILE = ["<img src=x onerror=alert(1)>", "</script><script>alert(2)</script>", "\"' onmouseover=alert(3) x='",
           "{{7*7}}", "`${alert(4)}` \\", "\u202eשלום shed", "shed " * 400]  # fmt: skip


@pytest.fixture
def yard(chromium):
    with visiting(chromium, StandIn(lot(), SETTINGS)) as visit:
        yield visit
        assert visit.said == []


def test_it_asks_its_own_server_alone(yard):
    own = yard.page.url.rstrip("/")
    assert [url for url in yard.asked if not url.startswith((own, "data:"))] == []


def test_a_bed_is_drawn_moved_and_undone_by_keys_alone(chromium):
    with visiting(chromium, StandIn(lot()[:1], SETTINGS)) as visit:
        page, press = visit.page, visit.page.keyboard.press
        for _ in range(60):  # by Tab to the tool
            press("Tab")
            if page.evaluate("document.activeElement.dataset.tool") == "bed":
                break
        press("Enter")
        assert page.evaluate("document.activeElement.id") == "paper"
        for key in ("ArrowRight", "ArrowUp", "Enter"):
            press(key)
        for _ in range(8):
            press("ArrowRight")
        for _ in range(4):
            press("ArrowUp")
        page.locator(".dr-area", has_text="32 sq ft").wait_for(state="attached")
        press("Enter")
        visit.saved()
        ring = visit.held.of("bed-1")["geometry"]["coordinates"][0]
        xs, ys = zip(*ring, strict=True)
        assert (max(xs) - min(xs), max(ys) - min(ys)) == (
            pytest.approx(8 * FOOT, abs=2e-4),
            pytest.approx(4 * FOOT, abs=2e-4),
        )
        press("ArrowUp")
        page.locator("#undo", has_text="moved bed-1").wait_for()
        press("Control+z")
        page.locator("#redo", has_text="moved bed-1").wait_for()
        assert visit.held.of("bed-1")["geometry"]["coordinates"][0] == ring
        press("Delete")
        page.locator("#undo", has_text="removed bed-1").wait_for()
        assert visit.said == []


def test_a_boundary_by_keys_and_typed_lengths(chromium):
    with visiting(chromium, StandIn([], SETTINGS)) as visit:
        press, write = visit.page.keyboard.press, visit.page.keyboard.type
        press("b")
        press("Enter")
        for text in ("60 ft <90", "40 ft <0", "60 ft <270"):
            write(text)
            press("Enter")
        assert visit.page.evaluate("document.activeElement.id") == "paper"
        press("Enter")
        visit.saved()
        xs, ys = zip(*visit.held.of("boundary")["geometry"]["coordinates"][0], strict=True)
        assert (max(xs) - min(xs), max(ys) - min(ys)) == (
            pytest.approx(60 * FOOT, abs=2e-4),
            pytest.approx(40 * FOOT, abs=2e-4),
        )


def test_things_are_chosen_by_keys_and_told(yard):
    yard.page.locator("#paper").focus()
    yard.page.keyboard.press("PageDown")
    assert yard.foot() == "Chosen: lot."
    yard.page.keyboard.press("PageDown")
    assert yard.foot() == "Chosen: house."
    yard.page.keyboard.press("PageUp")
    assert yard.page.locator("#card-name").input_value() == "lot"
    assert yard.page.locator("#foot-said").get_attribute("role") == "status"


def test_letters_in_a_field_are_no_tools(yard):
    yard.click(9, 6)
    yard.page.locator("#card-name").click()
    yard.page.keyboard.type("bfth")
    assert yard.page.locator('[data-tool="select"]').get_attribute("aria-pressed") == "true"


STATES = {
    "steps": lambda visit: visit.page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)"),
    "drawing": lambda visit: (visit.page.keyboard.press("b"), visit.click(3, 14), visit.type("10 ft <90", "10 ft <0", "10 ft <270", "9 ft <180")),
    "card": lambda visit: (visit.click(9, 20.5), visit.page.locator("#bed-figures dl").wait_for(),
                           visit.page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")),
    "faults": lambda visit: (visit.page.keyboard.press("t"), visit.click(3, 26), visit.saved()),
    "sun": lambda visit: (visit.page.locator("#sun-on").check(), visit.page.locator(".scale-bar").wait_for()),
}  # fmt: skip


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("width", [1280, 820])
def test_axe_finds_nothing(chromium, state, width):
    """axe-core, the open rule set of WCAG 2.x checks: no violation, whatever its weight."""
    rules = pytest.importorskip("axe_playwright_python")
    with visiting(chromium, StandIn(lot(), SETTINGS), width=width) as visit:
        STATES[state](visit)
        assert found_by_axe(rules, visit) == []


def found_by_axe(rules, visit):
    source = (resources.files(rules) / "axe.min.js").read_text(encoding="utf-8")
    visit.page.evaluate(source)
    found = visit.page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    return [(one["id"], one["nodes"][0]["html"][:160], one["nodes"][0]["failureSummary"][:200]) for one in found]


def test_axe_finds_nothing_at_the_start_nor_on_a_phone(chromium):
    rules = pytest.importorskip("axe_playwright_python")
    with visiting(chromium, StandIn([], {})) as visit:
        assert found_by_axe(rules, visit) == []
    with visiting(chromium, StandIn(lot(), SETTINGS), width=390, height=844) as visit:
        assert found_by_axe(rules, visit) == []
        STATES["card"](visit)  # a bed is chosen, its figures are shown, and all that can be unfolded is
        assert visit.page.locator("#bed-figures .months-of").is_visible()
        assert found_by_axe(rules, visit) == []


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_name_is_text_and_nothing_else(chromium, name):
    shed = area(name, "building", [[15, 24], [18, 24], [18, 27], [15, 27]], height=name, **{"<b>": name})
    held = StandIn(lot(shed), SETTINGS | {"name": name})
    held.variants.append(name)
    with visiting(chromium, held) as visit:
        visit.click(16.5, 25.5)
        assert (
            visit.page.locator("#card-name").input_value() == name.strip()
            or name in visit.page.locator("#card-name").input_value()
        )
        assert visit.page.locator("h1").text_content() == name
        assert visit.page.locator("#hand img, #hand script, #sheet img, .leaflet-marker-pane img").count() == 0
        assert visit.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert visit.said == []


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (820, 1180), (390, 844)])
def test_nothing_runs_over_the_edge(chromium, width, height):
    with visiting(chromium, StandIn(lot(), SETTINGS), width=width, height=height) as visit:
        visit.click(9, 20.5)
        visit.page.locator("#bed-figures dl").wait_for()
        assert visit.page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert visit.page.locator("#paper").bounding_box()["height"] > 300


def touched(session, kind, points):
    """Send touches as the browser gets them from a finger."""
    session.send(
        "Input.dispatchTouchEvent",
        {"type": kind, "touchPoints": [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(points)]},
    )


@pytest.mark.parametrize("width", [820, 390])
def test_a_finger_chooses_a_bed_and_moves_it(chromium, width):
    with visiting(
        chromium, StandIn(lot(), SETTINGS), width=width, height=1000, has_touch=True, is_mobile=True
    ) as visit:
        visit.page.touchscreen.tap(*visit.at(9, 20.5))
        assert "Chosen: bed-1" in visit.foot()
        session = visit.context.new_cdp_session(visit.page)
        start, end = visit.at(9, 20.5), visit.at(15, 26)
        touched(session, "touchStart", [start])
        for step in range(1, 9):
            touched(session, "touchMove", [[a + (b - a) * step / 8 for a, b in zip(start, end, strict=True)]])
        touched(session, "touchEnd", [])
        visit.saved()
        ring = visit.held.of("bed-1")["geometry"]["coordinates"][0]
        middle = [sum(axis) / 4 for axis in zip(*ring[:-1], strict=True)]
        assert middle == pytest.approx([15, 26], abs=0.5)  # a finger, and a corner that takes hold of what is near
        visit.page.locator("#bed-figures dl").wait_for()
        assert visit.said == []


def test_a_finger_draws_a_fence(chromium):
    with visiting(
        chromium, StandIn(lot(), SETTINGS), width=820, height=1000, has_touch=True, is_mobile=True
    ) as visit:
        visit.page.locator('[data-tool="fence"]').tap()
        visit.page.touchscreen.tap(*visit.at(2, 14))
        visit.page.touchscreen.tap(*visit.at(12, 14))
        visit.page.locator("#finish").tap()
        visit.saved()
        (x0, y0), (x1, y1) = visit.held.of("fence-1")["geometry"]["coordinates"]
        assert (x1 - x0, y1 - y0) == (pytest.approx(10, abs=0.3), pytest.approx(0, abs=1e-3))
