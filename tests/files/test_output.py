"""Does each file hold what was put in?"""

from __future__ import annotations

import errno
import json
import time

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
from shapely import Point, box

from siteplan.files.output import write_csv, write_geopackage, write_geotiff, write_json
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
    table = pd.DataFrame({"bed": ["=1+1", "@x", "-bed", "plain, with comma"], "hours": [-1.5, 2, 3, np.nan]})
    write_csv(path, table)
    assert path.read_text() == "bed,hours\n'=1+1,-1.5\n'@x,2.0\n'-bed,3.0\n\"plain, with comma\",\n"
    assert table["bed"][0] == "=1+1"  # what is given is not altered


def test_geotiff_lies_where_the_grid_lies(tmp_path):
    grid = Grid(west=-2, north=3, cell=0.5, rows=4, columns=6)
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    bands = np.arange(2 * 4 * 6, dtype=float).reshape(2, 4, 6)
    bands[0, 0, 0] = np.nan
    path = tmp_path / "sun_hours.tif"
    write_geotiff(path, bands, grid, frame.crs, ["January", "growing season"])
    with rasterio.open(path) as raster:
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
        write_geotiff(path, bands, grid, frame.crs, ["January"])


def test_geopackage_holds_all_layers_even_empty_ones(tmp_path):
    path = tmp_path / "plan.gpkg"
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    beds = geopandas.GeoDataFrame({"id": ["a", "<b>"]}, geometry=[box(0, 0, 1, 2), Point(3, 4)], crs=crs)
    write_geopackage(path, {"beds": beds, "places": beds.iloc[:0]})
    assert sorted(geopandas.list_layers(path)["name"]) == ["beds", "places"]
    back = geopandas.read_file(path, layer="beds")
    assert back["id"].tolist() == ["a", "<b>"]
    assert back.geometry.tolist() == beds.geometry.tolist()
    assert len(geopandas.read_file(path, layer="places")) == 0


def test_equal_layers_give_equal_bytes_at_another_time(tmp_path, monkeypatch):
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    layers = {"beds": geopandas.GeoDataFrame({"id": ["a"]}, geometry=[box(0, 0, 1, 2)], crs=crs)}
    write_geopackage(tmp_path / "first.gpkg", layers)
    time.sleep(0.01)  # GDAL writes thousandths of a second
    write_geopackage(tmp_path / "second.gpkg", layers)
    assert (tmp_path / "first.gpkg").read_bytes() == (tmp_path / "second.gpkg").read_bytes()
    assert pyogrio.get_gdal_config_option("OGR_CURRENT_DATE") is None  # others' layers keep their dates


@pytest.mark.parametrize("room", [20, 60, 90])  # KiB: not even the tables, not the layer, not the last rows
def test_a_full_disk_is_told_by_every_format(small_disk, room):
    folder = small_disk(room)
    grid = Grid(west=0, north=0, cell=0.5, rows=60, columns=60)
    crs = LocalFrame(longitude=8.0, latitude=45.0).crs
    noise = np.random.default_rng(1).random((12, 60, 60))
    points = geopandas.GeoDataFrame({"id": ["x" * 500] * 400}, geometry=[Point(n, n) for n in range(400)], crs=crs)
    for writer in (
        lambda: write_geotiff(folder / "a.tif", noise, grid, crs, [""] * 12),
        lambda: write_geopackage(folder / "a.gpkg", {"beds": points}),
        lambda: write_json(folder / "a.json", {"hours": noise}),
        lambda: write_csv(folder / "a.csv", pd.DataFrame({"hours": noise.ravel()})),
    ):
        with pytest.raises(OSError, match="No space left") as told:
            writer()
        assert told.value.errno == errno.ENOSPC
        for path in folder.iterdir():
            path.unlink()
