"""What is drawn is chosen, moved, turned, copied and mended on the page."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, shape

from .stand_in import StandIn
from .visits import FOOT, SETTINGS, area, lot, visiting

pytestmark = pytest.mark.browser


@pytest.fixture
def yard(chromium):
    shed = area("shed", "building", [[15, 24], [18, 24], [18, 27], [15, 27]], height="3 m")
    with visiting(chromium, StandIn(lot(shed), SETTINGS)) as visit:
        yield visit
        assert visit.said == []


def polygon(visit, name):
    return shape(visit.held.of(name)["geometry"])


def opened(visit, part):
    visit.page.locator(f"#{part} > summary").click()


def test_a_thing_is_chosen_and_moved_by_drag_without_losing_its_shape(yard):
    before = polygon(yard, "house")
    yard.drag((9, 6), (10.5, 12.7))
    yard.saved()
    after = polygon(yard, "house")
    assert after.area == pytest.approx(before.area, rel=1e-6)
    # 0.2 m: a drag in pixels, and a corner may take hold of what is near
    assert [after.centroid.x, after.centroid.y] == pytest.approx([10.5, 12.7], abs=0.2)
    assert yard.held.past[-1][0].startswith("moved house by ")
    assert yard.page.locator("#card-name").input_value() == "house"


def test_several_by_shift_click_and_by_a_frame(yard):
    yard.click(9, 6)
    yard.click(
        16.5,
        25.5,
    )
    assert yard.page.locator("#card-name").input_value() == "shed"
    yard.page.keyboard.down("Shift")
    yard.click(9, 6)
    yard.page.keyboard.up("Shift")
    assert yard.page.locator("#hand h2").inner_text() == "2 things are chosen"
    yard.page.keyboard.press("Escape")
    yard.page.keyboard.down("Shift")
    yard.drag((7, 19), (18.7, 28))
    yard.page.keyboard.up("Shift")
    assert sorted(yard.page.locator("#hand .names li").all_inner_texts()) == ["bed-1", "shed"]


def test_arrow_keys_move_by_a_foot_and_many_strokes_are_one_step(yard):
    yard.click(16.5, 25.5)
    for key in ("ArrowLeft", "ArrowLeft", "ArrowDown", "Shift+ArrowDown", "Alt+ArrowUp"):
        yard.page.keyboard.press(key)
    yard.page.locator("#undo", has_text="moved shed").wait_for()
    assert len(yard.held.past) == 1
    assert polygon(yard, "shed").bounds[:2] == pytest.approx((15 - 2 * FOOT, 24 - 10.9 * FOOT), abs=2e-4)


def test_it_is_moved_by_a_typed_distance(yard):
    yard.click(16.5, 25.5)
    opened(yard, "do-move")
    yard.page.locator("#move-far").fill("6 ft 6 in <180")
    yard.page.locator("#move-far").press("Enter")
    yard.saved()
    assert polygon(yard, "shed").bounds[:2] == pytest.approx((15, 24 - 6.5 * FOOT), abs=1e-4)


def test_it_is_turned_by_degrees_about_its_middle_and_about_a_point(yard):
    yard.click(16.5, 25.5)
    opened(yard, "do-turn")
    yard.page.locator("#turn-angle").fill("30")
    yard.page.locator("#turn-angle").press("Enter")
    yard.page.locator("#undo", has_text="turned").wait_for()
    turned = polygon(yard, "shed")
    assert turned.centroid.coords[0] == pytest.approx((16.5, 25.5), abs=1e-3)
    yard.page.locator("#turn-about").click()
    yard.click(20, 30)  # a corner of the lot
    yard.page.locator("#turn-angle").fill("90")
    yard.page.locator("#turn-angle").press("Enter")
    yard.page.locator("#undo", has_text="by 90").wait_for()
    # clockwise about (20, 30): (-3.5, -4.5) from it becomes (-4.5, 3.5)
    assert polygon(yard, "shed").centroid.coords[0] == pytest.approx((15.5, 33.5), abs=1e-3)


def test_it_is_turned_by_its_handle(yard):
    yard.click(16.5, 25.5)
    grip = yard.page.evaluate("""async () => {
        const { turnGrip } = await import("/page/overlay.js");
        const { featureOf } = await import("/page/state.js");
        return turnGrip(featureOf("shed"));
    }""")
    yard.drag(tuple(grip), (16.5 + 8, 25.5))  # from straight up to straight right
    yard.saved()
    assert yard.held.past[-1][0] == "turned shed by 90 degrees"
    assert polygon(yard, "shed").symmetric_difference(Polygon([(15, 24), (18, 24), (18, 27), (15, 27)])).area < 1e-3


def test_copy_mirror_and_remove(yard):
    yard.click(9, 6)
    yard.page.locator("#do-copy").click()
    yard.saved()
    assert polygon(yard, "house-2").area == pytest.approx(polygon(yard, "house").area)
    yard.page.locator("#do-mirror").click()
    yard.page.locator("#undo", has_text="mirrored").wait_for()
    yard.page.locator("#do-remove").click()
    yard.page.locator("#undo", has_text="removed house-2").wait_for()
    assert "house-2" not in [one["id"] for one in yard.held.features]


def test_mirrored_at_a_line_through_two_points(yard):
    yard.click(16.5, 25.5)
    yard.page.locator("#do-mirror-line").click()
    yard.click(20, 0)
    yard.click(20, 30)  # the right side of the lot
    yard.page.locator("#do-mirror-at").click()
    yard.saved()
    assert polygon(yard, "shed").bounds == pytest.approx((22, 24, 25, 27), abs=1e-3)


def test_a_side_is_split_and_set_and_a_corner_taken_out(yard):
    yard.click(9, 6)
    yard.page.locator("#pick-side").select_option("0")
    yard.page.locator("#side-long").fill("8 m")
    yard.page.locator("#side-long").press("Enter")
    yard.page.locator("#undo", has_text="set a side").wait_for()
    assert polygon(yard, "house").bounds == pytest.approx((4, 2, 12, 10))  # a rectangle stays one
    yard.click(8, 2)  # the same side, on the paper
    yard.page.locator("#split-side").click()
    yard.page.locator("#undo", has_text="split").wait_for()
    assert [8, 2] in yard.held.of("house")["geometry"]["coordinates"][0]
    yard.page.locator("#remove-corner").click()
    yard.page.locator("#undo", has_text="took a corner").wait_for()
    assert len(polygon(yard, "house").exterior.coords) == 5


def test_a_corner_is_dragged_and_a_rectangle_stays_one_unless_let_go(yard):
    yard.click(9, 6)
    yard.drag((14, 10), (16.2, 12.1))
    yard.saved()
    house = polygon(yard, "house")
    assert house.area == pytest.approx(house.envelope.area, rel=1e-6)
    assert house.bounds[:2] == pytest.approx((4, 2))
    assert house.bounds[2:] == pytest.approx((16.2, 12.1), abs=0.2)
    yard.page.mouse.move(*yard.at(house.bounds[2], house.bounds[3]))
    yard.page.mouse.down()
    yard.page.keyboard.down("Shift")
    yard.page.mouse.move(*yard.at(17.5, 14), steps=4)
    yard.page.mouse.up()
    yard.page.keyboard.up("Shift")
    yard.page.locator("#undo", has_text="moved a corner").wait_for()
    free = polygon(yard, "house")
    assert free.area < 0.95 * free.envelope.area


def test_a_parallel_to_a_line(yard):
    yard.page.keyboard.press("f")
    yard.click(3, 14)
    yard.type("10 m <90")
    yard.page.keyboard.press("Enter")
    yard.saved()
    opened(yard, "do-parallel")
    yard.page.locator("#parallel-far").fill("3 ft")
    yard.page.locator("#parallel-far").press("Enter")
    yard.page.locator("#undo", has_text="drew fence-2").wait_for()
    one, other = (yard.held.of(name)["geometry"]["coordinates"] for name in ("fence-1", "fence-2"))
    assert [y for _, y in other] == pytest.approx([y - 3 * FOOT for _, y in one], abs=2e-4)  # to the right of the way


def test_the_card_has_what_the_kind_has_and_keeps_what_is_unknown(chromium):
    bed = area("bed-1", "bed", [[8, 20], [10, 20], [10, 21], [8, 21]], height="45 cm", colour="blue")
    with visiting(chromium, StandIn([*lot()[:2], bed], SETTINGS)) as visit:
        page = visit.page
        visit.click(9, 20.5)
        assert page.locator("#key-height").input_value() == "45 cm"
        assert page.locator("#key-eaves").count() == 0
        assert "common practice" in page.locator("#key-wall_thickness-says").text_content()
        for typed, kept in (("2 ft 6 in", "2.5 ft"), ("18", "18 ft"), ("40 cm", "40 cm")):
            page.locator("#key-height").fill(typed)
            page.locator("#key-height").press("Enter")
            page.locator("#undo", has_text="height of bed-1").wait_for()
            visit.saved()
            assert visit.held.of("bed-1")["properties"]["height"] == kept
        page.locator("#more-keys > summary").click()
        page.locator("#key-proposed").check()
        visit.saved()
        page.wait_for_selector("path.sp-bed-proposed")
        assert visit.held.of("bed-1")["properties"] == {
            "kind": "bed", "height": "40 cm", "colour": "blue", "proposed": True,
        }  # fmt: skip
        page.locator("#card-name").fill("north-bed")
        page.locator("#card-name").press("Enter")
        page.locator("#undo", has_text="called bed-1 north-bed").wait_for()
        assert visit.held.of("north-bed")["properties"]["colour"] == "blue"
        assert visit.said == []


def test_what_check_says_stands_beside_the_thing(yard):
    yard.page.keyboard.press("t")
    yard.click(3, 26)
    yard.saved()
    assert "height is missing" in yard.page.locator("#hand .fault").first.inner_text()
    assert "height is missing" in yard.page.locator("#faults").inner_text()
    assert "its roots reach the bed" in yard.page.locator("#hand").inner_text()
    yard.page.locator("#key-height").fill("20 ft")
    yard.page.locator("#key-height").press("Enter")
    yard.page.locator("#key-crown_diameter").fill("4 m")
    yard.page.locator("#key-crown_diameter").press("Enter")
    yard.page.wait_for_selector("#faults", state="detached")
    yard.page.locator("#card-done").click()
    yard.page.locator("#cautions .of").click()
    assert yard.page.locator("#card-name").input_value() == "tree-1"


def test_a_height_is_measured(yard):
    yard.click(9, 6)
    opened(yard, "height-helper")
    yard.page.locator("#by-angle-distance").fill("30 ft")
    yard.page.locator("#by-angle-angle").fill("42")
    yard.page.locator("#by-angle-angle").press("Enter")
    yard.page.locator("#height-take").click()
    yard.saved()
    assert yard.held.asked[-2] == ("height", {"way": "angle", "distance": "30 ft", "angle": 42})
    assert yard.held.of("house")["properties"]["height"] == "30 ft"
