"""How features are written behind those of a GeoJSON file, and what goes into a cell of a table."""

from __future__ import annotations

import json

import pytest
from shapely import Polygon

from siteplan.files.drawing.appending import NewFeature, _cell, with_features

SQUARE = Polygon([(0, 0), (0, 1.5), (2, 1.5), (2, 0)])  # clockwise; RFC 7946 wants the outer ring the other way round
BED = NewFeature("new", SQUARE, {"kind": "bed", "proposed": True}, {})
OTHER = NewFeature("next", SQUARE, {"kind": "bed"}, {})


def last_of(text, count):
    features = json.loads(text)["features"]
    assert len(features) == count
    return features[-1]


def test_a_feature_has_its_ring_counterclockwise_and_whole_numbers_without_a_point():
    feature = last_of(with_features('{"features": []}', [BED]), 1)
    assert feature == {
        "type": "Feature", "id": "new", "properties": {"kind": "bed", "proposed": True},
        "geometry": {"type": "Polygon", "coordinates": [[[0, 0], [2, 0], [2, 1.5], [0, 1.5], [0, 0]]]},
    }  # fmt: skip
    assert "2.0" not in with_features('{"features": []}', [BED])


def test_several_features_into_none():
    text = with_features('{"features": []}', [BED, OTHER])
    assert [one["id"] for one in json.loads(text)["features"]] == ["new", "next"]
    assert text.startswith('{"features": [')
    assert text.endswith("]}")


@pytest.mark.parametrize("text", [
    '{"features":[{"id":"a"}]}', '{"features": [ {"id": "a"} ]}', '{"features":[\n{"id":"a"},\n{"id":"b"}\n]}',
    '{"features": [{"id": "a"}, {"id": "b"}], "name": "lot"}', '{"features":[\n  {\n    "id": "a"\n  }\n]\n}\n',
])  # fmt: skip
def test_what_was_there_stays_before_and_behind(text):
    made = with_features(text, [BED, OTHER])
    before, after = text[: text.rindex("]")].rstrip(), text[text.rindex("]") :]
    assert made.startswith(before)
    assert made.endswith(after)
    ids = [one["id"] for one in json.loads(made)["features"]]
    assert ids == [*(one["id"] for one in json.loads(text)["features"]), "new", "next"]


def test_features_on_lines_of_their_own_stay_so():
    made = with_features('{"features":[\n{"id":"a"},\n{"id":"b"}\n]}', [BED, OTHER])
    assert [line[:8] for line in made.splitlines()] == [
        '{"featur',
        '{"id":"a',
        '{"id":"b',
        '{"type":',
        '{"type":',
        "]}",
    ]


def test_an_id_stands_where_that_of_the_last_feature_stands():
    member = with_features('{"features":[{"id":"a","properties":{}}]}', [BED])
    inside = with_features('{"features":[{"properties":{"id":"a"}}]}', [BED])
    neither = with_features('{"features":[{"properties":{}}]}', [BED])
    assert (last_of(member, 2)["id"], "id" in last_of(member, 2)["properties"]) == ("new", False)
    assert ("id" in last_of(inside, 2), last_of(inside, 2)["properties"]["id"]) == (False, "new")
    assert last_of(neither, 2)["id"] == "new"


@pytest.mark.parametrize(("key", "kind", "cell"), [
    ("id", "object", "new"), ("height", "object", "0.4 m"), ("height", "float64", 0.4), ("proposed", "object", "true"),
    ("proposed", "bool", True), ("filled", "object", "false"), ("filled", "bool", False), ("crops", "object", '["kale"]'),
    ("need", "float64", 6.5), ("width", "float64", None),
])  # fmt: skip
def test_a_cell_has_the_type_of_its_column(key, kind, cell):
    """A length is a text with its unit, or in a column of numbers the number in the drawing's unit."""
    properties = {"height": "0.4 m", "proposed": True, "filled": False, "crops": ["kale"], "need": 6.5}
    found = _cell(NewFeature("new", SQUARE, properties, {"height": 0.4}), key, kind)
    assert (found, type(found)) == (cell, type(cell))
