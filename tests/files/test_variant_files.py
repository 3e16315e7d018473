"""What a variant's file may hold, how it is written, and what it does to a drawing."""

from __future__ import annotations

import json

import pytest
from shapely import Point

from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.reader import read_site
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.variants import (
    Variant,
    name_fault,
    plan_folder,
    read_variant,
    variant_names,
    variant_of,
    varied_drawing,
    varied_values,
)


@pytest.mark.parametrize(("name", "words"), [
    ("without the plum", ""), ("a", ""), ("a" * 60, ""), ("v1.2", ""), ("Grün", ""), ("console", ""), ("com0", ""),
    ("", "is empty; say in a few words what is different, as in: without the plum"),
    ("   ", "is empty; say in a few words what is different, as in: without the plum"),
    ("a" * 61, "is 61 letters long, must be at most 60"),
    ("a/b", "holds '/'; leave it out"), ("a?", "holds '?'; leave it out"), ("a\x07", "holds"), ("\u0378", "holds"),
    ("a\u200bb", "holds U+200B (ZERO WIDTH SPACE) as letter 2; write it anew"),
    (" a", "holds accents apart from their letters, or more spaces; write it anew"),
    ("u\u0308", "holds accents apart from their letters, or more spaces; write it anew"),
    (".a", "begins or ends with a full stop; leave that out"), ("a.", "begins or ends with a full stop; leave that out"),
    ("con", "is kept by Windows for a device; choose another"), ("LPT9.txt", "is kept by Windows for a device; choose another"),
    ("com¹", "is kept by Windows for a device; choose another"), ("nul .x", "is kept by Windows for a device; choose another"),
])  # fmt: skip
def test_names_of_variants(name, words):
    got = name_fault(name)
    assert got.startswith(words)
    assert bool(got) == bool(words)


def test_a_name_is_taken_whatever_its_case():
    assert name_fault("Shed", ["tall", "shed"]) == "is taken already ('shed'); choose another"
    assert name_fault("shed", ["she\u200bd"]).startswith("is taken already")
    assert name_fault("shed", ["sheds"]) == ""


def test_the_variants_of_a_site(tmp_path):
    assert variant_names(tmp_path) == ()
    (tmp_path / "variants").mkdir()
    for name in ("b.json", "a.json", "con.json", "c.txt", "d.JSON"):
        (tmp_path / "variants" / name).write_text("{}")
    assert variant_names(tmp_path) == ("a", "b")
    for number in range(110):
        (tmp_path / "variants" / f"c{number:03}.json").touch()
    assert len(variant_names(tmp_path)) == 112  # each of them is taken
    assert (plan_folder(None), plan_folder("a b")) == ("plan", "plan-a b")


def test_a_variant_is_read_by_its_name(tmp_path):
    (tmp_path / "variants").mkdir()
    (tmp_path / "variants" / "tall.json").write_text('{"removed": ["plum"]}')

    def said(name):
        found = read_variant(tmp_path, name, remarks := Remarks())
        assert (found is None) == bool(remarks.faults)
        return found or [str(one) for one in remarks.faults]

    assert said("tall") == Variant("tall", removed=("plum",))
    assert said("tal") == ["--variant: there is no variant 'tal'; did you mean 'tall'?"]
    assert said("xyz") == ["--variant: there is no variant 'xyz'; there are 'tall'"]
    assert said("a/b") == ["--variant: the name 'a/b' holds '/'; leave it out"]
    (tmp_path / "variants" / "tall.json").unlink()
    assert said("xyz") == ["--variant: there is no variant 'xyz'; there are none"]
    for number in range(12):
        (tmp_path / "variants" / f"{number:02}.json").write_text("{}")
    listed = ", ".join(f"'{number:02}'" for number in range(10))
    assert said("xyz") == [f"--variant: there is no variant 'xyz'; there are {listed} and 2 more"]
    assert said("11") == Variant("11")


def read(document):
    text = document if isinstance(document, str) else json.dumps(document)
    found = variant_of("v", text, remarks := Remarks())
    assert (found is None) == bool(remarks.faults)
    return found or [f"{one.where}: {one.text}" for one in remarks.faults]


ADDED = {"type": "Feature", "id": "tap", "properties": {}}
WHOLE = {
    "settings": {"sun.need": None}, "changed": {"pear": {"properties": {"height": 3}}, "elm": {"geometry": None}},
    "removed": ["plum"], "added": [ADDED],
}  # fmt: skip


