"""Which parts of a raster of the surface are read, how far they reach, and in which cells. By hand, on made-up rasters."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from siteplan.files.ground import surface_file
from siteplan.files.ground.surface_file import (
    _ground_below,
    _hole,
    _Oddities,
    _part,
    _parts,
    _pooled,
    _reach,
    _standing,
)
from siteplan.land.grid import Grid
from siteplan.land.surface_model import SurfaceLayer
from siteplan.land.terrain import Terrain

YARD = box(-10, -5, 10, 5)


def raster(side=100, cell=1.0, rows=None):
    """Return a raster whose middle is the frame's, as far as it is asked for its place."""
    rows = side if rows is None else rows

    def place(x, y):
        return np.array([np.asarray(x) / cell + side / 2, rows / 2 - np.asarray(y) / cell])

    return SimpleNamespace(place=place, raster=SimpleNamespace(width=side, height=rows), cell=cell)


def test_a_part_is_the_cells_within_a_distance_of_the_property():
    """Twenty metres around a yard of 20 m by 10 m are 60 m by 50 m: columns 20 to 80, rows 25 to 75."""
    part = _part(raster(), YARD, 20.0, 1)
    assert (part.window, part.pool, part.reach, part.is_all) == ((20, 25, 80, 75), 1, 20.0, False)
    assert (part.count, part.expected_cells) == (3000, pytest.approx(3000))
    assert part.place == pytest.approx(np.array([[1, 0, 30], [0, -1, 25]]), abs=1e-9)


def test_a_part_begins_and_ends_with_whole_cells():
    """Columns 19.5 to 80.5 and rows 24.5 to 75.5; in cells of two the first are 18 and 24."""
    assert _part(raster(), YARD, 20.5, 1).window == (19, 24, 81, 76)
    part = _part(raster(), YARD, 21.0, 2)
    assert part.window == (18, 24, 81, 76)
    assert part.expected_cells == pytest.approx(62 * 52 / 4)
    assert part.place == pytest.approx(np.array([[0.5, 0, 16], [0, -0.5, 13]]), abs=1e-9)
    coarse = _part(raster(cell=2.0), YARD, 21.0, 2)  # the raster's own cells are 2 m: columns 34.5 to 65.5
    assert coarse.window == (34, 36, 66, 63)
    assert coarse.expected_cells == pytest.approx(62 * 52 / 16)


def test_a_part_ends_with_the_raster():
    part = _part(raster(), YARD, 100.0, 1)
    assert (part.window, part.is_all) == ((0, 0, 100, 100), True)
    assert part.expected_cells == pytest.approx(220 * 210)  # what lies past the edge counts as unknown
    assert _part(raster(), YARD, 45.0, 1).is_all is True  # the rows end just there
    assert _part(raster(), YARD, 44.0, 1).is_all is False  # the columns do, the rows go on
    assert _part(raster(side=104, rows=90), YARD, 41.0, 1).is_all is False  # the rows do, the columns go on
    shifted = raster()
    shifted.place = lambda x, y: (
        raster().place(x, y) + np.array([[30.0], [0]])
    )  # 80 columns west of the middle, 20 east
    assert _part(shifted, YARD, 80.0, 1).is_all is True
    assert _part(shifted, YARD, 50.0, 1).window == (20, 0, 100, 100)
    shifted.place = lambda x, y: (
        raster().place(x, y) - np.array([[30.0], [0]])
    )  # 20 columns west of the middle, 80 east
    assert _part(shifted, YARD, 46.0, 1).is_all is False  # it ends on all sides but the east


@pytest.mark.parametrize("off", [(200, 0), (-200, 0), (0, 200), (0, -200)])
def test_a_raster_of_elsewhere_has_no_part(off):
    east, north = off
    yard = box(east - 10, north - 5, east + 10, north + 5)
    assert _part(raster(), yard, 20.0, 1) is None
    far = box(5 * east - 10, 5 * north - 5, 5 * east + 10, 5 * north + 5)
    assert list(_parts(raster(), far)) == []


def test_a_place_that_is_none_has_no_part():
    odd = raster()
    odd.place = lambda x, y: np.where(np.arange(len(x)) == 3, np.inf, raster().place(x, y))
    assert _part(odd, YARD, 20.0, 1) is None


def reaches(elevations, yard=YARD):
    return [(part.pool, pytest.approx(part.reach)) for part in _parts(elevations, yard)]


