"""Which features are in the features file?

GeoJSON is read as JSON, so that mixed property types, ids and missing geometries survive; a GeoPackage or FlatGeobuf
through pyogrio, all its layers. From a large drawing only the features near enough to matter are read.
`naming.py` interprets the properties, `locating.py` the coordinates.
"""

from __future__ import annotations

import json
import math
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError
from shapely.errors import GEOSException
from shapely.geometry import shape
from shapely.geometry.base import BaseGeometry

from siteplan.files.drawing.large_geojson import decode_features, scan_features
from siteplan.files.drawing.large_layers import near_layers
from siteplan.files.drawing.layers import has_its_format, layered_format, note_layers
from siteplan.files.drawing.nearness import MANY, Roles, near, note_left_out, place_of
from siteplan.files.drawing.sound_shape import stray_coordinate
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import Settings
from siteplan.files.text import TOO_LONG, no_file, read_text
from siteplan.land.values import shown

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

LARGEST = 500_000_000  # bytes of GeoJSON; half a million features take about half of it
DRAWN_HERE = (".geojson", ".json")  # endings of GeoJSON files
_NO_GEOMETRY = "has no geometry; draw it, or take it out"


@dataclass(frozen=True)
class RawFeature:
    """One feature as the file has it.

    Attributes
    ----------
    number : int
        Its position in the file, from 1.
    own_id : object
        The `id` member of the GeoJSON Feature, or None.
    properties : mapping
        As written.
    shape : shapely geometry or None
        In the file's coordinates; None if there is none, and `trouble` says why.
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
        The coordinate system that the file names; None if it names none.
    geographic_by_default : bool
        Whether a file that names none is in longitude and latitude, as GeoJSON is.
    layers : tuple of str
        Names of the layers that were read; empty for GeoJSON.
    whole : bool
        Whether all of the file's features are here; from a large file only those that may matter are read.
    """

    file: str
    features: tuple[RawFeature, ...]
    crs: CRS | None = None
    geographic_by_default: bool = True
    layers: tuple[str, ...] = field(default=())
    whole: bool = True


def read_drawing(path: Path, settings: Settings, remarks: Remarks, tell: Callable[[float], None]) -> Drawing | None:
    """Return the drawing, or None if the file cannot be read at all.

    Parameters
    ----------
    path : Path
    settings : Settings
        [rename] and the unit of a measured plan, by which the features of a large drawing are chosen.
    remarks : Remarks
    tell : callable
        Called with the share of a large drawing that is read, 0 to 1.
    """
    suffix = path.suffix.lower()
    if suffix in {".gpkg", ".fgb"}:
        return _layers(path, settings, remarks)
    if suffix not in DRAWN_HERE:
        remarks.fault(path.name, "", "must be a .geojson, .gpkg or .fgb file; export the drawing as one of them")
        return None
    text = read_text(path, remarks, missing="site.toml names it; draw the property there", most=LARGEST)
    if text is None:
        return None
    large = text.count('"Feature"') > MANY
    drawing = _large_geojson(path.name, text, settings, remarks, tell) if large else None
    return drawing or _geojson(path.name, text, remarks)


def _large_geojson(
    file: str, text: str, settings: Settings, remarks: Remarks, tell: Callable[[float], None]
) -> Drawing | None:
    """Return those features of a long GeoJSON text that matter; None if it has to be read whole."""
    guess = place_of(settings, None)  # as long as the drawing's coordinate system is not read
    scan = scan_features(text, Roles(settings.renaming, guess.unit), tell)
    if scan is None:
        return None
    system = _legacy_crs(file, scan.members.get("crs"), remarks)
    place = place_of(settings, system)
    if place.unit != guess.unit:  # the coordinate system is in feet, and so are plain heights: scan again
        scan = scan_features(text, Roles(settings.renaming, place.unit), lambda _: None) or scan
    matter = np.flatnonzero(near(scan.outlook, place))
    note_left_out(len(matter), len(scan.start), remarks)
    features = tuple(_features(file, decode_features(text, scan.start, iter(matter.tolist())), remarks))
    return Drawing(file, features, system, whole=len(matter) == len(scan.start))


def _geojson(file: str, text: str, remarks: Remarks) -> Drawing | None:
    """Return the features of a GeoJSON text."""
    try:
        document = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        remarks.fault(file, "", f"is not GeoJSON: {error}")
        return None
    except ValueError:
        remarks.fault(file, "", TOO_LONG)
        return None
    type_name = document.get("type") if isinstance(document, dict) else type(document).__name__
    if type_name != "FeatureCollection" or not isinstance(document.get("features"), list):
        trouble = "has no list of features" if type_name == "FeatureCollection" else f"is a {shown(type_name)}"
        remarks.fault(file, "", f"{trouble}, must be a GeoJSON FeatureCollection with a list of features")
        return None
    features = tuple(_features(file, enumerate(document["features"], 1), remarks))
    if not document["features"]:
        remarks.fault(file, "", "holds no features; draw at least the boundary")
    return Drawing(file, features, _legacy_crs(file, document.get("crs"), remarks))


def _features(file: str, entries: Iterable[tuple[int, object]], remarks: Remarks) -> Iterator[RawFeature]:
    for number, entry in entries:
        if not isinstance(entry, dict) or entry.get("type") != "Feature":
            type_name = entry.get("type") if isinstance(entry, dict) else type(entry).__name__
            remarks.fault(file, f"feature {number}", f"is {shown(type_name)}, must be a GeoJSON Feature")
            continue
        properties = entry.get("properties") or {}
        if not isinstance(properties, dict):
            remarks.fault(file, f"feature {number}", f"its properties are {shown(properties)}, must be an object")
            continue
        yield raw_feature(number, {**entry, "properties": properties})


