"""Is a large GeoJSON text gone through feature by feature, and given up where it is not plain?"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from siteplan.files.drawing import large_geojson
from siteplan.files.drawing.large_geojson import _bounds, decode_features, scan_features
from siteplan.files.drawing.nearness import ALWAYS, BOUNDARY, OBSTACLE, Roles
from siteplan.files.site_toml.renaming import Renaming

ROLES = Roles(Renaming())
SQUARE = [[0, 0], [2, 0], [2, 1], [0, 1], [0, 0]]


def feature(kind, shape, coordinates, **properties):
    return {
        "type": "Feature", "properties": {"kind": kind, **properties},
        "geometry": {"type": shape, "coordinates": coordinates},
    }  # fmt: skip


def scanned(text, tell=lambda _: None):
    return scan_features(text, ROLES, tell)


FEATURES = [
    feature("boundary", "Polygon", [SQUARE]), feature("tree", "Point", [5, 6], height=7.5),
    feature("bed", "LineString", [[1, 9], [3, 8]]), {"type": "Feature"},
]  # fmt: skip


@pytest.mark.parametrize("indent", [None, 1])
def test_role_height_and_bounds_of_each_feature(indent):
    text = json.dumps({"type": "FeatureCollection", "name": "n", "features": FEATURES, "crs": [1]}, indent=indent)
    found = scanned(f" {text}\n")
    assert found.members == {"type": "FeatureCollection", "name": "n", "crs": [1]}
    assert found.outlook.role.tolist() == [BOUNDARY, OBSTACLE, ALWAYS, ALWAYS]
    assert found.outlook.height.tolist() == [20, 7.5, 20, 0]  # unknown: 20 m; what is no feature is always read
    assert found.outlook.bounds[:3].tolist() == [[0, 0, 2, 1], [5, 6, 5, 6], [1, 8, 3, 9]]
    assert np.isnan(found.outlook.bounds[3]).all()
    assert [text[at - 1] for at in found.start] == ["{"] * 4
    assert list(decode_features(f" {text}\n", found.start, iter([3, 1]))) == [(4, FEATURES[3]), (2, FEATURES[1])]


def test_it_tells_how_far_it_is(monkeypatch):
    monkeypatch.setattr(large_geojson, "OFTEN", 2)
    text = json.dumps({"type": "FeatureCollection", "features": [1, 2, 3, 4, 5]})
    told = []
    scanned(text, told.append)
    assert told == [(text.index(one) + 1) / len(text) for one in ("2", "4")]


@pytest.mark.parametrize("text", [
    "", "[]", "{}", '{"type": "FeatureCollection"}', '{"type": "FeatureCollection", "features": []}',
    '{"features": [1]}', '{"type": "Feature", "features": [1]}', '{"type": "FeatureCollection", "features": [1]} x',
    '{"type": "FeatureCollection", "features": [1 2]}', '{"type": "FeatureCollection", "features": [1',
    '{"type": "FeatureCollection" "features": [1]}', '{"type": "FeatureCollection", "features": 1}',
    '{"type" "FeatureCollection", "features": [1]}', '{"features": [1], "type": "FeatureCollection"',
])  # fmt: skip
def test_what_is_not_plain_is_given_up(text):
    assert scanned(text) is None


def test_what_is_plain():
    assert scanned('{"type":"FeatureCollection","features":[1]}').start.tolist() == [40]
    assert scanned('\n{ "features" : [ 1 , 2 ] , "type" : "FeatureCollection" }\r\n\t').start.tolist() == [18, 22]


@pytest.mark.parametrize(("shape", "coordinates", "bounds"), [
    ("Point", [3, -4], (3, -4, 3, -4)), ("Point", [3, -4, 100], (3, -4, 3, -4)),
    ("LineString", [[0, 5], [-2, 7]], (-2, 5, 0, 7)), ("MultiPoint", [[0, 5], [-2, 7]], (-2, 5, 0, 7)),
    ("Polygon", [SQUARE, [[9, 9], [8, 8], [9, 8]]], (0, 0, 2, 1)),
    ("MultiLineString", [[[0, 5], [-2, 7]], [[4, 4], [5, 5]]], (-2, 4, 5, 7)),
    ("MultiPolygon", [[SQUARE], [[[5, 5], [6, 5], [6, 7]], [[99, 99]]]], (0, 0, 6, 7)),
])  # fmt: skip
def test_the_bounds_of_a_shape(shape, coordinates, bounds):
    assert _bounds(shape, coordinates) == bounds


def test_what_has_no_bounds_is_always_read():
    for odd in (
        feature("tree", "GeometryCollection", []), feature("tree", "Point", []), feature("tree", "Polygon", []),
        feature("tree", "Point", ["a", "b"]), feature("tree", "Point", None), {"geometry": None, "properties": {}},
        {"geometry": {"type": "Point", "coordinates": [1, 2]}, "properties": None}, 5, None,
    ):  # fmt: skip
        found = scanned(json.dumps({"type": "FeatureCollection", "features": [odd]})).outlook
        assert (found.role[0], found.height[0]) == (ALWAYS, 0.0)
        assert all(map(math.isnan, found.bounds[0]))
