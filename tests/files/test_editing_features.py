"""Do features change in a GeoJSON text, and does every other byte stay?"""

from __future__ import annotations

import difflib
import json
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.files.drawing.editing import _replaced, edited_features, same_value

Feature = dict[str, Any]


def feature(name: str, x: float = 0.0, **properties: object) -> Feature:
    shape = {"type": "Polygon", "coordinates": [[[x, 0.0], [x + 2.5, 0.0], [x + 2.5, 1.25], [x, 0.0]]]}
    return {"type": "Feature", "id": name, "properties": {"kind": "bed", **properties}, "geometry": shape}


def one_a_line(document: Feature) -> str:
    lines = ",\n".join(json.dumps(one) for one in document["features"])
    return f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'


def rings_on_lines(document: Feature) -> str:
    """Return a text as people lay it out by hand: a corner a line, its two numbers together."""
    return re.sub(r"\[\s+(-?[\d.]+),\s+(-?[\d.]+)\s+\]", r"[\1, \2]", json.dumps(document, indent=2))


LAYOUTS = {
    "one line": json.dumps,
    "tight": lambda one: json.dumps(one, separators=(",", ":")),
    "a feature a line": one_a_line,
    "indented": lambda one: json.dumps(one, indent=2),
    "by tabs": lambda one: json.dumps(one, indent="\t"),
    "of Windows": lambda one: "\ufeff" + json.dumps(one, indent=4).replace("\n", "\r\n"),
    "corners on lines": rings_on_lines,
    "members behind": lambda one: json.dumps({**one, "name": "our \u00e9lan", "bbox": [7, 44, 9, 46]}),
    "features first": lambda one: json.dumps(dict(reversed(one.items()))),
    "after spaces": lambda one: " \n\t" + json.dumps(one, separators=(" ,  ", " :   ")) + " \r\n",
}


def collection(*features: Feature) -> Feature:
    return {"type": "FeatureCollection", "features": list(features)}


def numbers(document: Feature) -> dict[str, int]:
    return {one["id"]: at for at, one in enumerate(document["features"], 1)}


def edited(text: str, document: Feature, put: list[Feature] = (), remove: list[str] = ()) -> str:
    return edited_features(text, put, remove, numbers(document))


def changed_parts(before: str, after: str) -> list[tuple[str, str]]:
    match = difflib.SequenceMatcher(None, before, after, autojunk=False)
    return [(before[a:b], after[c:d]) for tag, a, b, c, d in match.get_opcodes() if tag != "equal"]


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
def test_one_value_changes_and_no_other_byte(layout):
    document = collection(feature("a", 1, height="14 in"), feature("b", 7, height="14 in"), feature("c"))
    before = layout(document)
    new = feature("b", 7, height="20 in")
    after = edited(before, document, [new])
    assert changed_parts(before, after) == [("14", "20")]
    assert json.loads(after.removeprefix("\ufeff"))["features"][1] == new


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
def test_a_corner_moves_and_the_others_keep_their_digits(layout):
    document = collection(feature("a", 1), feature("b", 7))
    before = layout(document).replace("2.5", "2.50")
    new = feature("a", 1)
    new["geometry"]["coordinates"][0][1] = [3.625, 0.5]
    after = edited(before, document, [new])
    assert json.loads(after.removeprefix("\ufeff"))["features"][0] == new
    changed = changed_parts(before, after)
    assert sum(len(old) + len(new) for old, new in changed) <= 8  # 3.5 to 3.625, and 0.0 to 0.5: nothing else
    assert after.count("2.50") == before.count("2.50")


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
def test_taking_out_and_adding_leaves_the_rest(layout):
    document = collection(feature("a", 1), feature("b", 7), feature("c", 9))
    before = layout(document)
    gone = edited(before, document, remove=["b"])
    assert json.loads(gone.removeprefix("\ufeff"))["features"] == [feature("a", 1), feature("c", 9)]
    assert all(new == "" for _, new in changed_parts(before, gone))
    less = collection(feature("a", 1), feature("c", 9))
    if layout is not LAYOUTS["after spaces"]:  # its own lines come from another text
        assert gone == layout(less)
    more = edited(gone, less, [feature("d", 12), feature("e", 15)])
    assert json.loads(more.removeprefix("\ufeff"))["features"][2:] == [feature("d", 12), feature("e", 15)]
    assert all(old == "" for old, _ in changed_parts(gone, more))


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS.keys())
def test_all_may_go_and_others_come(layout):
    document = collection(feature("a", 1), feature("b", 7))
    empty = edited(layout(document), document, remove=["a", "b"])
    assert json.loads(empty.removeprefix("\ufeff"))["features"] == []
    again = edited(empty, collection(), [feature("c"), feature("d", 4)])
    assert json.loads(again.removeprefix("\ufeff"))["features"] == [feature("c"), feature("d", 4)]
    swapped = edited(layout(document), document, [feature("c")], ["a", "b"])
    assert json.loads(swapped.removeprefix("\ufeff"))["features"] == [feature("c")]


