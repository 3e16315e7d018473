"""How much of the sky does a point see?

The whole sky as a table for the lookup, each direction weighed by what it sends to level ground when all the sky is
equally bright. It leaves out that a real sky is brighter around the sun and, when clear, at the horizon.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.bodies import Body, calendars_of
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.day_periods import Periods, leaf_periods
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


def sky_share(
    engine: SunEngine, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()
) -> Floats:
    """Return the share of the sky's light that reaches level ground at points, shape (13, n).

    Parameters
    ----------
    engine : SunEngine
        What stands.
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    extra : sequence of Prism
        What stands besides.
    without : collection of str
        Ids of features that are not there.

    Returns
    -------
    ndarray, shape (13, n)
        Of the twelve months, then of the season; 1 in the open. Crowns count by what they let through, leafless ones
        by what they let through leafless.

    Notes
    -----
    Also called the sky view factor. Weighed by the cosine of the zenith angle, as level ground receives it.
    """

    def sky_of(bodies: Sequence[Body]) -> Sky:
        return dome([leaf_periods(engine.path, season=engine.season, calendars=calendars_of(bodies))])

    return np.clip(engine.visible_means(sky_of, points, extra=extra, without=without), 0.0, 1.0)
