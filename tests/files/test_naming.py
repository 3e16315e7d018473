"""Kinds and ids of features, sound and odd shapes, and a GeoJSON text feature by feature; by hand."""

from __future__ import annotations

import json
import math

import pytest
from shapely import (
    GeometryCollection,
    LineString,
    MultiLineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
    box,
)

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.naming import feature_numbers, named_features, own_ids
from siteplan.files.drawing.sound_shape import sound_shape, stray_coordinate
from siteplan.files.drawing.vector import Drawing, RawFeature, _geojson, _legacy_crs, is_null, raw_feature
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.renaming import Meaning, Renaming


def raw(number, own_id=None, **properties):
    return RawFeature(number, own_id, properties, Point(number, 0))


def named(*features, renaming=None, whole=True):
    """Return kind and id of each feature, and what is said of them."""
    drawing = Drawing("f", features, whole=whole)
    remarks = Remarks()
    found = named_features(drawing, renaming or Renaming(), remarks)
    said = [f"{one.where}: {one.text}" for one in remarks.faults] + [
        f"{one.code} {one.feature}: {one.text}" for one in remarks.cautions
    ]
    return [(one.kind, one.id) for one in found], said


def test_features_without_an_id_are_counted_by_kind():
    found, said = named(
        raw(1, kind="tree"), raw(2, kind="bed"), raw(3, "tree-2", kind="tree"), raw(4, kind="tree"), raw(5, kind="tree", id=7.0),
        raw(6, kind="bed", id=" "),
    )  # fmt: skip
    assert found == [
        ("tree", "tree-1"),
        ("bed", "bed-1"),
        ("tree", "tree-2"),
        ("tree", "tree-3"),
        ("tree", "7"),
        ("bed", "bed-2"),
    ]
    assert said == []


@pytest.mark.parametrize(("own", "name"), [(5, "5"), (5.0, "5"), (2.5, "2.5"), ("a\tb ", "a b"), (0, "0")])
def test_ids_are_texts(own, name):
    assert named(raw(1, own, kind="bed", id="other")) == ([("bed", name)], [])
    assert named(raw(1, kind="bed", id=own)) == ([("bed", name)], [])


@pytest.mark.parametrize(("own", "words"), [
    (True, "feature 1: id is True, must be a text or a number"), (math.inf, "feature 1: id is inf, must be a text or a number"),
    ([1], "feature 1: id is [1], must be a text or a number"),
    ("\u200b", "feature 1: id holds no letter that is seen: U+200B (ZERO WIDTH SPACE) as letter 1; write it anew, or leave it out"),
])  # fmt: skip
def test_ids_that_are_none(own, words):
    found, said = named(raw(1, own, kind="bed"))
    assert found == [("bed", "bed-1")]
    assert said == [words]


def test_how_long_an_id_may_be():
    assert named(raw(1, "a" * 200, kind="bed"))[1] == []
    (told,) = named(raw(1, "a" * 201, kind="bed"))[1]
    assert told.endswith(": id is 201 characters long, must be at most 200")


def test_an_id_that_stands_twice():
    _, said = named(raw(1, "a", kind="bed"), raw(2, "b", kind="bed"), raw(3, "a", kind="tree"))
    assert said == ['tree "a": its id stands twice, in features 1 and 3; ids are unique']
    _, said = named(raw(4, 7, kind="bed"), raw(5, "7.0", kind="bed"), raw(6, 7.0, kind="bed"))
    assert said == ['bed "7": its id stands twice, in features 4 and 6; ids are unique']
    _, said = named(raw(1, "a", kind="bed"), raw(2, "a\u200b", kind="bed"))
    assert said[0].endswith(
        "its id looks the same in features 1 and 2; they differ by U+200B (ZERO WIDTH SPACE) as letter 2 of the second; write each id anew"
    )


def test_kinds_that_are_not_known():
    found, said = named(
        raw(1, kind="tre"), raw(2, kind="tre"), raw(3, kind="xyzzy", id="a"), raw(4), raw(5), raw(6, kind="tree")
    )
    assert found == [("tree", "tree-1")]
    known = ", ".join(KINDS)
    assert said == [
        "feature 1: kind 'tre' is not known (so are 1 more); did you mean 'tree'? other people's kinds go in [rename.kinds] of site.toml",
        f"feature 3 ('a'): kind 'xyzzy' is not known; it must be one of {known}; other people's kinds go in [rename.kinds] of site.toml",
        f"feature 4: kind is missing (so are 1 more); it must be one of {known}",
    ]


