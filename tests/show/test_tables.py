"""Tables with units in their columns, layers for a GIS, files that appear whole."""

from __future__ import annotations

import json
import math
import re
import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import get_args
from xml.etree import ElementTree as ET

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import rasterio
from geopandas.testing import assert_geodataframe_equal

import siteplan
from siteplan.land.features import Bed, Feature
from siteplan.land.outline import rectangle
from siteplan.show.sheet.work_sheet import report_pdf
from siteplan.show.tables import tables
from siteplan.show.tables.layer_styles import LAYERS, layer_styles
from siteplan.show.writing import FILES, write_answers

EVERY = (tables.sun_table, tables.places_table, tables.layers_table, tables.shopping_table, tables.loads_table)
UNITS = ("_h", "_m", "_m2", "_m3", "_kg", "_deg", "_n", "_s", "minutes", "_score", "_share", "_m2_per_day")
NO_UNIT = {
    "tier", "frame",
    "bed", "light_class", "rank", "merit", "why", "order", "material", "offer", "kind", "count", "cost", "currency",
    "deliveries", "from", "trips", "limit", "bags", "gates", "drawn_unit",
    "corners_drawn",  # in drawn_unit, which stands beside
}  # fmt: skip


@pytest.mark.parametrize("table", EVERY)
def test_columns_carry_their_units(drawn_plan, table):
    frame = table(drawn_plan)
    assert len(frame)
    assert [column for column in frame.columns if column not in NO_UNIT and not column.endswith(UNITS)] == []


@pytest.mark.parametrize("table", EVERY)
def test_nothing_asked_leaves_the_columns(drawn_plan, table):
    empty = replace(drawn_plan, maps=None, beds=(), places=None, fill=None, haul=None)
    assert list(table(empty).columns) == list(table(drawn_plan).columns)
    assert table(empty).empty


def test_sun_table_holds_the_beds_own_hours(drawn_plan):
    frame = tables.sun_table(drawn_plan).set_index("bed")
    assert frame.loc["north bed", "jun_sun_h"] == drawn_plan.beds[0].sun.month_sun_h[5]


def test_layers_for_a_gis(drawn_plan, drawn_site):
    layers = tables.geographic_layers(drawn_plan)
    assert set(layers) == {"beds", "tiers", "places", "routes", "piles", "features"}
    assert all(isinstance(layer, gpd.GeoDataFrame) and layer.crs.to_epsg() == 4326 for layer in layers.values())
    assert len(layers["features"]) == 1 + len(drawn_site.features())
    # back in the local frame, an 8 ft by 4 ft bed has its area again
    assert layers["beds"].to_crs(drawn_site.frame.crs).area.iloc[0] == pytest.approx(2.4384 * 1.2192, rel=1e-6)


@pytest.mark.parametrize("command", [name for name in FILES if name != "plan"])
def test_each_question_leaves_its_files(drawn_plan, tmp_path, command):
    out = tmp_path / "out"
    written = write_answers(drawn_plan, out, command=command)
    assert list(written.names) == list(FILES[command])
    assert all((out / name).stat().st_size for name in written.names)