def test_a_variant_comes_back_as_it_was_written():
    variant = Variant("v", WHOLE["settings"], WHOLE["changed"], ("plum",), (ADDED,))
    assert read(WHOLE) == variant
    assert read(variant.text()) == variant
    assert variant.file == "variants/v.json"
    assert variant.text() == (
        '{\n"$schema": "../.variant.schema.json",\n"settings": {\n  "sun.need": null\n},\n'
        '"changed": {\n  "pear": {"properties": {"height": 3}},\n  "elm": {"geometry": null}\n},\n'
        '"removed": ["plum"],\n"added": [\n  {"type": "Feature", "id": "tap", "properties": {}}\n]\n}\n'
    )
    assert Variant("v").text() == '{\n"$schema": "../.variant.schema.json"\n}\n'
    assert read("{}") == Variant("v")


@pytest.mark.parametrize(("document", "words"), [
    ("[", "is not JSON"), ("[" * 100_000, "is not JSON"), ([], "is a list, must be an object with settings, changed, removed, added"),
    ({"chnged": {}}, "'chnged' is not known; did you mean 'changed'?"),
    ({"x": {}}, "'x' is not known; (known: settings, changed, removed, added)"),
    ({"settings": []}, "settings: is [], must be an object"), ({"removed": {}}, "removed: is {}, must be a list"),
    ({"settings": {"features": "a.json"}}, "features: is that of the property; a variant cannot change it"),
    ({"settings": {"origin.unit": "m"}}, "origin.unit: is that of the property; a variant cannot change it"),
    ({"settings": {"sun.ned": 5}}, "'sun.ned': is not known; did you mean 'sun.need'?"),
    ({"settings": {"": 5}}, "'': is not known"),
    ({"changed": {"a": 5}}, "'a': is changed to 5, must have properties or a geometry"),
    ({"changed": {"a": {"id": 5}}}, "must have properties or a geometry"),
    ({"changed": {"a": {"properties": []}}}, "must have properties or a geometry"),
    ({"removed": ["a", 5]}, "removed: 5 is no id; write the id as a text"),
    ({"added": [ADDED, 5]}, "added: feature 2 must be a GeoJSON Feature with an id and properties"),
    ({"added": [ADDED | {"type": "Point"}]}, "added: feature 1 must be"), ({"added": [ADDED | {"id": 5}]}, "added: feature 1 must be"),
    ({"added": [ADDED | {"properties": None}]}, "added: feature 1 must be"),
])  # fmt: skip
def test_what_is_no_variant(document, words):
    (told,) = read(document)
    assert words in told


def test_a_feature_may_have_new_properties_and_a_new_geometry():
    both = {"properties": {"height": 3}, "geometry": None}
    assert read({"changed": {"pear": both}}).changed == {"pear": both}


def test_all_that_is_wrong_comes_at_once():
    assert len(read({"removed": [1, 2], "settings": {"sun.ned": 1}, "added": [1]})) == 4
    assert len(read({"a": 1, "removed": 5, "settings": {"sun.ned": 1}})) == 2  # of what cannot be read nothing more


def raw(number, name, **properties):
    return RawFeature(number=number, own_id=name, properties={"kind": "tree", **properties}, shape=Point(number, 0))


DRAWING = Drawing("f.geojson", (raw(1, "pear", height=3, note="old"), raw(2, "plum"), raw(5, "elm")))


def varied(variant, drawing=DRAWING, renaming=Renaming()):  # noqa: B008  # a record that nobody changes
    found = varied_drawing(drawing, variant, renaming, remarks := Remarks())
    return found, [str(one) for one in remarks.faults]


def test_a_drawing_with_its_changes():
    new = {
        "type": "Feature",
        "id": "tap",
        "properties": {"kind": "tap"},
        "geometry": {"type": "Point", "coordinates": [9, 9]},
    }
    changed = {
        "pear": {"properties": {"height": 4, "note": None}}, "elm": {"geometry": {"type": "Point", "coordinates": [7, 8]}},
    }  # fmt: skip
    found, faults = varied(Variant("v", changed=changed, removed=("plum",), added=(new, new | {"id": "b"})))
    assert faults == []
    assert [(one.number, one.own_id) for one in found.features] == [(1, "pear"), (5, "elm"), (6, "tap"), (7, "b")]
    assert found.features[0].properties == {"kind": "tree", "height": 4}
    assert found.features[0].shape == Point(1, 0)
    assert found.features[1].properties == {"kind": "tree"}
    assert [found.features[at].shape for at in (1, 2)] == [Point(7, 8), Point(9, 9)]
    again, faults = varied(
        Variant("v", removed=("plum",), added=(new | {"id": "plum"},))
    )  # one in the place of another
    assert (faults, [one.own_id for one in again.features]) == ([], ["pear", "elm", "plum"])


