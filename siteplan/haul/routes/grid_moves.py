"""Which cells does a move on the grid cross?

The cells of each move and the exact length of the line in each. If the line passes through a corner of cells, the
cells on both sides of it count as crossed.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int32]

#: steps of the moves in the first half quadrant, as (columns, rows) [cells]
_TAUT = ((1, 0), (1, 1), (2, 1), (3, 1), (3, 2), (4, 1))
_TOUCH = 1e-12  # length in a cell touched at its corner; above 0, so that an infinite time there blocks the move
_OCTILE = ((1, 0), (1, 1))


class Moves(NamedTuple):
    """A set of moves, each with its opposite.

    Attributes
    ----------
    steps : ndarray, shape (moves, 2)
        Rows and columns of each move.
    starts : ndarray, shape (moves + 1,)
        Where each move's cells begin in `crossed`.
    crossed : ndarray, shape (n, 2)
        Crossed cells, as rows and columns from where the move begins.
    lengths : ndarray, shape (n,)
        Length in each crossed cell; next to 0 if it is only touched at a corner. [cells]
    opposite : ndarray, shape (moves,)
        Number of the move back.
    """

    steps: Ints
    starts: Ints
    crossed: Ints
    lengths: NDArray[np.float64]
    opposite: Ints

    @property
    def margin(self) -> int:
        """Largest extent of a move along one axis. [cells]"""
        return int(np.abs(self.steps).max())


def cells_crossed(rows: int, columns: int) -> list[tuple[int, int, float]]:
    """Return the cells that a line between two cells' centres crosses, each with the length in it. [cells]

    Examples
    --------
    >>> cells_crossed(0, 1)
    [(0, 0, 0.5), (0, 1, 0.5)]
    >>> [(row, column, round(length, 3)) for row, column, length in cells_crossed(1, 1)]
    [(0, 0, 0.707), (0, 1, 0.0), (1, 0, 0.0), (1, 1, 0.707)]
    """
    across = {Fraction(2 * k + 1, 2 * abs(columns)) for k in range(abs(columns))}
    along = {Fraction(2 * k + 1, 2 * abs(rows)) for k in range(abs(rows))}
    east, south = (1 if columns > 0 else -1), (1 if rows > 0 else -1)
    length, row, column, covered = math.hypot(rows, columns), 0, 0, Fraction(0)
    crossed: list[tuple[int, int, float]] = []
    for crossing in sorted(across | along):
        crossed.append((row, column, float(crossing - covered) * length))
        if crossing in across and crossing in along:
            crossed += [(row, column + east, 0.0), (row + south, column, 0.0)]
        column += east * (crossing in across)
        row += south * (crossing in along)
        covered = crossing
    return [*crossed, (row, column, float(1 - covered) * length)]


def _moves(half_quadrant: tuple[tuple[int, int], ...]) -> Moves:
    """Return all moves that follow by symmetry from those in half a quadrant."""
    quadrant = [*half_quadrant, *((b, a) for a, b in half_quadrant)]
    all_steps = {(s * a, t * b) for a, b in quadrant for s, t in ((1, 1), (1, -1), (-1, 1), (-1, -1))}
    steps = sorted(all_steps, key=lambda step: math.atan2(-step[0], step[1]))
    crossed = [cells_crossed(*step) for step in steps]
    return Moves(
        steps=np.array(steps, dtype=np.int32),
        starts=np.cumsum([0, *(len(cells) for cells in crossed)], dtype=np.int32),
        crossed=np.array([cell[:2] for cells in crossed for cell in cells], dtype=np.int32),
        lengths=np.array([max(cell[2], _TOUCH) for cells in crossed for cell in cells]),
        opposite=np.array([steps.index((-row, -column)) for row, column in steps], dtype=np.int32),
    )


def taut_moves() -> Moves:
    """Return moves in 40 directions; on open ground a path of them is at most 0.8 % longer than a straight line.

    Examples
    --------
    >>> len(taut_moves().steps), taut_moves().margin
    (40, 4)
    """
    return _moves(_TAUT)


def octile_moves() -> Moves:
    """Return the eight moves to neighbours; a diagonal needs both cells beside it free.

    Examples
    --------
    >>> len(octile_moves().steps)
    8
    """
    return _moves(_OCTILE)