def raw_feature(number: int, entry: Mapping[str, object]) -> RawFeature:
    """Return a feature from a GeoJSON Feature whose properties are sound."""
    properties = entry.get("properties", {})
    drawn, trouble = _shape(entry.get("geometry"))
    return RawFeature(number, entry.get("id"), properties if isinstance(properties, dict) else {}, drawn, trouble)


def _shape(geometry: object) -> tuple[BaseGeometry | None, str]:
    """Return a shape from GeoJSON, or None and what is wrong with it."""
    if geometry is None:
        return None, _NO_GEOMETRY
    if not isinstance(geometry, dict) or "coordinates" not in geometry:
        type_name = geometry.get("type") if isinstance(geometry, dict) else geometry
        trouble = f"has {shown(type_name)} for a geometry, must be a GeoJSON geometry with coordinates"
        if type_name == "GeometryCollection":
            trouble = f"is drawn as a {type_name}, must be one point, line or area; give each part its own feature"
        return None, trouble
    if (stray := stray_coordinate(geometry["coordinates"])) is not None:
        return None, stray
    try:
        return shape(geometry), ""
    except RecursionError:
        return None, "has coordinates nested too deeply"
    except Exception as error:  # noqa: BLE001  # shapely raises many kinds of errors for bad coordinates
        return None, f"has a geometry that cannot be read: {shown(str(error))}"


def _legacy_crs(file: str, member: object, remarks: Remarks) -> CRS | None:
    """Return the CRS of the member `crs` that GeoJSON had before RFC 7946; desktop programs still write it."""
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


def _layers(path: Path, settings: Settings, remarks: Remarks) -> Drawing | None:
    """Return the features of all layers of a file; without a column `kind` a layer's name is the kind."""
    if not _has_layers(path, remarks):
        return None
    from pyogrio.errors import DataSourceError  # imported here: most sites are GeoJSON and need no GDAL

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            layers, count = _frames(path, settings, remarks)
    except GEOSException as error:
        text = f"holds a geometry that is no point, line or area ({shown(str(error))}), as 3D models do; leave it out"
        remarks.fault(path.name, "", text)
        return None
    except (DataSourceError, OSError, ValueError, RuntimeError) as error:
        remarks.fault(path.name, "", f"cannot be read as a {layered_format(path)}: {shown(str(error))}")
        return None
    count_read = sum(map(len, layers.values()))
    note_left_out(count_read, count, remarks)
    return drawing_of_frames(layers, remarks, file=path.name, whole=count_read == count)


def _has_layers(path: Path, remarks: Remarks) -> bool:
    """Return whether a file is there and begins as its format does; a fault says what is wrong."""
    trouble = no_file(path)
    if trouble == "is not there":
        trouble = "is not there; site.toml names it"
    elif not trouble and not has_its_format(path):
        trouble = f"cannot be read as a {layered_format(path)}: it begins as none; export the drawing as one"
    if trouble:
        remarks.fault(path.name, "", trouble)
    return not trouble


def _frames(path: Path, settings: Settings, remarks: Remarks) -> tuple[dict[str, GeoDataFrame], int]:
    """Return the layers of a file as frames, and the count of all its features; only near ones if they are many."""
    import pyogrio

    layers = pyogrio.list_layers(path).tolist()
    note_layers(path, layers, remarks)
    names = [str(name) for name, geometry_type in layers if geometry_type is not None]
    count = sum(pyogrio.read_info(path, layer=name, force_feature_count=True)["features"] for name in names)
    if count > MANY:
        return near_layers(path, names, settings), count
    return {name: pyogrio.read_dataframe(path, layer=name, fid_as_index=True) for name in names}, count


def drawing_of_frames(
    frames: Mapping[str, GeoDataFrame] | Mapping[str | None, GeoDataFrame],
    remarks: Remarks,
    *,
    file: str,
    whole: bool = True,
) -> Drawing:
    """Return the features of GeoDataFrames, one per row.

    Parameters
    ----------
    frames : mapping of str or None to GeoDataFrame
        By kind, for frames without a column `kind`; a frame under None must have that column.
    remarks : Remarks
    file : str
        Its name in messages.
    whole : bool
        Whether these are all features of the file.
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
    return Drawing(file, tuple(features), first, geographic_by_default=False, layers=names, whole=whole)


def _rows(frame: GeoDataFrame, kind: str | None, before: int) -> Iterator[RawFeature]:
    """Yield the rows of one frame as features; null values are left out."""
    shapes = frame.geometry.to_numpy()
    columns = [str(name) for name in frame.columns if name != frame.geometry.name]
    values = [frame[name].tolist() for name in columns]
    for row, drawn in enumerate(shapes):
        cells = {name: column[row] for name, column in zip(columns, values, strict=True)}
        properties = {name: value for name, value in cells.items() if not is_null(value)}
        if kind is not None:
            properties.setdefault("kind", kind)
        number = before + row + 1
        if drawn is None or shapely.is_missing(drawn):
            yield RawFeature(number, None, properties, None, _NO_GEOMETRY)
        else:
            yield RawFeature(number, None, properties, drawn)


def is_null(value: object) -> bool:
    """Return whether a column's value is missing: None, NaN, NA or NaT."""
    return value is None or (isinstance(value, float) and math.isnan(value)) or str(value) in {"<NA>", "NaT"}