@pytest.mark.parametrize(("own", "change", "properties"), [
    # the file calls the height hoehe; a variant may use either name
    ({"hoehe": "44 ft"}, {"height": "10 ft"}, {"height": "10 ft"}),
    ({"hoehe": "44 ft"}, {"hoehe": "10 ft"}, {"hoehe": "10 ft"}),
    ({"hoehe": "44 ft"}, {"height": None}, {}),
    ({"hoehe": "44 ft", "breite": 2}, {"height": 3}, {"breite": 2, "height": 3}),
    ({"hoehe": "44 ft"}, {"hoehe": "10 ft", "height": "9 ft"}, {"hoehe": "10 ft", "height": "9 ft"}),
    ({"hoehe": "44 ft", "top": 5}, {"top": None}, {"hoehe": "44 ft"}),
    # here the file's own trunk is a height, and its height something else
    ({"trunk": 5, "tall": 6}, {"tall": 7}, {"trunk": 5, "tall": 7}),
])  # fmt: skip
def test_a_renamed_property_is_changed_by_either_name(own, change, properties):
    renaming = Renaming(keys={"hoehe": "height", "top": "height", "breite": "width", "trunk": "tall", "tall": "note"})
    drawing = Drawing("f.geojson", (raw(1, "pear", **own),))
    found, faults = varied(Variant("v", changed={"pear": {"properties": change}}), drawing, renaming)
    assert faults == []
    assert found.features[0].properties == {"kind": "tree", **properties}


def test_changes_that_no_longer_apply():
    gone = Variant(
        "v", changed={"ash": {}}, removed=("oak",), added=({"type": "Feature", "id": "elm", "properties": {}},)
    )
    found, faults = varied(gone)
    assert len(found.features) == 3
    assert faults == [
        "variants/v.json: 'ash': is not in the property any more, and this variant changes it; take it out of its changes",
        "variants/v.json: 'oak': is not in the property any more, and this variant removes it; take it out of its list",
        "variants/v.json: 'elm': is in the property by now, and this variant adds it; give one of the two another id",
    ]
    part = Drawing("f.geojson", DRAWING.features, whole=False)  # what is too far off to be read may be removed
    assert varied(Variant("v", removed=("oak",)), part)[1] == []
    empty = Drawing("f.geojson", ())
    assert [one.number for one in varied(Variant("v", added=(ADDED,)), empty)[0].features] == [1]


def test_a_feature_without_an_id_of_its_own_cannot_be_changed():
    # feature 2 is the second tree: messages call it tree-2, but its file does not; plum stands twice
    features = (raw(1, "pear"), raw(2, None), raw(3, "plum"), raw(4, "plum"))
    drawing = Drawing("f.geojson", features)
    _, faults = varied(Variant("v", changed={"tree-2": {}, "tree-3": {}}, removed=("tree-2", "plum")), drawing)
    advice = "has no id of its own in f.geojson; give it one there, and name that here"
    gone = "is not in the property any more, and this variant changes it; take it out of its changes"
    assert faults == [f"variants/v.json: '{name}': {text}" for name, text in [
        ("tree-2", advice), ("tree-3", gone), ("plum", advice),
    ]]  # fmt: skip


def test_settings_with_their_changes():
    values = {"sun": {"need": 5, "cell": 1}, "name": "a"}
    assert varied_values(values, Variant("v", settings={"sun.need": None, "name": "b"})) == {
        "sun": {"cell": 1},
        "name": "b",
    }


def test_a_variant_is_read_with_its_site(yard):
    folder = yard.write()
    tree, *others = [one.id for one in read_site(folder).trees]
    (folder / "variants").mkdir()
    text = json.dumps({"settings": {"sun.need": "5 h"}, "removed": [tree]})
    (folder / "variants" / "bare.json").write_text(text, encoding="utf-8")
    site = read_site(folder, variant="bare")
    assert [one.id for one in site.trees] == others
    assert (site.sun.need, site.name) == (5, f"{read_site(folder).name} (bare)")
    assert (site.variant, read_site(folder).variant) == ("bare", "")
