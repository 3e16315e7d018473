"""Is a raster looked at before it is read, and its unit never guessed?"""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from rasterio.errors import NotGeoreferencedWarning

from siteplan import read_site
from siteplan.files.ground.raster import Elevations
from siteplan.files.reader import check_site
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid

from .rasters import UTM, plane, write_empty_raster, write_raster

#: transverse Mercator around the yard in US survey feet, as state plane systems are
IN_FEET = "+proj=tmerc +lat_0=45 +lon_0=8 +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=us-ft"
FEET_CORNER = {"west": -131.2, "north": 131.2, "cell": 3937 / 1200}


def faults_of(folder):
    return [str(fault) for fault in check_site(folder).faults]


def ground_at_middle(folder):
    return float(read_site(folder).terrain.height_at([0.0], [0.0])[0])


@pytest.mark.parametrize(
    ("unit", "length"),
    [("ft", 0.3048), ("Feet", 0.3048), ("US survey foot", 1200 / 3937), ("metre", 1.0), ("m", 1.0), ("", 1.0)],
)
def test_the_bands_unit_counts(yard, unit, length):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values / length, **corner, unit=unit)
    assert ground_at_middle(yard.folder) == pytest.approx(100, abs=0.01)


def test_another_unit_is_a_fault(yard):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values * 100, **corner, unit="cm")
    (fault,) = faults_of(yard.folder)
    assert fault.startswith("ground.tif: has elevations in 'cm', must be metres or feet; convert it, or say")


def test_a_system_in_feet_must_say_what_its_elevations_are_in(yard):
    values, _ = plane(yard)
    yard.write()
    write_raster(yard.folder / "ground.tif", values * 3937 / 1200, **FEET_CORNER, crs=IN_FEET)
    (fault,) = faults_of(yard.folder)
    assert "measures in feet across and does not say what its elevations are in" in fault
    assert 'terrain_unit = "ft"' in fault
    write_raster(yard.folder / "ground.tif", values * 3937 / 1200, **FEET_CORNER, crs=IN_FEET, unit="us-ft")
    assert ground_at_middle(yard.folder) == pytest.approx(100, abs=0.05)  # its corner lies a tenth of a cell off


@pytest.mark.parametrize(("word", "length"), [("ft", 0.3048), ("us-ft", 1200 / 3937), ("m", 1.0)])
def test_site_toml_has_the_last_word_on_the_unit(yard, word, length):
    values, _ = plane(yard)
    yard.toml = f'terrain_unit = "{word}"\n' + yard.toml
    write_raster(yard.write() / "ground.tif", values / length, **FEET_CORNER, crs=IN_FEET, unit="cm")
    assert ground_at_middle(yard.folder) == pytest.approx(100, abs=0.05)
    assert yard.cautions() == {}


def test_a_unit_that_is_none_is_a_fault(yard):
    values, corner = plane(yard)
    yard.toml = 'terrain_unit = "feet"\n' + yard.toml
    write_raster(yard.write() / "ground.tif", values, **corner)
    assert any("site.toml: terrain_unit" in fault and "us-ft" in fault for fault in yard.faults())


def test_heights_that_look_like_feet_get_a_word(yard):
    # the land around 45 N 8 E lies at some 200 m by the table in pvlib; 200 m are 656 ft
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", (values + 100) / 0.3048, **corner)
    text = yard.cautions()["elevation-feet"]
    assert "has the property at 656 m above the sea, but the land there lies at about 2" in text
    assert 'terrain_unit = "ft"' in text
    yard.toml = 'terrain_unit = "m"\n' + yard.toml
    assert yard.cautions() == {}


def test_scale_and_offset_of_the_band_count(yard):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", np.round((values - 50) * 10), **corner, dtype="int16")
    with rasterio.open(yard.folder / "ground.tif", "r+") as raster:
        raster.scales, raster.offsets = [0.1], [50.0]
    assert ground_at_middle(yard.folder) == pytest.approx(100, abs=0.06)  # decimetres


@pytest.mark.parametrize("right", [(1, 5e5), (1e300, 0), (-1e300, 1), (0, 1), (1e-300, 0)])
def test_cells_that_are_lines_are_refused(yard, right):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values, **corner)
    with rasterio.open(yard.folder / "ground.tif", "r+") as raster:
        raster.transform = rasterio.Affine(*right, corner["west"], 0, -1, corner["north"])
    (fault,) = yard.faults()
    assert "does not say where its cells lie" in fault


def test_all_that_is_wrong_with_a_raster_comes_at_once(yard):
    values, _ = plane(yard)
    yard.write()
    with (
        pytest.warns(NotGeoreferencedWarning),
        rasterio.open(
            yard.folder / "ground.tif", "w", driver="GTiff", width=80, height=80, count=3, dtype="uint8"
        ) as raster,
    ):
        raster.write(np.full((3, *values.shape), 120, dtype="uint8"))
    words = " ".join(faults_of(yard.folder))
    assert "has no coordinate reference system; save it as a GeoTIFF that carries the one" in words
    assert "does not say where its cells lie" in words
    assert "3 bands of bytes, which is a picture" in words


def test_a_raster_is_looked_at_even_where_the_boundary_is_at_fault(yard):
    values, corner = plane(yard)
    del yard.features["lot"]
    write_raster(yard.write() / "ground.tif", values, **corner, crs=None)
    faults = faults_of(yard.folder)
    assert any("has no boundary" in fault for fault in faults)
    assert any("has no coordinate reference system" in fault for fault in faults)


@pytest.mark.parametrize("text", ["elevations", '<VRTDataset rasterXSize="9" rasterYSize="9"></VRTDataset>', ""])
def test_what_is_no_geotiff_is_refused(yard, text):
    # a file that only names others could fetch them from anywhere
    plane(yard)
    (yard.write() / "ground.tif").write_text(text)
    (fault,) = faults_of(yard.folder)
    assert fault.startswith("ground.tif: cannot be read as a GeoTIFF")
    assert fault.endswith("export it as one")


def test_blocks_larger_than_memory_are_refused_unread(yard):
    plane(yard)
    write_empty_raster(yard.write() / "ground.tif", 30_000, blockysize=30_000, compress="deflate")
    tracemalloc.start()
    (fault,) = faults_of(yard.folder)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "is stored in blocks of 30,000 x 30,000 cells, 3.6 GB each" in fault
    assert "gdal_translate -co TILED=YES" in fault
    assert most < 100e6  # bytes; numpy's arrays count, and one block is 3.6e9


@pytest.mark.parametrize("tiled", [False, True])
def test_how_many_cells_are_fetched_for_a_grid(tmp_path, tiled):
    """Whole blocks, or what an overview has of the window: the margin is two cells and twice what one is read of."""
    path = tmp_path / "big.tif"
    layout = {"tiled": True, "blockxsize": 256, "blockysize": 128} if tiled else {"blockysize": 1}
    write_empty_raster(path, 2000, **layout)
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    with rasterio.open(path) as raster:
        ground = Elevations(raster, CRS(UTM), 1.0, frame, "big.tif")
        assert ground.cell == pytest.approx(1.0, rel=1e-3)
        fine = Grid(-100.0, 50.0, 1.0, 100, 200)
        window = ground.window(fine)
        assert (window.width, window.height) == pytest.approx((200 + 8, 100 + 8), abs=6)  # the frames lie askew
        high, across = (128, 256) if tiled else (1, 2000)
        rows, columns = min(window.height / high + 1, window.height), min(window.width / across + 1, window.width)
        assert ground.cost(fine) == pytest.approx(rows * high * columns * across)
        coarse = Grid(-800.0, 800.0, 8.0, 200, 200)
        assert ground.decimation(coarse) in {7, 8}  # cells of a map are not quite a metre
        thin, window = ground.decimation(coarse), ground.window(coarse)
        rows, columns = (
            min(length / block + 1, length / thin) * block
            for length, block in ((window.height, high), (window.width, across))
        )
        assert ground.cost(coarse) == pytest.approx(rows * columns)
        assert ground.cost(Grid(1e7, 1e7, 1.0, 5, 5)) == 0.0
    with rasterio.open(path, "r+") as raster:
        raster.build_overviews([4, 16], rasterio.enums.Resampling.nearest)
    with rasterio.open(path) as raster:
        ground = Elevations(raster, CRS(UTM), 1.0, frame, "big.tif")
        window = ground.window(coarse)
        assert ground.cost(coarse) == pytest.approx(window.width * window.height / 16)  # the finer of the two
        assert ground.cost(fine) > 100 * 200
