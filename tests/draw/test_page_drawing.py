"""Drawing on the page as a person does it: by clicks, drags, typed lengths and tapes."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, shape

from .stand_in import StandIn
from .visits import FOOT, SETTINGS, lot, visiting

pytestmark = pytest.mark.browser


@pytest.fixture
def empty(chromium):
    with visiting(chromium, StandIn([], SETTINGS)) as visit:
        yield visit
        assert visit.said == []


@pytest.fixture
def yard(chromium):
    with visiting(chromium, StandIn(lot(), SETTINGS)) as visit:
        yield visit
        assert visit.said == []


def ring(feature):
    return shape(feature["geometry"]).exterior.coords[:-1]


def nearly(found, wanted, within=1e-4):  # a tenth of a millimetre, to which the page rounds
    assert len(found) == len(wanted)
    for one, other in zip(found, wanted, strict=True):
        assert one == pytest.approx(other, abs=within)


def test_a_boundary_by_typed_lengths_and_directions(empty):
    empty.page.keyboard.press("b")
    empty.click(5, 5)
    empty.type("40 ft 6 in <90", "30 ft left 90", "40.5 left")
    empty.page.keyboard.press("Enter")
    empty.saved()
    drawn = empty.held.of("boundary")
    assert drawn["properties"] == {"kind": "boundary"}
    x, y = ring(drawn)[0]
    wide, deep = 40.5 * FOOT, 30 * FOOT
    nearly(ring(drawn), [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)])
    assert empty.held.past[0][0] == "drew boundary"


def test_a_length_goes_the_way_the_pointer_shows(empty):
    empty.page.keyboard.press("f")
    empty.click(5, 5)
    empty.page.mouse.move(*empty.at(12, 5.05))  # a hand's breadth off: the paper's own direction holds
    assert "straight across the paper" in empty.page.locator(".dr-hold-words").inner_text()
    empty.type("12 ft")
    empty.page.keyboard.press("Enter")
    empty.saved()
    (x0, y0), (x1, y1) = empty.held.of("fence-1")["geometry"]["coordinates"]
    assert (x1 - x0, y1 - y0) == (pytest.approx(12 * FOOT, abs=1e-4), pytest.approx(0, abs=1e-4))


def test_what_cannot_be_meant_is_said(empty):
    empty.page.keyboard.press("b")
    empty.click(5, 5)
    empty.type("12 stone <90")
    assert '"stone" is no unit of length' in empty.foot()
    assert empty.page.locator("#typed").get_attribute("aria-invalid") == "true"


def test_a_rectangle_by_two_corners_by_click_and_by_drag(empty):
    empty.page.keyboard.press("r")
    empty.click(4, 4)
    empty.type("8 ft x 4 ft")
    empty.saved()
    assert Polygon(ring(empty.held.of("bed-1"))).bounds[2] - ring(empty.held.of("bed-1"))[0][0] == pytest.approx(
        8 * FOOT, abs=1e-4
    )
    empty.page.keyboard.press("Escape")
    empty.page.keyboard.press("r")
    empty.drag((10, 8), (14, 10))
    empty.saved()
    box = Polygon(ring(empty.held.of("bed-2")))
    assert box.area == pytest.approx(box.envelope.area)
    assert box.area == pytest.approx(8, abs=0.5)  # a pixel is some centimetres


def test_a_rectangle_by_three_points_stands_aslant(empty):
    empty.page.keyboard.press("u")
    empty.page.locator("#way-three").check()
    empty.click(6, 6)
    empty.type("24 ft <60")
    empty.page.mouse.move(*empty.at(6, 12))
    empty.type("12 ft")
    empty.saved()
    house = Polygon(ring(empty.held.of("building-1")))
    assert house.area == pytest.approx(24 * 12 * FOOT**2, rel=1e-5)
    assert house.minimum_rotated_rectangle.area == pytest.approx(house.area, rel=1e-5)


def test_a_circle_by_centre_and_radius(empty):
    empty.page.keyboard.press("t")
    empty.page.locator("#way-circle").check()
    empty.click(10, 8)
    empty.type("9 ft")
    empty.saved()
    crown = Polygon(ring(empty.held.of("tree-1")))
    assert crown.area == pytest.approx(3.14159265 * (9 * FOOT) ** 2, rel=1e-4)


def test_a_corner_from_two_tapes_and_she_picks_the_spot(yard):
    page = yard.page
    page.keyboard.press("w")
    page.locator("#tapes summary").click()
    page.locator("#tapes-start").click()
    yard.click(4, 10)  # two corners of the house, 10 m apart
    yard.click(14, 10)
    page.locator("#tape-a").fill("6 m")
    page.locator("#tape-b").fill("8 m")
    page.get_by_role("button", name="Find the corner").click()
    page.locator("#spot-1").click()
    yard.saved()
    # the triangle of 6, 8 and 10: 3.6 along the wall, 4.8 off it
    assert yard.held.of("tap-1")["geometry"]["coordinates"] == pytest.approx([4 + 3.6, 10 + 4.8], abs=1e-4)


def test_tapes_that_do_not_meet_are_told(yard):
    page = yard.page
    page.keyboard.press("w")
    page.locator("#tapes summary").click()
    page.locator("#tapes-start").click()
    yard.click(4, 10)
    yard.click(14, 10)
    page.locator("#tape-a").fill("4 m")
    page.locator("#tape-b").fill("5 m")
    page.get_by_role("button", name="Find the corner").click()
    assert "too short together" in yard.foot()


def test_the_misclosure_is_told_and_spread(empty):
    empty.page.keyboard.press("b")
    empty.click(4, 3)
    empty.type("40 ft <90", "30 ft <0", "40 ft <270", "29 ft 5 in <180")
    told = empty.page.locator("#misclosure").inner_text()
    assert "7 in from the first corner" in told
    assert "1 part in 239 of 139 ft 5 in" in told  # 139 ft 5 in are 1,673 in
    empty.page.locator("#spread").click()
    empty.saved()
    x, y = ring(empty.held.of("boundary"))[0]
    gap, long = 7 / 12 * FOOT, 139 + 5 / 12
    # the compass rule: the last side ended 7 in above the first corner, so each corner goes down by its share
    wanted = [
        (0, 0),
        (40, -40 / long * gap / FOOT),
        (40, 30 - 70 / long * gap / FOOT),
        (0, 30 - 110 / long * gap / FOOT),
    ]
    nearly(ring(empty.held.of("boundary")), [(x + east * FOOT, y + up * FOOT) for east, up in wanted])


def test_snaps_take_corners_and_a_key_lets_go(yard):
    page = yard.page
    page.keyboard.press("f")
    x, y = yard.at(4, 10)
    page.mouse.click(x + 4, y - 3)
    page.mouse.move(*yard.at(14, 10))
    page.keyboard.down("Shift")
    page.mouse.move(*[value + 4 for value in yard.at(14, 10)])
    assert page.locator(".dr-hold-words").count() == 0
    page.keyboard.up("Shift")
    page.mouse.move(*[value + 3 for value in yard.at(14, 10)])
    assert page.locator(".dr-hold-words").inner_text() == "corner"
    page.mouse.click(*[value + 3 for value in yard.at(14, 10)])
    page.keyboard.press("Enter")
    yard.saved()
    assert yard.held.of("fence-1")["geometry"]["coordinates"] == [[4, 10], [14, 10]]


def test_the_middle_of_a_side_and_a_right_angle(yard):
    page = yard.page
    page.keyboard.press("f")
    yard.click(9, 10)
    assert yard.page.locator("#foot-said").inner_text() == "First point set."
    page.mouse.move(*[value + 3 for value in yard.at(9, 15)])
    assert "straight up the paper" in page.locator(".dr-hold-words").inner_text()
    page.mouse.click(*[value + 3 for value in yard.at(9, 15)])
    page.keyboard.press("Enter")
    yard.saved()
    start, end = yard.held.of("fence-1")["geometry"]["coordinates"]
    assert start == [9, 10]
    assert end[0] == pytest.approx(9, abs=1e-4)


def test_what_the_kind_needs_is_asked_before_it_is_drawn(empty):
    page = empty.page
    page.keyboard.press("u")
    page.locator("#new-height").fill("12")
    page.locator("#new-height").press("Enter")
    empty.click(5, 5)
    empty.type("20 ft <90", "10 ft <0", "20 ft <270")
    page.keyboard.press("Enter")
    empty.saved()
    assert empty.held.of("building-1")["properties"] == {"kind": "building", "height": "12 ft"}


def test_a_corner_is_taken_back(empty):
    page = empty.page
    page.keyboard.press("f")
    empty.click(5, 5)
    empty.type("10 ft <90", "10 ft <0")
    page.keyboard.press("Backspace")
    empty.type("10 ft <180")
    page.keyboard.press("Enter")
    empty.saved()
    (x, y), _, last = empty.held.of("fence-1")["geometry"]["coordinates"]
    assert last == pytest.approx([x + 10 * FOOT, y - 10 * FOOT], abs=1e-4)


def corner(visit, x, y):
    """Set a corner at an exact spot; a click may miss it by a pixel."""
    visit.page.evaluate(
        'async (spot) => { const { setCorner } = await import("/page/drawing.js"); setCorner(spot); }', [x, y]
    )


@pytest.mark.parametrize(
    ("way", "before"), [("box", [(5, 5)]), ("three", [(5, 5), (12, 5)]), ("circle", [(5.0015, 5)])]
)
def test_a_shape_of_no_width_lets_go_of_its_last_corner(empty, way, before):
    empty.page.keyboard.press("t" if way == "circle" else "r")
    empty.page.locator(f"#way-{way}").check()
    for spot in before:
        corner(empty, *spot)
    corner(empty, 5 if way == "circle" else 9, 5)
    assert "a side of no length" in empty.foot()
    corner(empty, 9, 9)
    empty.saved()
    drawn = Polygon(ring(empty.held.features[0]))
    wanted = {"box": 4 * 4, "three": 7 * 4, "circle": 3.14159265 * 32}[way]
    assert drawn.area == pytest.approx(wanted, rel=1e-3)
