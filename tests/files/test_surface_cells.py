"""What becomes of the cells of a surface: pooled, without spikes, less the ground. By hand, a few cells at a time."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from shapely import box

from siteplan.files.ground import surface_file
from siteplan.files.ground.raster import Elevations
from siteplan.files.ground.surface_file import (
    _ground_below,
    _hole,
    _lone,
    _Oddities,
    _parts,
    _pooled,
    _reach,
    _sound,
    _standing,
)
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid
from siteplan.land.surface_model import SurfaceLayer
from siteplan.land.terrain import Terrain

from .rasters import TO_UTM, UTM, write_raster

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
X, Y = TO_UTM.transform(8.0, 45.0)
nan = np.nan


class Part:
    """What `_pooled` and `_hole` read of a part."""

    def __init__(self, window, pool):
        self.window, self.pool = window, pool


@pytest.fixture
def opened(tmp_path):
    """Return a maker of rasters in memory of the frame, and closes them."""
    rasters = []

    def make(values, *, west=None, north=None, cell=1.0, metres=1.0, **options):
        path = tmp_path / f"{len(rasters)}.tif"
        rows, columns = np.shape(values)
        west = X - columns * cell / 2 if west is None else west
        north = Y + rows * cell / 2 if north is None else north
        write_raster(path, values, west=west, north=north, cell=cell, **options)
        rasters.append(rasterio.open(path))
        return Elevations(rasters[-1], CRS(UTM), metres, FRAME, path.name)

    yield make
    for raster in rasters:
        raster.close()


CELLS = np.arange(35.0).reshape(5, 7)


def test_of_each_so_many_cells_the_highest(opened):
    """Two by two of five rows and seven columns: the last are halves."""
    pooled = _pooled(opened(CELLS), Part((0, 0, 7, 5), 2), _Oddities())
    assert pooled.tolist() == [[8, 10, 12, 13], [22, 24, 26, 27], [29, 31, 33, 34]]
    part = _pooled(opened(CELLS), Part((1, 2, 4, 4), 1), _Oddities())
    assert part.tolist() == [[15, 16, 17], [22, 23, 24]]
    holed = np.where(CELLS > 20, -9999, CELLS)
    pooled = _pooled(opened(holed, nodata=-9999), Part((0, 0, 7, 5), 2), _Oddities())
    assert np.array_equal(pooled, [[8, 10, 12, 13], [15, 17, 19, 20], [nan] * 4], equal_nan=True)
    feet = _pooled(opened(CELLS, metres=0.3048), Part((0, 0, 7, 5), 7), _Oddities())
    assert feet == pytest.approx(34 * 0.3048)


def test_scale_and_offset_of_the_band_count_before_the_unit(opened):
    """Of 0 to 34 the highest of each corner are 24, 27, 31 and 34; half of it and 60 more, in feet."""
    elevations = opened(CELLS, metres=0.3048)
    elevations.raster.close()
    with rasterio.open(elevations.raster.name, "r+") as raster:
        raster.scales, raster.offsets = [0.5], [60.0]
    with rasterio.open(elevations.raster.name) as raster:
        stretched = Elevations(raster, CRS(UTM), 0.3048, FRAME, "tops.tif")
        pooled = _pooled(stretched, Part((0, 0, 7, 5), 4), _Oddities())
    assert pooled == pytest.approx(np.array([[72, 73.5], [75.5, 77]]) * 0.3048)


@pytest.mark.parametrize("strip", [1, 14, 21, 28, 1000])
def test_strips_make_no_difference(opened, monkeypatch, strip):
    monkeypatch.setattr(surface_file, "STRIP", strip)
    pooled = _pooled(opened(CELLS), Part((0, 0, 7, 5), 2), _Oddities())
    assert pooled.tolist() == [[8, 10, 12, 13], [22, 24, 26, 27], [29, 31, 33, 34]]


def lone(values):
    rows, columns, highest = _lone(np.array(values, dtype=np.float32))
    return list(zip(rows.tolist(), columns.tolist(), highest.tolist(), strict=True))


def test_a_cell_far_above_all_eight_around_it_is_a_slip():
    flat = np.full((4, 4), 10.0)
    for tall, is_slip in ((18.5, True), (17.5, False)):
        spiked = flat.copy()
        spiked[1, 2] = tall
        assert lone(spiked) == ([(1, 2, 10.0)] if is_slip else [])
    for row, column in np.ndindex(3, 3):  # a second as high in any of the eight cells makes it none
        if (row, column) != (1, 1):
            pair = np.full((3, 3), 10.0)
            pair[1, 1], pair[row, column] = 30.0, 25.0
            assert lone(pair) == []
    corner = flat.copy()
    corner[3, 3] = 30.0
    assert lone(corner) == [(3, 3, 10.0)]
    island = np.full((3, 3), nan)
    island[1, 1] = 30.0
    assert lone(island) == []  # nothing is known around it
    island[0, 0] = 12.0
    assert lone(island) == [(1, 1, 12.0)]


def test_what_is_no_elevation_is_not_known():
    slips = _Oddities()
    got = _sound(np.array([[10.0, -32768.0], [9500.0, 11.0]], dtype=np.float32), 5.0, slips)
    assert np.array_equal(got, [[10, nan], [nan, 11]], equal_nan=True)
    assert slips.strange == -32768.0
    spiked = np.full((3, 3), 10, dtype=np.float32)
    spiked[1, 1] = 60
    assert _sound(spiked.copy(), 2.1, _Oddities())[1, 1] == 60  # a cell so large may hold a whole tree
    slips = _Oddities()
    assert _sound(spiked.copy(), 2.0, slips)[1, 1] == 10
    assert slips.lone == 1


def layer(tops, cell=1.0):
    """Return a layer whose cell in the north-west has its middle half a cell off the origin."""
    return SurfaceLayer(
        tops=np.array(tops, dtype=np.float32), place=np.array([[1 / cell, 0, 0], [0, -1 / cell, 0]]), cell=cell
    )


def stands(tops, ground, hole=None):
    found = _standing(layer(tops), np.array(ground, dtype=np.float32), hole)
    return np.isfinite(found.tops).astype(int).tolist()


def test_what_stands_is_half_a_metre_above_the_ground_and_no_tower_of_400_m():
    assert stands([[10.4, 10.6, 409.9, 410.1]], [[10.0] * 4]) == [[0, 1, 1, 0]]
    # on ground that rises by 1 m a cell the far corner of a cell lies 0.71 m higher
    rising = [[10.0, 11.0, 12.0]]
    assert stands([[11.2, 12.2, 13.2]], rising) == [[0, 0, 0]]
    assert stands([[11.3, 12.3, 13.3]], rising) == [[1, 1, 1]]
    steep = [[10.0, 11.0], [11.0, 12.0]]  # both ways: by 1.41 m a cell
    assert stands([[11.4, 12.4], [12.4, 13.4]], steep) == [[0, 0], [0, 0]]
    assert stands([[11.6, 12.6], [12.6, 13.6]], steep) == [[1, 1], [1, 1]]
    assert stands([[20.0] * 3] * 3, [[10.0] * 3] * 3, hole=(1.0, 0.0, 3.0, 2.0)) == [[1, 0, 0], [1, 0, 0], [1, 1, 1]]


def test_the_surface_sinks_with_the_earths_curve():
    """At 5 km by 25e6 / (2 * 6.371e6) = 1.96 m, less what the air bends (an eighth): 1.7 m."""
    wide = SurfaceLayer(
        tops=np.full((1, 1), 20.0, dtype=np.float32), place=np.array([[1.0, 0, -4999.5], [0, -1.0, 0]]), cell=1.0
    )
    found = _standing(wide, np.full((1, 1), 10.0, dtype=np.float32), None)
    assert 20 - 1.97 <= found.tops[0, 0] <= 20 - 1.5


def test_the_ground_below_is_the_nearest_that_is_known():
    near = Terrain(grid=Grid(0, 0, 1.0, 4, 4), elevation=np.full((4, 4), 7.0))
    found, sure = _ground_below(layer(np.zeros((2, 12))), near)
    assert sure[:, :4].all()
    assert not sure[:, 6:].any()
    assert found == pytest.approx(np.full((2, 12), 7.0))
    away = SurfaceLayer(
        tops=np.zeros((2, 2), dtype=np.float32), place=np.array([[1.0, 0, -900], [0, -1.0, 900]]), cell=1.0
    )
    found, sure = _ground_below(away, near)
    assert not sure.any()
    assert found == pytest.approx(np.full((2, 2), 7.0))


def test_the_cells_of_a_layer_that_lie_wholly_on_the_one_within():
    """The inner from column 5 and row 6 to 15 and 17; in cells of two from the outer's window at 2 and 0."""
    assert _hole(Part((5, 6, 15, 17), 1), Part((2, 0, 30, 30), 2)) == (2.0, 3.0, 6.0, 8.0)
    assert _hole(Part((5, 6, 6, 17), 1), Part((2, 0, 30, 30), 2)) is None
    assert _hole(Part((5, 7, 15, 8), 1), Part((2, 0, 30, 30), 2)) is None


