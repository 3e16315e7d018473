"""Is an output folder replaced whole or not at all, and does each file hold what was put in?"""

from __future__ import annotations

import json

import geopandas
import numpy as np
import pandas as pd
import pytest
import rasterio
from shapely import Point, box

from siteplan.files.output import write_csv, write_folder, write_geopackage, write_geotiff, write_json
from siteplan.land.errors import InputError
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Grid


def write(text):
    return lambda folder: (folder / "plan.json").write_text(text)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_new_folder_and_its_replacement(tmp_path):
    out = tmp_path / "deep" / "plan"
    assert write_folder(out, write("1")) == out
    assert (out / "plan.json").read_text() == "1"
    (out / "old.csv").write_text("stays behind")
    write_folder(out, write("2"))
    assert (out / "plan.json").read_text() == "2"
    assert names(out) == [".siteplan", "plan.json"]
    assert names(out.parent) == ["plan"]  # nothing is left beside it


def test_failing_writer_leaves_the_old_folder_alone(tmp_path):
    out = tmp_path / "plan"
    write_folder(out, write("1"))

    def fail(folder):
        (folder / "half.csv").write_text("half")
        raise RuntimeError("disk on fire")

    with pytest.raises(RuntimeError, match="disk on fire"):
        write_folder(out, fail)
    assert (out / "plan.json").read_text() == "1"
    assert names(tmp_path) == ["plan"]


def test_failing_writer_makes_no_folder(tmp_path):
    def fail(folder):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_folder(tmp_path / "plan", fail)
    assert names(tmp_path) == []


def test_failing_swap_brings_the_old_folder_back(tmp_path, monkeypatch):
    from pathlib import Path

    out = tmp_path / "plan"
    write_folder(out, write("1"))
    rename = Path.rename

    def stubborn(self, target):
        if (self / "plan.json").read_text() == "2":
            raise PermissionError("no")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", stubborn)
    with pytest.raises(PermissionError):
        write_folder(out, write("2"))
    assert (out / "plan.json").read_text() == "1"
    assert names(tmp_path) == ["plan"]


def test_empty_folder_and_output_of_one_command_are_replaced(tmp_path):
    out = tmp_path / "plan"
    out.mkdir()
    write_folder(out, lambda folder: (folder / "sun.csv").write_text("x"))  # no plan.json, but the mark
    write_folder(out, write("2"))
    assert names(out) == [".siteplan", "plan.json"]


@pytest.mark.parametrize(
    ("file", "words"),
    [("thesis.doc", "holds files that are not siteplan's"), ("site.toml", "is a site's folder")],
)
def test_strangers_are_refused_before_any_work(tmp_path, file, words):
    out = tmp_path / "plan"
    out.mkdir()
    (out / file).write_text("mine")
    with pytest.raises(InputError, match=words):
        write_folder(out, lambda _: pytest.fail("worked for nothing"))
    assert names(out) == [file]
    assert names(tmp_path) == ["plan"]


def test_site_folder_is_refused_even_with_a_plan_in_it(tmp_path):
    (tmp_path / "site.toml").write_text("")
    (tmp_path / "plan.json").write_text("")
    with pytest.raises(InputError, match="is a site's folder"):
        write_folder(tmp_path, write("1"))


def test_file_in_the_way(tmp_path):
    (tmp_path / "plan").write_text("mine")
    with pytest.raises(InputError, match="is a file"):
        write_folder(tmp_path / "plan", write("1"))
    with pytest.raises(InputError, match="cannot be written"):
        write_folder(tmp_path / "plan" / "deeper", write("1"))


def test_link_is_followed_and_stays(tmp_path):
    real = tmp_path / "real"
    write_folder(real, write("1"))
    link = tmp_path / "link"
    link.symlink_to(real)
    write_folder(link, write("2"))
    assert link.is_symlink()
    assert (real / "plan.json").read_text() == "2"


def test_folder_may_be_read_as_others_are(tmp_path):
    (tmp_path / "plain").mkdir()
    out = write_folder(tmp_path / "plan", write("1"))
    assert out.stat().st_mode == (tmp_path / "plain").stat().st_mode


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
