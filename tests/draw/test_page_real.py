"""The page over the real server: what a person draws stands in the files to the centimetre, and survives what may come."""

from __future__ import annotations

import io
import itertools
import json
import math
import shutil
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from PIL import Image, ImageDraw

from siteplan.draw.server import Server
from siteplan.files.reader import read_site

from .visits import FOOT, Visit

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "data" / "demo"
NOTHING = 'name = "Yard"\nunits = "imperial"\n\n[origin]\nlatitude = 41.352\nlongitude = -92.204\nbearing = 0.0\nunit = "ft"\n'


@pytest.fixture
def bare(tmp_path):
    """Return a site of which only the place is known."""
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "site.toml").write_text(NOTHING)
    (folder / "features.geojson").write_text('{"type": "FeatureCollection", "features": []}\n')
    return folder


@pytest.fixture
def demo(tmp_path):
    return Path(shutil.copytree(DEMO, tmp_path / "demo"))


def drawn(folder, name):
    features = json.loads((folder / "features.geojson").read_text())["features"]
    return next(one for one in features if one["id"] == name)


def test_a_lot_by_typed_lengths_stands_in_the_file_to_the_centimetre(chromium, bare):
    """A lot out of square: its corners by hand, in feet, from the sides that are typed."""
    true = [(0.0, 0.0), (80.0, 0.0), (86.0, 122.5), (10.25, 140.0)]
    with Server(bare).running() as address:
        visit = Visit(chromium, None, address.link)
        visit.page.keyboard.press("b")
        visit.click(2, 2)
        for (x0, y0), (x1, y1) in itertools.pairwise(true):
            inches = round(math.hypot(x1 - x0, y1 - y0) * 12 * 8) / 8  # as a tape reads it
            feet, rest = divmod(inches, 12)
            visit.type(f"{feet:.0f} ft {rest:g} in <{math.degrees(math.atan2(x1 - x0, y1 - y0)):.3f}")
        visit.page.keyboard.press("Enter")
        visit.saved()
        visit.page.keyboard.press("Escape")
        visit.page.keyboard.press("u")
        visit.page.locator("#new-height").fill("23 ft")
        visit.page.locator("#new-height").press("Enter")
        visit.page.locator("#way-box").check()
        corner = drawn(bare, "boundary")["geometry"]["coordinates"][0][0]
        visit.click((corner[0] + 20) * FOOT, (corner[1] + 30) * FOOT)
        visit.type("40 ft x 34 ft 6 in")
        visit.saved()
        assert visit.said == []
        visit.close()
    ring = drawn(bare, "boundary")["geometry"]["coordinates"][0][:-1]
    off = [
        math.dist((x - ring[0][0], y - ring[0][1]), corner) * FOOT for (x, y), corner in zip(ring, true, strict=True)
    ]
    assert max(off) < 0.01
    house = drawn(bare, "building-1")
    assert house["properties"] == {"kind": "building", "height": "23 ft"}
    xs, ys = zip(*house["geometry"]["coordinates"][0], strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == (pytest.approx(40, abs=1e-3), pytest.approx(34.5, abs=1e-3))
    site = read_site(bare)
    assert site.buildings[0].outline.area == pytest.approx(40 * 34.5 * FOOT**2, rel=1e-3)


def test_a_drawing_whose_file_spells_its_unit_out(chromium, demo):
    settings = demo / "site.toml"
    settings.write_text(settings.read_text().replace('unit = "ft"', 'unit = "feet"'))
    with Server(demo).running() as address:
        visit = Visit(chromium, None, address.link)
        visit.page.locator("#asked-first > summary").click()
        visit.page.locator("#step-name > summary").click()
        assert visit.page.locator("#origin-unit").input_value() == "ft"
        visit.page.keyboard.press("f")
        visit.page.locator("#new-height").fill("5 ft 6 in")
        visit.page.locator("#new-height").press("Enter")
        visit.click(60 * FOOT, 100 * FOOT)
        visit.type("12 <90", "12 ft 6 in <0")
        visit.page.keyboard.press("Enter")
        visit.saved()
        assert visit.said == []
        visit.close()
    fence = drawn(demo, "fence-1")
    assert fence["properties"] == {"kind": "fence", "height": "5.5 ft"}
    (x, y), *others = fence["geometry"]["coordinates"]
    assert others == [  # the file has thousandths of a foot
        [pytest.approx(x + 12, abs=2e-3), pytest.approx(y, abs=2e-3)],
        [pytest.approx(x + 12, abs=2e-3), pytest.approx(y + 12.5, abs=2e-3)],
    ]


def test_undo_goes_on_after_a_restart(chromium, demo):
    before = drawn(demo, "maple")
    with Server(demo).running() as address:
        visit = Visit(chromium, None, address.link)
        visit.click(23 * FOOT, 100 * FOOT)
        visit.page.keyboard.press("Shift+ArrowRight")
        visit.page.locator("#undo", has_text="moved maple").wait_for()
        visit.saved()
        visit.close()
    assert drawn(demo, "maple")["geometry"]["coordinates"] == [33, 100]
    with Server(demo).running() as address:
        visit = Visit(chromium, None, address.link)
        visit.page.locator("#undo", has_text="moved maple").click()
        visit.page.locator("#redo", has_text="moved maple").wait_for()
        assert visit.said == []
        visit.close()
    assert drawn(demo, "maple") == before


def test_two_windows_on_one_site(chromium, demo):
    with Server(demo).running() as address:
        one = Visit(chromium, None, address.link)
        other = one.context.new_page()
        other.goto(address.origin)
        other.wait_for_selector("html[data-ready]")
        other.locator("#paper").focus()
        one.page.mouse.move(*one.at(36 * FOOT, 40 * FOOT))
        one.page.mouse.down()
        one.page.mouse.move(*one.at(36 * FOOT, 45 * FOOT), steps=4)
        other.keyboard.press("PageDown")
        other.keyboard.press("PageDown")
        other.locator("#do-remove").click()  # the house, in the other window
        other.locator("#undo", has_text="removed house").wait_for()
        other.wait_for_selector('#saving[data-state="saved"]')
        one.page.mouse.up()
        one.page.locator("#conflict").wait_for()
        assert "without house" in one.page.locator("#conflict").inner_text()
        one.page.locator("#keep-mine").click()
        one.page.wait_for_selector("#conflict", state="detached")
        one.saved()
        one.close()
    assert drawn(demo, "house")["geometry"]["coordinates"][0][0][1] == pytest.approx(35, abs=1)


def photo_at_a_slant(true: np.ndarray) -> tuple[bytes, np.ndarray]:
    """Return a photo of a sketch with marks at known places [m], as a camera at a slant has it, and their pixels."""
    size = (1200, 900)
    corners = np.array([[150, 800], [1080, 850], [840, 160], [300, 120]], dtype=float)  # of 0,0 20,0 20,20 0,20
    rows, values = [], []
    for (x, y), (u, v) in zip([(0, 0), (20, 0), (20, 20), (0, 20)], corners, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    matrix = np.append(np.linalg.solve(np.array(rows), np.array(values)), 1).reshape(3, 3)
    seen = (matrix @ np.column_stack([true, np.ones(len(true))]).T).T
    pixels = seen[:, :2] / seen[:, 2:]
    picture = Image.new("RGB", size, "#f7f1e2")
    pen = ImageDraw.Draw(picture)
    for u, v in pixels:
        pen.line([u - 9, v, u + 9, v], fill="#222222", width=2)
        pen.line([u, v - 9, u, v + 9], fill="#222222", width=2)
    held = io.BytesIO()
    picture.save(held, "PNG")
    return held.getvalue(), pixels


def test_over_a_slanted_photo_what_is_drawn_is_right_to_ten_centimetres(chromium, bare):
    true = np.array([(0, 0), (20, 0), (20, 20), (0, 20), (4, 6), (13, 5), (14, 12), (5, 13)], dtype=float)
    content, pixels = photo_at_a_slant(true)
    with Server(bare).running() as address:
        visit = Visit(chromium, None, address.link, width=1600, height=1200)
        page = visit.page
        page.locator("#backdrop-file").set_input_files(
            {"name": "sketch.png", "mimeType": "image/png", "buffer": content}
        )
        page.wait_for_selector("#strength")
        page.locator("#backdrop-slant > summary").click()
        page.locator("#slant-start").click()
        box = page.locator("img.dr-backdrop").bounding_box()
        for u, v in pixels[:4]:
            page.mouse.click(box["x"] + u * box["width"] / 1200, box["y"] + v * box["height"] / 900)
        for number, (x, y) in enumerate(true[:4]):
            page.locator(f"#slant-p{number}").fill(f"{x} m, {y} m")
        page.locator("#slant-p3").press("Enter")
        page.locator("#foot-said", has_text="straight").or_(page.locator("#foot-said", has_text="lies")).wait_for()
        page.wait_for_timeout(1500)
        page.get_by_role("button", name="Show all").click()
        page.keyboard.press("b")
        page.locator("#snaps").uncheck()
        page.evaluate(
            "import('/page/canvas.js').then(({ map }) => map.fitBounds([[0, 0], [20, 20]], { animate: false }))"
        )
        shown = dark_crosses(page, visit, true[4:])
        for x, y in shown:
            page.mouse.click(x, y)
        page.keyboard.press("Enter")
        visit.saved()
        visit.close()
    ring = np.array(drawn(bare, "boundary")["geometry"]["coordinates"][0][:-1]) * FOOT
    assert np.hypot(*(ring - true[4:]).T).max() < 0.10


def dark_crosses(page, visit, near):
    """Return where the marks are seen on the screen: the middle of the dark pixels around where each should be."""
    page.mouse.move(5, 5)
    seen = np.array(Image.open(io.BytesIO(page.screenshot())).convert("L")).astype(float)
    found = []
    for x, y in near:
        u, v = visit.at(x, y)
        reach = 26
        part = seen[int(v) - reach : int(v) + reach, int(u) - reach : int(u) + reach]
        rows, columns = np.nonzero(part < part.min() + 40)
        assert len(rows) > 10  # the mark is there
        assert part.max() - part.min() > 60
        found.append((int(u) - reach + columns.mean(), int(v) - reach + rows.mean()))
    return found


@pytest.mark.slow
def test_a_variant_is_made_changed_compared_and_made_the_property(chromium, demo):
    with Server(demo).running() as address:
        visit = Visit(chromium, None, address.link)
        page = visit.page
        page.locator("#variant-name").fill("without the maple")
        page.locator("#variant-name").press("Enter")
        page.wait_for_selector("#variant-leave")
        visit.click(23 * FOOT, 100 * FOOT)
        page.locator("#do-remove").click()
        page.locator("#undo", has_text="removed maple").wait_for()
        visit.saved()
        assert drawn(demo, "maple")  # the property itself keeps it
        page.locator("#variants-compare").click()
        page.wait_for_selector("#variants-table table", timeout=240_000)
        rows = page.locator("#variants-table table").first.locator("tbody tr").all_inner_texts()
        season = next(row.split("\t") for row in rows if row.startswith("new-bed, season"))
        assert float(season[2].split()[0]) > float(season[1].split()[0])  # without the tree it has more sun
        page.locator("#variant-adopt").click()
        page.wait_for_selector("#variant-leave", state="detached")
        assert visit.said == []
        visit.close()
    assert "maple" not in (demo / "features.geojson").read_text()
    assert tomlkit.parse((demo / "site.toml").read_text())["name"] == "14 Quillback Lane"


def test_where_no_tool_is_shown_none_is_told_of(chromium, demo):
    with Server(demo).running() as address:
        visit = Visit(chromium, None, address.link)
        for width, drawn_here in ((1280, True), (820, True), (390, False)):
            visit.page.set_viewport_size({"width": width, "height": 844})
            assert visit.page.locator(".tools").is_visible() is drawn_here
            assert visit.page.get_by_text("Take a tool to draw").is_visible() is drawn_here
            assert visit.page.get_by_text("use a larger screen").is_visible() is not drawn_here