def test_kinds_by_the_files_own_names():
    renaming = Renaming(
        {"art": "kind", "hoehe": "height"},
        {
            "haus": Meaning("building"),
            "12": Meaning("tree"),
            "gras": Meaning("surface", {"surface": "grass"}),
            "x": Meaning(None),
        },
    )
    features = (
        raw(1, art="haus", hoehe=3, height=9), raw(2, art=12, hoehe=4), raw(3, art=12.0), raw(4, art="gras"), raw(5, art="x"), raw(6, art="x"),
        raw(7, kind="bed"), raw(8, art="haus", kind="bed"), raw(9, art=None, kind="tap"),
    )  # fmt: skip
    drawing = Drawing("f", features)
    found = named_features(drawing, renaming, remarks := Remarks())
    assert [one.kind for one in found] == ["building", "tree", "tree", "surface", "bed", "building", "tap"]
    assert found[0].properties["height"] == 3
    assert found[3].properties["surface"] == "grass"
    assert [one.text for one in remarks.cautions] == ["2 features of kind 'x' are left out, as [rename.kinds] says."]
    assert named(raw(1, kind="x"), renaming=Renaming({}, {"x": Meaning(None)}))[1] == [
        "left-out : One feature of kind 'x' is left out, as [rename.kinds] says."
    ]


def test_names_that_nothing_has():
    renaming = Renaming({"hoehe": "height"}, {"haus": Meaning("building")})
    words = [
        "rename-unused : [rename.keys] names 'hoehe', which no feature has.",
        "rename-unused : [rename.kinds] names 'haus', which no feature is.",
    ]
    assert named(raw(1, kind="bed"), renaming=renaming)[1] == words
    assert named(raw(1, kind="bed"), renaming=renaming, whole=False)[1] == []  # it may be farther off


def test_properties_that_mean_nothing_here():
    _, said = named(
        raw(1, "a", kind="tree", heigth=3, owner="x"), raw(2, kind="tree", heigth=4), raw(3, "c", kind="tree", height=3, heigth=4),
        raw(4, "d", kind="tree", trellis_height=1), raw(5, "e", kind="tree", hite=2),
    )  # fmt: skip
    assert said == [
        "looks-like-a-slip a: 'heigth' is ignored; did you mean 'height'? So it is in 1 more.",
        "extra-columns : These properties mean nothing here and are ignored: 'heigth', 'hite', 'owner', 'trellis_height'.",
    ]


def test_the_place_of_each_feature_in_its_file():
    features = (raw(1, "a", kind="bed"), raw(2, kind="bed"), raw(3, "a", kind="tree"), raw(4, "z"))
    drawing = Drawing("f", features)
    found = named_features(drawing, Renaming(), Remarks())
    assert feature_numbers(drawing, found) == {"a": 1, "bed-2": 2, "a (feature 3)": 3, "feature 4": 4}
    assert {name: one.number for name, one in own_ids(drawing, Renaming()).items()} == {"z": 4}


# ---- shapes


@pytest.mark.parametrize(("coordinates", "words"), [
    ([[1, 2.5], [-3, 1e300]], None), ([], None), ([1, "abc"], 'the coordinate "abc" is no number'),
    (["-1.5", 2], 'the coordinate "-1.5" is no number; write it without quotes'), (["1.2.3", 2], 'the coordinate "1.2.3" is no number'),
    ([True, 2], "the coordinate true is no number"), ([None, 2], "the coordinate null is no number"),
    ([math.nan, 2], "has a coordinate that is not a finite number"), ([math.inf, 2], "has a coordinate that is not a finite number"),
    ([[1, [2, ["x"]]], "y"], 'the coordinate "x" is no number'), ([{"a": 1}], 'the coordinate {"a": 1} is no number'),
    ([10**400], "has a coordinate that is not a finite number"),
])  # fmt: skip
def test_coordinates_that_are_numbers(coordinates, words):
    assert stray_coordinate(coordinates) == words


BOW = Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])


@pytest.mark.parametrize(("shape", "kind", "words"), [
    (box(0, 0, 1, 1), "bed", ""), (Point(1, 2), "tap", ""), (LineString([(0, 0), (1, 0)]), "fence", ""), (box(0, 0, 1, 1), "fence", ""),
    (MultiPolygon([box(0, 0, 1, 1)]), "bed", ""), (MultiPoint([(1, 2)]), "tap", ""), (MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)]), "building", ""),
    (MultiPolygon([box(0, 0, 1, 1), box(3, 0, 4, 1)]), "bed", "has 2 parts, must be in one piece; give each part its own feature"),
    (MultiPoint([(1, 2), (3, 4), (5, 6)]), "pile", "has 3 parts, must be in one piece; give each part its own feature"),
    (MultiLineString([[(0, 0), (1, 0)], [(2, 0), (3, 0)]]), "gate", "has 2 parts, must be in one piece; give each part its own feature"),
    (Polygon(), "bed", "has an empty geometry; draw it, or take it out"), (GeometryCollection(), "bed", "has an empty geometry; draw it, or take it out"),
    (Point(1e9, 0), "tap", ""), (Point(0, -1.1e9), "tap", "has the coordinate 1.1e+09, which lies nowhere on earth"),
    (box(0, 0, 1, 1), "tap", "is drawn as a Polygon, must be a Point"), (Point(0, 0), "hedge", "is drawn as a Point, must be a Polygon or a LineString"),
    (LineString([(1, 1), (1, 1)]), "fence", "is a line without length"), (Polygon([(0, 0), (1, 1), (2, 2)]), "bed", "is an outline without area"),
    (BOW, "bed", "its outline crosses itself; draw it again, corner by corner all the way around"),
    (BOW, "building", "its outline crosses itself; draw it again, corner by corner all the way around"),
])  # fmt: skip
def test_which_shapes_are_sound(shape, kind, words):
    found = sound_shape(shape, KINDS[kind])
    assert found.trouble == words
    assert (found.shape is None) == bool(words)
    assert found.mended == ""


