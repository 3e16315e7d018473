"""Does the page see the property as the files have it, and do the files get what the page draws?"""

from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely.geometry import shape

from siteplan.draw.property import Property
from siteplan.draw.property_files import StaleError
from siteplan.files.reader import check_site
from siteplan.land.errors import InputError

from .conftest import DRAWN, FRAME, laid, write_yard

Json = dict[str, Any]


def by_id(view: Json) -> dict[str, Json]:
    return {one["id"]: one for one in view["features"]}


def moved(feature: Json, x: float, y: float) -> Json:
    """Return a feature of the page that lies elsewhere; coordinates as a page would round them."""
    new = copy.deepcopy(feature)
    there = shapely.affinity.translate(shape(new["geometry"]), x, y)
    new["geometry"] = json.loads(shapely.to_geojson(there))
    return new


def features_text(folder: Path) -> str:
    return (folder / "features.geojson").read_text(encoding="utf-8")


def test_the_page_draws_in_metres_with_north_as_in_the_file(each_yard):
    view = Property(each_yard).view()
    assert view["sound"], view["faults"]
    plan = "[origin]" in (each_yard / "site.toml").read_text()
    place = view["place"]
    assert place["latitude"] == pytest.approx(45.0, abs=1e-6)
    assert place["longitude"] == pytest.approx(8.0, abs=1e-6)
    assert place["bearing"] == (12.5 if plan else 0.0)
    assert [one["id"] for one in view["features"]] == list(DRAWN)
    for one in view["features"]:
        true, properties = DRAWN[one["id"]]
        assert one["properties"] == properties
        assert shapely.hausdorff_distance(shape(one["geometry"]), true) < 2e-3  # feet are written to a millimetre
    json.dumps(view, allow_nan=False)


def test_what_is_sent_back_unchanged_changes_nothing(each_yard):
    before = features_text(each_yard)
    opened = Property(each_yard)
    view = opened.view()
    after = opened.edit(view["version"], "nothing", put=view["features"])
    assert features_text(each_yard) == before
    assert (after["version"], after["undo"]) == (view["version"], None)  # and is no step


def test_a_bed_that_is_moved_lies_where_it_was_moved(each_yard):
    opened = Property(each_yard)
    view = opened.view()
    before = features_text(each_yard).splitlines()
    new = moved(by_id(view)["north"], 3.0, -1.5)
    after = opened.edit(view["version"], "moved north", put=[new])
    there = shape(by_id(after)["north"]["geometry"])
    assert shapely.hausdorff_distance(there, shape(new["geometry"])) < 1e-3
    bed = check_site(each_yard).site.bed("north")
    bearing = after["place"]["bearing"]
    true = shapely.affinity.rotate(shapely.affinity.translate(DRAWN["north"][0], 3.0, -1.5), -bearing, origin=(0, 0))
    lot = shapely.affinity.rotate(DRAWN["lot"][0], -bearing, origin=(0, 0)).centroid
    true = shapely.affinity.translate(true, -lot.x, -lot.y)
    assert shapely.hausdorff_distance(bed.outline, true) < 3e-3
    lines = features_text(each_yard).splitlines()
    assert [at for at, (one, other) in enumerate(zip(before, lines, strict=True)) if one != other] == [5]


def test_a_corner_that_was_not_moved_keeps_its_digits(yard):
    text = features_text(yard).replace("-49.21", "-49.2100")
    (yard / "features.geojson").write_text(text, encoding="utf-8")
    opened = Property(yard)
    view = opened.view()
    lot = by_id(view)["lot"]
    corner = next(one for one in lot["geometry"]["coordinates"][0][1:-1] if one[0] > 0)
    corner[0] += 1.0
    opened.edit(view["version"], "moved a corner of lot", put=[lot])
    assert features_text(yard).count("-49.2100") == text.count("-49.2100") > 0


def test_the_plane_stays_while_the_property_is_open(another_yard):
    folder = another_yard("degrees")
    opened = Property(folder)
    view = opened.view()
    wider = moved(by_id(view)["lot"], 0.0, 0.0)
    ring = wider["geometry"]["coordinates"][0]
    wider["geometry"]["coordinates"][0] = [[x * 2 if x > 0 else x, y] for x, y in ring]
    after = opened.edit(view["version"], "widened lot", put=[wider])
    assert by_id(after)["pear"] == by_id(view)["pear"]
    assert after["place"] == view["place"]
    again = Property(folder).view()  # opened anew, it is that of the new boundary
    assert again["place"]["longitude"] > view["place"]["longitude"]


