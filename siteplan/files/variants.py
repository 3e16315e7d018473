"""What is different in a named variant of the property?

A variant is a small JSON file that holds only changes: settings, and features that are changed, removed or added. The
changes are applied to the property as it is now; a change that no longer applies is a fault.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from siteplan.files.drawing.naming import named_features, own_ids
from siteplan.files.drawing.vector import Drawing, RawFeature, raw_feature
from siteplan.files.look_alike import look, unseen_letters
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.editing import setting_keys, with_settings
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.text import read_text
from siteplan.land.values import nearest, shown

FOLDER = "variants"
_NAMED = 10  # variants that a fault lists
LONGEST_NAME = 60
_PARTS = ("settings", "changed", "removed", "added")
_NOT_IN_NAMES = '<>:"/\\|?*'  # characters that some system does not allow in file names
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in "123456789¹²³")}
Json = dict[str, Any]


@dataclass(frozen=True)
class Variant:
    """The changes of one variant.

    Attributes
    ----------
    name : str
        As its file, without ``.json``.
    settings : mapping of str to value or None
        By their path, as ``sun.need``; None removes one.
    changed : mapping of str to mapping
        By the id of a feature: ``properties``, of which None removes one, and ``geometry``.
    removed : tuple of str
        Ids.
    added : tuple of mapping
        GeoJSON Features, each with its id, in the coordinates of the drawing.
    """

    name: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    changed: Mapping[str, Json] = field(default_factory=dict)
    removed: tuple[str, ...] = ()
    added: tuple[Json, ...] = ()

    @property
    def file(self) -> str:
        """Name of its file within the site's folder."""
        return f"{FOLDER}/{self.name}.json"

    def text(self) -> str:
        """Return the text of its file, formatted to be read and edited by hand."""
        parts: Json = {"$schema": "../.variant.schema.json"}
        parts |= {name: getattr(self, name) for name in _PARTS if getattr(self, name)}
        lines = [f"{json.dumps(name)}: {_formatted(value)}" for name, value in parts.items()]
        return "{\n" + ",\n".join(lines) + "\n}\n"


def _formatted(value: Any) -> str:
    """Return a part of a variant's file, one entry per line."""
    if isinstance(value, Mapping) and value:
        lines = [f"  {json.dumps(key, ensure_ascii=False)}: {_line(entry)}" for key, entry in value.items()]
        return "{\n" + ",\n".join(lines) + "\n}"
    if isinstance(value, tuple) and any(isinstance(entry, Mapping) for entry in value):
        return "[\n" + ",\n".join(f"  {_line(entry)}" for entry in value) + "\n]"
    return _line(value)


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def name_fault(name: str, taken: Iterable[str] = ()) -> str:
    """Return why a variant cannot have a name; empty if it can.

    Parameters
    ----------
    name : str
    taken : iterable of str
        Names of the other variants.

    Examples
    --------
    >>> name_fault("without the plum"), name_fault("../x"), name_fault("Con")
    ('', "holds '/'; leave it out", 'is kept by Windows for a device; choose another')
    """
    if not name.strip():
        return "is empty; say in a few words what is different, as in: without the plum"
    if len(name) > LONGEST_NAME:
        return f"is {len(name)} letters long, must be at most {LONGEST_NAME}"
    if trouble := _letters_fault(name):
        return trouble
    if name.partition(".")[0].strip().lower() in _DEVICES:
        return "is kept by Windows for a device; choose another"
    same_look = next((other for other in taken if look(other).casefold() == name.casefold()), None)
    return "" if same_look is None else f"is taken already ({shown(same_look)}); choose another"


