"""How is the year's sun time spread over the sky?

In bins of azimuth and levels of elevation, for each spell of days that count together, summed up from the horizon.
It leaves out what hides it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.packed_prisms import in_leaf
from siteplan.sun.path.fine_path import finer
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

AROUND = 720  # bins of azimuth in the full circle: half a degree, as long as the sun takes two minutes at least
LEVELS = 384  # levels from the horizon to the zenith: half a degree at the most, see `level`
LANES = 8  # columns are filled up to a multiple of this, as many as the processor takes at once


class SkyTable(NamedTuple):
    """Sun time by azimuth and elevation.

    Attributes
    ----------
    below : ndarray of float32, shape (bins, levels, columns)
        How long the sun stands in a bin of azimuth below a level, in each spell. [h]
    first : float
        Azimuth at which bin 0 begins; the bins run clockwise over the azimuths that the sun reaches. [degrees]
    toward : ndarray of float32, shape (2, bins)
        East and north of the direction of each bin's middle.
    lowest : ndarray of float32, shape (bins,)
        Level below which the sun never stands in each bin.
    """

    below: Singles
    first: float
    toward: Singles
    lowest: Singles


@dataclass(frozen=True, eq=False)
class Sky:
    """The table, and what its columns mean.

    A spell is all days that lie in the same month, on the same side of the season, with the same trees in leaf.

    Attributes
    ----------
    table : SkyTable
        What the lookup reads.
    spell_day : tuple of int
        One day of the year out of each spell, to ask for what is in leaf.
    mean : ndarray, shape (13, columns)
        Turns hours by spell into mean hours a day of the twelve months and of the season.
    most : ndarray, shape (bins + 1, levels)
        Sums along azimuth of the most that any month or the season holds below a level. [h a day]
    """

    table: SkyTable
    spell_day: tuple[int, ...]
    mean: Floats
    most: Floats

    @cached_property
    def highest(self) -> Singles:
        """Slope above which the table holds nothing, by bin, shape (bins,)."""
        below = self.table.below
        top = (below < below[:, -1:]).any(axis=2).sum(axis=1).astype(np.float32)
        return np.where(top >= LEVELS, np.float32(np.inf), top / np.maximum(LEVELS - top, 1)).astype(np.float32)

    @cached_property
    def azimuth(self) -> Floats:
        """Of each bin's middle, shape (bins,). [degrees]"""
        return np.asarray(np.degrees(np.arctan2(*self.table.toward.astype(np.float64))) % 360)

    @cached_property
    def lowest(self) -> Singles:
        """Slope below which the sun never stands, by bin, shape (bins,)."""
        step = self.table.lowest
        return np.where(step > 0, step / np.maximum(LEVELS - step, 1e-3), 0).astype(np.float32)

    @cached_property
    def total(self) -> Singles:
        """What an open place gets in each spell, shape (columns,). [h]"""
        return np.asarray(self.table.below[:, -1].sum(axis=0, dtype=np.float32))


def level(slope: Floats) -> Floats:
    """Return the level of a ray by its slope (rise over run), 0 at the horizon, LEVELS at the zenith.

    s / (1 + s) grows almost evenly with the angle, and costs no arc tangent.

    Examples
    --------
    >>> level(np.tan(np.radians([0.0, 30.0, 45.0, 60.0, 90.0]))).round()
    array([  0., 141., 192., 243., 384.])
    """
    return np.asarray(LEVELS * slope / (1 + slope))


@dataclass(frozen=True, eq=False)
class Passages:
    """Where in a table the parts of a path count.

    Each passage of the sun through a bin counts at the elevation that it has in the bin's middle, where what hides it
    is looked for as well: so an edge that climbs with the sun is not blurred.

    Attributes
    ----------
    place : ndarray of int, shape (parts,)
        Row of the table: bin times levels, plus the level above the sun.
    hours : ndarray, shape (parts,)
        How long each part lasts. [h]
    day : ndarray of int, shape (parts,)
        Day of the year.
    first : float
        Azimuth at which bin 0 begins. [degrees]
    bins, levels : int
        Of the table.
    """

    place: Integers
    hours: Floats
    day: Integers
    first: float
    bins: int
    levels: int


def passages(path: SunPath) -> Passages:
    """Return where the parts of a finer path count."""
    fine = finer(path)
    first, bins = _arc(fine.azimuth)
    bin_ = np.clip((fine.azimuth - first) % 360 * (AROUND / 360), 0, bins - 1e-9).astype(np.int64)
    elevation = fine.elevation_towards(_middles(first, bins)[bin_])
    step = level(np.tan(np.radians(np.minimum(elevation, 89.999)))).astype(np.int64)
    levels = int(step.max(initial=0)) + 2
    return Passages(bin_ * levels + step + 1, fine.hours, fine.day, float(first), bins, levels)


