"""What is drawn in the features file?

GeoJSON is read as JSON, so that mixed property types, ids and missing geometries survive; a GeoPackage
through pyogrio, all its layers. It leaves out what the properties mean and where the coordinates lie.
"""

from __future__ import annotations

import json
import math
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.sound_shape import stray_coordinate
from siteplan.files.remarks import Remarks
from siteplan.files.text import read_text
from siteplan.land.values import shown

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

_NO_GEOMETRY = "has no geometry; draw it, or take it out"


@dataclass(frozen=True)
class RawFeature:
    """One feature as the file has it.

    Attributes
    ----------
    number : int
        Its place in the file, from 1.
    own_id : object
        The Feature's own id, or None.
    properties : mapping
        As written.
    shape : shapely geometry or None
        In the file's coordinates; None where `trouble` says why.
    trouble : str
        What is wrong with the geometry.
    """

    number: int
    own_id: object
    properties: Mapping[str, object]
    shape: BaseGeometry | None
    trouble: str = ""


@dataclass(frozen=True)
class Drawing:
    """All features of a file.

    Attributes
    ----------
    file : str
        Its name.
    crs : pyproj.CRS or None
        What the file says of its coordinates; None where it says nothing (GeoJSON: longitude and latitude).
    geographic_by_default : bool
        Whether silence means longitude and latitude, as in GeoJSON.
    """

    file: str
    features: tuple[RawFeature, ...]
    crs: CRS | None = None
    geographic_by_default: bool = True
    layers: tuple[str, ...] = field(default=())


def read_drawing(path: Path, remarks: Remarks) -> Drawing | None:
    """Return what is drawn, or None where the file cannot be read at all."""
    if path.suffix.lower() == ".gpkg":
        return _geopackage(path, remarks)
    if path.suffix.lower() not in {".geojson", ".json"}:
        remarks.fault(path.name, "", "must be a .geojson or a .gpkg file; export the drawing as one of them")
        return None
    text = read_text(path, remarks, missing="site.toml names it; draw the property there")
    return None if text is None else _geojson(path.name, text, remarks)


def _geojson(file: str, text: str, remarks: Remarks) -> Drawing | None:
    """Return the features of a GeoJSON text."""
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        remarks.fault(file, "", f"is not GeoJSON: {error}")
        return None
    came = document.get("type") if isinstance(document, dict) else type(document).__name__
    if came != "FeatureCollection" or not isinstance(document.get("features"), list):
        what = "has no list of features" if came == "FeatureCollection" else f"is a {shown(came)}"
        remarks.fault(file, "", f"{what}, must be a GeoJSON FeatureCollection with a list of features")
        return None
    features = tuple(_features(file, document["features"], remarks))
    if not document["features"]:
        remarks.fault(file, "", "holds no features; draw at least the boundary")
    return Drawing(file, features, _legacy_crs(file, document.get("crs"), remarks))


def _features(file: str, entries: list[object], remarks: Remarks) -> Iterator[RawFeature]:
    for number, entry in enumerate(entries, 1):
        if not isinstance(entry, dict) or entry.get("type") != "Feature":
            came = entry.get("type") if isinstance(entry, dict) else type(entry).__name__
            remarks.fault(file, f"feature {number}", f"is {shown(came)}, must be a GeoJSON Feature")
            continue
        properties = entry.get("properties") or {}
        if not isinstance(properties, dict):
            remarks.fault(file, f"feature {number}", f"its properties are {shown(properties)}, must be an object")
            continue
        drawn, trouble = _shape(entry.get("geometry"))
        yield RawFeature(number, entry.get("id"), properties, drawn, trouble)


