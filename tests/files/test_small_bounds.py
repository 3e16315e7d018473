"""Bounds and turns of the files' readers that lie between two cases: equal, first, last, off the middle. By hand."""

from __future__ import annotations

import tomllib
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.files.drawing.editing import edited_features
from siteplan.files.drawing.geojson_text import like, with_cuts
from siteplan.files.drawing.large_geojson import scan_features
from siteplan.files.drawing.locating import _in_frame, _on_land
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.drawing.nearness import Roles
from siteplan.files.ground.far_ground import _covered, _grids, _Reading
from siteplan.files.ground.skyline import read_skyline
from siteplan.files.ground.surface_pair import _lies_on_the_ground, check_pair, note_surface
from siteplan.files.ground.terrain_file import _check_heights, _grid
from siteplan.files.remarks import Remarks
from siteplan.files.schema import write_schemas
from siteplan.files.site_toml.editing import _same
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.site_toml.settings import settings_of
from siteplan.files.variants import _formatted
from siteplan.files.weather import weather_file
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid
from siteplan.land.surface_model import SurfaceLayer, SurfaceModel
from siteplan.land.terrain import Terrain

HEADER = "azimuth_deg,elevation_deg\n"


@pytest.mark.parametrize(("rows", "fault"), [
    ("0,2\n90,-10\n359.9,89.9\n", ""), ("0,2\n90,90\n", "line 3: elevation is 90 degrees"),
    ("0,2\n90,-10.1\n", "line 3: elevation is -10.1 degrees"), ("0,2\n360,2\n", "line 3: azimuth 360 is north"),
    ("-0.1,2\n90,2\n", "line 2: azimuth is -0.1"), ("0.5,2\n90,3\n", ""),
])  # fmt: skip
def test_the_ends_of_a_skylines_angles(tmp_path, rows, fault):
    (tmp_path / "hills.csv").write_text(HEADER + rows)
    hills = read_skyline(tmp_path / "hills.csv", remarks := Remarks())
    told = [str(one) for one in remarks.faults]
    assert (hills is None) == bool(fault)
    assert told == [] if not fault else told[0].startswith(f"hills.csv: {fault}")


def test_two_insertions_at_one_place_stay_in_order():
    assert with_cuts("xy", [(1, 1, "b"), (1, 1, "a")]) == "xbay"
    assert with_cuts("xyz", [(2, 3, "c"), (0, 1, "a")]) == "ayc"


def test_letters_stay_letters_in_the_layout_of_a_neighbour():
    neighbour = '{\n "coordinates": [\n  1\n ]\n}'
    assert like({"id": "Wärme"}, neighbour, ",\n") == '{\n "id": "Wärme"\n}'


def test_a_new_feature_takes_the_gap_before_the_last():
    text = '{"features":[{"id":"a"},  {"id":"b"}, {"id":"c"},\n{"id":"d"}]}'
    numbers = {name: at for at, name in enumerate("abcd", 1)}
    new = {"type": "Feature", "id": "e", "properties": {}, "geometry": None}
    added = edited_features(text, [new], [], numbers)
    assert added.startswith(text[:-2] + ',\n{"type":"Feature","id":"e"')


def test_a_third_feature_takes_the_gap_before_the_second():
    text = '{"features":[ {"id":"a"},\n{"id":"b"}]}'
    new = {"type": "Feature", "id": "c", "properties": {}, "geometry": None}
    assert edited_features(text, [new], [], {"a": 1, "b": 2}).startswith(text[:-2] + ',\n{"type":"Feature","id":"c"')


def test_a_member_is_added_to_a_feature_of_one_in_its_layout():
    text = '{"features":[{\n "properties": {}}]}'
    assert edited_features(text, [{"id": "x", "properties": {}}], [], {"x": 1}) == (
        '{"features":[{\n "properties": {},\n "id": "x"}]}'
    )


def raster(**more):
    return SimpleNamespace(file="dem.tif", frame=LocalFrame(longitude=8.0, latitude=45.0), **more)


OFF = box(100, 400, 140, 430)  # 40 m from west to east, 30 m from south to north


def test_the_grid_of_the_ground_over_what_is_drawn_off_the_middle():
    """A cell of a metre is fine enough for 40 m; it reaches as far around on each side."""
    grid = _grid(raster(cell=1.0), OFF, remarks := Remarks())
    assert not remarks.cautions
    assert (grid.west + grid.east) / 2 == pytest.approx(120, abs=0.5)
    assert (grid.south + grid.north) / 2 == pytest.approx(415, abs=0.5)
    assert grid.east - grid.west - (grid.north - grid.south) == pytest.approx(10, abs=1)
    for tall in (box(100, 400, 140, 430), box(100, 400, 130, 440)):
        assert _grid(raster(cell=1.0), tall, Remarks()).cell == 1.0


