"""How strong is the solar radiation of a typical year, by a weather file?

EPW, TMY3 and PVGIS files are read with pvlib; their hours are put in order and checked against the sun's path. Only
radiation is used. `sun/light` computes the light on a bed from it.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import Geod

from siteplan.files.remarks import Remarks
from siteplan.files.text import read_bytes
from siteplan.files.weather.typical_year import HourlyRows, typical_year
from siteplan.land.frame import LocalFrame
from siteplan.land.values import shown
from siteplan.land.weather import Air, Weather

Floats = NDArray[np.float64]

FAR = 50e3  # m from the station to the property; common practice, no source
LARGEST = 100_000_000  # bytes; a typical year takes a few megabytes
FORMATS = "EPW, TMY3 (CSV), or the typical year of PVGIS (JSON or CSV)"
_RADIATION = {"total": ("ghi", "G(h)"), "direct": ("dni", "Gb(n)"), "diffuse": ("dhi", "Gd(h)")}
#: what pvlib's readers, pandas and the conversions here raise on malformed files
_BROKEN = (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError, RecursionError)


@dataclass(frozen=True, kw_only=True)
class _Place:
    """The station's place, by the file."""

    latitude: float
    longitude: float
    elevation: float | None
    name: str = ""


def read_weather(path: Path, frame: LocalFrame, remarks: Remarks) -> Weather | None:
    """Return the typical year of a weather file, or None if a fault is noted.

    Parameters
    ----------
    path : Path
    frame : LocalFrame
        Of the site, which the station should be near.
    remarks : Remarks
    """
    text = _text(path, remarks)
    parsed = None if text is None else _parsed(text, path.name, remarks)
    if parsed is None:
        return None
    hours, station = parsed
    if station is None:
        words = f"{path.name} does not say where its station is; it is taken to be the property itself."
        remarks.caution("weather-place", "", words)
        station = _Place(latitude=frame.latitude, longitude=frame.longitude, elevation=None)
    if not (-90 <= station.latitude <= 90 and -180 <= station.longitude <= 180):
        where = f"latitude {station.latitude:g}, longitude {station.longitude:g}"
        remarks.fault(path.name, "", f"says that its station is at {where}, which is not on the earth")
        return None
    return _weather(hours, station, path.name, frame, remarks)


def _text(path: Path, remarks: Remarks) -> str | None:
    """Return a file's text; bytes that are not UTF-8 occur only in names, and are replaced."""
    content = read_bytes(path, remarks, most=LARGEST)
    return None if content is None else content.decode("utf-8-sig", errors="replace")


def _parsed(text: str, file: str, remarks: Remarks) -> tuple[HourlyRows, _Place | None] | None:
    """Return the rows and the station of a file in any of the formats; None if a fault is noted."""
    parse = _parser(text)
    if parse is None:
        remarks.fault(file, "", f"is not a weather file of a format that is known here; it must be {FORMATS}")
        return None
    try:
        return parse(text)
    except KeyError as error:
        remarks.fault(file, "", f"has no {shown(str(error.args[0]))} in it; it must be {FORMATS}")
        return None
    except _BROKEN as error:
        remarks.fault(file, "", f"cannot be read as a weather file: {shown(str(error))}")
    return None


def _weather(hours: HourlyRows, station: _Place, file: str, frame: LocalFrame, remarks: Remarks) -> Weather | None:
    """Return the checked typical year; None if a fault is noted."""
    year = typical_year(hours, latitude=station.latitude, longitude=station.longitude, file=file, remarks=remarks)
    if year is None:
        return None
    _check_station(station.latitude, station.longitude, station.elevation, frame=frame, file=file, remarks=remarks)
    return Weather(
        total=year.total,
        direct=year.direct,
        diffuse=year.diffuse,
        middle=year.middle,
        latitude=station.latitude,
        longitude=station.longitude,
        elevation=station.elevation,
        name=station.name or file,
        file=file,
    )


def _check_station(
    latitude: float, longitude: float, elevation: float | None, *, frame: LocalFrame, file: str, remarks: Remarks
) -> None:
    """Note a caution if the station is far away, in the other hemisphere, or at an impossible height."""
    _, _, distance = Geod(ellps="WGS84").inv(frame.longitude, frame.latitude, longitude, latitude)
    if latitude * frame.latitude < 0 and distance > FAR:
        words = (
            f"{file} is from the other hemisphere, {remarks.far(distance)} away: its summer is the property's "
            "winter, so that the light in a typical year is wrong. Take a file from nearby."
        )
        remarks.caution("weather-hemisphere", "", words)
    elif distance > FAR:
        words = f"{file} is from a station {remarks.far(distance)} away; its clouds may not be the property's."
        remarks.caution("weather-far", "", words)
    if elevation is not None and not -500 <= elevation <= 9000:
        words = f"{file} has its station at {remarks.high(elevation)}, where no land lies."
        remarks.caution("weather-height", "", words)


def _parser(text: str) -> Callable[[str], tuple[HourlyRows, _Place | None]] | None:
    """Return the parser for a file, by its beginning, whatever its name; None for an unknown format."""
    head = text[:4000].lstrip()
    if head[:8].upper() == "LOCATION":
        return _epw
    if head[:1] in {"[", "{"}:
        return _pvgis_json
    if head.startswith("Latitude (decimal degrees)"):
        return _pvgis_csv
    lines = head.splitlines()
    if len(lines) > 1 and lines[1].startswith("Date (MM/DD/YYYY)"):
        return _tmy3
    return None


