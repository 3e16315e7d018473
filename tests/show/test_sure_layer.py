"""Where enough sun is sure, on the map's page, in the folder, in plan.json and in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rasterio

from siteplan.say.doubt import ground_sentence
from siteplan.show.map.packing import unpacked_hours
from siteplan.show.map.site_map import site_map
from siteplan.show.map.sure_layer import sure_data, sure_key
from siteplan.show.tables.document import plan_document
from siteplan.show.writing import write_answers
from siteplan.sun.doubt.sure_map import SureMap

from .visits import Visit


@pytest.fixture(scope="session")
def sure_plan(drawn_plan):
    """Return the plan with a map in which the west is sure to have the hours, the east sure not to."""
    maps = drawn_plan.maps
    steps = np.round(np.linspace(16, 0, maps.grid.columns)) / 16
    share = np.where(np.isfinite(maps.season_h), steps, np.nan)
    return replace(drawn_plan, sure_map=SureMap(maps.grid, 6.0, 16, share))


def test_the_file_has_one_band_that_says_how_it_was_made(sure_plan, tmp_path):
    out = write_answers(sure_plan, tmp_path / "out", command="sun").folder
    with rasterio.open(out / "sure.tif") as raster, rasterio.open(out / "sun_hours.tif") as sun:
        assert raster.count == 1
        assert (raster.transform, raster.crs, raster.shape) == (sun.transform, sun.crs, sun.shape)
        assert raster.descriptions == ("Growing season: share of trials with at least 6 hours of direct sun per day",)
        assert raster.units == ("1",)
        assert np.array_equal(raster.read(1), sure_plan.sure_map.share.astype(np.float32), equal_nan=True)
        tags = raster.tags()
    assert (tags["NEED_H"], tags["DRAWS"]) == ("6", "16")
    assert tags["TIFFTAG_IMAGEDESCRIPTION"].startswith("Share of 16 trials in which a cell gets 6 h of direct sun")


@pytest.mark.parametrize(("command", "there"), [("sun", True), ("plan", True), ("map", False), ("fill", False)])
def test_which_commands_write_it(sure_plan, drawn_plan, command, there, tmp_path):
    assert ("sure.tif" in write_answers(sure_plan, tmp_path / "sure", command=command).names) == there
    assert "sure.tif" not in write_answers(drawn_plan, tmp_path / "not", command=command).names


def test_plan_json_has_the_shares_of_the_ground(sure_plan, drawn_plan):
    found = plan_document(sure_plan)["sure"]
    assert (found["need_h"], found["draws"]) == (6.0, 16)
    assert found["share_sure"] + found["share_sure_not"] + found["share_not_sure"] == pytest.approx(1.0)
    assert plan_document(drawn_plan)["sure"] is None


def test_a_sentence_says_it(sure_plan):
    has, has_not, unsure = sure_plan.sure_map.parts()
    said = ground_sentence(sure_plan.sure_map)
    assert f"{has:.0%}".replace("%", " %") in said
    assert f"{has_not:.0%}".replace("%", " %") in said
    assert f"of {unsure:.0%}".replace("%", " %") in said
    assert ground_sentence(None) == ""


def test_the_page_holds_whole_draws(sure_plan):
    sure = sure_plan.sure_map
    packed = sure_data(sure)["packed"]
    back = unpacked_hours(packed, (1, *sure.grid.shape), step=1 / 16)[0]
    assert back == pytest.approx(sure.share, abs=1e-4, nan_ok=True)  # written to four decimals
    assert [one["text"] for one in sure_key(sure)["classes"]] == [
        "Sure to get 6 h",
        "Not sure",
        "Sure to get less than 6 h",
    ]


@pytest.fixture(scope="module")
def sure_file(sure_plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("map") / "map.html"
    site_map(sure_plan).save(path)
    return path


def pixel(page, x, y):
    """Return the colour of the picture at a place, as drawn. [m]"""
    return page.evaluate(
        """async ([x, y]) => {
            const shown = new Image();
            shown.src = document.querySelector("img.sp-picture-sure").src;
            await shown.decode();
            const canvas = document.createElement("canvas"), grid = siteplan.grid, fine = shown.width / grid.columns;
            canvas.width = shown.width; canvas.height = shown.height;
            const pen = canvas.getContext("2d");
            pen.drawImage(shown, 0, 0);
            const across = (x - grid.west) / grid.cell * fine, down = (grid.north - y) / grid.cell * fine;
            return [...pen.getImageData(across, down, 1, 1).data];
        }""",
        [x, y],
    )


@pytest.mark.browser
def test_the_box_covers_the_ground_and_changes_the_key(chromium, sure_file):
    visit = Visit(chromium, sure_file)
    page, box = visit.page, visit.page.locator('input[data-layer="sure"]')
    frame = page.locator(".folium-map").bounding_box()
    assert not box.is_checked()
    assert page.locator("img.sp-picture-sure").count() == 0
    assert not page.locator(".sure-key").is_visible()
    box.check()
    assert page.locator(".sure-key").is_visible()
    assert page.locator(".scale:visible").count() == 0
    assert page.locator("#print-month").text_content() == "Where 6 h of sun a day in the growing season are sure"
    assert page.locator(".folium-map").bounding_box() == frame
    assert pixel(page, -14, 3)[:3] == page.evaluate("siteplan.sure_colours.enough")
    assert pixel(page, 14, 3)[:3] == page.evaluate("siteplan.sure_colours.less")
    assert pixel(page, 20, 20)[3] == 0
    box.uncheck()
    assert not page.locator(".sure-key").is_visible()
    assert visit.said == []


@pytest.mark.browser
def test_under_the_pointer_it_says_how_many_draws(chromium, sure_file, sure_plan):
    page = Visit(chromium, sure_file).page
    page.locator('input[data-layer="sure"]').check()
    for x, words in ((-14, "sure to get 6 h"), (0.3, "not sure"), (14, "sure to get less than 6 h")):
        row, column = sure_plan.sure_map.grid.cell_of(x, 3.2)
        draws = round(sure_plan.sure_map.share[row, column] * 16)
        page.evaluate("([x, y]) => siteplan.read_off(siteplan.at([x, y]))", [x, 3.2])
        assert page.locator("#readout").text_content().endswith(f": {words} ({draws} of 16 trials)")


@pytest.mark.browser
@pytest.mark.parametrize("asked", ["siteplan.show_map(5)", "siteplan.paint_with('light')"])
def test_another_month_or_map_uncovers_the_ground(chromium, sure_file, asked):
    page = Visit(chromium, sure_file).page
    page.locator('input[data-layer="sure"]').check()
    page.evaluate(asked)
    assert not page.locator('input[data-layer="sure"]').is_checked()
    assert page.locator("img.sp-picture-sure").count() == 0
    assert page.locator(".scale:visible").count() == 1


@pytest.mark.browser
@pytest.mark.parametrize("width", [320, 390, 900, 1000, 1280])
def test_its_key_stays_in_its_frame(chromium, sure_file, width):
    page = Visit(chromium, sure_file, width=width).page
    page.locator('input[data-layer="sure"]').check()
    frame = page.locator(".months").bounding_box()
    for part in page.locator(".sure-key li").all():
        box = part.bounding_box()
        assert box["x"] >= frame["x"]
        assert box["x"] + box["width"] <= frame["x"] + frame["width"]
        assert box["y"] + box["height"] <= frame["y"] + frame["height"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.browser
def test_an_old_browser_complains_of_nothing(chromium, sure_file):
    visit = Visit(chromium, sure_file, before="delete window.DecompressionStream")
    visit.page.locator('input[data-layer="sure"]').check()
    visit.page.evaluate("siteplan.read_off(siteplan.at([0, 3]))")
    assert visit.said == []


def test_the_layer_counts_draws(sure_plan):
    """Of 16 draws nine tenths are 14.4, a tenth 1.6."""
    data = sure_data(sure_plan.sure_map)
    assert (data["draws"], data["need"]) == (16, 6.0)
    assert (data["least"], data["most"]) == (pytest.approx(14.4), pytest.approx(1.6))
    assert data["words"] == "Where 6 h of sun a day in the growing season are sure"


def test_without_ground_no_share_is_sure(sure_plan):
    blank = replace(sure_plan.sure_map, share=np.full_like(sure_plan.sure_map.share, np.nan))
    assert [one["share"] for one in sure_key(blank)["classes"]] == ["0 %"] * 3
    shares = [one["share"] for one in sure_key(sure_plan.sure_map)["classes"]]
    assert len(set(shares) - {"0 %"}) >= 2
