"""What cannot be a survey of the property is said in one line each, with exit 2, and nothing is written."""

from __future__ import annotations

import json
import os

import numpy as np
import pytest
import shapely

from siteplan.cli import main
from siteplan.files.remarks import Remarks
from siteplan.files.survey.tile_header import read_header
from siteplan.files.survey.tiles import read_tiles
from tests.survey.conftest import FRAME, drawn_features, write_raster, write_site, write_tile


def refused(site, words, capsys):
    """Return the lines of a refusal; nothing is written then."""
    assert main(["heights", str(site), *map(str, words)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert not (site / "heights").exists()
    return [line for line in said.err.splitlines() if not line.startswith("reading")]


def test_a_tile_that_is_cut_off(site, tile, tmp_path, capsys):
    content = tile.read_bytes()
    for size in (len(content) - 2000, 300, 10, 0):
        cut = tmp_path / "cut.laz"
        cut.write_bytes(content[:size])
        (line,) = refused(site, [cut], capsys)
        assert line == "cut.laz: cannot be read: it is cut off, or damaged; fetch it once more"


def test_an_uncompressed_tile_that_is_cut_off(site, flight, tmp_path, capsys):
    whole = write_tile(tmp_path / "whole.las", flight)
    cut = tmp_path / "cut.las"
    cut.write_bytes(whole.read_bytes()[:-100_000])
    (line,) = refused(site, [cut], capsys)
    assert "cut off" in line


@pytest.mark.slow
def test_a_damaged_tile_is_read_or_refused_and_nothing_else(tile, tmp_path):
    content, chance = bytearray(tile.read_bytes()), np.random.default_rng(3)
    path, square, outcomes = tmp_path / "damaged.laz", shapely.box(-28, -28, 28, 28), set()
    for number in range(60):
        damaged = bytearray(content)
        for at in chance.integers(0, 400 if number % 2 else len(content), 3):
            damaged[at] = chance.integers(256)
        path.write_bytes(damaged)
        remarks = Remarks()
        head = read_header(path, remarks, crs=None, metres=None)
        assert (head is None) == bool(remarks.faults)
        if head is None:
            outcomes.add("head refused")
            continue
        said = ""
        try:
            read_tiles([head], FRAME, square, farthest=50, reach=lambda high: high * 10, tell=lambda _: None)
        except ValueError as error:
            said = str(error)
        assert said in {"", "damaged.laz: cannot be read: it is cut off, or damaged; fetch it once more"}
        outcomes.add("points refused" if said else "read")
    assert outcomes == {"head refused", "points refused", "read"}


def test_a_tile_that_misses_the_property(site, flight, tmp_path, capsys):
    away = write_tile(tmp_path / "away.laz", flight, east=2000, north=2000)
    (line,) = refused(site, [away], capsys)
    assert line.startswith("away.laz: misses the property: it lies 2.8 km to the northeast of it; take the tile")


def test_a_tile_beside_the_property_does_not_count_as_one_of_it(site, flight, tmp_path, capsys):
    away = write_tile(tmp_path / "away.laz", flight, east=-200)
    (line,) = refused(site, [away], capsys)
    assert "misses the property: it lies 1" in line
    assert "m to the west of it" in line


def test_a_tile_that_covers_too_little(site, flight, tmp_path, capsys):
    part = write_tile(tmp_path / "part.laz", flight.subset(flight.x < 20))
    (line,) = refused(site, [part], capsys)
    assert "has no points on more than" in line
    assert "give the tiles beside it" in line


def test_no_coordinate_system(site, flight, tmp_path, capsys):
    mute = write_tile(tmp_path / "mute.laz", flight, told=False)
    (line,) = refused(site, [mute], capsys)
    assert "does not say in which coordinate system it is" in line
    assert main(["heights", str(site), str(mute), "--crs", "EPSG:32632", "--quiet"]) == 0


def test_a_wrong_coordinate_system(site, flight, tmp_path, capsys):
    mute = write_tile(tmp_path / "mute.laz", flight, told=False)
    (line,) = refused(site, [mute, "--crs", "EPSG:32633"], capsys)
    assert "lies 473 km to the east of the property by its coordinate system" in line
    assert "WGS 84 / UTM zone 33N" in line
    (line,) = refused(site, [mute, "--crs", "EPSG:4326"], capsys)
    assert "lie outside of" in line
    (line,) = refused(site, [mute, "--crs", "EPSG:nonsense"], capsys)
    assert "--crs" in line
    assert "no coordinate system" in line
    (line,) = refused(site, [mute, "--crs", "EPSG:4978"], capsys)
    assert "of no place on earth" in line


def test_heights_that_no_land_there_has(site, flight, tmp_path, capsys):
    high = write_tile(tmp_path / "high.laz", flight, up=5000)
    (line,) = refused(site, [high], capsys)
    assert "but the land there lies at about" in line


def test_ground_that_is_in_feet(site, flight, tmp_path, capsys):
    feet = write_tile(tmp_path / "feet.laz", flight, feet=1 / 0.3048, up=250)
    (line,) = refused(site, [feet], capsys)
    assert "its heights are likely in feet: say --z-unit ft" in line


def test_units_that_make_a_house_too_high(site, flight, tmp_path, capsys):
    feet = write_tile(tmp_path / "feet.laz", flight, feet=1 / 0.3048, up=30)
    (line,) = refused(site, [feet], capsys)
    assert "makes half of 1 buildings more than 24.6 m high; are its heights in feet? Say --z-unit ft" in line
    features = drawn_features()
    features[1]["properties"]["height"] = "7 m"
    known = write_site(tmp_path / "known", features)
    for words in ([], ["--z-unit", "m"]):
        (line,) = refused(known, [feet, *words], capsys)
        assert 'makes the building "house" 24.6 m high, which is drawn 7.00 m high' in line


@pytest.mark.slow
def test_units_that_make_a_house_too_low(site, flight, tmp_path, capsys):
    metres = write_tile(tmp_path / "metres.laz", flight)
    features = drawn_features()
    features[1]["properties"]["height"] = "7 m"
    known = write_site(tmp_path / "known", features)
    (line,) = refused(known, [metres, "--z-unit", "ft"], capsys)
    assert "say --z-unit m" in line.replace("Say", "say")


def test_a_system_in_feet_that_does_not_tell_its_heights(site, flight, tmp_path, capsys):
    feet = write_tile(tmp_path / "feet.laz", flight, epsg=2263)
    (line,) = refused(site, [feet], capsys)
    assert "measures in feet across and does not say what its heights are in" in line


def test_an_unknown_unit(site, tile, capsys):
    (line,) = refused(site, [tile, "--z-unit", "ell"], capsys)
    assert line == "--z-unit: is 'ell', must be m, ft or us-ft"


@pytest.mark.slow
def test_no_ground_among_the_classes(site, flight, tmp_path, capsys):
    groundless = write_tile(tmp_path / "high.laz", flight.subset(flight.kind != 2))
    lines = refused(site, [groundless], capsys)
    assert any("none of them is ground (class 2)" in line or "has no points on" in line for line in lines)
    renamed = type(flight)(
        flight.x,
        flight.y,
        flight.z,
        np.where(flight.kind == 2, 5, flight.kind).astype(np.uint8),
        flight.last,
        flight.several,
    )
    groundless = write_tile(tmp_path / "renamed.laz", renamed)
    (line,) = refused(site, [groundless], capsys)
    assert "none of them is ground (class 2) about the property; with --unclassified" in line
    assert main(["heights", str(site), str(groundless), "--unclassified", "--quiet"]) == 0


@pytest.mark.slow
def test_a_cloud_of_lone_points(site, flight, tmp_path, capsys):
    chance = np.random.default_rng(1)
    high = np.where(chance.uniform(size=len(flight)) < 0.3, chance.uniform(0, 3000, len(flight)), 0)
    wild = type(flight)(flight.x, flight.y, flight.z + high, flight.kind, flight.last, flight.several)
    (line,) = refused(site, [write_tile(tmp_path / "wild.laz", wild)], capsys)
    assert "points alone in the air; it is damaged, or no survey of land" in line


@pytest.mark.slow
def test_rasters_that_do_not_match(site, pair, tmp_path, capsys):
    import rasterio

    surface, ground = pair
    with rasterio.open(ground) as raster:
        level = raster.read(1)
    for name, values, words in (
        ("same.tif", level, "are the same: one must be the surface"),
        ("feet.tif", np.where(np.arange(120) < 60, level + 9, level - 9), "over 5"),
    ):
        (line,) = refused(site, [write_raster(tmp_path / name, values), ground], capsys)
        assert words in line
    small = write_raster(tmp_path / "small.tif", level[:30, :30])
    (line,) = refused(site, [surface, small], capsys)
    assert line.startswith("small.tif: does not cover")
    placeless = tmp_path / "placeless.tif"
    placeless.write_bytes(b"no raster")
    lines = refused(site, [placeless, placeless.with_name("nowhere.tif")], capsys)
    assert [line.partition(":")[0] for line in lines] == ["nowhere.tif", "placeless.tif"]


def test_a_raster_in_an_unknown_unit(site, pair, tmp_path, capsys):
    strange = write_raster(tmp_path / "strange.tif", np.full((120, 120), 180.0), unit="fathom")
    (line,) = refused(site, [pair[0], strange], capsys)
    assert "--z-unit" in line


def test_a_raster_of_somewhere_else(site, pair, tmp_path, capsys):
    elsewhere = write_raster(tmp_path / "elsewhere.tif", np.full((120, 120), 180.0), epsg=32631)
    (line,) = refused(site, [pair[0], elsewhere], capsys)
    assert line == "elsewhere.tif: does not cover the property; take one that does, or a larger cut of it"


def test_what_is_no_tile(site, tile, pair, tmp_path, capsys):
    text = tmp_path / "points.txt"
    text.write_text("1 2 3")
    assert "must be a .las or .laz tile" in refused(site, [text], capsys)[0]
    assert "tiles alone, or a pair of rasters" in refused(site, [tile, pair[0]], capsys)[0]
    assert "a pair of rasters is wanted" in refused(site, [pair[0]], capsys)[0]
    assert refused(site, [tmp_path / "missing.laz"], capsys) == ["missing.laz: is not there"]
    (line,) = refused(site, [], capsys)
    assert line.startswith("TILE: is missing")
    assert refused(site, ["--replace", tile], capsys)[0].startswith("--replace: goes with --accept")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.laz")
        assert refused(site, [tmp_path / "pipe.laz"], capsys) == ["pipe.laz: is a pipe, must be a file"]


def test_all_faults_of_a_site_come_but_missing_heights(site, tile, capsys):
    features = json.loads((site / "features.geojson").read_text(encoding="utf-8"))
    features["features"][2]["properties"]["foliage"] = "purple"
    (site / "features.geojson").write_text(json.dumps(features), encoding="utf-8")
    (line,) = refused(site, [tile], capsys)
    assert 'tree "oak": foliage' in line


def test_without_laspy(site, tile, monkeypatch, capsys):
    import sys

    monkeypatch.setitem(sys.modules, "laspy", None)
    (line,) = refused(site, [tile], capsys)
    assert "install siteplan[survey]" in line


@pytest.mark.parametrize("kind", ["tree", "hedge"])
def test_a_site_without_a_height_can_be_asked(tmp_path, tile, kind):
    from shapely import box

    from tests.survey.conftest import feature

    features = [feature("lot", "boundary", box(2, 2, 58, 58)), feature("one", kind, box(9, 42, 15, 48))]
    folder = write_site(tmp_path / "bare", features)
    assert main(["heights", str(folder), str(tile), "--quiet"]) == 0