def test_a_cliff_is_as_high_as_the_property_is_long(monkeypatch):
    """On 40 m a rise of 40 m is allowed, whichever side is the longer, wherever the frame's middle lies."""
    monkeypatch.setattr(weather_file, "usual_altitude", lambda *_: 200.0)
    for lot in (OFF, box(400, 100, 430, 140)):
        for rise, cautions in ((39.9, 0), (40.1, 1)):
            _check_heights(raster(), np.array([200.0, 200 + rise]), lot, remarks := Remarks(), unit_given=False)
            assert len(remarks.cautions) == cautions


def test_the_first_ring_around_a_property_off_the_middle():
    """Read out to 50 m; the first ring goes four times as far. Of its 440 by 430 m each cell is half a metre."""
    for lot, rows, columns in ((OFF, 860, 880), (box(400, 100, 430, 140), 880, 860)):
        wide = SimpleNamespace(goes_beyond=lambda _: True, cost=lambda _: 0.0)
        reading = _Reading(reach=50.0, left=1e9, holes=0.0)
        near = Grid(lot.bounds[0] - 50, lot.bounds[3] + 50, 0.5, 10, 10)
        ring = next(_grids(wide, lot, near, reading))
        assert (reading.reach, ring.cell, ring.rows, ring.columns) == (200.0, 0.5, rows, columns)


def test_cells_are_left_out_a_cell_and_a_half_within_the_finer_ring():
    """Within 10 m to all sides and 3 m off the edge: beyond 7 m. Middles of cells of 2 m lie at 6.9 and 8.9."""
    within = Grid(-10.0, 10.0, 1.0, 20, 20)
    for west, columns in ((-11.9, [0] + [0] + [1] * 7 + [0]), (-12.1, [0] * 3 + [1] * 7)):
        covered = _covered(Grid(west, 1.0, 2.0, 1, 10), within)[0]
        assert covered.astype(int).tolist() == columns
        up = _covered(Grid(-1.0, -west, 2.0, 10, 1), within)[:, 0]
        assert up.astype(int).tolist() == columns


def test_a_surface_that_touches_its_ground_by_a_twentieth_and_half():
    """Of a thousand cells 52 are more than a twentieth, 520 more than half."""
    assert not _lies_on_the_ground(np.array([-3.0] * 52 + [0.0] * 948))
    assert _lies_on_the_ground(np.array([-3.0] * 48 + [0.0] * 952))
    assert not _lies_on_the_ground(np.array([-1.5] * 520 + [0.0] * 480))
    assert _lies_on_the_ground(np.array([-1.5] * 480 + [0.0] * 520))


def test_a_surface_that_is_swapped_has_no_depth():
    heights = np.array([-5.0] * 300 + [0.0] * 700)
    check_pair("dsm.tif", 100 + heights, np.full(1000, 100.0), remarks := Remarks())
    assert [one.text for one in remarks.faults] == [
        "lies below terrain for 30% of the land around; are surface_model and terrain swapped in site.toml?"
    ]


@pytest.mark.parametrize(("cell", "cells", "told"), [(0.5, 7, False), (0.5, 9, True), (2.0, 1, True)])
def test_how_large_what_is_not_drawn_must_be(cell, cells, told):
    """Two square metres: eight cells of half a metre, or one of two metres."""
    tops = np.full((20, 20), np.nan, dtype=np.float32)
    tops[10, 5 : 5 + cells] = 105.0
    place = np.array([[1 / cell, 0, 10], [0, -1 / cell, 10]])
    layer = SurfaceLayer(tops=tops, place=place, cell=cell)
    model = SurfaceModel(layers=(layer,), file="dsm.tif", date=None, begins=0.0, within=False, reach=10.0)
    ground = Terrain(grid=Grid(-30, 30, 1.0, 60, 60), elevation=np.full((60, 60), 100.0))
    note_surface(model, box(-20, -20, 20, 20), ground, (), 0, remarks := Remarks())
    assert ("surface-undrawn" in [one.code for one in remarks.cautions]) is told


def test_a_shape_half_the_world_off_stays_to_be_told_as_far():
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    away = box(-172.0001, -45.0001, -171.9999, -44.9999)
    sound = box(8, 45, 8.001, 45.001)
    named = tuple(NamedFeature(name, "bed", {}, None) for name in "ab")
    local = _in_frame({0: away, 1: sound}, frame, named, "d.geojson", remarks := Remarks())
    assert list(local) == [0, 1]
    assert not remarks.faults
    assert isinstance(local[1], Polygon)


def test_a_zone_that_is_given_settles_the_country():
    """Prices in rand in Egypt: a slip of the sign would explain it, but its zone says that it lies there."""
    frame = LocalFrame(longitude=28.0, latitude=26.2)
    for zone, told in ((None, ["another-country"]), ("Africa/Cairo", [])):
        asked = SimpleNamespace(origin=None, has_origin=False, timezone=zone, currency="ZAR", units="metric")
        _on_land(frame, asked, remarks := Remarks(), "d.geojson")
        assert [one.code for one in remarks.cautions] == told


def test_schemas_are_written_to_a_folder(tmp_path):
    write_schemas(tmp_path)
    assert "variant.schema.json" in {path.name for path in tmp_path.iterdir()}


