"""How does a drawn feature become a record?

Its values are read by the fields of its kind's record, and the record checks itself. Features are checked against one
another in `files/crosscheck.py`; gates need the fences first and are made in `gates.py`.
"""

from __future__ import annotations

import math
from typing import Any

import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.constant_tables import read_crowns
from siteplan.files.drawing.feature_spreads import with_spreads
from siteplan.files.drawing.kinds import ADVICE, KINDS, POINT
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.keys import Keys
from siteplan.files.site_toml.trade import Trade, bed_layers
from siteplan.land.features import Feature, Level, MonthDay, Tree
from siteplan.land.record import fields_of

# trees are in leaf from day 100 to day 300 (defaults of an urban-climate model for 45 to 55 N, seen second-hand),
# half a year later in the south
LEAVES_NORTH = (MonthDay(4, 10), MonthDay(10, 27))
LEAVES_SOUTH = (MonthDay(10, 9), MonthDay(4, 27))
CROWN_BASE_SHARE = 0.25  # of the height; common practice, no source
CIRCLE = 16  # segments per quarter circle of a crown drawn as a point: its rim is accurate to 4 mm

Values = dict[str, Any]


def feature_values(
    named: NamedFeature, shape_type: str, file: str, remarks: Remarks, *, trade: Trade
) -> Values | None:
    """Return a feature's values by key in the kernels' units, or None if one is missing or wrong.

    Parameters
    ----------
    shape_type : str
        ``Polygon``, ``LineString`` or ``Point``; some keys are required for one of them only. Empty if unknown.
    trade : Trade
        Whose recipes a bed may ask for.
    """
    kind = KINDS[named.kind]
    keys = Keys(named.properties, remarks, file=file, where=named.where, feature=named.id)
    before = len(remarks.faults)
    required = [*kind.required, *(key for geometry_type, key in kind.by_shape if geometry_type == shape_type)]
    required += [key for key, alternative in kind.or_else if alternative not in keys.values]
    if "crown_radius" in keys.values and "crown_diameter" in required:
        required.remove("crown_diameter")
    for key in ("id", "kind", *kind.fields):
        keys.has(key)  # marks the key as known
    for key in required:
        alternatives = [alternative for name, alternative in kind.or_else if name == key]
        keys.require(key, ADVICE[key] + "".join(f", or give {alternative}" for alternative in alternatives))
    values = {key: value for key, field in kind.fields.items() if (value := keys.value(field)) is not None}
    if "layers" in values:
        values["layers"] = bed_layers(values["layers"], keys, trade)
    if keys.spreads:
        values["spreads"] = keys.spreads  # the spreads given beside the values, by key
    return values if len(remarks.faults) == before else None


def made_feature(
    named: NamedFeature, shape: BaseGeometry, values: Values, *, southern: bool, remarks: Remarks
) -> Feature | Level:
    """Return the record of a feature; ValueError if its values contradict one another.

    Parameters
    ----------
    shape : shapely geometry
        Sound, in the local frame. [m]
    values : dict
        From `feature_values`.
    southern : bool
        Whether the site lies south of the equator: trees are in leaf half a year later there.
    """
    record: Any = KINDS[named.kind].record
    own_values = dict(values) | {"id": named.id}
    spreads = own_values.pop("spreads", {})
    feature = _make_feature(named, record, shape, own_values, southern=southern, remarks=remarks)
    return with_spreads(feature, values, spreads)  # type: ignore[no-any-return]


def _make_feature(
    named: NamedFeature, record: Any, shape: BaseGeometry, values: Values, *, southern: bool, remarks: Remarks
) -> Feature | Level:
    if named.kind == "tree":
        return _tree(shape, values, southern=southern, remarks=remarks)
    if named.kind == "fence":
        return record(**values | _fence_line(shape))  # type: ignore[no-any-return]
    if named.kind == "hedge" and isinstance(shape, LineString | MultiLineString):
        shape = shape.buffer(values["width"] / 2, cap_style="flat", join_style="mitre")
    values.pop("width", None)
    if named.kind == "hedge" and "transmittance" in values:
        values = {"transmittance_path": None} | values
    if "ridge_heading" in values:
        values["ridge_heading"] %= 180
    drawn = next(name for name in ("outline", "shape", "place") if name in fields_of(record))
    return record(**values, **{drawn: shape})  # type: ignore[no-any-return]


def _tree(shape: Any, values: Values, *, southern: bool, remarks: Remarks) -> Tree:
    radius = values.pop("crown_radius", None)
    diameter = values.pop("crown_diameter", None)
    if shape.geom_type == POINT:
        if radius is not None and diameter is not None:
            raise ValueError("has both crown_diameter and crown_radius; give one of them")
        trunk = shape
        outline = shape.buffer(diameter / 2 if diameter is not None else radius, quad_segs=CIRCLE)
    else:
        middle, outline = shape.centroid, shape
        trunk = middle if shape.intersects(middle) else shape.representative_point()
    values = _one_trunk(values)
    values.setdefault("crown_base", CROWN_BASE_SHARE * values["height"])
    if values.get("foliage") == "evergreen":
        if {"leaf_out", "leaf_fall", "transmittance_bare"} & values.keys():
            text = "It is evergreen, so leaf_out, leaf_fall and transmittance_bare are ignored."
            remarks.caution("evergreen", values["id"], text)
        values |= {"leaf_out": None, "leaf_fall": None}
        values.pop("transmittance_bare", None)
        if "transmittance_leafy" in values:
            values["transmittance_bare"] = values["transmittance_leafy"]
    else:
        leaf_out, leaf_fall = LEAVES_SOUTH if southern else LEAVES_NORTH
        values = {"leaf_out": leaf_out, "leaf_fall": leaf_fall} | values
    return Tree(outline=outline, trunk=trunk, **_with_transmittances(values))


def _one_trunk(values: Values) -> Values:
    """Return a tree's values with one trunk that has the cross-section of all its stems together.

    BS 5837:2012, clause 4.6, seen second-hand: several stems count as one whose diameter is the root of the sum of
    their squares.
    """
    stems = values.pop("trunk_diameters", ())
    if not stems:
        return values
    if "trunk_diameter" in values:
        raise ValueError("has both trunk_diameter and trunk_diameters; give one of them")
    return values | {"trunk_diameter": math.hypot(*stems)}


def _with_transmittances(values: Values) -> Values:
    """Return a tree's values with its transmittances: those of the file, else by the density of its crown."""
    density = values.pop("crown_density", "medium")
    if {"transmittance_leafy", "transmittance_bare"} & values.keys():
        return {"transmittance_path": None} | values
    crown = read_crowns()[values.get("foliage", "deciduous"), density]
    return {"transmittance_leafy": crown.transmittance_leafy, "transmittance_bare": crown.transmittance_bare} | values


def _fence_line(shape: BaseGeometry) -> Values:
    """Return the line of a fence; for a wall drawn as an area, its rings as lines, and its outline."""
    if not isinstance(shape, Polygon | MultiPolygon):
        return {"line": shape}
    rings = [LineString(ring) for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
    return {"line": rings[0] if len(rings) == 1 else MultiLineString(rings), "outline": shape}
