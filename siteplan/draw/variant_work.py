"""How is a change of the page stored in a variant, and a variant adopted as the property?

What is drawn while a variant is open is compared with the property; the variant stores only the differences.
`property_files` writes the files.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from shapely.geometry import mapping

from siteplan.draw.property_view import names_of
from siteplan.files.checked import SiteFiles
from siteplan.files.drawing.editing import edited_features, same_value
from siteplan.files.drawing.naming import own_ids
from siteplan.files.drawing.vector import RawFeature, read_drawing
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.editing import edited_settings
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import drawing_unit, read_values, settings_of
from siteplan.files.variants import Variant, read_variant, varied_drawing
from siteplan.land.errors import Fault, InputError

Json = dict[str, Any]
_NAMELESS = (
    "has no id of its own, by which a variant could name it; change it in the property first, which gives it one"
)


def sound_variant(folder: Path, name: str) -> Variant:
    """Return a variant of a site, or raise its faults."""
    remarks = Remarks()
    variant = read_variant(folder, name, remarks)
    if variant is None:
        raise InputError(remarks.faults)
    return variant


def property_read(folder: Path) -> SiteFiles:
    """Return what the files of the property itself say, or raise InputError if they cannot be read."""
    remarks = Remarks()
    values = read_values(folder, remarks)
    if values is None:
        raise InputError(remarks.faults)
    unit = drawing_unit(values, None)
    settings = settings_of(values, folder, Remarks(unit=unit))
    drawing = read_drawing(folder / settings.features, settings, remarks, lambda share: None)  # noqa: ARG005
    if drawing is None:
        raise InputError(remarks.faults)
    return SiteFiles(values, settings, drawing, drawing_unit(values, drawing.crs))


def edited_variant(
    variant: Variant, base: SiteFiles, put: Sequence[Json], remove: Sequence[str], settings: Mapping[str, Any]
) -> Variant:
    """Return a variant with a change of the page in it.

    Parameters
    ----------
    variant : Variant
    base : SiteFiles
        What the files of the property itself say.
    put : sequence of dict
        Features in the coordinates of the file, as `page_features.to_file` gives them.
    remove : sequence of str
        Ids.
    settings : mapping of str to value or None

    Raises
    ------
    InputError
        If a feature has no id of its own, by which a variant could name it.
    """
    base_features, (numbers, _) = features_with_ids(base), names_of(base)
    names = [*(feature["id"] for feature in put), *remove]
    nameless = [name for name in names if name in numbers and name not in base_features]
    if nameless:
        raise InputError([Fault("", name, _NAMELESS) for name in nameless])
    added = {feature["id"]: feature for feature in variant.added}
    changed, removed = dict(variant.changed), dict.fromkeys(variant.removed)
    for name in remove:
        changed.pop(name, None)
        if added.pop(name, None) is None or name in base_features:
            removed[name] = None
    for feature in put:
        name = feature["id"]
        if name in added or name not in base_features:
            added[name] = _added_feature(added.get(name), feature)
        else:
            change = _difference(base_features[name], feature, {} if name in removed else changed.get(name, {}))
            changed.pop(name, None)
            removed.pop(name, None)
            changed |= {name: change} if change else {}
    return replace(
        variant,
        settings=_settings(variant, base.values or {}, settings),
        changed=changed,
        removed=tuple(removed),
        added=tuple(added.values()),
    )


def features_with_ids(base: SiteFiles) -> dict[str, RawFeature]:
    """Return the features of the property that have an id of their own."""
    if base.drawing is None or base.settings is None:
        return {}
    return own_ids(base.drawing, base.settings.renaming)


def _added_feature(before: Json | None, feature: Json) -> Json:
    """Return a feature that the variant adds; without a geometry, it keeps the one it had."""
    geometry = feature["geometry"] if "geometry" in feature else (before or {}).get("geometry")
    return {"type": "Feature", "id": feature["id"], "properties": feature["properties"], "geometry": geometry}


def _difference(raw: RawFeature, feature: Json, before: Mapping[str, Any]) -> Json:
    """Return how a feature differs from the property's."""
    old, new = raw.properties, feature["properties"]
    properties: Json = {key: value for key, value in new.items() if key not in old or not same_value(old[key], value)}
    properties |= {key: None for key, value in old.items() if key not in new and value is not None}
    change: Json = {"properties": properties} if properties else {}
    geometry = feature["geometry"] if "geometry" in feature else before.get("geometry")
    drawn = None if raw.shape is None else json.loads(json.dumps(mapping(raw.shape)))
    if geometry is not None and not same_value(drawn, geometry):
        change["geometry"] = geometry
    return change


def _settings(variant: Variant, values: Mapping[str, object], settings: Mapping[str, Any]) -> Json:
    """Return the settings of a variant that differ from the property's, after a change."""
    varied = dict(variant.settings)
    for path, value in settings.items():
        table, _, key = path.rpartition(".")
        container = values.get(table) if table else values
        base_value = container.get(key) if isinstance(container, Mapping) else None
        varied.pop(path, None)
        if not same_value(base_value, value):
            varied[path] = value
    return varied


def adopted(variant: Variant, base: SiteFiles, texts: Mapping[str, str], features: str) -> dict[str, bytes | None]:
    """Return the files of the property after it adopts a variant, whose own file is removed.

    Parameters
    ----------
    variant : Variant
    base : SiteFiles
        What the files of the property itself say.
    texts : mapping of str to str
        Text of site.toml and of the features file, by name.
    features : str
        Name of the features file.

    Raises
    ------
    InputError
        If a change of the variant no longer applies.
    """
    changes: dict[str, bytes | None] = {variant.file: None}
    if base.drawing is None or base.settings is None:
        return changes
    remarks = Remarks()
    renaming = base.settings.renaming
    varied = varied_drawing(base.drawing, variant, renaming, remarks)
    if remarks.faults:
        raise InputError(remarks.faults)
    varied_features = own_ids(varied, renaming)
    put: list[Json] = []
    for name, change in variant.changed.items():
        feature = {"type": "Feature", "id": name, "properties": dict(varied_features[name].properties)}
        if "geometry" in change:
            feature["geometry"] = change["geometry"]
        put.append(feature)
    numbers, _ = names_of(base)
    replaced = {feature["id"] for feature in variant.added} & set(variant.removed)
    put += [_added_feature(None, feature) for feature in variant.added]
    if put or variant.removed:
        text = edited_features(texts[features], put, set(variant.removed) - replaced, numbers)
        changes[features] = text.encode("utf-8")
    if variant.settings:
        changes[SETTINGS_FILE] = edited_settings(texts[SETTINGS_FILE], variant.settings).encode("utf-8")
    return changes
