"""At what time of day does the sun reach a bed?

For the terminal: one line for each month, one mark for each half hour of the clock.
It leaves out single days: each mark is the mean over a month.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.say.figures import MONTHS

#: upper limit of the share of the soil that is lit (mean over the month), and the mark printed up to that limit
MARKS = ((0.05, "."), (0.35, "-"), (0.65, "+"), (0.95, "#"), (1.0, "@"))
LEGEND = ". dark  - a third  + half  # most  @ all of the soil in the sun"


def clock_lines(lit: NDArray[np.float64]) -> list[str]:
    """Return a header line and twelve lines, one for each month.

    Parameters
    ----------
    lit : ndarray, shape (12, 48)
        Share of the soil that is lit, by month and half hour of the clock. [0 to 1]

    Examples
    --------
    >>> lit = np.zeros((12, 48))
    >>> lit[4, 16:36] = 1.0
    >>> lit[4, 14:16] = 0.4
    >>> lines = clock_lines(lit)
    >>> lines[0]
    '     7   8   9   10  11  12  13  14  15  16  17  '
    >>> lines[5]
    'May  ++++@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@@'
    """
    slots_lit = np.flatnonzero((lit > MARKS[0][0]).any(axis=0))
    first_hour, end_hour = (int(slots_lit[0]) // 2, -(-int(slots_lit[-1] + 1) // 2)) if len(slots_lit) else (6, 18)
    wide = (
        2 if end_hour - first_hour > 18 else 4
    )  # characters an hour, so that the longest day also fits in 80 columns
    head = " " * 5 + "".join(
        f"{hour:<{wide}}" if wide == 4 or hour % 2 == 0 else "  " for hour in range(first_hour, end_hour)
    )
    lines = [head]
    for month, row in zip(MONTHS, lit, strict=True):
        marks = [mark_of(float(share)) * (wide // 2) for share in row[2 * first_hour : 2 * end_hour]]
        lines.append(f"{month:<5}{''.join(marks)}")
    return lines


def mark_of(share: float) -> str:
    """Return the mark for a share of the soil.

    Examples
    --------
    >>> [mark_of(share) for share in (0.0, 0.2, 0.5, 0.9, 1.0)]
    ['.', '-', '+', '#', '@']
    """
    return next((mark for most, mark in MARKS if share <= most), MARKS[-1][1])
