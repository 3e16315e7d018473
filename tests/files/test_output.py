"""Does each file hold what was put in?"""

from __future__ import annotations

import errno
import json
import sqlite3
import sys
import time
from contextlib import closing

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
from geopandas.testing import assert_geodataframe_equal
from shapely import Point, box

from siteplan.files.outputs.output import write_csv, write_geopackage, write_geoparquet, write_geotiff, write_json
from siteplan.land.errors import MissingExtraError
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid


def test_json_has_null_for_no_number_and_keeps_letters(tmp_path):
    path = tmp_path / "plan.json"
    write_json(
        path, {"month_sun_h": np.array([1.0, np.nan, np.inf]), "id": "Béla <b>", "n": np.int64(2), "b": np.bool_(1)}
    )
    text = path.read_text(encoding="utf-8")
    assert "NaN" not in text
    assert "Béla <b>" in text
    assert json.loads(text) == {"month_sun_h": [1.0, None, None], "id": "Béla <b>", "n": 2, "b": True}


def test_csv_runs_no_formula(tmp_path):
    path = tmp_path / "sun.csv"
    beds = ["=1+1", "@x", "-bed", "plain, with comma", "-92.2 41.3; -92.1 41", "-1-1", "-5"]
    table = pd.DataFrame({"bed": beds, "hours": [-1.5, 2, 3, np.nan, 4, 5, 6]})
    write_csv(path, table)
    assert path.read_text() == (
        "bed,hours\n'=1+1,-1.5\n'@x,2.0\n'-bed,3.0\n\"plain, with comma\",\n-92.2 41.3; -92.1 41,4.0\n'-1-1,5.0\n-5,6.0\n"
    )
    assert table["bed"][0] == "=1+1"  # what is given is not altered


def test_geotiff_lies_where_the_grid_lies(tmp_path):
    grid = Grid(west=-2, north=3, cell=0.5, rows=4, columns=6)
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    bands = np.arange(2 * 4 * 6, dtype=float).reshape(2, 4, 6)
    bands[0, 0, 0] = np.nan
    path = tmp_path / "sun_hours.tif"
    said = {"descriptions": ["January", "growing season"], "units": ["hours per day", "1"], "tags": {"CELL_M": "0.5"}}
    write_geotiff(path, bands, grid, frame.crs, **said)
    with rasterio.open(path) as raster:
        assert raster.units == ("hours per day", "1")
        assert raster.tags()["CELL_M"] == "0.5"
        assert raster.overviews(1) == []  # too small to need any
        assert 'PROJCS["siteplan local, true north at 45.00000 N 8.00000 E",GEOGCS["WGS 84"' in raster.crs.to_wkt()
        assert raster.dtypes == ("float32", "float32")
        assert raster.descriptions == ("January", "growing season")
        assert np.isnan(raster.nodata)
        assert tuple(raster.bounds) == (-2, 1, 1, 3)
        np.testing.assert_array_equal(raster.read(), bands.astype("float32"))
        assert "Transverse_Mercator" in raster.crs.to_wkt()
        # the cell's centre seen from outside: GDAL's own way to longitude and latitude against the frame's
        from rasterio.warp import transform

        east, north = transform(raster.crs, "EPSG:4326", *[[value] for value in raster.xy(3, 5)])
    there = frame.to_lonlat(Point(grid.x[5], grid.y[3]))
    assert (east[0], north[0]) == pytest.approx((there.x, there.y), abs=1e-9)
    with pytest.raises(ValueError, match="bands are"):
        write_geotiff(path, bands, grid, frame.crs, **said | {"descriptions": ["January"]})


def test_a_large_map_holds_overviews_of_what_has_a_value(tmp_path):
    grid = Grid(west=0, north=0, cell=0.25, rows=300, columns=200)
    crs = LocalFrame(longitude=-70.5, latitude=-33.25).crs
    assert crs.name == "siteplan local, true north at 33.25000 S 70.50000 W"
    bands = np.random.default_rng(1).random((1, 300, 200))
    bands[0, 0, 0] = np.nan
    bands[0, 2:4, 2:4] = np.nan
    for name in ("first.tif", "second.tif"):
        write_geotiff(tmp_path / name, bands, grid, crs, descriptions=["x"], units=["h"], tags={"A": "b"})
    assert (tmp_path / "first.tif").read_bytes() == (tmp_path / "second.tif").read_bytes()
    assert not list(tmp_path.glob("*.ovr"))  # inside the file
    with rasterio.open(tmp_path / "first.tif") as raster:
        assert raster.overviews(1) == [2, 4]
    with rasterio.open(tmp_path / "first.tif", overview_level=0) as half:
        values = half.read(1)
        # by hand: the mean of a block's three cells that have a value; no value where none of the four has one
        assert values[0, 0] == pytest.approx(np.mean([bands[0, 0, 1], bands[0, 1, 0], bands[0, 1, 1]]), rel=1e-6)
        assert np.isnan(values[1, 1])
        assert values[5, 7] == pytest.approx(bands[0, 10:12, 14:16].mean(), rel=1e-6)


HELD = {"beds": "All beds.", "places": "All places."}