def test_heights_of_coordinates_are_left_out():
    assert not sound_shape(Point(1, 2, 3), KINDS["tap"]).shape.has_z


@pytest.mark.parametrize(("dip", "mended"), [
    (0.2, "its outline crossed itself and was mended; its area changed by 0.00%"),
    (2.2, "its outline crossed itself and was mended; its area changed by 0.10%"), (2.25, ""),
])  # fmt: skip
def test_an_outline_that_crosses_itself_a_little_is_mended(dip, mended):
    """The edge of a square of 10,000 runs back and dips in a triangle that counts twice: of 2.2 by 4.4 m, 9.7 of 10,010."""
    drawn = Polygon([(0, 0), (100, 0), (100, 100), (50 - dip, 100), (50, 100 - 2 * dip), (50 + dip, 100), (0, 100)])
    found = sound_shape(drawn, KINDS["bed"])
    assert found.mended == mended
    if mended:
        assert found.shape.area == pytest.approx(10_000)
    else:
        assert found.trouble.startswith("its outline crosses itself")


# ---- a GeoJSON text


def read(document):
    found = _geojson("f", document if isinstance(document, str) else json.dumps(document), remarks := Remarks())
    return found, [f"{one.where}: {one.text}" for one in remarks.faults]


FEATURE = {"type": "Feature", "id": 5, "properties": {"a": 1}, "geometry": {"type": "Point", "coordinates": [1, 2]}}


def collection(*features, **more):
    return {"type": "FeatureCollection", "features": list(features), **more}


def test_features_of_a_text():
    found, faults = read(collection(FEATURE, FEATURE | {"properties": None, "geometry": None}))
    assert faults == []
    first, second = found.features
    assert (first.number, first.own_id, first.properties, first.shape, first.trouble) == (
        1,
        5,
        {"a": 1},
        Point(1, 2),
        "",
    )
    assert (second.number, second.properties, second.shape, second.trouble) == (
        2, {}, None, "has no geometry; draw it, or take it out",
    )  # fmt: skip

    assert (found.crs, found.geographic_by_default, found.whole, found.layers) == (None, True, True, ())


@pytest.mark.parametrize(("document", "words"), [
    ("{", ": is not GeoJSON: "), ("[" * 100_000, ": is not GeoJSON: "),
    ('{"a": ' + "1" * 5000 + "}", ": holds a whole number of more than 4,300 digits; write one that can be"),
    ([], ": is a 'list', must be a GeoJSON FeatureCollection with a list of features"), (FEATURE, ": is a 'Feature', must be a GeoJSON"),
    ({"type": "FeatureCollection"}, ": has no list of features, must be a GeoJSON FeatureCollection with a list of features"),
    (collection(), ": holds no features; draw at least the boundary"), (collection(5), "feature 1: is 'int', must be a GeoJSON Feature"),
    (collection(FEATURE, FEATURE | {"type": "Point"}), "feature 2: is 'Point', must be a GeoJSON Feature"),
    (collection(FEATURE | {"properties": [1]}), "feature 1: its properties are [1], must be an object"),
    (collection(FEATURE, crs={"type": "name"}), ": its crs is {'type': 'name'}, which is not understood; save it in longitude and latitude"),
])  # fmt: skip
def test_what_is_no_collection(document, words):
    _, (told,) = read(document)
    assert told.startswith(words)


@pytest.mark.parametrize(("geometry", "words"), [
    (5, "has 5 for a geometry, must be a GeoJSON geometry with coordinates"), ({"type": "Point"}, "has 'Point' for a geometry, must be a"),
    ({"type": "GeometryCollection", "geometries": []}, "is drawn as a GeometryCollection, must be one point, line or area; give each part its own"),
    ({"type": "Point", "coordinates": ["1", 2]}, 'the coordinate "1" is no number; write it without quotes'),
    ({"type": "Dot", "coordinates": [1, 2]}, "has a geometry that cannot be read: "),
    ({"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]}, "has a geometry that cannot be read: "),
])  # fmt: skip
def test_geometries_that_are_none(geometry, words):
    found = raw_feature(3, {"properties": {}, "geometry": geometry})
    assert found.shape is None
    assert found.trouble.startswith(words)


def test_the_system_that_older_geojson_names():
    assert _legacy_crs("f", None, Remarks()) is None
    name = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}
    assert _legacy_crs("f", name, Remarks()).to_epsg() == 32632


@pytest.mark.parametrize(
    ("value", "missing"),
    [(None, True), (math.nan, True), ("", False), (0, False), (0.0, False), ("nan", False), ("NaT", True)],
)
def test_values_that_are_missing_in_a_column(value, missing):
    assert is_null(value) is missing