def test_unknown_members_and_their_order_stay():
    before = (
        '{"features":[{"note":{"by":"me"},"geometry":{"bbox":[0,0,1,1],"coordinates":[1.50,2],"type":"Point"},'
        '"bbox":[0,0,1,1],"properties":{"x":[1,2],"kind":"tap","hose_length":"15 m"},"type":"Feature","id":"t"}]}'
    )
    same = {"type": "Point", "coordinates": [1.5, 2]}
    new = {
        "type": "Feature",
        "id": "t",
        "properties": {"x": [1, 2], "kind": "tap", "colour": "red"},
        "geometry": same,
    }
    after = edited_features(before, [new | {"geometry": same | {"bbox": [0, 0, 1, 1]}}], [], {"t": 1})
    assert after == before.replace('"hose_length":"15 m"', '"colour":"red"')
    moved = edited_features(before, [new | {"geometry": same | {"coordinates": [1.5, 3]}}], [], {"t": 1})
    assert json.loads(moved)["features"][0]["geometry"] == {"coordinates": [1.5, 3], "type": "Point"}
    assert "bbox" not in moved  # a box around where it was would be wrong
    assert '"note":{"by":"me"},"geometry"' in moved


def test_of_keys_that_stand_twice_the_last_counts_and_both_stay():
    before = '{"features":[{"id":"a","properties":{"height":1,"kind":"bed","height":2},"geometry":null}]}'
    new = {"type": "Feature", "id": "a", "properties": {"height": 3, "kind": "bed"}, "geometry": None}
    assert edited_features(before, [new], [], {"a": 1}) == before.replace('"height":2', '"height":3')
    del new["properties"]["height"]
    after = edited_features(before, [new], [], {"a": 1})
    assert after == before.replace('"height":1,', "").replace(',"height":2', "")


def test_the_id_stays_where_the_file_has_it():
    before = '{"features":[{"properties":{"kind":"bed","id":7},"geometry":null},{"properties":{},"geometry":null}]}'
    new = [
        {"type": "Feature", "id": name, "properties": {"kind": "tap"}, "geometry": None} for name in ("7", "b", "c")
    ]
    after = json.loads(edited_features(before, new, [], {"7": 1, "b": 2}))["features"]
    assert [one.get("id") for one in after] == [None, "b", "c"]
    assert after[0]["properties"] == {"kind": "tap", "id": 7}
    among = '{"features":[{"type":"Feature","properties":{"kind":"bed","id":7},"geometry":null}]}'
    added = json.loads(edited_features(among, new[2:], [], {"7": 1}))["features"][1]
    assert "id" not in added
    assert added["properties"] == {"id": "c", "kind": "tap"}


def test_a_number_that_no_page_can_hold_keeps_its_digits():
    before = '{"features":[{"id":"a","properties":{"osm":12345678901234567891,"h":2.50},"geometry":null}]}'
    new = {
        "type": "Feature",
        "id": "a",
        "properties": {"osm": float(12345678901234567891), "h": 2.5},
        "geometry": None,
    }
    assert edited_features(before, [new], [], {"a": 1}) == before


def test_a_feature_without_properties_gets_some():
    before = (
        '{"features":[{"type":"Feature","id":"a","properties":null,"geometry":null},{"type":"Feature","id":"b"}]}'
    )
    put = [feature("a", 1), feature("b", 2)]
    assert json.loads(edited_features(before, put, [], {"a": 1, "b": 2}))["features"] == put


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-10, 10) | st.floats(-1e6, 1e6) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)
PROPERTIES = st.dictionaries(st.sampled_from("abcdefg"), JSON, max_size=5)
CORNER = st.lists(st.floats(-100, 100).map(lambda one: round(one, 3)), min_size=2, max_size=2)
SHAPES = st.one_of(
    st.none(),
    CORNER.map(lambda one: {"type": "Point", "coordinates": one}),
    st.lists(CORNER, min_size=2, max_size=4).map(lambda one: {"type": "LineString", "coordinates": one}),
    st.lists(CORNER, min_size=3, max_size=4).map(lambda one: {"type": "Polygon", "coordinates": [one]}),
)


