"""Which way should a bed face?

It is turned about its middle through half a circle, and the exact sun is asked at each heading.
It leaves out moving it: that is the moves'.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, affinity

from siteplan.land.features import Bed, RowsLie
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.place.headings.alignment import turn_between
from siteplan.place.reasons.words import axis_text
from siteplan.sun.bed_sun import BedSun

Floats = NDArray[np.float64]

#: h a day; less than this is not worth turning a bed for
TIE = 0.05
#: degrees; a heading nearer than this to one of the steps takes its place
SAME = 0.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Headings:
    """A bed's sun at every heading.

    Attributes
    ----------
    bed : str
        Its id.
    heading : ndarray, shape (n,)
        Of the long side, rising, 0 <= heading < 180; the bed's own is among them. [degrees]
    season_h, worst_h : ndarray, shape (n,)
        Mean over the bed and its worst cell, over the growing season. [h a day]
    month_h : ndarray, shape (n, 12)
        Mean over the bed, month by month. [h a day]
    evenness : ndarray, shape (n,)
        Worst cell by mean: 1 where all have the same, 1 as well where there is no sun at all.
    score : ndarray, shape (n,)
        0 to 100: the share of what is plenty for its crop.
    fits : ndarray of bool, shape (n,)
        Whether the bed may lie so.
    obstacle : tuple of str or None, n of them
        What is in the way.
    current : int
        Which of them is the bed's own.
    best_heading : float
        That fits with the highest score; its own where none is better by more than a tie. [degrees]
    orientation_score : float
        0 to 100: its own score by the best one that fits; 100 means that no heading at this spot is better.
    sentence : str
        What it comes to.
    """

    bed: str
    heading: Floats
    season_h: Floats
    worst_h: Floats
    month_h: Floats
    evenness: Floats
    score: Floats
    fits: NDArray[np.bool_]
    obstacle: tuple[str | None, ...]
    current: int
    best_heading: float
    orientation_score: float
    sentence: str


def turned(bed: Bed, heading: float) -> Bed:
    """Return the bed turned about its middle so that its long side points along `heading`. [degrees]

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="b", outline=rectangle(0, 0, length=4, width=2, heading=0), height=0.4)
    >>> [round(edge, 6) for edge in turned(bed, 90).outline.bounds]
    [-2.0, -1.0, 2.0, 1.0]
    >>> turned(bed, 0) is bed
    True
    """
    _, _, own = smallest_rectangle(bed.outline)
    turn = heading - own
    if abs(turn) < 1e-9:
        return bed
    return dataclasses.replace(bed, outline=affinity.rotate(bed.outline, -turn, origin="centroid"))


def headings_of(bed: Bed, *, step: float = 5.0) -> tuple[Floats, int]:
    """Return the headings to compare and which of them is the bed's own; that takes the place of a step it nearly is.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="b", outline=rectangle(0, 0, length=4, width=2, heading=92), height=0.4)
    >>> headings, current = headings_of(bed, step=45)
    >>> headings.round(6).tolist(), current
    ([0.0, 45.0, 90.0, 92.0, 135.0], 3)
    """
    own = smallest_rectangle(bed.outline)[2]
    steps = [heading for heading in np.arange(0, 180, step).tolist() if turn_between(heading, own) > SAME]
    headings = np.array(sorted([*steps, own]))
    return headings, int(np.argmin(np.abs(headings - own)))


def compare_headings(
    site: Site,
    bed: Bed,
    sun_at: Callable[[Bed], BedSun],
    *,
    fits: Callable[[Polygon], str | None],
    step: float = 5.0,
) -> Headings:
    """Return a bed's sun at every heading, and which is best.

    Parameters
    ----------
    site : Site
    bed : Bed
    sun_at : callable
        The exact sun on a bed, with its walls and trellis where they would stand.
    fits : callable
        None where an outline may lie, else what is in the way.
    step : float
        Between headings. [degrees]

    Returns
    -------
    Headings
    """
    heading, current = headings_of(bed, step=step)
    beds = [bed if index == current else turned(bed, float(value)) for index, value in enumerate(heading)]
    suns = [sun_at(one) for one in beds]
    obstacle = tuple(fits(one.outline) for one in beds)
    season = np.array([sun.season_sun_h for sun in suns])
    worst = np.array([sun.worst_cell_sun_h for sun in suns])
    score = np.array([sun.sun_score for sun in suns])
    free = np.array([why is None for why in obstacle])
    best = _best(score, season, free, current, tie=100 * TIE / site.sun.plenty)
    most = max(score[current], score[free].max(initial=0.0))
    return Headings(
        bed=bed.id,
        heading=heading,
        season_h=season,
        worst_h=worst,
        month_h=np.array([sun.month_sun_h for sun in suns]),
        evenness=np.where(season > 0, worst / np.where(season > 0, season, 1), 1.0),
        score=score,
        fits=free,
        obstacle=obstacle,
        current=current,
        best_heading=float(heading[best]),
        orientation_score=float(100 * score[current] / most) if most > 0 else 100.0,
        sentence=_sentence(heading, season, worst, free, current, best) + _rows(bed, suns[current], sun_at),
    )


def _rows(bed: Bed, here: BedSun, sun_at: Callable[[Bed], BedSun]) -> str:
    """Return what rows the other way would bring; nothing where the bed has no rows."""
    if bed.rows is None:
        return ""
    other: RowsLie = "across" if bed.rows == "along" else "along"
    gain = sun_at(dataclasses.replace(bed, rows=other)).season_sun_h - here.season_sun_h
    if abs(gain) < TIE:
        return f"; rows {other} would bring no more between them"
    return f"; rows {other} would bring {abs(gain):.1f} h {'more' if gain > 0 else 'less'} sun between them"


def _best(score: Floats, season: Floats, free: NDArray[np.bool_], current: int, *, tie: float) -> int:
    """Return the best heading that fits: the bed's own within a tie, else of those in a tie the sunniest."""
    allowed = np.flatnonzero(free)
    if not len(allowed):
        return current
    top = score[allowed].max()
    if score[current] >= top - tie:
        return current
    near = allowed[score[allowed] >= top - tie]
    return int(near[np.argmax(np.round(season[near], 6))])


def _sentence(
    heading: Floats, season: Floats, worst: Floats, free: NDArray[np.bool_], current: int, best: int
) -> str:
    """Return what the comparison comes to, in hours."""
    if not free.any():
        return "no heading fits here, not even its own: the spot itself is at fault"
    compared = season[free | (np.arange(len(season)) == current)]
    swing = float(compared.max() - compared.min())
    gain = float(season[best] - season[current])
    if not (free & (np.arange(len(free)) != current)).any():
        return "it cannot be turned here: no other heading fits"
    lost = float(season[current] - season[free].min())
    if best == current and (swing < 2 * TIE or round(lost, 1) < 2 * TIE):
        return f"turning it makes no difference here ({swing:.1f} h at most)"
    if best == current:
        return f"no heading that fits is better; the worst would cost it {lost:.1f} h a day"
    text = f"turned to {heading[best]:.0f}° ({axis_text(float(heading[best]))}) it gets {abs(gain):.1f} h "
    text += f"{'more' if gain >= 0 else 'less'} sun a day over the season"
    if (more := float(worst[best] - worst[current])) >= TIE:
        text += f", and {more:.1f} h more in its worst cell"
    return text
