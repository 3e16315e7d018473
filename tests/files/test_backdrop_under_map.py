"""The backdrop under map.html: where it lies in the site's frame, and what keeps it away."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image

from siteplan.files.backdrop.backdrop_file import Pin, keep_picture, read_backdrop, save_backdrop
from siteplan.files.backdrop.picture import read_picture
from siteplan.files.backdrop.straightened import flat_view
from siteplan.files.backdrop.under_map import flat_picture, ground_picture
from siteplan.files.remarks import Remarks
from siteplan.land.frame import DrawnFrame, LocalFrame, plan_to_local
from siteplan.land.picture_map import map_by_corners, map_by_two
from tests.slanted import DOTS, MARKS, PHOTO, dots_in, slanted_photo

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
PLAN = DrawnFrame((8.0, 45.0), bearing=30.0, metres_per_unit=0.3048, unit="ft")


@pytest.fixture
def laid(tmp_path):
    """A slanted photo whose corners are known on a plan in feet, turned by 30 degrees."""
    photo = slanted_photo()
    kept = keep_picture(tmp_path, read_picture(photo.content, "photo.jpg"))
    pins = tuple(
        Pin(tuple(pixel), (x / 0.3048, y / 0.3048))
        for pixel, (x, y) in zip(photo.pixels(list(MARKS.values())).tolist(), MARKS.values(), strict=True)
    )
    save_backdrop(tmp_path, replace(kept, pins=pins, under_map=True, strength=0.5), None)
    return tmp_path


def told(folder, drawn=PLAN):
    remarks = Remarks()
    return ground_picture(folder, FRAME, drawn, remarks), [caution.text for caution in remarks.all_cautions()]


def test_it_lies_north_up_in_the_frame_of_the_site(laid):
    found, cautions = told(laid)
    assert cautions == []
    assert found.strength == 0.5
    content, (west, south, east, north) = flat_picture(found, (-5.0, -10.0, 25.0, 20.0))
    assert (west >= -12.5, south >= -17.5, east <= 32.5, north <= 27.5) == (True,) * 4  # a quarter of 30 m beyond
    shown = Image.open(io.BytesIO(content))
    assert max(shown.size) <= 1600
    metre = (east - west) / shown.width
    assert (north - south) / shown.height == pytest.approx(metre, rel=0.01)
    dots = shapely.get_coordinates(
        plan_to_local(shapely.MultiPoint(list(DOTS.values())), bearing=30.0, metres_per_unit=1.0)
    )
    pixels = np.column_stack([(dots[:, 0] - west) / metre, (north - dots[:, 1]) / metre])
    found_at = dots_in(shown, pixels, reach=30)
    assert np.abs(found_at - pixels).max() * metre < 0.10  # m


def test_only_what_is_asked_for_lies_under_the_map(laid):
    kept = read_backdrop(laid)
    save_backdrop(laid, replace(kept, under_map=False), kept)
    assert told(laid) == (None, [])
    save_backdrop(laid, replace(kept, pins=()), kept)
    assert told(laid) == (None, [])
    (laid / "backdrop.json").unlink()
    assert told(laid) == (None, [])


def test_what_is_wrong_with_it_is_a_caution(laid):
    text = (laid / "backdrop.json").read_text("utf-8")
    (laid / "backdrop.json").write_text("{", encoding="utf-8")
    assert "the map goes without it" in told(laid)[1][0]
    damaged = json.loads(text)
    damaged["pins"][1] = damaged["pins"][0]
    (laid / "backdrop.json").write_text(json.dumps(damaged), encoding="utf-8")
    assert "on a line in the picture" in told(laid)[1][0]
    (laid / "backdrop.json").write_text(text, encoding="utf-8")
    found, _ = told(laid)
    (laid / "backdrop.jpg").unlink()
    assert told(laid)[1] == ["backdrop.jpg is not there; the map goes without it"]
    assert flat_picture(found, (0, 0, 20, 20)) is None  # it has gone while the plan was made


def test_a_picture_of_elsewhere_is_left_out(laid):
    found, _ = told(laid)
    assert flat_picture(found, (900.0, 900.0, 930.0, 930.0)) is None


def test_a_picture_that_is_only_turned_is_shown_whole():
    lies = map_by_two([[10, 10], [20, 10]], [[0, 0], [1, 0]])  # a pixel is 10 cm; the pins lie close together
    flat = flat_view(600, 400, lies, np.array([[0.0, 0.0], [1.0, 0.0]]))
    assert flat.bounds == pytest.approx((-1, -39, 59, 1))
    assert (flat.width, flat.height) == (600, 400)
    assert flat_view(600, 400, lies, np.zeros((2, 2)), within=(10, -20, 30, -10), most=100).width == 100


def test_the_pixels_of_a_turned_picture_stay_as_large():
    """Turned by 30 degrees at 2 cm: the frame around it grows, its pixels do not."""
    pins = np.array([[0.0, 0.0], [5 * np.cos(np.pi / 6), 5 * np.sin(np.pi / 6)]])
    lies = map_by_two([[100, 100], [350, 100]], pins)
    flat = flat_view(600, 400, lies, pins)
    left, low, right, top = flat.bounds
    wide = 0.02 * (600 * np.cos(np.pi / 6) + 400 * np.sin(np.pi / 6))
    tall = 0.02 * (600 * np.sin(np.pi / 6) + 400 * np.cos(np.pi / 6))
    assert (right - left, top - low) == pytest.approx((wide, tall))
    assert (flat.width, flat.height) == (round(wide / 0.02), round(tall / 0.02))


def test_a_picture_taken_at_a_slant_is_shown_half_its_pins_around_them():
    """The pixel is as large as the old one in the middle of the pins: there a step of a pixel is a step of its size."""
    photo = slanted_photo()
    pins = np.array(list(MARKS.values()))
    lies = map_by_corners(photo.pixels(pins), pins)
    width, height = PHOTO
    flat = flat_view(width, height, lies, pins)
    (west, south), (east, north) = pins.min(axis=0), pins.max(axis=0)
    margin = 0.5 * max(east - west, north - south)
    left, low, right, top = flat.bounds
    assert west - margin - 1e-9 <= left <= west
    assert south - margin - 1e-9 <= low <= south
    assert east <= right <= east + margin + 1e-9
    assert north <= top <= north + margin + 1e-9
    middle = lies.to_pixels(pins.mean(axis=0))[0]
    ring = middle + np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
    area = shapely.Polygon(lies.to_plane(ring)).area  # of one old pixel, on the ground
    metre = (right - left) / flat.width
    assert metre == pytest.approx(max(np.sqrt(area), (right - left) / 2400, (top - low) / 2400), rel=0.01)
