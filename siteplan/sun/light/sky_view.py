"""How much of the sky does a point see?

The whole sky as a table for the lookup, each direction weighed by what it sends to level ground when all the sky is
equally bright. It leaves out that a real sky is brighter around the sun and, when clear, at the horizon.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.path.sky_table import AROUND, LANES, LEVELS, Sky, SkyTable, at_cache_lines, spells
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]

FINER = 4.0  # pieces are dropped as if the sky were so many hours: 0.002 h of it are 0.0005 of the sky


def dome(
    path: SunPath, *, season: NDArray[np.bool_], calendars: Sequence[tuple[int, int]] = (), sent: Floats | None = None
) -> Sky:
    """Return the sky as a table.

    Parameters
    ----------
    path : SunPath
        Gives the days and their months.
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    calendars : sequence of (int, int)
        First and last day of the year in leaf, of all that comes into leaf.
    sent : ndarray, shape (quantities, days), optional
        What the sky sends on each day; 1 where None, for the share of it that is seen.

    Returns
    -------
    Sky
        Its means are those of the twelve months and of the season, quantity by quantity.

    Notes
    -----
    Below the elevation e a direction's strip of sky sends sin2(e) of what it sends in all, by the law of cosines.
    """
    by_day = np.ones((1, len(path.day_month))) if sent is None else sent
    spell, spell_day, mean = spells(path, season=season, calendars=calendars)
    count = len(spell_day)
    columns = -(-count // LANES) * LANES
    part = np.arange(LEVELS + 1) / LEVELS
    slope = part / np.maximum(1 - part, 1e-12)
    below = np.zeros((AROUND, LEVELS + 1, columns))
    below[:, :, :count] = (slope**2 / (1 + slope**2))[:, None] / AROUND
    middle = np.radians((np.arange(AROUND) + 0.5) * 360 / AROUND)
    means = [mean * np.bincount(spell, weights=day, minlength=count) for day in by_day]
    most = np.zeros((AROUND + 1, LEVELS + 1))
    np.cumsum(FINER * below[:, :, 0], axis=0, out=most[1:])
    return Sky(
        table=SkyTable(
            below=at_cache_lines(below),
            first=0.0,
            toward=np.stack([np.sin(middle), np.cos(middle)]).astype(np.float32),
            lowest=np.zeros(AROUND, dtype=np.float32),
        ),
        spell_day=spell_day,
        mean=np.pad(np.concatenate(means), ((0, 0), (0, columns - count))),
        most=most,
    )