def test_geopackage_holds_all_layers_even_empty_ones(tmp_path):
    path = tmp_path / "plan.gpkg"
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    beds = geopandas.GeoDataFrame({"id": ["a", "<b>"]}, geometry=[box(0, 0, 1, 2), Point(3, 4)], crs=crs)
    write_geopackage(path, {"beds": beds, "places": beds.iloc[:0]}, descriptions=HELD, styles={})
    assert sorted(geopandas.list_layers(path)["name"]) == ["beds", "places"]
    back = geopandas.read_file(path, layer="beds")
    assert back["id"].tolist() == ["a", "<b>"]
    assert back.geometry.tolist() == beds.geometry.tolist()
    assert len(geopandas.read_file(path, layer="places")) == 0


def test_equal_layers_give_equal_bytes_at_another_time(tmp_path, monkeypatch):
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    layers = {"beds": geopandas.GeoDataFrame({"id": ["a"]}, geometry=[box(0, 0, 1, 2)], crs=crs)}
    more = {"descriptions": HELD, "styles": {"beds": "<qgis/>"}}
    write_geopackage(tmp_path / "first.gpkg", layers, **more)
    time.sleep(0.01)  # GDAL writes thousandths of a second
    write_geopackage(tmp_path / "second.gpkg", layers, **more)
    assert (tmp_path / "first.gpkg").read_bytes() == (tmp_path / "second.gpkg").read_bytes()
    assert pyogrio.get_gdal_config_option("OGR_CURRENT_DATE") is None  # others' layers keep their dates


def test_a_style_is_where_qgis_looks_for_it(tmp_path):
    path = tmp_path / "plan.gpkg"
    beds = geopandas.GeoDataFrame({"id": ["a"]}, geometry=[box(0, 0, 1, 2)], crs="EPSG:4326")
    write_geopackage(path, {"beds": beds}, descriptions=HELD, styles={"beds": "<qgis/>"})
    with closing(sqlite3.connect(path)) as database:
        contents = database.execute("SELECT table_name, data_type, identifier, description FROM gpkg_contents")
        assert contents.fetchall() == [
            ("beds", "features", "beds", "All beds."),
            ("layer_styles", "attributes", "layer_styles", ""),
        ]
        # the columns that QGIS itself gives the table, and how it asks for a style (its OGR provider; memory)
        columns = [row[1:3] for row in database.execute("PRAGMA table_info(layer_styles)")]
        assert ("id", "INTEGER") in columns
        assert ("useAsDefault", "BOOLEAN") in columns
        assert ("update_time", "DATETIME") in columns
        style = database.execute(
            "SELECT styleName, styleQML, useAsDefault FROM layer_styles"
            " WHERE f_table_schema='' AND f_table_name='beds' AND f_geometry_column=("
            "SELECT column_name FROM gpkg_geometry_columns WHERE table_name='beds')"
        )
        assert style.fetchall() == [("beds", "<qgis/>", 1)]


@pytest.mark.extras
def test_geoparquet_keeps_rows_types_and_system(tmp_path):
    pytest.importorskip("pyarrow")
    beds = geopandas.GeoDataFrame(
        {"bed": ["<b>", "a"], "rank": [1, 2], "fits": [True, False], "sun_h": [1.5, np.nan]},
        geometry=[box(0, 0, 1, 2), Point(3, 4)],
        crs="EPSG:4326",
    )
    for name in ("first", "second"):
        write_geoparquet(tmp_path / f"{name}.parquet", beds)
    back = geopandas.read_parquet(tmp_path / "first.parquet")
    assert_geodataframe_equal(back, beds)
    assert (tmp_path / "first.parquet").read_bytes() == (tmp_path / "second.parquet").read_bytes()
    write_geoparquet(tmp_path / "empty.parquet", beds.iloc[:0])
    empty = geopandas.read_parquet(tmp_path / "empty.parquet")
    assert (len(empty), empty.crs.to_epsg(), empty["rank"].dtype) == (0, 4326, "int64")


def test_without_pyarrow_geoparquet_is_refused_in_words(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(MissingExtraError, match=r"install siteplan\[parquet\]; or use plan.gpkg"):
        write_geoparquet(tmp_path / "beds.parquet", geopandas.GeoDataFrame())
    assert not list(tmp_path.iterdir())


@pytest.mark.extras
@pytest.mark.parametrize("room", [20, 60, 90])  # KiB: not even the tables, not the layer, not the last rows
def test_a_full_disk_is_told_by_every_format(small_disk, room):
    pytest.importorskip("pyarrow")
    folder = small_disk(room)
    grid = Grid(west=0, north=0, cell=0.5, rows=60, columns=60)
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    noise = np.random.default_rng(1).random((12, 60, 60))
    points = geopandas.GeoDataFrame({"id": ["x" * 500] * 400}, geometry=[Point(n, n) for n in range(400)], crs=crs)
    random_points = geopandas.GeoDataFrame(geometry=geopandas.points_from_xy(*noise.reshape(2, -1)), crs=crs)
    said = {"descriptions": [""] * 12, "units": [""] * 12, "tags": {}}
    for writer in (
        lambda: write_geotiff(folder / "a.tif", noise, grid, crs, **said),
        lambda: write_geopackage(folder / "a.gpkg", {"beds": points}, descriptions=HELD, styles={"beds": "x"}),
        lambda: write_geoparquet(folder / "a.parquet", random_points),
        lambda: write_json(folder / "a.json", {"hours": noise}),
        lambda: write_csv(folder / "a.csv", pd.DataFrame({"hours": noise.ravel()})),
    ):
        with pytest.raises(OSError, match="No space left") as told:
            writer()
        assert told.value.errno == errno.ENOSPC
        for path in folder.iterdir():
            path.unlink()