def test_a_whole_plan(drawn_plan, tmp_path):
    out = tmp_path / "out"
    write_answers(drawn_plan, out, command="plan")
    assert json.loads((out / "plan.json").read_text(encoding="utf-8"))["beds"][0]["id"] == "north bed"
    assert len(pd.read_csv(out / "loads.csv")) == len(drawn_plan.haul.loads)
    assert set(pyogrio.list_layers(out / "plan.gpkg")[:, 0]) == LAYERS.keys() | {"layer_styles"}
    with rasterio.open(out / "sun_hours.tif") as raster:
        assert raster.count == 13
        assert raster.descriptions[5].startswith("June")
        assert raster.descriptions[12].startswith("Growing season 05-10 to 09-28")
    assert (out / "map.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.slow
@pytest.mark.extras
def test_the_sheet_as_pdf_where_it_is_wanted(drawn_plan, tmp_path):
    pytest.importorskip("weasyprint")
    written = write_answers(drawn_plan, tmp_path / "out", command="plan", pdf=True).folder / "report.pdf"
    content = written.read_bytes()
    assert content.startswith(b"%PDF")
    count = int(re.search(rb"/Count (\d+)", content)[1]) if b"/Count" in content else 2
    assert 2 <= count <= 4
    short = replace(drawn_plan, beds=(), places=None, fill=None, haul=None)
    once, again = (report_pdf(short, tmp_path / name).read_bytes() for name in ("once.pdf", "again.pdf"))
    assert once == again


def column_types(path, layer):
    with closing(sqlite3.connect(path)) as database:
        return {row[1]: row[2] for row in database.execute(f'PRAGMA table_info("{layer}")')}


def test_a_column_keeps_its_type_where_it_holds_no_value(drawn_plan, tmp_path):
    bare = replace(drawn_plan, maps=None, light_maps=None, beds=(), places=None, fill=None, haul=None)
    types = {}
    for name, plan in (("full", drawn_plan), ("bare", bare)):
        path = write_answers(plan, tmp_path / name, command="plan").folder / "plan.gpkg"
        types[name] = {layer: column_types(path, layer) for layer in LAYERS}
        for layer in types[name].values():
            del layer["geom"]  # of a layer without rows it may be any
    assert types["full"] == types["bare"]
    beds, places = types["bare"]["beds"], types["bare"]["places"]
    assert (beds["bed"], beds["proposed"], beds["best_heading_deg"]) == ("TEXT", "BOOLEAN", "REAL")
    assert (places["rank"], places["water_m"], places["why"]) == ("INTEGER", "REAL", "TEXT")
    assert types["bare"]["features"]["height_m"] == "REAL"


def test_no_infinity_reaches_a_gis(drawn_plan):
    far = [replace(place, minutes=math.inf) for place in drawn_plan.places.places]
    plan = replace(drawn_plan, places=replace(drawn_plan.places, places=tuple(far)))
    assert tables.geographic_layers(plan)["places"]["haul_minutes"].isna().all()


def test_sentences_in_tables_are_whole(drawn_plan):
    headings = tables.headings_table(drawn_plan)
    obstacles = headings["obstacle"][~headings["fits"]]
    whys = tables.places_table(drawn_plan)["why"]
    assert len(whys)
    assert len(obstacles)
    for text in [*whys, *obstacles]:
        assert text.endswith(".")
        assert text[0] == text[0].upper()
        assert ".." not in text
        assert not re.search(r"[.] [a-z]", text)
    assert (headings["obstacle"][headings["fits"]] == "").all()


@pytest.mark.parametrize("layer", LAYERS)
def test_styles_draw_every_kind_once_for_each_shape(drawn_plan, layer):
    root = ET.fromstring(layer_styles()[layer])  # noqa: S314  # our own text
    assert root.tag == "qgis"
    assert root.find("layerGeometryType") is None  # QGIS would refuse it for the other shapes (its importNamedStyle)
    symbols = {symbol.get("name"): symbol for symbol in root.iter("symbol")}
    suits = {"Point": "marker", "LineString": "line", "Polygon": "fill", "MultiPolygon": "fill"}
    for _, row in tables.geographic_layers(drawn_plan)[layer].iterrows():
        drawn = [
            rule
            for rule in root.iter("rule")
            if rule.get("filter") in {None, f"\"kind\" = '{row.get('kind')}'"}
            and symbols[rule.get("symbol")].get("type") == suits[row.geometry.geom_type]
        ]
        assert len(drawn) == 1, (layer, dict(row))


def test_styles_know_every_kind_of_feature():
    kinds = {kind.__name__.lower() for kind in get_args(Feature)}
    root = ET.fromstring(layer_styles()["features"])  # noqa: S314  # our own text
    assert {rule.get("filter").split("'")[1] for rule in root.iter("rule")} == kinds | {"boundary", "level"}

    shapes = {symbol.get("name"): symbol.get("type") for symbol in root.iter("symbol")}
    drawn = [(rule.get("filter").split("'")[1], shapes[rule.get("symbol")]) for rule in root.iter("rule")]
    assert len(set(drawn)) == len(drawn)
    # both may be drawn in two ways, by the types of their shapes in land/features.py
    assert {("fence", "line"), ("fence", "fill"), ("pile", "marker"), ("pile", "fill")} <= set(drawn)


def test_maps_say_how_they_were_made(drawn_plan, tmp_path):
    out = write_answers(drawn_plan, tmp_path / "out", command="sun").folder
    sun = drawn_plan.site.sun
    for name, cell in (("sun_hours.tif", drawn_plan.maps.grid.cell), ("light.tif", drawn_plan.light_maps.grid.cell)):
        with rasterio.open(out / name) as raster:
            tags = raster.tags()
            assert float(tags["CELL_M"]) == pytest.approx(cell) == raster.res[0]
            assert tags["SITEPLAN_VERSION"] == siteplan.__version__
            assert tags["TIFFTAG_SOFTWARE"] == f"siteplan {siteplan.__version__}"
            assert (tags["SWEPT_YEAR"], float(tags["LONGEST_STEP_MINUTES"])) == (
                str(sun.year),
                pytest.approx(60 * sun.step),
            )
            assert (tags["LAST_FROST"], tags["FIRST_FROST"]) == ("05-10", "09-28")
            assert "loud" in tags["TIFFTAG_IMAGEDESCRIPTION"] or "clear" in tags["TIFFTAG_IMAGEDESCRIPTION"]
            for words, unit in zip(raster.descriptions, raster.units, strict=True):
                assert unit == "1" if words.startswith("Share") else words.endswith(unit)


@pytest.mark.extras
def test_layers_as_geoparquet_where_they_are_wanted(drawn_plan, tmp_path):
    pytest.importorskip("pyarrow")
    written = write_answers(drawn_plan, tmp_path / "out", command="plan", parquet=True)
    assert [name for name in written.names if name.endswith(".parquet")] == [f"{name}.parquet" for name in LAYERS]
    for name, layer in tables.geographic_layers(drawn_plan).items():
        back = gpd.read_parquet(written.folder / f"{name}.parquet")
        assert back.crs.to_epsg() == 4326
        assert_geodataframe_equal(back, layer)


def test_a_bed_s_heading_and_size_in_its_layer(drawn_plan):
    """Of beds turned by 30 degrees: 3 m by 1 m, and 40 cm high."""
    bed = Bed(id="turned", outline=rectangle(1, 2, length=3, width=1, heading=30), height=0.4)
    plan = replace(drawn_plan, site=replace(drawn_plan.site, beds=(bed,)))
    row = tables.geographic_layers(plan)["beds"].iloc[0]
    assert (row["bed"], row["heading_deg"]) == ("turned", pytest.approx(30))
    assert (row["height_m"], row["area_m2"]) == (0.4, pytest.approx(3.0))