def layers(elevations, side):
    return [(part.pool, part.reach) for part in _parts(elevations, box(-side / 2, -side / 2, side / 2, side / 2))]


def test_each_layer_reaches_twice_as_far_in_cells_twice_as_large(opened):
    ground = opened(np.zeros((2000, 2000)))
    assert layers(ground, 40) == [(1, pytest.approx(400, rel=1e-3)), (2, pytest.approx(800, rel=1e-3)),
                                  (4, pytest.approx(1600, rel=1e-3))]  # fmt: skip


def test_a_large_property_begins_in_larger_cells(opened):
    """2,300 m in cells of 1 m and 400 to both sides are 3,100 to a side; 2,100 m are 2,900."""
    ground = opened(np.zeros((400, 400)), cell=10.0)
    ground.__dict__["cell"] = 1.0
    assert layers(ground, 2100)[0][0] == 1
    assert layers(ground, 2300)[0][0] == 2


def test_what_may_be_read_bounds_the_last_layer(opened, monkeypatch):
    """Of the second layer, 1,640 by 1,640 cells, so many as are left; nothing where that is no fifth farther."""
    ground = opened(np.zeros((2000, 2000)))
    first = 840**2
    monkeypatch.setattr(surface_file, "MOST_READ", 1.05 * first + 1640**2 / 2)
    (_, near), (pool, far) = layers(ground, 40)
    assert (pool, near) == (2, pytest.approx(400, rel=1e-3))
    assert far == pytest.approx(800 * np.sqrt(0.5), rel=0.03)
    monkeypatch.setattr(surface_file, "MOST_READ", 1.02 * first + 1640**2 / 4.5)
    assert len(layers(ground, 40)) == 1


def test_how_far_a_raster_reaches_on_all_sides(opened):
    """A square of 100 m about a yard of 20 by 20: 40 m, or as far as it was read."""
    ground, yard = opened(np.zeros((100, 100))), box(-10, -10, 10, 10)
    assert _reach(ground, yard, 400.0) == pytest.approx(40, abs=0.8)  # turned by 0.7 degrees
    assert _reach(ground, yard, 25.0) == 25.0
    assert _reach(ground, box(-60, -10, 10, 10), 400.0) == 0.0  # the raster ends on the property
    ground.__dict__["corners"] = lambda: np.full((2, 4), np.inf)
    assert _reach(ground, yard, 400.0) == 400.0


def test_a_raster_that_ends_on_one_side_alone_is_read_on(opened):
    """A strip of 300 m that ends a hundred metres to the south and goes on for 1,900 to the north."""
    strip = opened(np.zeros((2000, 300)), north=Y + 1900)
    assert [pool for pool, _ in layers(strip, 40)] == [1, 2, 4, 8]
    assert [pool for pool, _ in layers(opened(np.zeros((300, 300))), 40)] == [1]  # all of it is read at once
