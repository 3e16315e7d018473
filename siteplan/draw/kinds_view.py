"""Which kinds of feature does the page offer, and which values may each of their properties and each setting have?

All is taken from the fields of the records, where ranges, defaults and meanings are declared once.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

from siteplan.files.drawing.kinds import ADVICE, KINDS, Kind
from siteplan.files.schema import as_written
from siteplan.files.site_toml.settings import TABLES, TOP, Settings
from siteplan.land.nested import Several
from siteplan.land.record import Field, fields_of
from siteplan.land.values import Lengths, Money, OneOf, Quantity, Rule, Side, Whole

Json = dict[str, Any]


@cache
def kinds_view() -> Json:
    """Return every kind with its keys, for the page; each key is described as in `settings_view`."""
    return {"kinds": [_kind(name, kind) for name, kind in KINDS.items()]}


@cache
def settings_view() -> dict[str, Json]:
    """Return the description of every single setting by its path: ``name``, ``sun.need``.

    Examples
    --------
    >>> settings_view()["sun.need"]["rule"]
    {'type': 'quantity', 'span': 'above 0, to 16 h', 'dimension': 'time', 'above': 0, 'most': 16, 'unit': 'h'}
    """
    top = fields_of(Settings)
    fields = {name: top[name] for name in TOP}
    for table, records in TABLES.items():
        fields |= {f"{table}.{name}": field for record in records for name, field in fields_of(record).items()}
    return {path: _key(field) for path, field in fields.items()}


def _key(field: Field) -> Json:
    """Return the description of one key: its meaning, its rule, and its default as it is written in a file."""
    return {"name": field.name, "says": field.meaning, "rule": _rule(field.rule), "default": as_written(field)}


def _kind(name: str, kind: Kind) -> Json:
    keys = []
    for key, field in kind.fields.items():
        view = _key(field)
        alternatives = [alternative for name, alternative in kind.or_else if name == key]
        required = key in kind.required or bool(alternatives)
        required_of = [geometry_type for geometry_type, name in kind.by_shape if name == key]
        view |= {"required": required, "required_of": required_of}
        view |= {"instead": alternatives, "advice": ADVICE.get(key, "") if required or required_of else ""}
        if isinstance(field.rule, Several):
            view["each"] = [_key(inner_field) for inner_field in fields_of(field.rule.record).values()]
        keys.append(view)
    return {"kind": name, "word": name, "geometry": list(kind.shapes), "parts": kind.parts, "keys": keys}


def _rule(rule: Rule | None) -> Json:
    """Return a rule as JSON; the ends of a range are in the kernels' unit, given as ``unit``."""
    if rule is None:
        return {"type": "month-day", "span": "month-day"}
    view: Json = {"type": _TYPES.get(type(rule), type(rule).__name__.lower()), "span": rule.span}
    if isinstance(rule, OneOf):
        return view | {"choices": list(rule.words)}
    if isinstance(rule, Whole):
        return view | {"least": rule.least, "most": rule.most}
    quantity: Rule = rule
    if isinstance(rule, Side):
        quantity = rule.angle
    elif isinstance(rule, Lengths):
        quantity = rule.each
    if isinstance(quantity, Quantity | Money):
        view |= {"dimension": quantity.dimension} if isinstance(quantity, Quantity) else {}
        ends = {"above": quantity.above, "least": quantity.least, "most": quantity.most}
        view |= {name: end for name, end in ends.items() if end is not None and math.isfinite(end)}
        if isinstance(quantity, Quantity):
            view |= {"unit": quantity.unit} | ({"usual": list(quantity.usual)} if quantity.usual else {})
            view |= {"spread": True} if quantity.spread else {}  # "24 ft +- 2 ft" is allowed
    return view


_TYPES: dict[type, str] = {OneOf: "choice", Quantity: "quantity", Several: "several"}