def test_parts_end_ten_kilometres_off():
    """In cells of 10 m the first reaches 4 km; the third would reach 16."""
    assert reaches(raster(side=10_000, cell=10.0)) == [(1, 4000), (2, 8000), (4, 10_000)]


@pytest.mark.parametrize(("yard", "pool"), [
    (box(-1100, -5, 1100, 5), 1), (box(-1101, -5, 1101, 5), 2), (box(-5, -1101, 5, 1101), 2),
    (box(-2200, -5, 2200, 5), 2), (box(-2201, -5, 2201, 5), 4),
])  # fmt: skip
def test_a_layer_has_no_more_than_3000_cells_to_a_side(yard, pool):
    """400 cells to both sides, so that 2,200 are left for the property. Both sides count, the longer one decides."""
    first, reach = reaches(raster(side=20_000), yard)[0]
    assert (first, reach) == (pool, 400 * pool)


def test_how_far_a_raster_reaches_whose_corners_have_no_place():
    corners = np.array([[-50.0, 50, 50, -50], [50, 50, -50, -50]])
    odd = SimpleNamespace(corners=lambda: corners)
    assert _reach(odd, YARD, 400.0) == pytest.approx(40)
    assert _reach(odd, YARD, 39.0) == 39.0
    corners[0, 1] = np.inf
    assert _reach(odd, YARD, 400.0) == 400.0


def test_a_part_is_read_in_strips_of_whole_cells(monkeypatch):
    """Sixteen cells at once are four rows of four; the last strip has two. Its lone cells are counted anew."""
    read = []

    def part_of(band, *, window, masked):
        assert (band, masked) == (1, True)
        read.append((window.col_off, window.row_off, window.width, window.height))
        return np.ma.masked_array(np.full((window.height, window.width), float(window.row_off)), mask=False)

    monkeypatch.setattr(surface_file, "STRIP", 16)
    elevations = SimpleNamespace(
        raster=SimpleNamespace(read=part_of, scales=[1.0], offsets=[0.0]), metres=1.0, cell=5.0
    )
    oddities = _Oddities(lone=7)
    pooled = _pooled(elevations, SimpleNamespace(window=(2, 3, 6, 13), pool=2), oddities)
    assert read == [(2, 3, 4, 4), (2, 7, 4, 4), (2, 11, 4, 2)]
    assert pooled.tolist() == [[3, 3], [3, 3], [7, 7], [7, 7], [11, 11]]
    assert oddities == _Oddities(strange=None, lone=0)
    read.clear()
    monkeypatch.setattr(surface_file, "STRIP", 27)  # six rows and three cells: no more than six
    _pooled(elevations, SimpleNamespace(window=(2, 3, 6, 13), pool=2), oddities)
    assert read == [(2, 3, 4, 6), (2, 9, 4, 4)]


@pytest.mark.parametrize(("finer", "hole"), [
    ((5, 8, 15, 19), (2, 2, 6, 7)),  # in cells of two from column 3 to 7 and row 4 to 9; the layer begins at 1 and 2
    ((6, 8, 16, 20), (2, 2, 7, 8)),
    ((7, 2, 8, 19), None), ((3, 9, 15, 10), None),  # no cell lies wholly on it
])  # fmt: skip
def test_the_rectangle_that_the_finer_layer_covers(finer, hole):
    assert _hole(SimpleNamespace(window=finer), SimpleNamespace(window=(2, 4, 30, 40), pool=2)) == hole


@pytest.mark.parametrize("rows", [200, 201, 401])
def test_ground_is_found_and_curved_for_every_row_once(rows):
    """Ground that rises by a metre a row; a cell 5 km off sinks by 25e6 / (2 * 6.371e6) = 1.96 m, an eighth less."""
    layer = SurfaceLayer(
        tops=np.full((rows, 1), 1000, dtype=np.float32), place=np.array([[1.0, 0, -5000], [0, -1.0, 0]]), cell=1.0
    )
    rise = np.repeat(np.arange(rows + 2.0)[:, np.newaxis], 4, axis=1)
    terrain = Terrain(grid=Grid(4998, 1, 1.0, rows + 2, 4), elevation=rise)
    ground, is_known = _ground_below(layer, terrain)
    assert is_known.all()
    assert ground[:, 0] == pytest.approx(np.arange(1.0, rows + 1))
    sunk = _standing(layer, np.full((rows, 1), 900, dtype=np.float32), None)
    assert sunk.tops == pytest.approx(np.full((rows, 1), 1000 - 1.96 * 7 / 8), abs=0.1)
