"""What follows the hand: a bed's figures, the map of the sun, long work, variants, a picture under the drawing."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from .stand_in import StandIn
from .visits import FOOT, SETTINGS, lot, visiting

pytestmark = pytest.mark.browser


@pytest.fixture
def yard(chromium):
    with visiting(chromium, StandIn(lot(), SETTINGS)) as visit:
        yield visit
        assert visit.said == []


def test_the_figures_of_a_bed_follow_while_it_is_dragged(yard):
    page = yard.page
    yard.click(9, 20.5)
    page.locator("#bed-figures", has_text="4.1 h a day").wait_for()
    page.mouse.move(*yard.at(9, 20.5))
    page.mouse.down()
    page.mouse.move(*yard.at(9, 10), steps=12)
    page.locator("#bed-figures", has_text="2.0 h a day").wait_for()
    page.mouse.move(*yard.at(9, 3), steps=8)
    page.locator("#bed-figures", has_text="Here the bed would stand on the house.").wait_for()
    assert not [one for one in yard.held.asked if one[0] == "edit"]  # nothing is saved while it is held
    page.mouse.up()
    yard.saved()
    page.locator("#bed-figures", has_text="Turning it would bring").wait_for()  # asked once the figures are there
    asked = [one for name, one in yard.held.asked if name == "bed"]
    assert asked[-1]["outline"] == yard.held.of("bed-1")["geometry"]["coordinates"][0][:-1]  # the newest wins


LOOK = "import('/page/saving.js').then(({ look }) => look())"


def test_figures_and_the_map_of_the_sun_come_once_the_server_answers_again(chromium):
    with visiting(chromium, StandIn(lot(), SETTINGS)) as visit:
        page = visit.page
        page.route("**/api/**", lambda route: route.abort())
        visit.click(9, 20.5)
        page.locator("#bed-figures", has_text="Its sun is not known now.").wait_for()
        page.locator("#sun-on").check()
        page.locator("#sun-state", has_text="The server does not answer").wait_for()
        page.evaluate(LOOK)
        page.locator('#saving[data-state="away"]').wait_for()
        assert 1 <= len([url for url in visit.asked if url.endswith("/api/bed")]) < 10  # not over and over
        assert 1 <= len([url for url in visit.asked if "/api/sunmap" in url]) < 10
        page.unroute("**/api/**")
        page.evaluate(LOOK)
        visit.saved()
        page.locator("#bed-figures", has_text="4.1 h a day").wait_for()
        page.wait_for_selector("img.sp-picture-sun")
        page.locator("#bed-figures", has_text="Turning it would bring 0.4 h.").wait_for()


def test_what_turning_would_bring_is_told_once_it_rests(yard):
    yard.click(9, 20.5)
    yard.page.locator("#bed-figures", has_text="Turning it would bring 0.4 h.").wait_for()
    assert "84 of 100" in yard.page.locator("#bed-figures").inner_text()


def test_at_most_one_question_about_the_bed_is_under_way(yard):
    page = yard.page
    most = page.evaluate("""() => {
        window.under_way = 0; window.most = 0;
        const plain = window.fetch;
        window.fetch = async (path, how) => {
            if (path !== "/api/bed") return plain(path, how);
            window.under_way += 1; window.most = Math.max(window.most, window.under_way);
            await new Promise((done) => setTimeout(done, 40));
            try { return await plain(path, how); } finally { window.under_way -= 1; }
        };
    }""")
    yard.click(9, 20.5)
    page.mouse.move(*yard.at(9, 20.5))
    page.mouse.down()
    page.mouse.move(*yard.at(12, 26), steps=40)
    page.mouse.up()
    yard.saved()
    most = page.evaluate("window.most")
    assert most == 1


def test_the_map_of_the_sun_lies_on_the_paper(yard):
    page = yard.page
    page.locator("#sun-on").check()
    page.wait_for_selector("img.sp-picture-sun")
    left, top = yard.at(0, 30)
    box = page.locator("img.sp-picture-sun").bounding_box()
    assert (box["x"], box["y"]) == (pytest.approx(left, abs=2), pytest.approx(top, abs=2))
    with page.expect_request(lambda request: request.url.endswith("month=5")):
        page.locator("#sun-month").select_option("5")
    page.locator("#sun-on").uncheck()
    assert page.locator("img.sp-picture-sun").count() == 0


def test_long_work_shows_how_far_it_is_is_stopped_and_opens_what_it_wrote(yard):
    page = yard.page
    page.locator("#plan-all").click()
    page.locator("#job", has_text="25 %").wait_for()
    page.locator("#job-stop").click()
    page.locator("#job", has_text="stopped").wait_for()
    page.locator("#plan-all").click()
    page.wait_for_selector("#job progress")
    yard.held.jobs[-1] |= {
        "state": "done",
        "result": {
            "open": [{"name": "The map", "url": "/plan/map.html"}, {"name": "bad", "url": "javascript:alert(1)"}]
        },
    }
    page.wait_for_selector("#job a")
    assert [one.get_attribute("href") for one in page.locator("#job a").all()] == ["/plan/map.html", "#"]


def test_a_plan_tells_which_changed_files_it_kept(yard):
    page = yard.page
    page.locator("#plan-all").click()
    page.wait_for_selector("#job progress")
    kept = 'Not as siteplan wrote it, so it is kept beside the new one: <b>sun.csv as "sun (yours).csv".'
    result = {"open": [{"name": "The map", "url": "/plan/map.html"}], "kept": kept}
    yard.held.jobs[-1] |= {"state": "done", "result": result}
    page.wait_for_selector("#job a")
    assert page.locator("#job .caution").all_inner_texts() == [kept]  # a name out of a folder is never HTML


def test_a_place_that_was_found_is_drawn(yard):
    page = yard.page
    page.locator("#find-place > summary").click()
    page.locator("#place-length").fill("8 ft")
    page.locator("#place-width").fill("4 ft")
    page.locator("#place-width").press("Enter")
    page.wait_for_selector("#job progress")
    name, asked = yard.held.asked[-1]
    assert name == "jobs"
    assert asked == {"what": "place", "length": pytest.approx(8 * FOOT), "width": pytest.approx(4 * FOOT)}
    ring = [[12, 24], [14, 24], [14, 25], [12, 25], [12, 24]]
    feature = {
        "type": "Feature",
        "id": "",
        "properties": {"kind": "bed", "height": "45 cm", "proposed": True},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    yard.held.jobs[-1] |= {
        "state": "done",
        "result": {"places": [{"rank": 1, "season_h": 7.31, "said": ["most sun"], "feature": feature}]},
    }
    page.get_by_role("button", name="Draw this bed").click()
    yard.saved()
    assert yard.held.of("bed-2")["geometry"]["coordinates"] == [ring]


@pytest.mark.parametrize("count", ["three", "2.5", "0", "-1", "3 beds"])
def test_how_many_places_is_a_whole_number(yard, count):
    page = yard.page
    page.locator("#find-place > summary").click()
    page.locator("#place-count").fill(count)
    page.locator("#place-count").press("Enter")
    page.locator("#foot-said", has_text="How many places? Type a whole number, such as 3.").wait_for()
    assert yard.held.jobs == []
    page.locator("#place-count").fill("2")
    page.locator("#place-count").press("Enter")
    page.wait_for_selector("#job progress")
    assert yard.held.asked[-1] == ("jobs", {"what": "place", "count": 2})


def test_a_variant_is_made_and_put_beside_the_property(yard):
    page = yard.page
    page.locator("#variant-name").fill("along the fence")
    page.locator("#variant-name").press("Enter")
    page.wait_for_selector("#variant-leave")
    assert "along the fence" in page.locator("#variants").inner_text()
    page.locator("#variants-compare").click()
    page.wait_for_selector("#variants-table table")
    table = page.locator("#variants-table table").first.inner_text()
    assert "6.0 h\t7.0 h" in table
    assert "120.50 USD" in table
    page.locator("#variant-leave").click()
    page.wait_for_selector("#variant-leave", state="detached")


def test_a_picture_is_chosen_scaled_by_two_points_and_taken_away(yard):
    page = yard.page
    held = io.BytesIO()
    Image.new("RGB", (400, 300), "#ccddbb").save(held, "PNG")
    page.locator("#backdrop-file").set_input_files(
        {"name": "a sketch.png", "mimeType": "image/png", "buffer": held.getvalue()}
    )
    page.wait_for_selector("#strength")
    assert yard.held.picture == held.getvalue()
    box = page.locator("img.dr-backdrop").bounding_box()
    assert box["width"] / box["height"] == pytest.approx(4 / 3, rel=0.01)
    page.locator("#backdrop-scale > summary").click()
    page.locator("#scale-start").click()
    middle = box["y"] + box["height"] / 2
    page.mouse.click(box["x"] + box["width"] / 4, middle)
    page.mouse.click(box["x"] + box["width"] / 2, middle)
    page.locator("#scale-distance").fill("5 m")
    page.locator("#scale-distance").press("Enter")
    page.locator("#foot-said", has_text="lies as you said").wait_for()
    name, asked = yard.held.asked[-1]
    assert name == "backdrop/place"
    assert [pixel for point in asked["pixels"] for pixel in point] == pytest.approx([100, 150, 200, 150], abs=1)
    left, top = yard.at(0, 15)
    right, low = yard.at(20, 0)
    box = page.locator("img.dr-backdrop").bounding_box()
    assert (box["x"], box["y"], box["width"], box["height"]) == pytest.approx(
        (left, top, right - left, low - top), abs=2
    )
    page.locator("#backdrop-remove").click()
    page.wait_for_selector("#strength", state="detached")
