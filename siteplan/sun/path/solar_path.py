"""Where does the sun stand, and for how long, on every day of a year?

Apparent position of the sun's centre by pvlib's SPA at the middle of each step; a day lasts from rise to set of the
upper limb. Behind obstacles the sun is a point: the width of its disc does not count. Neither do the site's height
above sea level and the weather.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

GRAZING = 0.1  # degrees; if noon or midnight is this near the horizon, a rise and a set may fall within one step
LIMB = -0.8333  # degrees; the sun's centre when its upper limb rises: 16' of radius and 34' of refraction
AT_ONCE = 4096  # moments computed at once; the algorithm takes half a kilobyte for each
NEAR_HORIZON = 3.0  # degrees; farther from the horizon a rough position tells whether the sun is up


@dataclass(frozen=True, eq=False)
class SunPath:
    """Position of the sun above the horizon, step by step; there are no steps at night.

    Attributes
    ----------
    azimuth, elevation : ndarray, shape (steps,)
        Apparent position of the sun's centre at the middle of each step, azimuth clockwise from true north; 0 where
        only the limb is up. [degrees]
    hours : ndarray, shape (steps,)
        How long each step lasts. [h]
    time : ndarray, shape (steps,)
        Middle of each step since the path's first midnight; it runs on evenly, whatever the clocks do. [h]
    clock : ndarray, shape (steps,)
        Middle of each step as local clock time, 0 to 24. [h]
    day, month : ndarray of int, shape (steps,)
        Day of the year, 1 to 366, and month, 1 to 12, by local date.
    day_month : ndarray of int, shape (days,)
        Month of each day that the path holds, polar nights included; day 1 first.
    """

    azimuth: Floats
    elevation: Floats
    hours: Floats
    time: Floats
    clock: Floats
    day: Integers
    month: Integers
    day_month: Integers

    @property
    def day_length(self) -> Floats:
        """How long any of the sun is up on each day, shape (days,). [h]"""
        sums = np.bincount(self.day - 1, weights=self.hours, minlength=len(self.day_month))
        return np.asarray(sums, dtype=np.float64)

    @property
    def month_days(self) -> Integers:
        """How many days of each month the path holds, shape (12,)."""
        return np.bincount(self.day_month - 1, minlength=12)


def sun_path(latitude: float, longitude: float, *, year: int, timezone: str, step: float = 1 / 6) -> SunPath:
    """Return the sun's path over a whole year.

    Parameters
    ----------
    latitude, longitude : float
        Of the place, north and east positive. [degrees]
    year : int
        Year of the path, by local date.
    timezone : str
        IANA name.
    step : float
        Longest step. [h]

    Returns
    -------
    SunPath
        Its hours add up, day by day, to the time from rise to set of the sun's upper limb on a level horizon, with
        standard refraction.

    Examples
    --------
    >>> path = sun_path(40.0, -105.0, year=2026, timezone="America/Denver")
    >>> path.day_length[[171, 354]].round(2)  # 21 June and 21 December
    array([15.02,  9.33])
    >>> sun_path(78.0, 15.0, year=2026, timezone="Europe/Oslo").day_length[[0, 171]]
    array([ 0., 24.])

    References
    ----------
    Reda, I. and Andreas, A. (2008), Solar position algorithm for solar radiation applications,
    NREL/TP-560-34302, as implemented in pvlib.
    """
    import pandas as pd  # imported here, as pvlib below: each takes half a second to load

    days = pd.date_range(f"{year}-01-01", f"{year + 1}-01-01", freq="D")
    # where clocks change at midnight, a day begins at 1 o'clock, or with the first of two midnights
    first_of_two = np.ones(len(days), dtype=np.bool_)
    midnights = days.tz_localize(timezone, ambiguous=first_of_two, nonexistent="shift_forward")
    starts = midnights.as_unit("ns").asi8 / 1e9
    limb_at = partial(_limb_height, latitude, longitude)
    edges = _edges(starts, step * 3600, limb_at)
    begin, end = _lit_steps(edges, limb_at)
    middle = (begin + end) / 2
    azimuth, elevation = apparent_position(latitude, longitude, middle)
    day = np.searchsorted(starts, middle, side="right")
    day_month = np.asarray(midnights[:-1].month, dtype=np.int64)
    local = pd.DatetimeIndex(pd.to_datetime(middle, unit="s", utc=True)).tz_convert(timezone)
    clock = local.hour + local.minute / 60 + local.second / 3600
    return SunPath(
        azimuth=azimuth,
        elevation=np.maximum(elevation, 0.0),
        hours=(end - begin) / 3600,
        time=(middle - starts[0]) / 3600,
        clock=np.asarray(clock, dtype=np.float64),
        day=day.astype(np.int64),
        month=day_month[day - 1],
        day_month=day_month,
    )


def apparent_position(latitude: float, longitude: float, seconds: Floats) -> tuple[Floats, Floats]:
    """Return the sun's azimuth and apparent elevation.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    seconds : ndarray, shape (n,)
        Since 1970-01-01 00:00 UTC. [s]

    Returns
    -------
    azimuth, elevation : ndarray, shape (n,)
        Clockwise from true north; of the sun's centre with standard refraction. [degrees]
    """
    if not len(seconds):
        return np.empty(0), np.empty(0)
    sun = _sun(latitude, longitude, seconds)
    return sun["azimuth"].to_numpy(dtype=np.float64), sun["apparent_elevation"].to_numpy(dtype=np.float64)


def _limb_height(latitude: float, longitude: float, seconds: Floats) -> Floats:
    """Return the elevation of the sun's centre less LIMB, exact near the horizon, else within a degree. [degrees]"""
    height = _rough_elevation(latitude, longitude, seconds) - LIMB
    near_horizon = np.abs(height) < NEAR_HORIZON
    if near_horizon.any():
        exact = _sun(latitude, longitude, seconds[near_horizon])["elevation"]
        height[near_horizon] = exact.to_numpy(dtype=np.float64) - LIMB
    return height


