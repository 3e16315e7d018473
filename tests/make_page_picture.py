"""The picture of the drawing page in README: `python -m tests.make_page_picture` writes data/pictures/draw.png.

The demo, its map of the sun, and the new bed held in the hand. Needs Debian's chromium.
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image

from tests.bench.page import demo_page, middle_of

ROOT = Path(__file__).parents[1]
PICTURE = ROOT / "data" / "pictures" / "draw.png"
COLOURS = 128  # enough for the page; a quarter of the bytes


def main() -> None:
    with demo_page() as page:
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
    Image.open(PICTURE).convert("RGB").quantize(COLOURS).save(PICTURE, optimize=True)


if __name__ == "__main__":
    main()
