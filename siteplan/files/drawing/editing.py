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
    gone = {numbers[name] - 1 for name in remove if name in numbers}
    known = {numbers[one["id"]] - 1: one for one in put if one["id"] in numbers}
    written = {
        at: _replaced(text[span.start : span.end], known[at]) if at in known else text[span.start : span.end]
        for at, span in enumerate(spans)
        if at not in gone
    }
    new = [one for one in put if one["id"] not in numbers]
    inside = _listed(text, bracket, spans, written, new)
    end = text.index("]", spans[-1].end if spans else bracket + 1)
    return text[: bracket + 1] + inside + text[end:]


def _listed(text: str, bracket: int, spans: list[Span], written: Mapping[int, str], new: Sequence[JsonObject]) -> str:
    """Return the text between the brackets of the list: the features that stay, then the new ones."""
    if not spans:
        newline = "\r\n" if "\r\n" in text else "\n"
        added = [newline + flat(one, ": ") for one in new]
        return ",".join(added) + newline if added else text[bracket + 1 : text.index("]", bracket)]
    starts = [bracket + 1, *(span.end for span in spans[:-1])]
    before = [text[start : span.start] for start, span in zip(starts, spans, strict=True)]
    tail = text[spans[-1].end : text.index("]", spans[-1].end)]
    between = before[-1] if len(spans) > 1 else f",{before[0]}"
    last = text[spans[-1].start : spans[-1].end]
    parts = [(before[at], feature) for at, feature in written.items()]
    parts += [(between, like(_with_id_as(one, last), last, between)) for one in new]
    if not parts:
        return tail
    return before[0] + parts[0][1] + "".join(gap + feature for gap, feature in parts[1:]) + tail


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
    own = members(old, 0)
    cuts: list[Cut] = []
    properties = last_of(own, "properties")
    given = json.loads(old[properties.value.start : properties.value.end]) if properties else None
    if properties is None or not isinstance(given, dict):
        if feature["properties"] or properties is None:
            cuts += _set(old, own, "properties", dict(feature["properties"]))
    else:
        cuts += _properties(old, properties.value.start, feature["properties"])
    named = isinstance(given, dict) and given.get("id") is not None
    own_id = last_of(own, "id")
    has_id = own_id is not None and old[own_id.value.start : own_id.value.end] != "null"
    if not has_id and not named:
        cuts += _set(old, own, "id", feature["id"])
    if "geometry" in feature:
        cuts += _geometry(old, own, feature["geometry"])
    return with_cuts(old, cuts)


def _properties(old: str, at: int, new: JsonObject) -> Iterator[Cut]:
    """Yield the replacements that turn the properties of a feature into new ones; its id is not changed."""
    own = members(old, at)
    new = {**new, "id": _value(old, found)} if (found := last_of(own, "id")) else new
    yield from _without(own, [one for one in own if one.key not in new])
    stay = [one for one in own if one.key in new]
    for key, value in new.items():
        there = last_of(own, key)
        if there is not None and not same_value(_value(old, there), value):
            yield (*there.value, flat(value, old))
    added = {key: value for key, value in new.items() if last_of(own, key) is None}
    yield from _added(old, at, own, added, empty=not stay)


def _value(text: str, member: Member) -> Any:
    return json.loads(text[member.value.start : member.value.end])


def _set(text: str, own: list[Member], key: str, value: Any) -> Iterator[Cut]:
    """Yield the replacement that sets a member of a feature, or adds it."""
    there = last_of(own, key)
    if there is not None:
        yield (*there.value, flat(value, text))
    else:
        yield from _added(text, 0, own, {key: value}, empty=not own)


def _added(text: str, at: int, own: list[Member], new: JsonObject, *, empty: bool) -> Iterator[Cut]:
    """Yield the replacement that adds members after the last one of an object, in that one's layout."""
    if not new:
        return
    if not own:
        yield (at + 1, at + 1, flat(dict(new), text)[1:-1])
        return
    last = own[-1]
    before = own[-2].value.end if len(own) > 1 else at + 1
    gap = text[before : last.start].partition(",")[2] if len(own) > 1 else text[before : last.start]
    gap = " " if not gap and '": ' in text else gap
    colon = text[last.key_end : last.value.start]
    written = [f"{json.dumps(key, ensure_ascii=False)}{colon}{flat(value, text)}" for key, value in new.items()]
    yield (last.value.end, last.value.end, ("" if empty else f",{gap}") + f",{gap}".join(written))


def _without(own: list[Member], gone: list[Member]) -> Iterator[Cut]:
    """Yield the replacements that take members out of an object, each with one comma."""
    first_stays = next((place for place, one in enumerate(own) if one not in gone), len(own))
    for place, one in enumerate(own):
        if one not in gone:
            continue
        if place > first_stays:
            yield (own[place - 1].value.end, one.value.end, "")
        elif place + 1 < len(own):
            yield (one.start, own[place + 1].start, "")
        else:
            yield (one.start, one.value.end, "")


def _geometry(old: str, own: list[Member], new: JsonObject | None) -> Iterator[Cut]:
    """Yield the replacements that change a feature's geometry; the `bbox` of the old one is removed."""
    there = last_of(own, "geometry")
    if there is None:
        yield from _set(old, own, "geometry", new)
        return
    given = _value(old, there)
    if same_value(given, new):
        return
    if new is None or not isinstance(given, dict) or not isinstance(given.get("coordinates"), list):
        yield (*there.value, flat(new, old))
    else:
        parts = members(old, there.value.start)
        place, sort = last_of(parts, "coordinates"), last_of(parts, "type")
        if place is not None:
            yield (*place.value, Nested.of(old, place.value.start).text(new["coordinates"]))
        if sort is not None and given["type"] != new["type"]:
            yield (*sort.value, json.dumps(new["type"]))
        yield from _without(parts, [one for one in parts if one.key == "bbox"])
    yield from _without(own, [one for one in own if one.key == "bbox"])


def same_value(one: Any, other: Any) -> bool:
    """Return whether two JSON values are equal; numbers are compared as 64-bit floats.

    Examples
    --------
    >>> same_value([1.0, {"a": None}], [1, {"a": None}]), same_value(True, 1), same_value(10**19 + 1, 1e19)
    (True, False, True)
    """
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int | float) and isinstance(other, int | float):
        return _number(one) == _number(other)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same_value, one, other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same_value(value, other[key]) for key, value in one.items())
    return type(one) is type(other) and bool(one == other)


def _number(value: float) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf
