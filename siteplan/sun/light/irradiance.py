"""How strong is the sunlight on open ground: its irradiance, direct and diffuse?

On clear days by the clear-sky model of Ineichen and Perez with Linke turbidity; in a typical year by a weather file.
Shade is computed by the lookup, light reflected by ground and walls in `reflection`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.weather import HOURS, Air, Weather
from siteplan.sun.path.fine_path import finer
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

#: threshold of bright sunshine, in direct normal irradiance: WMO-No. 8, Guide to instruments, part I, ch. 8
BRIGHT = 120.0  # W/m2
#: mol/m2 of photosynthetic photons for each kWh/m2 of sunlight: Faust and Logan (2018), HortScience 53:1250 (seen)
MOL_PER_KWH = 7.265
LEAST_LIT = 0.25  # h; the light of an hour of weather data is spread over at least this long, even if the sun sets


@dataclass(frozen=True, eq=False)
class Radiation:
    """Solar radiation on open ground along a sun path.

    Attributes
    ----------
    direct : ndarray, shape (parts,)
        Direct normal irradiance in each part of the finer path. [W/m2]
    beam : ndarray, shape (parts,)
        Direct energy on level ground in each part. [kWh/m2]
    bright : ndarray, shape (parts,)
        Duration of bright sunshine in each part. [h]
    diffuse : ndarray, shape (days,)
        Diffuse energy on level ground on each day. [kWh/m2]
    upright : ndarray, shape (days,)
        Direct energy on upright surfaces on each day, the mean of all directions that they may face. [kWh/m2]
    """

    direct: Floats
    beam: Floats
    bright: Floats
    diffuse: Floats
    upright: Floats


def clear_radiation(path: SunPath, air: Air) -> Radiation:
    """Return the radiation of a sky without clouds.

    Parameters
    ----------
    path : SunPath
        Of a whole year.
    air : Air
        Linke turbidity and altitude of the place.

    References
    ----------
    Ineichen, P. and Perez, R. (2002), A new airmass independent formulation for the Linke turbidity coefficient,
    Solar Energy 73:151-157; Kasten, F. and Young, A. T. (1989) for the air mass; both as implemented in pvlib.
    """
    from pvlib.atmosphere import alt2pres, get_absolute_airmass, get_relative_airmass
    from pvlib.clearsky import ineichen
    from pvlib.irradiance import get_extra_radiation

    fine = finer(path)
    if not len(fine.hours):
        return _radiation(path, np.empty(0), np.empty(0))
    zenith = 90 - fine.elevation
    mass = get_absolute_airmass(get_relative_airmass(zenith, model="kastenyoung1989"), alt2pres(air.altitude))
    clear = ineichen(
        zenith,
        mass,
        air.turbidity[fine.day - 1],
        altitude=air.altitude,
        dni_extra=get_extra_radiation(fine.day),
    )
    return _radiation(path, np.asarray(clear["dni"]), np.asarray(clear["dhi"]))


def typical_radiation(path: SunPath, weather: Weather, *, longitude: float, start: float) -> Radiation:
    """Return the radiation of a typical year.

    Parameters
    ----------
    path : SunPath
        Of a whole year.
    weather : Weather
        Hour by hour. Its hours are matched by solar time: solar noon at the station is solar noon at the place.
    longitude : float
        Of the place. [degrees]
    start : float
        The path's first midnight, since 1970-01-01 00:00 UTC. [s]

    Notes
    -----
    The light of an hour is spread evenly over the part of the hour in which the sun is up, so that either all or none
    of an hour's sunshine is bright. 29 February takes the weather of the 28th.
    """
    fine = finer(path)
    seconds = start + fine.time * 3600 + (longitude - weather.longitude) * 240
    row = _row_of(seconds, weather.middle)
    hour = np.floor(seconds / 3600 - weather.middle + 0.5).astype(np.int64)
    lit = np.empty(0)
    if len(hour):
        lit = np.bincount(hour - hour.min(), weights=fine.hours)[hour - hour.min()]
    concentration = 1 / np.clip(lit, LEAST_LIT, 1.0)
    return _radiation(path, weather.direct[row] * concentration, weather.diffuse[row] * concentration)


def _row_of(seconds: Floats, middle: float) -> Integers:
    """Return the row of a typical year for each time, in seconds since 1970-01-01 00:00 UTC."""
    import pandas as pd

    times = pd.DatetimeIndex(pd.to_datetime(seconds, unit="s"))
    day = np.asarray(times.day_of_year, dtype=np.int64)
    day -= np.asarray(times.is_leap_year) & (day >= 60)  # the 29th of February is day 60
    hour = (day - 1) * 24 + seconds % 86400 / 3600
    return np.floor(hour - middle + 0.5).astype(np.int64) % HOURS


def _radiation(path: SunPath, direct: Floats, diffuse: Floats) -> Radiation:
    """Return the radiation from direct normal and diffuse irradiance in each part of the finer path. [W/m2]"""
    fine = finer(path)
    days = len(path.day_month)
    # over all directions that a wall may face, the mean of max(cos(incidence), 0) is cos(elevation) / pi
    upright = direct * np.cos(np.radians(fine.elevation)) / np.pi * fine.hours / 1000
    return Radiation(
        direct=direct,
        beam=direct * np.sin(np.radians(fine.elevation)) * fine.hours / 1000,
        bright=fine.hours * (direct >= BRIGHT),
        diffuse=np.bincount(fine.day - 1, weights=diffuse * fine.hours / 1000, minlength=days).astype(np.float64),
        upright=np.bincount(fine.day - 1, weights=upright, minlength=days).astype(np.float64),
    )


def daily_light_integral(energy: Floats | float) -> Floats:
    """Return the daily light integral (DLI): the photosynthetic photons of a day's sunlight.

    Parameters
    ----------
    energy : float or ndarray
        Global radiation: direct and diffuse, all wavelengths. [kWh/m2 a day]

    Returns
    -------
    ndarray
        [mol/m2 a day]

    References
    ----------
    Faust, J. E. and Logan, J. (2018), Daily light integral: a research review and high-resolution maps of the United
    States, HortScience 53:1250-1257.

    Examples
    --------
    >>> float(daily_light_integral(5.0).round(1))
    36.3
    """
    return np.asarray(np.asarray(energy, dtype=np.float64) * MOL_PER_KWH, dtype=np.float64)