def sky(
    path: SunPath,
    *,
    season: NDArray[np.bool_],
    calendars: Sequence[tuple[int, int]] = (),
    weights: Floats | None = None,
    through: Passages | None = None,
) -> Sky:
    """Return a path's sun time as a table.

    Parameters
    ----------
    path : SunPath
        Of a year, or of any days.
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    calendars : sequence of (int, int)
        First and last day of the year in leaf, of all that comes into leaf.
    weights : ndarray, shape (quantities, parts), optional
        What each part of the finer path counts for, in place of its hours; then the means of the second quantity
        follow those of the first, 13 each.
    through : Passages, optional
        Of this path, where they are known.
    """
    through = through or passages(path)
    counted = through.hours[None] if weights is None else weights
    spell, spell_day, mean = spells(path, season=season, calendars=calendars)
    count, rows = len(spell_day), through.bins * through.levels
    below = np.zeros((rows, -(-len(counted) * count // LANES) * LANES), dtype=np.float32)
    most = np.zeros((through.bins, through.levels))
    cell = through.place * count + spell[through.day - 1]
    for number, weight in enumerate(counted):
        part = np.bincount(cell, weights=weight, minlength=rows * count).reshape(through.bins, through.levels, count)
        np.cumsum(part, axis=1, out=part)
        np.maximum(most, (part @ mean.T).max(axis=2), out=most)
        below[:, number * count : (number + 1) * count] = part.reshape(rows, count)
    means = np.kron(np.eye(len(counted)), mean)
    table_below = below.reshape(through.bins, through.levels, -1)
    middle = np.radians(_middles(through.first, through.bins))
    table = SkyTable(
        below=at_cache_lines(table_below),
        first=through.first,
        toward=np.stack([np.sin(middle), np.cos(middle)]).astype(np.float32),
        lowest=(table_below == 0).all(axis=2).sum(axis=1).astype(np.float32) - 1,
    )
    return Sky(
        table=table,
        spell_day=spell_day * len(counted),
        mean=np.pad(means, ((0, 0), (0, below.shape[1] - means.shape[1]))),
        most=np.concatenate([np.zeros((1, through.levels)), np.cumsum(most, axis=0)]),
    )


def _middles(first: float, bins: int) -> Floats:
    """Return the azimuth of the middle of each bin. [degrees]"""
    return np.asarray(first + (np.arange(bins) + 0.5) * 360 / AROUND)


def at_cache_lines(values: Floats | Singles) -> Singles:
    """Return values in single precision, the first where one of the processor's cache lines of 64 bytes begins.

    Rows of 16 columns then lie in one line each.
    """
    room = np.empty(values.size + 15, dtype=np.float32)
    start = -(room.ctypes.data // 4) % 16
    aligned = room[start : start + values.size].reshape(values.shape)
    aligned[...] = values
    return aligned


def spells(
    path: SunPath, *, season: NDArray[np.bool_], calendars: Sequence[tuple[int, int]]
) -> tuple[Integers, tuple[int, ...], Floats]:
    """Return the spell of each day, one day out of each spell, and how hours by spell become means.

    The last is of shape (13, spells).
    """
    months = path.day_month
    states = [
        (int(months[day - 1]), bool(season[day - 1]), *(in_leaf(calendar, day) for calendar in calendars))
        for day in range(1, len(months) + 1)
    ]
    order: dict[tuple[int | bool, ...], int] = {}
    spell = np.array([order.setdefault(state, len(order)) for state in states], dtype=np.int64)
    mean = np.zeros((13, len(order)))
    for state, column in order.items():
        mean[int(state[0]) - 1, column] = 1 / path.month_days[int(state[0]) - 1]
        mean[12, column] = state[1] / max(int(season.sum()), 1)
    return spell, tuple(states.index(state) + 1 for state in order), mean


def _arc(azimuth: Floats) -> tuple[float, int]:
    """Return where the azimuths that the sun reaches begin, and over how many bins they run."""
    if not len(azimuth):
        return 0.0, 1
    used = np.flatnonzero(np.bincount((azimuth * (AROUND / 360)).astype(np.int64) % AROUND, minlength=AROUND))
    gaps = np.diff(np.append(used, used[0] + AROUND))
    widest = int(np.argmax(gaps))
    begin = int(used[(widest + 1) % len(used)])
    return begin * 360 / AROUND, AROUND - int(gaps[widest]) + 1
