"""As a person would: from nothing to a finished plan, with the real server, the real files and a real browser."""

from __future__ import annotations

import contextlib
import json
import math
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from siteplan.draw.server import Server
from siteplan.files.new import new_drawing
from siteplan.files.reader import read_site
from siteplan.plan import plan_site

from .visits import Visit, lot

pytestmark = pytest.mark.browser
FOOT = 0.3048
#: corners of the lot that is drawn by its tapes. [ft]
LOT = [(0, 0), (60, 0), (60, 100), (0, 100)]
HOUSE = [(12, 10), (48, 10), (48, 38.5), (12, 38.5)]


@contextlib.contextmanager
def drawing(chromium: Any, folder: Path, **view: Any) -> Iterator[Visit]:
    """Open the page of a property, as `siteplan draw` does."""
    server = Server(folder)
    with server.running() as address:
        visit = Visit(chromium, None, address.link, **view)
        try:
            yield visit
        finally:
            visit.close()


def features_of(folder: Path) -> dict[str, Any]:
    found = json.loads((folder / "features.geojson").read_text(encoding="utf-8"))["features"]
    return {one["id"]: one for one in found}


def corners_of(feature: dict[str, Any]) -> list[tuple[float, float]]:
    return [tuple(corner) for corner in feature["geometry"]["coordinates"][0][:-1]]


def farthest(found: list[tuple[float, float]], true: list[tuple[float, float]]) -> float:
    """Return how far the corners of a shape, moved onto its first, are from the true ones at the most. [ft]"""
    first = min(range(len(found)), key=lambda at: (round(found[at][1], 1), round(found[at][0], 1)))
    x, y = found[first]
    moved = {(a - x + true[0][0], b - y + true[0][1]) for a, b in found}
    return max(min(math.dist(one, other) for other in moved) for one in true)


def asked_first(visit: Visit) -> None:
    """Answer what is asked first."""
    page = visit.page
    page.locator("#units-imperial").check()
    page.locator("#site-name").fill("Larkspur Rise")
    page.locator("#site-name").press("Enter")
    page.wait_for_selector("#step-name.done")
    page.locator("#where-text").fill("41°21'N 92°12'W")
    page.locator("#where-text").press("Enter")
    page.locator("#where-take").click()
    page.wait_for_selector("#step-where.done")
    page.locator("#north-typed > summary").click()
    page.locator("#north-typed-bearing").fill("12")
    page.locator("#north-typed-bearing").press("Enter")
    page.locator("#north-take").click()
    page.wait_for_selector("#step-north.done")
    page.locator("#frost-last").fill("05-04")
    page.locator("#frost-first").fill("10-04")
    page.locator("#frost-first").press("Enter")
    page.wait_for_selector("#step-frost.done")


def height(visit: Visit, text: str) -> None:
    """Say how high the next thing is that is drawn."""
    visit.page.locator("#new-height").fill(text)
    visit.page.locator("#new-height").press("Enter")


def draw_the_lot(visit: Visit) -> None:
    """Draw outline, house, tree, gate and fence, a delivery place and a bed, by typed lengths."""
    page = visit.page
    page.locator("#start-boundary").click()
    page.mouse.click(*visit.at(3, 3))
    visit.type("60 ft <90", "100 ft <0", "60 ft <270")
    page.keyboard.press("Enter")
    visit.saved()
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Show all").click()
    x, y = lot_corner(visit)
    page.keyboard.press("u")
    height(visit, "20 ft")
    visit.click(x + 12 * FOOT, y + 10 * FOOT)
    visit.type("36 ft <90", "28 ft 6 in <0", "36 ft <270")
    page.keyboard.press("Enter")
    visit.saved()
    page.keyboard.press("Escape")
    page.keyboard.press("t")
    height(visit, "24 ft")
    page.locator("#way-circle").check()
    visit.click(x + 15 * FOOT, y + 75 * FOOT)
    visit.type("8 ft")
    visit.saved()
    page.keyboard.press("Escape")
    page.keyboard.press("r")
    height(visit, "18 in")
    visit.click(x + 34 * FOOT, y + 60 * FOOT)
    visit.type("8 ft x 4 ft")
    visit.saved()
    page.keyboard.press("Escape")


def lot_corner(visit: Visit) -> tuple[float, float]:
    """Return the lower left corner of the lot in the page's plane. [m]"""
    ring = visit.page.evaluate(
        """async () => {
            const { features } = await import("/page/state.js");
            return features().find(one => one.properties.kind === "boundary").geometry.coordinates[0];
        }"""
    )
    return min(x for x, _ in ring), min(y for _, y in ring)


def of_kind(folder: Path, kind: str) -> dict[str, Any]:
    return next(one for one in features_of(folder).values() if one["properties"]["kind"] == kind)


