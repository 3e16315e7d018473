"""Is a drawn shape sound?

It must have the right type and be finite, not empty, and not cross itself. A self-crossing is repaired if that hardly
changes the area. `locating.py` checks where the shape lies.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import shapely
from shapely import MultiLineString, MultiPoint, MultiPolygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.kinds import Kind
from siteplan.land.values import LONGEST_SHOWN, shown

FARTHEST = 1e9  # in degrees or any unit of length; no map has larger coordinates
MENDED_AREA = 1e-3  # share of its area that mending an outline may change


class Sound(NamedTuple):
    """A sound shape, or None and what is wrong with it (`trouble`); `mended` says how it was repaired."""

    shape: BaseGeometry | None
    trouble: str = ""
    mended: str = ""


def stray_coordinate(coordinates: object) -> str | None:
    """Return what is wrong with the first GeoJSON coordinate that is no finite number; None if all are.

    Examples
    --------
    >>> stray_coordinate([[8.0, 45.0], [8.1, "abc"]]), stray_coordinate([8, "45"])
    ('the coordinate "abc" is no number', 'the coordinate "45" is no number; write it without quotes')
    """
    waiting = [coordinates]
    while waiting:
        value = waiting.pop()
        if isinstance(value, list):
            waiting += reversed(value)
        elif isinstance(value, bool) or not isinstance(value, int | float):
            quoted = shown(value).replace("'", '"') if isinstance(value, str) else json.dumps(value)[:LONGEST_SHOWN]
            number = isinstance(value, str) and value.strip().lstrip("+-").replace(".", "", 1).isdecimal()
            return f"the coordinate {quoted} is no number{'; write it without quotes' if number else ''}"
        elif not abs(value) <= sys.float_info.max:  # catches NaN too, of which shapely would warn
            return "has a coordinate that is not a finite number"
    return None


def sound_shape(drawn: BaseGeometry, kind: Kind) -> Sound:
    """Return a shape as its kind requires it, or what is wrong with it.

    Parameters
    ----------
    drawn : shapely geometry
        In any coordinates.
    kind : Kind
        Which geometry types it may have, and whether several parts.

    Examples
    --------
    >>> from shapely import Polygon, box
    >>> from siteplan.files.drawing.kinds import KINDS
    >>> sound_shape(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), KINDS["bed"]).trouble
    'its outline crosses itself; draw it again, corner by corner all the way around'
    >>> sound_shape(box(0, 0, 1, 1), KINDS["tap"]).trouble
    'is drawn as a Polygon, must be a Point'
    """
    coordinates = shapely.get_coordinates(drawn)
    if drawn.is_empty or not len(coordinates):
        return Sound(None, "has an empty geometry; draw it, or take it out")
    if not np.isfinite(coordinates).all():
        return Sound(None, "has a coordinate that is not a finite number")
    if np.abs(coordinates).max() > FARTHEST:
        return Sound(None, f"has the coordinate {np.abs(coordinates).max():g}, which lies nowhere on earth")
    flat = _single(shapely.force_2d(drawn))
    plain = flat.geom_type.removeprefix("Multi")
    if plain not in kind.shapes:
        return Sound(None, f"is drawn as a {flat.geom_type}, must be a {' or a '.join(kind.shapes)}")
    if flat.geom_type != plain and not (kind.parts and plain != "Point"):
        parts = shapely.get_num_geometries(flat)
        return Sound(None, f"has {parts} parts, must be in one piece; give each part its own feature")
    return _CHECKS[plain](flat)


def _single(drawn: BaseGeometry) -> BaseGeometry:
    """Return the only part of a shape of one part."""
    if isinstance(drawn, MultiPolygon | MultiLineString | MultiPoint) and len(drawn.geoms) == 1:
        return drawn.geoms[0]
    return drawn


def _sound_point(drawn: BaseGeometry) -> Sound:
    return Sound(drawn)


def _sound_line(drawn: BaseGeometry) -> Sound:
    return Sound(drawn) if drawn.length > 0 else Sound(None, "is a line without length")


def _sound_area(drawn: BaseGeometry) -> Sound:
    if drawn.is_valid:
        return Sound(drawn) if drawn.area > 0 else Sound(None, "is an outline without area")
    mended = _areas_of(shapely.make_valid(drawn))
    if mended is None:
        return Sound(None, "is an outline without area")
    change_of_area = abs(mended.area - drawn.area)
    if mended.geom_type != drawn.geom_type or change_of_area > MENDED_AREA * drawn.area:
        return Sound(None, "its outline crosses itself; draw it again, corner by corner all the way around")
    change = change_of_area / drawn.area
    return Sound(mended, mended=f"its outline crossed itself and was mended; its area changed by {change:.2%}")


def _areas_of(drawn: BaseGeometry) -> BaseGeometry | None:
    """Return the polygons of a repaired shape, without the lines and points that repairing leaves over."""
    parts = [part for part in shapely.get_parts(drawn) if part.geom_type in {"Polygon", "MultiPolygon"}]
    joined = _single(shapely.union_all(parts)) if parts else None
    return joined if joined is not None and joined.geom_type in {"Polygon", "MultiPolygon"} else None


_CHECKS: dict[str, Callable[[BaseGeometry], Sound]] = {
    "Point": _sound_point,
    "LineString": _sound_line,
    "Polygon": _sound_area,
}
