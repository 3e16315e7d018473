"""Which outline shall the new bed have (`--shape FILE`)?

One polygon of a GeoJSON file, drawn flat in the unit of the site's drawing, or in the unit that its property `unit`
names. Its zero point and its heading do not matter: the search places and turns it.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import shapely
from shapely import Polygon, affinity
from shapely.geometry import shape

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.drawing.sound_shape import sound_shape, stray_coordinate
from siteplan.files.remarks import Remarks
from siteplan.files.text import TOO_LONG, read_text
from siteplan.land.errors import Fault, InputError
from siteplan.land.outline import longer_side
from siteplan.land.site import BED_SIDE
from siteplan.land.units import METRE, LengthUnit, System, length_unit
from siteplan.land.values import shown
from siteplan.land.written import in_units


def read_shape(path: str | Path, *, plain: LengthUnit = METRE, system: System = "metric") -> Polygon:
    """Return a bed's outline, in metres.

    Parameters
    ----------
    path : str or Path
        A GeoJSON geometry, Feature, or FeatureCollection of one Feature. Its property ``unit`` may be ``"ft"``.
    plain : LengthUnit
        Of its coordinates, if it has no such property.
    system : str
        Units of the lengths in messages.

    Raises
    ------
    InputError
        If it is not a single sound polygon without holes, of a bed's size.
    """
    file = Path(path)
    remarks = Remarks()
    text = read_text(file, remarks, missing="--shape names it")
    if text is None:
        raise InputError(list(remarks.faults))
    try:
        document = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise _fault(file, f"is not GeoJSON: {error}") from None
    except ValueError:
        raise _fault(file, TOO_LONG) from None
    geometry, unit = _geometry_and_unit(document, file)
    if isinstance(geometry, dict) and (stray := stray_coordinate(geometry.get("coordinates", []))) is not None:
        raise _fault(file, stray)
    try:
        drawn = shape(geometry)
    except Exception:  # noqa: BLE001  # shapely and numpy raise many kinds of errors on bad geometry
        raise _fault(file, "its geometry is not a GeoJSON polygon") from None
    sound = sound_shape(drawn, KINDS["bed"])
    if not isinstance(sound.shape, Polygon):
        raise _fault(file, sound.trouble or "must be one polygon")
    if sound.shape.interiors:
        raise _fault(file, "has a hole; draw a keyhole bed as one outline that runs in and out through its notch")
    return _sized(sound.shape, plain if unit is None else unit, file, system)


def _geometry_and_unit(document: object, file: Path) -> tuple[Any, object]:
    """Return the geometry of the only feature, and its unit; None if it names none."""
    if isinstance(document, dict) and document.get("type") == "FeatureCollection":
        features = document.get("features")
        if not isinstance(features, list) or len(features) != 1:
            count = len(features) if isinstance(features, list) else 0
            raise _fault(file, f"holds {count} features, must hold one: the bed's outline")
        document = features[0]
    if isinstance(document, dict) and document.get("type") == "Feature":
        properties = document.get("properties")
        unit = properties.get("unit") if isinstance(properties, dict) else None
        return document.get("geometry"), unit
    if isinstance(document, dict):
        return document, None
    raise _fault(file, f"is {shown(document)}, must be a GeoJSON polygon")


def _sized(outline: Polygon, unit: object, file: Path, system: System) -> Polygon:
    """Return the outline in metres, moved so that its bounds begin at 0; InputError if it is no bed's size."""
    metres = unit.metres if isinstance(unit, LengthUnit) else _metres(unit, file)
    west, south, _, _ = outline.bounds
    across = longer_side(affinity.scale(outline, metres, metres))
    if not BED_SIDE.least <= across <= BED_SIDE.most:
        hint = "draw it flat, in the unit of the site's drawing or with the property unit, not in degrees"
        text = f"is {across:.3g} m across, must be from {BED_SIDE.least:g} m to {BED_SIDE.most:g} m; {hint}"
        raise _fault(file, in_units(text, system))
    moved = affinity.scale(affinity.translate(outline, -west, -south), metres, metres, origin=(0, 0))
    return Polygon(shapely.get_coordinates(moved).round(9))


def _metres(unit: object, file: Path) -> float:
    """Return the length of a unit that a file names. [m]"""
    if not isinstance(unit, str):
        raise _fault(file, f'unit is {shown(unit)}, must be a unit of length such as "ft"')
    try:
        return length_unit(unit).metres
    except ValueError as error:
        raise _fault(file, f"unit: {error}") from None


def _fault(file: Path, text: str) -> InputError:
    return InputError([Fault(file.name, "", text)])
