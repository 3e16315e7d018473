"""How soon does the page of `siteplan draw` answer? `python -m tests.bench.page`.

In headless Chromium on the demo: from the last movement of a bed to its figures, and from a tree or a
building that is dropped to the coarse and the whole map of the sun. Needs Debian's chromium.
"""

from __future__ import annotations

import argparse
import contextlib
import math
import shutil
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from siteplan.draw.server import Server

if TYPE_CHECKING:
    from playwright.sync_api import Page

DEMO = Path(__file__).parents[2] / "data" / "demo"
MOVES = 200
#: notes when the pointer last moved, when the server answered for a bed, and when its figures were last drawn
WATCH = """
() => {
  window.watched = { moved: 0, drawn: 0, answers: [] };
  addEventListener("pointermove", () => { window.watched.moved = performance.now(); }, true);
  new PerformanceObserver((list) => {
    for (const one of list.getEntries()) if (one.name.endsWith("/api/bed")) window.watched.answers.push(one.startTime);
  }).observe({ type: "resource" });
  new MutationObserver(() => {
    if (document.getElementById("bed-figures")?.querySelector("dl")) window.watched.drawn = performance.now();
  }).observe(document.body, { subtree: true, childList: true, characterData: true });
}
"""


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.page", description=__doc__)
    parser.add_argument("--moves", type=int, default=MOVES, help="of the bed (default: %(default)s)")
    parser.add_argument("--changes", type=int, default=10, help="of a tree and of a building (default: %(default)s)")
    return parser.parse_args()


#: the middle of a feature on the screen
MIDDLE = """
async id => {
  const { map } = await import("/page/canvas.js");
  const { featureOf } = await import("/page/state.js");
  const { type, coordinates } = featureOf(id).geometry;
  const ring = type === "Point" ? [coordinates] : coordinates[0].slice(1);
  const mean = axis => ring.reduce((sum, corner) => sum + corner[axis], 0) / ring.length;
  const box = document.getElementById("paper").getBoundingClientRect();
  const at = map.latLngToContainerPoint([mean(1), mean(0)]);
  return [box.left + at.x + 1.5, box.top + at.y + 1.5];
}
"""


def middle_of(page: Page, feature: str) -> tuple[float, float]:
    """Return where a feature's middle is on the screen."""
    x, y = page.evaluate(MIDDLE, feature)
    return x, y


def move_a_bed(page: Page, bed: str, moves: int) -> list[float]:
    """Return the time from each movement to the figures of where the bed then is. [ms]"""
    x, y = middle_of(page, bed)
    page.mouse.click(x, y)
    page.wait_for_selector("#bed-figures dl", timeout=60_000)
    page.evaluate(WATCH)
    page.mouse.move(x, y)
    page.mouse.down()
    found = []
    for number in range(moves):
        turn = number / 6
        page.mouse.move(x + 12 + 25 * math.cos(turn), y + 25 * math.sin(turn))
        # a question that was asked after the movement has its answer, which has been drawn
        page.wait_for_function(
            "() => window.watched.answers.some((asked) => asked >= window.watched.moved - 1)", timeout=10_000
        )
        page.wait_for_timeout(30)
        found.append(page.evaluate("() => window.watched.drawn - window.watched.moved"))
    page.mouse.up()
    page.wait_for_timeout(2000)
    page.keyboard.press("Control+z")  # it was dropped anywhere
    page.wait_for_selector("#sun-on:enabled")
    return found


def change_a_feature(page: Page, feature: str, times: int) -> tuple[list[float], list[float]]:
    """Return the times from where a feature is dropped to the coarse, and to the whole map. [ms]"""
    x, y = middle_of(page, feature)
    page.mouse.click(x, y)
    coarse, whole = [], []
    for number in range(times):
        before = page.evaluate("() => document.querySelector('.sp-picture-sun')?.src")
        x, y = middle_of(page, feature)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + (-8 if number % 2 else 8), y, steps=4)
        begin = time.perf_counter()
        page.mouse.up()
        page.wait_for_function(
            "before => document.querySelector('.sp-picture-sun')?.src !== before", arg=before, timeout=60_000
        )
        coarse.append((time.perf_counter() - begin) * 1000)
        page.wait_for_function(
            "() => document.getElementById('sun-state').textContent.startsWith('Mean')", timeout=120_000
        )
        whole.append((time.perf_counter() - begin) * 1000)
        page.wait_for_timeout(300)
    return coarse, whole


def spread(times: Sequence[float]) -> str:
    """Return the median and the 95th percentile in words. [ms]"""
    ordered = sorted(times)
    return f"{ordered[len(ordered) // 2]:.0f} | {ordered[math.ceil(0.95 * len(ordered)) - 1]:.0f}"


@contextlib.contextmanager
def demo_page() -> Iterator[Page]:
    """Open the page of the demo in a browser, with its map of the sun swept and shown."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as kept, sync_playwright() as driver:
        folder = Path(kept) / "demo-yard"
        shutil.copytree(DEMO, folder)
        with Server(folder).running() as address:
            browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            page.goto(address.link)
            page.wait_for_selector("html[data-ready]")
            page.check("#sun-on")
            page.wait_for_function(
                "() => document.getElementById('sun-state')?.textContent.startsWith('Mean')", timeout=300_000
            )
            yield page
            browser.close()


def main() -> None:
    asked = options()
    with demo_page() as page:
        page.uncheck("#sun-on")
        rows = [("a bed, to its figures", spread(move_a_bed(page, "new-bed", asked.moves)))]
        page.check("#sun-on")
        page.wait_for_timeout(2000)
        for feature in ("maple", "garage"):
            coarse, whole = change_a_feature(page, feature, asked.changes)
            rows += [
                (f"{feature}, to the coarse map", spread(coarse)),
                (f"{feature}, to the whole map", spread(whole)),
            ]
    print("| what moves | median ms | 95th percentile |\n|---|---|---|")
    for name, times in rows:
        print(f"| {name} | {times} |")


if __name__ == "__main__":
    main()