@st.composite
def drawings(draw, names: str) -> list[Feature]:
    chosen = draw(st.lists(st.sampled_from(names), unique=True, max_size=4))
    return [
        {"type": "Feature", "id": one, "properties": draw(PROPERTIES), "geometry": draw(SHAPES)} for one in chosen
    ]


@settings(max_examples=150, deadline=None)
@given(
    drawings("abcd"),
    drawings("abcdxy"),
    st.sets(st.sampled_from("abcd")),
    st.sampled_from(sorted(LAYOUTS)),
)
def test_what_is_wanted_stands_there_and_the_others_byte_by_byte(there, put, remove, layout):
    document = collection(*there)
    before = LAYOUTS[layout](document)
    put = [one for one in put if one["id"] not in remove]
    after = edited(before, document, put, [name for name in remove if name in numbers(document)])
    wanted = {one["id"]: one for one in put}
    expected = [wanted.get(one["id"], one) for one in there if one["id"] not in remove]
    expected += [one for one in put if one["id"] not in numbers(document)]
    assert json.loads(after.removeprefix("\ufeff"))["features"] == expected
    assert after.startswith("\ufeff") == before.startswith("\ufeff")
    if not put and not remove & numbers(document).keys():
        assert after == before
    for one in there:  # what nobody named stands there as it did
        if (
            one["id"] not in wanted
            and one["id"] not in remove
            and layout in {"one line", "tight", "a feature a line"}
        ):
            text = LAYOUTS[layout](one) if layout != "a feature a line" else json.dumps(one)
            assert text in after


@pytest.mark.parametrize(("old", "new", "after"), [
    # the id: a member, else among the properties; null is none
    ('{"id":null,"properties":{},"geometry":null}', {"id": "a", "properties": {}}, '{"id":"a","properties":{},"geometry":null}'),
    ('{"id":7,"properties":{},"geometry":null}', {"id": "7", "properties": {}}, None),
    ('{"properties":{"id":"a"},"geometry":null}', {"id": "a", "properties": {"id": "b"}}, None),
    ('{"properties":{"id":null},"geometry":null}', {"id": "a", "properties": {"id": "b"}},
     '{"properties":{"id":null},"geometry":null,"id":"a"}'),
    ('{"properties":{},"geometry":null}', {"id": "a", "properties": {}}, '{"properties":{},"geometry":null,"id":"a"}'),
    # the properties
    ('{"id":1}', {"id": "1", "properties": {}}, '{"id":1,"properties":{}}'),
    ('{"id":1,"properties":null}', {"id": "1", "properties": {}}, None),
    ('{"id":1,"properties":null}', {"id": "1", "properties": {"k": 2}}, '{"id":1,"properties":{"k":2}}'),
    ('{"id":1,"properties":{}}', {"id": "1", "properties": {"k": 2, "l": "m"}}, '{"id":1,"properties":{"k":2,"l":"m"}}'),
    ('{"id":1,"properties":{"k":2.0,"l":1}}', {"id": "1", "properties": {"l": True, "k": 2}}, '{"id":1,"properties":{"k":2.0,"l":true}}'),
    ('{"id": 1, "properties": {"k": 2}}', {"id": "1", "properties": {"k": 2, "l": 3}}, '{"id": 1, "properties": {"k": 2, "l": 3}}'),
    ('{"id":1,"properties":{"k":2}}', {"id": "1", "properties": {"k": 2, "l": 3, "m": [4]}}, '{"id":1,"properties":{"k":2,"l":3,"m":[4]}}'),
    ('{"id":1,"properties":{"k":2,"k":3}}', {"id": "1", "properties": {"k": 2}}, '{"id":1,"properties":{"k":2,"k":2}}'),
    ('{"id":1,"properties":{\n "a" : 1,\n "b" : 2}}', {"id": "1", "properties": {"a": 1, "b": 2, "c": 3}},
     '{"id":1,"properties":{\n "a" : 1,\n "b" : 2,\n "c" : 3}}'),
    ('{"id":1,"properties":{\n "a":1\n}}', {"id": "1", "properties": {"a": 1, "c": 3}}, '{"id":1,"properties":{\n "a":1,\n "c":3\n}}'),
    # what is taken out goes with one comma
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {"b": 2, "c": 3}}, '{"id":1,"properties":{"b":2, "c":3}}'),
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {"a": 1, "c": 3}}, '{"id":1,"properties":{"a":1, "c":3}}'),
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {"a": 1, "b": 2}}, '{"id":1,"properties":{"a":1, "b":2}}'),
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {"c": 3}}, '{"id":1,"properties":{"c":3}}'),
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {}}, '{"id":1,"properties":{}}'),
    ('{"id":1,"properties":{"a":1, "b":2, "c":3}}', {"id": "1", "properties": {"d": 4}}, '{"id":1,"properties":{"d":4}}'),
    # the geometry, with its bounds
    ('{"id":1,"properties":{}}', {"id": "1", "properties": {}, "geometry": None}, '{"id":1,"properties":{},"geometry":null}'),
    ('{"id":1,"properties":{},"geometry":null,"bbox":[1]}', {"id": "1", "properties": {}, "geometry": None}, None),
    ('{"id":1,"properties":{},"geometry":null}', {"id": "1", "properties": {}, "geometry": {"type": "Point", "coordinates": [1, 2.5]}},
     '{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,2.5]}}'),
    ('{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,2]},"bbox":[1,2]}',
     {"id": "1", "properties": {}, "geometry": None}, '{"id":1,"properties":{},"geometry":null}'),
    ('{"id":1,"properties":{},"bbox":[1],"geometry":{"bbox":[1,2],"type":"Point","coordinates":[1.0,2]}}',
     {"id": "1", "properties": {}, "geometry": {"type": "Point", "coordinates": [1, 3]}},
     '{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,3]}}'),
    ('{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,2]}}',
     {"id": "1", "properties": {}, "geometry": {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}},
     '{"id":1,"properties":{},"geometry":{"type":"LineString","coordinates":[[1,2],[3,4]]}}'),
    ('{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":7}}',
     {"id": "1", "properties": {}, "geometry": {"type": "Point", "coordinates": [1, 2]}},
     '{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,2]}}'),
    ('{"id":1,"properties":{},"geometry":[5]}', {"id": "1", "properties": {}, "geometry": {"type": "Point", "coordinates": [1, 2]}},
     '{"id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,2]}}'),
])  # fmt: skip
def test_a_feature_byte_by_byte(old, new, after):
    """Where nothing is to change, None stands for the text as it was."""
    assert _replaced(old, new) == (old if after is None else after)


