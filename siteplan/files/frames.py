"""How is a site built in Python, without a folder?

Features come as GeoDataFrames and settings as a mapping like site.toml; they are read and checked as files are.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from siteplan.files.drawing.vector import drawing_of_frames
from siteplan.files.reader import site_of
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.files.site_toml.settings import drawing_unit, settings_of
from siteplan.land.errors import Fault, InputError
from siteplan.land.site import (
    Barrow,
    HaulSettings,
    Labour,
    PlaceSettings,
    Season,
    Site,
    SoilSettings,
    SunSettings,
    WaterSettings,
)

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

#: tables of the settings that may be given as a record instead
RECORDS: dict[str, type] = {
    "sun": SunSettings, "barrow": Barrow, "labour": Labour, "haul": HaulSettings, "place": PlaceSettings,
    "water": WaterSettings, "soil": SoilSettings, "season": Season,
}  # fmt: skip


def site_from_frames(
    features: GeoDataFrame | Mapping[str, GeoDataFrame],
    settings: Mapping[str, Any] | None = None,
    *,
    folder: str | Path = ".",
) -> Site:
    """Return the site that GeoDataFrames and settings describe.

    Parameters
    ----------
    features : GeoDataFrame, or mapping of str to GeoDataFrame
        One feature per row, with the properties of a features file as columns: ``kind``, ``id``, ``height``, ...;
        or frames by their kind. In any coordinate system; without one if the settings have an ``origin``.
    settings : mapping, optional
        As in site.toml: ``{"units": "metric", "origin": {"latitude": 45, "longitude": 8}, ...}``. A table may be
        given as its record, such as ``SunSettings(year=2026)``.
    folder : str or Path
        Folder of the files that the settings name: terrain, skyline, weather.

    Returns
    -------
    Site

    Raises
    ------
    InputError
        With all that is wrong with features and settings.

    Examples
    --------
    >>> import geopandas
    >>> from shapely import box
    >>> drawn = geopandas.GeoDataFrame(
    ...     {"id": ["lot", "house", "bed"], "kind": ["boundary", "building", "bed"], "height": [None, 6.0, 0.4]},
    ...     geometry=[box(0, 0, 20, 15), box(2, 2, 10, 6), box(12, 8, 14.4, 9.2)],
    ... )
    >>> site_from_frames(drawn, {"name": "Our yard", "origin": {"latitude": 45.0, "longitude": 8.0}})
    <Site "Our yard": 1 of 2 features are beds, latitude 45.0001, longitude 8.0001>
    """
    remarks = Remarks()
    records, values = _records_and_values({"name": "Site plan", **(settings or {})}, remarks)
    of_drawing = Remarks()
    drawing = drawing_of_frames(_sound_frames(features, of_drawing), of_drawing, file="features")
    remarks.unit = drawing_unit(values, drawing.crs)
    read = replace(settings_of(values, Path(folder), remarks), **records)
    remarks.faults |= of_drawing.faults  # after those of the settings, as from files
    site = site_of(read, drawing, Path(folder), remarks)
    if site is None or remarks.faults:
        raise InputError(
            Fault(_without_file(fault.file), _without_file(fault.where), _without_file(fault.text))
            for fault in remarks.faults
        )
    cautions = tuple(replace(caution, text=_without_file(caution.text)) for caution in site.cautions)
    return replace(site, cautions=cautions)


def _records_and_values(settings: Mapping[str, Any], remarks: Remarks) -> tuple[dict[str, Any], dict[str, object]]:
    """Split the settings into those given as records, and the others."""
    records: dict[str, Any] = {}
    values: dict[str, object] = {}
    for key, value in settings.items():
        if key == "features":
            remarks.fault(SETTINGS_FILE, key, "is handed in as frames; leave it out of the settings")
        elif not is_dataclass(value) or key not in RECORDS:
            values[key] = value
        elif not isinstance(value, RECORDS[key]):
            text = f"is a {type(value).__name__}, must be a table or a {RECORDS[key].__name__}"
            remarks.fault(SETTINGS_FILE, key, text)
        else:
            records[key] = value
    return records, values


def _sound_frames(
    features: GeoDataFrame | Mapping[str, GeoDataFrame], remarks: Remarks
) -> dict[str | None, GeoDataFrame]:
    """Return the frames by their kind; note those that hold no shapes."""
    from geopandas import GeoDataFrame

    frames: dict[str | None, GeoDataFrame] = {}
    for kind, frame in (features if isinstance(features, Mapping) else {None: features}).items():
        if isinstance(frame, GeoDataFrame) and frame.active_geometry_name is not None:
            frames[kind] = frame
        else:
            where = "" if kind is None else str(kind)
            text = f"is of type {type(frame).__name__}, must be a GeoDataFrame with a column of shapes"
            remarks.fault("features", where, text)
    return frames


def _without_file(text: str) -> str:
    """Return a message that names the settings instead of site.toml."""
    return text.replace(SETTINGS_FILE, "settings")
