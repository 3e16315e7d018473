"""Tables with units in their columns, layers for a GIS, files that appear whole."""

from __future__ import annotations

import json
from dataclasses import replace

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import rasterio

from siteplan.show.tables import tables
from siteplan.show.writing import FILES, write_answers

EVERY = (tables.sun_table, tables.places_table, tables.layers_table, tables.shopping_table, tables.loads_table)
UNITS = ("_h", "_m", "_m2", "_m3", "_kg", "_deg", "_n", "_s", "minutes", "_score", "_share", "_m2_per_day")
NO_UNIT = {
    "bed", "light_class", "rank", "merit", "why", "order", "material", "offer", "kind", "count", "cost", "currency",
    "deliveries", "from", "trips", "limit", "bags", "gates",
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
    assert set(layers) == {"beds", "places", "routes", "piles", "features"}
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
    assert set(pyogrio.list_layers(out / "plan.gpkg")[:, 0]) == {"beds", "places", "routes", "piles", "features"}
    with rasterio.open(out / "sun_hours.tif") as raster:
        assert raster.count == 13
        assert raster.descriptions[5].startswith("June")
        assert raster.descriptions[12].startswith("Growing season 05-10 to 09-28")
    assert (out / "map.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_sheet_as_pdf_where_it_is_wanted(drawn_plan, tmp_path):
    pytest.importorskip("weasyprint")
    outs = [
        write_answers(drawn_plan, tmp_path / name, command="plan", pdf=True).folder for name in ("first", "second")
    ]
    first, second = ((out / "report.pdf").read_bytes() for out in outs)
    assert first.startswith(b"%PDF")
    assert first == second
