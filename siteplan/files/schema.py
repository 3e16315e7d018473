"""What is allowed in site.toml, in a GeoJSON of features and in a variant, as JSON Schemas for editors?

Three documents of draft 2020-12, made from the records' fields, with the ranges and meanings that the reader uses.
They are in data/schema and are copied beside a new site. Only `siteplan check` checks values against one another.
"""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from siteplan.files.drawing.kinds import KINDS, PROPERTY_KEYS, Kind
from siteplan.files.site_toml.keys import is_read
from siteplan.files.site_toml.renaming import IGNORE
from siteplan.files.site_toml.settings import LISTS, MAY_LACK, TABLES, TOP, Settings
from siteplan.land.constants import Material
from siteplan.land.features import SURFACES, MonthDay
from siteplan.land.layers import SHARE, LayerSpec
from siteplan.land.nested import Ring, Several
from siteplan.land.record import Field, Record, fields_of
from siteplan.land.site import Offer
from siteplan.land.units import si_value
from siteplan.land.values import Day, Flag, Layers, Lengths, Mix, Money, Names, OneOf, Quantity, Side, Text, Whole
from siteplan.land.walls import PieceOffer
from siteplan.land.written import written

Schema = dict[str, Any]

SITE_SCHEMA, FEATURES_SCHEMA, VARIANT_SCHEMA = "site.schema.json", "features.schema.json", "variant.schema.json"
DRAFT = "https://json-schema.org/draft/2020-12/schema"
_NUMBER_FIRST = r"^\s*\+?(\d|\.\d)"
#: how many lists the coordinates of a geometry type are nested in
_NESTED = {"Point": 0, "LineString": 1, "Polygon": 2, "MultiPoint": 1, "MultiLineString": 2, "MultiPolygon": 3}


def schemas() -> dict[str, str]:
    """Return the text of the schemas by the name of their file."""
    by_file = {SITE_SCHEMA: site_schema(), FEATURES_SCHEMA: features_schema(), VARIANT_SCHEMA: variant_schema()}
    return {name: json.dumps(schema, indent=1, ensure_ascii=False) + "\n" for name, schema in by_file.items()}


def write_schemas(folder: Path) -> None:
    """Write the schemas to a folder, such as data/schema after a record has changed."""
    for name, text in schemas().items():
        (folder / name).write_text(text, encoding="utf-8")


def site_schema() -> Schema:
    """Return the schema of site.toml.

    Examples
    --------
    >>> site_schema()["properties"]["barrow"]["properties"]["load"]["anyOf"][0]
    {'type': 'number', 'minimum': 1.0, 'maximum': 1000.0}
    """
    properties = {name: _value(field) for name, field in fields_of(Settings).items() if name in TOP}
    properties |= {name: _table(*records) for name, records in TABLES.items()}
    properties |= {name: {"type": "array", "items": _table(record)} for name, record in LISTS.items()}
    properties["offer"]["items"] = {"anyOf": [_table(Offer), _table(PieceOffer)]}
    properties["rename"] = _rename()
    return {"$schema": DRAFT, "title": "siteplan: site.toml"} | _closed(properties)


def features_schema() -> Schema:
    """Return the schema of a GeoJSON FeatureCollection of features; unknown properties are allowed.

    Examples
    --------
    >>> features_schema()["$defs"]["keepout"]["required"]
    ['reason']
    """
    boundary = {"properties": {"properties": {"properties": {"kind": {"const": "boundary"}}, "required": ["kind"]}}}
    return {
        "$schema": DRAFT,
        "title": "siteplan: features",
        "type": "object",
        "required": ["type", "features"],
        "properties": {
            "type": {"const": "FeatureCollection"},
            "features": {
                "type": "array",
                "items": _feature(),
                "contains": boundary,
                "minContains": 1,
                "maxContains": 1,
            },
        },
        "$defs": {name: _properties(kind) for name, kind in KINDS.items()}
        | {name: _geometry(name) for name in _NESTED},
    }


def variant_schema() -> Schema:
    """Return the schema of a variant of a property: its changes of settings and features.

    Examples
    --------
    >>> list(variant_schema()["properties"])
    ['$schema', 'settings', 'changed', 'removed', 'added']
    """
    top = {name: _value(field) for name, field in fields_of(Settings).items() if name in TOP and name != "features"}
    inside: Schema = {}
    for table, records in TABLES.items():
        for record in records:
            inside |= {f"{table}.{name}": _value(field) for name, field in fields_of(record).items()}
    del inside["origin.unit"]  # the unit of the drawing is that of the property
    settings = {path: {"anyOf": [schema, {"type": "null"}]} for path, schema in (top | inside).items()}
    geometry = {"anyOf": [{"$ref": f"#/$defs/{name}"} for name in _NESTED]}
    change = _closed({"properties": {"type": "object"}, "geometry": geometry}) | {"minProperties": 1}
    parts = {
        "$schema": {"type": "string"},
        "settings": _closed(settings) | {"description": "by table and key; null leaves one out"},
        "changed": {
            "type": "object",
            "additionalProperties": change,
            "description": "by the id of a feature: properties, of which null leaves one out, and where it lies",
        },
        "removed": {"type": "array", "items": {"type": "string"}, "description": "ids of features"},
        "added": {"type": "array", "items": _feature() | {"required": ["type", "id", "properties", "geometry"]}},
    }
    defs = {name: _properties(kind) for name, kind in KINDS.items()} | {name: _geometry(name) for name in _NESTED}
    return {"$schema": DRAFT, "title": "siteplan: a variant of a property"} | _closed(parts) | {"$defs": defs}


