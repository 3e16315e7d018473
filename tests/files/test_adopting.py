"""Does a place become a bed of the features file, and does everything else in that file stay?"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from pathlib import Path

import geopandas
import pytest
import shapely
from shapely import Polygon, box

from siteplan.files.adopting import adopt_beds
from siteplan.files.outputs import replacing
from siteplan.files.reader import check_site, read_site
from siteplan.land.errors import InputError
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec
from siteplan.land.outline import rectangle

from .conftest import DRAWN, Yard
from .test_formats import LOCAL, frame_in

#: what the yard gives in metres
METRES = ("height", "eaves", "base", "crown_diameter", "crown_base", "setback", "trellis_height")
#: free of everything that is drawn in the yard
PLACE = rectangle(8, 3, length=2.4, width=1.2, heading=20)
SECOND = rectangle(-7, 5, length=2.4, width=1.2, heading=0)


def bed_at(outline: Polygon = PLACE, **given: object) -> Bed:
    return Bed(id="place 1", outline=outline, height=0.4572, **given)  # type: ignore[arg-type]


def adopted(folder: Path, *beds: Bed) -> list[str]:
    """Adopt beds, check that the site has them as they were meant, and return their ids."""
    before = read_site(folder)
    names = [bed.id for bed in adopt_beds(folder, before, beds).beds]
    after = read_site(folder)
    assert [bed.id for bed in after.beds] == [*(bed.id for bed in before.beds), *names]
    for bed, name in zip(beds, names, strict=True):
        there = after.bed(name)
        assert there.proposed
        assert there.height == pytest.approx(bed.height, abs=1e-9)
        assert (
            shapely.hausdorff_distance(there.outline, bed.outline) < 1e-3
        )  # the corners are written to a millimetre
    assert not [path.name for path in folder.iterdir() if path.name.startswith(".siteplan-")]
    return names


LAYOUTS = {
    "one line": lambda text: text,
    "tight": lambda text: json.dumps(json.loads(text), separators=(",", ":")),
    "a feature a line": lambda text: text.replace('{"type": "Feature"', '\n{"type": "Feature"') + "\n",
    "indented": lambda text: json.dumps(json.loads(text), indent=2),
    "by tabs": lambda text: json.dumps(json.loads(text), indent="\t"),
    "of Windows": lambda text: "\ufeff" + json.dumps(json.loads(text), indent=4).replace("\n", "\r\n"),
    "members behind": lambda text: json.dumps(json.loads(text) | {"name": "our \u00e9lan", "bbox": [7, 44, 9, 46]}),
    "features first": lambda text: json.dumps(dict(reversed(json.loads(text).items())), ensure_ascii=False),
}


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
def test_geojson_keeps_every_byte_but_for_the_new_features(yard: Yard, layout):
    file = yard.write() / "features.geojson"
    before = layout(file.read_text(encoding="utf-8")).encode("utf-8")
    file.write_bytes(before)
    assert adopted(yard.folder, bed_at(), bed_at(SECOND, trellis_height=1.8, crops=("tomato", "lettuce"))) == [
        "bed-3",
        "bed-4",
    ]
    after = file.read_bytes()
    same = next(at for at, (one, other) in enumerate(zip(before, after, strict=False)) if one != other)
    assert before[same:] == after[len(after) - (len(before) - same) :]  # what follows, follows still
    assert json.loads(after.decode("utf-8-sig"))["features"][-1]["properties"]["crops"] == "tomato, lettuce"


def test_its_own_layers_go_along(yard: Yard):
    own = (
        LayerSpec(material="leaves", thickness=0.1),
        LayerSpec(material="upper mix", fraction=0.75, mix=(("topsoil", 0.7), ("compost", 0.3))),
    )
    (name,) = adopted(yard.write(), bed_at(layers=own))
    assert read_site(yard.folder).bed(name).layers == own


def test_its_tiers_go_along(yard: Yard):
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.25))
    drawn = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, outline=box(-7.3, 4.2, -6.7, 5.8)))
    beds = [
        Bed(id=str(number), outline=outline, tiers=each)
        for number, (outline, each) in enumerate([(PLACE, tiers), (SECOND, drawn)])
    ]
    folder = yard.write()
    for bed, name in zip(beds, adopted(folder, *beds), strict=True):
        there = read_site(folder).bed(name)
        assert [frame.top for frame in there.frames] == pytest.approx([0.3, 0.5])
        for one, other in zip(bed.frames, there.frames, strict=True):
            assert shapely.hausdorff_distance(one.outline, other.outline) < 2e-3


def test_a_new_feature_is_laid_out_as_its_neighbours(yard: Yard):
    file = yard.write() / "features.geojson"
    file.write_bytes(json.dumps(json.loads(file.read_text()), indent=2).replace("\n", "\r\n").encode())
    adopted(yard.folder, bed_at())
    text = file.read_bytes().decode()
    assert text == json.dumps(json.loads(text), indent=2).replace("\n", "\r\n")


def test_an_id_among_the_properties_stays_there(yard: Yard):
    for feature in yard.features.values():
        feature["properties"]["id"] = feature.pop("id")
    file = yard.write() / "features.geojson"
    adopted(yard.folder, bed_at())
    last = json.loads(file.read_text())["features"][-1]
    assert "id" not in last
    assert last["properties"] == {"id": "bed-3", "kind": "bed", "height": "45.72 cm", "proposed": True}


def test_an_id_is_free(yard: Yard):
    yard.draw("bed-3", box(12, -2, 13, -1), kind="pile")
    assert adopted(yard.write(), bed_at()) == ["bed-4"]


def test_no_level_and_no_boundary_has_the_id(yard: Yard):
    yard.features["bed-3"] = yard.features.pop("lot") | {"id": "bed-3"}
    for number in (4, 5, 6):
        yard.draw(f"bed-{number}", shapely.Point(number, number / 2), kind="level", elevation=0)
    assert adopted(yard.write(), bed_at()) == ["bed-7"]


def test_a_measured_plan_gets_corners_of_its_own(yard: Yard):
    # by hand: zero lies at the lot's middle and +y points east, so that a point e metres east and n north of it is at
    # x = -n, y = e; in feet those of the box (8, 2) to (9.2, 4.4) m are x = -4.4 / 0.3048 = -14.436 to
    # -2 / 0.3048 = -6.562 and y = 8 / 0.3048 = 26.247 to 9.2 / 0.3048 = 30.184
    for name, (shape, _) in DRAWN.items():
        feet = shapely.transform(shape, lambda points: points[:, ::-1] * [-1, 1] / 0.3048)
        yard.features[name]["geometry"] = json.loads(shapely.to_geojson(feet))
    yard.toml += '[origin]\nlatitude = 45.0\nlongitude = 8.0\nbearing = 90\nunit = "ft"\n'
    yard.say_metres()
    folder = yard.write()
    adopted(folder, bed_at(box(8, 2, 9.2, 4.4)))
    last = json.loads((folder / "features.geojson").read_text())["features"][-1]
    west, south, east, north = Polygon(last["geometry"]["coordinates"][0]).bounds
    assert (west, south, east, north) == pytest.approx((-14.436, 26.247, -6.562, 30.184), abs=1e-3)


@pytest.mark.parametrize("system", ["EPSG:4326", "EPSG:32632"], ids=["degrees", "utm"])
def test_a_geopackage_gets_a_row_in_its_own_system(yard: Yard, system):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    table = frame_in(system)
    table["remark"] = "ours"
    table.to_file(yard.write() / "yard.gpkg", layer="drawn")
    before = geopandas.read_file(yard.folder / "yard.gpkg", layer="drawn")
    assert adopted(yard.folder, bed_at()) == ["bed-3"]
    after = geopandas.read_file(yard.folder / "yard.gpkg", layer="drawn")
    assert after.crs == before.crs
    assert list(after.columns) == list(before.columns)
    assert after.iloc[:-1].equals(before)
    assert after["remark"].isna().tolist() == [False] * len(before) + [True]
    with contextlib.closing(sqlite3.connect(yard.folder / "yard.gpkg")) as tables, tables:
        assert tables.execute("pragma integrity_check").fetchone() == ("ok",)


def layered(yard: Yard, *, drop: tuple[str, ...] = (), several: bool = False) -> Path:
    """Write the yard as a GeoPackage with a layer for each kind and return its folder."""
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    folder = yard.write()
    table = frame_in("EPSG:4326")
    for kind in dict.fromkeys(table["kind"]):
        rows = table[table["kind"] == kind].drop(columns=["kind"]).dropna(axis="columns", how="all")
        if kind == "bed":
            rows = rows.drop(columns=list(drop))
            if several:
                rows.geometry = [shapely.MultiPolygon([one]) for one in rows.geometry]
        rows.to_file(folder / "yard.gpkg", layer=kind)
    return folder


@pytest.mark.parametrize("several", [False, True])
def test_a_geopackage_with_a_layer_of_beds_gets_a_row_there(yard: Yard, several):
    folder = layered(yard, several=several)
    assert adopted(folder, bed_at()) == ["bed-3"]
    assert len(geopandas.read_file(folder / "yard.gpkg", layer="bed")) == 3


@pytest.mark.filterwarnings("ignore:'crs' was not provided")  # a measured plan has none
def test_a_column_of_numbers_takes_the_drawing_s_unit(yard: Yard):
    # in a plan in feet a bed of 0.4572 m is 1.5 high, in a column that holds numbers alone
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    yard.toml += '[origin]\nlatitude = 45.0\nlongitude = 8.0\nunit = "ft"\n'
    folder = yard.write()
    table = frame_in("EPSG:4326").to_crs(LOCAL)
    table.geometry = [shapely.transform(shape, lambda points: points / 0.3048) for shape in table.geometry]
    table = table.set_crs(None, allow_override=True)
    for name in table.columns.intersection([*METRES]):
        table[name] = [f"{value} m" if str(value).replace(".", "", 1).isdecimal() else value for value in table[name]]
    for kind in dict.fromkeys(table["kind"]):
        rows = table[table["kind"] == kind].drop(columns=["kind"]).dropna(axis="columns", how="all")
        if kind == "bed":
            rows = rows[["id", "height", "proposed", "geometry"]].assign(height=[1.5, 1.0], proposed=[False, True])
        rows.to_file(folder / "yard.gpkg", layer=kind)
    adopted(folder, bed_at())
    beds = geopandas.read_file(folder / "yard.gpkg", layer="bed")
    assert beds["height"].tolist() == pytest.approx([1.5, 1.0, 1.5])
    assert beds["proposed"].tolist() == [False, True, True]


@pytest.mark.parametrize(
    ("drop", "said"),
    [(("proposed",), 'its layer "bed" has no column proposed, which a new bed wants; add one')],
)
def test_a_geopackage_that_cannot_hold_it_is_refused_and_stays(yard: Yard, drop, said):
    folder = layered(yard, drop=drop)
    before = (folder / "yard.gpkg").read_bytes()
    with pytest.raises(InputError, match=said):
        adopt_beds(folder, read_site(folder), [bed_at()])
    assert (folder / "yard.gpkg").read_bytes() == before


def test_a_geopackage_without_a_layer_for_beds_says_which_to_add(yard: Yard):
    yard.change("features.geojson", "yard.gpkg")
    yard.write_features = False
    table = frame_in("EPSG:4326").query("kind == 'boundary'").drop(columns="kind").dropna(axis="columns")
    table.to_file(yard.write() / "yard.gpkg", layer="boundary")
    yard.toml = yard.toml.partition("[[stock]]")[0]
    yard.write()
    with pytest.raises(
        InputError, match='add a layer of polygons called "bed", with the columns height and proposed'
    ):
        adopt_beds(yard.folder, read_site(yard.folder), [bed_at()])


def test_a_bed_on_a_proposed_one_is_refused_with_what_to_do(yard: Yard):
    folder = yard.write()
    before = (folder / "features.geojson").read_bytes()
    with pytest.raises(InputError, match=r'lies on the proposed bed "south".*take "proposed" off it'):
        adopt_beds(folder, read_site(folder), [bed_at(box(4.5, 5, 5.7, 7.4))])
    assert (folder / "features.geojson").read_bytes() == before


def test_a_bed_that_the_site_cannot_have_is_refused(yard: Yard):
    folder = yard.write()
    site = read_site(folder)
    yard.draw("north", box(8, 2, 9.2, 4.4))  # moved there since the site was read
    yard.write()
    before = (folder / "features.geojson").read_bytes()
    with pytest.raises(InputError, match="beds must not overlap"):
        adopt_beds(folder, site, [bed_at()])
    assert (folder / "features.geojson").read_bytes() == before


@pytest.mark.parametrize("name", ["sync", "copymode"])
def test_whatever_fails_leaves_the_file_as_it_was(yard: Yard, monkeypatch, name):
    folder = yard.write()
    before = (folder / "features.geojson").read_bytes()

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(replacing.shutil if name == "copymode" else replacing, name, fail)
    with pytest.raises(InputError, match=r"cannot be written \(No space left on device\); it is as it was"):
        adopt_beds(folder, read_site(folder), [bed_at()])
    assert (folder / "features.geojson").read_bytes() == before
    assert sorted(path.name for path in folder.iterdir()) == ["features.geojson", "site.toml"]


def test_a_change_by_another_program_is_not_lost(yard: Yard):
    folder = yard.write()
    file = folder / "features.geojson"
    changed = file.read_bytes() + b" "

    def meanwhile() -> None:
        with replacing.new_version(file) as copy:
            copy.write_bytes(b"{}")
            file.write_bytes(changed)

    with pytest.raises(InputError, match="another program has just changed it"):
        meanwhile()
    assert file.read_bytes() == changed


def test_a_linked_file_is_written_where_it_lies(yard: Yard, tmp_path):
    folder = yard.write()
    real = tmp_path / "elsewhere.geojson"
    (folder / "features.geojson").rename(real)
    (folder / "features.geojson").symlink_to(real)
    real.chmod(0o640)
    adopted(folder, bed_at())
    assert (folder / "features.geojson").is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
    assert check_site(folder).faults == ()


def test_a_geopackage_that_is_open_elsewhere_is_refused(yard: Yard):
    folder = layered(yard)
    site = read_site(folder)
    other = sqlite3.connect(folder / "yard.gpkg")
    try:  # as desktop programs hold it: with a journal beside it, in which newer rows may stand
        other.execute("pragma journal_mode = wal")
        other.execute("create table notes (words text)")
        with pytest.raises(InputError, match="is open in another program"):
            adopt_beds(folder, site, [bed_at()])
    finally:
        other.close()


def test_the_local_system_of_the_tests_is_the_frame(yard: Yard):
    # the places above are in metres around the lot's middle, which is the frame that the site is read in
    site = read_site(yard.write())
    lonlat = [[site.frame.longitude, site.frame.latitude]] * 2  # a single one warns with the oldest pyproj
    there = geopandas.GeoSeries(shapely.points(lonlat), crs="EPSG:4326").to_crs(LOCAL)[0]
    assert there.distance(shapely.Point(0, 0)) < 1e-3
