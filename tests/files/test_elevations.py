"""What is read of a raster, how much, and what is said of it, on made-up rasters that lie square in the frame."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from shapely import Point, box

from siteplan.files.ground import far_ground, terrain_file
from siteplan.files.ground.far_ground import _covered, _grids, _Reading, _say_what_was_read
from siteplan.files.ground.raster import Elevations, _has_area, metres_per_unit, raster_system
from siteplan.files.ground.terrain_file import _check_heights, _clipped, _filled, _grid, _why_unknown
from siteplan.files.remarks import Remarks
from siteplan.files.weather import weather_file
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
nan = np.nan
ANTIPODES = CRS("+proj=ortho +lat_0=-45 +lon_0=-172")  # a globe seen from there: the property is behind it


def said(remarks):
    return [one.text for one in remarks.faults] + [f"{one.code}: {one.text}" for one in remarks.cautions]


def dataset(width=100, height=80, *, west=-50.0, north=40.0, cell=1.0, **more):
    """Return what is asked of a rasterio dataset in metres of the frame."""
    plain = {
        "width": width, "height": height, "crs": FRAME.crs.to_wkt(), "count": 1, "dtypes": ("float32",), "units": ("",),
        "transform": rasterio.Affine(cell, 0, west, 0, -cell, north), "block_shapes": [(1, width)],
        "profile": {}, "overviews": lambda _: [], "scales": (1.0,), "offsets": (0.0,),
    }  # fmt: skip
    return SimpleNamespace(**plain | more)


def elevations(*size, **more):
    return Elevations(dataset(*size, **more), FRAME.crs, 1.0, FRAME, "dem.tif")


def test_a_cell_of_the_raster_in_metres():
    assert elevations().cell == pytest.approx(1.0, rel=1e-6)
    assert elevations(cell=2.5).cell == pytest.approx(2.5, rel=1e-6)
    oblong = elevations(transform=rasterio.Affine(1, 0, -50, 0, -4, 40))
    assert oblong.cell == pytest.approx(2.0, rel=1e-6)  # as much area
    assert Elevations(dataset(), ANTIPODES, 1.0, FRAME, "dem.tif").cell == 1.0


def test_places_and_corners():
    ground = elevations()
    assert ground.place(np.array([-50.0, 0.0, 50.0]), np.array([40.0, 10.0, -40.0])) == pytest.approx(
        np.array([[0, 50, 100], [0, 30, 80]]), abs=1e-6
    )
    assert ground.corners() == pytest.approx(np.array([[-50, 50, 50, -50], [40, 40, -40, -40]]), abs=1e-6)


@pytest.mark.parametrize(("west", "north", "rows", "columns", "covers", "beyond"), [
    (-50, 40, 80, 100, True, False), (-51, 41, 82, 102, True, False), (-51.1, 40, 80, 100, False, False), (-50, 41.1, 80, 100, False, False),
    (-50, 40, 82, 100, False, False), (-50, 40, 80, 102, False, False), (-45.9, 35.9, 72, 92, True, False), (-46, 36, 72, 92, True, False),
    (-45, 40, 80, 95, True, True), (-50, 35, 75, 100, True, True), (-50, 40, 80, 95, True, True), (-50, 40, 75, 100, True, True),
])  # fmt: skip
def test_whether_a_raster_covers_a_grid_and_goes_on(west, north, rows, columns, covers, beyond):
    """To a cell it counts as covered; it goes on where more than four cells lie beyond a side."""
    grid = Grid(west, north, 1.0, rows, columns)
    assert elevations().covers(grid) is covers
    if (west, columns) != (-45.9, 92):  # 4.1 cells to each side
        assert elevations().goes_beyond(grid) is beyond


def test_what_lies_nowhere_is_not_covered():
    ground = Elevations(dataset(), ANTIPODES, 1.0, FRAME, "dem.tif")
    grid = Grid(0, 0, 1.0, 2, 2)
    assert not ground.covers(grid)
    assert not ground.goes_beyond(grid)
    assert ground.window(grid) is None
    assert ground.read(grid) is None
    assert ground.cost(grid) == 0


@pytest.mark.parametrize(("grid", "window"), [
    (Grid(-10, 10, 1.0, 20, 20), (36, 26, 28, 28)),  # 40 and 30 less four, to 60 and 50 and four more
    (Grid(-10, 10, 2.0, 10, 10), (34, 24, 32, 32)),  # of cells twice as large six
    (Grid(-50, 40, 1.0, 80, 100), (0, 0, 100, 80)), (Grid(40, -30, 1.0, 40, 40), (86, 66, 14, 14)),
    (Grid(55, 0, 1.0, 5, 5), None), (Grid(0, 50, 1.0, 5, 5), None),
])  # fmt: skip
def test_the_window_under_a_grid(grid, window):
    found = elevations().window(grid)
    if window is None:
        assert found is None
        return
    left, top, width, height = found.col_off, found.row_off, found.width, found.height
    assert (left, top, width, height) == pytest.approx(
        window, abs=1
    )  # the frame comes back to a billionth of a metre
    assert left <= window[0]
    assert top <= window[1]


@pytest.mark.parametrize(("cell", "every"), [(0.5, 1), (1.0, 1), (1.9, 1), (2.0, 2), (7.99, 7), (8.0, 8)])
def test_every_so_many_cells_are_read(cell, every):
    assert elevations().decimation(Grid(0, 0, cell, 1, 1)) == every


@pytest.mark.parametrize(("cells", "area"), [
    ((1, 0, 0, -1), True), ((0, 2, 2, 0), True), ((1, 1, 1, 1), False), ((0, 0, 0, 0), False), ((1, 0, 0, 0), False),
    ((1, 0, 0, 2e-6), True), ((1, 0, 0, 0.9e-6), False), ((np.inf, 0, 0, 1), False), ((1e-9, 0, 0, 1e-9), True), ((-5, 0, 0, 1e9), False),
])  # fmt: skip
def test_cells_that_have_an_area(cells, area):
    a, b, d, e = cells
    assert _has_area(rasterio.Affine(a, b, 0, d, e, 0)) is area


@pytest.mark.parametrize(("more", "words"), [
    ({}, ""), ({"count": 3}, ""), ({"dtypes": ("uint8",)}, ""), ({"count": 2, "dtypes": ("uint8",)}, ""),
    ({"count": 3, "dtypes": ("uint8",)}, "has 3 bands of bytes, which is a picture; it must be elevations"),
    ({"dtypes": ("complex128",)}, "has complex numbers, must have elevations"),
    ({"transform": rasterio.Affine.identity()}, "does not say where its cells lie"),
    ({"transform": rasterio.Affine(1, 0, 5, 0, 0, 5)}, "does not say where its cells lie"),
    ({"crs": None}, "has no coordinate reference system; save it as a GeoTIFF"),
    ({"block_shapes": [(10_000, 12_500)]}, ""),  # of 4 bytes each: just 500 MB
    ({"block_shapes": [(10_000, 12_501)]}, "is stored in blocks of 12,501 x 10,000 cells, 0.5 GB each, which"),
    ({"block_shapes": [(10_000, 6_251)], "count": 2}, ""),
    ({"block_shapes": [(10_000, 6_251)], "count": 2, "profile": {"interleave": "pixel"}}, "is stored in blocks of 6,251 x 10,000 cells"),
])  # fmt: skip
def test_a_raster_is_looked_at_before_it_is_read(more, words):
    raster = dataset(**more)
    if raster.crs is not None:
        raster.crs = CRS(raster.crs)
    found = raster_system(raster, "dem.tif", remarks := Remarks())
    assert (found is None) == bool(words)
    assert [one.startswith(words) for one in said(remarks)] == ([True] if words else [])


LOCAL = CRS('LOCAL_CS["a garden", UNIT["metre", 1]]')


def test_a_system_of_no_place_on_earth():
    raster = dataset(crs=LOCAL)
    assert raster_system(raster, "dem.tif", remarks := Remarks()) is None
    assert said(remarks)[0].startswith("has the coordinate system 'a garden', which is of no place on earth; save it")


@pytest.mark.parametrize(("told", "system", "written", "metres"), [
    ("ft", "EPSG:32632", "m", 0.3048), (None, "EPSG:32632+6360", "m", 1200 / 3937), (None, "EPSG:32632", " FT ", 0.3048),
    (None, "EPSG:32632", "us-ft", 1200 / 3937), (None, "EPSG:32632", None, 1.0), (None, "EPSG:2263", "m", 1.0),
    (None, "EPSG:32632", "cm", "has elevations in 'cm', must be metres or feet; convert it, or say which they are in site.toml: here = "),
    (None, "EPSG:2263", "", 'measures in feet across and does not say what its elevations are in; say which they are in site.toml: here = "ft"'),
])  # fmt: skip
def test_the_unit_of_elevations(told, system, written, metres):
    raster = dataset(units=(written,))
    found = metres_per_unit(raster, CRS(system), told, "dem.tif", remarks := Remarks(), key="here")
    if isinstance(metres, str):
        assert found is None
        assert said(remarks)[0].startswith(metres)
    else:
        assert found == pytest.approx(metres, rel=1e-12)


# ---- the ground under the drawing


@pytest.mark.parametrize(("side", "cell", "grid_cell", "wide"), [
    (50, 1.0, 1.0, 250), (50, 0.02, 0.05, 60), (1900, 1.0, 1.0, 2000), (2100, 1.0, 1.05, 2100), (50, 5.0, 5.0, 1050),
])  # fmt: skip
def test_the_grid_over_a_drawing(side, cell, grid_cell, wide):
    """A hundred cells around it; no more than 2,000 to a side, and none below 5 cm."""
    ground = elevations()
    ground.__dict__["cell"] = cell
    found = _grid(ground, box(0, 0, side, side / 2), Remarks())
    assert found.cell == pytest.approx(grid_cell)
    assert found.columns * found.cell == pytest.approx(wide, rel=2e-3)
    assert found.rows * found.cell == pytest.approx(wide - side / 2, rel=2e-3)


def test_cells_half_as_large_again_are_told():
    ground = elevations()
    ground.__dict__["cell"] = 1.0
    _grid(ground, box(0, 0, 2990, 10), remarks := Remarks())
    assert said(remarks) == []
    _grid(ground, box(0, 0, 3100, 10), remarks)
    assert said(remarks) == [
        "elevation-coarser: dem.tif has cells of 1.00 m; over all that is drawn, 3.1 km across, it is read in cells of 1.55 m."
    ]


class Held(Elevations):
    """A raster whose cells are held in memory, one by one as they are."""

    values = np.zeros((80, 100))
    covered = True

    def read(self, _):
        return None if self.values is None else (self.values, None)

    def covers(self, _):
        return self.covered


def why(values, unknown=1.0, *, covered=True):
    ground = Held(dataset(), FRAME.crs, 1.0, FRAME, "dem.tif")
    ground.values, ground.covered = values, covered
    return _why_unknown(ground, unknown, box(-9, -9, 9, 9), Remarks())


def test_why_a_property_has_no_ground():
    holes = np.full((4, 4), nan)
    other = "or leave terrain out of site.toml"
    assert why(None) == why(holes, covered=False) == f"does not cover the property; take a larger cut of it, {other}"
    assert why(holes, 0.4) == f"has no data for 40% of the property; fill its holes, take another raster, {other}"
    assert why(np.array([[-500.0, 9000.0, nan]])).startswith("has no data for the property")
    assert why(np.array([[-9999.0, -9999.0, 9001.0, 100.0]]), 0.9985) == (
        "has -9,999 m for 100% of the property, must be from -500 m to 9,000 m; has it another unit, or holes that it does "
        f"not declare? Take one without, {other}"
    )
    assert why(np.array([[-501.0]])).startswith("has -501 m for the property")


def heights(values, *, unit_given=False, usual=200.0, monkeypatch=None):
    monkeypatch.setattr(weather_file, "usual_altitude", lambda *_: usual)
    _check_heights(elevations(), np.array(values), box(0, 0, 20, 10), remarks := Remarks(), unit_given=unit_given)
    return said(remarks)


def test_heights_that_look_odd(monkeypatch):
    def look(values, **more):
        return heights(values, monkeypatch=monkeypatch, **more)

    assert look([200.0, 219.9, nan]) == []
    assert look([200.0, 220.1])[0].startswith(
        "elevation-cliff: dem.tif rises from 200 m to 220 m within the property; unless"
    )
    assert look([549.0]) == []  # 349 m above the land around
    assert look([551.0])[0] == (
        "elevation-feet: dem.tif has the property at 551 m above the sea, but the land there lies at about 200 m; if these are "
        'feet, say so in site.toml: terrain_unit = "ft". If not: "m".'
    )
    assert look([551.0], unit_given=True) == []
    assert look([1145.0]) != []  # 349 m, if they were feet
    assert look([1150.0]) == []
    assert look([0.0, 551.0, 552.0, nan])[-1].startswith("elevation-feet: dem.tif has the property at 551 m")
    assert look([1000.0], usual=600.0) == []  # 305 m as feet: 295 off


GRID = Grid(0, 6, 1.0, 6, 6)


def filled(holes, shapes=()):
    """Return the ground of a slope to the east with holes, and what is said of it."""
    elevation = np.tile(np.arange(6.0), (6, 1))
    for row, column in holes:
        elevation[row, column] = nan
    found = _filled(
        elevation,
        GRID.inside(box(2, 2, 4, 4)),
        box(2.6, 2.6, 3.4, 3.4),
        shapes,
        GRID,
        "dem.tif",
        remarks := Remarks(),
    )
    return found, said(remarks)


def test_holes_under_the_property_take_the_nearest_ground():
    found, told = filled([])
    assert told == []
    assert found.grid == GRID
    found, told = filled([(2, 2)])
    assert told == [
        "elevation-filled: dem.tif knows no elevation for 25.0% of the property; the nearest known stands in."
    ]
    assert found.elevation[2, 2] in {1, 2, 3}
    found, told = filled([(0, 0)])  # farther off it stays a hole
    assert told == []
    assert np.isnan(found.elevation[0, 0])
    found, _ = filled([(1, 1), (1, 5)])  # a cell and a half around the drawing they are filled
    assert np.isnan(found.elevation[1]).tolist() == [False] * 5 + [True]
    found, told = filled([(row, 0) for row in range(6)] + [(5, column) for column in range(6)])
    assert (found.grid, told) == (Grid(1, 6, 1.0, 5, 5), [])


def test_features_beyond_the_boundary_without_ground_are_counted():
    holes = [(0, 0), (0, 5), (2, 2)]
    _, told = filled(holes, [Point(0.5, 5.5), Point(99, 99), Point(2.5, 3.5), Point(3.5, 3.5), Point(3.5, 5.5)])
    assert told[1:] == [
        "elevation-beyond: dem.tif knows no ground under 2 of the features beyond the boundary; the nearest stands in."
    ]


@pytest.mark.parametrize(
    ("x", "y", "cell"), [(0.5, 5.5, (0, 0)), (5.9, 0.1, (5, 5)), (-9, 9, (0, 0)), (9, -9, (5, 5)), (2.5, 1.5, (4, 2))]
)
def test_the_cell_nearest_to_a_shape(x, y, cell):
    assert _clipped(GRID, Point(x, y)) == cell


# ---- the ground beyond


def rings(*, side=100, reach=20.0, left=1e9, cost=0.0, near_cell=1.0, ends=99):
    """Return cell and half width of the rings, for a raster of which each ring costs as much as there are cells."""
    ground = SimpleNamespace(asked=0)

    def goes_beyond(_):
        ground.asked += 1
        return ground.asked <= ends

    ground.goes_beyond = goes_beyond
    ground.cost = lambda grid: cost or float(grid.rows * grid.columns)
    reading = _Reading(reach=reach, left=left, holes=0.0)
    near = Grid(-50, 50, near_cell, 100, 100)
    found = [
        (round(grid.cell, 3), round(-grid.west - side / 2))
        for grid in _grids(ground, box(-side / 2, -side / 2, side / 2, side / 2), near, reading)
    ]
    return found, reading


def test_each_ring_reaches_four_times_as_far():
    """From 20 m: 80, 320, 1,280, 5,120, 20,480 and at last 50,000 m, in cells of a hundredth of the ring within."""
    found, reading = rings()
    assert [reach for _, reach in found] == pytest.approx([80, 320, 1280, 5120, 20_480, 50_000], rel=5e-3)
    assert [cell for cell, _ in found] == pytest.approx([1.0, 1.0, 3.2, 12.8, 51.2, 204.8], rel=1e-3)
    assert reading.reach == 50_000
    assert rings(ends=2)[0] == found[:2]
    assert rings(ends=0)[0] == []
    assert rings(reach=50_000.0)[0] == []


def test_no_ring_is_much_narrower_than_the_property():
    found, _ = rings(side=800, reach=5.0, ends=1)
    assert found[0][1] == 400  # four times an eighth of it
    assert rings(near_cell=7.0, ends=1)[0][0][0] == 7.0


def test_a_ring_has_no_more_than_2000_cells_to_a_side(monkeypatch):
    monkeypatch.setattr(far_ground, "FINENESS", 1e9)
    found, _ = rings(near_cell=0.01, ends=1)
    assert found[0][0] == pytest.approx((100 + 160) / 2000, abs=1e-3)


def test_what_may_be_read_bounds_the_last_ring():
    """It shrinks by the root of what it would cost more, and is left out where it is hardly wider than the last."""
    found, reading = rings(cost=1e6, left=1e6)
    assert len(found) == 1
    assert (reading.left, reading.reach) == (0.0, 80.0)
    found, reading = rings(cost=1e6, left=0.25e6)
    assert [reach for _, reach in found] == [40]
    assert reading.left == 0.0
    assert rings(cost=1e6, left=0.0901e6)[0][0][1] == 24  # 1.2 times 20 m
    assert rings(cost=1e6, left=0.0899e6)[0] == []


def test_which_cells_lie_on_the_ring_within():
    """Cells of 2 m over a grid from 4 to 16: their centres at 7 ... 13 lie 3 m and more within."""
    found = _covered(Grid(0, 20, 2.0, 10, 10), Grid(4, 16, 1.0, 12, 12))
    inside = np.flatnonzero(found.any(axis=0)).tolist()
    assert inside == np.flatnonzero(found.any(axis=1)).tolist() == [4, 5]  # 9 and 11: more than 3 m from the edge
    assert found.sum() == 4


def told_of(reach=1000.0, *, cells=10_000, holes=0.0, goes_on=False):
    ground = elevations(cells, 1000)
    stub = SimpleNamespace(file="dem.tif", raster=ground.raster, goes_beyond=lambda _: goes_on)
    _say_what_was_read(stub, None, _Reading(reach, 0.0, holes), remarks := Remarks())
    return said(remarks)


def test_what_is_said_of_how_far_a_raster_was_read():
    assert told_of(cells=50_000) == []
    how = "million cells and is not read whole: the farther from the property the coarser, in cells of a hundredth of the distance,"
    assert told_of(cells=51_000) == [f"elevation-far: dem.tif has 51 {how} out to its edge."]
    left = "as far as 1 km; what stands farther off is left out."
    more = " With overviews more of it can be read: gdaladdo -r average dem.tif 4 16 64 256."
    assert told_of(goes_on=True) == [f"elevation-far: dem.tif has 10 {how} {left}{more}"]
    assert told_of(50_000.0, goes_on=True)[0].endswith("as far as 50 km; what stands farther off is left out.")
    assert told_of(holes=0.01) == []
    assert told_of(holes=0.02) == [
        "elevation-holes: dem.tif has no data for 2% of the ground within 1 km; none of that hides the sun."
    ]
    assert (terrain_file.MOST_CELLS, far_ground.MOST_READ) == (2000, 100e6)
