"""How many hours of direct sun does a point get in each month?

The year's sun time lies in bins of azimuth and elevation; each point looks up what its obstacles leave of it.
It leaves out weather: these are hours of clear sky.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SunHours:
    """Direct sun at points, as a mean over days.

    Attributes
    ----------
    month_h : ndarray, shape (12, n)
        Mean of the days of each month of the swept year; 0 is never lit. [h a day]
    season_h : ndarray, shape (n,)
        Mean of the days of the growing season. [h a day]
    """

    month_h: Floats
    season_h: Floats
