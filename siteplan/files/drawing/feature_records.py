"""What does each drawn feature become?

Its values are read by its kind's table, its shape is laid in the frame, and the record checks itself.
It leaves out what features mean to one another, and gates, which need the fences first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.constant_tables import read_crops
from siteplan.files.drawing.kinds import ADVICE, BY_KIND, FLAGS, KINDS, MONTH_DAYS, POINT, QUANTITIES, TEXTS, WORDS
from siteplan.files.drawing.naming import Named
from siteplan.files.remarks import Remarks, shown
from siteplan.files.site_toml.keys import Keys, Quantity
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Feature,
    Fence,
    Hedge,
    Keepout,
    MonthDay,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.outline import COMPASS
from siteplan.land.values import nearest

# leaves stand from day 100 to day 300 (defaults of an urban-climate model for 45 to 55 N, seen second-hand),
# half a year later in the south
LEAVES_NORTH = (MonthDay(4, 10), MonthDay(10, 27))
LEAVES_SOUTH = (MonthDay(10, 9), MonthDay(4, 27))
EVERGREEN_TRANSMITTANCE = 0.10  # conifers 0.10 to 0.20, class table of an urban-climate model, seen second-hand
CROWN_BASE_SHARE = 0.25  # of the height; common practice, no source
CIRCLE = 8  # segments to a quarter of a crown drawn as a point

_SHORT = {"n": "north", "ne": "northeast", "e": "east", "se": "southeast"}
_SHORT |= {"s": "south", "sw": "southwest", "w": "west", "nw": "northwest"}

Values = dict[str, Any]


def feature_values(named: Named, shape_type: str, file: str, remarks: Remarks) -> Values | None:
    """Return a feature's values by key in the kernels' units, or None where one is missing or at fault.

    Parameters
    ----------
    shape_type : str
        ``Polygon``, ``LineString`` or ``Point``; some keys are required of one of them only. Empty where unknown.
    """
    kind = KINDS[named.kind]
    keys = Keys(named.properties, remarks, file=file, where=named.where)
    for known in ("id", "kind"):
        keys.has(known)
    before = len(remarks.faults)
    required = [*kind.required, *(key for at, key in kind.by_shape if at == shape_type)]
    if keys.has("crown_radius") and "crown_diameter" in required:
        required.remove("crown_diameter")
    for key in kind.keys:
        keys.has(key)
    for key in required:
        keys.require(key, ADVICE[key])
    values = {key: value for key in kind.keys if (value := _value(keys, named.kind, key)) is not None}
    return values if len(remarks.faults) == before else None


def _value(keys: Keys, kind: str, key: str) -> object:
    """Return one value, read as its key wants it."""
    if key in QUANTITIES:
        return keys.quantity(key, BY_KIND.get((kind, key), QUANTITIES[key]))
    if key in WORDS:
        return keys.word(key, WORDS[key])
    if key in FLAGS:
        return keys.flag(key)
    if key in MONTH_DAYS:
        return keys.month_day(key)
    if key in TEXTS:
        return keys.text(key)
    return _crops(keys, key) if key == "crops" else _side(keys, key)


def _crops(keys: Keys, key: str) -> tuple[str, ...] | None:
    """Return names of crops, from a list or from a text with commas; None where one is not known."""
    if not keys.has(key):
        return None
    value = keys.values[key]
    names = value.split(",") if isinstance(value, str) else value
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        keys.fault(f'{key} is {shown(value)}, must be names with commas, such as "tomato, lettuce"')
        return None
    known = list(read_crops())
    found = tuple(dict.fromkeys(name.strip().lower() for name in names if name.strip()))
    for name in found:
        if name not in known:
            hint = nearest(name, known)
            meant = f"did you mean {hint!r}?" if hint else f"known are {', '.join(known)}"
            keys.fault(f"{key}: {shown(name)} is not known; {meant}")
    return found if set(found) <= set(known) else None


def _side(keys: Keys, key: str) -> float | None:
    """Return a side as an azimuth: a compass point or an angle; None for poleward. [degrees]"""
    if not keys.has(key):
        return None
    value = keys.values[key]
    word = value.strip().lower().replace("-", "").replace(" ", "") if isinstance(value, str) else ""
    if word == "poleward":
        return None
    if (point := _SHORT.get(word, word)) in COMPASS:
        return COMPASS[point]
    if isinstance(value, str) and not any(letter.isdigit() for letter in value):
        hint = nearest(word, [*COMPASS, "poleward"])
        meant = f"; did you mean {hint!r}?" if hint else ""
        keys.fault(f"{key} {shown(value)} is no compass point{meant} (allowed: {', '.join(COMPASS)}, poleward)")
        return None
    angle = keys.quantity(key, Quantity("angle", -360, 360))
    return None if angle is None else angle % 360


def made_feature(named: Named, shape: BaseGeometry, values: Values, *, southern: bool, remarks: Remarks) -> Feature:
    """Return the record of a feature; ValueError where its values do not hold together.

    Parameters
    ----------
    shape : shapely geometry
        Sound, in the local frame. [m]
    values : dict
        From `feature_values`.
    southern : bool
        Whether the site lies south of the equator: leaves stand half a year later there.
    """
    if named.kind == "tree":
        return _tree(named.id, shape, values, southern=southern, remarks=remarks)
    return _MAKERS[named.kind](named.id, shape, values)


def _building(feature_id: str, shape: Any, values: Values) -> Building:
    if "ridge_heading" in values:
        values = values | {"ridge_heading": values["ridge_heading"] % 180}
    return Building(id=feature_id, outline=shape, **values)


def _tree(feature_id: str, shape: Any, values: Values, *, southern: bool, remarks: Remarks) -> Tree:
    given = dict(values)
    radius = given.pop("crown_radius", None)
    diameter = given.pop("crown_diameter", None)
    if shape.geom_type == POINT:
        half = diameter / 2 if diameter is not None else radius
        outline, trunk = shape.buffer(half, quad_segs=CIRCLE), shape
    else:
        middle = shape.centroid
        outline, trunk = shape, middle if shape.intersects(middle) else shape.representative_point()
    given.setdefault("crown_base", CROWN_BASE_SHARE * given["height"])
    if given.get("foliage") == "evergreen":
        if {"leaf_out", "leaf_fall", "transmittance_bare"} & given.keys():
            text = "It is evergreen, so leaf_out, leaf_fall and transmittance_bare are ignored."
            remarks.caution("evergreen", feature_id, text)
        given.setdefault("transmittance_leafy", EVERGREEN_TRANSMITTANCE)
        given |= {"leaf_out": None, "leaf_fall": None, "transmittance_bare": given["transmittance_leafy"]}
    else:
        leaf_out, leaf_fall = LEAVES_SOUTH if southern else LEAVES_NORTH
        given = {"leaf_out": leaf_out, "leaf_fall": leaf_fall} | given
        if given["leaf_out"] == given["leaf_fall"]:
            raise ValueError(f"leaf_out and leaf_fall are both {given['leaf_out']}; they must differ")
    return Tree(id=feature_id, outline=outline, trunk=trunk, **given)


def _hedge(feature_id: str, shape: Any, values: Values) -> Hedge:
    given = dict(values)
    width = given.pop("width", None)
    outline = shape
    if isinstance(shape, LineString | MultiLineString):
        outline = shape.buffer(width / 2, cap_style="flat", join_style="mitre")
    return Hedge(id=feature_id, outline=outline, **given)


def _fence(feature_id: str, shape: Any, values: Values) -> Fence:
    if not isinstance(shape, Polygon | MultiPolygon):
        return Fence(id=feature_id, line=shape, **values)
    rings = [LineString(ring) for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
    line = rings[0] if len(rings) == 1 else MultiLineString(rings)
    return Fence(id=feature_id, line=line, outline=shape, **values)


def _surface(feature_id: str, shape: Any, values: Values) -> Surface:
    return Surface(id=feature_id, outline=shape, **values)


def _tap(feature_id: str, shape: Any, values: Values) -> Tap:
    return Tap(id=feature_id, place=shape, **values)


def _pile(feature_id: str, shape: Any, values: Values) -> Pile:
    return Pile(id=feature_id, shape=shape, **values)


def _door(feature_id: str, shape: Any, values: Values) -> Door:
    return Door(id=feature_id, place=Point(shape), **values)


def _bed(feature_id: str, shape: Any, values: Values) -> Bed:
    return Bed(id=feature_id, outline=shape, **values)


def _keepout(feature_id: str, shape: Any, values: Values) -> Keepout:
    return Keepout(id=feature_id, outline=shape, **values)


_MAKERS: Mapping[str, Callable[[str, Any, Values], Feature]] = {
    "building": _building,
    "hedge": _hedge,
    "fence": _fence,
    "surface": _surface,
    "tap": _tap,
    "pile": _pile,
    "door": _door,
    "bed": _bed,
    "keepout": _keepout,
}
