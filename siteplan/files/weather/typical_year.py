"""Are the hours of a typical year complete, in order, and bright when the sun is up?

Rows are assigned to the 8,760 hours of a year by month, day and hour; small gaps are filled from the same hour of the
nearest days. `weather_file.py` reads the formats and checks the station's place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.files.remarks import Remarks
from siteplan.land.weather import HOURS

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MISSING = 9000.0  # W/m2; EPW writes 9999 for a missing value, TMY3 -9900
STRONGEST = 1600.0  # W/m2; more than the solar constant (1,361), since the edge of a cloud can add to the sun
DIMMEST = 50.0  # W/m2; the strongest hour of any place on earth has more
NEGATIVE = -30.0  # W/m2; sensors read a little below zero at night
MOST_MISSING = 0.1  # share of the year's hours
ASTRAY = 0.45  # h; if the light fits the sun better when moved by more than this, the file's times are wrong
FARTHEST = 13  # h; no zone's clock is farther from solar time


@dataclass(frozen=True, eq=False, kw_only=True)
class HourlyRows:
    """The rows of a weather file.

    Attributes
    ----------
    month, day, hour : ndarray of int, shape (n,)
        Of the file's own clock; the hour from 0.
    total, direct, diffuse : ndarray, shape (n,)
        Global horizontal, direct normal, diffuse horizontal; NaN if missing. [W/m2]
    middle : float or None
        To be added to month, day and hour to get the middle of the row's period in UTC; None if the file does not
        say. [h]
    zone : float
        How far the file's clock is ahead of UTC, by its header. [h]
    """

    month: Integers
    day: Integers
    hour: Integers
    total: Floats
    direct: Floats
    diffuse: Floats
    middle: float | None
    zone: float


@dataclass(frozen=True, eq=False)
class Year:
    """Radiation of all hours of a year [W/m2], and the middle of the first hour in UTC [h]."""

    total: Floats
    direct: Floats
    diffuse: Floats
    middle: float


def typical_year(hours: HourlyRows, *, latitude: float, longitude: float, file: str, remarks: Remarks) -> Year | None:
    """Return the hours in order without gaps, or None if a fault is noted.

    Parameters
    ----------
    hours : HourlyRows
    latitude, longitude : float
        Of the station. [degrees]
    file : str
        Its name, for messages.
    remarks : Remarks
    """
    row = _rows(hours, file, remarks)
    if row is None:
        return None
    radiation = {}
    for key in ("total", "direct", "diffuse"):
        values = np.full(HOURS, np.nan)
        values[row[row >= 0]] = getattr(hours, key)[row >= 0]
        radiation[key] = _cleaned(values, key, file, remarks)
    if not _complete(radiation, file, remarks):
        return None
    radiation = {key: _filled(values) for key, values in radiation.items()}
    strongest = max(float(values.max()) for values in radiation.values())
    if not DIMMEST <= strongest <= STRONGEST:
        text = (
            f"has {strongest:g} as its strongest radiation; it must be in W/m2, whose strongest hour is about 1,000"
        )
        remarks.fault(file, "", text)
        return None
    middle = _middle(hours, radiation["total"], latitude, longitude, file, remarks)
    if middle is None:
        return None
    _check_sum(radiation, middle, latitude, longitude, file, remarks)
    return Year(radiation["total"], radiation["direct"], radiation["diffuse"], middle)


def _rows(hours: HourlyRows, file: str, remarks: Remarks) -> Integers | None:
    """Return the hour of the year of each row, -1 on a 29 February; None if a fault is noted."""
    sound = (hours.month >= 1) & (hours.month <= 12) & (hours.day >= 1) & (hours.hour >= 0) & (hours.hour <= 23)
    month = np.clip(hours.month, 1, 12)
    leap = sound & (month == 2) & (hours.day == 29)
    sound &= (hours.day <= DAYS[month - 1]) | leap
    if not sound.all():
        index = int(np.flatnonzero(~sound)[0])
        when = f"month {hours.month[index]}, day {hours.day[index]}, hour {hours.hour[index] + 1}"
        others = f" (and so {int((~sound).sum()) - 1:,} more)" if (~sound).sum() > 1 else ""
        remarks.fault(file, f"row {index + 1} of its hours", f"is {when}{others}, which no year has; mend or drop it")
        return None
    first = np.concatenate([[0], np.cumsum(DAYS)[:-1]])
    row = np.where(leap, -1, (first[month - 1] + hours.day - 1) * 24 + hours.hour)
    times = np.bincount(row[row >= 0], minlength=HOURS)
    if times.max(initial=0) > 1:
        index = int(np.flatnonzero(row == int(np.argmax(times > 1)))[1])
        when = f"month {hours.month[index]}, day {hours.day[index]}, hour {hours.hour[index] + 1}"
        twice = int((times - 1).clip(0).sum())
        others = f" (and so {twice - 1:,} more)" if twice > 1 else ""
        text = f"is {when} again{others}; a typical year has each hour once: drop one of the two"
        remarks.fault(file, f"row {index + 1} of its hours", text)
        return None
    if leap.any():
        words = f"{file} has {len(row):,} hours, those of a leap year; its 29 February is left out."
        remarks.caution("weather-leap-year", "", words)
    return np.asarray(row, dtype=np.int64)


def _cleaned(values: Floats, key: str, file: str, remarks: Remarks) -> Floats:
    """Return values of at least 0, NaN if missing; note small negative ones."""
    unknown = ~np.isfinite(values) | (values < NEGATIVE) | (values >= MISSING)
    small = ~unknown & (values < -0.5)
    if small.any():
        words = f"{file} has {int(small.sum()):,} hours of {key} radiation a little below 0 W/m2; they count as dark."
        remarks.caution("weather-negative", "", words)
    return np.where(unknown, np.nan, np.maximum(values, 0.0))


def _complete(radiation: dict[str, Floats], file: str, remarks: Remarks) -> bool:
    """Return whether few enough hours are missing; note how many are."""
    gaps = int(np.isnan(np.stack([*radiation.values()])).any(axis=0).sum())
    if gaps > MOST_MISSING * HOURS:
        text = (
            f"has no radiation in {gaps:,} of {HOURS:,} hours; a typical year must have nearly all of them: take "
            "another file, or leave weather out of site.toml"
        )
        remarks.fault(file, "", text)
        return False
    if gaps:
        words = f"{file} has no radiation in {gaps:,} hours; the same hours of the nearest days stand in for them."
        remarks.caution("weather-gaps", "", words)
    return True


def _filled(values: Floats) -> Floats:
    """Return a year with each missing hour filled by the mean of that hour on the nearest days before and after.

    Examples
    --------
    >>> year = np.tile(np.arange(24.0), 365)
    >>> year[[12, 36, 60]] = np.nan
    >>> _filled(year)[[11, 12, 36, 60]]
    array([11., 12., 12., 12.])
    """
    by_day = values.reshape(365, 24).copy()
    days = np.arange(365)
    for hour in range(24):
        known = days[np.isfinite(by_day[:, hour])]
        for day in days[~np.isfinite(by_day[:, hour])]:
            if not len(known):
                by_day[day, hour] = 0.0
                continue
            before = known[np.searchsorted(known, day) - 1]
            after = known[np.searchsorted(known, day) % len(known)]
            by_day[day, hour] = (values[before * 24 + hour] + values[after * 24 + hour]) / 2
    return np.asarray(by_day.ravel())


def _middle(
    hours: HourlyRows, total: Floats, latitude: float, longitude: float, file: str, remarks: Remarks
) -> float | None:
    """Return the middle of the first hour in UTC, checked against the sun; None if a fault is noted. [h]"""
    stated = 0.5 - hours.zone if hours.middle is None else hours.middle
    move = best_move(total, stated, latitude, longitude)
    if hours.middle is None and abs(move) <= 1:
        return stated + move  # the file's times are moments in UTC, but not exact to the minute
    if abs(move) <= ASTRAY:
        return stated
    if hours.zone and abs(move - hours.zone) <= ASTRAY:
        words = (
            f"{file} says in its header that its clock is {hours.zone:+g} h from UTC, but its light falls as if its "
            "rows were in UTC; they are read so."
        )
        remarks.caution("weather-zone", "", words)
        return stated + move
    text = (
        f"has its light {abs(move):.1f} h too {'early' if move > 0 else 'late'} for the sun at its station (latitude "
        f"{latitude:g}, longitude {longitude:g}, clock {hours.zone:+g} h from UTC); are its time zone and its "
        "longitude right?"
    )
    remarks.fault(file, "", text)
    return None


def best_move(total: Floats, middle: float, latitude: float, longitude: float) -> float:
    """Return by how much hours must be moved so that their light fits the sun's elevation best. [h]

    Parameters
    ----------
    total : ndarray, shape (8760,)
        [W/m2]
    middle : float
        Of the first hour, in UTC. [h]
    latitude, longitude : float
        [degrees]

    Examples
    --------
    >>> sun = sine_of_height(np.arange(8760) + 0.5, 50.0, 15.0)
    >>> best_move(sun, 0.5, 50.0, 15.0), best_move(sun, -0.5, 50.0, 15.0)
    (0.0, 1.0)
    """
    best = 0.0
    for step, reach in ((0.5, FARTHEST), (0.1, 0.5)):  # hours
        moves = best + np.arange(-round(reach / step), round(reach / step) + 1) * step
        best = float(moves[int(np.argmax([_fit(total, middle + move, latitude, longitude) for move in moves]))])
    return round(best, 1)


def _fit(total: Floats, middle: float, latitude: float, longitude: float) -> float:
    """Return how well hours of light correlate with the sine of the sun's elevation."""
    height = sine_of_height(np.arange(HOURS) + middle, latitude, longitude)
    return float(np.dot(total, height) / (np.linalg.norm(height) or 1.0))


