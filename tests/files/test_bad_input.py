"""What does a person see whose terrain, skyline or weather is bad: every fault, an exit code of 2, nothing written?"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from siteplan.cli import main

from .rasters import plane, write_empty_raster, write_raster
from .test_weather import epw, made_up

HEAD = "azimuth_deg,elevation_deg\n"


def no_crs(yard):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values, **corner, crs=None)


def in_centimetres(yard):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values * 100, **corner, unit="cm")


def in_feet_across(yard):
    values, _ = plane(yard)
    system = "+proj=tmerc +lat_0=45 +lon_0=8 +ellps=WGS84 +units=ft"
    write_raster(yard.write() / "ground.tif", values, west=-131, north=131, cell=3.28, crs=system)


def holed(yard):
    values, corner = plane(yard)
    values[20:60, 20:60] = -9999
    write_raster(yard.write() / "ground.tif", values, **corner, nodata=-9999)


def elsewhere(yard):
    values, corner = plane(yard)
    write_raster(yard.write() / "ground.tif", values, **{**corner, "west": corner["west"] + 5000})


def in_one_block(yard):
    plane(yard)
    write_empty_raster(yard.write() / "ground.tif", 30_000, blockysize=30_000, compress="deflate")


def a_text(yard):
    plane(yard)
    (yard.write() / "ground.tif").write_text("elevations")


def skyline(rows):
    def write(yard):
        yard.toml = 'skyline = "hills.csv"\n' + yard.toml
        (yard.write() / "hills.csv").write_text(HEAD + rows)

    return write


def weather(text):
    def write(yard):
        yard.toml = 'weather = "year.epw"\n' + yard.toml
        (yard.write() / "year.epw").write_text(text())

    return write


def half_a_year():
    when = pd.date_range("2021-01-01", periods=4380, freq="h")
    return epw(made_up(hours=4380), when=when)


def nothing_there(yard):
    yard.toml = 'weather = "year.epw"\nskyline = "hills.csv"\nterrain = "ground.tif"\n' + yard.toml
    yard.write()


BAD = {
    "terrain without a system": (no_crs, ["ground.tif: has no coordinate reference system; save it"]),
    "terrain in another unit": (in_centimetres, ["ground.tif: has elevations in 'cm', must be metres or feet"]),
    "terrain in feet across": (in_feet_across, ["ground.tif: measures in feet across"]),
    "property in a hole": (holed, ["ground.tif: has no data for the property; fill its holes"]),
    "terrain elsewhere": (elsewhere, ["ground.tif: does not cover the property; take a larger cut"]),
    "terrain in one block": (in_one_block, ["ground.tif: is stored in blocks of 30,000 x 30,000 cells, 3.6 GB"]),
    "terrain that is a text": (a_text, ["ground.tif: cannot be read as a GeoTIFF"]),
    "skyline out of order": (skyline("90,5\n0,2\n180,4\n"), ["hills.csv: line 3: azimuth 0 comes after 90"]),
    "skyline past 360": (skyline("300,2\n365,4\n"), ["hills.csv: line 3: azimuth is 365, must be at least 0"]),
    "skyline of one row": (skyline("90,5\n"), ["hills.csv: has 1 row under its header, must have at least 2"]),
    "skyline with an azimuth twice": (skyline("9,5\n9,6\n"), ["hills.csv: line 3: azimuth 9 is there already"]),
    "skyline of no numbers": (
        skyline("0,nan\n90,95\n180,\n"),
        ["line 2: elevation is nan degrees", "line 3: elevation is 95 degrees", "line 4: is '180,', must be two"],
    ),
    "weather with half a year": (weather(half_a_year), ["year.epw: has no radiation in 4,380 of 8,760 hours"]),
    "weather that is a text": (weather(lambda: "warm"), ["year.epw: is not a weather file of a format that is known here"]),
    "files that are not there": (
        nothing_there,
        [f"site.toml: {key} = '{name}': the file is not there; put it beside site.toml" for key, name in
         (("terrain", "ground.tif"), ("weather", "year.epw"), ("skyline", "hills.csv"))],
    ),
}  # fmt: skip


@pytest.mark.parametrize("command", ["check", "sun"])
@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_refused_in_words(yard, capsys, command, name):
    make, expected = BAD[name]
    make(yard)
    before = sorted(yard.folder.rglob("*"))
    assert main([command, str(yard.folder)]) == 2
    shown = capsys.readouterr()
    lines = shown.err.splitlines()
    assert len(lines) == len(expected)
    for words in expected:
        assert any(words in line for line in lines), lines
    assert shown.out == ""
    assert sorted(yard.folder.rglob("*")) == before  # nothing written


def test_what_is_wrong_in_all_files_comes_at_once(yard, capsys):
    no_crs(yard)
    skyline("90,5\n0,nan\n80,1\n")(yard)
    weather(lambda: "warm")(yard)
    yard.features["north"]["properties"]["height"] = "-1 m"
    yard.write()
    assert main(["sun", str(yard.folder)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in lines] == [
        "features.geojson", "hills.csv", "hills.csv", "ground.tif", "year.epw",
    ]  # fmt: skip


def far_and_south():
    return epw(made_up(latitude=-45.0), latitude=-45.0)


def with_gaps():
    radiation = [values.copy() for values in made_up()]
    for values in radiation:
        values[4000:4010] = 9999
    return epw(radiation)


def of_a_leap_year():
    when = pd.date_range("2020-01-01", periods=8784, freq="h")
    return epw(made_up(hours=8784), when=when)


def with_a_hole(yard):
    values, corner = plane(yard)
    values[38:41, 38:41] = np.nan
    write_raster(yard.write() / "ground.tif", values, **corner)


MENDED = {
    "weather of another hemisphere": (weather(far_and_south), "is from the other hemisphere, 9,970 km away"),
    "weather with gaps": (weather(with_gaps), "has no radiation in 10 hours; the same hours of the nearest days"),
    "weather of a leap year": (weather(of_a_leap_year), "has 8,784 hours, those of a leap year; its 29 February"),
    "a hole under the property": (with_a_hole, "knows no elevation for 1.6% of the property; the nearest known"),
    "a skyline of one side": (skyline("150,8\n200,9\n"), "has no row from 200 to 150 degrees"),
}


@pytest.mark.parametrize("name", MENDED)
def test_what_is_made_do_with_is_said(yard, capsys, name):
    make, words = MENDED[name]
    make(yard)
    assert main(["check", str(yard.folder)]) == 0
    assert words in " ".join(capsys.readouterr().out.split())
