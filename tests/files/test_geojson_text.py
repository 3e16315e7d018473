"""Where each value of a JSON text stands, and new values in the layout of their neighbours: byte by byte."""

from __future__ import annotations

import json

import pytest
from shapely import Polygon

from siteplan.files.drawing.appending import NewFeature, _cell, with_features
from siteplan.files.drawing.geojson_text import (
    Nested,
    feature_spans,
    flat,
    items,
    last_of,
    like,
    members,
    number_text,
    past_space,
    start_of,
    with_cuts,
)


def test_white_space_is_passed():
    assert past_space(" \t\r\n x", 0) == 5
    assert past_space("x", 0) == 0
    assert start_of("  {") == 2
    assert start_of("\ufeff\n{") == 2
    assert start_of("{") == 0


@pytest.mark.parametrize(
    "text", ['{"a":1,"b":[2,{"c":3}],"a":"}"}', '{ "a" : 1 ,\n "b" : [2,{"c":3}] ,\t"a" : "}" \n}']
)
def test_the_members_of_an_object(text):
    found = members(f"__{text}", 2)
    assert [one.key for one in found] == ["a", "b", "a"]
    text = f"__{text}"
    assert [text[one.start : one.key_end] for one in found] == ['"a"', '"b"', '"a"']
    assert [text[one.value.start : one.value.end] for one in found] == ["1", '[2,{"c":3}]', '"}"']
    assert last_of(found, "a") is found[2]
    assert last_of(found, "b") is found[1]
    assert last_of(found, "c") is None
    assert members("{ }", 0) == []


@pytest.mark.parametrize("text", ['[1,"]",[2]]', '[ 1 , "]"\n,[2] ]'])
def test_the_values_of_a_list(text):
    assert [text[start:end] for start, end in items(text, 0)] == ["1", '"]"', "[2]"]
    assert items("[ ]", 0) == []


def test_the_features_of_a_collection():
    text = '\ufeff{"features": 3, "name": "x", "features": [ {"id": 1}, {} ]}'
    bracket, spans = feature_spans(text)
    assert text[bracket] == "["
    assert [text[start:end] for start, end in spans] == ['{"id": 1}', "{}"]
    with pytest.raises(ValueError, match="no list of features"):
        feature_spans('{"type": "FeatureCollection"}')


def test_parts_are_replaced_in_any_order():
    assert with_cuts("abcdef", [(4, 5, "E!"), (0, 1, ""), (2, 2, "-")]) == "b-cdE!f"
    assert with_cuts("abc", []) == "abc"
    assert with_cuts("abc", [(3, 3, "d"), (1, 3, "x")]) == "axd"


@pytest.mark.parametrize(("neighbour", "text"), [
    ('{"id": 1}', '{"a": [1, "ü"]}'), ('{"id":1}', '{"a":[1,"ü"]}'), ('{"id":1, "b": 2}', '{"a": [1, "ü"]}'), ("", '{"a": [1, "ü"]}'),
])  # fmt: skip
def test_a_value_on_one_line(neighbour, text):
    assert flat({"a": [1, "ü"]}, neighbour) == text


def indented(step, outer, newline="\n"):
    feature = {"id": 1, "geometry": {"coordinates": [1, 2]}}
    return json.dumps(feature, indent=step).replace("\n", newline + outer)


@pytest.mark.parametrize(("step", "outer", "newline"), [
    ("  ", "    ", "\n"), ("\t", "\t", "\n"), (" ", "", "\n"), ("    ", "  ", "\r\n"),
])  # fmt: skip
def test_a_value_in_the_layout_of_its_neighbour(step, outer, newline):
    between = f",{newline}{outer}"
    got = like({"a": [7]}, indented(step, outer, newline), between)
    expected = ["{", f'{step}"a": [', f"{step * 2}7", f"{step}]", "}"]
    assert got == f"{newline}{outer}".join(expected)


def test_a_value_beside_a_neighbour_on_one_line():
    assert like({"a": [7]}, '{"id":1,\n"geometry":{"coordinates":[1,2]}}', ",\n") == '{"a":[7]}'
    assert like({"a": [7]}, '{\n"geometry":{"coordinates":[1,\n2]}}', "") == '{\n  "a": [\n    7\n  ]\n}'