def _shape(geometry: object) -> tuple[BaseGeometry | None, str]:
    """Return a shape from GeoJSON, or None and what is wrong with it."""
    if geometry is None:
        return None, _NO_GEOMETRY
    if not isinstance(geometry, dict) or "coordinates" not in geometry:
        came = geometry.get("type") if isinstance(geometry, dict) else geometry
        return None, f"has {shown(came)} for a geometry, must be a GeoJSON geometry with coordinates"
    if (stray := stray_coordinate(geometry["coordinates"])) is not None:
        return None, stray
    try:
        return shape(geometry), ""
    except RecursionError:
        return None, "has coordinates nested too deeply"
    except Exception as error:  # noqa: BLE001  # shapely raises many kinds for coordinates that are none
        return None, f"has a geometry that cannot be read: {shown(str(error))}"


def _legacy_crs(file: str, member: object, remarks: Remarks) -> CRS | None:
    """Return the CRS of the member that GeoJSON had before RFC 7946, which desktop programs still write."""
    if member is None:
        return None
    try:
        name = member["properties"]["name"]  # type: ignore[index]
        return CRS.from_user_input(name)
    except (TypeError, KeyError, CRSError):
        remarks.fault(
            file, "", f"its crs is {shown(member)}, which is not understood; save it in longitude and latitude"
        )
        return None


def _geopackage(path: Path, remarks: Remarks) -> Drawing | None:
    """Return the features of all layers of a GeoPackage; a layer without a column `kind` lends its name."""
    if not path.is_file():
        there = "is a folder, must be a file" if path.is_dir() else "is not there; site.toml names it"
        remarks.fault(path.name, "", there)
        return None
    import pyogrio  # most sites are GeoJSON and need no GDAL
    from pyogrio.errors import DataSourceError

    layers: dict[str | None, GeoDataFrame] = {}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for name, geometry_type in pyogrio.list_layers(path):
                if geometry_type is not None:
                    layers[str(name)] = pyogrio.read_dataframe(path, layer=name, fid_as_index=True)
    except (DataSourceError, OSError, ValueError, RuntimeError) as error:
        remarks.fault(path.name, "", f"cannot be read as a GeoPackage: {shown(str(error))}")
        return None
    return drawing_of_frames(layers, remarks, file=path.name)


def drawing_of_frames(frames: Mapping[str | None, GeoDataFrame], remarks: Remarks, *, file: str) -> Drawing:
    """Return the features of frames, one a row.

    Parameters
    ----------
    frames : mapping of str or None to GeoDataFrame
        By the kind of a frame without a column `kind`; None where it must have one.
    remarks : Remarks
    file : str
        What messages call it.
    """
    features: list[RawFeature] = []
    for kind, frame in frames.items():
        features.extend(_rows(frame, kind, len(features)))
    if not features:
        remarks.fault(file, "", "holds no features; draw at least the boundary")
    systems = [None if frame.crs is None else CRS.from_user_input(frame.crs) for frame in frames.values()]
    names = tuple(name for name in frames if name is not None)
    first = systems[0] if systems else None
    if any(system != first for system in systems):
        text = f"its layers {', '.join(names)} are in different coordinate systems; save them in one"
        remarks.fault(file, "", text)
    return Drawing(file, tuple(features), first, geographic_by_default=False, layers=names)


def _rows(frame: GeoDataFrame, kind: str | None, before: int) -> Iterator[RawFeature]:
    """Return the rows of one frame; a null is absent."""
    shapes = frame.geometry.to_numpy()
    columns = [str(name) for name in frame.columns if name != frame.geometry.name]
    values = [frame[name].tolist() for name in columns]
    for row, drawn in enumerate(shapes):
        properties = {
            name: value for name, column in zip(columns, values, strict=True) if not _null(value := column[row])
        }
        if kind is not None:
            properties.setdefault("kind", kind)
        missing = drawn is None or shapely.is_missing(drawn)
        yield RawFeature(
            before + row + 1, None, properties, None if missing else drawn, _NO_GEOMETRY if missing else ""
        )


def _null(value: object) -> bool:
    """Return whether a column's value is none; a number that is not one is how a column says so."""
    return value is None or (isinstance(value, float) and math.isnan(value)) or str(value) in {"<NA>", "NaT"}