def _feature() -> Schema:
    names = {"type": "object", "required": ["kind"], "properties": {"kind": {"enum": list(KINDS)}}}
    return {
        "type": "object",
        "required": ["type", "properties", "geometry"],
        "properties": {
            "type": {"const": "Feature"},
            "id": {"type": ["string", "number"], "description": "its name; each feature has its own"},
            "properties": names,
        },
        "allOf": [_of_kind(name, kind) for name, kind in KINDS.items()],
    }


def _of_kind(name: str, kind: Kind) -> Schema:
    """Return the schema of features of one kind: if the kind is this one, then these properties and geometries."""
    shapes = [{"$ref": f"#/$defs/{prefix}{shape}"} for shape in kind.shapes for prefix in ("", "Multi")]
    then: Schema = {"properties": {"properties": {"$ref": f"#/$defs/{name}"}, "geometry": {"anyOf": shapes}}}
    for shape, key in kind.by_shape:
        required = [{"required": [key]}] + ([{"required": ["crown_radius"]}] if key == "crown_diameter" else [])
        then |= {
            "if": {"properties": {"geometry": {"properties": {"type": {"const": shape}}}}},
            "then": {"properties": {"properties": {"anyOf": required}}},
        }
    is_it = {"properties": {"properties": {"properties": {"kind": {"const": name}}, "required": ["kind"]}}}
    return {"if": is_it, "then": then}


def _geometry(name: str) -> Schema:
    """Return the schema of a geometry of one type."""
    coordinates: Schema = {"type": "array", "items": {"type": "number"}, "minItems": 2}
    for _ in range(_NESTED[name]):
        coordinates = {"type": "array", "items": coordinates, "minItems": 1}
    properties = {"type": {"const": name}, "coordinates": coordinates}
    return {"type": "object", "required": ["type", "coordinates"], "properties": properties}


def _properties(kind: Kind) -> Schema:
    """Return the schema of the properties of a kind; null is allowed for a property that may be left out."""
    properties: Schema = {}
    for name, field in kind.fields.items():
        value_schema = _value(field)
        properties[name] = value_schema if name in kind.required else {"anyOf": [value_schema, {"type": "null"}]}
    schema: Schema = {"type": "object", "properties": properties, "required": list(kind.required)}
    return schema | (
        {"allOf": [{"anyOf": list(map(_given, names))} for names in kind.or_else]} if kind.or_else else {}
    )


def _given(name: str) -> Schema:
    """Return the schema of an object in which a property is given and not null."""
    return {"required": [name], "properties": {name: {"not": {"type": "null"}}}}


def _table(*records: type[Record]) -> Schema:
    """Return the schema of a table whose keys are the fields of some records."""
    properties: Schema = {}
    required: list[str] = []
    for record in records:
        may_lack = MAY_LACK.get(record, ())
        for name, field in fields_of(record).items():
            properties[name] = _value(field)
            required += [name] if field.required and name not in may_lack else []
    schema = _closed(properties)
    (first, *_) = records
    if first is Material:
        required = ["name"]  # a known material keeps the figures that are left out
    if first in {LayerSpec, Offer}:
        required.remove("material")
        schema["anyOf"] = [{"required": ["material"]}, {"required": ["mix"]}]
    if first.exactly_one:
        schema["oneOf"] = [{"required": [name]} for name in first.exactly_one]
    return schema | ({"required": required} if required else {})


def _closed(properties: Schema) -> Schema:
    return {"type": "object", "additionalProperties": False, "properties": properties}


def _rename() -> Schema:
    kinds = [*KINDS, IGNORE, *(f"surface:{name}" for name in SURFACES)]
    meaning = {"anyOf": [{"enum": kinds}, {"type": "string", "pattern": "^keepout:."}]}
    return _closed(
        {
            "keys": {"type": "object", "additionalProperties": {"enum": sorted(PROPERTY_KEYS)}},
            "kinds": {"type": "object", "additionalProperties": meaning},
        }
    )