def _letters_fault(name: str) -> str:
    """Return which characters of a name are not allowed in file names or are invisible; empty if none."""
    odd = next((letter for letter in name if _is_forbidden(letter)), None)
    if odd is not None:
        return f"holds {shown(odd)}; leave it out"
    if look(name) != name:
        unseen = (
            unseen_letters(unicodedata.normalize("NFC", name)) or "accents apart from their letters, or more spaces"
        )
        return f"holds {unseen}; write it anew"
    return "begins or ends with a full stop; leave that out" if "." in {name[0], name[-1]} else ""


def _is_forbidden(letter: str) -> bool:
    return letter in _NOT_IN_NAMES or unicodedata.category(letter) in {"Cc", "Cs", "Cn"}


def variant_names(folder: Path) -> tuple[str, ...]:
    """Return the names of a site's variants in alphabetical order; files with impossible names are ignored."""
    files = (folder / FOLDER).glob("*.json")
    return tuple(sorted(path.stem for path in files if not name_fault(path.stem)))


def plan_folder(variant: str | None) -> str:
    """Return the name of the folder, in the site's folder, for the plan of the property or of a variant."""
    return "plan" if variant is None else f"plan-{variant}"


def read_variant(folder: Path, name: str, remarks: Remarks) -> Variant | None:
    """Return a variant of a site by its name, or None if a fault is noted."""
    if trouble := name_fault(name):
        remarks.fault("", "--variant", f"the name {shown(name)} {trouble}")
        return None
    names = variant_names(folder)
    if name not in names:
        hint = nearest(name, names)
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        there = f"there are {', '.join(map(shown, names[:_NAMED])) or 'none'}{more}"
        advice = f"did you mean {hint!r}?" if hint else there
        remarks.fault("", "--variant", f"there is no variant {shown(name)}; {advice}")
        return None
    text = read_text(folder / FOLDER / f"{name}.json", remarks)
    return None if text is None else variant_of(name, text, remarks)


def variant_of(name: str, text: str, remarks: Remarks) -> Variant | None:
    """Return a variant from the text of its file, or None if a fault is noted."""
    file = f"{FOLDER}/{name}.json"
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        remarks.fault(file, "", f"is not JSON: {error}")
        return None
    if not isinstance(document, dict):
        remarks.fault(file, "", f"is a {type(document).__name__}, must be an object with {', '.join(_PARTS)}")
        return None
    before = len(remarks.faults)
    for key in document.keys() - {*_PARTS, "$schema"}:
        hint = nearest(key, _PARTS)
        meant = f"did you mean {hint!r}?" if hint else f"(known: {', '.join(_PARTS)})"
        remarks.fault(file, "", f"{shown(key)} is not known; {meant}")
    kinds: dict[str, type] = {"settings": dict, "changed": dict, "removed": list, "added": list}
    parts = {key: document.get(key, kind()) for key, kind in kinds.items()}
    for key, kind in kinds.items():
        if not isinstance(parts[key], kind):
            remarks.fault(file, key, f"is {shown(parts[key])}, must be {'an object' if kind is dict else 'a list'}")
    if len(remarks.faults) > before:
        return None
    _check_settings(parts["settings"], file, remarks)
    _check_features(parts, file, remarks)
    if len(remarks.faults) > before:
        return None
    return Variant(name, parts["settings"], parts["changed"], tuple(parts["removed"]), tuple(parts["added"]))


def _check_settings(settings: Json, file: str, remarks: Remarks) -> None:
    keys = [key for key in setting_keys() if key not in {"features", "origin.unit"}]
    for key in settings:
        if key in {"features", "origin.unit"}:
            remarks.fault(file, key, "is that of the property; a variant cannot change it")
        elif key not in keys:
            hint = nearest(key, keys)
            remarks.fault(file, shown(key), "is not known" + (f"; did you mean {hint!r}?" if hint else ""))


