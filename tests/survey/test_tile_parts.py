"""Which points of a chunk lie in an area, how much of a property is covered, which unit heights have. By hand."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS
from shapely import box

from siteplan.files.remarks import Remarks
from siteplan.files.survey import tiles
from siteplan.files.survey.place import tiles_in_reach
from siteplan.files.survey.tile_header import TileHeader, _tells_days, _vertical_unit
from siteplan.files.survey.tiles import _part, read_tiles
from tests.survey.test_tiles import FRAME, LAWN, AsItIs, Chunk, header


class Wider(AsItIs):
    """Stands in for a conversion whose box reaches five units beyond the area."""

    def box(self, area):
        return area.buffer(5, join_style="mitre").bounds


AREA = box(0, 0, 10, 6)
AROUND = [(x, y, 1, 2, 1, 1) for x, y in ((0, 0), (10, 6), (5, 3), (-0.1, 3), (10.1, 3), (5, -0.1), (5, 6.1))]


@pytest.mark.parametrize("transform", [AsItIs, Wider])
def test_points_on_each_side_of_an_area_are_left_out(transform):
    change = transform()
    part = _part(Chunk(AROUND), header(), change, change.box(AREA), AREA, [])
    assert list(zip(part.x.tolist(), part.y.tolist(), strict=True)) == [(0, 0), (10, 6), (5, 3)]
    beyond = [(5, 11.5, 1, 2, 1, 1), (15.5, 3, 1, 2, 1, 1), (5, -5.5, 1, 2, 1, 1), (-5.5, 3, 1, 2, 1, 1)]
    assert _part(Chunk(beyond), header(), change, change.box(AREA), AREA, []) is None


def covered(boundary, rows, monkeypatch):
    monkeypatch.setattr(tiles, "FittedTransform", AsItIs)
    monkeypatch.setattr(tiles, "chunks", lambda *_: iter([Chunk(rows)]))
    heads = [header(count=len(rows))]
    return read_tiles(heads, FRAME, boundary, farthest=50.0, reach=lambda high: high, tell=lambda _: None).covered


def test_how_much_of_a_property_has_points(monkeypatch):
    """Points on 20 m by 20 m and nowhere else: all of the yard of that size, and a cell of a plot between the middles."""
    own = [row for row in LAWN if abs(row[0]) < 10 and abs(row[1]) < 10]
    assert covered(box(-10, -10, 10, 10), own, monkeypatch) == 1.0
    assert covered(box(-10, -10, 30, 10), own, monkeypatch) == 0.5
    plot = box(-0.5, -0.5, 0.5, 0.5)
    assert covered(plot, own, monkeypatch) == 1.0
    assert covered(plot, [(40.0, 40.0, 100, 2, 1, 1)], monkeypatch) == 0.0


@pytest.mark.parametrize(("south", "north", "words"), [
    (80.0, 90.0, "lies 3,900 km to the north of the property by its coordinate system, 'WGS 84'; is that"),
    (80.0, 90.5, "has x from 7 to 9 and y from 80 to 90, which lie outside of 'WGS 84'; say the right"),
    (-100.0, -80.0, "has x from 7 to 9 and y from -100 to -80, which lie outside of 'WGS 84'; say the right"),
])  # fmt: skip
def test_latitudes_beyond_a_pole_are_in_another_system(south, north, words):
    """From 45 to 80 degrees along the meridian are 35 times 111.2 km, and near the pole a little more."""
    head = TileHeader(Path("a.laz"), CRS("EPSG:4326"), 1.0, True, (7.0, south, 9.0, north), 9, None, False)
    tiles_in_reach([head], FRAME, box(-9, -9, 9, 9), 300.0, remarks := Remarks())
    (fault,) = remarks.faults
    assert fault.text.startswith(words)


def test_heights_of_three_axes_have_their_own_unit():
    """A foot across and a metre up, as in a projection with an ellipsoidal height."""
    three = CRS("EPSG:2263").to_3d()
    assert [axis.unit_name for axis in three.axis_info] == ["US survey foot", "US survey foot", "metre"]
    assert _vertical_unit(three, SimpleNamespace(vlrs=[])) == 1.0


def test_a_header_without_a_kind_of_time_tells_no_days():
    fields = SimpleNamespace(dimension_names=["gps_time"])
    assert _tells_days(SimpleNamespace(global_encoding=SimpleNamespace(), point_format=fields)) is False
    kind = SimpleNamespace(gps_time_type=np.int64(1))
    assert _tells_days(SimpleNamespace(global_encoding=kind, point_format=fields)) is True
