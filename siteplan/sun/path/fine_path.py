"""Where does the sun stand between the steps of its path?

Interpolated by the parabola through three successive steps. At steps of ten minutes the error is below 0.001 degrees,
but up to 0.03 degrees next to the horizon, where refraction changes fast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

PARTS = 6  # parts of a step, so that every bin that the sun passes through gets a part
FARTHEST = 0.05  # h; longest wait for the sun to pass an azimuth; beyond it the part's own elevation is kept
MOMENT = 1e-4  # h; time difference for the sun's speed


@dataclass(frozen=True, eq=False)
class FinePath:
    """The steps of a path in equal parts.

    Attributes
    ----------
    path : SunPath
        The path that was divided.
    middle : ndarray of int, shape (parts,)
        Middle one of the three steps between which each part is interpolated; empty if nothing is interpolated.
    time : ndarray, shape (parts,)
        Middle of each part since the path's first midnight. [h]
    azimuth, elevation : ndarray, shape (parts,)
        At the middle of each part. [degrees]
    hours : ndarray, shape (parts,)
        How long each lasts. [h]
    day : ndarray of int, shape (parts,)
        Day of the year.
    """

    path: SunPath
    middle: Integers
    time: Floats
    azimuth: Floats
    elevation: Floats
    hours: Floats
    day: Integers

    def elevation_towards(self, azimuth: Floats) -> Floats:
        """Return the sun's elevation as it passes an azimuth close to that of each part, shape (parts,). [degrees]"""
        if not len(self.middle):
            return self.elevation
        later = _position(self.path, self.middle, self.time + MOMENT)[0]
        turn_rate = ((later - self.azimuth + 180) % 360 - 180) / MOMENT
        offset = (azimuth - self.azimuth + 180) % 360 - 180
        wait = np.where(np.abs(turn_rate) > 1, offset / np.where(turn_rate == 0, 1, turn_rate), 0.0)
        wait = np.where(np.abs(wait) <= FARTHEST, wait, 0.0)
        return _position(self.path, self.middle, self.time + wait)[1]


def finer(path: SunPath) -> FinePath:
    """Return a path with every step divided into PARTS; not divided if its steps do not follow each other.

    Examples
    --------
    >>> from siteplan.sun.path.solar_path import sun_path
    >>> path = sun_path(40.0, 0.0, year=2026, timezone="UTC", step=1.0)
    >>> fine = finer(path)
    >>> len(fine.hours) // len(path.hours), round(float(fine.hours.sum() - path.hours.sum()), 9)
    (6, 0.0)
    """
    middle, follows = _middle_of_three(path)
    if not follows:
        no_steps = np.empty(0, dtype=np.int64)
        return FinePath(path, no_steps, path.time, path.azimuth, path.elevation, path.hours, path.day)
    share = (np.arange(PARTS) + 0.5) / PARTS - 0.5
    time = (path.time[:, None] + share * path.hours[:, None]).ravel()
    middle = np.repeat(middle, PARTS)
    azimuth, elevation = _position(path, middle, time)
    return FinePath(
        path, middle, time, azimuth, elevation, np.repeat(path.hours / PARTS, PARTS), np.repeat(path.day, PARTS)
    )


def _position(path: SunPath, middle: Integers, time: Floats) -> tuple[Floats, Floats]:
    """Return azimuth and elevation at times, on the parabola through three steps around `middle`. [degrees]"""
    elevation, bearing = np.radians(path.elevation), np.radians(path.azimuth)
    sun = np.column_stack(
        [np.cos(elevation) * np.sin(bearing), np.cos(elevation) * np.cos(bearing), np.sin(elevation)]
    )
    before, at, after = path.time[middle - 1], path.time[middle], path.time[middle + 1]
    on_parabola = (
        sun[middle - 1] * ((time - at) * (time - after) / ((before - at) * (before - after)))[:, None]
        + sun[middle] * ((time - before) * (time - after) / ((at - before) * (at - after)))[:, None]
        + sun[middle + 1] * ((time - before) * (time - at) / ((after - before) * (after - at)))[:, None]
    )
    east, north, height = on_parabola.T
    azimuth = np.degrees(np.arctan2(east, north)) % 360
    return azimuth, np.degrees(np.arctan2(np.maximum(height, 0), np.hypot(east, north)))


def _middle_of_three(path: SunPath) -> tuple[Integers, bool]:
    """Return, for each step, the middle one of the three steps nearest to it; and whether such three always exist."""
    count = len(path.time)
    if count < 3:
        return np.empty(0, dtype=np.int64), False
    gap = np.diff(path.time) - (path.hours[1:] + path.hours[:-1]) / 2
    follows_previous = np.concatenate([[False], gap < 1e-3, [False]])
    middle = np.arange(count)
    middle = np.where(~follows_previous[:-1], middle + 1, np.where(~follows_previous[1:], middle - 1, middle))
    middle = np.clip(middle, 1, count - 2)
    return middle, bool((follows_previous[middle] & follows_previous[middle + 1]).all())
