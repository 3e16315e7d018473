"""The picture under the drawing, under map.html too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from siteplan.files.backdrop.backdrop_file import keep_picture, save_backdrop
from siteplan.files.backdrop.picture import from_pixels
from siteplan.land.ground_picture import GroundPicture
from siteplan.land.picture_map import map_by_two
from siteplan.show.map.site_map import site_map

from .visits import Visit


@pytest.fixture(scope="module")
def plan_over_picture(drawn_plan, tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    pixels = np.asarray(Image.effect_noise((400, 300), 60).convert("RGB"))
    kept = save_backdrop(folder, replace(keep_picture(folder, from_pixels(pixels, photo=True)), under_map=True), None)
    west, _, east, north = drawn_plan.site.boundary.bounds
    pins = np.array([[west, north], [east, north]])  # the upper edge of the property, and 3/4 of its width down
    picture = GroundPicture(folder, map_by_two([[0, 0], [400, 0]], pins), pins, kept.width, kept.height, 0.4)
    return replace(drawn_plan, site=replace(drawn_plan.site, backdrop=picture))


def test_the_page_holds_the_picture_and_its_place(plan_over_picture, drawn_plan):
    page = site_map(plan_over_picture).get_root().render()
    assert "data:image/webp;base64," in page
    assert "Picture under the drawing" in page
    west = round(plan_over_picture.site.boundary.bounds[0], 3)
    assert f"[{west}, " in page.split("siteplan.backdrop(")[1]
    without = site_map(drawn_plan).get_root().render()
    assert "data:image/webp" not in without
    assert "Picture under the drawing" not in without


@pytest.mark.browser
def test_it_is_seen_under_the_sun_and_switched_off(plan_over_picture, chromium, tmp_path):
    path = tmp_path / "map.html"
    site_map(plan_over_picture).save(path)
    visit = Visit(chromium, path)
    page = visit.page
    picture = page.locator(".leaflet-backdrop-pane img")
    assert picture.count() == 1
    assert picture.evaluate("one => getComputedStyle(one).opacity") == "0.4"
    box, sun = picture.bounding_box(), page.locator("img.sp-picture-sun").bounding_box()
    assert box["width"] == pytest.approx(sun["width"], rel=0.05)  # as wide as the property, give or take a cell
    assert box["height"] == pytest.approx(0.75 * box["width"], rel=0.02)
    toggle = page.locator('input[data-layer="backdrop"]')
    assert toggle.is_checked()
    toggle.uncheck()
    assert picture.count() == 0
    assert page.locator(".sp-over-backdrop").count() == 0
    toggle.check()
    assert page.locator(".sp-over-backdrop").count() == 1
    assert visit.outside == []
    assert visit.said == []
