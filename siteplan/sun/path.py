"""Where does the sun stand, and for how long, on every day of a year?

Apparent position (with refraction) of the sun's centre by pvlib's SPA at the middle of each step; steps end at true rise and set.
It leaves out the width of the sun's disc, the site's height above sea level and the weather.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class SunPath:
    """Where the sun stands above the horizon, step by step; nights hold no step.

    Attributes
    ----------
    azimuth, elevation : ndarray, shape (steps,)
        Apparent position at the middle of each step, azimuth clockwise from true north. [degrees]
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
        """How long the sun's centre is up on each day, shape (days,). [h]"""
        return np.bincount(self.day - 1, weights=self.hours, minlength=len(self.day_month))

    @property
    def month_days(self) -> Integers:
        """How many days of each month the path holds, shape (12,)."""
        return np.bincount(self.day_month - 1, minlength=12)
