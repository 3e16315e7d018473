"""How far from the property does a thing still take sun from it?

As far as its shadow reaches under the lowest sun that counts: the one below which the sun stands for a tenth of the
hours of the growing season. What stands farther off can take no more than that share, were it all around.
"""

from __future__ import annotations

import math

import numpy as np

from siteplan.land.grid import Floats
from siteplan.land.site import Season
from siteplan.sun.path.solar_path import sun_path

SHARE = 0.10  # of the season's hours of sun
FARTHEST = 500.0  # m; what matters from farther off is a hill or a tower, and belongs to the skyline


def lowest_sun(latitude: float, longitude: float, *, year: int, timezone: str, season: Season) -> float:
    """Return the elevation below which the sun stands for `SHARE` of its hours in the growing season. [degrees]

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    year, timezone, season
        As the site has them.

    Examples
    --------
    >>> from siteplan.land.features import MonthDay
    >>> summer = Season(last_frost=MonthDay(4, 20), first_frost=MonthDay(10, 20))
    >>> round(lowest_sun(52.0, 4.4, year=2026, timezone="Europe/Amsterdam", season=summer), 1)
    5.4
    """
    path = sun_path(latitude, longitude, year=year, timezone=timezone, step=0.25)
    there = np.array([season.holds(int(day), year) for day in path.day])
    elevation, hours = path.elevation[there], path.hours[there]
    order = np.argsort(elevation)
    share = np.cumsum(hours[order]) / hours.sum()
    return float(max(elevation[order][np.searchsorted(share, SHARE)], 1.0))


def reach_of(height: Floats | float, lowest: float) -> Floats | float:
    """Return how far a shadow reaches under the lowest sun that counts. [m]

    Parameters
    ----------
    height : float or ndarray
        Above the ground of the property. [m]
    lowest : float
        Elevation of the sun. [degrees]

    Examples
    --------
    >>> round(float(reach_of(10.0, 5.0)), 1)
    114.3
    """
    return np.clip(height, 0.0, None) / math.tan(math.radians(lowest))
