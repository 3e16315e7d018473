"""Which kind and id does each feature have, and which of its properties are known?

The file's own names are translated by [rename], every feature gets a kind and a unique id, and unknown properties are
listed. Values and shapes are read later (`feature_records.py`, `locating.py`).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.kinds import KINDS, PROPERTY_KEYS
from siteplan.files.drawing.vector import Drawing, RawFeature
from siteplan.files.look_alike import look, unseen_difference, unseen_letters
from siteplan.files.remarks import Remarks, clean, label
from siteplan.files.site_toml.renaming import Meaning, Renaming
from siteplan.land.values import LONGEST_TEXT, nearest, shown

ALIKE = 0.8  # similarity, 0 to 1, from which an unknown property is taken for a misspelt key


@dataclass(frozen=True)
class NamedFeature:
    """One feature with its kind, its id and siteplan's keys.

    Attributes
    ----------
    id, kind : str
    properties : dict
        Those with a value, under siteplan's keys; unknown ones as well.
    shape : shapely geometry or None
        In the file's coordinates.
    trouble : str
        What is wrong with the geometry, if there is none.
    number : int
        Its position in the file, from 1.
    """

    id: str
    kind: str
    properties: dict[str, object]
    shape: BaseGeometry | None
    trouble: str = ""
    number: int = 0

    @property
    def where(self) -> str:
        """Its name in messages."""
        return label(self.kind, self.id)


@dataclass(frozen=True)
class _Unnumbered:
    """One feature with its kind; its id may still be missing."""

    raw: RawFeature
    kind: str
    properties: dict[str, object]
    id: str | None


def named_features(drawing: Drawing, renaming: Renaming, remarks: Remarks) -> tuple[NamedFeature, ...]:
    """Return the features of a drawing with kinds and ids; features of unknown kind are faults and left out."""
    features: list[_Unnumbered] = []
    unknown: dict[str, list[RawFeature]] = {}  # by the kind as messages show it
    ignored: Counter[str] = Counter()
    for raw in drawing.features:
        properties = _our_keys(raw.properties, renaming)
        written_kind = properties.get("kind")
        code = _code(written_kind)
        name = clean(code) if isinstance(code, str) else written_kind
        meaning = _meaning(name, renaming)
        if meaning is None:
            unknown.setdefault(_shown_kind(written_kind), []).append(raw)
        elif meaning.kind is None:
            ignored[str(name)] += 1
        else:
            feature_id = _id(drawing.file, raw, properties, remarks)
            features.append(_Unnumbered(raw, meaning.kind, properties | dict(meaning.properties), feature_id))
    for shown_kind, raws in unknown.items():
        remarks.fault(drawing.file, _where(raws[0]), _unknown_kind(shown_kind, len(raws)))
    _note_ignored(ignored, remarks)
    if drawing.whole:
        _unused(drawing, renaming, remarks)
    _extra_columns(features, remarks)
    return _with_ids(drawing.file, features, remarks)


def _shown_kind(kind: object) -> str:
    """Return a kind as it is written, for messages; empty if it is missing."""
    if kind is None:
        return ""
    return shown(clean(kind) if isinstance(kind, str) else kind)


def _note_ignored(ignored: Counter[str], remarks: Remarks) -> None:
    """Note how many features of each kind [rename.kinds] leaves out."""
    for name, count in ignored.items():
        features = f"{count} features" if count > 1 else "One feature"
        text = f"{features} of kind {shown(name)} {'are' if count > 1 else 'is'} left out, as [rename.kinds] says."
        remarks.caution("left-out", "", text)


def feature_numbers(drawing: Drawing, named: Iterable[NamedFeature]) -> dict[str, int]:
    """Return the position in the file, from 1, of every feature by a unique name.

    The name is the id that messages use. If it occurs twice, or the feature has none, the name has the position.

    Parameters
    ----------
    drawing : Drawing
    named : iterable of NamedFeature
        From `named_features`.

    Examples
    --------
    >>> raw = [RawFeature(1, "a", {"kind": "door"}, None), RawFeature(2, None, {"kind": "dor"}, None)]
    >>> feature_numbers(Drawing("yard.geojson", tuple(raw)), [NamedFeature("a", "door", {}, None, number=1)])
    {'a': 1, 'feature 2': 2}
    """
    ids = {feature.number: feature.id for feature in named}
    numbers: dict[str, int] = {}
    for raw in drawing.features:
        name = ids.get(raw.number, f"feature {raw.number}")
        numbers[name if name not in numbers else f"{name} (feature {raw.number})"] = raw.number
    return numbers


def own_ids(drawing: Drawing, renaming: Renaming) -> dict[str, RawFeature]:
    """Return the features whose file gives them a unique id, by that id."""
    by_id: dict[str, list[RawFeature]] = {}
    for raw in drawing.features:
        name = _id(drawing.file, raw, _our_keys(raw.properties, renaming), Remarks())
        if name is not None:
            by_id.setdefault(name, []).append(raw)
    return {name: features[0] for name, features in by_id.items() if len(features) == 1}


def _our_keys(properties: Mapping[str, object], renaming: Renaming) -> dict[str, object]:
    """Return the properties that have a value, under siteplan's keys; a renamed one wins over one of that name."""
    with_value = {name: value for name, value in properties.items() if value is not None}
    plain = {name: value for name, value in with_value.items() if name not in renaming.keys}
    renamed = {renaming.keys[name]: value for name, value in with_value.items() if name in renaming.keys}
    return plain | renamed


def _code(kind: object) -> object:
    """Return a kind that is a number, as in many surveys, as the text by which [rename.kinds] can name it."""
    if isinstance(kind, float) and kind.is_integer():
        kind = int(kind)
    return shown(kind) if isinstance(kind, int) and not isinstance(kind, bool) else kind