def _check_features(parts: Json, file: str, remarks: Remarks) -> None:
    for name, change in parts["changed"].items():
        sound = isinstance(change, dict) and change.keys() <= {"properties", "geometry"}
        if not sound or not isinstance(change.get("properties", {}), dict):
            remarks.fault(file, shown(name), f"is changed to {shown(change)}, must have properties or a geometry")
    for name in parts["removed"]:
        if not isinstance(name, str):
            remarks.fault(file, "removed", f"{shown(name)} is no id; write the id as a text")
    for number, feature in enumerate(parts["added"], 1):
        sound = (
            isinstance(feature, dict)
            and feature.get("type") == "Feature"
            and isinstance(feature.get("properties"), dict)
        )
        if not sound or not isinstance(feature.get("id"), str):
            remarks.fault(file, "added", f"feature {number} must be a GeoJSON Feature with an id and properties")


def varied_values(values: Mapping[str, object], variant: Variant) -> dict[str, object]:
    """Return the values of site.toml with a variant's changes applied."""
    return with_settings(values, variant.settings)


def varied_drawing(drawing: Drawing, variant: Variant, renaming: Renaming, remarks: Remarks) -> Drawing:
    """Return the drawing with a variant's changes applied; a change that no longer applies is noted as a fault.

    Parameters
    ----------
    drawing : Drawing
        Of the property.
    variant : Variant
    renaming : Renaming
    remarks : Remarks
    """
    own_features = own_ids(drawing, renaming)
    _note_missing(own_features, drawing, variant, renaming, remarks)
    changed = _changed(own_features, variant, renaming)
    removed = {own_features[name].number for name in variant.removed if name in own_features}
    features = [changed.get(raw.number, raw) for raw in drawing.features if raw.number not in removed]
    last = max((raw.number for raw in drawing.features), default=0)
    for number, feature in enumerate(variant.added, last + 1):
        if feature["id"] in own_features and own_features[feature["id"]].number not in removed:
            text = "is in the property by now, and this variant adds it; give one of the two another id"
            remarks.fault(variant.file, shown(feature["id"]), text)
        else:
            features.append(raw_feature(number, feature))
    return replace(drawing, features=tuple(features))


def _note_missing(
    own_features: Collection[str], drawing: Drawing, variant: Variant, renaming: Renaming, remarks: Remarks
) -> None:
    """Note the ids of a variant that no feature has; those that siteplan made up itself may not be used."""
    gone = "is not in the property any more, and this variant"
    missing = dict.fromkeys(variant.changed, f"{gone} changes it; take it out of its changes")
    if drawing.whole:  # else the feature may be one that was not read
        missing |= dict.fromkeys(variant.removed, f"{gone} removes it; take it out of its list")
    missing = {name: text for name, text in missing.items() if name not in own_features}
    if missing:
        nameless = {feature.id for feature in named_features(drawing, renaming, Remarks())}
        advice = f"has no id of its own in {drawing.file}; give it one there, and name that here"
        for name, text in missing.items():
            remarks.fault(variant.file, shown(name), advice if name in nameless else text)


def _changed(own_features: Mapping[str, RawFeature], variant: Variant, renaming: Renaming) -> dict[int, RawFeature]:
    """Return the features that a variant changes, by their number."""
    changed = {}
    for name, change in variant.changed.items():
        if name not in own_features:
            continue
        raw = own_features[name]
        changed[raw.number] = replace(raw, properties=_new_properties(raw, change.get("properties", {}), renaming))
        if "geometry" in change:
            drawn = raw_feature(raw.number, {"geometry": change["geometry"]})
            changed[raw.number] = replace(changed[raw.number], shape=drawn.shape, trouble=drawn.trouble)
    return changed


def _new_properties(raw: RawFeature, change: Json, renaming: Renaming) -> Json:
    """Return a feature's properties after a change, which may name them by siteplan's keys or by the file's own."""
    our_keys = change.keys() - renaming.keys.keys()
    replaced = {name for name, key in renaming.keys.items() if key in our_keys}
    old = {name: value for name, value in raw.properties.items() if name not in replaced}
    return {name: value for name, value in {**old, **change}.items() if value is not None}
