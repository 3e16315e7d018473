"""How is the year's sun time spread over the sky?

A histogram of the sun's path in bins of azimuth and levels of elevation, with a column for each period of days. It
is summed up from the horizon (prefix sums), so that the sun time below any level in one direction is one read from
the table. Obstacles are subtracted later, in `lookup`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.path.day_periods import Periods
from siteplan.sun.path.fine_path import finer
from siteplan.sun.path.solar_path import SunPath

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

AROUND = 720  # bins of azimuth in the full circle, half a degree each: the sun takes two minutes or more for one
LEVELS = 384  # levels from the horizon to the zenith, at most half a degree each, see `level`
CELL = 6  # height of a cell in levels, at most three degrees; leaves are looked up cell by cell
CELLS = LEVELS // CELL
SPAN = 2  # width of a cell in bins of azimuth: one degree
LANES = 8  # columns are padded to a multiple of this: the processor adds so many single floats at once


class CellHours(NamedTuple):
    """Sun time in cells of SPAN bins and CELL levels, as strips of LANES cells; empty strips are left out.

    Attributes
    ----------
    hours : ndarray of float32, shape (strips, LANES)
        Column by column, and span by span within a column. [h]
    at : ndarray of int, shape (strips,)
        Number of a strip's first cell, counted span by span from the horizon to the zenith.
    first : ndarray of int, shape (columns, spans + 1)
        Number of the first strip of each column and span; the last is where the column ends.
    """

    hours: Singles
    at: Integers
    first: Integers


class SkyTable(NamedTuple):
    """Sun time by azimuth and elevation.

    Attributes
    ----------
    below : ndarray of float32, shape (bins, levels, columns)
        Sun time in a bin of azimuth below a level, with a column for each period of days. [h]
    first : float
        Azimuth at which bin 0 begins; the bins run clockwise over the azimuths that the sun reaches. [degrees]
    toward : ndarray of float32, shape (2, bins)
        East and north of the direction of each bin's middle.
    lowest_level : ndarray of float32, shape (bins,)
        Level below which the sun never stands in each bin.
    cell_hours : CellHours
        Sun time by cells of SPAN bins and CELL levels.
    """

    below: Singles
    first: float
    toward: Singles
    lowest_level: Singles
    cell_hours: CellHours


@dataclass(frozen=True, eq=False)
class Sky:
    """The table, and what its columns mean.

    Attributes
    ----------
    table : SkyTable
        What the lookup reads.
    column_day : tuple of int
        One day of the year in each column's period, which tells what is in leaf.
    day_column : ndarray of int, shape (days,)
        Column of each day's period; with several quantities, the column of the first.
    mean : ndarray, shape (means, columns)
        Matrix that turns sums by column into means a day: twelve months and the season, quantity by quantity.
    upper_bound : ndarray, shape (bins + 1, levels)
        For culling: the largest sun time below a level in any month or the season, summed along azimuth
        (prefix sums). [h a day]
    """

    table: SkyTable
    column_day: tuple[int, ...]
    day_column: Integers
    mean: Floats
    upper_bound: Floats

    @cached_property
    def highest(self) -> Singles:
        """Slope above which the table holds no sun time, by bin, shape (bins,)."""
        below = self.table.below
        top = (below < below[:, -1:]).any(axis=2).sum(axis=1).astype(np.float32)
        return np.where(top >= LEVELS, np.float32(np.inf), top / np.maximum(LEVELS - top, 1)).astype(np.float32)

    @cached_property
    def azimuth(self) -> Floats:
        """Azimuth of each bin's middle, shape (bins,). [degrees]"""
        return np.asarray(np.degrees(np.arctan2(*self.table.toward.astype(np.float64))) % 360)

    @cached_property
    def lowest(self) -> Singles:
        """Slope below which the sun never stands, by bin, shape (bins,)."""
        step = self.table.lowest_level
        return np.where(step > 0, step / np.maximum(LEVELS - step, 1e-3), 0).astype(np.float32)

    @cached_property
    def total(self) -> Singles:
        """What a point without obstacles gets in each column, shape (columns,)."""
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
    """In which row of a table each part of a path counts.

    Each passage of the sun through a bin counts at the elevation that the sun has in the bin's middle. Obstacles are
    looked up in the bin's middle too, so that an edge that rises with the sun is not blurred.

    Attributes
    ----------
    row : ndarray of int, shape (parts,)
        Row of the table: bin times levels, plus the number of the level above the sun.
    hours : ndarray, shape (parts,)
        How long each part lasts. [h]
    day : ndarray of int, shape (parts,)
        Day of the year.
    first : float
        Azimuth at which bin 0 begins. [degrees]
    bins, levels : int
        Of the table.
    """

    row: Integers
    hours: Floats
    day: Integers
    first: float
    bins: int
    levels: int


