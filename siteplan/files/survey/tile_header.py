"""What is in the header of a LAS or LAZ file: coordinate system, units, bounds, number of points, day?

The points are read in `tiles.py`.

References
----------
LAS specification 1.4 R15 (ASPRS 2019), memory: bit 0 of the global encoding says that times are adjusted standard GPS
time, seconds since 6 January 1980 less a thousand million. GeoTIFF 1.1 (OGC 19-008r4), memory: key 4099 holds the
vertical unit, 9001 the metre, 9002 the foot, 9003 the US survey foot.
"""

from __future__ import annotations

import datetime as dt
import logging
import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pyproj import CRS
from pyproj.exceptions import CRSError

from siteplan.files.ground.raster import SURVEY_FOOT
from siteplan.files.remarks import Remarks
from siteplan.files.text import no_file
from siteplan.land.errors import MissingExtraError
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import shown

_VERTICAL_UNIT = 4099  # key of a GeoTIFF's directory
_UNITS = {9001: 1.0, 9002: FOOT, 9003: SURVEY_FOOT}
_GPS_DAY, _GPS_LESS = dt.date(1980, 1, 6), 1e9
_FIRST, _LAST = dt.date(1990, 1, 1), dt.date(2100, 1, 1)  # days of laser surveys; other days are ignored
_BROKEN = "cannot be read: it is cut off, or damaged; fetch it once more"


@dataclass(frozen=True)
class TileHeader:
    """The header of a tile.

    Attributes
    ----------
    path : Path
    system : pyproj.CRS
        Of its x and y.
    metres : float or None
        Length of its unit of height; None if unknown. [m]
    unit_given : bool
        Whether the file or the gardener names that unit; otherwise metres are assumed.
    bounds : (float, float, float, float)
        West, south, east, north in its own coordinates.
    count : int
        Of its points.
    made : datetime.date or None
        Day on which the file was made.
    gps_days : bool
        Whether the time stamps of its pulses include the day.
    """

    path: Path
    system: CRS
    metres: float | None
    unit_given: bool
    bounds: tuple[float, float, float, float]
    count: int
    made: dt.date | None
    gps_days: bool


def require_laspy() -> None:
    """Raise an error if LAS and LAZ cannot be read.

    Raises
    ------
    MissingExtraError
        If laspy or lazrs is not installed.
    """
    try:
        import laspy  # noqa: F401
        import lazrs  # noqa: F401  # laspy reads LAZ with it
    except ImportError as error:
        raise MissingExtraError(
            "LAS and LAZ need laspy and lazrs: install siteplan[survey]; or give two rasters, surface and ground",
        ) from error


def laspy_header(path: Path) -> Any:
    """Return laspy's header of a tile.

    Raises
    ------
    ValueError
        If the tile is damaged; with a message for people.
    """
    with _damage_as_value_error(), _open(path) as reader:
        if path.stat().st_size < int(reader.header.offset_to_point_data):
            raise ValueError(_BROKEN)  # laspy ignores records that are cut off
        return reader.header


def chunks(path: Path, size: int) -> Iterator[Any]:
    """Yield the points of a tile in chunks.

    Raises
    ------
    ValueError
        If the tile is damaged; with a message for people.
    """
    with _damage_as_value_error():
        reader = _open(path)
    with reader:
        left, parts = int(reader.header.point_count), reader.chunk_iterator(size)
        while left > 0:
            with _damage_as_value_error():
                part = next(parts, ())
                if not len(part):
                    raise ValueError(_BROKEN)
            left -= len(part)
            yield part


def _open(path: Path) -> Any:
    import laspy

    logging.getLogger("laspy").addHandler(logging.NullHandler())  # faults are reported once, by siteplan
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return laspy.open(path)


