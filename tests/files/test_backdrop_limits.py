"""Pictures under the drawing: each limit from both sides, and pixels whose place is known by hand."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from PIL import Image
from rasterio import Affine
from rasterio.enums import ColorInterp

from siteplan.files.backdrop import backdrop_file, georeferenced, under_map
from siteplan.files.backdrop.backdrop_file import (
    MOST_JSON,
    Backdrop,
    Pin,
    _record,
    forget_picture,
    keep_picture,
    read_backdrop,
    save_backdrop,
)
from siteplan.files.backdrop.georeferenced import (
    _check,
    _picture,
    is_tiff,
    is_world_file,
    read_geotiff,
    world_corners,
)
from siteplan.files.backdrop.picture import from_pixels
from siteplan.files.backdrop.straightened import FlatView, _in_front, flat_view, straightened
from siteplan.files.backdrop.under_map import flat_picture
from siteplan.land.errors import InputError
from siteplan.land.ground_picture import GroundPicture
from siteplan.land.picture_map import PictureMap, map_by_two

PICTURE = from_pixels(np.full((40, 60, 3), 90, dtype=np.uint8), photo=False)
RECORD = {"picture": "backdrop.png", "sha256": "x" * 70, "width": 60, "height": 40}


def test_a_record_with_its_defaults():
    assert Backdrop("backdrop.png", "x" * 64, 60, 40, 1.0).under_map is False
    assert _record(RECORD) == Backdrop("backdrop.png", "x" * 64, 60, 40, 1.0, "drawing", (), 0.6, under_map=False)
    whole = RECORD | {
        "picture": "backdrop-999.jpg", "shrunk": 0.5, "places": "degrees", "strength": 0, "under_map": True,
        "pins": [{"pixel": [1, 2.5], "place": [-1e9, 1e9]}, {"pixel": [3, 4], "place": [5, 6]}],
    }  # fmt: skip
    pins = (Pin((1.0, 2.5), (-1e9, 1e9)), Pin((3.0, 4.0), (5.0, 6.0)))
    assert _record(whole) == Backdrop("backdrop-999.jpg", "x" * 64, 60, 40, 0.5, "degrees", pins, 0.0, under_map=True)
    assert _record(RECORD | {"under_map": 1}).under_map is False


def pins(count):
    return [{"pixel": [at, 0], "place": [at, 0]} for at in range(count)]


@pytest.mark.parametrize(("change", "sound"), [
    ({"width": 1, "height": 4096}, True), ({"width": 4096.5}, False), ({"height": 4097}, False), ({"height": 0.9}, False),
    ({"shrunk": 1e-6}, True), ({"shrunk": 1.0}, True), ({"shrunk": 1.01}, False), ({"shrunk": 0.9e-6}, False),
    ({"strength": 1}, True), ({"strength": 1.01}, False), ({"strength": -0.01}, False),
    ({"pins": pins(0)}, True), ({"pins": pins(1)}, False), ({"pins": pins(2)}, True), ({"pins": pins(3)}, False), ({"pins": pins(4)}, True),
    ({"pins": pins(12)}, True), ({"pins": pins(13)}, False), ({"pins": {}}, False),
    ({"pins": [{"pixel": [0, 0], "place": [0, 1.1e9]}, {"pixel": [1, 1], "place": [1, 1]}]}, False),
    ({"pins": [{"pixel": [0, 0, 0], "place": [0, 0]}, {"pixel": [1, 1], "place": [1, 1]}]}, False),
    ({"picture": "backdrop-1000.png"}, False), ({"picture": "backdrop.webp"}, False), ({"picture": "xbackdrop.png"}, False),
])  # fmt: skip
def test_what_a_record_may_hold(change, sound):
    if sound:
        assert _record(RECORD | change)
    else:
        with pytest.raises(ValueError, match="must be"):
            _record(RECORD | change)


def test_a_record_of_a_hundred_thousand_bytes(tmp_path):
    text = json.dumps(RECORD)
    (tmp_path / "backdrop.json").write_text(text + " " * (MOST_JSON - len(text)))
    assert read_backdrop(tmp_path) is not None
    (tmp_path / "backdrop.json").write_text(text + " " * (100_001 - len(text)))
    with pytest.raises(InputError, match=r"is larger than 0\.1 MB"):
        read_backdrop(tmp_path)


def test_places_are_kept_to_a_thousandth_of_a_pixel(tmp_path):
    kept = keep_picture(tmp_path, PICTURE)
    exact = tuple(Pin((1 / 3 + at, 2 / 3), (1 / 3 + at, 2 / 3)) for at in range(2))
    saved = save_backdrop(tmp_path, replace(kept, pins=exact), None)
    assert saved.pins[0] == Pin((0.333, 0.667), (0.3333333333, 0.6666666667))
    assert read_backdrop(tmp_path) == saved
    assert (tmp_path / "backdrop.json").stat().st_mode & 0o777 == 0o644
    for nowhere in (Pin((math.nan, 0), (0, 0)), Pin((0, 0), (0, math.inf))):
        with pytest.raises(ValueError, match="a pin lies nowhere"):
            save_backdrop(tmp_path, replace(kept, pins=(nowhere, exact[0])), None)


def test_a_picture_takes_the_first_free_name(tmp_path):
    for name in ("backdrop.png", *(f"backdrop-{number}.png" for number in range(2, 999))):
        (tmp_path / name).touch()
    kept = keep_picture(tmp_path, PICTURE)
    assert (kept.picture, kept.width, kept.height, kept.shrunk) == ("backdrop-999.png", 60, 40, 1.0)
    with pytest.raises(InputError, match="has a thousand files beside it; take some of them away"):
        keep_picture(tmp_path, PICTURE)
    forget_picture(tmp_path, replace(kept, picture="backdrop-2.png"))  # not as it was written
    assert (tmp_path / "backdrop-2.png").exists()
    forget_picture(tmp_path, kept)
    assert not (tmp_path / "backdrop-999.png").exists()
    assert backdrop_file.MOST_PINS == 12


# ---- pictures that know their place


def raster(**more):
    plain = {
        "transform": Affine(1, 0, 5, 0, -1, 5), "width": 400, "height": 300, "count": 3, "block_shapes": [(10, 400)],
        "dtypes": ("uint8",) * 3, "colorinterp": [ColorInterp.red], "dataset_mask": lambda out_shape: np.full(out_shape, 255, np.uint8),
    }  # fmt: skip
    return SimpleNamespace(**plain | more)


@pytest.mark.parametrize(("more", "words"), [
    ({}, ""), ({"transform": Affine.identity()}, "does not say where it lies"), ({"transform": Affine(1, 1, 5, 1, 1, 5)}, "does not say where it"),
    ({"width": 20_000, "height": 10_000}, ""),
    ({"width": 20_000, "height": 10_001}, "has 20,000 x 10,001 cells, must be at most 200 million; cut your property out of it"),
    ({"dtypes": ("uint16",) * 3}, ""), ({"dtypes": ("uint8",), "count": 1}, ""), ({"dtypes": ("uint16",), "count": 2}, "holds measured values"),
    ({"dtypes": ("int16",) * 3}, "holds measured values and no picture; elevations are named in site.toml: terrain"),
])  # fmt: skip
def test_a_raster_that_can_be_shown(more, words):
    if not words:
        assert _check(raster(**more), "a.tif") is None
    else:
        with pytest.raises(InputError, match=f"a\\.tif: .*{words}"):
            _check(raster(**more), "a.tif")


def test_what_is_unpacked_in_one_piece(monkeypatch):
    monkeypatch.setattr(georeferenced, "LARGEST_BLOCK", 10 * 400 * 3 * 2)
    _check(raster(dtypes=("uint16",) * 3), "a.tif")
    with pytest.raises(InputError, match="is stored in one piece that is too large to unpack; store it in tiles"):
        _check(raster(dtypes=("uint16",) * 3, block_shapes=[(10, 401)]), "a.tif")


def shown(bands, *, width=None, height=None, **more):
    """Return the pixels of a picture, and the bands and the size that were read for it."""
    bands, asked = np.asarray(bands), []

    def read(*, indexes, out_shape):
        asked.append((indexes, out_shape))
        return bands[: len(indexes)]

    known = raster(
        width=width or bands.shape[2],
        height=height or bands.shape[1],
        count=len(bands),
        dtypes=(str(bands.dtype),),
        read=read,
        **more,
    )
    picture = _picture(known, "a.tif")
    return np.asarray(Image.open(io.BytesIO(picture.content)).convert("RGBA")), asked, picture


def test_bands_become_colours():
    grey, asked, _ = shown(np.full((2, 4, 6), 77, np.uint8))
    assert asked == [([1], (1, 4, 6))]
    assert grey[0, 0].tolist() == pytest.approx([77, 77, 77, 255], abs=3)
    bands = np.zeros((4, 20, 20), np.uint16)
    bands[0], bands[1], bands[2, 0, 0] = 1000, 500, 2
    deep, asked, _ = shown(bands, dataset_mask=lambda out_shape: np.full(out_shape, 128, np.uint8))
    assert asked == [([1, 2, 3], (3, 20, 20))]
    assert deep[5, 5].tolist() == [255, 127, 0, 128]  # as PNG, since it is not opaque
    assert shown(np.zeros((3, 20, 20), np.uint16))[0][5, 5, :3].tolist() == [0, 0, 0]
    table = {0: (1, 2, 3, 255), 255: (9, 8, 7, 255), 256: (5, 5, 5, 255), -1: (6, 6, 6, 255)}
    coloured, *_ = shown(
        np.full((1, 4, 6), 255, np.uint8), colorinterp=[ColorInterp.palette], colormap=lambda _: table,
        dataset_mask=lambda out_shape: np.full(out_shape, 200, np.uint8),
    )  # fmt: skip
    assert coloured[0, 0].tolist() == [9, 8, 7, 200]


def test_a_picture_is_read_no_larger_than_it_is_kept():
    assert shown(np.zeros((3, 20, 20), np.uint8), width=4096, height=2048)[1][0][1] == (3, 2048, 4096)
    assert shown(np.zeros((3, 20, 20), np.uint8), width=2048, height=8192)[1][0][1] == (3, 4096, 1024)
    assert shown(np.zeros((3, 20, 20), np.uint8), width=8192, height=4)[1][0][1] == (3, 2, 4096)
    with pytest.raises(InputError, match=r"has 8,192 x 2 cells, which is no picture"):
        shown(np.zeros((3, 20, 20), np.uint8), width=8192, height=2)


def test_how_large_a_geotiff_may_be(monkeypatch):
    monkeypatch.setattr(georeferenced, "MOST_BYTES", 10)
    with pytest.raises(InputError, match="cannot be read as a GeoTIFF"):
        read_geotiff(b"II*\0" + b"x" * 6, "a.tif")
    with pytest.raises(InputError, match="is larger than 0 MB; cut your property out of it"):
        read_geotiff(b"II*\0" + b"x" * 7, "a.tif")


@pytest.mark.parametrize(
    ("start", "tiff"),
    [(b"II*\0", True), (b"MM\0*", True), (b"II+\0", True), (b"MM\0+", True), (b"II\0*", False), (b"", False)],
)
def test_the_first_bytes_of_a_tiff(start, tiff):
    assert is_tiff(start + b"abc") is tiff


@pytest.mark.parametrize(
    "name", ["a.wld", "a.PGW", "a.jgw", "a.tfw", "a.wpw", "a.pngw", "a.jpgw", "a.jpegw", "a.webpw"]
)
def test_names_of_world_files(name):
    assert is_world_file(name)
    assert not is_world_file(f"{name}.txt")


@pytest.mark.parametrize(("text", "sound"), [
    ("1 0 0 2e-12 0 0", True), ("1 0 0 0.5e-12 0 0", False), ("0 1e-9 1e-9 0 0 0", True), ("1e-7 0 0 -1e-7 8 45", True),
])  # fmt: skip
def test_cells_of_a_world_file_have_an_area(text, sound):
    if sound:
        assert world_corners(text, width=2, height=2).shape == (4, 2)
    else:
        with pytest.raises(ValueError, match="has cells without an area"):
            world_corners(text, width=2, height=2)


# ---- straightened


def test_a_view_from_above_is_a_map():
    view = FlatView(200, 100, (10.0, 20.0, 30.0, 25.0))
    assert view.picture_map.to_plane([[0, 0], [200, 100], [50, 50]]).tolist() == [[10, 25], [30, 20], [15, 22.5]]


SCALED = map_by_two([[0, 0], [10, 0]], [[0, 0], [5, 0]])  # half a metre to a pixel; down is south
PINS = np.array([[0.0, 0.0], [5.0, 0.0]])


@pytest.mark.parametrize(("within", "most", "bounds", "size"), [
    (None, 2400, (0, -20, 30, 0), (60, 40)), (None, 30, (0, -20, 30, 0), (30, 20)), ((5, -10, 15, 99), 2400, (5, -10, 15, 0), (20, 20)),
    ((-9, -99, 99, -15), 2400, (0, -20, 30, -15), (60, 10)), ((5, -10, 5.1, -9.9), 2400, (5, -10, 5.1, -9.9), (1, 1)),
    ((30, -10, 40, 0), 2400, None, None), ((0, 0, 40, 10), 2400, None, None), ((29.9, -10, 40, 0), 2400, (29.9, -10, 30, 0), (1, 20)),
])  # fmt: skip
def test_size_and_extent_of_a_view(within, most, bounds, size):
    view = flat_view(60, 40, SCALED, PINS, within=within, most=most)
    if bounds is None:
        assert view is None
    else:
        assert view.bounds == pytest.approx(bounds)
        assert (view.width, view.height) == size


def quarters():
    """Return a picture of 40 by 20 pixels: red and green over blue and white."""
    pixels = np.zeros((20, 40, 3), np.uint8)
    pixels[:10, :20], pixels[:10, 20:], pixels[10:, :20], pixels[10:, 20:] = (
        (255, 0, 0),
        (0, 255, 0),
        (0, 0, 255),
        (255, 255, 255),
    )
    into = io.BytesIO()
    Image.fromarray(pixels).save(into, "PNG")
    return into.getvalue()


def seen(lies, view):
    return np.asarray(Image.open(io.BytesIO(straightened(quarters(), lies, view))).convert("RGBA"))


def test_a_turned_picture_stands_upright_again():
    """Its top points east: the left side, red and blue, lies in the north."""
    turned = map_by_two([[0, 0], [10, 0]], [[0, 0], [0, -10]])  # a metre to a pixel
    view = flat_view(40, 20, turned, np.array([[0.0, 0.0], [0.0, -10.0]]))
    assert view.bounds == pytest.approx((-20, -40, 0, 0))
    assert (view.width, view.height) == (20, 40)
    found = seen(turned, view)
    for (column, row), colour in (
        ((15, 10), (255, 0, 0)),
        ((5, 10), (0, 0, 255)),
        ((15, 30), (0, 255, 0)),
        ((5, 30), (255, 255, 255)),
    ):
        assert found[row, column].tolist() == pytest.approx([*colour, 255], abs=40), (column, row)


def test_beyond_the_picture_it_is_clear():
    lies = map_by_two([[0, 0], [10, 0]], [[0, 0], [10, 0]])
    found = seen(lies, FlatView(60, 40, (-10.0, -30.0, 50.0, 10.0)))
    assert found[5, 30, 3] == 0
    assert found[20, 5, 3] == 0
    assert found[15, 15].tolist() == pytest.approx([255, 0, 0, 255], abs=40)
    assert found[25, 45].tolist() == pytest.approx([255, 255, 255, 255], abs=40)


def test_what_lies_behind_the_camera_is_not_seen():
    back = np.array([[1.0, 0, 0], [0, 1, 0], [0.5, -1, 0.25]])
    assert _in_front(back, 4, 2).tolist() == [[False, True, True, True], [False, False, False, True]]
    # the middle of pixel (0, 0), 0.25 - 0.5 + 0.25 = 0, lies on the horizon; one to the right 0.5, one down -1


def test_a_view_whose_corner_lies_on_the_horizon():
    """The matrix's last number is 0 there. Pixel (10, 10) shows the old one at 11.5 / 2.1: 5.5 to the right and down."""
    view = FlatView(20, 20, (0.0, -20.0, 20.0, 0.0))
    back = np.array([[1.0, 0, 1], [0, 1, 1], [0.1, 0.1, 0]])
    found = seen(PictureMap(view.picture_map.matrix @ np.linalg.inv(back)), view)
    assert found[10, 10].tolist() == pytest.approx([255, 0, 0, 255], abs=40)


def test_spots_that_lie_behind_the_camera_are_refused():
    lies = PictureMap(np.array([[1.0, 0, 0], [0, -1, 0], [0, 0.01, -0.1]]))
    with pytest.raises(ValueError, match="its spots cannot lie so: go round them in the same order"):
        flat_view(60, 40, lies, np.array([[0.0, 0.0], [5.0, 0.0], [5.0, 5.0], [0.0, 5.0]]))


def test_a_quarter_of_the_property_is_shown_around_it(tmp_path):
    kept = keep_picture(tmp_path, PICTURE)
    save_backdrop(tmp_path, replace(kept, pins=(Pin((0, 0), (0, 0)), Pin((10, 0), (5, 0)))), None)
    ground = GroundPicture(tmp_path, SCALED, PINS, 60, 40, 0.5)
    _, bounds = flat_picture(ground, (10.0, -12.0, 18.0, -8.0))
    assert bounds == pytest.approx((8, -14, 20, -6))
    assert under_map.MOST_SIDE == 1600