def test_new_features_come_behind_the_others(each_yard):
    opened = Property(each_yard)
    view = opened.view()
    tap = {"type": "Feature", "id": "tap", "properties": {"kind": "tap", "hose_length": "50 ft", "note": "é<b>"}}
    tap["geometry"] = {"type": "Point", "coordinates": [3.25, -2.5]}
    after = opened.edit(view["version"], "drew tap", put=[tap])
    assert after["features"][-1] == {**tap, "kind": "tap", "geometry": after["features"][-1]["geometry"]}
    assert after["features"][-1]["geometry"]["coordinates"] == pytest.approx([3.25, -2.5], abs=5e-4)
    assert after["sound"]
    site = check_site(each_yard).site
    assert [one.id for one in site.taps] == ["tap"]
    less = opened.edit(after["version"], "removed tap", remove=["tap"])
    assert less["version"] == view["version"]


def test_what_is_drawn_changes_no_settings_where_the_origin_is_said(tmp_path):
    folder = write_yard(tmp_path / "yard", "plan m")
    settings = (folder / "site.toml").read_text().replace('unit = "m"\n', "")  # metres are the default
    (folder / "site.toml").write_text(settings)
    opened = Property(folder)
    pear = by_id(opened.view())["pear"]
    opened.edit(opened.view()["version"], "moved pear", put=[moved(pear, 1.0, 0.0)])
    assert (folder / "site.toml").read_text() == settings


def test_settings_change_and_comments_stay(yard):
    opened = Property(yard)
    view = opened.view()
    assert view["settings"]["sun.need"]["given"] is None
    assert view["settings"]["sun.need"]["default"] == "6 h"
    after = opened.edit(view["version"], "crops want less", settings={"sun.need": "5 h", "origin.bearing": 0})
    assert after["settings"]["sun.need"]["given"] == "5 h"
    assert after["place"]["bearing"] == 0
    text = (yard / "site.toml").read_text()
    assert 'need = "5 h"                    # of direct sun' in text
    assert text.startswith("# our yard\n")
    assert check_site(yard).site.sun.need == 5


def test_an_unsound_property_may_be_saved_and_says_what_is_wrong_where(yard):
    opened = Property(yard)
    view = opened.view()
    outside = moved(by_id(view)["north"], 100.0, 0.0)
    bare = copy.deepcopy(by_id(view)["pear"])
    del bare["properties"]["height"]
    after = opened.edit(view["version"], "moved north", put=[outside, bare])
    assert not after["sound"]
    told = {one["where"]: one["text"] for one in after["faults"]}
    assert told["pear"] == "height is missing; measure it from the ground"
    assert told["north"].startswith("lies outside the boundary")
    assert [str(one) for one in check_site(yard).faults] == [one["said"] for one in after["faults"]]
    back = opened.undo(after["version"])
    assert (back["sound"], back["redo"]) == (True, "moved north")


def test_faults_name_features_that_have_no_kind_or_no_id_of_their_own(yard):
    text = features_text(yard).replace('"kind": "tree", "height": "20 ft"', '"kind": "trea"')
    text = text.replace('"id": "plum", ', "").replace('"height": "14 ft"', '"height": "-1 ft"')
    (yard / "features.geojson").write_text(text, encoding="utf-8")
    view = Property(yard).view()
    assert {one["where"] for one in view["faults"]} == {"feature 3", "tree-1"}
    assert {name: one["kind"] for name, one in by_id(view).items() if name not in DRAWN} == {
        "feature 3": None,
        "tree-1": "tree",
    }


def test_ids_that_stand_twice_are_two_features_on_the_page(yard):
    (yard / "features.geojson").write_text(features_text(yard).replace('"plum"', '"pear"'), encoding="utf-8")
    opened = Property(yard)
    view = opened.view()
    assert list(by_id(view)) == ["lot", "house", "pear", "pear (feature 4)", "north"]
    after = opened.edit(view["version"], "removed one", remove=["pear (feature 4)"])
    assert after["sound"]
    assert "13 ft" in features_text(yard)


def test_cautions_are_those_of_the_check(yard):
    opened = Property(yard)
    view = opened.view()
    house = by_id(view)["house"]
    house["properties"]["height"] = "200 ft"
    after = opened.edit(view["version"], "raised house", put=[house])
    expected = [(one.code, one.feature, one.text) for one in check_site(yard).cautions]
    assert [(one["code"], one["feature"], one["text"]) for one in after["cautions"]] == expected != []