def _value(field: Field) -> Schema:
    """Return the schema of one value, with its meaning and its default."""
    if not is_read(field):
        return _layer_list() | {"description": field.meaning}
    rule = field.rule
    schema = _month_day() if rule is None else _RULES[type(rule)](rule)
    span = "" if rule is None else f" ({rule.span})"
    meaning = f"{field.name.replace('_', ' ')} {field.meaning}" if field.meaning.startswith("of ") else field.meaning
    schema = schema | {"description": f"{meaning}{span}"}
    default = as_written(field)
    return schema if default is None else schema | {"default": default}


def as_written(field: Field) -> object:
    """Return a field's default as a file would have it; None if it has none, or none that can be written.

    Examples
    --------
    >>> from siteplan.land.site import Barrow
    >>> as_written(fields_of(Barrow)["volume"]), as_written(fields_of(Barrow)["count"])
    ('85 L', 1)
    """
    default = field.default
    if default in (None, "", dataclasses.MISSING, math.inf) or isinstance(default, tuple):
        return None
    if isinstance(default, float) and math.isnan(default):
        return None
    if isinstance(field.rule, Quantity):
        plain = field.rule.dimension in {"fraction", "angle", "concentration"}
        return default if plain else written(default, field.rule.dimension)
    return str(default) if isinstance(default, (MonthDay, date)) else default


def _quantity(rule: Quantity) -> Schema:
    """Return the schema of a quantity: a plain number in its range, or a text that begins with a number.

    A plain length is in the unit of the drawing, which a schema does not know: only its lower end 0 is kept.
    """
    plain = si_value(1.0, rule.dimension)
    number: Schema = {"type": "number"}
    ends = {"exclusiveMinimum": rule.above, "minimum": rule.least, "maximum": rule.most}
    if rule.dimension == "length":
        if rule.low >= 0:
            number |= {"exclusiveMinimum": 0} if rule.low > 0 or rule.above == 0 else {"minimum": 0}
        ends = {}
    for name, end in ends.items():
        if end is not None and math.isfinite(end):
            number[name] = float(f"{end / plain:.10g}")
    pattern = _NUMBER_FIRST if rule.low >= 0 else _NUMBER_FIRST.replace(r"\+?", "[+-]?")
    return {"anyOf": [number, {"type": "string", "pattern": pattern}]}


def _money(rule: Money) -> Schema:
    number = {"type": "number", "minimum": 0, "maximum": rule.most}
    return {"anyOf": [number, {"type": "string", "pattern": r"^\s*([A-Z]{3}\s*)?(\d|\.\d)"}]}


def _text(rule: Text) -> Schema:
    pattern = {"pattern": f"^{rule.pattern}$"} if rule.pattern else {}
    return {"type": "string", "minLength": 1, "maxLength": rule.longest} | pattern


def _mix(_: Mix) -> Schema:
    return {"type": "object", "minProperties": 1, "additionalProperties": _quantity(SHARE)}


def _layer_list() -> Schema:
    return {"type": "array", "minItems": 1, "items": _table(LayerSpec)}


def _month_day() -> Schema:
    return {"type": "string", "pattern": r"^\s*(0?[1-9]|1[0-2])-(0?[1-9]|[12]\d|3[01])\s*(([+]-|±).*)?$"}


def _side(rule: Side) -> Schema:
    number, text = _quantity(rule.angle)["anyOf"]
    points = "^[A-Za-z -]+$" if rule.poleward else "^(?![Pp]oleward)[A-Za-z -]+$"
    return {"anyOf": [number, {"type": "string", "pattern": f"{text['pattern']}|{points}"}]}


def _ring(_: Ring) -> Schema:
    corner = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    return {"type": "array", "items": corner, "minItems": 3}


def _several(rule: Several) -> Schema:
    """Return the schema of a list of records; a GIS column holds the same as a text of JSON."""
    return {"anyOf": [{"type": "array", "minItems": 1, "items": _table(rule.record)}, {"type": "string"}]}


def _names(_: Names) -> Schema:
    return {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}


_RULES: Mapping[type, Callable[[Any], Schema]] = {
    Quantity: _quantity,
    Money: _money,
    Whole: lambda rule: {"type": "integer", "minimum": rule.least, "maximum": rule.most},
    OneOf: lambda rule: {"enum": list(rule.words)},
    Flag: lambda _: {"enum": [True, False, 1, 0, "true", "false"]},
    Text: _text,
    Day: lambda _: {"type": "string", "format": "date", "pattern": r"^\d{4}-\d\d-\d\d"},
    Mix: _mix,
    Names: _names,
    Lengths: lambda rule: {
        "anyOf": [{"type": "array", "minItems": 1, "items": _quantity(rule.each)}, *_quantity(rule.each)["anyOf"]]
    },
    Layers: lambda _: {"anyOf": [{"type": "string", "minLength": 1}, _layer_list()]},
    Side: _side,
    Ring: _ring,
    Several: _several,
}
