"""What a variant keeps of a change on the page, and what becomes of it; of a made-up property."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import Point

from siteplan.draw.variant_work import adopted, edited_variant
from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.variants import Variant
from siteplan.land.errors import InputError

TEXT = (
    '{"type":"FeatureCollection","features":[{"type":"Feature","id":"pear","properties":{"kind":"tree","height":3},'
    '"geometry":{"type":"Point","coordinates":[1,0]}},{"type":"Feature","id":"plum","properties":{"kind":"tree"},'
    '"geometry":{"type":"Point","coordinates":[2,0]}}]}'
)
PEAR = RawFeature(1, "pear", {"kind": "tree", "height": 3, "note": None}, Point(1, 0))
PLUM = RawFeature(2, "plum", {"kind": "tree"}, Point(2, 0))


def base(*features, values=None):
    drawing = Drawing("f.geojson", features or (PEAR, PLUM))
    return SimpleNamespace(values=values or {}, settings=SimpleNamespace(renaming=Renaming()), drawing=drawing)


def put(name, x=None, **properties):
    shape = {} if x is None else {"geometry": {"type": "Point", "coordinates": [x, 0]}}
    return {"id": name, "properties": {"kind": "tree", **properties}, **shape}


def edited(variant=None, *features, remove=(), settings=None, values=None):
    return edited_variant(variant or Variant("v"), base(values=values), features, remove, settings or {})


def test_only_what_differs_is_kept():
    assert edited(None, put("pear", height=3)).changed == {}
    assert edited(None, put("pear", 1.0, height=3.0)).changed == {}
    assert edited(None, put("pear", height=4)).changed == {"pear": {"properties": {"height": 4}}}
    assert edited(None, put("pear", crown=2)).changed == {"pear": {"properties": {"crown": 2, "height": None}}}
    moved = edited(None, put("pear", 5, height=3))
    assert moved.changed == {"pear": {"geometry": {"type": "Point", "coordinates": [5, 0]}}}
    taller = edited(moved, put("pear", height=4))  # the shape of the change before stays
    assert taller.changed == {
        "pear": {"properties": {"height": 4}, "geometry": {"type": "Point", "coordinates": [5, 0]}}
    }
    assert edited(taller, put("pear", 1, height=3)).changed == {}


def test_what_is_taken_out_and_put_back():
    gone = edited(edited(None, put("plum", height=9)), remove=["plum"])
    assert (gone.removed, gone.changed) == (("plum",), {})
    assert edited(gone, remove=["plum"]).removed == ("plum",)
    back = edited(gone, put("plum"))
    assert (back.removed, back.changed) == ((), {})
    assert edited(gone, put("plum", height=2)).changed == {"plum": {"properties": {"height": 2}}}


def test_what_is_new():
    new = edited(None, put("tap", 7, a=1))
    assert new.added == (
        {"type": "Feature", "id": "tap", "properties": {"kind": "tree", "a": 1}, "geometry": {"type": "Point", "coordinates": [7, 0]}},
    )  # fmt: skip
    changed = edited(new, put("tap", a=2))
    assert changed.added[0]["geometry"] == {"type": "Point", "coordinates": [7, 0]}
    assert changed.added[0]["properties"]["a"] == 2
    assert (edited(changed, remove=["tap"]).added, edited(changed, remove=["tap"]).removed) == ((), ())
    assert edited(None, put("tap")).added[0]["geometry"] is None
    assert edited(None, remove=["nothing"]).removed == ("nothing",)
    twice = Variant("v", removed=("plum",), added=({"type": "Feature", "id": "plum", "properties": {}},))
    assert edited(twice, remove=["plum"]).removed == ("plum",)


def test_settings_that_differ_from_the_property():
    values = {"name": "a", "sun": {"need": 5}}
    assert edited(settings={"sun.need": 6, "name": "b"}, values=values).settings == {"sun.need": 6, "name": "b"}
    assert edited(settings={"sun.need": 5.0, "name": "a"}, values=values).settings == {}
    assert edited(settings={"sun.need": None, "sun.cell": None, "x.y": None}, values=values).settings == {
        "sun.need": None
    }
    before = Variant("v", settings={"sun.need": 6, "name": "b"})
    assert edited(before, settings={"sun.need": 5}, values=values).settings == {"name": "b"}


def test_a_feature_without_an_id_of_its_own_cannot_be_named():
    nameless = base(RawFeature(1, None, {"kind": "tree"}, Point(1, 0)))
    for change in ({"features": [put("tree-1")], "remove": []}, {"features": [], "remove": ["tree-1"]}):
        with pytest.raises(InputError, match="tree-1: has no id of its own, by which a variant could name it"):
            edited_variant(Variant("v"), nameless, change["features"], change["remove"], {})


def taken(variant):
    return adopted(variant, base(), {"f.geojson": TEXT, "site.toml": 'name = "a"\n'}, "f.geojson")


def test_a_variant_becomes_the_property():
    point = {"type": "Point", "coordinates": [9, 0]}
    variant = Variant(
        "v", {"name": "b"}, {"pear": {"properties": {"height": None}, "geometry": point}}, ("plum",),
        ({"type": "Feature", "id": "tap", "properties": {}},),
    )  # fmt: skip
    assert taken(variant) == {
        "variants/v.json": None,
        "f.geojson": (
            b'{"type":"FeatureCollection","features":[{"type":"Feature","id":"pear","properties":{"kind":"tree"},'
            b'"geometry":{"type":"Point","coordinates":[9,0]}},{"type":"Feature","id":"tap","properties":{},"geometry":null}]}'
        ),
        "site.toml": b'name = "b"\n',
    }
    assert taken(Variant("v")) == {"variants/v.json": None}
    assert list(taken(Variant("v", settings={"name": "b"}))) == ["variants/v.json", "site.toml"]
    assert list(taken(Variant("v", removed=("plum",)))) == ["variants/v.json", "f.geojson"]


def test_one_feature_in_the_place_of_another_of_its_name():
    again = {"type": "Feature", "id": "plum", "properties": {"kind": "tap"}, "geometry": None}
    text = taken(Variant("v", removed=("plum",), added=(again,)))["f.geojson"].decode()
    assert text.count('"plum"') == 1
    assert '"id":"plum","properties":{"kind":"tap"},"geometry":null}' in text


def test_a_change_that_no_longer_applies_is_a_fault():
    with pytest.raises(InputError, match="'ash': is not in the property any more"):
        taken(Variant("v", changed={"ash": {}}))