BAD: dict[str, tuple[Any, str]] = {
    "no object": (7, "is no feature"),
    "no Feature": ({"type": "Point"}, "is no feature"),
    "no id": ({"type": "Feature", "properties": {}, "geometry": None}, "id is None"),
    "long id": ({"type": "Feature", "id": "x" * 999, "properties": {}, "geometry": None}, "1 to 200 letters"),
    "no properties": ({"type": "Feature", "id": "a", "geometry": None}, "must have properties"),
    "odd shape": (
        {"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Circle"}},
        "its geometry is 'Circle'",
    ),
    "no numbers": (
        {"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Point", "coordinates": ["1", 2]}},
        "two to a corner",
    ),
    "no end": (
        {"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Point", "coordinates": [1e999, 2]}},
        "two to a corner",
    ),
    "too flat": (
        {"type": "Feature", "id": "a", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [1, 2]}},
        "are no Polygon",
    ),
    "no number": ({"type": "Feature", "id": "a", "properties": {"h": float("nan")}, "geometry": None}, "no number"),
    "half a letter": ({"type": "Feature", "id": "a", "properties": {"h": "\ud800"}, "geometry": None}, "half"),
}


@pytest.mark.parametrize(("feature", "said"), BAD.values(), ids=BAD.keys())
def test_what_could_not_be_written_is_refused_in_words(yard, feature, said):
    opened = Property(yard)
    before = features_text(yard)
    with pytest.raises(InputError, match=said):
        opened.edit(opened.view()["version"], "drew", put=[feature])
    assert features_text(yard) == before
    assert opened.view()["undo"] is None


def test_a_feature_stands_once_in_a_change(yard):
    opened = Property(yard)
    view = opened.view()
    name, feature = next(iter(by_id(view).items()))
    with pytest.raises(InputError, match=f"{name}: stands twice in one change"):
        opened.edit(view["version"], "moved", put=[feature], remove=[name])
    assert opened.view() == view


def test_deep_properties_are_refused(yard):
    opened = Property(yard)
    deep: Any = 1
    for _ in range(100):
        deep = [deep]
    feature = {"type": "Feature", "id": "a", "properties": {"deep": deep}, "geometry": None}
    with pytest.raises(InputError, match="nested more than"):
        opened.edit(opened.view()["version"], "drew", put=[feature])


def test_settings_that_cannot_be_are_refused_in_words(yard):
    opened = Property(yard)
    version = opened.view()["version"]
    before = (yard / "site.toml").read_bytes()
    for settings, said in (
        ({"sun.neeed": 5}, "is not known; did you mean 'sun.need'"),
        ({"features": "other.geojson"}, "in a text editor"),
        ({"origin.unit": "m"}, "cannot change once something is drawn"),
        ({"name": "\udfff"}, "half of a letter"),
        ({"name": {"a": 1}}, "must be a text"),
    ):
        with pytest.raises(InputError, match=said):
            opened.edit(version, "set", settings=settings)
    assert (yard / "site.toml").read_bytes() == before


def test_a_geopackage_is_shown_and_not_drawn_on(yard):
    import geopandas

    frame = geopandas.read_file(yard / "features.geojson").drop(columns="roof")
    frame.to_file(yard / "yard.gpkg", layer="all")
    settings = (yard / "site.toml").read_text().replace('name = "', 'features = "yard.gpkg"\nname = "')
    (yard / "site.toml").write_text(settings)
    opened = Property(yard)
    view = opened.view()
    assert list(by_id(view)) == list(DRAWN)
    with pytest.raises(InputError, match=r"save it as features\.geojson"):
        opened.edit(view["version"], "removed plum", remove=["plum"])
    assert opened.edit(view["version"], "set", settings={"sun.need": 4})["settings"]["sun.need"]["given"] == 4


@pytest.mark.parametrize("name", ["../outside.geojson", "/etc/x.geojson", "link/x.geojson"])
def test_nothing_is_written_outside_the_folder(yard, name):
    (yard.parent / "elsewhere").mkdir()
    (yard / "link").symlink_to(yard.parent / "elsewhere")
    settings = (yard / "site.toml").read_text().replace('name = "', f'features = "{name}"\nname = "')
    (yard / "site.toml").write_text(settings)
    for path in (yard.parent / "outside.geojson", yard.parent / "elsewhere" / "x.geojson"):
        path.write_text(features_text(yard))
    opened = Property(yard)
    view = opened.view()
    with pytest.raises(InputError, match="outside the site's folder"):
        opened.edit(
            view["version"],
            "removed",
            remove=["plum"] if "plum" in by_id(view) else [],
            put=[{"type": "Feature", "id": "t", "properties": {}, "geometry": None}],
        )
    assert (yard.parent / "outside.geojson").read_text() == features_text(yard)


def test_broken_settings_can_be_undone(yard):
    opened = Property(yard)
    view = opened.view()
    (yard / "site.toml").write_text("name = ", encoding="utf-8")
    broken = opened.view()
    assert broken["undo"] == "changed outside"
    assert broken["features"] == []
    assert "is not TOML" in broken["faults"][0]["text"]
    with pytest.raises(InputError, match="is not TOML"):
        opened.edit(broken["version"], "drew", remove=["plum"])
    back = opened.undo(broken["version"])
    assert back["features"] == view["features"]


