"""How are a file's own names of kinds and properties translated into siteplan's?

[rename.keys] maps properties, [rename.kinds] maps kinds and may add a property, as surface:grass does.
A renamed property keeps its value and its unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from siteplan.files.drawing.kinds import KINDS, PROPERTY_KEYS
from siteplan.files.remarks import clean
from siteplan.files.site_toml.keys import Keys
from siteplan.land.features import SURFACES
from siteplan.land.values import nearest, shown

IGNORE = "ignore"


@dataclass(frozen=True)
class Meaning:
    """What a kind in the file means: siteplan's kind, and properties that come with it; kind None is ignored."""

    kind: str | None
    properties: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Renaming:
    """siteplan's keys and kinds, by the names in the file."""

    keys: Mapping[str, str] = field(default_factory=dict)
    kinds: Mapping[str, Meaning] = field(default_factory=dict)


def read_renaming(rename: Keys) -> Renaming:
    """Return the tables [rename.keys] and [rename.kinds]."""
    tables = {}
    for name in ("keys", "kinds"):
        tables[name] = rename.nested(rename.table(name) or {}, f"[rename.{name}]")
    rename.no_others()
    keys: dict[str, str] = {}
    for name in tables["keys"].values:
        if (key := _our_key(tables["keys"], name)) is not None:
            keys[name] = key
    kinds: dict[str, Meaning] = {}
    for name in tables["kinds"].values:
        if (meaning := _meaning(tables["kinds"], name)) is not None:
            kinds[clean(name)] = meaning
    return Renaming(keys, kinds)


def _our_key(keys: Keys, name: str) -> str | None:
    """Return the key of siteplan that a property's name stands for; None if it is not known."""
    key = keys.text(name)
    if key is None or key in PROPERTY_KEYS:
        return key
    hint = nearest(key, PROPERTY_KEYS)
    meant = f"did you mean {hint!r}?" if hint else f"(known: {', '.join(sorted(PROPERTY_KEYS))})"
    keys.fault(f"{shown(name)} = {shown(key)}: that key is not known; {meant}")
    return None


def _meaning(keys: Keys, name: str) -> Meaning | None:
    """Return the meaning of a kind from its new name: `kind`, `ignore`, `surface:grass` or `keepout:water`."""
    new_name = keys.text(name)
    if new_name is None:
        return None
    kind, colon, detail = (part.strip() for part in new_name.partition(":"))
    if new_name == IGNORE:
        return Meaning(None)
    if not colon and kind in KINDS:
        return Meaning(kind)
    if kind == "surface" and detail in SURFACES:
        return Meaning(kind, {"surface": detail})
    if kind == "keepout" and detail:
        return Meaning(kind, {"reason": detail})
    if kind == "surface":
        hint = nearest(detail, SURFACES)
        meant = f"did you mean 'surface:{hint}'?" if hint else f"(surfaces: {', '.join(SURFACES)})"
    else:
        hint = nearest(kind, [*KINDS, IGNORE])
        meant = f"did you mean {hint!r}?" if hint else f"(known: {', '.join(sorted([*KINDS, IGNORE]))})"
    keys.fault(f"{shown(name)} = {shown(new_name)}: that is not a kind; {meant}")
    return None
