"""Pixels and corners of pictures under the drawing, by hand: deep, long, slanted, turned, and out of the world."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import ExifTags, Image
from pyproj import CRS
from pyproj.exceptions import ProjError
from rasterio import Affine
from rasterio.enums import ColorInterp

from siteplan.files.backdrop.georeferenced import _check, _corners, _picture
from siteplan.files.backdrop.picture import _bare_pixels, from_pixels, read_picture
from siteplan.files.backdrop.straightened import FlatView, _extent, _pixel_size, straightened
from siteplan.land.errors import InputError
from siteplan.land.picture_map import PictureMap


@pytest.mark.parametrize(("deep", "bytes_"), [
    ([[0, 100], [200, 255]], [[0, 100], [200, 255]]),  # no more than a byte has: as it is
    ([[0, 65_535], [33_000, 520]], [[0, 255], [128, 2]]),  # 33,000 and 520 of 65,535: 128.4 and 2.02
    ([[-5, 256], [65_535, 70_000]], [[0, 0], [255, 255]]),
    ([[0, 200], [100, 256]], [[0, 0], [0, 0]]),  # one above a byte: all are of sixteen bits
])  # fmt: skip
def test_deep_pixels_become_bytes(deep, bytes_):
    image = Image.fromarray(np.array(deep, dtype=np.int32))
    assert np.asarray(_bare_pixels(image)).tolist() == bytes_


@pytest.mark.parametrize("shape", [(4, 8192, 3), (8192, 4, 3)])
def test_the_longer_side_decides_how_far_a_picture_is_shrunk(shape):
    picture = from_pixels(np.zeros(shape, np.uint8), photo=False)
    sides = (4096, 2) if shape[1] > shape[0] else (2, 4096)
    assert (picture.width, picture.height, picture.shrunk, picture.notes) == (*sides, 0.5, ("shrunk",))


def test_a_picture_as_large_as_may_be_is_not_shrunk():
    picture = from_pixels(np.zeros((4, 4096, 3), np.uint8), photo=False)
    assert (picture.width, picture.height, picture.shrunk, picture.notes) == (4096, 4, 1.0, ())


def stored(width, height, orientation=None):
    image = Image.new("RGB", (width, height), (220, 30, 30))
    image.paste((30, 30, 220), (0, 0, width // 2, height // 2))
    tags = image.getexif()
    if orientation is not None:
        tags[ExifTags.Base.Orientation] = orientation
    image.save(into := io.BytesIO(), "PNG", exif=tags)
    return into.getvalue()


@pytest.mark.parametrize("orientation", [None, 0, 1, 9])
def test_a_picture_that_says_nothing_sound_of_how_it_was_held_stays(orientation):
    found = np.asarray(Image.open(io.BytesIO(read_picture(stored(40, 20, orientation), "a.png").content)))
    assert (found[2, 2].tolist(), found[2, 37].tolist()) == ([30, 30, 220], [220, 30, 30])


def test_sixteen_pixels_are_the_least_of_each_side():
    assert read_picture(stored(16, 40), "a.png").width == 16
    for sides in ((15, 40), (40, 15)):
        with pytest.raises(
            InputError, match=rf"has {sides[0]} x {sides[1]} pixels, must have at least 16 on each side"
        ):
            read_picture(stored(*sides), "a.png")


def map_of(matrix):
    return PictureMap(np.array(matrix, dtype=float))


def test_a_view_of_a_slanted_photo_reaches_half_the_spots_extent_beyond_them():
    """Spots 40 m apart from west to east and 10 m from south to north: 20 m around them, however far the photo reaches."""
    slanted = map_of([[100, 0, -50], [0, -100, 50], [0, 0.001, 1]])
    pins = np.array([[-20.0, -5], [20, -5], [20, 5], [-20, 5]])
    assert slanted.is_perspective(100, 100)
    assert _extent((100, 100), slanted, pins) == pytest.approx((-40, -25, 40, 25))


def test_a_pixel_is_as_large_as_the_area_that_it_shows():
    """Steps of (0.3, 0.1) along a row and (0.2, -0.4) down a column span 0.12 + 0.02 = 0.14 m2."""
    skewed = map_of([[0.3, 0.2, 5], [0.1, -0.4, 7], [0, 0, 1]])
    assert _pixel_size(skewed, np.array([[5.0, 7], [6, 7]])) == pytest.approx(0.14**0.5)


def test_what_lies_behind_the_camera_is_clear():
    """The new pixels of the left half lie behind it: by the third row of the way back, u - 4 is above 0 from the fifth on."""
    content = stored(16, 16)
    flat = FlatView(8, 8, (0.0, 0.0, 8.0, 8.0))
    back = np.array([[10.0, 0.5, -41], [8, -0.5, -32], [1, 0, -4]])  # to the photo: all near its middle, 10 and 8
    picture_map = map_of(flat.picture_map.matrix @ np.linalg.inv(back))
    alpha = np.asarray(Image.open(io.BytesIO(straightened(content, picture_map, flat))).convert("RGBA"))[:, :, 3]
    assert (alpha[:, :4] == 0).all()
    assert (alpha[1:, 4:] > 0).any()


def test_cells_that_are_lines_do_not_say_where_they_lie():
    parts = {"width": 400, "height": 300, "count": 3, "block_shapes": [(10, 400)], "dtypes": ("uint8",) * 3}
    for lines in (Affine(2, 3, 5, 2, 3, 5), Affine(1, 0, 5, 1, 0, 5), Affine(0, 1, 5, 0, 1, 5)):
        with pytest.raises(InputError, match="does not say where it lies"):
            _check(SimpleNamespace(transform=lines, **parts), "a.tif")
    for sound in (Affine(2, 3, 5, 3, 2, 5), Affine(0, 1, 5, 1, 0, 5), Affine(2, 0, 5, 0, -0.5, 5)):
        _check(SimpleNamespace(transform=sound, **parts), "a.tif")


def test_the_first_colour_of_a_table_counts():
    table = {0: (1, 2, 3, 255), 1: (9, 8, 7, 255), 256: (5, 5, 5, 255)}
    raster = SimpleNamespace(
        width=20, height=20, count=1, colorinterp=[ColorInterp.palette], colormap=lambda band: table if band == 1 else {},
        read=lambda indexes, out_shape: np.zeros(out_shape, np.uint8),  # noqa: ARG005
        dataset_mask=lambda out_shape: np.full(out_shape, 200, np.uint8),
    )  # fmt: skip
    picture = _picture(raster, "a.tif")
    assert np.asarray(Image.open(io.BytesIO(picture.content)))[4, 4].tolist() == [1, 2, 3, 200]


def placed(crs):
    wkt = None if crs is None else SimpleNamespace(to_wkt=CRS(crs).to_wkt)
    return SimpleNamespace(width=10, height=20, transform=Affine(3, 1, 500_000, -1, -4, 4_900_000), crs=wkt)


@pytest.mark.filterwarnings("ignore:Use `@` matmul")  # older affine knows none; no warning leaves an opened raster
def test_where_the_corners_of_a_raster_lie(monkeypatch):
    """Round from the upper left; in UTM its middle meridian, 9 degrees east, is 500,000."""
    corners = np.array([[500_000.0, 4_900_000], [500_030, 4_899_990], [500_050, 4_899_910], [500_020, 4_899_920]])
    found, where = _corners(placed(None), "a.tif")
    assert (where, found.tolist()) == ("drawing", corners.tolist())
    found, where = _corners(placed("EPSG:32632"), "a.tif")
    assert where == "degrees"
    assert found[:, 0] == pytest.approx([9, 9 + 30 / 79_700, 9 + 50 / 79_700, 9 + 20 / 79_700], abs=3e-6)
    assert found[0, 1] - found[:, 1] == pytest.approx([0, 10 / 111_100, 90 / 111_100, 80 / 111_100], abs=1e-6)
    nowhere = "lies in a coordinate system that is of no place on earth; save it in another"

    def one_lost(_, points):
        return np.where(np.arange(len(points))[:, None] == 1, np.inf, points)

    def refused(*_):
        raise ProjError("no way there")

    for change in (one_lost, refused):
        monkeypatch.setattr("siteplan.land.frame.projected", change)
        with pytest.raises(InputError, match=nowhere):
            _corners(placed("EPSG:32632"), "a.tif")
