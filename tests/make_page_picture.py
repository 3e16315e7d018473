"""The picture of the drawing page in README: `python -m tests.make_page_picture` writes data/pictures/draw.png.

The demo, its map of the sun, and the new bed held in the hand. Needs Debian's chromium.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

from siteplan.draw.server import Server
from tests.bench.page import middle_of

ROOT = Path(__file__).parents[1]
PICTURE = ROOT / "data" / "pictures" / "draw.png"
COLOURS = 128  # enough for the page; a quarter of the bytes


def main() -> None:
    with tempfile.TemporaryDirectory() as kept, sync_playwright() as driver:
        folder = Path(kept) / "demo-yard"
        shutil.copytree(ROOT / "data" / "demo", folder)
        server = Server(folder)
        with server.running() as address:
            browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            page.goto(address.link)
            page.wait_for_selector("html[data-ready]")
            page.check("#sun-on")
            page.wait_for_function(
                "() => document.getElementById('sun-state')?.textContent.startsWith('Mean')", timeout=300_000
            )
            x, y = middle_of(page, "new-bed")
            page.mouse.click(x, y)
            page.wait_for_selector("#bed-figures dl", timeout=60_000)
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x - 12, y + 18, steps=4)
            page.wait_for_timeout(12_000)  # until the ways and the headings are counted too
            page.screenshot(path=PICTURE)
            page.keyboard.press("Escape")
            page.mouse.up()
            browser.close()
    Image.open(PICTURE).convert("RGB").quantize(COLOURS).save(PICTURE, optimize=True)


if __name__ == "__main__":
    main()
