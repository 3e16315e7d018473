"""How much of the sky does a point see?

The whole sky as a table for the lookup, each direction weighed by what it sends to level ground when all the sky is
equally bright. It leaves out that a real sky is brighter around the sun and, when clear, at the horizon.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.path.day_periods import Periods
from siteplan.sun.path.sky_table import AROUND, LEVELS, Sky, at_cache_lines, filled_up, sky_table

Floats = NDArray[np.float64]

FINER = 4.0  # pieces are dropped as if the sky were so many hours: 0.002 h of it are 0.0005 of the sky


def dome(periods: Sequence[Periods]) -> Sky:
    """Return the sky as a table.

    Parameters
    ----------
    periods : sequence of Periods
        Days by what is in leaf, the same ones for each quantity, with the quantity's means.

    Returns
    -------
    Sky
        Its means are those of the twelve months and of the season, quantity by quantity.

    Notes
    -----
    Below the elevation e a direction's strip of sky sends sin2(e) of what it sends in all, by the law of cosines. The
    sky is the same on every day: its columns differ by what is in leaf alone, and the means weigh the days.
    """
    days = periods[0]
    part = np.arange(LEVELS + 1) / LEVELS
    slope = part / np.maximum(1 - part, 1e-12)
    sent = slope**2 / (1 + slope**2) / AROUND
    below = at_cache_lines((AROUND, LEVELS + 1, filled_up(len(days.one_day))))
    below[:, :, : len(days.one_day)] = sent[:, None]
    mean = np.concatenate([each.mean for each in periods])
    return Sky(
        table=sky_table(below, 0.0),
        column_day=days.one_day,
        day_column=days.of_day,
        mean=np.pad(mean, ((0, 0), (0, below.shape[2] - mean.shape[1]))),
        most=FINER * sent * np.arange(AROUND + 1)[:, None],
    )