def passages_of(path: SunPath) -> Passages:
    """Return the rows of the table in which the parts of a path count, see `Passages`."""
    fine = finer(path)
    first_azimuth, bins = _arc(fine.azimuth)
    bin_ = np.clip((fine.azimuth - first_azimuth) % 360 * (AROUND / 360), 0, bins - 1e-9).astype(np.int64)
    elevation = fine.elevation_towards(_middles(first_azimuth, bins)[bin_])
    level_number = level(np.tan(np.radians(np.minimum(elevation, 89.999)))).astype(np.int64)
    levels = int(level_number.max(initial=0)) + 2
    return Passages(bin_ * levels + level_number + 1, fine.hours, fine.day, float(first_azimuth), bins, levels)


def sky(
    path: SunPath,
    periods: Periods,
    *,
    weights: Floats | None = None,
    passages: Passages | None = None,
) -> Sky:
    """Return a path's sun time as a table.

    Parameters
    ----------
    path : SunPath
        Of a year, or of any days.
    periods : Periods
        Of its days.
    weights : ndarray, shape (quantities, parts), optional
        Weight of each part of the finer path, in place of its hours. With several quantities the 13 means of the
        second follow those of the first, and so on.
    passages : Passages, optional
        Those of this path, if the caller has them already.
    """
    passages = passages or passages_of(path)
    quantities = passages.hours[None] if weights is None else weights
    bins, levels, count = passages.bins, passages.levels, len(periods.one_day)
    below = at_cache_lines((bins, levels, filled_up(len(quantities) * count)))
    largest = np.zeros((bins, levels))
    cell = passages.row * count + periods.of_day[passages.day - 1]
    for number, weight in enumerate(quantities):
        sums = np.bincount(cell, weights=weight, minlength=bins * levels * count).reshape(bins, levels, count)
        np.cumsum(sums, axis=1, out=sums)
        for mean in periods.mean:
            np.maximum(largest, sums @ mean, out=largest)
        below[:, :, number * count : (number + 1) * count] = sums
    means = np.kron(np.eye(len(quantities)), periods.mean)
    return Sky(
        table=sky_table(below, passages.first),
        column_day=periods.one_day * len(quantities),
        day_column=periods.of_day,
        mean=np.pad(means, ((0, 0), (0, below.shape[2] - means.shape[1]))),
        upper_bound=np.concatenate([np.zeros((1, levels)), np.cumsum(largest, axis=0)]),
    )


def sky_table(below: Singles, first: float) -> SkyTable:
    """Return a table from sums below each level.

    Parameters
    ----------
    below : ndarray of float32, shape (bins, levels, columns)
        As in `SkyTable`.
    first : float
        Azimuth at which bin 0 begins. [degrees]
    """
    middle = np.radians(_middles(first, len(below)))
    lowest = (~below.any(axis=2)).sum(axis=1).astype(np.float32) - 1
    toward = np.stack([np.sin(middle), np.cos(middle)]).astype(np.float32)
    return SkyTable(below, first, toward, lowest, _cell_hours(below))