@contextmanager
def _damage_as_value_error() -> Iterator[None]:
    """Turn every error that laspy raises for a damaged tile into one ValueError."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as error:  # a panic of lazrs is no Exception
        raise ValueError(_BROKEN) from error


def read_header(path: Path, remarks: Remarks, *, crs: CRS | None, metres: float | None) -> TileHeader | None:
    """Return the header of a tile, or None if faults are noted.

    Parameters
    ----------
    path : Path
    remarks : Remarks
    crs : pyproj.CRS, optional
        Named by the gardener; it replaces the file's own.
    metres : float, optional
        Length of the unit of height, named by the gardener. [m]
    """
    if trouble := no_file(path):
        remarks.fault(path.name, "", trouble)
        return None
    try:
        return _checked_header(path, laspy_header(path), remarks, crs=crs, metres=metres)
    except ValueError as error:
        remarks.fault(path.name, "", str(error))
        return None


def _checked_header(
    path: Path, header: Any, remarks: Remarks, *, crs: CRS | None, metres: float | None
) -> TileHeader | None:
    system = crs or _own_system(header)
    horizontal = _horizontal_system(system)
    if system is None or horizontal is None:
        remarks.fault(path.name, "", _no_system(system))
        return None
    bounds = tuple(float(edge) for edge in (*header.mins[:2], *header.maxs[:2]))
    if not all(map(math.isfinite, bounds)) or bounds[0] > bounds[2] or bounds[1] > bounds[3]:
        remarks.fault(path.name, "", _BROKEN)
        return None
    unit = metres or _vertical_unit(system, header)
    horizontal_unit = horizontal.axis_info[0].unit_name.lower()
    if unit is None and ("foot" in horizontal_unit or "feet" in horizontal_unit):
        text = (
            'measures in feet across and does not say what its heights are in; say it: --z-unit "us-ft", "ft" or "m"'
        )
        remarks.fault(path.name, "", text)
        return None
    return TileHeader(
        path=path,
        system=horizontal,
        metres=unit,
        unit_given=unit is not None,
        bounds=bounds,  # type: ignore[arg-type]
        count=int(header.point_count),
        made=_sound_day(header.creation_date),
        gps_days=_tells_days(header),
    )


def _own_system(header: Any) -> CRS | None:
    """Return the coordinate system of a file, None if it names none that can be read."""
    try:
        system = header.parse_crs()
    except (CRSError, ValueError, KeyError, IndexError, TypeError, AttributeError, UnicodeDecodeError):
        return None
    return system if isinstance(system, CRS) else None


def _horizontal_system(system: CRS | None) -> CRS | None:
    """Return the part of a coordinate system that holds x and y, None if it is of no place on earth."""
    if system is None:
        return None
    horizontal = next((part for part in system.sub_crs_list or [system] if not part.is_vertical), system)
    return horizontal if horizontal.is_geographic or horizontal.is_projected else None


def _no_system(system: CRS | None) -> str:
    """Return what is wrong with a tile that has no place on earth."""
    if system is None:
        return (
            "does not say in which coordinate system it is; its source names one: say it as --crs EPSG:28992 "
            "(that is the Dutch one)"
        )
    return f"has the coordinate system {shown(system.name)}, which is of no place on earth; say it with --crs"


def _vertical_unit(system: CRS, header: Any) -> float | None:
    """Return the length of the unit of height, from the coordinate system or a GeoTIFF key of the header. [m]"""
    for part in system.sub_crs_list or [system]:
        if part.is_vertical:
            return float(part.axis_info[0].unit_conversion_factor)
    if system.is_projected and len(system.axis_info) == 3:
        return float(system.axis_info[2].unit_conversion_factor)
    for record in header.vlrs:
        for key in getattr(record, "geo_keys", None) or ():
            if getattr(key, "id", None) == _VERTICAL_UNIT:
                return _UNITS.get(int(key.value_offset))
    return None


def _tells_days(header: Any) -> bool:
    kind = getattr(header.global_encoding, "gps_time_type", 0)
    return int(kind) == 1 and "gps_time" in set(header.point_format.dimension_names)


def _sound_day(day: object) -> dt.date | None:
    if isinstance(day, dt.datetime):
        day = day.date()
    return day if isinstance(day, dt.date) and _FIRST <= day <= _LAST else None


def gps_day(seconds: float) -> dt.date | None:
    """Return the day of an adjusted standard GPS time; None if no survey can have been on that day.

    Examples
    --------
    >>> gps_day(78_000_000.0)
    datetime.date(2014, 3, 4)
    """
    if not math.isfinite(seconds) or abs(seconds) > 1e10:
        return None
    return _sound_day(_GPS_DAY + dt.timedelta(seconds=seconds + _GPS_LESS))