def test_a_later_save_is_told(yard):
    one, other = Property(yard), Property(yard)
    view = one.view()
    assert other.view()["version"] == view["version"]
    done = one.edit(view["version"], "removed plum", remove=["plum"])
    with pytest.raises(StaleError, match='the last step: "removed plum"') as stale:
        other.edit(view["version"], "moved pear", put=[moved(by_id(view)["pear"], 1, 1)])
    assert stale.value.state.version == done["version"] == other.view()["version"]
    with pytest.raises(StaleError):
        other.undo(view["version"])


def test_a_property_without_a_place_can_be_drawn_and_says_what_is_missing(tmp_path):
    folder = tmp_path / "empty"
    folder.mkdir()
    (folder / "site.toml").write_text('name = "Ours"\n')
    (folder / "features.geojson").write_text('{"type": "FeatureCollection", "features": []}\n')
    opened = Property(folder)
    view = opened.view()
    assert [one["what"] for one in view["missing"]] == ["place", "boundary"]
    assert (view["place"], view["features"], view["unit"]) == (None, [], "m")
    ring = [[0, 0], [20, 0], [20.5, 30], [0, 30], [0, 0]]
    lot = {"type": "Feature", "id": "lot", "properties": {"kind": "boundary"}}
    lot["geometry"] = {"type": "Polygon", "coordinates": [ring]}
    drawn = opened.edit(view["version"], "drew lot", put=[lot])
    assert drawn["features"][0]["geometry"]["coordinates"] == [ring]
    assert [one["what"] for one in drawn["missing"]] == ["place"]
    assert any("latitude is missing" in one["text"] for one in drawn["faults"])
    placed = opened.edit(drawn["version"], "said where", settings={"origin.latitude": 45, "origin.longitude": 8})
    assert placed["sound"]
    assert placed["features"][0]["geometry"]["coordinates"] == [ring]
    assert shapely.area(check_site(folder).site.boundary) == pytest.approx(20.25 * 30, abs=0.01)


def test_tiers_with_outlines_of_their_own_lie_in_the_page_s_plane(yard):
    corners = shapely.get_coordinates(laid(DRAWN["north"][0], "plan ft")).round(3).tolist()
    text = features_text(yard).replace(
        '"height": "18 in"', f'"tiers": [{{"height": "1 ft"}}, {{"height": "6 in", "outline": {corners[:4]}}}]'
    )
    (yard / "features.geojson").write_text(text, encoding="utf-8")
    opened = Property(yard)
    view = opened.view()
    bed = by_id(view)["north"]
    outline = bed["properties"]["tiers"][1]["outline"]
    assert outline == [
        pytest.approx(one, abs=1e-3) for one in shapely.get_coordinates(DRAWN["north"][0])[:4].tolist()
    ]
    new = moved(bed, 2.0, 0.0)
    new["properties"]["tiers"][1]["outline"] = [[x + 2.0, y] for x, y in outline]
    after = opened.edit(view["version"], "moved north", put=[new])
    assert after["sound"], after["faults"]
    assert after["features"][-1]["properties"]["tiers"][1]["outline"] == [
        pytest.approx(one, abs=1e-3) for one in new["properties"]["tiers"][1]["outline"]
    ]
    assert opened.edit(after["version"], "same", put=[by_id(after)["north"]])["version"] == after["version"]


def test_the_frame_of_a_drawing_in_degrees_is_that_of_its_boundary(another_yard):
    place = Property(another_yard("degrees")).view()["place"]
    assert (place["longitude"], place["latitude"]) == pytest.approx((FRAME.longitude, FRAME.latitude), abs=1e-9)


def test_a_real_block_with_other_people_s_names_is_drawn_on(real_block, tmp_path):
    folder = shutil.copytree(real_block, tmp_path / "block")
    before = (folder / "block.geojson").read_bytes()
    opened = Property(folder)
    view = opened.view()
    assert view["sound"]
    assert len(view["features"]) == len(json.loads(before)["features"])
    assert {one["kind"] for one in view["features"]} >= {"building", "tree", "fence", "surface", "bed", "boundary"}
    assert view["renaming"]["height_m"] == "height"
    same = opened.edit(
        view["version"], "nothing", put=[one for one in view["features"] if "feature" not in one["id"]]
    )
    beds = {name: one for name, one in by_id(same).items() if one["kind"] == "bed"}
    after = opened.edit(same["version"], "moved bed-1", put=[moved(beds["bed-1"], 0.02, 0.0)])
    assert after["sound"]
    held = json.loads((folder / "block.geojson").read_text())["features"]
    changed = [
        one
        for one, old in zip(held, json.loads(before)["features"], strict=True)
        if one.get("geometry") != old["geometry"]
    ]
    assert [one["id"] for one in changed] == ["bed-1"]
