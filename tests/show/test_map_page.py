"""The map in a browser: silent, clean, right under the pointer, usable by key, by phone, and with any name."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest

from siteplan.place.crops.crop_light import LIGHT_NEEDS, light_verdict
from siteplan.show.map.site_map import BASEMAP_HOST, site_map

from .conftest import HOSTILE
from .visits import Visit

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def map_file(drawn_plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("map") / "map.html"
    site_map(drawn_plan).save(path)
    return path


@pytest.fixture(scope="module")
def visit(chromium, map_file):
    opened = Visit(chromium, map_file)
    yield opened
    opened.leave()


def test_it_asks_nobody_and_complains_of_nothing(visit):
    assert len(visit.asked) - len([url for url in visit.asked if url.startswith(("data:", "blob:"))]) == 1
    assert visit.outside == []
    assert visit.said == []


def test_every_layer_is_there(visit):
    for kind in ("boundary", "roof", "ridge", "crown-deciduous", "crown-evergreen", "hedge", "fence", "gate", "keepout",
                 "bed", "bed-proposed", "place", "route", "heap", "pile", "contour"):  # fmt: skip
        assert visit.page.locator(f"path.sp-{kind}").count() > 0, kind
    assert visit.page.locator("img.sp-picture-sun").count() == 1
    assert visit.page.locator(".sp-symbol-tap").count() == 1


def test_layers_are_switched_by_their_box(visit):
    boxes = visit.page.locator("input[data-layer]")
    assert boxes.count() >= 12
    for key, kind in (("beds", "bed"), ("routes", "route"), ("plants", "hedge"), ("contours", "contour")):
        box = visit.page.locator(f'input[data-layer="{key}"]')
        box.uncheck()
        assert visit.page.locator(f"path.sp-{kind}").count() == 0
        box.check()
        assert visit.page.locator(f"path.sp-{kind}").count() > 0


def test_the_slider_changes_the_picture(visit):
    page = visit.page
    pictures = set()
    for month in range(13):
        page.evaluate("month => siteplan.show_map(month)", month)
        pictures.add(page.locator("img.sp-picture-sun").get_attribute("src"))
    assert len(pictures) == 13
    slider = page.locator("#month")
    slider.focus()
    page.keyboard.press("Home")
    assert slider.get_attribute("aria-valuetext") == "January"
    page.keyboard.press("ArrowRight")
    assert page.locator("#month-name").inner_text() == "February"


def test_play_goes_on_and_stops(visit):
    page = visit.page
    page.evaluate("siteplan.show_map(12)")
    page.locator("#play").click()
    assert page.locator("#play").get_attribute("aria-label") == "Stop"
    page.locator("#month-name", has_text="February").wait_for(timeout=20_000)
    page.locator("#play").click()
    assert page.locator("#play").get_attribute("aria-pressed") == "false"
    assert page.evaluate("siteplan.playing") == 0


@pytest.mark.parametrize("month", [0, 5, 11, 12])
def test_the_figure_under_the_pointer_is_the_cell_s(visit, drawn_plan, month):
    page, maps = visit.page, drawn_plan.maps
    page.evaluate("month => siteplan.show_map(month)", month)
    known = np.argwhere(np.isfinite(maps.season_h))
    for row, column in known[:: len(known) // 7]:
        x, y = maps.grid.x[column], maps.grid.y[row]
        page.evaluate("point => siteplan.map.fire('mousemove', {latlng: siteplan.at(point)})", [x, y])
        hours = maps.season_h[row, column] if month == 12 else maps.month_h[month, row, column]
        # the page holds hundredths of an hour
        assert float(page.locator("#readout").get_attribute("data-value")) == pytest.approx(hours, abs=0.0051)


def test_a_real_pointer_reads_the_cell_it_points_at(visit, drawn_plan):
    page, maps = visit.page, drawn_plan.maps
    page.evaluate("siteplan.show_map(12)")
    row, column = maps.grid.cell_of(6.0, 5.0)
    spot = page.evaluate(
        "point => siteplan.map.latLngToContainerPoint(siteplan.at(point))", [maps.grid.x[column], maps.grid.y[row]]
    )
    frame = page.locator(".folium-map").bounding_box()
    page.mouse.move(frame["x"] + spot["x"] + 1.5, frame["y"] + spot["y"] + 1.5)
    assert float(page.locator("#readout").get_attribute("data-value")) == pytest.approx(
        maps.season_h[row, column], abs=0.0051
    )
    assert "h of sun a day in the growing season" in page.locator("#readout").inner_text()


def test_the_map_is_read_by_keys_as_well(visit, drawn_plan):
    page, maps = visit.page, drawn_plan.maps
    page.evaluate("siteplan.show_map(12); siteplan.map.setView(siteplan.at([5, 5]), 5, {animate: false})")
    page.locator(".folium-map").focus()
    page.keyboard.press("ArrowUp")
    page.wait_for_timeout(600)
    assert page.locator("#readout").get_attribute("aria-live") == "polite"
    x, y = page.evaluate("siteplan.metres(siteplan.map.getCenter())")
    assert y > 5
    row, column = maps.grid.cell_of(x, y)
    assert float(page.locator("#readout").get_attribute("data-value")) == pytest.approx(
        maps.season_h[row, column], abs=0.0051
    )


@pytest.fixture
def painted_with_light(visit):
    page = visit.page
    page.locator(".choose label", has_text="Light for plants").click()
    yield page
    page.locator(".choose label", has_text="Hours of sun").click()


def test_light_is_chosen_in_place_of_the_sun(painted_with_light, visit):
    page = painted_with_light
    assert page.locator("img.sp-picture-light").count() == 1
    assert page.locator("img.sp-picture-sun").count() == 0
    assert page.locator(".scale:visible").count() == 1
    assert (
        "mol/m² of light for plants a day on clear days: clouds left out"
        in page.locator(".scale:visible").inner_text()
    )
    assert "12 mol/m²" in page.locator("#line-words").inner_text()
    assert page.locator("#painting-name").inner_text() == "Light for plants"
    assert page.locator(".sp-contour").count() == 2
    page.locator('input[data-layer="sun"]').uncheck()
    assert page.locator("img.sp-picture-light").count() == 0
    page.locator('input[data-layer="sun"]').check()
    assert page.locator("img.sp-picture-light").count() == 1
    assert visit.said == []


@pytest.mark.parametrize("month", [0, 6, 12])
def test_light_under_the_pointer_is_the_cell_s(painted_with_light, drawn_plan, month):
    page, maps = painted_with_light, drawn_plan.light_maps
    page.evaluate("month => siteplan.show_map(month)", month)
    light = maps.light.dli_mol_m2 if month == 12 else maps.month_light.dli_mol_m2[month]
    known = np.argwhere(np.isfinite(light))
    for row, column in known[:: len(known) // 7]:
        value, said = page.evaluate(
            """point => {
                siteplan.map.fire('mousemove', {latlng: siteplan.at(point)});
                return [siteplan.readout.dataset.value, siteplan.readout.textContent];
            }""",
            [maps.grid.x[column], maps.grid.y[row]],
        )
        assert float(value) == pytest.approx(light[row, column], abs=0.0501)  # the page holds tenths of a mole
        assert abs(int(said.split(" mol/m² of light a day on clear days")[0]) - float(value)) <= 0.5


def test_light_is_judged_as_everywhere_else(visit):
    for mol in range(60):
        said = visit.page.evaluate("mol => siteplan.figure_of.light(mol, siteplan.paintings.light)[1]", mol)
        verdicts = [(light_verdict(mol, want), want.group) for want in LIGHT_NEEDS]
        best = [f"{verdict} for {group}" for verdict, group in verdicts if verdict != "too little"][-1:]
        dark = [f"{verdict} for {group}" for verdict, group in verdicts if verdict == "too little"][:1]
        assert said == ", ".join(best + dark)


def test_the_choice_is_made_by_keys_as_well(visit, drawn_plan):
    page = visit.page
    page.locator('.choose input[value="sun"]').focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("siteplan.painted_with") == "sky"
    maps = drawn_plan.light_maps
    row, column = maps.grid.cell_of(6.0, 5.0)
    page.evaluate("siteplan.show_map(12)")
    page.evaluate("siteplan.map.fire('mousemove', {latlng: siteplan.at([6, 5])})")
    assert page.locator(
        "#readout"
    ).inner_text() == f"{maps.sky_share[row, column]:.0%} of the sky seen in the growing season".replace("%", " %")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("siteplan.painted_with") == "sun"
    assert page.locator("img.sp-picture-sun").count() == 1


def test_the_map_keeps_its_size_whatever_it_shows(visit):
    page = visit.page
    sizes = set()
    for key in ("light", "sky", "sun"):
        page.evaluate("key => siteplan.paint_with(key)", key)
        box = page.locator(".folium-map").bounding_box()
        sizes.add((box["width"], box["height"]))
    assert len(sizes) == 1


@pytest.mark.parametrize("width", [320, 390, 900, 1000, 1280])
def test_the_key_stays_in_its_frame(chromium, map_file, width):
    visit = Visit(chromium, map_file, width=width)
    frame = visit.page.locator(".months").bounding_box()
    for key in ("light", "sky", "sun"):
        visit.page.evaluate("key => siteplan.paint_with(key)", key)
        for part in (".choose", ".scale:visible .scale-bar"):
            box = visit.page.locator(part).bounding_box()
            assert box["x"] >= frame["x"]
            assert box["x"] + box["width"] <= frame["x"] + frame["width"]


def test_light_by_month_unfolds_in_a_bed_s_card(visit):
    page = visit.page
    page.evaluate("document.getElementById('bed-0').open = true")
    page.locator("#bed-0 .more summary").click()
    assert page.locator("#bed-0 .light-by-month .from-sun").count() == 12
    assert "36 mol/m² a day" in page.locator("#bed-0 .more summary").inner_text()
    assert "rough guide" in page.locator("#bed-0 .more").inner_text()
    page.locator("#bed-0 .more summary").click()


def test_badges_of_runs_give_way_to_each_other(chromium, map_file):
    page = Visit(chromium, map_file).page
    shown = """() => [...document.querySelectorAll('.sp-badge')].filter((badge) => getComputedStyle(badge).visibility !== 'hidden')
        .map((badge) => badge.firstChild.getBoundingClientRect()).map((box) => [box.left, box.top, box.right, box.bottom])"""
    every = page.locator(".sp-badge").count()
    counts = []
    for zoom in (0, -2, 4):
        page.evaluate("(by) => siteplan.map.setZoom(siteplan.map.getZoom() + by, { animate: false })", zoom)
        boxes = page.evaluate(shown)
        counts.append(len(boxes))
        overlaps = [
            (one, two)
            for n, one in enumerate(boxes)
            for two in boxes[n + 1 :]
            if min(one[2], two[2]) > max(one[0], two[0]) and min(one[3], two[3]) > max(one[1], two[1])
        ]
        assert overlaps == [], zoom
    assert counts[1] < counts[2] == every  # from afar some give way, from near none


def test_the_chosen_card_is_marked_in_the_drawing(visit):
    page = visit.page
    page.locator("#bed-1 > summary").click()
    assert page.locator("path.sp-chosen").count() == 1
    page.locator("#run-1 summary").click()
    assert "sp-route" in page.locator("path.sp-chosen").get_attribute("class")


def test_where_no_bed_may_stand_says_why(visit, drawn_plan):
    page = visit.page
    page.locator('input[data-layer="forbidden"]').check()
    page.evaluate("point => siteplan.map.fire('mousemove', {latlng: siteplan.at(point)})", [-1.2, 1.8])
    assert "septic" in page.locator("#readout").inner_text()
    page.locator('input[data-layer="forbidden"]').uncheck()


def test_every_card_opens_by_click_and_by_key(visit):
    page = visit.page
    for card in page.locator("details.card, details.card details").all():  # a card before what unfolds in it
        card.evaluate("card => card.open = false")
        card.locator("> summary").focus()
        page.keyboard.press("Enter")
        assert card.get_attribute("open") is not None
    page.evaluate("document.querySelectorAll('details.card').forEach(card => card.open = false)")
    page.locator("path.sp-bed").first.focus()
    page.keyboard.press("Enter")
    assert page.locator("#bed-0").get_attribute("open") is not None
    assert page.evaluate("document.activeElement.parentElement.id") == "bed-0"


def test_all_that_can_be_pressed_has_a_name_and_is_reached_by_tab(visit):
    nameless = visit.page.evaluate(
        """() => [...document.querySelectorAll('button, a, input, [role=button], [tabindex="0"]')]
        .filter(e => !(e.textContent.trim() || e.getAttribute('aria-label') || e.title || e.labels?.length))
        .map(e => e.outerHTML.slice(0, 80))""",
    )
    assert nameless == []
    reached = visit.page.evaluate(
        "[...document.querySelectorAll('path.sp-bed, path.sp-place, path.sp-route')].map(e => e.tabIndex)"
    )
    assert set(reached) == {0}


def test_the_tape_measures_metres(visit):
    page = visit.page
    page.locator(".sp-tape button").click()
    for point in ([0, 3], [3, 7]):
        page.evaluate("point => siteplan.map.fire('click', {latlng: siteplan.at(point)})", point)
    # the 3-4-5 triangle
    assert "16 ft 5 in (5.00 m)" in page.locator("#readout").inner_text()
    page.locator(".sp-tape button").click()


def test_the_tape_measures_on_badges_piles_and_places_too(chromium, map_file):
    page = Visit(chromium, map_file).page
    page.locator(".sp-tape button").click()
    marks = [
        page.locator(".sp-badge-place").first, page.locator(".sp-badge-route").first,
        page.locator("path.sp-drop, path.sp-pile").first, page.locator("path.sp-bed").first,
        page.locator(".sp-symbol-tap").first,
    ]  # fmt: skip
    for number, mark in enumerate(marks, start=1):
        box = mark.bounding_box()
        x, y = box["x"] + box["width"] / 2 + 3, box["y"] + box["height"] / 2
        page.mouse.click(x, y)
        measured = page.evaluate("document.querySelectorAll('circle.sp-tape-line, path.sp-tape-line').length")
        assert measured == 2 * number - 1  # a point each, and a leg between two of them
        where = page.evaluate(
            "([x, y]) => siteplan.metres(siteplan.map.mouseEventToLatLng({clientX: x, clientY: y}))", [x, y]
        )
        last = page.evaluate("siteplan.metres(siteplan.measured.at(-1))")
        # where the pointer is, three pixels (13 cm) beside the badge's middle: the browser tells whole pixels of 4.4 cm
        assert last == pytest.approx(where, abs=0.05)
    assert page.locator("details.card[open]").count() == 0


OVERLAPS = """() => {
  const shown = (selector) => [...document.querySelectorAll(selector)].filter((one) => {
    const style = getComputedStyle(one);
    return style.visibility !== 'hidden' && style.display !== 'none' && one.offsetParent !== null;
  });
  const box = (one) => { const at = one.getBoundingClientRect(); return [at.left, at.top, at.right, at.bottom]; };
  const names = shown('.sp-label').map((one) => ['name ' + one.textContent, box(one.firstChild)]);
  const others = [...document.querySelectorAll('path.sp-bed, path.sp-bed-proposed, path.sp-place')]
    .map((one) => [one.getAttribute('class').split(' ')[0], box(one)])
    .concat(shown('.sp-badge').map((one) => ['badge ' + one.textContent, box(one.firstChild)]))
    .concat(shown('.sp-contour-text').map((one) => ['line ' + one.textContent, box(one.firstChild)]));
  const found = [];
  names.forEach(([name, one], index) => {
    for (const [other, two] of [...names.slice(index + 1), ...others]) {
      const wide = Math.min(one[2], two[2]) - Math.max(one[0], two[0]);
      const tall = Math.min(one[3], two[3]) - Math.max(one[1], two[1]);
      if (wide > 1 && tall > 1) found.push(name + ' / ' + other);
    }
  });
  return [names.length, found];
}"""


@pytest.mark.parametrize("zoom", [0, 1, 2])
def test_no_name_lies_on_a_bed_or_on_another_name(chromium, map_file, zoom):
    page = Visit(chromium, map_file).page
    page.evaluate("(by) => siteplan.map.setZoom(siteplan.map.getZoom() + by, { animate: false })", zoom)
    count, found = page.evaluate(OVERLAPS)
    assert count > 3
    assert found == []


@pytest.mark.parametrize("width", [1280, 390])
def test_the_first_stop_of_the_tab_key_is_the_map_and_every_stop_shows(chromium, map_file, width):
    page = Visit(chromium, map_file, width=width).page
    ring = """() => {
      const one = document.activeElement;
      const parts = [one, one.nextElementSibling, one.parentElement].filter(Boolean);
      const style = (part) => getComputedStyle(part);
      const outlined = parts.some((part) => style(part).outlineStyle !== 'none' && parseFloat(style(part).outlineWidth) >= 2);
      return [one.id || one.getAttribute('class') || one.tagName, outlined || parseFloat(style(one).strokeWidth) >= 5];
    }"""
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement === siteplan.map.getContainer()")
    assert page.evaluate(ring)[1]
    blind = []
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            break
        name, shows = page.evaluate(ring)
        if not shows:
            blind.append(name)
    assert blind == []


def test_a_place_s_card_says_its_corners(visit):
    table = visit.page.locator("#place-1 table")
    rows = [row.locator("td").all_text_contents() for row in table.locator("tbody tr").all()]
    assert [row[0] for row in rows] == ["1", "2", "3", "4"]
    assert all(cell.endswith(" in") for row in rows for cell in row[1:])  # from A and B, as on the work sheet
    assert {len(row) for row in rows} == {3}


def test_the_scale_bar_is_true(visit):
    page = visit.page
    for unit, metres in (("m", 1.0), ("ft", 0.3048)):
        row = page.locator(f".sp-scale-{unit}")
        count = float(row.locator("span").inner_text().split()[0])
        wide = row.locator(".sp-scale-bar").evaluate("bar => bar.style.width")
        pixels = page.evaluate(
            "siteplan.map.latLngToContainerPoint(siteplan.at([1, 0])).x - siteplan.map.latLngToContainerPoint(siteplan.at([0, 0])).x"
        )
        # latLngToContainerPoint rounds to whole pixels: half a pixel at each end of a metre of 15 or more
        assert float(wide.removesuffix("px")) == pytest.approx(count * metres * pixels, rel=1.2 / pixels)


@pytest.mark.parametrize("width", [320, 390, 860, 1280])
def test_no_sideways_scrolling(chromium, map_file, width):
    visit = Visit(chromium, map_file, width=width, height=844)
    visit.page.evaluate("document.querySelectorAll('details').forEach(card => card.open = true)")
    assert visit.page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_file_does_not_hold_where_the_garden_is(map_file):
    page = map_file.read_text(encoding="utf-8")
    assert "105.18" not in page
    assert "39.74" not in page


def test_hostile_names_are_inert_everywhere(chromium, hostile_plan, tmp_path):
    path = tmp_path / "map.html"
    site_map(hostile_plan).save(path)
    visit = Visit(chromium, path)
    page = visit.page
    page.evaluate("document.querySelectorAll('details').forEach(card => card.open = true)")
    page.locator('input[data-layer="forbidden"]').check()
    read = page.evaluate(
        """() => {
            const said = new Set();
            for (const mark of document.querySelectorAll('path.leaflet-interactive, .leaflet-marker-icon')) {
                mark.dispatchEvent(new MouseEvent('mouseover', {bubbles: true}));
                for (const tip of document.querySelectorAll('.sp-tip')) said.add(tip.textContent);
                mark.dispatchEvent(new MouseEvent('mouseout', {bubbles: true}));
            }
            for (let x = -14; x < 14; x++) for (let y = -10; y < 10; y++) {
                siteplan.map.fire('mousemove', {latlng: siteplan.at([x, y])});
                said.add(document.getElementById('readout').textContent);
            }
            return [...said].join(' ');
        }""",
    )
    assert HOSTILE["markup"] in read
    assert HOSTILE["template"] in read
    assert visit.said == []
    assert visit.outside == []
    assert page.locator("img[src=x]").count() == 0
    text = page.evaluate("document.body.innerText")
    assert HOSTILE["template"] in text
    assert HOSTILE["markup"] in text
    assert "boo" not in re.sub(r"\{%.*?%\}boo\{%.*?%\}", "", text)
    assert page.evaluate("document.documentElement.scrollWidth") <= 1280
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_basemap_is_asked_for_only_when_wanted(chromium, drawn_plan, tmp_path):
    path = tmp_path / "map.html"
    site_map(drawn_plan, tiles=True).save(path)
    visit = Visit(chromium, path)
    assert visit.outside
    assert all(url.startswith(BASEMAP_HOST) for url in visit.outside)
    assert "learns your address" in visit.page.locator(".title-block").inner_text()
    assert "OpenStreetMap" in visit.page.locator(".leaflet-control-attribution").inner_text()
    # the drawing lies where it should: the house's corner, in longitude and latitude, under the same pixel
    x, y = -9.0, -2.5
    at = visit.page.evaluate("point => siteplan.at(point)", [x, y])
    from shapely import Point

    true = drawn_plan.site.frame.to_lonlat(Point(x, y))
    assert (at["lng"], at["lat"]) == pytest.approx((true.x, true.y), abs=2e-8)  # 2 mm on the ground


def test_a_plan_without_maps_and_answers_opens_as_well(chromium, drawn_plan, tmp_path):
    path = tmp_path / "map.html"
    site_map(replace(drawn_plan, maps=None, beds=(), places=None, fill=None, haul=None)).save(path)
    visit = Visit(chromium, path)
    assert visit.said == []
    assert visit.page.locator("path.sp-bed").count() > 0


@pytest.mark.parametrize("width", [1280, 390])
def test_nothing_shuts_out_who_cannot_see_or_point(chromium, map_file, width):
    """axe-core, the open rule set of WCAG 2.x checks: no violation, whatever its weight."""
    rules = pytest.importorskip("axe_playwright_python")
    visit = Visit(chromium, map_file, width=width)
    visit.page.evaluate("document.querySelectorAll('details').forEach(card => card.open = true)")
    visit.page.evaluate((resources.files(rules) / "axe.min.js").read_text(encoding="utf-8"))
    found = visit.page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
    assert [(one["id"], one["nodes"][0]["html"][:120]) for one in found] == []


def test_an_old_browser_still_shows_the_season(chromium, map_file):
    visit = Visit(chromium, map_file, before="delete window.DecompressionStream")
    assert visit.said == []
    assert visit.page.locator("img.sp-picture-sun").get_attribute("src").startswith("data:image/png")
    assert "too old" in visit.page.locator("#readout").inner_text()
    visit.page.locator(".choose label", has_text="Sky seen").click()
    assert visit.page.locator("img.sp-picture-sky").get_attribute("src").startswith("data:image/png")
    assert visit.said == []


def test_on_paper_every_card_is_open(chromium, map_file):
    visit = Visit(chromium, map_file)
    visit.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert visit.page.locator("details:not([open])").count() == 0
    visit.page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert visit.page.locator("details.card[open]").count() == 0
