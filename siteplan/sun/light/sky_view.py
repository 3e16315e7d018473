"""How much of the sky does a point see?

The whole sky as a table for the lookup, each direction weighted by what it sends to level ground if the whole sky is
equally bright. A real sky is brighter around the sun and, when clear, at the horizon; that is not modelled.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from siteplan.sun.path.day_periods import Periods
from siteplan.sun.path.sky_table import AROUND, LEVELS, Sky, at_cache_lines, filled_up, sky_table

FINER = 4.0  # for culling the whole sky counts as this many hours: a negligible 0.002 h are 0.0005 of the sky


def dome(periods: Sequence[Periods]) -> Sky:
    """Return the sky as a table.

    Parameters
    ----------
    periods : sequence of Periods
        For each quantity its means; all have the same periods, grouped by what is in leaf.

    Returns
    -------
    Sky
        Its means are those of the twelve months and of the season, quantity by quantity.

    Notes
    -----
    Of what a strip of sky in one azimuth sends to level ground, the part below elevation e sends sin2(e), by the
    cosine law. The sky is the same on every day: columns differ only in what is in leaf, and the means weight the
    days.
    """
    days = periods[0]
    share_of_levels = np.arange(LEVELS + 1) / LEVELS
    slope = share_of_levels / np.maximum(1 - share_of_levels, 1e-12)
    sent_below = slope**2 / (1 + slope**2) / AROUND
    below = at_cache_lines((AROUND, LEVELS + 1, filled_up(len(days.one_day))))
    below[:, :, : len(days.one_day)] = sent_below[:, None]
    mean = np.concatenate([period.mean for period in periods])
    return Sky(
        table=sky_table(below, 0.0),
        column_day=days.one_day,
        day_column=days.of_day,
        mean=np.pad(mean, ((0, 0), (0, below.shape[2] - mean.shape[1]))),
        upper_bound=FINER * sent_below * np.arange(AROUND + 1)[:, None],
    )
