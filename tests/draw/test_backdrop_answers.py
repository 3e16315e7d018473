"""A picture under the drawing, from its bytes to where it lies."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
import shapely
from PIL import Image

from siteplan.draw import backdrop_answers
from siteplan.draw.backdrop_answers import backdrop_answer, backdrop_picture, backdrop_view, place_answer
from siteplan.draw.plane import Plane
from siteplan.files.backdrop.backdrop_file import Backdrop
from siteplan.land.errors import InputError
from siteplan.land.frame import LocalFrame
from siteplan.land.picture_map import map_by_corners
from tests.files.test_backdrop_places import NORTH, TO_UTM, WEST, bands, geotiff
from tests.slanted import DOTS, MARKS, PHOTO, dots_in, slanted_photo

FEET = Plane(metres_per_unit=0.3048, place=(45.0, 8.0), bearing=30.0)


class Site:
    """A folder with a backdrop."""

    def __init__(self, folder, plane=FEET):
        self.folder, self.plane = folder, plane

    def send(self, content, name="photo.jpg"):
        return backdrop_answer(content, name, self.folder, self.plane, units="metric")

    def place(self, **values):
        return place_answer(values, self.folder, self.plane, units="metric")

    def view(self):
        return backdrop_view(self.folder, self.plane, units="metric")

    def shown(self):
        return Image.open(io.BytesIO(backdrop_picture(self.folder, self.plane).content))


@pytest.fixture
def site(tmp_path) -> Site:
    return Site(tmp_path)


def plain(width=60, height=40) -> bytes:
    into = io.BytesIO()
    Image.new("RGB", (width, height), "white").save(into, "PNG")
    return into.getvalue()


def test_a_picture_without_a_place(site):
    assert site.view() is None
    answer = site.send(plain(), "sketch.png")
    assert answer["corners"] is None
    assert "has no place yet" in answer["said"][-1]
    assert site.view() == answer | {"said": answer["said"][-1]}
    assert backdrop_picture(site.folder, site.plane).media_type == "image/png"
    json.dumps(answer)


def test_two_points_of_known_distance(site):
    site.send(plain())
    # 30 pixels are pointed at 3 m apart, and were taped as 12 m: a pixel is 40 cm, and the first point stays
    answer = site.place(pixels=[[10, 20], [40, 20]], points=[[5, 5], [8, 5]], distance=12)
    assert answer["corners"] == pytest.approx(
        np.array([[1, 13], [25, 13], [25, -3], [1, -3]]), abs=2e-3
    )  # feet to 0.001
    assert "scaled by 2 points; a pixel is 40 cm" in answer["said"][-1]
    assert (answer["width"], answer["height"]) == (60, 40)


def test_a_slanted_photo_of_a_sketch_is_straightened_to_10_cm_at_20_m(site):
    photo = slanted_photo()
    site.send(photo.content)
    marks = list(MARKS.values())
    answer = site.place(
        pixels=photo.pixels(marks).round().tolist(), points=marks_in(marks)
    )  # as a person points: whole pixels
    shown = site.shown()
    assert shown.size == (answer["width"], answer["height"])
    width, height = shown.size
    lies = map_by_corners([[0, 0], [width, 0], [width, height], [0, height]], answer["corners"])
    dots = np.array(list(DOTS.values()))
    found = lies.to_plane(dots_in(shown, lies.to_pixels(dots), reach=40))
    assert np.hypot(*(found - dots).T).max() < 0.10  # m, of 20 m
    # and once more, pointed at in the straightened picture: now the whole is to lie 50 cm farther to the right
    around, right = dots[[0, 1, 3, 2]], np.array([0.5, 0.0])
    site.place(pixels=lies.to_pixels(around).tolist(), points=(around + right).tolist())
    shown, corners = site.shown(), site.view()["corners"]
    width, height = shown.size
    moved = map_by_corners([[0, 0], [width, 0], [width, height], [0, height]], corners)
    found = moved.to_plane(dots_in(shown, moved.to_pixels(dots + right), reach=40))
    assert np.hypot(*(found - dots - right).T).max() < 0.10


def marks_in(points) -> list[list[float]]:
    return [list(point) for point in points]


def test_a_photo_with_the_horizon_in_it(site):
    photo = slanted_photo(tilt=12.0)  # the horizon stands 472 pixels above the middle: in the picture
    site.send(photo.content)
    marks = list(MARKS.values())
    answer = site.place(pixels=photo.pixels(marks).tolist(), points=marks_in(marks))
    assert np.abs(answer["corners"]).max() <= 40
    shown = np.asarray(site.shown().convert("RGBA"))
    assert shown[..., 3].min() == 0  # clear where nothing was seen
    assert PHOTO == (3000, 2000)


def test_a_geotiff_lies_where_it_belongs(site):
    answer = site.send(geotiff(bands()), "aerial.tif")
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    inverse = TO_UTM.transform([WEST, WEST + 30], [NORTH, NORTH - 20], direction="INVERSE")
    there = shapely.get_coordinates(frame.to_local(shapely.MultiPoint(np.column_stack(inverse))))
    turn = np.radians(
        30
    )  # up on the plan is 30 degrees east of north: a point to the east lies to the right and down
    across = there @ [np.cos(turn), -np.sin(turn)]
    up = there @ [np.sin(turn), np.cos(turn)]
    corners = np.array(answer["corners"])
    assert corners[[0, 2]] == pytest.approx(np.column_stack([across, up]), abs=0.01)
    # the plan is turned after all: the picture stays at its place on earth
    site.plane = Plane(metres_per_unit=0.3048, place=(45.0, 8.0), bearing=0.0)
    assert np.array(site.view()["corners"])[0] == pytest.approx(there[0], abs=0.01)
    site.plane = Plane(metres_per_unit=0.3048)
    assert site.view()["corners"] is None
    assert "say where the property lies" in site.view()["said"]


def test_a_geotiff_of_another_place_is_refused(site):
    site.plane = Plane(place=(46.0, 8.0))
    with pytest.raises(InputError, match=r"aerial\.tif: lies 11\d km from the property"):
        site.send(geotiff(bands()), "aerial.tif")
    assert not list(site.folder.iterdir())


def test_a_world_file_lays_the_picture_that_is_there(site):
    with pytest.raises(InputError, match="choose its picture first"):
        site.send(b"1\n0\n0\n-1\n0.5\n39.5\n", "yard.pgw")
    site.send(plain(6000, 4000), "yard.png")  # it is shrunk, and the world file counts the pixels that came
    answer = site.send(b"0.01\n0\n0\n-0.01\n0.005\n39.995\n", "yard.pgw")
    feet = 0.3048
    assert answer["corners"] == pytest.approx(feet * np.array([[0, 40], [60, 40], [60, 0], [0, 0]]), abs=2e-3)
    for text, told in (
        (b"hello", "is no world file"),
        (b"1 0 0 -1 500000 4900000", "km from the property"),
        (b"\xff\xfe", "is no text"),
    ):
        with pytest.raises(InputError, match=told):
            site.send(text, "yard.pgw")
    assert site.view()["corners"] == answer["corners"]


def test_a_drawing_in_degrees_has_its_pins_in_degrees(tmp_path):
    site = Site(tmp_path, Plane(frame=LocalFrame(longitude=8.0, latitude=45.0), place=(45.0, 8.0)))
    site.send(plain())
    answer = site.place(pixels=[[0, 0], [60, 0]], points=[[-10, 5], [20, 5]])
    assert answer["corners"] == pytest.approx(np.array([[-10, 5], [20, 5], [20, -15], [-10, -15]]), abs=1e-3)
    kept = json.loads((tmp_path / "backdrop.json").read_text("utf-8"))
    assert kept["pins"][0]["place"] == pytest.approx([7.99987, 45.00004], abs=1e-5)


def test_strength_map_and_removal(site):
    site.send(plain())
    assert site.place(strength=0.3)["strength"] == 0.3
    assert site.place(under_map=True)["under_map"] is True
    assert (site.view()["strength"], site.view()["under_map"]) == (0.3, True)
    assert site.send(plain(), "b.png")["strength"] == 0.3  # another picture is seen as the first was
    assert site.place(remove=True) == {"said": ["The picture is gone."]}
    assert site.view() is None
    assert not list(site.folder.iterdir())


@pytest.mark.parametrize(("values", "told"), [
    ({"strength": 2}, "strength: it is 2, must be"),
    ({"strength": "x"}, "strength: 'x'"),
    ({"under_map": "yes"}, "under_map: it is 'yes', must be true or false"),
    ({"remove": 1}, "remove: it is 1"),
    ({"pixels": [[0, 0]], "points": [[0, 0]]}, "pixels: .* must be 4 points"),
    ({"pixels": [[0, 0], [9, 9]]}, "points: is None, must be 2 points"),
    ({"pixels": [[0, 0], [9, 9]], "points": [[0, 0], [0, 0]]}, "points: the two points are one and the same"),
    ({"pixels": [[0, 0], [9, 9]], "points": [[0, 0], [0, 0]], "distance": 5}, "points: the two points are one and the same"),
    ({"pixels": [[0, 0], [9, 9]], "points": [[0, 0], [1e5, 0]]}, "numbers from -10,000 to 10,000"),
    ({"pixels": [[0, 0], [9, 9]], "points": [[0, 0], [5, 0]], "distance": 0}, "distance: it is 0 m"),
    ({"pixels": [[0, 0], [9, 9], [18, 18], [0, 9]], "points": [[0, 0], [5, 0], [5, 5], [0, 5]]}, "three of the four corners lie on a line"),
    ({"pixels": [[0, 0], [9, 0], [9, 9], [0, 9]], "points": [[0, 0], [5, 0], [5, 5], [0, 5]]}, "one way around in the picture"),
])  # fmt: skip
def test_wrong_placings(site, values, told):
    site.send(plain())
    before = site.view()
    with pytest.raises(InputError, match=told):
        site.place(**values)
    assert site.view() == before


def test_without_a_picture(site):
    with pytest.raises(InputError, match="there is no picture under the drawing"):
        site.place(strength=0.5)
    with pytest.raises(InputError, match="there is no picture"):
        backdrop_picture(site.folder, site.plane)


def test_a_name_is_never_a_path(site):
    with pytest.raises(InputError, match=r"^passwd: is no picture"):
        site.send(b"x", "../../../etc/passwd")
    with pytest.raises(InputError, match=r"^a\?b\.png: "):
        site.send(b"x", "..\\a\x1bb.png")
    assert not list(site.folder.iterdir())


def test_a_damaged_record_is_no_backdrop_and_is_not_overwritten(site):
    (site.folder / "backdrop.json").write_text("hers", encoding="utf-8")
    assert site.view() is None
    with pytest.raises(InputError, match="delete it, and choose the picture anew"):
        site.send(plain())
    assert (site.folder / "backdrop.json").read_text("utf-8") == "hers"


def test_how_far_off_a_picture_may_lie(site):
    """Ten kilometres from the zero point; its farthest corner counts."""
    site.plane = Plane(place=(45.0, 8.0))
    site.send(plain(), "yard.png")
    for west, told in (
        (9939.5, ""),
        (9940.6, "lies 10 km from the property; is it of another place"),
        (-10_000.6, "lies 10 km from"),
    ):
        world = f"1\n0\n0\n-1\n{west}\n39.5\n".encode()
        if told:
            with pytest.raises(InputError, match=told):
                site.send(world, "yard.pgw")
        else:
            assert site.send(world, "yard.pgw")["corners"][1][0] == pytest.approx(9999)


def test_a_world_file_of_a_thousand_bytes_or_so(site):
    from siteplan.files.backdrop.georeferenced import LONGEST_WORLD

    site.send(plain(), "yard.png")
    text = b"1\n0\n0\n-1\n0.5\n39.5\n"
    assert site.send(text + b" " * (LONGEST_WORLD - len(text)), "yard.pgw")["corners"]
    with pytest.raises(InputError, match="is no world file"):
        site.send(text + b" " * (LONGEST_WORLD + 1 - len(text)), "yard.pgw")


@pytest.mark.parametrize("strength", [0, 1, 0.25])
def test_how_strong_a_picture_may_be(site, strength):
    site.send(plain())
    assert site.place(strength=strength)["strength"] == strength
    for wrong in (-0.01, 1.01):
        with pytest.raises(InputError, match="strength: it is"):
            site.place(strength=wrong)
    assert site.view()["strength"] == strength


def test_a_distance_moves_the_second_point_alone(site):
    site.plane = Plane(place=(45.0, 8.0))
    site.send(plain())
    answer = site.place(pixels=[[0, 0], [60, 0]], points=[[1, 2], [4, 6]], distance=30)  # 5 m apart: six times as far
    assert answer["corners"][0] == pytest.approx([1, 2])
    assert answer["corners"][1] == pytest.approx([19, 26])
    again = site.place(pixels=[[0, 0], [60, 0]], points=[[1, 2], [4, 6]])
    assert again["corners"][1] == pytest.approx([4, 6])
    with pytest.raises(InputError, match=r"distance: it is 5,?001 m"):
        site.place(pixels=[[0, 0], [60, 0]], points=[[1, 2], [4, 6]], distance=5001)
    far = site.place(pixels=[[0, 0], [60, 0]], points=[[0, 0], [1, 0]], distance=5000)
    assert far["corners"][1] == pytest.approx([5000, 0])


def test_the_address_of_a_picture_changes_with_its_content(site):
    first = site.send(plain())["url"]
    assert first.startswith("/api/backdrop/picture?of=")
    assert len(first) == len("/api/backdrop/picture?of=") + 12
    assert site.place(strength=0.2)["url"] == first
    assert site.send(plain(61), "b.png")["url"] != first


def test_a_world_file_is_for_the_picture_as_it_was_before_it_was_made_smaller(site, monkeypatch):
    """A picture of 60 by 40 pixels that was four times as wide and high; its file says 10 cm to a pixel of those."""
    site.plane = Plane(place=(45.0, 8.0))
    monkeypatch.setattr(backdrop_answers, "save_backdrop", lambda _folder, new, _before: new)
    small = Backdrop("a.png", "0", 60, 40, 0.25)
    world = b"0.1\n0\n0\n-0.1\n0.05\n15.95\n"
    placed = backdrop_answers._with_world(world, "a.pgw", site.folder, site.plane, small)
    assert [pin.pixel for pin in placed.pins] == [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)]
    corners = [(0, 16), (24, 16), (24, 0), (0, 0)]
    assert np.array([pin.place for pin in placed.pins]) == pytest.approx(np.array(corners), abs=1e-6)


@pytest.mark.parametrize("count", [4, 12])
def test_a_picture_is_straightened_by_four_to_twelve_points(site, count):
    site.plane = Plane(place=(45.0, 8.0))
    site.send(plain())
    turns = np.arange(count) / count * 2 * np.pi
    pixels = (np.column_stack([np.cos(turns), np.sin(turns)]) * 15 + (30, 20)).tolist()
    answer = site.place(pixels=pixels, points=[[x / 10, -y / 10] for x, y in pixels])
    assert np.array(answer["corners"]) == pytest.approx(np.array([[0, 0], [6, 0], [6, -4], [0, -4]]), abs=2e-2)
    assert f"{count} corners" in answer["said"][-1]


def test_how_far_off_a_pixel_may_be(site):
    site.plane = Plane(place=(45.0, 8.0))
    site.send(plain())
    assert site.place(pixels=[[0, 0], [1e6, 0]], points=[[0, 0], [10, 0]])["corners"]
    with pytest.raises(InputError, match="pixels: "):
        site.place(pixels=[[0, 0], [1_000_000.5, 0]], points=[[0, 0], [10, 0]])


def test_a_known_distance_may_be_short(site):
    site.plane = Plane(place=(45.0, 8.0))
    site.send(plain())
    near = site.place(pixels=[[0, 0], [60, 0]], points=[[0, 0], [0.25, 0]], distance=0.5)
    assert near["corners"][1] == pytest.approx([0.5, 0])
    with pytest.raises(InputError, match="distance: "):
        site.place(pixels=[[0, 0], [60, 0]], points=[[0, 0], [1, 0]], distance=0)


def test_thirteen_points_are_too_many(site):
    site.send(plain())
    with pytest.raises(InputError, match="pixels: "):
        site.place(pixels=[[n, n * n] for n in range(13)], points=[[n, n * n] for n in range(13)])


def test_degrees_in_the_plane_of_a_drawing_on_earth():
    """At 45 N a ten-thousandth of a degree of longitude is 7.885 m, of latitude 11.113 m (WGS 84)."""
    plane = Plane(frame=LocalFrame(longitude=8.0, latitude=45.0))
    found = backdrop_answers._from_degrees(shapely.MultiPoint([(8.0, 45.0), (8.0001, 45.0001)]), plane)
    assert shapely.get_coordinates(found) == pytest.approx(np.array([[0, 0], [7.885, 11.113]]), abs=2e-3)
