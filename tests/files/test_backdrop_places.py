"""Pictures that know their place: GeoTIFFs and world files."""

from __future__ import annotations

import io

import numpy as np
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from rasterio import Affine
from rasterio.errors import NotGeoreferencedWarning

from siteplan.files.backdrop import georeferenced
from siteplan.files.backdrop.georeferenced import is_tiff, is_world_file, read_geotiff, world_corners
from siteplan.land.errors import InputError
from tests.files.rasters import TO_UTM, UTM

WEST, NORTH = (round(one) for one in TO_UTM.transform(8.0, 45.0))


def geotiff(bands, *, crs=UTM, cell=0.5, colours=None, **options) -> bytes:
    bands = np.asarray(bands)
    profile = {
        "driver": "GTiff",
        "count": len(bands),
        "height": bands.shape[1],
        "width": bands.shape[2],
        "dtype": bands.dtype,
    }
    place = {"transform": Affine(cell, 0, WEST, 0, -cell, NORTH), "crs": crs} if cell else {}
    with rasterio.MemoryFile() as memory:
        with memory.open(**profile, **place, **options) as raster:
            raster.write(bands)
            if colours:
                raster.write_colormap(1, colours)
        return memory.read()


def bands(count=3, kind=np.uint8, size=(40, 60)):
    found = np.zeros((count, *size), dtype=kind)
    found[0, :20] = np.iinfo(kind).max if np.issubdtype(kind, np.integer) else 200
    return found


def pixels(placed) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(placed.picture.content)).convert("RGBA"))


def test_a_geotiff_lies_at_its_corners():
    placed = read_geotiff(geotiff(bands()), "aerial.tif")
    back = np.column_stack(TO_UTM.transform(*placed.corners.T))
    assert placed.places == "degrees"
    assert back == pytest.approx(
        np.array([[WEST, NORTH], [WEST + 30, NORTH], [WEST + 30, NORTH - 20], [WEST, NORTH - 20]]), abs=1e-4
    )
    assert (placed.picture.width, placed.picture.height) == (60, 40)
    assert pixels(placed)[5, 5].tolist() == pytest.approx([255, 0, 0, 255], abs=6)
    assert pixels(placed)[35, 5].tolist() == pytest.approx([0, 0, 0, 255], abs=6)


def test_bands_of_other_sorts():
    assert pixels(read_geotiff(geotiff(bands(1)), "grey.tif"))[5, 5, :3].tolist() == pytest.approx([255] * 3, abs=3)
    assert pixels(read_geotiff(geotiff(bands(3, np.uint16)), "deep.tif"))[5, 5, 0] == pytest.approx(255, abs=6)
    table = read_geotiff(geotiff(bands(1) // 255, colours={0: (9, 9, 9, 255), 1: (10, 200, 30, 255)}), "table.tif")
    assert pixels(table)[5, 5, :3].tolist() == pytest.approx([10, 200, 30], abs=8)
    holes = read_geotiff(geotiff(bands(), nodata=0), "holes.tif")
    assert pixels(holes)[35, 5, 3] == 0
    four = bands(4)
    four[3, :, :30] = 255
    clear = pixels(read_geotiff(geotiff(four, photometric="RGB", alpha="yes"), "alpha.tif"))
    assert (clear[5, 5, 3], clear[5, 50, 3]) == (255, 0)


def test_a_geotiff_without_a_system_lies_in_the_drawing():
    placed = read_geotiff(geotiff(bands(), crs=None), "plan.tif")
    assert placed.places == "drawing"
    assert placed.corners[0].tolist() == [WEST, NORTH]


def test_a_large_one_is_thinned():
    placed = read_geotiff(
        geotiff(np.zeros((3, 5000, 600), dtype=np.uint8), compress="deflate", tiled=True), "large.tif"
    )
    assert placed.picture.height == 4096
    assert placed.corners[2] == pytest.approx(
        read_geotiff(geotiff(np.zeros((3, 50, 6), np.uint8), cell=50), "b").corners[2]
    )


@pytest.mark.parametrize(("content", "told"), [
    (lambda: geotiff(bands(1, np.float32)), "holds measured values and no picture"),
    (lambda: geotiff(bands(1, np.uint16)), "holds measured values and no picture"),
    (lambda: geotiff(np.zeros((1, 20000, 20000), np.uint8), compress="deflate", tiled=True, sparse_ok=True), "must be at most 200 million"),
    (lambda: geotiff(bands())[:200], "cannot be read as a GeoTIFF"),
    (lambda: b"II*\0" + b"\xff" * 400, "cannot be read as a GeoTIFF"),
    (lambda: geotiff(np.zeros((3, 1, 900), np.uint8)), "which is no picture"),
])  # fmt: skip
def test_what_is_no_picture_of_a_place(content, told):
    with pytest.raises(InputError, match=rf"^a\.tif: .*{told}"):
        read_geotiff(content(), "a.tif")


def test_what_says_no_place_is_refused():
    with pytest.warns(NotGeoreferencedWarning):
        content = geotiff(bands(), cell=0)
    with pytest.raises(InputError, match=r"a\.tif: is a TIFF that does not say where it lies"):
        read_geotiff(content, "a.tif")


def test_what_must_be_unpacked_in_one_piece_is_refused(monkeypatch):
    monkeypatch.setattr(georeferenced, "LARGEST_BLOCK", 1e6)
    content = geotiff(np.zeros((3, 700, 700), np.uint8), compress="deflate", blockysize=700)  # 1.5 MB
    with pytest.raises(InputError, match="in one piece that is too large to unpack"):
        read_geotiff(content, "a.tif")
    assert read_geotiff(geotiff(np.zeros((3, 700, 700), np.uint8), compress="deflate", blockysize=10), "a.tif")


def test_what_is_a_tiff_and_what_a_world_file():
    assert is_tiff(geotiff(bands()))
    assert not is_tiff(b"\x89PNG")
    assert is_world_file("My Yard.JGW")
    assert not is_world_file("jgw")


def test_a_world_file_by_hand():
    # cells of half a metre, turned by a quarter: a step to the right goes up, one down goes to the right
    text = "0\n0.5\n0.5\n0\n100.25\n200.25\n"
    corners = world_corners(text, width=10, height=4)
    assert corners.tolist() == [[100, 200], [100, 205], [102, 205], [102, 200]]
    assert world_corners(text.replace(".", ","), width=10, height=4).tolist() == corners.tolist()


@pytest.mark.parametrize(
    "text",
    ["", "1 2 3", "a b c d e f", "0 0 0 0 1 1", "1 1 1 1 0 0", "nan 0 0 1 0 0", "1e999 0 0 1 0 0", "1 0 0 -1 0 0 7"],
)
def test_what_is_no_world_file(text):
    with pytest.raises(ValueError, match="is no world file"):
        world_corners(text, width=10, height=4)


@settings(max_examples=60, deadline=None, database=None)
@given(st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 255)), min_size=1, max_size=10))
def test_a_damaged_geotiff_is_read_or_refused(changes):
    damaged = bytearray(geotiff(bands()))
    for place, value in changes:
        damaged[4 + place % (len(damaged) - 4)] = value
    try:
        read_geotiff(bytes(damaged), "a.tif")
    except InputError as error:
        assert "a.tif: " in str(error)  # noqa: PT017  # either way is right
