"""How much of the sky's table do a horizon and veils leave?

Direction by direction the levels where something begins or ends are noted; then the table's rows there are added up.
It leaves out where those levels come from.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused
from siteplan.sun.lookup.intervals import View
from siteplan.sun.path.sky_table import LANES, LEVELS

Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

NOTES = 1024  # of what is to be taken, before it is taken
MIXES = 64  # of bodies behind one another, among those notes


class Notes(NamedTuple):
    """What is to be taken away from a point's light: room for it, and what each body takes.

    Attributes
    ----------
    upper, lower : ndarray of int, shape (NOTES,)
        Where in the table a row begins, and the next one after it: those below and above a level.
    upper_part, lower_part : ndarray of float32, shape (NOTES,)
        How far the level lies from the first to the next. [0 to 1]
    taker : ndarray of int, shape (NOTES,)
        Row of `share`.
    share : ndarray of float32, shape (bodies + MIXES, columns)
        What is taken in each column by each body, then by bodies behind one another.
    ends : ndarray of float32, shape (2 * room,)
        Room for the levels where veils begin and end.
    """

    upper: Integers
    upper_part: Singles
    lower: Integers
    lower_part: Singles
    taker: Integers
    share: Singles
    ends: Singles


def room_for_notes(share: Singles, room: int) -> Notes:
    """Return room for what is taken by bodies of a share, shape (bodies, columns), and by so many veils."""
    integers, singles = np.empty(NOTES, dtype=np.int64), np.empty(NOTES, dtype=np.float32)
    mixes = np.zeros((MIXES, share.shape[1]), dtype=np.float32)
    return Notes(
        integers, singles, integers.copy(), singles.copy(), integers.copy(), np.concatenate([share, mixes]),
        np.empty(2 * room, dtype=np.float32),
    )  # fmt: skip


@compiled_fused
def take_away(below: Singles, lowest: Singles, view: View, notes: Notes, left: Singles) -> None:
    """Take away from `left`, shape (columns,), what the horizon and the veils of a view hide.

    Parameters
    ----------
    below, lowest
        Of the sky's table.
    view : View
        Its horizon's and its veils' slopes are turned into levels.
    notes : Notes
        Room.
    """
    bins, levels, columns = below.shape
    table = below.reshape(-1)
    horizon = view.horizon
    count = int(np.int64(0))
    for b in range(bins):  # alone, so that the processor takes eight at once
        horizon[b] = _level(horizon[b], levels)
    for b in range(bins):
        if horizon[b] > lowest[b]:
            notes.upper[count], notes.upper_part[count] = _row(b, horizon[b], levels, columns)
            count += 1
        horizon[b] = max(horizon[b], lowest[b])
        if count == NOTES or (b == bins - 1 and count > 0):
            _take_up_to(table, columns, notes, count, left)
            count = 0
    _take_veils(below, view, notes, left)
    for column in range(columns):
        left[column] = max(left[column], np.float32(0))


@compiled_fused
def _level(slope: np.float32, levels: int) -> np.float32:
    """Return the level of a slope as `sky.level` does, kept within the table."""
    slope = max(slope, np.float32(0))
    return min(np.float32(LEVELS) * (slope / (np.float32(1) + slope)), np.float32(levels - 1))


@compiled_fused
def _row(b: int, level: np.float32, levels: int, columns: int) -> tuple[int, np.float32]:
    """Return where the row below a level begins in the table, and how far from it to the next the level lies."""
    step = min(int(level), levels - 2)
    return (b * levels + step) * columns, level - np.float32(step)


@compiled_fused
def _take_up_to(table: Singles, columns: int, notes: Notes, count: int, left: Singles) -> None:
    """Take all that lies below the noted levels.

    A few columns at a time, written out, so that their sums stay in registers: a loop as short as this over an array
    costs several times as much.
    """
    one = np.float32(1)
    for lane in range(0, columns, LANES):
        a = b = c = d = e = f = g = h = np.float32(0)
        for n in range(count):
            k, upper = notes.upper[n] + lane, notes.upper_part[n]
            m, lower = k + columns, one - upper
            a += lower * table[k] + upper * table[m]
            b += lower * table[k + 1] + upper * table[m + 1]
            c += lower * table[k + 2] + upper * table[m + 2]
            d += lower * table[k + 3] + upper * table[m + 3]
            e += lower * table[k + 4] + upper * table[m + 4]
            f += lower * table[k + 5] + upper * table[m + 5]
            g += lower * table[k + 6] + upper * table[m + 6]
            h += lower * table[k + 7] + upper * table[m + 7]
        left[lane] -= a
        left[lane + 1] -= b
        left[lane + 2] -= c
        left[lane + 3] -= d
        left[lane + 4] -= e
        left[lane + 5] -= f
        left[lane + 6] -= g
        left[lane + 7] -= h


@compiled_fused
def _take_veils(below: Singles, view: View, notes: Notes, left: Singles) -> None:
    """Take what veils hide: between two of their ends the light of all bodies there multiplies."""
    _, levels, columns = below.shape
    table, bodies = below.reshape(-1), len(notes.share) - MIXES
    horizon, size, veils, ends = view.horizon, view.size, view.veils, notes.ends
    count, mixes = int(np.int64(0)), int(np.int64(0))
    for b in range(len(size)):
        if size[b] == 0:
            continue
        hung = _above(veils[b], size[b], horizon[b], levels)
        if hung == 1:
            ends[0], ends[1], number = veils[b, 0, 0], veils[b, 0, 1], 2
        else:
            number = _sort_ends(veils[b], hung, ends)
        for n in range(number - 1):
            taker = _taker(veils[b], hung, ends[n], ends[n + 1], notes.share, bodies + mixes)
            if taker < 0:
                continue
            if taker >= bodies:
                mixes += 1
            notes.lower[count], notes.lower_part[count] = _row(b, ends[n], levels, columns)
            notes.upper[count], notes.upper_part[count] = _row(b, ends[n + 1], levels, columns)
            notes.taker[count] = taker
            count += 1
            if count == NOTES or mixes == MIXES:
                _take_between(table, columns, notes, count, left)
                count, mixes = 0, 0
    _take_between(table, columns, notes, count, left)


@compiled_fused
def _above(veils: Singles, size: int, ground: np.float32, levels: int) -> int:
    """Turn the slopes of veils into levels, leave out what hangs below the ground, and return how many are left."""
    count = int(np.int64(0))  # of one type from the start, so that what it is handed to is compiled once
    for slot in range(size):
        bottom, top = max(_level(veils[slot, 0], levels), ground), _level(veils[slot, 1], levels)
        if top > bottom:
            veils[count, 0], veils[count, 1], veils[count, 2] = bottom, top, veils[slot, 2]
            count += 1
    return count


@compiled_fused
def _taker(veils: Singles, count: int, at: np.float32, upto: np.float32, share: Singles, mix: int) -> int:
    """Return the row of the share that takes the light between two levels: a body's, or `mix`, or -1 for none."""
    met, last = int(np.int64(-1)), int(np.int64(-1))
    for slot in range(count):
        body = int(veils[slot, 2])
        if veils[slot, 0] > at or upto > veils[slot, 1] or body == last:
            continue
        if met < 0:
            met = body
        else:
            for column in range(share.shape[1]):
                share[mix, column] = share[met, column] + (np.float32(1) - share[met, column]) * share[body, column]
            met = mix
        last = body
    return met


