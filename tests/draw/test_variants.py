"""Does a variant keep its changes alone, follow the property, and become it?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely.geometry import shape

from siteplan.draw.comparing import variants_compared
from siteplan.draw.property import Property
from siteplan.draw.property_files import StaleError
from siteplan.files.reader import check_site
from siteplan.land.errors import InputError

from .test_property import by_id, features_text, moved

Json = dict[str, Any]
NAME = "without the plum"


def variant_file(folder: Path, name: str = NAME) -> Path:
    return folder / "variants" / f"{name}.json"


def opened_variant(folder: Path) -> tuple[Property, Json]:
    """Return the yard with a variant open that was just made."""
    opened = Property(folder)
    return opened, opened.variants("make", NAME, opened.view()["version"])


def test_no_variant_is_written_over_however_many_there_are(each_yard):
    (each_yard / "variants").mkdir()
    for number in range(102):
        variant_file(each_yard, f"v{number:03}").write_text(json.dumps({"removed": ["plum"]}), encoding="utf-8")
    opened = Property(each_yard)
    version = opened.view()["version"]
    with pytest.raises(InputError, match="is taken already"):
        opened.variants("make", "v101", version)
    with pytest.raises(InputError, match="is taken already"):
        opened.variants("rename", "v000", version, to="v101")
    assert json.loads(variant_file(each_yard, "v101").read_text(encoding="utf-8")) == {"removed": ["plum"]}


def test_edits_go_into_the_variant_and_the_property_stays(each_yard):
    before = (features_text(each_yard), (each_yard / "site.toml").read_text())
    opened, view = opened_variant(each_yard)
    assert (view["variant"], view["variants"], view["undo"]) == (NAME, [NAME], f"made variant {NAME}")
    pear = by_id(view)["pear"]
    pear["properties"]["height"] = "30 ft"
    del pear["properties"]["crown_diameter"]
    pear["properties"]["crown_radius"] = "6 ft"
    bed = moved(by_id(view)["north"], 2.0, 1.0)
    view = opened.edit(view["version"], "changed", put=[pear, bed], remove=["plum"], settings={"sun.need": "5 h"})
    assert (features_text(each_yard), (each_yard / "site.toml").read_text()) == before
    held = json.loads(variant_file(each_yard).read_text(encoding="utf-8"))
    assert held.pop("$schema")
    assert list(held) == ["settings", "changed", "removed"]
    assert held["settings"] == {"sun.need": "5 h"}
    assert held["removed"] == ["plum"]
    assert held["changed"]["pear"] == {
        "properties": {"height": "30 ft", "crown_radius": "6 ft", "crown_diameter": None}
    }
    assert list(held["changed"]["north"]) == ["geometry"]
    assert view["sound"], view["faults"]
    assert [one["id"] for one in view["features"]] == ["lot", "house", "pear", "north"]
    assert view["name"] == f"Sparrow Court ({NAME})"
    site = check_site(each_yard, variant=NAME).site
    assert (site.sun.need, [one.id for one in site.trees]) == (5, ["pear"])
    assert site.trees[0].height == pytest.approx(30 * 0.3048, abs=1e-9)
    plain = opened.variants("open", None, view["version"])
    assert (plain["variant"], list(by_id(plain))[3], plain["version"]) == (None, "plum", view["version"])


def test_what_is_put_back_is_no_change(yard):
    opened, view = opened_variant(yard)
    untouched = variant_file(yard).read_bytes()
    first = view["features"]
    bed, pear = by_id(view)["north"], by_id(view)["pear"]
    pear["properties"]["note"] = "sour"
    tap = {"type": "Feature", "id": "tap", "properties": {"kind": "tap"}}
    tap["geometry"] = {"type": "Point", "coordinates": [1.0, 2.0]}
    view = opened.edit(
        view["version"], "a", put=[moved(bed, 1, 1), pear, tap], remove=["plum"], settings={"sun.need": 4}
    )
    plum = next(one for one in Property(yard).view()["features"] if one["id"] == "plum")
    view = opened.edit(view["version"], "b", put=[bed, *(one for one in first if one["id"] == "house"), plum])
    del pear["properties"]["note"]
    view = opened.edit(view["version"], "c", put=[pear], remove=["tap"], settings={"sun.need": None})
    assert view["features"] == first
    assert variant_file(yard).read_bytes() == untouched


def test_the_variant_follows_the_property(yard):
    opened, view = opened_variant(yard)
    pear = by_id(view)["pear"]
    pear["properties"]["height"] = "30 ft"
    view = opened.edit(view["version"], "raised pear", put=[pear])
    view = opened.variants("open", None, view["version"])
    there = moved(by_id(view)["pear"], 1.5, 0.0)
    view = opened.edit(view["version"], "moved pear", put=[there])
    view = opened.variants("open", NAME, view["version"])
    found = by_id(view)["pear"]
    assert found["properties"]["height"] == "30 ft"
    assert shapely.hausdorff_distance(shape(found["geometry"]), shape(there["geometry"])) < 1e-3


@pytest.mark.parametrize("change", ["removed", "changed"])
def test_a_change_that_no_longer_applies_is_told(yard, change):
    opened, view = opened_variant(yard)
    plum = by_id(view)["plum"]
    plum["properties"]["height"] = "30 ft"
    view = opened.edit(view["version"], "did", **({"remove": ["plum"]} if change == "removed" else {"put": [plum]}))
    view = opened.variants("open", None, view["version"])
    view = opened.edit(view["version"], "removed plum", remove=["plum"])
    view = opened.variants("open", NAME, view["version"])
    (fault,) = view["faults"]
    verb = "removes" if change == "removed" else "changes"
    assert fault["said"].startswith(
        f"variants/{NAME}.json: 'plum': is not in the property any more, and this variant {verb}"
    )
    with pytest.raises(InputError, match="not in the property any more"):
        opened.variants("adopt", NAME, view["version"])
    # it is mended by the page: the change is taken out
    if change == "removed":
        back = {"type": "Feature", "id": "plum", "properties": {"kind": "tap"}}
        back["geometry"] = {"type": "Point", "coordinates": [0, 0]}
        view = opened.variants("open", None, view["version"])
        view = opened.edit(view["version"], "drew plum", put=[back])
        assert opened.variants("open", NAME, view["version"])["sound"]


def test_what_is_added_in_both_is_told(yard):
    opened, view = opened_variant(yard)
    tap = {"type": "Feature", "id": "tap", "properties": {"kind": "tap"}}
    tap["geometry"] = {"type": "Point", "coordinates": [1.0, 2.0]}
    view = opened.edit(view["version"], "drew tap", put=[tap])
    view = opened.variants("open", None, view["version"])
    view = opened.edit(view["version"], "drew tap", put=[tap])
    assert "is in the property by now" in opened.variants("open", NAME, view["version"])["faults"][0]["text"]


def test_a_variant_is_made_the_property_as_one_step(each_yard):
    opened, view = opened_variant(each_yard)
    pear = by_id(view)["pear"]
    pear["properties"]["height"] = "30 ft"
    tap = {"type": "Feature", "id": "tap", "properties": {"kind": "tap"}}
    tap["geometry"] = {"type": "Point", "coordinates": [1.0, 2.0]}
    bed = moved(by_id(view)["north"], 2.0, 1.0)
    again = {**by_id(view)["house"], "properties": {"kind": "building", "height": "9 ft"}}
    view = opened.edit(view["version"], "did", put=[pear, tap, bed], remove=["plum"], settings={"sun.need": "5 h"})
    view = opened.edit(view["version"], "did", remove=["house"])
    view = opened.edit(view["version"], "did", put=[again])
    wanted = view["features"]
    after = opened.variants("adopt", NAME, view["version"])
    assert (after["variant"], after["variants"], after["undo"]) == (None, [], f"made variant {NAME} the property")
    assert after["features"] == wanted
    assert after["settings"]["sun.need"]["given"] == "5 h"
    assert "# in spring" in (each_yard / "site.toml").read_text()
    assert not variant_file(each_yard).exists()
    back = opened.undo(after["version"])
    assert (back["variants"], list(by_id(back))) == ([NAME], ["lot", "house", "pear", "plum", "north"])
    assert opened.variants("open", NAME, back["version"])["features"] == wanted


def test_variants_are_renamed_and_removed_and_it_can_be_undone(yard):
    opened, view = opened_variant(yard)
    view = opened.edit(view["version"], "removed plum", remove=["plum"])
    view = opened.variants("rename", NAME, view["version"], to="no plum")
    assert (view["variant"], view["variants"]) == ("no plum", ["no plum"])
    assert "plum" not in by_id(view)
    view = opened.variants("remove", "no plum", view["version"])
    assert (view["variant"], view["variants"], "plum" in by_id(view)) == (None, [], True)
    view = opened.undo(view["version"])
    assert view["variants"] == ["no plum"]
    for _ in range(3):
        view = opened.undo(view["version"])
    assert (view["variants"], view["undo"]) == ([], None)
    with pytest.raises(StaleError):
        opened.variants("make", "other", "old")


def test_undoing_the_making_of_the_open_variant_closes_it(yard):
    opened, view = opened_variant(yard)
    assert opened.undo(view["version"])["variant"] is None


HOSTILE = {
    "up": "..", "path": "a/b", "windows path": "a\\b", "device": "CON", "device with ending": "nul.txt", "empty": "",
    "spaces": "   ", "long": "x" * 61, "line": "a\nb", "zero": "a\0b", "unseen": "plum\u200b", "apart": "u\u0308ber",
    "wide space": "a\u00a0b", "ends": "plum ", "dot": "plum.", "hidden": ".plum", "half": "\ud800", "star": "a*",
    "stream": "a:b", "quote": 'a"b', "turned": "a\u202eb",
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_names_are_refused_in_words(yard, name):
    opened = Property(yard)
    version = opened.view()["version"]
    with pytest.raises(InputError, match="the name") as told:
        opened.variants("make", name, version)
    assert str(told.value).isprintable()
    for do in ("open", "rename", "adopt"):
        with pytest.raises(InputError, match="the name"):
            opened.variants(do, name, version, to="other")
    if name:
        with pytest.raises(InputError):
            opened.variants("remove", name, version)
    assert check_site(yard, variant=name).site is None
    assert sorted(path.name for path in yard.iterdir()) == [".siteplan-history", "features.geojson", "site.toml"]


def test_names_that_look_alike_are_refused(yard):
    opened, view = opened_variant(yard)
    for name in (NAME, "Without the Plum"):
        with pytest.raises(InputError, match="is taken already"):
            opened.variants("make", name, view["version"])
    made = opened.variants("make", "naïve größe 梨", view["version"])
    assert made["variants"] == ["naïve größe 梨", NAME]
    assert (
        opened.variants("rename", NAME, made["version"], to="Without the plum")["variants"][0] == "Without the plum"
    )


BROKEN = {
    "no JSON": ("{", "is not JSON"),
    "a list": ("[]", "is a list"),
    "another key": ('{"remove": []}', "did you mean 'removed'"),
    "no list": ('{"removed": "plum"}', "must be a list"),
    "no object": ('{"changed": []}', "must be an object"),
    "no change": ('{"changed": {"pear": {"height": 3}}}', "must have properties or a geometry"),
    "no id": ('{"removed": [3]}', "is no id"),
    "no feature": ('{"added": [{"type": "Feature", "properties": {}}]}', "must be a GeoJSON Feature with an id"),
    "no key": ('{"settings": {"sun.neeed": 3}}', "did you mean 'sun.need'"),
    "the file": ('{"settings": {"features": "x.geojson"}}', "a variant cannot change it"),
    "the unit": ('{"settings": {"origin.unit": "m"}}', "a variant cannot change it"),
    "deep": ("[" * 5000, "is not JSON"),
    "no letters": (b"\xff", "is not UTF-8"),
}


@pytest.mark.parametrize(("text", "said"), BROKEN.values(), ids=BROKEN.keys())
def test_a_file_that_is_no_variant_is_refused_in_words(yard, text, said):
    (yard / "variants").mkdir()
    variant_file(yard).write_bytes(text if isinstance(text, bytes) else text.encode())
    faults = check_site(yard, variant=NAME).faults
    assert said in "\n".join(map(str, faults))
    assert all(one.file in {f"variants/{NAME}.json", f"{NAME}.json"} for one in faults)
    opened = Property(yard)
    assert opened.view()["sound"]
    with pytest.raises(InputError):
        opened.variants("open", NAME, opened.view()["version"])
    assert opened.variants("remove", NAME, opened.view()["version"])["variants"] == []


def test_a_feature_without_an_id_of_its_own_cannot_be_named(yard):
    (yard / "features.geojson").write_text(features_text(yard).replace('"id": "plum", ', ""), encoding="utf-8")
    opened, view = opened_variant(yard)
    assert list(by_id(view))[3] == "tree-2"
    with pytest.raises(InputError, match="no id of its own"):
        opened.edit(view["version"], "removed", remove=["tree-2"])
    view = opened.variants("open", None, view["version"])
    view = opened.edit(view["version"], "named", put=[by_id(view)["tree-2"]])
    view = opened.variants("open", NAME, view["version"])
    assert "tree-2" not in by_id(opened.edit(view["version"], "removed", remove=["tree-2"]))


@pytest.mark.slow
def test_the_table_has_the_figures_of_a_plan(yard):
    from siteplan.plan import plan_site

    text = (yard / "site.toml").read_text().replace('cell = "50 cm"', 'cell = "1 m"\nstep = "60 min"')
    (yard / "site.toml").write_text(text)
    opened, view = opened_variant(yard)
    view = opened.edit(view["version"], "removed plum", remove=["plum"])
    view = opened.variants("make", "outside", view["version"])
    opened.edit(view["version"], "moved", put=[moved(by_id(view)["north"], 90.0, 0.0)])
    told: list[tuple[str, float]] = []
    table = variants_compared(yard)(lambda question, share: told.append((question, share)))
    rows = {row["name"]: row for row in table["rows"]}
    assert list(rows) == [None, "outside", NAME]
    assert "lies outside the boundary" in rows["outside"]["faults"][0]
    for name in (None, NAME):
        plan = plan_site(check_site(yard, variant=name).site, ask=["sun", "fill", "haul"])
        (bed,) = rows[name]["beds"]
        assert bed["season_h"] == pytest.approx(plan.beds[0].sun.season_sun_h, abs=5e-3)  # two decimals
        assert bed["month_h"] == pytest.approx(plan.beds[0].sun.month_sun_h.tolist(), abs=5e-3)
        assert rows[name]["hours"] == pytest.approx(plan.haul.total_minutes / 60, abs=5e-3)
        assert [one["text"] for one in rows[name]["cautions"]] == [one.text for one in plan.cautions]
    assert rows[NAME]["beds"][0]["season_h"] > rows[None]["beds"][0]["season_h"]
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert 0 <= shares[0] <= shares[-1] <= 1
    json.dumps(table, allow_nan=False)


def test_a_variant_of_a_geopackage_is_planned_as_well(yard):
    import geopandas

    frame = geopandas.read_file(yard / "features.geojson").drop(columns="roof")
    frame.to_file(yard / "yard.gpkg", layer="all")
    settings = (yard / "site.toml").read_text().replace('name = "', 'features = "yard.gpkg"\nname = "')
    (yard / "site.toml").write_text(settings)
    opened, view = opened_variant(yard)
    view = opened.edit(view["version"], "removed plum", remove=["plum"], put=[moved(by_id(view)["north"], 1, 1)])
    assert view["sound"], view["faults"]
    assert [one.id for one in check_site(yard, variant=NAME).site.trees] == ["pear"]
    with pytest.raises(InputError, match=r"save it as features\.geojson"):
        opened.variants("adopt", NAME, view["version"])
