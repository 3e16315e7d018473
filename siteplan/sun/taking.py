"""How much of the sky's table do a horizon and veils leave?

Direction by direction the table is read at the levels where something begins or ends, and what is hidden in between
is taken away. It leaves out where those levels come from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.compiled import compiled
from siteplan.sun.sky import LEVELS
from siteplan.sun.veils import View

Singles = NDArray[np.float32]


@compiled
def take_away(
    below: Singles, lowest: Singles, share: Singles, view: View, ends: Singles, rows: Singles, left: Singles
) -> None:
    """Take away from `left`, shape (columns,), what the horizon and the veils of a view hide.

    Parameters
    ----------
    below, lowest
        Of the sky's table.
    share : ndarray of float32, shape (bodies, columns)
        What each body takes of the sun in each column.
    view : View
        Its veils' slopes are turned into levels.
    ends : ndarray of float32, shape (2 * room,)
        Room for levels.
    rows : ndarray of float32, shape (3, columns)
        Room for two rows of the table, and for what is taken between them.
    """
    levels, first_row = below.shape[1], int(np.int64(0))
    horizon, size, veils = view.horizon, view.size, view.veils
    for b in range(len(horizon)):
        ground = _level(horizon[b], levels)
        if ground > lowest[b]:
            _read(below, b, ground, rows, first_row)
            for column in range(len(left)):
                left[column] -= rows[0, column]
        if size[b] == 0:
            continue
        ground = max(ground, lowest[b])
        count = int(np.int64(0))  # of one type from the start, so that what it is handed to is compiled once
        for slot in range(size[b]):
            bottom, top = max(_level(veils[b, slot, 0], levels), ground), _level(veils[b, slot, 1], levels)
            if top > bottom:
                veils[b, count, 0], veils[b, count, 1], veils[b, count, 2] = bottom, top, veils[b, slot, 2]
                count += 1
        if count > 0:
            _take_veils(below, b, share, veils[b], count, ends, rows, left)
    for column in range(len(left)):
        left[column] = max(left[column], np.float32(0))


@compiled
def _level(slope: np.float32, levels: int) -> np.float32:
    """Return the level of a slope as `sky.level` does, kept within the table."""
    if slope <= 0:
        return np.float32(0)
    return min(np.float32(LEVELS) * (slope / (np.float32(1) + slope)), np.float32(levels - 1))


@compiled
def _read(below: Singles, b: int, level: np.float32, rows: Singles, row: int) -> None:
    """Read a row: what the sky holds below a level in one direction."""
    step = min(int(level), below.shape[1] - 2)
    part = level - np.float32(step)
    rest = np.float32(1) - part
    for column in range(below.shape[2]):
        rows[row, column] = rest * below[b, step, column] + part * below[b, step + 1, column]


@compiled
def _take_veils(
    below: Singles, b: int, share: Singles, veils: Singles, count: int, ends: Singles, rows: Singles, left: Singles
) -> None:
    """Take away what veils hide: between two of their ends the light of all bodies there multiplies."""
    number = _sort_ends(veils, count, ends)
    row, columns = int(np.int64(0)), len(left)
    _read(below, b, ends[0], rows, row)
    for n in range(number - 1):
        at, upto = ends[n], ends[n + 1]
        _read(below, b, upto, rows, 1 - row)
        met, last = 0, -1
        for slot in range(count):
            body = int(veils[slot, 2])
            if veils[slot, 0] <= at and upto <= veils[slot, 1] and body != last:
                if met == 0:
                    for column in range(columns):
                        rows[2, column] = share[body, column]
                else:
                    for column in range(columns):
                        rows[2, column] += (np.float32(1) - rows[2, column]) * share[body, column]
                met, last = met + 1, body
        if met > 0:
            for column in range(columns):
                left[column] -= rows[2, column] * (rows[1 - row, column] - rows[row, column])
        row = 1 - row


@compiled
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