@compiled_fused
def _take_between(table: Singles, columns: int, notes: Notes, count: int, left: Singles) -> None:
    """Take from what lies between the noted levels the share of what hides it."""
    one, share = np.float32(1), notes.share
    for lane in range(0, columns, 4):
        a = b = c = d = np.float32(0)
        for n in range(count):
            k, upper, taker = notes.upper[n] + lane, notes.upper_part[n], notes.taker[n]
            i, lower = notes.lower[n] + lane, notes.lower_part[n]
            m, j, over, under = k + columns, i + columns, one - upper, one - lower
            a += share[taker, lane] * (over * table[k] + upper * table[m] - under * table[i] - lower * table[j])
            b += share[taker, lane + 1] * (
                over * table[k + 1] + upper * table[m + 1] - under * table[i + 1] - lower * table[j + 1]
            )
            c += share[taker, lane + 2] * (
                over * table[k + 2] + upper * table[m + 2] - under * table[i + 2] - lower * table[j + 2]
            )
            d += share[taker, lane + 3] * (
                over * table[k + 3] + upper * table[m + 3] - under * table[i + 3] - lower * table[j + 3]
            )
        left[lane] -= a
        left[lane + 1] -= b
        left[lane + 2] -= c
        left[lane + 3] -= d


@compiled_fused
def _sort_ends(veils: Singles, count: int, ends: Singles) -> int:
    """Set `ends` to the levels where veils begin or end, rising, each once; return how many."""
    number = 0
    for slot in range(count):
        for side in range(2):
            end = veils[slot, side]
            n = number
            while n > 0 and ends[n - 1] > end:
                n -= 1
            if n > 0 and ends[n - 1] == end:
                continue
            for k in range(number, n, -1):
                ends[k] = ends[k - 1]
            ends[n] = end
            number += 1
    return number
