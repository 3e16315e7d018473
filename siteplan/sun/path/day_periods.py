"""Which days of the year count together?

Days of one month, inside or outside the growing season, with the same trees in leaf, share a column of the sky's
table.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.bodies import in_leaf
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Periods:
    """Days of a path, in groups that count together.

    Attributes
    ----------
    of_day : ndarray of int, shape (days,)
        Number of each day's period; day 1 of the year first.
    one_day : tuple of int
        One day of the year in each period, which tells what is in leaf.
    mean : ndarray, shape (13, periods)
        Matrix that turns sums by period into means a day: of the twelve months, then of the season.
    """

    of_day: Integers
    one_day: tuple[int, ...]
    mean: Floats


def month_periods(path: SunPath, *, season: Flags, calendars: Sequence[tuple[int, int]] = ()) -> Periods:
    """Return the days of a path grouped by month, by inside or outside the season, and by what is in leaf.

    Parameters
    ----------
    path : SunPath
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    calendars : sequence of (int, int)
        First and last day of the year in leaf, of all deciduous leaves.
    """
    of_day, one_day = _grouped(np.stack([path.day_month, season, *_leaves(path, calendars)]))
    first_day = np.array(one_day) - 1
    counts = np.stack([path.day_month[first_day] == month for month in range(1, 13)] + [season[first_day]])
    return Periods(of_day, one_day, counts / _days(path, season)[:, None])


def leaf_periods(
    path: SunPath, *, season: Flags, calendars: Sequence[tuple[int, int]] = (), weights: Floats | None = None
) -> Periods:
    """Return the days of a path grouped by what is in leaf alone, for a sky that is the same on every day.

    Parameters are those of `month_periods`, and:

    weights : ndarray, shape (days,), optional
        Weight of each day in the means; 1 if None.
    """
    of_day, one_day = _grouped(np.stack([np.zeros(len(path.day_month)), *_leaves(path, calendars)]))
    weight = np.ones(len(of_day)) if weights is None else weights
    in_mean = np.stack([path.day_month == month for month in range(1, 13)] + [season])
    sums = np.stack([np.bincount(of_day, weights=days * weight, minlength=len(one_day)) for days in in_mean])
    return Periods(of_day, one_day, sums / _days(path, season)[:, None])


def _leaves(path: SunPath, calendars: Sequence[tuple[int, int]]) -> list[Flags]:
    """Return which days lie in each leaf calendar."""
    days = np.arange(1, len(path.day_month) + 1)
    return [in_leaf(calendar, days) for calendar in calendars]


def _grouped(marks: Floats) -> tuple[Integers, tuple[int, ...]]:
    """Return the group of each day, by equal columns of `marks`, and the first day of each group."""
    _, first_day, group = np.unique(marks, axis=1, return_index=True, return_inverse=True)
    order = np.argsort(first_day)
    return np.argsort(order)[group.ravel()].astype(np.int64), tuple((first_day[order] + 1).tolist())


def _days(path: SunPath, season: Flags) -> Integers:
    """Return the number of days of each month and of the season, at least 1, shape (13,)."""
    return np.asarray(np.maximum(np.append(path.month_days, season.sum()), 1), dtype=np.int64)
