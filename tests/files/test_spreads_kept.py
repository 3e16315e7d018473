"""How far off a figure may be, in the text columns of a GeoPackage, and where a place becomes a bed of the file."""

from __future__ import annotations

import contextlib
import json
import sqlite3

import geopandas
import pytest

from siteplan.cli import main
from siteplan.files.adopting import adopt_beds
from siteplan.files.reader import check_site, read_site
from siteplan.land.features import Bed
from siteplan.land.outline import rectangle

from .conftest import Yard
from .test_formats import frame_in

#: what each feature says: texts as people write them, each in its own way
SAID = {
    "pear": {"height": "6.0 m  +- 50 cm", "leaf_out": "04-10 ± 7 days", "crown_diameter": "4 m +/- 10 %"},
    "house": {"height": "7.5 +- 0.3", "measured": "tape", "position_spread": "20 cm"},
    "fence": {"height": "1.8 m+-0 cm"},
    "yew": {"measured": "laser", "transmittance_leafy": "5 % +- 3 %"},
}
#: below and above [m; days; 1], and how it came about
MEANT = {
    ("pear", "height"): (0.5, "given"),
    ("pear", "leaf_out"): (7.0, "given"),
    ("pear", "crown_diameter"): (0.4, "given"),
    ("house", "height"): (0.3, "given"),
    ("house", "position"): (0.2, "given"),
    ("yew", "transmittance_leafy"): (0.03, "given"),
}
PLACE = Bed(id="place 1", outline=rectangle(8, 3, length=2.4, width=1.2, heading=20), height=0.45)


def spreads_of(site):
    return {(one.id, spread.of): spread for one in site.features() for spread in getattr(one, "spreads", ())}


def assert_as_meant(site):
    found = spreads_of(site)
    for key, (size, how) in MEANT.items():
        assert (found[key].below, found[key].above) == pytest.approx((size, size)), key
        assert found[key].how == how, key
    assert ("fence", "height") not in found  # exact, as it is said
    assert found["yew", "height"].how == "laser"
    assert found["house", "eaves"].how == "tape"


@pytest.fixture(params=["one layer", "a layer for each kind"])
def packaged(request, yard: Yard):
    """Return the yard's folder; its features are rows of a GeoPackage, and what they say stands in columns of text."""
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    folder, table = yard.write(), frame_in("EPSG:32632")
    for feature, said in SAID.items():
        for name, text in said.items():
            table.loc[table["id"] == feature, name] = text
    layers = {"drawn": table}
    if request.param != "one layer":
        layers = {
            kind: table[table["kind"] == kind].drop(columns="kind").dropna(axis="columns", how="all")
            for kind in dict.fromkeys(table["kind"])
        }
    for name, rows in layers.items():
        rows.to_file(folder / "yard.gpkg", layer=name)
    return folder


def rows_of(path):
    """Return every row of every layer as SQLite holds it, but for the rows of adopted beds."""
    with contextlib.closing(sqlite3.connect(path)) as tables:
        names = [row[0] for row in tables.execute("select table_name from gpkg_contents order by table_name")]
        asked = [(name, f'select * from "{name}" order by fid') for name in names]  # noqa: S608  # of a file of ours
        rows = [(name, *row) for name, words in asked for row in tables.execute(words)]
    return [row for row in rows if "bed-3" not in row]


def test_columns_of_text_say_how_far_off_a_figure_may_be(packaged):
    checked = check_site(packaged)
    assert checked.faults == ()
    assert_as_meant(checked.site)
    heights = {one.id: one.height for one in (*checked.site.trees, *checked.site.buildings, *checked.site.fences)}
    assert heights == {"pear": 6.0, "yew": 4.0, "house": 7.5, "porch": 3.0, "fence": 1.8, "wall": 2.0}


def test_a_row_that_is_wrong_is_named(packaged):
    with contextlib.closing(sqlite3.connect(packaged / "yard.gpkg")) as tables:
        (layer,) = {"drawn", "tree"} & {row[0] for row in tables.execute("select table_name from gpkg_contents")}
    table = geopandas.read_file(packaged / "yard.gpkg", layer=layer)
    table.loc[table["id"] == "pear", "height"] = "6 m +- 7 m"
    table.to_file(packaged / "yard.gpkg", layer=layer)
    (fault,) = check_site(packaged).faults
    assert "pear" in fault.where
    assert "the spread of 7 m is more than the value, 6 m" in fault.text


def test_an_adopted_bed_leaves_every_text_of_a_geopackage_alone(packaged):
    before, rows = read_site(packaged), rows_of(packaged / "yard.gpkg")
    (bed,) = adopt_beds(packaged, before, [PLACE]).beds
    after = read_site(packaged)
    assert rows_of(packaged / "yard.gpkg") == rows
    assert spreads_of(after) == spreads_of(before)
    assert_as_meant(after)
    assert after.bed(bed.id).height == pytest.approx(0.45)
    assert after.bed(bed.id).proposed


def test_an_adopted_bed_takes_its_pattern_s_height_and_leaves_the_texts_alone(yard: Yard, tmp_path, capsys):
    """The bed's own spread counts nothing: it is built as it is planned, and its copy says the height alone."""
    for feature in ("gas", "gate", "fence"):  # so that the barrow gets in
        del yard.features[feature]
    for feature in SAID.keys() & yard.features.keys():
        yard.features[feature]["properties"] |= SAID[feature]
    yard.features["south"]["properties"] |= {"height": "30 cm +- 2 cm"}
    file = yard.write() / "features.geojson"
    before, site = file.read_bytes(), read_site(yard.folder)
    small = ["--length", "1.2 m", "--width", "60 cm"]
    asked = ["place", str(yard.folder), *small, "--adopt", "1", "--out", str(tmp_path / "out")]
    assert main(asked) == 0, capsys.readouterr().err
    after, again = file.read_bytes(), read_site(yard.folder)
    same = next(at for at, (one, other) in enumerate(zip(before, after, strict=False)) if one != other)
    assert before[same:] == after[len(after) - (len(before) - same) :]  # all that was there, byte for byte
    added = json.loads(after)["features"][-1]["properties"]
    assert added == {"kind": "bed", "height": "30 cm", "proposed": True, "crop_height": "100 cm"}
    assert spreads_of(again) == spreads_of(site)
    assert_as_meant(again)