@pytest.mark.parametrize(("one", "other", "same"), [
    (1, 1.0, True), (1, 2, False), (True, True, True), (True, 1, False), (0, False, False), (False, True, False),
    ("1", 1, False), ("a", "a", True), (None, None, True), (None, 0, False), ([1, 2], [1, 2.0], True), ([1], [1, 2], False),
    ([1, 2], [1, 3], False), ([], {}, False), ({"a": 1}, {"a": 1.0}, True), ({"a": 1}, {"b": 1}, False),
    ({"a": 1, "b": 2}, {"a": 1, "b": 3}, False), ({"a": 1}, {"a": 1, "b": 2}, False), (10**400, 10**401, True), (10**400, 1, False),
])  # fmt: skip
def test_values_that_are_the_same(one, other, same):
    assert same_value(one, other) is same
    assert same_value(other, one) is same


def test_new_features_in_an_empty_list():
    new = [{"type": "Feature", "id": "a"}, {"type": "Feature", "id": "b"}]
    lines = '\n{"type": "Feature", "id": "a"},\n{"type": "Feature", "id": "b"}\n'
    assert edited_features('{"features":[ ]}', new, [], {}) == f'{{"features":[{lines}]}}'
    windows = lines.replace("\n", "\r\n")
    assert edited_features('{\r\n"features":[]}', new, [], {}) == f'{{\r\n"features":[{windows}]}}'
    assert edited_features('{"features":[ ]}', [], [], {}) == '{"features":[ ]}'


def test_a_new_feature_has_its_id_where_its_neighbour_has_it():
    new = {"type": "Feature", "id": "b", "properties": {"kind": "tap"}, "geometry": None}
    among = edited_features('{"features":[{"properties":{"id":"a"}}]}', [new], [], {"a": 1})
    assert among.endswith(',{"type":"Feature","properties":{"id":"b","kind":"tap"},"geometry":null}]}')
    for neighbour in ('{"id":"a","properties":{"id":"c"}}', '{"properties":{}}'):
        own = edited_features(f'{{"features":[{neighbour}]}}', [new], [], {"a": 1})
        assert own.endswith(',{"type":"Feature","id":"b","properties":{"kind":"tap"},"geometry":null}]}')
