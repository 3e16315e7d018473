"""How are features of a GeoJSON text changed without changing anything else?

In a feature that changes, only the members that differ are rewritten; new members are added after the last one, in
its layout; removed members go with their comma. No other byte changes. The callers write the file and check the site.
"""

from __future__ import annotations

import json
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from siteplan.files.drawing.geojson_text import (
    Cut,
    Member,
    Nested,
    Span,
    feature_spans,
    flat,
    last_of,
    like,
    members,
    with_cuts,
)

JsonObject = Mapping[str, Any]


def edited_features(text: str, put: Sequence[JsonObject], remove: Collection[str], numbers: Mapping[str, int]) -> str:
    r"""Return the text of a GeoJSON FeatureCollection with some features put in and some removed.

    Parameters
    ----------
    text : str
        A sound GeoJSON text, with or without a byte order mark.
    put : sequence of mapping
        GeoJSON Features, each with its `id` and all of its properties. A Feature with a known id replaces that
        feature, which keeps its other members, and its geometry if none is given. Others are added at the end.
    remove : collection of str
        Ids.
    numbers : mapping of str to int
        Position in the file, from 1, of each feature by its id; from `naming.feature_numbers`.

    Returns
    -------
    str

    Examples
    --------
    >>> old = '{"features":[\n{"id":"a", "properties":{"height": 2.50, "note":"x"}, "geometry":null},\n{"id":"b"}\n]}'
    >>> new = {"type": "Feature", "id": "a", "properties": {"height": 2.5, "note": "y"}, "geometry": None}
    >>> print(edited_features(old, [new], ["b"], {"a": 1, "b": 2}))
    {"features":[
    {"id":"a", "properties":{"height": 2.50, "note":"y"}, "geometry":null}
    ]}
    """
    bracket, spans = feature_spans(text)
    removed = {numbers[name] - 1 for name in remove if name in numbers}
    replacements = {numbers[feature["id"]] - 1: feature for feature in put if feature["id"] in numbers}
    new = [feature for feature in put if feature["id"] not in numbers]
    remaining: dict[int, str] = {}
    for index, span in enumerate(spans):
        if index not in removed:
            old = text[span.start : span.end]
            remaining[index] = _replaced(old, replacements[index]) if index in replacements else old
    inside = _listed(text, bracket, spans, remaining, new)
    end = text.index("]", spans[-1].end if spans else bracket + 1)
    return text[: bracket + 1] + inside + text[end:]


def _listed(
    text: str, bracket: int, spans: list[Span], remaining: Mapping[int, str], new: Sequence[JsonObject]
) -> str:
    """Return the text between the brackets of the list: the features that stay, then the new ones."""
    if not spans:
        newline = "\r\n" if "\r\n" in text else "\n"
        added = [newline + flat(feature, ": ") for feature in new]
        return ",".join(added) + newline if added else text[bracket + 1 : text.index("]", bracket)]
    starts = [bracket + 1, *(span.end for span in spans[:-1])]
    before = [text[start : span.start] for start, span in zip(starts, spans, strict=True)]
    tail = text[spans[-1].end : text.index("]", spans[-1].end)]
    between = before[-1] if len(spans) > 1 else f",{before[0]}"
    last = text[spans[-1].start : spans[-1].end]
    parts = [(before[index], feature_text) for index, feature_text in remaining.items()]
    parts += [(between, like(_with_id_as(feature, last), last, between)) for feature in new]
    if not parts:
        return tail
    return before[0] + parts[0][1] + "".join(gap + feature_text for gap, feature_text in parts[1:]) + tail


def _with_id_as(feature: JsonObject, neighbour: str) -> JsonObject:
    """Return a new feature with its id where its neighbour has it: as a member, or among the properties."""
    if '"id"' not in neighbour or "id" in json.loads(neighbour):
        return feature
    return {
        **{key: value for key, value in feature.items() if key != "id"},
        "properties": {"id": feature["id"], **feature["properties"]},
    }


def _replaced(old: str, feature: JsonObject) -> str:
    """Return a feature's text with the members that differ from the new feature rewritten."""
    old_members = members(old, 0)
    cuts: list[Cut] = []
    properties = last_of(old_members, "properties")
    old_properties = json.loads(old[properties.value.start : properties.value.end]) if properties else None
    if properties is None or not isinstance(old_properties, dict):
        if feature["properties"] or properties is None:
            cuts += _set(old, old_members, "properties", dict(feature["properties"]))
    else:
        cuts += _properties(old, properties.value.start, feature["properties"])
    has_id_property = isinstance(old_properties, dict) and old_properties.get("id") is not None
    id_member = last_of(old_members, "id")
    has_id_member = id_member is not None and old[id_member.value.start : id_member.value.end] != "null"
    if not has_id_member and not has_id_property:
        cuts += _set(old, old_members, "id", feature["id"])
    if "geometry" in feature:
        cuts += _geometry(old, old_members, feature["geometry"])
    return with_cuts(old, cuts)


