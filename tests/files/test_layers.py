"""What a file of layers must begin with, and which of its layers are told of."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

import pytest

from siteplan.files.drawing.layers import has_its_format, layered_format, note_layers
from siteplan.files.remarks import Remarks


def test_formats_have_their_names():
    assert layered_format(Path("lot.gpkg")) == "GeoPackage"
    assert layered_format(Path("LOT.FGB")) == "FlatGeobuf"


@pytest.mark.parametrize(("name", "content", "sound"), [
    ("lot.gpkg", b"SQLite format 3\x00 and more", True), ("lot.gpkg", b"SQLite format 3", False),
    ("lot.gpkg", b"fgb\x03fgb\x00", False), ("lot.GPKG", b"SQLite format 3\x00", True),
    ("lot.fgb", b"fgb\x03fgb\x00", True), ("lot.fgb", b"fg", False), ("lot.fgb", b"", False),
])  # fmt: skip
def test_a_file_begins_as_its_ending_says(tmp_path, name, content, sound):
    (tmp_path / name).write_bytes(content)
    assert has_its_format(tmp_path / name) is sound


def test_a_file_that_is_not_there_has_no_format(tmp_path):
    assert has_its_format(tmp_path / "none.gpkg") is False


def noted(path, layers):
    remarks = Remarks()
    note_layers(path, layers, remarks)
    return [(one.code, one.text) for one in remarks.all_cautions()]


def test_tables_without_geometries_are_told(tmp_path):
    path = tmp_path / "lot.fgb"
    path.write_bytes(b"fgb")
    assert noted(path, [("beds", "Polygon"), ("notes", None), ("roofs", "MultiPolygon Z")]) == [
        ("left-out", "The layer 'notes' of lot.fgb has no geometries and is left out.")
    ]
    assert noted(tmp_path / "none.gpkg", []) == []


def test_layers_that_may_hold_curves_are_told(tmp_path):
    """By the table that OGC 12-128r18 asks for; the file is only read, so it is none the larger."""
    path = tmp_path / "lot.gpkg"
    with contextlib.closing(sqlite3.connect(path)) as base:
        base.execute("CREATE TABLE gpkg_geometry_columns (table_name TEXT, geometry_type_name TEXT)")
        rows = [("beds", "POLYGON"), ("ponds", "CURVEPOLYGON"), ("paths", "CompoundCurve"), ("trees", "POINT")]
        base.executemany("INSERT INTO gpkg_geometry_columns VALUES (?, ?)", rows)
        base.commit()
    before = path.read_bytes()
    told = noted(path, [])
    assert [code for code, _ in told] == ["curves", "curves"]
    assert "ponds" in told[0][1]
    assert "paths" in told[1][1]
    assert path.read_bytes() == before
