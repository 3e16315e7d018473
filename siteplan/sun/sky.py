"""How is the year's sun time spread over the sky?

In bins of azimuth and levels of elevation, for each month and for the season, summed up from the horizon.
It leaves out what hides it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.path import SunPath
from siteplan.sun.pieces import in_leaf

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

AROUND = 720  # bins of azimuth in the full circle: half a degree, as long as the sun takes two minutes at least
LEVELS = 384  # levels from the horizon to the zenith: a quarter of a degree at the most, see `level`
COLUMNS = 16  # twelve months, the season and three empty ones: one cache line
SEASON = 12  # column of the season
PARTS = 6  # into which each step of the path is divided, so that it does not leave bins empty


class SkyTable(NamedTuple):
    """Sun time by azimuth and elevation.

    Attributes
    ----------
    below : ndarray of float32, shape (1 + periods, bins, levels, 16)
        Mean hours a day for which the sun stands in a bin of azimuth below a level. The first table holds the
        whole year, the others the days of one period each; columns are twelve months and the season.
    first : float
        Azimuth at which bin 0 begins; the bins run clockwise over the azimuths that the sun reaches. [degrees]
    east, north : ndarray, shape (bins,)
        Direction of each bin's middle.
    """

    below: Singles
    first: float
    east: Singles
    north: Singles


@dataclass(frozen=True, eq=False)
class Sky:
    """The table, and which days its periods hold.

    Attributes
    ----------
    table : SkyTable
        What the lookup reads.
    period_days : tuple of int
        One day of the year out of each period, to ask for what is in leaf.
    most : ndarray, shape (bins + 1, levels)
        Sums along azimuth of the most that any column holds below a level: a bound on what can be hidden. [h a day]
    """

    table: SkyTable
    period_days: tuple[int, ...]
    most: Floats


def level(slope: Floats) -> Floats:
    """Return the level of a ray by its slope (rise over run), 0 at the horizon, LEVELS at the zenith.

    s / (1 + s) grows almost evenly with the angle, and costs no arc tangent.

    Examples
    --------
    >>> level(np.tan(np.radians([0.0, 30.0, 45.0, 60.0, 90.0]))).round()
    array([  0., 141., 192., 243., 384.])
    """
    return np.asarray(LEVELS * slope / (1 + slope))


def sky(path: SunPath, *, season: NDArray[np.bool_], calendars: Sequence[tuple[int, int]] = ()) -> Sky:
    """Return a path's sun time as a table.

    Parameters
    ----------
    path : SunPath
        Of a year, or of any days.
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    calendars : sequence of (int, int)
        Leaf calendars; the days are divided into periods in which none of them changes.
    """
    azimuth, elevation, hours, day = finer(path)
    first, bins = _arc(azimuth)
    columns = _columns(path, season, day, hours)
    bin_ = np.clip((azimuth - first) % 360 * (AROUND / 360), 0, bins - 1e-9).astype(np.int64)
    step = level(np.tan(np.radians(np.minimum(elevation, 89.999)))).astype(np.int64)
    levels = int(step.max(initial=0)) + 2
    period, days = _periods(len(path.day_month), calendars)
    tables = [_below(bin_, step, columns, (bins, levels))]
    for number in range(len(days) if calendars else 0):
        held = period[day - 1] == number
        part = [(column, weight[held[where]], where[held[where]]) for column, weight, where in columns]
        tables.append(_below(bin_, step, part, (bins, levels)))
    middle = np.radians(first + (np.arange(bins) + 0.5) * 360 / AROUND)
    most = np.zeros((bins + 1, levels))
    np.cumsum(tables[0].max(axis=2), axis=0, out=most[1:])
    table = SkyTable(
        below=np.ascontiguousarray(np.stack(tables)),
        first=float(first),
        east=np.sin(middle).astype(np.float32),
        north=np.cos(middle).astype(np.float32),
    )
    return Sky(table=table, period_days=days if calendars else (), most=most)


def finer(path: SunPath) -> tuple[Floats, Floats, Floats, Integers]:
    """Return azimuth, elevation, hours and day of every step divided into PARTS, on a curve through its neighbours.

    The parabola through three steps misses the sun by less than 0.001 degrees at steps of ten minutes.
    """
    if len(path.time) < 3:
        return path.azimuth, path.elevation, path.hours, path.day
    up, bearing = np.radians(path.elevation), np.radians(path.azimuth)
    sun = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
    middle = _middle_of_three(path)
    share = (np.arange(PARTS) + 0.5) / PARTS - 0.5
    when = path.time[:, None] + share * path.hours[:, None]
    t0, t1, t2 = (path.time[middle + shift][:, None] for shift in (-1, 0, 1))
    weights = (
        (when - t1) * (when - t2) / ((t0 - t1) * (t0 - t2)),
        (when - t0) * (when - t2) / ((t1 - t0) * (t1 - t2)),
        (when - t0) * (when - t1) / ((t2 - t0) * (t2 - t1)),
    )
    bent = sum(
        weight[..., None] * sun[middle + shift][:, None] for weight, shift in zip(weights, (-1, 0, 1), strict=True)
    )
    east, north, height = np.moveaxis(np.asarray(bent), -1, 0)
    return (
        np.degrees(np.arctan2(east, north)).ravel() % 360,
        np.degrees(np.arctan2(np.maximum(height, 0), np.hypot(east, north))).ravel(),
        np.repeat(path.hours / PARTS, PARTS),
        np.repeat(path.day, PARTS),
    )


def _middle_of_three(path: SunPath) -> Integers:
    """Return for each step the middle one of the three nearest that follow each other without a night between."""
    count = len(path.time)
    gap = np.diff(path.time) - (path.hours[1:] + path.hours[:-1]) / 2
    joined = np.concatenate([[False], gap < 1e-3, [False]])
    middle = np.arange(count)
    middle = np.where(~joined[:-1], middle + 1, middle)
    middle = np.where(~joined[1:] & joined[:-1], middle - 1, middle)
    return np.clip(middle, 1, count - 2)


def _arc(azimuth: Floats) -> tuple[float, int]:
    """Return where the azimuths that the sun reaches begin, and over how many bins they run."""
    if not len(azimuth):
        return 0.0, 1
    used = np.flatnonzero(np.bincount((azimuth * (AROUND / 360)).astype(np.int64) % AROUND, minlength=AROUND))
    gaps = np.diff(np.append(used, used[0] + AROUND))
    widest = int(np.argmax(gaps))
    begin = int(used[(widest + 1) % len(used)])
    return begin * 360 / AROUND, AROUND - int(gaps[widest]) + 1


def _columns(
    path: SunPath, season: NDArray[np.bool_], day: Integers, hours: Floats
) -> list[tuple[int, Floats, Integers]]:
    """Return column, weights and indices of the samples that count in each of the thirteen columns."""
    month = path.day_month[day - 1]
    days = path.month_days
    columns = []
    for number in range(12):
        where = np.flatnonzero(month == number + 1)
        columns.append((number, hours[where] / max(int(days[number]), 1), where))
    where = np.flatnonzero(season[day - 1])
    columns.append((SEASON, hours[where] / max(int(season.sum()), 1), where))
    return columns


def _below(
    bin_: Integers, step: Integers, columns: list[tuple[int, Floats, Integers]], shape: tuple[int, int]
) -> Singles:
    """Return the weights of samples summed up below each level, shape (bins, levels, columns)."""
    bins, levels = shape
    table = np.zeros((bins, levels, COLUMNS))
    for column, weight, where in columns:
        cell = bin_[where] * levels + step[where] + 1
        table[:, :, column] = np.bincount(cell, weights=weight, minlength=bins * levels)[: bins * levels].reshape(
            shape
        )
    return np.cumsum(table, axis=1).astype(np.float32)


def _periods(days: int, calendars: Sequence[tuple[int, int]]) -> tuple[Integers, tuple[int, ...]]:
    """Return the period of each day, and one day out of each period."""
    states = [tuple(in_leaf(calendar, day) for calendar in calendars) for day in range(1, days + 1)]
    order: dict[tuple[bool, ...], int] = {}
    period = np.array([order.setdefault(state, len(order)) for state in states], dtype=np.int64)
    first_day = tuple(states.index(state) + 1 for state in order)
    return period, first_day
