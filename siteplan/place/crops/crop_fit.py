"""Which crops suit a bed, in which months, and which would if it were deeper?

Direct sun month by month and depth of soil are compared with what each crop needs. Cool crops have a month more at
each end of the season. Kind of soil and water are not considered.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from siteplan.land.constants import Crop
from siteplan.land.document import Metres
from siteplan.land.features import MonthDay
from siteplan.land.site import Season

LightClass = Literal["good", "enough", "too little"]

#: m; additional soil for a bed on paving (several garden pages, seen second-hand: 6 in)
ON_PAVING = 0.1524
#: months before the last and after the first frost in which cool crops grow (common practice, no source)
COOL_MARGIN = 1


@dataclass(frozen=True, kw_only=True)
class CropFit:
    """How one crop suits one bed.

    Attributes
    ----------
    crop : str
    suits : bool
        Whether it is deep enough, and light enough in at least two successive months of its season.
    light : str
        ``good``, ``enough`` or ``too little``, by the mean over its season.
    months : tuple of int
        Months of its season (1 to 12) with enough light.
    deeper : float
        How much deeper the bed would have to be; 0 if it is deep enough. [m]
    ground : float
        Depth of the ground below that is counted as soil. [m]
    """

    crop: str
    suits: bool
    light: LightClass
    months: tuple[int, ...]
    deeper: Metres
    ground: Metres = 0.0

    @property
    def lit(self) -> bool:
        """Whether two successive months have enough light: such a crop would suit a bed that is deep enough."""
        return any(first % 12 + 1 in self.months for first in self.months)


@lru_cache
def season_months(season: Season, *, cool: bool = False) -> tuple[int, ...]:
    """Return the months whose middle lies between the frosts, in order; for cool crops one more at each end.

    Examples
    --------
    >>> season_months(Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(9, 28)))
    (5, 6, 7, 8, 9)
    >>> season_months(Season(last_frost=MonthDay(11, 1), first_frost=MonthDay(3, 20)), cool=True)
    (10, 11, 12, 1, 2, 3, 4)
    """
    year = 2025  # any common year: the result is the same
    inside = [month for month in range(1, 13) if season.holds(MonthDay(month, 15).day_of_year(year), year)]
    if not inside or len(inside) == 12:
        return tuple(inside)
    start = next(month for month in inside if (month - 2) % 12 + 1 not in inside)
    months = [(start - 1 + k) % 12 + 1 for k in range(len(inside))]
    if cool:
        before = [(months[0] - 2 - k) % 12 + 1 for k in reversed(range(COOL_MARGIN))]
        after = [(months[-1] + k) % 12 + 1 for k in range(COOL_MARGIN)]
        months = list(dict.fromkeys([*before, *months, *after]))
    return tuple(months)


def suiting_crops(
    crops: Iterable[Crop],
    *,
    month_sun_h: ArrayLike,
    depth: float,
    season: Season,
    on_paving: bool = False,
    ground: float = 0.0,
) -> tuple[CropFit, ...]:
    """Return how each crop suits a bed, those that suit first.

    Parameters
    ----------
    crops : iterable of Crop
    month_sun_h : array_like, shape (12,)
        Direct sun on the bed in each month. [h a day]
    depth : float
        Of its soil. [m]
    season : Season
    on_paving : bool
        Whether the bed stands on ground that roots cannot enter.
    ground : float
        Depth of the ground below that roots are expected to use. [m]
    """
    sun = np.asarray(month_sun_h, dtype=float)
    fits = [replace(_fit(crop, sun, depth + ground, season, on_paving=on_paving), ground=ground) for crop in crops]
    return tuple(sorted(fits, key=lambda fit: (not fit.suits, fit.deeper, -len(fit.months))))


def _fit(crop: Crop, sun: np.ndarray, depth: float, season: Season, *, on_paving: bool) -> CropFit:
    """Return how one crop suits a bed of a depth [m] with sun by month, shape (12,) [h a day]."""
    months = season_months(season, cool=crop.season == "cool")
    lit = tuple(month for month in months if sun[month - 1] >= crop.light_least)
    mean = float(np.mean([sun[month - 1] for month in months])) if months else 0.0
    light: LightClass = "good" if mean >= crop.light_good else "enough" if mean >= crop.light_least else "too little"
    needed_depth = crop.bed_depth + (ON_PAVING if on_paving else 0.0)
    deeper = max(0.0, round(needed_depth - depth, 4))
    fit = CropFit(crop=crop.name, suits=False, light=light, months=lit, deeper=deeper)
    return replace(fit, suits=deeper == 0 and fit.lit)