def test_from_nothing_to_a_finished_plan(chromium, tmp_path):
    folder = tmp_path / "my-yard"
    new_drawing(folder)
    with drawing(chromium, folder) as visit:
        page = visit.page
        asked_first(visit)
        draw_the_lot(visit)
        assert farthest(corners_of(of_kind(folder, "boundary")), LOT) * FOOT < 0.01
        assert farthest(corners_of(of_kind(folder, "building")), HOUSE) * FOOT < 0.01
        bed = of_kind(folder, "bed")
        assert farthest(corners_of(bed), [(0, 0), (8, 0), (8, 4), (0, 4)]) * FOOT < 0.01
        assert "fault" not in page.locator("#checks").inner_text()

        _drag_and_compare(visit, folder, bed["id"])

        page.locator("#plan-all").click()
        page.locator("#job", has_text="done").wait_for(timeout=240_000)
        names = [one.inner_text() for one in page.locator("#job a").all()]
        assert names == ["The map", "The work sheet"]
        with page.context.expect_page() as opened:
            page.locator("#job a").first.click()
        opened.value.wait_for_selector(".title-block", timeout=30_000)
        assert "Larkspur Rise" in opened.value.locator("h1").inner_text()
        assert (folder / "plan" / "report.html").stat().st_size > 10_000
        assert visit.said == []

    with drawing(chromium, folder) as again:  # a restart: the history is still there
        page = again.page
        page.keyboard.press("Control+z")
        again.saved()
        now = of_kind(folder, "bed")
        assert corners_of(now) == corners_of(bed)
        page.keyboard.press("Control+Shift+Z")
        again.saved()
        assert corners_of(of_kind(folder, "bed")) != corners_of(bed)


def _drag_and_compare(visit: Visit, folder: Path, bed: str) -> None:
    """Drag the bed; its figures follow and are those of the commands once it is saved."""
    page = visit.page
    x, y = lot_corner(visit)
    middle = (x + 38 * FOOT, y + 62 * FOOT)
    visit.click(*middle)
    page.wait_for_selector("#bed-figures dl", timeout=60_000)
    first = page.locator("#bed-figures dl").inner_text()
    visit.drag(middle, (middle[0] - 3, middle[1] - 4))
    visit.saved()
    page.wait_for_function("before => document.querySelector('#bed-figures dl')?.innerText !== before", arg=first)
    page.wait_for_timeout(1500)  # the last answer is that of where it lies now
    told = page.locator("#bed-figures dl").inner_text()
    report = plan_site(read_site(folder), ask=["sun"], bed_ids=[bed]).beds[0]
    assert f"{report.sun.season_sun_h:.1f} h a day" in told
    assert f"{report.sun.worst_cell_sun_h:.1f} h" in told


def _changed(folder: Path, feature: str) -> dict[str, Any]:
    """Wait until a feature of the small property is not as it was drawn at first, and return it."""
    before = next(one for one in lot() if one["id"] == feature)
    for _ in range(200):
        now = features_of(folder)[feature]
        if now["geometry"] != before["geometry"]:
            return now
        time.sleep(0.05)
    raise AssertionError(f"{feature} was not saved")


def test_a_bed_is_moved_by_touch_on_a_tablet(chromium, tmp_path):
    folder = yard_of(tmp_path)
    with drawing(chromium, folder, width=820, height=1180, has_touch=True, is_mobile=True) as visit:
        page = visit.page
        x, y = visit.at(9, 20.5)
        page.touchscreen.tap(x, y)
        page.wait_for_selector("#bed-figures")
        session = page.context.new_cdp_session(page)

        def finger(what: str, *points: tuple[float, float]) -> None:
            spots = [{"x": a, "y": b} for a, b in points]
            session.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": spots})

        finger("touchStart", (x, y))
        for step in range(1, 11):
            finger("touchMove", (x, y - 4 * step))
        finger("touchEnd")
        assert _changed(folder, "bed-1")["geometry"]["coordinates"][0][0][1] > 20.5


def yard_of(tmp_path: Path) -> Path:
    """Return a small property of a lot, a house and a bed, in metres."""
    folder = tmp_path / "yard"
    folder.mkdir()
    lines = [
        'name = "Larkspur Rise"',
        "[origin]",
        "latitude = 41.35",
        "longitude = -92.2",
        "bearing = 12.0",
        'unit = "m"',
    ]
    lines += ["[season]", 'last_frost = "05-04"', 'first_frost = "10-04"', "[sun]", 'cell = "50 cm"']
    (folder / "site.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    drawn = ",\n".join(json.dumps(one) for one in lot())
    text = f'{{"type": "FeatureCollection", "features": [\n{drawn}\n]}}\n'
    (folder / "features.geojson").write_text(text, encoding="utf-8")
    return folder