def sine_of_height(hour: NDArray[np.floating[Any]], latitude: float, longitude: float) -> Floats:
    """Return the sine of the sun's elevation, 0 at night; the elevation is accurate to a degree.

    Parameters
    ----------
    hour : ndarray, shape (n,)
        Since 1 January 00:00 UTC. [h]
    latitude, longitude : float
        [degrees]

    References
    ----------
    Spencer, J. W. (1971), Fourier series representation of the position of the sun, Search 2(5), as implemented in
    pvlib: declination and equation of time (the coefficients from memory, compared with pvlib by a test).
    """
    year = 2 * np.pi * (hour / 24 % 365) / 365
    waves = np.stack([np.ones_like(year), np.cos(year), np.sin(year), np.cos(2 * year), np.sin(2 * year)])
    tilt = np.array([0.006918, -0.399912, 0.070257, -0.006758, 0.000907]) @ waves
    tilt += -0.002697 * np.cos(3 * year) + 0.00148 * np.sin(3 * year)
    clock = 229.18 / 60 * (np.array([0.0000075, 0.001868, -0.032077, -0.014615, -0.040849]) @ waves)
    angle = np.radians(15 * (hour % 24 + clock) + longitude - 180)
    phi = np.radians(latitude)
    sine = np.sin(phi) * np.sin(tilt) + np.cos(phi) * np.cos(tilt) * np.cos(angle)
    return np.asarray(np.maximum(sine, 0.0), dtype=np.float64)


def _check_sum(
    radiation: dict[str, Floats], middle: float, latitude: float, longitude: float, file: str, remarks: Remarks
) -> None:
    """Note a caution if direct and diffuse do not add up to the global radiation: columns may be swapped."""
    height = sine_of_height(np.arange(HOURS) + middle, latitude, longitude)
    parts = float((radiation["direct"] * height + radiation["diffuse"]).sum())
    total = float(radiation["total"].sum())
    if total and not 0.85 <= parts / total <= 1.15:
        words = (
            f"{file} has direct and diffuse radiation that add up to {parts / total:.0%} of the global radiation; "
            "are its columns what they say?"
        )
        remarks.caution("weather-sum", "", words)