@pytest.mark.parametrize("text", [
    "[[1.50,2],[3,4e0]]", "[ [1.50, 2],\n  [3, 4e0] ]", "[\n\t[\n\t\t1.50,\n\t\t2\n\t],\n\t[\n\t\t3,\n\t\t4e0\n\t]\n]",
])  # fmt: skip
def test_points_that_stay_keep_their_digits_and_the_layout(text):
    layout = Nested.of(f"x{text}", 1)
    assert layout.text([[1.5, 2.0], [3.0, 4.0]]) == text
    moved = layout.text([[1.5, 2.0], [3.0, 4.25], [5, 6]])
    assert json.loads(moved) == [[1.5, 2], [3, 4.25], [5, 6]]
    assert "1.50" in moved
    assert moved.startswith(text[: text.index("4e0")] + "4.25")
    between = text[text.index("2") + 1 : text.index("3")]  # from the end of one point to the next
    assert moved.count(between) == 2


@pytest.mark.parametrize(("text", "value", "expected"), [
    ("[1,2]", [[1, 2], [3, 4]], "[[1,2],[3,4]]"), ("[1, 2]", [[1, 2], [3, 4]], "[[1, 2], [3, 4]]"),
    ("[ 1,2 ]", [[1, 2]], "[[ 1,2 ]]"), ("[]", [1, 2], "[1, 2]"), ("[7]", [1, 2], "[1, 2]"),
    ("[[[1,2]]]", [[[1, 2], [5, 6]], [[7, 8]]], "[[[1,2], [5,6]], [[7,8]]]"),
])  # fmt: skip
def test_lists_of_another_depth_or_length(text, value, expected):
    assert Nested.of(text, 0).text(value) == expected


@pytest.mark.parametrize(("value", "text"), [
    (3.0, "3"), (-0.25, "-0.25"), (7, "7"), (1e6, "1000000"), (8.000000001, "8.000000001"), (-2.0, "-2"),
])  # fmt: skip
def test_numbers_without_needless_decimals(value, text):
    assert number_text(value) == text


BED = NewFeature("b", Polygon([(0, 0), (0, 1.5), (2, 0)]), {"kind": "bed"}, {})  # clockwise: rings go the other way
SHAPE = '{"type":"Polygon","coordinates":[[[0,0],[2,0],[0,1.5],[0,0]]]}'
OWN = f'{{"type":"Feature","id":"b","properties":{{"kind":"bed"}},"geometry":{SHAPE}}}'
AMONG = f'{{"type":"Feature","properties":{{"id":"b","kind":"bed"}},"geometry":{SHAPE}}}'


@pytest.mark.parametrize(("before", "after"), [
    ('{"features":[]}', f'{{"features":[{json.dumps(json.loads(OWN))},{json.dumps(json.loads(OWN))}]}}'),
    ('{"features":[{"id":1}]}', f'{{"features":[{{"id":1}},{OWN},{OWN}]}}'),
    ('{"features":[{"id":1},{"id":2}],"z":1}', f'{{"features":[{{"id":1}},{{"id":2}},{OWN},{OWN}],"z":1}}'),
    ('{"features":[{"id":1},\n {"id":2}\n]}', f'{{"features":[{{"id":1}},\n {{"id":2}},\n {OWN},\n {OWN}\n]}}'),
    ('{"features":[\n {"id":1}\n]}', f'{{"features":[\n {{"id":1}},\n {OWN},\n {OWN}\n]}}'),
    ('{"features":[{"properties":{"id":1}}]}', f'{{"features":[{{"properties":{{"id":1}}}},{AMONG},{AMONG}]}}'),
    ('{"features":[{"p":{"id":1},"id":2}]}', f'{{"features":[{{"p":{{"id":1}},"id":2}},{OWN},{OWN}]}}'),
    ('{"features":[{"p":{}}]}', f'{{"features":[{{"p":{{}}}},{OWN},{OWN}]}}'),
])  # fmt: skip
def test_beds_go_behind_the_last_feature_in_its_layout(before, after):
    assert with_features(before, [BED, BED]) == after


def test_a_value_in_the_type_of_its_column():
    bed = NewFeature(
        "b", BED.outline, {"height": "2 ft", "proposed": True, "tiers": [1, 2], "need": 5}, {"height": 2.0}
    )
    assert _cell(bed, "id", "object") == "b"
    assert _cell(bed, "height", "float64") == 2.0
    assert _cell(bed, "height", "object") == "2 ft"
    assert _cell(bed, "proposed", "object") == "true"
    assert _cell(bed, "proposed", "bool") is True
    assert _cell(NewFeature("b", BED.outline, {"proposed": False}, {}), "proposed", "object") == "false"
    assert _cell(bed, "tiers", "object") == "[1, 2]"
    assert _cell(bed, "need", "int32") == 5
    assert _cell(bed, "crop", "object") is None
