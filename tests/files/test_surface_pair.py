"""Do surface and ground belong together, and what is not drawn? Each bound told on both sides, by hand."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS
from shapely import box

from siteplan.files.ground.surface_pair import check_pair, check_reach, note_surface
from siteplan.files.remarks import Remarks
from siteplan.land.features import Building
from siteplan.land.grid import Grid
from siteplan.land.surface_model import SurfaceLayer, SurfaceModel
from siteplan.land.terrain import Terrain

YARD = box(-10, -10, 10, 10)


def raster(west, south, side=100.0):
    """Return a raster over a square of the frame, as far as it is asked where it lies."""
    corners = np.array([[west, west + side, west + side, west], [south + side, south + side, south, south]])
    return SimpleNamespace(file="dsm.tif", corners=lambda: corners, system=CRS("EPSG:32632"))


def reach(known, elevations=None, strange=None):
    remarks = Remarks()
    sound = check_reach(elevations or raster(-50, -50), YARD, known, 400.0, strange, remarks)
    said = [one.text for one in (*remarks.faults, *remarks.cautions)]
    assert sound == (not remarks.faults)
    return said[0] if said else ""


def test_how_much_must_be_known():
    assert reach(0.96) == ""
    assert reach(0.94).startswith("dsm.tif has no data for 6% of the land within 400 m, its holes")
    assert "for 98% of the land" in reach(0.021)
    assert reach(0.015).startswith("has no data around the property")
    assert reach(0.0, strange=-32768.0).startswith("has -32768 and the like around the property")


@pytest.mark.parametrize(("west", "south", "words"), [
    (1000, -50, "lies 1 km to the east of"), (-1100, -50, "lies 1 km to the west of"),
    (-50, 2000, "lies 2 km to the north of"), (-50, -400, "lies 300 m to the south of"),
    (500, 500, "lies 707 m to the northeast of"), (-600, 500, "lies 707 m to the northwest of"),
    (500, -600, "lies 707 m to the southeast of"), (-600, -600, "lies 707 m to the southwest of"),
])  # fmt: skip
def test_a_raster_of_elsewhere_says_where_it_lies(west, south, words):
    assert reach(0.0, raster(west, south)).startswith(words)
    assert "Is its coordinate system" not in reach(0.0, raster(west, south))


def test_a_raster_fifty_kilometres_off_may_be_in_another_system():
    assert "Is its coordinate system" not in reach(0.0, raster(50_005, -50))
    assert "Is its coordinate system" in reach(0.0, raster(50_015, -50))


def pair(above, ground=100.0):
    """Return what is said of a surface so far above the ground, by shares of a thousand cells, and whether it is sound."""
    heights = np.concatenate([np.full(count, height, dtype=np.float32) for height, count in above.items()])
    ground = np.full(len(heights), ground, dtype=np.float32)
    remarks = Remarks()
    sound = check_pair("dsm.tif", ground + heights, ground, remarks)
    assert sound == (not remarks.faults)
    said = [one.text for one in (*remarks.faults, *remarks.cautions)]
    return said[0] if said else ""


def test_a_surface_that_lies_on_its_ground():
    assert pair({0.0: 700, 8.0: 300}) == ""
    assert pair({0.0: 950, -1.5: 45, 9.0: 5}) == ""
    assert check_pair("dsm.tif", np.full(3, np.nan), np.zeros(3), Remarks())


def test_a_surface_below_its_ground():
    assert pair({-0.9: 600, 5.0: 400}) == ""
    assert pair({-1.1: 600, 5.0: 400}).startswith(
        "lies below terrain for 60% of the land around, by 1 m in the middle"
    )
    # the middle one of a thousand, of which 520 lie 5 m below
    assert "by 5 m in the middle" in pair({-5.0: 520, -3.0: 480})
    assert "by 3 m in the middle" in pair({-5.0: 480, -3.0: 520})
    # a twentieth below may be water; more of it is said, and is a fault where nothing stands above
    assert "1.00 m below the ground of terrain for 6% of the land" in pair({-1.5: 60, 0.0: 900, 5.0: 40})
    assert "swapped in site.toml?" in pair({-5.0: 300, 0.0: 700})
    assert "swapped in site.toml?" in pair({-5.0: 300, 0.0: 691, 2.0: 9})
    assert "swapped" not in pair({-5.0: 300, 0.0: 689, 2.0: 11})


def test_a_surface_that_floats():
    assert pair({1.9: 1000}) == ""
    assert "all but a twentieth is 2.10 m or more above it" in pair({2.1: 1000})
    assert pair({0.0: 60, 9.0: 940}) == ""
    assert "is 9.90 m or more above it" in pair({9.9: 1000})
    assert pair({10.5: 1000}).startswith("lies 10 m or more above terrain nearly everywhere")


@pytest.mark.parametrize(("ground", "times", "key"), [
    (100.0, 1 / 0.3048, 'surface_unit = "ft"'), (600.0, 0.3048, 'surface_unit = "m"'),
])  # fmt: skip
def test_units_that_would_bring_the_two_together(ground, times, key):
    surface = np.where(np.arange(1000) < 700, ground, ground + 5).astype(np.float32)
    remarks = Remarks()
    assert not check_pair("dsm.tif", surface * np.float32(times), np.full(1000, ground, np.float32), remarks)
    (fault,) = remarks.faults
    assert key in fault.text
    assert ("those of terrain fit as " + ("metres" if times > 1 else "feet")) in fault.text  # which is as likely


def test_no_unit_brings_two_datums_together():
    surface = np.where(np.arange(1000) < 700, 148.0, 153.0).astype(np.float32)
    remarks = Remarks()
    check_pair("dsm.tif", surface, np.full(1000, 100.0, np.float32), remarks)
    (fault,) = remarks.faults
    assert "both must have their heights above the same datum" in fault.text


GROUND = Terrain(grid=Grid(-20, 20, 1.0, 40, 40), elevation=np.full((40, 40), 100.0))


def stands(*blocks, within=False, lone=0, date=None, drawn=()):
    """Return what is said of blocks on a property: each a box with its height above the ground, in cells of a metre."""
    tops = np.full((40, 40), np.nan, dtype=np.float32)
    x, y = np.meshgrid(np.arange(-19.5, 20), np.arange(19.5, -20, -1))
    for (west, south, east, north), tall in blocks:
        tops[(x > west) & (x < east) & (y > south) & (y < north)] = 100 + tall
    layer = SurfaceLayer(tops=tops, place=np.array([[1.0, 0, 20], [0, -1.0, 20]]), cell=1.0)
    model = SurfaceModel(layers=(layer,), file="dsm.tif", date=date, begins=0.0, within=within, reach=10.0)
    remarks = Remarks()
    note_surface(model, YARD, GROUND, drawn, lone, remarks)
    return {one.code: one.text for one in remarks.cautions}


def test_what_stands_and_is_not_drawn_is_told():
    got = stands(((0, 0, 3, 1), 4.0), ((5, 5, 7, 6), 6.25), ((-15, 0, -12, 3), 9.0))  # the last lies outside
    assert got["surface-undrawn"].startswith(
        "By dsm.tif 2 things on the property, the tallest 6.25 m high, are not drawn and cast no shade."
    )
    got = stands(((0, 0, 3, 1), 4.0), within=True)
    assert got["surface-undrawn"].startswith(
        "1 thing on the property, the tallest 4.00 m high, is not drawn: dsm.tif hides"
    )


def test_what_is_low_or_small_or_drawn_is_not_told():
    assert "surface-undrawn" not in stands(((0, 0, 3, 3), 1.9))
    assert "surface-undrawn" in stands(((0, 0, 3, 3), 2.1))
    assert "surface-undrawn" not in stands(((0, 0, 1, 1), 5.0))  # 1 m2
    assert "surface-undrawn" in stands(((0, 0, 2, 1), 5.0))
    diagonal = stands(((0, 0, 1, 1), 5.0), ((1, 1, 2, 2), 5.0))  # two that meet at a corner are one
    assert "1 thing" in diagonal["surface-undrawn"]
    shed = Building(id="shed", outline=box(0, 0, 3, 3), height=2.0)
    assert "surface-undrawn" not in stands(((-0.9, -0.9, 3.9, 3.9), 5.0), drawn=(shed,))  # a cell around it counts


def test_what_a_surface_cannot_know():
    got = stands(((0, 0, 3, 3), 5.0), lone=1, date=dt.date(2024, 5, 6))
    assert got["surface-opaque"].startswith("dsm.tif, surveyed on 2024-05-06, stands for what is not drawn.")
    assert "surface_date" not in got["surface-opaque"]
    assert got["surface-lone"].startswith(
        "1 lone cell of dsm.tif, far above all around as birds and wires are, is left"
    )
    got = stands(((0, 0, 3, 3), 5.0), lone=2)
    assert got["surface-opaque"].endswith("surface_date in site.toml says which day that was.")
    assert got["surface-lone"].startswith(
        "2 lone cells of dsm.tif, far above all around as birds and wires are, are left"
    )
    assert "surface-lone" not in stands(((0, 0, 3, 3), 5.0))
    assert set(stands()) == {"surface-bare"}