def _meaning(name: object, renaming: Renaming) -> Meaning | None:
    if not isinstance(name, str):
        return None
    return renaming.kinds.get(name) or (Meaning(name) if name in KINDS else None)


def _where(raw: RawFeature) -> str:
    written_id = raw.own_id if raw.own_id is not None else raw.properties.get("id")
    return f"feature {raw.number}" + (f" ({shown(written_id)})" if written_id is not None else "")


def _unknown_kind(name: str, count: int) -> str:
    kinds = ", ".join(KINDS)
    others = f" (so are {count - 1} more)" if count > 1 else ""
    if not name:
        return f"kind is missing{others}; it must be one of {kinds}"
    hint = nearest(name.strip("'\""), list(KINDS))
    meant = f"did you mean {hint!r}?" if hint else f"it must be one of {kinds};"
    return f"kind {name} is not known{others}; {meant} other people's kinds go in [rename.kinds] of site.toml"


def _id(file: str, raw: RawFeature, properties: dict[str, object], remarks: Remarks) -> str | None:
    """Return a feature's id as text; None if it has none."""
    value = raw.own_id if raw.own_id is not None else properties.get("id")
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if value is None or (isinstance(value, str) and not clean(value)):
        return None
    not_finite = isinstance(value, float) and not math.isfinite(value)
    if isinstance(value, bool) or not_finite or not isinstance(value, (str, int, float)):
        remarks.fault(file, f"feature {raw.number}", f"id is {shown(value)}, must be a text or a number")
        return None
    written = clean(str(value))
    if not look(written):
        text = f"id holds no letter that is seen: {unseen_letters(written)}; write it anew, or leave it out"
        remarks.fault(file, f"feature {raw.number}", text)
        return None
    if len(written) > LONGEST_TEXT:
        remarks.fault(file, _where(raw), f"id is {len(written)} characters long, must be at most {LONGEST_TEXT}")
    return written


def _with_ids(file: str, features: list[_Unnumbered], remarks: Remarks) -> tuple[NamedFeature, ...]:
    """Return the features, with ids of kind and number for those that have none; a repeated id is a fault."""
    by_look: dict[str, _Unnumbered] = {}
    for feature in features:
        if feature.id is None:
            continue
        id_look = look(feature.id)
        if id_look in by_look:
            remarks.fault(file, label(feature.kind, feature.id), _twice(by_look[id_look], feature))
        else:
            by_look[id_look] = feature
    named = []
    counts: dict[str, int] = {}
    for feature in features:
        counts[feature.kind] = counts.get(feature.kind, 0) + 1
        feature_id = feature.id
        if feature_id is None:
            number = counts[feature.kind]
            while look(f"{feature.kind}-{number}") in by_look:
                number += 1
            feature_id = f"{feature.kind}-{number}"
            by_look[feature_id] = feature
        raw = feature.raw
        named.append(NamedFeature(feature_id, feature.kind, feature.properties, raw.shape, raw.trouble, raw.number))
    return tuple(named)


def _twice(first: _Unnumbered, second: _Unnumbered) -> str:
    """Return what is wrong with two ids that are equal or look equal."""
    first_id, second_id = _written_id(first), _written_id(second)
    positions = f"features {first.raw.number} and {second.raw.number}"
    if first_id == second_id or (first.id == second.id and first_id.isdecimal()):
        return f"its id stands twice, in {positions}; ids are unique"
    difference = unseen_difference(first_id, second_id)
    return f"its id looks the same in {positions}; they differ by {difference}; write each id anew"


def _written_id(feature: _Unnumbered) -> str:
    """Return the id of a feature that has one, as the file has it."""
    raw = feature.raw
    return str(raw.own_id if raw.own_id is not None else feature.properties["id"])


def _unused(drawing: Drawing, renaming: Renaming, remarks: Remarks) -> None:
    """Note names in [rename] that no feature has: most likely a spelling mistake."""
    keys = {key for raw in drawing.features for key in raw.properties}
    for name in renaming.keys:
        if name not in keys:
            remarks.caution("rename-unused", "", f"[rename.keys] names {shown(name)}, which no feature has.")
    kinds = {clean(value) for raw in drawing.features if isinstance(value := _code(_raw_kind(raw, renaming)), str)}
    for name in renaming.kinds:
        if name not in kinds:
            remarks.caution("rename-unused", "", f"[rename.kinds] names {shown(name)}, which no feature is.")


def _raw_kind(raw: RawFeature, renaming: Renaming) -> object:
    return _our_keys(raw.properties, renaming).get("kind")


def _extra_columns(named: list[_Unnumbered], remarks: Remarks) -> None:
    """Note the properties that are ignored, and those that look like a misspelt key."""
    extra: dict[str, None] = {}
    slips: dict[tuple[str, str], list[_Unnumbered]] = {}
    for feature in named:
        fields = KINDS[feature.kind].fields
        for key in feature.properties.keys() - {"id", "kind", *fields}:
            hint = None if key in PROPERTY_KEYS else nearest(key, fields, likeness=ALIKE)
            if hint and hint not in feature.properties:
                slips.setdefault((key, hint), []).append(feature)
            else:
                extra[key] = None
    for (key, hint), misspelt in sorted(slips.items(), key=lambda slip: slip[1][0].raw.number):
        first = misspelt[0].id or f"feature {misspelt[0].raw.number}"
        others = f" So it is in {len(misspelt) - 1} more." if len(misspelt) > 1 else ""
        remarks.caution("looks-like-a-slip", first, f"{shown(key)} is ignored; did you mean {hint!r}?{others}")
    if extra:
        listed = ", ".join(shown(key) for key in sorted(extra))
        remarks.caution("extra-columns", "", f"These properties mean nothing here and are ignored: {listed}.")