def _rough_elevation(latitude: float, longitude: float, seconds: Floats) -> Floats:
    """Return the sun's elevation by Spencer's series, out by less than a degree from 1950 to 2100. [degrees]

    J. W. Spencer (1971), Fourier series representation of the position of the sun, Search 2(5) (from memory).
    """
    from pvlib.solarposition import declination_spencer71, equation_of_time_spencer71

    day = (seconds / 86400) % 365.2425 + 1
    hour_angle = np.radians(seconds / 240 - 180 + longitude + equation_of_time_spencer71(day) / 4)
    phi, delta = np.radians(latitude), declination_spencer71(day)
    sine = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(hour_angle)
    return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1, 1))), dtype=np.float64)


def _edges(starts: Floats, step: float, height_at: Callable[[Floats], Floats]) -> Floats:
    """Return the ends of all steps: equal steps, and the sun's highest and lowest points near the horizon. [s]"""
    edges = []
    for start, stop in itertools.pairwise(starts):
        count = int(np.ceil((stop - start) / step - 1e-9))
        edges.append(np.linspace(start, stop, count, endpoint=False))
    even = np.concatenate([*edges, starts[-1:]])
    height = height_at(even)
    turn = np.flatnonzero(np.diff(np.sign(np.diff(height)))) + 1  # highest and lowest of the even moments
    turn = turn[np.abs(height[turn]) < max(GRAZING, step / 3600 * 0.6)]
    before, at, after = height[turn - 1], height[turn], height[turn + 1]
    width = (even[turn + 1] - even[turn - 1]) / 2
    vertex = even[turn] + width * (before - after) / 2 / (
        before - 2 * at + after
    )  # of the parabola through the three
    return np.unique(np.concatenate([even, vertex]))


def _lit_steps(edges: Floats, height_at: Callable[[Floats], Floats]) -> tuple[Floats, Floats]:
    """Return begin and end of the steps with the sun up, cut at its rise and set. [s]"""
    height = height_at(edges)
    up = height > 0
    begin, end = edges[:-1].copy(), edges[1:].copy()
    crossing = np.flatnonzero(up[:-1] != up[1:])
    change = _change_times(begin[crossing], end[crossing], lambda seconds: height_at(seconds) > 0)
    rises = ~up[crossing]
    begin[crossing[rises]] = change[rises]
    end[crossing[~rises]] = change[~rises]
    lit = (up[:-1] | up[1:]) & (end > begin)
    return begin[lit], end[lit]


def _change_times(low: Floats, high: Floats, state: Callable[[Floats], NDArray[np.bool_]]) -> Floats:
    """Return when a state changes between `low` and `high`, by bisection to a fifth of a second, shape (n,). [s]"""
    low, high = low.copy(), high.copy()
    if not len(low):
        return low
    at_first = state(low)
    while np.max(high - low) > 0.2:
        middle = (low + high) / 2
        earlier = state(middle) == at_first
        low, high = np.where(earlier, middle, low), np.where(earlier, high, middle)
    return np.asarray((low + high) / 2, dtype=np.float64)


def _sun(latitude: float, longitude: float, seconds: Floats) -> pd.DataFrame:
    """Return pvlib's table of the sun's positions at seconds since 1970-01-01 00:00 UTC."""
    import pandas as pd
    from pvlib.solarposition import spa_python

    times = pd.DatetimeIndex(pd.to_datetime(seconds, unit="s", utc=True))
    tables = [
        spa_python(times[start : start + AT_ONCE], latitude, longitude) for start in range(0, len(times), AT_ONCE)
    ]
    table: pd.DataFrame = pd.concat(tables)
    return table