def _properties(old: str, at: int, new: JsonObject) -> Iterator[Cut]:
    """Yield the replacements that turn the properties of a feature into new ones; its id is not changed."""
    old_members = members(old, at)
    id_member = last_of(old_members, "id")
    if id_member is not None:
        new = {**new, "id": _value(old, id_member)}
    yield from _without(old_members, [member for member in old_members if member.key not in new])
    remaining = [member for member in old_members if member.key in new]
    for key, value in new.items():
        old_member = last_of(old_members, key)
        if old_member is not None and not same_value(_value(old, old_member), value):
            yield (*old_member.value, flat(value, old))
    added = {key: value for key, value in new.items() if last_of(old_members, key) is None}
    yield from _added(old, at, old_members, added, empty=not remaining)


def _value(text: str, member: Member) -> Any:
    return json.loads(text[member.value.start : member.value.end])


def _set(text: str, old_members: list[Member], key: str, value: Any) -> Iterator[Cut]:
    """Yield the replacement that sets a member of a feature, or adds it."""
    member = last_of(old_members, key)
    if member is not None:
        yield (*member.value, flat(value, text))
    else:
        yield from _added(text, 0, old_members, {key: value}, empty=not old_members)


def _added(text: str, at: int, old_members: list[Member], new: JsonObject, *, empty: bool) -> Iterator[Cut]:
    """Yield the replacement that adds members after the last one of an object, in that one's layout."""
    if not new:
        return
    if not old_members:
        yield (at + 1, at + 1, flat(dict(new), text)[1:-1])
        return
    last = old_members[-1]
    before = old_members[-2].value.end if len(old_members) > 1 else at + 1
    gap = text[before : last.start].partition(",")[2] if len(old_members) > 1 else text[before : last.start]
    gap = " " if not gap and '": ' in text else gap
    colon = text[last.key_end : last.value.start]
    written = [f"{json.dumps(key, ensure_ascii=False)}{colon}{flat(value, text)}" for key, value in new.items()]
    yield (last.value.end, last.value.end, ("" if empty else f",{gap}") + f",{gap}".join(written))


def _without(old_members: list[Member], removed: list[Member]) -> Iterator[Cut]:
    """Yield the replacements that take members out of an object, each with one comma."""
    first_stays = next((index for index, member in enumerate(old_members) if member not in removed), len(old_members))
    for index, member in enumerate(old_members):
        if member not in removed:
            continue
        if index > first_stays:
            yield (old_members[index - 1].value.end, member.value.end, "")
        elif index + 1 < len(old_members):
            yield (member.start, old_members[index + 1].start, "")
        else:
            yield (member.start, member.value.end, "")


def _geometry(old: str, old_members: list[Member], new: JsonObject | None) -> Iterator[Cut]:
    """Yield the replacements that change a feature's geometry; the `bbox` of the old one is removed."""
    geometry_member = last_of(old_members, "geometry")
    if geometry_member is None:
        yield from _set(old, old_members, "geometry", new)
        return
    old_geometry = _value(old, geometry_member)
    if same_value(old_geometry, new):
        return
    if new is None or not isinstance(old_geometry, dict) or not isinstance(old_geometry.get("coordinates"), list):
        yield (*geometry_member.value, flat(new, old))
    else:
        inner_members = members(old, geometry_member.value.start)
        coordinates_member, type_member = last_of(inner_members, "coordinates"), last_of(inner_members, "type")
        if coordinates_member is not None:
            yield (*coordinates_member.value, Nested.of(old, coordinates_member.value.start).text(new["coordinates"]))
        if type_member is not None and old_geometry["type"] != new["type"]:
            yield (*type_member.value, json.dumps(new["type"]))
        yield from _without(inner_members, [member for member in inner_members if member.key == "bbox"])
    yield from _without(old_members, [member for member in old_members if member.key == "bbox"])


def same_value(first: Any, second: Any) -> bool:
    """Return whether two JSON values are equal; numbers are compared as 64-bit floats.

    Examples
    --------
    >>> same_value([1.0, {"a": None}], [1, {"a": None}]), same_value(True, 1), same_value(10**19 + 1, 1e19)
    (True, False, True)
    """
    if isinstance(first, bool) or isinstance(second, bool):
        return first is second
    if isinstance(first, int | float) and isinstance(second, int | float):
        return _number(first) == _number(second)
    if isinstance(first, list) and isinstance(second, list):
        return len(first) == len(second) and all(map(same_value, first, second))
    if isinstance(first, dict) and isinstance(second, dict):
        return first.keys() == second.keys() and all(same_value(value, second[key]) for key, value in first.items())
    return type(first) is type(second) and bool(first == second)


def _number(value: float) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf
