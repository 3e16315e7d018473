"""Where do the cells of a raster lie, and which are read for a grid? By hand, on rasters made up in the frame itself."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from rasterio import Affine
from rasterio.windows import Window

from siteplan.files.ground.raster import UNITS, Elevations, _check_blocks, _has_area, metres_per_unit, raster_system
from siteplan.files.remarks import Remarks
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
SQUARE = Affine(1, 0, -50, 0, -1, 50)  # a hundred cells of a metre to each side of 100 m about the middle
ASKEW = Affine(3, 1, -50, -1, -4, 70)


def elevations(transform=SQUARE, *, width=100, height=100, cell=1.0, system=None, metres=1.0, **more):
    raster = SimpleNamespace(transform=transform, width=width, height=height, **more)
    found = Elevations(raster, system or FRAME.crs, metres, FRAME, "dem.tif")
    if cell is not None:
        found.__dict__["cell"] = cell
    return found


def test_the_side_of_a_cell():
    """Steps of (3, -1) along a row and of (1, -4) down a column span 12 - 1 = 11 m2."""
    assert elevations(ASKEW, cell=None).cell == pytest.approx(math.sqrt(11), rel=1e-6)
    assert elevations(Affine(1, 0, 0, 0, -4, 0), cell=None).cell == pytest.approx(2, rel=1e-6)
    assert elevations(Affine(0.5, 0, 0, 0, -0.5, 0), cell=None).cell == pytest.approx(0.5, rel=1e-6)
    degrees = Affine(0.001, 0, 7, 0, -0.001, 46)  # 78.8 m by 111.1 m at 45 degrees: 93.6 m
    assert elevations(degrees, cell=None, system=CRS("EPSG:4326")).cell == pytest.approx(93.6, abs=0.1)
    other_side = CRS("+proj=gnom +lat_0=-45 +lon_0=-172 +datum=WGS84")  # shows less than half of the earth
    assert elevations(Affine(5, 0, 0, 0, -5, 0), cell=None, system=other_side).cell == 1.0


def test_points_and_corners_of_cells_that_lie_askew():
    askew = elevations(ASKEW, width=10, height=20)
    corners = np.array([[-50.0, -20, 0, -30], [70, 60, -20, -10]])
    assert askew.corners() == pytest.approx(corners, abs=1e-6)
    assert askew.place(*corners) == pytest.approx(np.array([[0, 10, 10, 0], [0, 0, 20, 20]]), abs=1e-6)


def box(west, south, east, north, cell=1.0):
    return Grid(west, north, cell, round((north - south) / cell), round((east - west) / cell))


@pytest.mark.parametrize(("grid", "window"), [
    # columns 40.5 to 63.5 and rows 42.5 to 57.5, and four cells more on each side
    (box(-9.5, -7.5, 13.5, 7.5), (36, 38, 32, 24)),
    # every third cell: columns 40.5 to 62.9, rows 42.5 to 58.5, and eight cells more
    (box(-9.5, -8.5, 12.9, 7.5, 3.2), (32, 34, 39, 33)),
    (box(-60.5, 20.5, -20.5, 60.5), (0, 0, 34, 34)), (box(20.5, -60.5, 60.5, -20.5), (66, 66, 34, 34)),
    (box(52.5, -5.5, 60.5, 5.5), (98, 40, 2, 20)),  # beside it, but near enough to be interpolated
    (box(60.5, -5.5, 70.5, 5.5), None), (box(-5.5, 60.5, 5.5, 70.5), None), (box(-70.5, -5.5, -60.5, 5.5), None),
    (box(-5.5, -70.5, 5.5, -60.5), None),
])  # fmt: skip
def test_the_cells_that_lie_under_a_grid(grid, window):
    assert elevations().window(grid) == (None if window is None else Window(*window))


@pytest.mark.parametrize(("cell", "every"), [(0.4, 1), (1.0, 1), (1.99, 1), (2.0, 2), (2.0 - 1e-9, 2), (3.9, 3)])
def test_every_how_many_cells_are_read(cell, every):
    assert elevations().decimation(box(0, 0, 39, 39, cell)) == every
    assert elevations(cell=2.0).decimation(box(0, 0, 39, 39, 2 * cell)) == every


@pytest.mark.parametrize(("grid", "covered"), [
    ((-50.9, -50.9, 50.9, 50.9), True), ((-51.1, -50, 50, 50), False), ((-50, -51.1, 50, 50), False),
    ((-50, -50, 51.1, 50), False), ((-50, -50, 50, 51.1), False), ((-9, -9, 9, 9), True),
])  # fmt: skip
def test_whether_a_raster_covers_a_grid_to_a_cell(grid, covered):
    west, south, east, north = grid
    assert elevations().covers(SimpleNamespace(west=west, south=south, east=east, north=north)) is covered


@pytest.mark.parametrize(("west", "south", "east", "north"), [
    (1, 0, 0, 0), (0, 1, 0, 0), (0, 0, -1, 0), (0, 0, 0, -1),
])  # fmt: skip
def test_whether_a_raster_goes_beyond_a_grid_by_more_than_a_few_cells(west, south, east, north):
    """Four cells on each side, or six where every other is read; a tenth of a cell more on one side is enough."""
    for cell, few in ((1.0, 4), (2.0, 6)):
        edge = 50 - few
        within = SimpleNamespace(west=-edge - 0.1, south=-edge - 0.1, east=edge + 0.1, north=edge + 0.1, cell=cell)
        assert elevations().goes_beyond(within) is False
        less = SimpleNamespace(
            west=within.west + 0.2 * west, south=within.south + 0.2 * south, east=within.east + 0.2 * east,
            north=within.north + 0.2 * north, cell=cell,
        )  # fmt: skip
        assert elevations().goes_beyond(less) is True


def test_a_grid_that_has_no_place_in_the_raster():
    nowhere = elevations(system=CRS("+proj=gnom +lat_0=-45 +lon_0=-172 +datum=WGS84"))
    grid = box(-5, -5, 5, 5)
    assert (nowhere.window(grid), nowhere.covers(grid), nowhere.goes_beyond(grid)) == (None, False, False)
    assert (nowhere.cost(grid), nowhere.read(grid)) == (0.0, None)


def cost(grid, blocks, overviews=()):
    return elevations(block_shapes=[blocks], overviews=lambda band: list(overviews) if band == 1 else [99]).cost(grid)


def test_how_many_cells_are_fetched():
    """Of a window of 32 by 24 cells, then of 39 by 33 of which every third is read."""
    all_of_them, each_third = box(-9.5, -7.5, 13.5, 7.5), box(-9.5, -8.5, 12.9, 7.5, 3.2)
    assert cost(all_of_them, (8, 16)) == (24 / 8 + 1) * 8 * (32 / 16 + 1) * 16
    assert cost(all_of_them, (1, 1)) == 24 * 32
    assert cost(each_third, (1, 1)) == 11 * 13
    assert cost(each_third, (100, 200)) == pytest.approx((33 / 100 + 1) * 100 * (39 / 200 + 1) * 200)
    assert cost(each_third, (1, 1), (2, 4)) == 39 * 33 / 4
    assert cost(each_third, (1, 1), (3, 2)) == 39 * 33 / 9
    assert cost(all_of_them, (1, 1), (2, 4)) == 24 * 32


@pytest.mark.filterwarnings("ignore:Use `@` matmul")  # older affine knows none; no warning leaves an opened raster
def test_cells_are_read_with_their_scale_and_place():
    """Stored 10, times a half, and 60 more, in feet; a hole in the first."""
    asked = []

    def read(band, **more):
        asked.append((band, more["window"], more["masked"], more["resampling"].name))
        cells = np.ma.masked_array(np.full(more["out_shape"], 10, dtype=np.int16), mask=False)
        cells[0, 0] = np.ma.masked
        return cells

    place = lambda window: Affine(1, 0, -50 + window.col_off, 0, -1, 50 - window.row_off)  # noqa: E731
    dem = elevations(read=read, scales=[0.5], offsets=[60.0], window_transform=place, metres=0.3048)
    values, where = dem.read(box(-9.5, -8.5, 12.9, 7.5, 3.2))
    assert asked == [(1, Window(32, 34, 39, 33), True, "nearest")]
    assert values.shape == (11, 13)
    assert np.isnan(values[0, 0])
    assert values.ravel()[1:] == pytest.approx(65 * 0.3048)
    assert tuple(where)[:6] == pytest.approx((3, 0, -18, 0, -3, 16))
    values, where = dem.read(box(-60.0, 20.5, -21.6, 58.9, 3.2))
    assert asked[1][1] == Window(0, 0, 37, 38)  # up to column 28.4 and row 29.5, and eight more
    assert values.shape == (13, 13)  # every third of them, and the rest
    assert tuple(where)[:6] == pytest.approx((37 / 13, 0, -50, 0, -38 / 13, 50))


def test_cells_are_laid_on_a_grid_without_what_is_no_elevation():
    """Two rows of three cells of two metres, north first; half way between two cells lies their mean."""
    crs = rasterio.crs.CRS.from_wkt(FRAME.crs.to_wkt())
    dem = elevations(crs=crs)
    place = Affine(2, 0, 10, 0, -2, 34)
    grid = Grid(10, 34, 2.0, 2, 3)
    values = np.array([[-500.0, 9000, 3], [4, 5, 6]])
    assert dem.resampled(values, place, grid) == pytest.approx(values, abs=1e-6)
    values[0, 0], values[1, 1] = -500.1, 9000.1
    found = dem.resampled(values, place, grid)
    assert np.isnan(found).tolist() == [[True, False, False], [False, True, False]]
    sloping = np.array([[1.0, 2, 3, 4]] * 3) * 10
    assert dem.resampled(sloping, place, Grid(11, 33, 2.0, 2, 2)) == pytest.approx(np.array([[15.0, 25]] * 2))


@pytest.mark.parametrize(("sides", "has_area"), [
    ((1, 0, 0, 1), True), ((-2, 0, 0, 3), True), ((0, 1, 1, 0), True), ((1, 1, 1, 1), False), ((1, 1, -1, 1), True),
    ((1, -1, 1, 1), True), ((1, 0, 0, 1.1e-6), True), ((1, 0, 0, 0.9e-6), False), ((-1e8, 0, 0, 110), True),
    ((-1e8, 0, 0, 90), False), ((0, 1e-3, 1.1e-9, 0), True), ((0, 0, 0, 0), False), ((1, math.inf, 0, 1), False),
    ((1, 0, 0, math.nan), False), ((0.5, 0, 0, 0.5), True),
])  # fmt: skip
def test_cells_have_an_area_or_are_lines(sides, has_area):
    a, b, d, e = sides
    assert _has_area(SimpleNamespace(a=a, b=b, d=d, e=e)) is has_area


def block_faults(rows, columns, count=1, interleave="pixel", dtype="float32"):
    raster = SimpleNamespace(
        block_shapes=[(rows, columns), (1, 1)],
        count=count,
        profile={"interleave": interleave},
        dtypes=[dtype, "uint8"],
    )
    _check_blocks(raster, "dem.tif", remarks := Remarks())
    return [fault.text for fault in remarks.faults]


def test_blocks_of_half_a_gigabyte_are_the_largest():
    """Three bands of four bytes, pixel by pixel: 12 bytes a cell; band by band a block holds only one."""
    assert block_faults(10_000, 4166, 3) == []
    assert block_faults(10_000, 4167, 3) == [
        (
            "is stored in blocks of 4,167 x 10,000 cells, 0.5 GB each, which can only be read whole; store it in "
            "tiles, as by: gdal_translate -co TILED=YES -co BIGTIFF=YES dem.tif tiled.tif"
        )
    ]
    assert block_faults(10_000, 12_500, 3, "band") == []
    assert block_faults(10_000, 12_501, 3, "band") != []
    assert block_faults(10_000, 50_000, dtype="uint8") == []
    assert "7.2 GB each" in block_faults(30_000, 30_000, dtype="float64")[0]


def system_faults(crs="EPSG:32632", *, transform=SQUARE, count=1, dtype="float32"):
    crs = None if crs is None else SimpleNamespace(to_wkt=CRS(crs).to_wkt)
    raster = SimpleNamespace(
        crs=crs, transform=transform, count=count, dtypes=[dtype] * count, block_shapes=[(1, 9)], profile={}
    )
    remarks = Remarks()
    remarks.fault("other.tif", "", "was wrong before")
    system = raster_system(raster, "dem.tif", remarks)
    assert (system is None) == (len(remarks.faults) > 1)
    return [fault.text for fault in list(remarks.faults)[1:]]


def test_what_is_no_raster_of_elevations():
    assert system_faults() == []
    assert system_faults("EPSG:4326") == []
    save = "save it as a GeoTIFF that carries the one that its source names, such as EPSG:26913"
    assert system_faults(None) == [f"has no coordinate reference system; {save}"]
    garden = "LOCAL_CS['a garden', UNIT['metre', 1]]".replace("'", '"')
    assert system_faults(garden) == [f"has the coordinate system 'a garden', which is of no place on earth; {save}"]
    lies = "does not say where its cells lie; save it as a GeoTIFF with its place in it"
    assert system_faults(transform=Affine.identity()) == [lies]
    assert system_faults(transform=Affine(1, 0, 5, 1, 0, 5)) == [lies]
    picture = "has {} bands of bytes, which is a picture; it must be elevations"
    assert system_faults(count=3, dtype="uint8") == [picture.format(3)]
    assert system_faults(count=4, dtype="uint8") == [picture.format(4)]
    assert system_faults(count=2, dtype="uint8") == []
    assert system_faults(count=3) == []
    assert system_faults(dtype="complex64") == ["has complex numbers, must have elevations"]


def unit(crs="EPSG:32632", written="", given=None, **more):
    remarks = Remarks()
    found = metres_per_unit(SimpleNamespace(units=[written, "cm"]), CRS(crs), given, "dem.tif", remarks, **more)
    return [fault.text for fault in remarks.faults] or found


def test_the_unit_of_elevations():
    """Given, else of the vertical system, else of the band, else metres for a map in metres."""
    assert unit("EPSG:2263+6360", "m", given="ft") == 0.3048
    assert unit("EPSG:32632+6360", "m") == pytest.approx(1200 / 3937, rel=1e-12)  # NAVD88 in US survey feet
    assert unit("EPSG:2263+5703", "ft") == 1.0  # NAVD88 in metres
    assert unit("EPSG:2263", " Feet ") == 0.3048
    assert unit("EPSG:32632", None) == 1.0
    assert unit("EPSG:4326") == 1.0
    say = 'say which they are in site.toml: {} = "ft", "us-ft" or "m"'
    terrain, surface = say.format("terrain_unit"), say.format("surface_unit")
    assert unit(written="cm") == [f"has elevations in 'cm', must be metres or feet; convert it, or {terrain}"]
    feet = "measures in feet across and does not say what its elevations are in"
    assert unit("EPSG:2263", key="surface_unit") == [f"{feet}; {surface}"]  # US survey foot
    assert unit("EPSG:2222") == [f"{feet}; {terrain}"]  # foot


def test_each_name_of_a_metre_is_a_metre_and_of_a_foot_a_foot():
    assert {UNITS[name] for name in ("m", "metre", "meter", "metres", "meters")} == {1.0}
    assert {UNITS[name] for name in ("ft", "foot", "feet", "international foot")} == {0.3048}
    surveyed = ("us survey foot", "us survey feet", "us_survey_foot", "survey foot", "us-ft", "us ft", "ftus")
    assert [UNITS[name] for name in surveyed] == pytest.approx([1200 / 3937] * 7, rel=1e-12)
