"""How is a feature of the file converted for the page, and back?

Coordinates are converted between the file and the page's plane. A corner that was not moved keeps its digits, and so
does every property that the page did not change. The check judges whether the feature is sound.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from shapely import MultiPoint, Point
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from siteplan.draw.plane import Plane
from siteplan.files.drawing.editing import same_value
from siteplan.files.drawing.vector import RawFeature
from siteplan.land.errors import Fault
from siteplan.land.values import LONGEST_TEXT, shown

PRECISION = 4  # decimals of the metres that the page gets
UNMOVED = 0.0005  # m; a corner that moved less keeps its digits
_DEPTH = {"Point": 0, "LineString": 1, "MultiPoint": 1, "Polygon": 2, "MultiLineString": 2, "MultiPolygon": 3}
_MOST_CORNERS = 100_000
_DEEPEST = 20  # levels of lists and tables in a property
Json = dict[str, Any]


def to_page(raw: RawFeature, name: str, plane: Plane) -> Json:
    """Return a feature for the page: GeoJSON in metres, with its properties as they are written in the file."""
    geometry = None
    if raw.shape is not None and not raw.shape.is_empty:
        geometry = rounded(mapping(plane.from_file(shapely.force_2d(raw.shape))))
    properties = {key: _to_page_value(key, plain(value), plane) for key, value in raw.properties.items()}
    return {"type": "Feature", "id": name, "properties": properties, "geometry": geometry}


def to_file(feature: Json, raw: RawFeature | None, plane: Plane, base: RawFeature | None = None) -> Json:
    """Return a feature of the page as it is written in the file.

    Parameters
    ----------
    feature : dict
        One in which `feature_fault` finds no fault.
    raw : RawFeature or None
        The feature in the file; None if it is new.
    plane : Plane
    base : RawFeature or None
        For a variant, the feature in the property: corners at the same place take its digits.

    Returns
    -------
    dict
        Without a geometry if that stays as it is.
    """
    before = None if raw is None else to_page(raw, feature["id"], plane)
    document: Json = {"type": "Feature", "id": feature["id"], "properties": {}}
    for key, value in feature["properties"].items():
        unchanged = (
            before is not None and key in before["properties"] and same_value(before["properties"][key], value)
        )
        new_value = raw.properties[key] if unchanged and raw else _to_file_value(key, value, plane)
        document["properties"][key] = new_value
    geometry = feature["geometry"]
    if before is None or not same_value(before["geometry"], geometry):
        old = [older.shape for older in (base, raw) if older is not None and older.shape is not None]
        document["geometry"] = None if geometry is None else _drawn(geometry, old, plane)
    return document


def plain(value: object) -> Any:
    """Return a value that JSON can hold: no infinite number or NaN, no lone surrogate, days as texts.

    Examples
    --------
    >>> plain([1, float("nan"), "a", {"b": True}])
    [1, None, 'a', {'b': True}]
    """
    if isinstance(value, Mapping):
        return {str(plain(str(key))): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return value if value is None or isinstance(value, bool | int | float) else str(value)


def feature_fault(feature: object) -> Fault | None:
    """Return why a feature sent by the page cannot be written; None if it can."""
    name = feature.get("id") if isinstance(feature, dict) else None
    where = name[:LONGEST_TEXT] if isinstance(name, str) else ""
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        text = f"{shown(feature)} is no feature; it must be a GeoJSON Feature"
    elif not isinstance(name, str) or not name.strip() or len(name) > LONGEST_TEXT:
        text = f"id is {shown(name)}, must be a text of 1 to {LONGEST_TEXT} letters"
    elif not isinstance(feature.get("properties"), dict) or "geometry" not in feature:
        text = "must have properties and a geometry"
    else:
        text = _geometry_fault(feature["geometry"]) or _value_fault([name, feature["properties"]])
    return Fault("", where, text) if text else None


def _geometry_fault(geometry: object) -> str:
    if geometry is None:
        return ""
    geometry_type = geometry.get("type") if isinstance(geometry, dict) else None
    if not isinstance(geometry, dict) or geometry_type not in _DEPTH:
        return f"its geometry is {shown(geometry_type or geometry)}, must be one of {', '.join(_DEPTH)}"
    count = [0]
    if not _are_corners(geometry.get("coordinates"), _DEPTH[geometry_type], count):
        return f"its coordinates are no {geometry_type}: they must be numbers, two to a corner"
    return "" if count[0] <= _MOST_CORNERS else f"has more than {_MOST_CORNERS:,} corners"


def _are_corners(value: object, depth: int, count: list[int]) -> bool:
    """Return whether a value is a list of corners, nested `depth` levels deep; adds their number to `count`."""
    if not isinstance(value, list) or not value:
        return False
    if depth > 0:
        return all(_are_corners(entry, depth - 1, count) for entry in value)
    count[0] += 1
    return len(value) == 2 and all(map(_is_coordinate, value))


def _is_coordinate(value: object) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return abs(value) < 1e9


def _value_fault(value: object, depth: int = 0) -> str:
    """Return why a value cannot be written as JSON; empty if it can."""
    if depth > _DEEPEST:
        return f"has properties nested more than {_DEEPEST} deep"
    if isinstance(value, dict):
        return next((text for entry in (*value, *value.values()) if (text := _value_fault(entry, depth + 1))), "")
    if isinstance(value, list):
        return next((text for entry in value if (text := _value_fault(entry, depth + 1))), "")
    if isinstance(value, float) and not math.isfinite(value):
        return f"holds {value}, which is no number"
    if isinstance(value, str) and any("\ud800" <= letter <= "\udfff" for letter in value):
        return "holds half of a letter; write it anew"
    return ""


def rounded(geometry: Any) -> Json:
    """Return a GeoJSON geometry with its corners rounded for the page."""

    def lists(value: Any) -> Any:
        if isinstance(value, float | int):
            return round(value, PRECISION) + 0.0
        return [lists(entry) for entry in value]

    return {"type": geometry["type"], "coordinates": lists(geometry["coordinates"])}


def _drawn(geometry: Json, old: Sequence[BaseGeometry], plane: Plane) -> Json:
    """Return a geometry in the coordinates of the file; corners that were there before keep their digits."""
    corners = np.array(_corners(geometry["coordinates"]), dtype=float).reshape(-1, 2)
    in_file: list[list[float]] = plane.to_file(corners).tolist()
    old_corners: list[list[float]] = []
    for shape in old:
        old_corners += shapely.get_coordinates(shape, include_z=bool(shape.has_z)).tolist()
    if old_corners:
        old_points = np.vstack([shapely.get_coordinates(plane.from_file(shapely.force_2d(shape))) for shape in old])
        tree = shapely.STRtree([Point(point) for point in old_points])
        nearest = np.asarray(tree.nearest([Point(corner) for corner in corners]))
        distances = np.hypot(*(old_points[nearest] - corners).T)
        in_file = [
            old_corners[index] if distance <= UNMOVED else [*corner, *old_corners[index][2:]]
            for corner, index, distance in zip(in_file, nearest, distances, strict=True)
        ]
    next_corner = iter([[_short(value) for value in corner] for corner in in_file]).__next__
    return {"type": geometry["type"], "coordinates": _refilled(geometry["coordinates"], next_corner)}


def _short(value: float) -> float | int:
    return int(value) if float(value).is_integer() else value


def _corners(coordinates: list[Any]) -> list[list[float]]:
    if not isinstance(coordinates[0], list):
        return [coordinates]
    return [point for entry in coordinates for point in _corners(entry)]


def _refilled(coordinates: list[Any], corner: Callable[[], list[float]]) -> list[Any]:
    """Return nested lists of the same shape with other corners."""
    if not isinstance(coordinates[0], list):
        return corner()
    return [_refilled(entry, corner) for entry in coordinates]


def _to_page_value(key: str, value: Any, plane: Plane) -> Any:
    """Return a property for the page: outlines of a bed's tiers are converted to the page's plane."""
    return _with_outlines(key, value, plane.from_file, PRECISION)


def _to_file_value(key: str, value: Any, plane: Plane) -> Any:
    """Return a property for the file: outlines of a bed's tiers are converted to the file's coordinates."""
    return _with_outlines(key, value, lambda drawn: shapely.transform(drawn, plane.to_file), 9)


def _with_outlines(key: str, value: Any, change: Callable[[MultiPoint], MultiPoint], decimals: int) -> Any:
    """Return the tiers of a bed with their own outlines converted; any other value as it is."""
    if key != "tiers":
        return value
    try:
        tiers = json.loads(value) if isinstance(value, str) else value
        outlines = [None if tier.get("outline") is None else MultiPoint(tier["outline"]) for tier in tiers]
    except Exception:  # noqa: BLE001  # the check reports what is not a list of tiers
        return value
    if all(outline is None for outline in outlines):
        return value
    changed = []
    for tier, outline in zip(tiers, outlines, strict=True):
        if outline is None:
            changed.append(tier)
        else:
            corners = shapely.get_coordinates(change(outline)).round(decimals) + 0.0
            changed.append(tier | {"outline": [list(map(_short, corner)) for corner in corners.tolist()]})
    return changed