def _cell_hours(below: Singles) -> CellHours:
    """Return a table's sums by cell, in strips of LANES cells.

    Each pass takes one strip from every row of cells that still holds something, from its first cell that does.
    """
    bins, levels, columns = below.shape
    floor = np.minimum(np.arange(0, levels + CELL - 1, CELL), levels - 1)
    in_cells = np.add.reduceat(np.diff(below[:, floor], axis=1), np.arange(0, bins, SPAN))
    spans = len(in_cells)
    remaining = np.zeros((columns * spans, CELLS), dtype=np.float32)
    remaining[:, : len(floor) - 1] = in_cells.transpose(2, 0, 1).reshape(columns * spans, -1)
    rows, starts, hours = [], [], []
    while len(row := np.flatnonzero(remaining.any(axis=1))):
        start = np.minimum((remaining[row] != 0).argmax(axis=1), CELLS - LANES)
        strip = (row[:, None], start[:, None] + np.arange(LANES))
        rows.append(row)
        starts.append(start)
        hours.append(remaining[strip])
        remaining[strip] = 0
    row, start = (np.concatenate([np.empty(0, dtype=np.int64), *arrays]) for arrays in (rows, starts))
    order = np.lexsort((start, row))
    sorted_hours = at_cache_lines((len(order), LANES))
    sorted_hours[:] = np.concatenate([np.empty((0, LANES)), *hours])[order]
    first = np.searchsorted(row[order], np.arange(columns)[:, None] * spans + np.arange(spans + 1))
    return CellHours(sorted_hours, (row % spans * CELLS + start)[order], first)


def _middles(first: float, bins: int) -> Floats:
    """Return the azimuth of the middle of each bin. [degrees]"""
    return np.asarray(first + (np.arange(bins) + 0.5) * 360 / AROUND)


def filled_up(columns: int) -> int:
    """Return a number of columns, rounded up to a multiple of LANES."""
    return -(-columns // LANES) * LANES


def at_cache_lines(shape: tuple[int, ...]) -> Singles:
    """Return zeros in single precision, aligned to the processor's cache lines of 64 bytes.

    A row of 16 columns then lies in a single cache line.
    """
    size = int(np.prod(shape))
    memory = np.zeros(size + 15, dtype=np.float32)
    start = -(memory.ctypes.data // 4) % 16
    return memory[start : start + size].reshape(shape)


class Steps(NamedTuple):
    """Where the steps of a path stand in a sky's table.

    Attributes
    ----------
    bin : ndarray of int, shape (steps,)
        Of azimuth.
    slope : ndarray of float32, shape (steps,)
        Of the ray towards the sun: rise over run.
    column : ndarray of int, shape (steps,)
        Of the step's day.
    """

    bin: Integers
    slope: Singles
    column: Integers


def steps_in(path: SunPath, sky: Sky) -> Steps:
    """Return where the steps of a path stand in the table of that path's hours."""
    table, bins = sky.table, len(sky.table.lowest_level)
    bin_ = np.clip((path.azimuth - table.first) % 360 * (AROUND / 360), 0, bins - 1).astype(np.int64)
    slope = np.tan(np.radians(np.minimum(path.elevation, 89.999))).astype(np.float32)
    return Steps(bin_, slope, sky.day_column[path.day - 1])


def _arc(azimuth: Floats) -> tuple[float, int]:
    """Return where the azimuths that the sun reaches begin, and over how many bins they run."""
    if not len(azimuth):
        return 0.0, 1
    used = np.flatnonzero(np.bincount((azimuth * (AROUND / 360)).astype(np.int64) % AROUND, minlength=AROUND))
    gaps = np.diff(np.append(used, used[0] + AROUND))
    widest = int(np.argmax(gaps))
    first_bin = int(used[(widest + 1) % len(used)])
    return first_bin * 360 / AROUND, AROUND - int(gaps[widest]) + 1
