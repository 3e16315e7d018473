"""How far away can an obstacle be and still shade the property?

As far as its shadow reaches under the lowest sun that counts: the elevation below which the sun spends a tenth of the
hours of the growing season. Obstacles farther away take at most that share, even if they stand all around.
"""

from __future__ import annotations

import datetime as dt
import math

import numpy as np

from siteplan.land.grid import Floats
from siteplan.land.site import Season
from siteplan.sun.path.solar_path import apparent_position

SHARE = 0.10  # of the season's hours of sun
LEAST = 1.0  # degrees; also if the sun never rises in the season
STEP = 1 / 72  # of a day
FARTHEST = 500.0  # m; a hill or a tower that matters from farther away belongs to the skyline


def lowest_sun(latitude: float, longitude: float, *, year: int, season: Season) -> float:
    """Return the elevation below which the sun spends `SHARE` of its hours in the growing season. [degrees]

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    year, season
        Of the site.

    Examples
    --------
    >>> from siteplan.land.features import MonthDay
    >>> summer = Season(last_frost=MonthDay(4, 20), first_frost=MonthDay(10, 20))
    >>> round(lowest_sun(52.0, 4.4, year=2026, season=summer), 1)
    5.7
    """
    days = np.array([day for day in range(1, 366) if season.holds(day, year)])
    start = (dt.date(year, 1, 1) - dt.date(1970, 1, 1)).days - longitude / 360
    moments = (start + days[:, np.newaxis] - 1 + np.arange(0, 1, STEP)).ravel() * 86_400
    _, elevation = apparent_position(latitude, longitude, moments)
    up = elevation[elevation > 0]
    return float(max(np.quantile(up, SHARE), LEAST)) if up.size else LEAST


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