def test_ends_of_a_skylines_angles_are_sound_beside_a_fault(tmp_path):
    (tmp_path / "hills.csv").write_text(HEADER + "0,-10\n90,89.9\n80,3\n")
    read_skyline(tmp_path / "hills.csv", remarks := Remarks())
    assert [str(one) for one in remarks.faults] == [
        "hills.csv: line 4: azimuth 80 comes after 90; azimuths must rise: sort the rows by them"
    ]


def test_a_gap_of_the_horizon_is_counted_round_the_north(tmp_path):
    def gaps(*azimuths):
        (tmp_path / "hills.csv").write_text(HEADER + "".join(f"{one},2\n" for one in azimuths))
        read_skyline(tmp_path / "hills.csv", remarks := Remarks())
        return [one.text.partition(";")[0] for one in remarks.cautions]

    assert gaps(*range(0, 360, 20)) == []
    assert gaps(*range(0, 280, 20)) == ["hills.csv has no row from 260 to 0 degrees"]
    assert gaps(*range(100, 360, 20)) == ["hills.csv has no row from 340 to 100 degrees"]


TABLES = """
[barrow]
count = 3
[labour]
people = 4
[haul]
delivery_day = 5
[place]
count = 6
[water]
efficiency = 0.7
[soil]
lead = 80
[walls]
kind = "masonry"
"""


def test_each_table_of_settings_is_read_and_falls_back_where_it_is_at_fault(tmp_path):
    def found(text):
        read = settings_of(tomllib.loads(text), tmp_path, remarks := Remarks())
        parts = (read.barrow.count, read.labour.people, read.haul.delivery_day, read.place.count)
        return (*parts, read.water.efficiency, read.soil.lead, read.walls.kind), len(remarks.faults)

    assert found(TABLES) == ((3, 4, 5, 6, 0.7, 80, "masonry"), 0)
    plain = (1, 1, 1, 3, 1.0, None, "timber")
    assert found("") == (plain, 0)
    wrong = "\n".join(f"{line.split(' = ')[0]} = []" if " = " in line else line for line in TABLES.splitlines())
    assert found(wrong) == (plain, 7)


@pytest.mark.parametrize(("north", "east", "swapped"), [
    (90.5, 45, True), (180, 90, True), (180.5, 45, False), (90.5, 90.5, False), (-90.5, -45, True),
])  # fmt: skip
def test_when_latitude_and_longitude_look_swapped(tmp_path, north, east, swapped):
    settings_of({"origin": {"latitude": north, "longitude": east}}, tmp_path, remarks := Remarks())
    (fault,) = remarks.faults
    assert fault.text.endswith("are latitude and longitude swapped?") is swapped


@pytest.mark.parametrize(("keys", "faults"), [
    ("", 0), ("surface_within = true", 0), ("surface_from = 2", 0), ("surface_within = true\nsurface_from = 2", 1),
])  # fmt: skip
def test_a_surface_is_used_within_or_from_somewhere_on(tmp_path, keys, faults):
    for name in ("dem.tif", "dsm.tif"):
        (tmp_path / name).touch()
    text = f'terrain = "dem.tif"\nsurface_model = "dsm.tif"\n{keys}'
    settings_of(tomllib.loads(text), tmp_path, remarks := Remarks())
    assert len(remarks.faults) == faults


@pytest.mark.parametrize(("first", "second", "same"), [
    ([1, [2, 3]], [1, [2, 3]], True), ([1, 2], [1, 3], False), ([1, 2], [3, 2], False), ([1, 2], [1], False),
    ([], [1], False), ([], [], True), (1, 1.0, False), (1, True, False), (float("nan"), float("nan"), True),
    ({"a": [1]}, {"a": [1]}, True), ({"a": 1, "b": 2}, {"a": 1, "b": 3}, False), ({"a": 1}, {"b": 1}, False),
])  # fmt: skip
def test_when_two_values_of_toml_are_the_same(first, second, same):
    assert _same(first, second) is same


def test_parts_of_a_variants_file():
    assert _formatted(()) == "[]"
    assert _formatted(({"id": "a"}, {"id": "b"})) == '[\n  {"id": "a"},\n  {"id": "b"}\n]'
    assert _formatted({"b": 1, "a": "Wärme"}) == '{\n  "b": 1,\n  "a": "Wärme"\n}'
    assert _formatted({}) == "{}"


@pytest.mark.parametrize("end", ["", "\n", "  \r\n"])
@pytest.mark.parametrize("after", ["", ', "name": "yard"', ',"bbox":[0,0,1,1] '])
def test_a_large_drawing_is_scanned_to_its_end(end, after):
    one = '{"type":"Feature","id":"a","properties":{"kind":"bed"},"geometry":{"type":"Point","coordinates":[8,45]}}'
    text = f'{{"type": "FeatureCollection", "features": [{one},\n {one} ]{after}}}{end}'
    scan = scan_features(text, Roles(Renaming()), lambda _: None)
    assert [text[at : at + len(one)] for at in scan.start] == [one, one]
    assert scan_features(text + "x", Roles(Renaming()), lambda _: None) is None
