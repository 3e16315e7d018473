"""How much sun does a bed get, and is it enough?

The engine's hours at points on the soil, on a grid turned with the bed.
It leaves out the headings that it might have instead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BedSun:
    """Direct sun on a bed's soil, as a mean over days.

    Attributes
    ----------
    bed : str
        Its id.
    month_sun_h : ndarray, shape (12,)
        Mean over the cells for each month. [h a day]
    season_sun_h, worst_cell_sun_h : float
        Mean over the cells, and the least of them, over the growing season. [h a day]
    light_class : str
        Of the season's mean: full sun, part sun, part shade or shade.
    sun_score : float
        0 to 100: the share of what is plenty for its crop that its cells get, on average.
    cells : ndarray, shape (n, 3)
        Where the cells stand: east, north and absolute height. [m]
    cell_season_h : ndarray, shape (n,)
        Of each cell over the growing season. [h a day]
    """

    bed: str
    month_sun_h: Floats
    season_sun_h: float
    worst_cell_sun_h: float
    light_class: str
    sun_score: float
    cells: Floats
    cell_season_h: Floats