def _epw(text: str) -> tuple[HourlyRows, _Place]:
    """Return an EPW file's hours: hour 1 ends at 01:00 of the station's standard time."""
    from pvlib.iotools import read_epw

    data, meta = read_epw(io.StringIO(text))
    zone = float(meta["TZ"])
    hours = HourlyRows(
        month=_integers(data["month"]), day=_integers(data["day"]), hour=_integers(data["hour"]) - 1,
        middle=0.5 - zone, zone=zone, **_radiation(data),
    )  # fmt: skip
    return hours, _place(meta, name=str(meta["city"]))


def _tmy3(text: str) -> tuple[HourlyRows, _Place]:
    """Return a TMY3 file's hours: 01:00 is the hour that ends then, standard time; months come from several years."""
    from pvlib.iotools import read_tmy3

    data, meta = read_tmy3(io.StringIO(text))
    date = data["Date (MM/DD/YYYY)"].astype(str).str.split("/", expand=True)
    clock = data["Time (HH:MM)"].astype(str).str.split(":", expand=True)
    zone = float(meta["TZ"])
    hours = HourlyRows(
        month=_integers(date[0]), day=_integers(date[1]), hour=_integers(clock[0]) - 1, middle=0.5 - zone, zone=zone,
        **_radiation(data),
    )  # fmt: skip
    return hours, _place(meta, name=str(meta["Name"]).strip('" '))


def _pvgis_csv(text: str) -> tuple[HourlyRows, _Place]:
    """Return the hours of a PVGIS table: moments in UTC, a little after the written time."""
    from pvlib.iotools import read_pvgis_tmy

    data, meta = read_pvgis_tmy(io.BytesIO(text.encode()), pvgis_format="csv")
    place = meta["inputs"]
    return _pvgis(data, place.get("irradiance time offset")), _place(place)


def _pvgis_json(text: str) -> tuple[HourlyRows, _Place | None]:
    """Return the hours of a PVGIS JSON; with a user's own horizon PVGIS writes a bare list of rows."""
    from pvlib.iotools import read_pvgis_tmy

    content = json.loads(text)
    if isinstance(content, dict):
        data, meta = read_pvgis_tmy(io.StringIO(text), pvgis_format="json")
        place = meta["inputs"]["location"]
        offset = next((value for key, value in place.items() if re.match("irradiance.time.offset", key)), None)
        return _pvgis(data, offset), _place(place)
    data = pd.DataFrame(content)
    data.index = pd.to_datetime(data["time(UTC)"], format="%Y%m%d:%H%M", utc=True)
    return _pvgis(data, None), None


def _pvgis(data: pd.DataFrame, offset: float | None) -> HourlyRows:
    when = pd.DatetimeIndex(data.index)
    return HourlyRows(
        month=_integers(when.month), day=_integers(when.day), hour=_integers(when.hour),
        middle=None if offset is None else float(offset), zone=0.0, **_radiation(data),
    )  # fmt: skip


def _radiation(data: pd.DataFrame) -> dict[str, Floats]:
    """Return the three columns of radiation, NaN for a cell that is no number; KeyError if one is missing."""
    columns = {}
    for key, names in _RADIATION.items():
        name = next((name for name in names if name in data.columns), None)
        if name is None:
            raise KeyError(names[0])
        columns[key] = pd.to_numeric(data[name], errors="coerce").to_numpy(dtype=np.float64)
    return columns


def _integers(values: Any) -> NDArray[np.int64]:
    return np.asarray(values).astype(np.int64)


def _place(meta: Any, *, name: str = "") -> _Place:
    """Return the station's place from a file's metadata; the height is called altitude or elevation."""
    height = meta.get("altitude", meta.get("elevation"))
    return _Place(
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        elevation=None if height is None else float(height),
        name="".join(letter for letter in name if letter.isprintable())[:60],
    )


def clear_air(latitude: float, longitude: float, *, altitude: float | None = None) -> Air:
    """Return the turbidity of clear days at a place, and its altitude.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    altitude : float, optional
        Above the sea; if None, it is taken from the coarse table of heights that comes with pvlib. [m]

    References
    ----------
    Remund, J., Wald, L., Lefevre, M., Ranchin, T. and Page, J. (2003), Worldwide Linke turbidity information, ISES
    Solar World Congress: monthly means on a grid of a twelfth of a degree, which come with pvlib; each holds for the
    middle of its month, with linear interpolation in between.

    Examples
    --------
    >>> air = clear_air(45.0, 8.0)
    >>> air.turbidity.shape, bool(air.turbidity[180] > air.turbidity[0])  # summers are hazier
    ((366,), True)
    """
    from pvlib.clearsky import lookup_linke_turbidity

    months = pd.date_range("2024-01-01", periods=12, freq="MS", tz="UTC")
    monthly = lookup_linke_turbidity(months, latitude, longitude, interp_turbidity=False).to_numpy(dtype=np.float64)
    lengths = months.days_in_month.to_numpy()
    turbidity = np.interp(np.arange(1, 367), np.cumsum(lengths) - lengths / 2, monthly, period=366)
    height = usual_altitude(latitude, longitude) if altitude is None else altitude
    return Air(turbidity=np.maximum(turbidity, 1.0), altitude=height)


def usual_altitude(latitude: float, longitude: float) -> float:
    """Return the altitude of the land around a place, by the coarse table of heights that comes with pvlib. [m]

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    """
    from pvlib.location import lookup_altitude

    return float(lookup_altitude(latitude, longitude))
