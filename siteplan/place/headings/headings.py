"""Which way should a bed face?

The bed is turned about its middle through half a circle, and the exact sun is computed at each heading. Moving the
bed is compared in `shifts`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, affinity

from siteplan.land.document import Hidden, Named, Unit
from siteplan.land.features import Bed, RowsLie
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.place.headings.alignment import turn_between
from siteplan.place.limits.limits import Limit
from siteplan.sun.bed_sun import BedSun, plenty_for

Floats = NDArray[np.float64]

#: h a day; a smaller gain is not worth turning a bed for
TIE = 0.05
#: degrees; a step nearer than this to the bed's own heading is replaced by it
SAME = 0.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Headings:
    """A bed's sun at every heading.

    Attributes
    ----------
    bed : str
        Its id.
    heading : ndarray, shape (n,)
        Of the long side, ascending, 0 <= heading < 180; the bed's own is among them. [degrees]
    season_h, worst_h : ndarray, shape (n,)
        Mean over the bed and its worst cell, over the growing season. [h a day]
    month_h : ndarray, shape (n, 12)
        Mean over the bed, month by month. [h a day]
    score : ndarray, shape (n,)
        Sun score, 0 to 100: see `bed_sun.BedSun`.
    obstacle : tuple of Limit or None, n of them
        The limit that forbids the heading; None if the bed fits.
    current : int
        Number of the bed's own heading.
    best : int
        Number of the best heading that fits; the bed's own if none is better by more than a tie.
    rows_gain_h : float or None
        Gain of sun between its rows if they ran the other way; None if the bed has no rows. [h a day]
    rows : str or None
        Direction of its rows now, ``along`` or ``across``.
    """

    bed: Hidden[str]
    heading: Annotated[Floats, Unit("deg")]
    season_h: Annotated[Floats, Named("season_sun_h")]
    worst_h: Annotated[Floats, Named("worst_cell_sun_h")]
    month_h: Annotated[Floats, Named("month_sun_h")]
    score: Annotated[Floats, Named("sun_score")]
    obstacle: Hidden[tuple[Limit | None, ...]]
    current: Hidden[int]
    best: Hidden[int]
    rows_gain_h: Hidden[float | None] = None
    rows: Hidden[RowsLie | None] = None

    @cached_property
    def fits(self) -> NDArray[np.bool_]:
        """Whether the bed fits at each heading, shape (n,)."""
        return np.array([limit is None for limit in self.obstacle], dtype=bool)

    @property
    def evenness(self) -> Floats:
        """Worst cell over mean, shape (n,): 1 if all cells get the same, and if there is no sun at all."""
        lit = self.season_h > 0
        return np.where(lit, self.worst_h / np.where(lit, self.season_h, 1), 1.0)

    @property
    def best_heading(self) -> float:
        """The best heading. [degrees]"""
        return float(self.heading[self.best])

    @property
    def sunless(self) -> bool:
        """Whether it gets next to no sun at its own heading and at all that fit: turning cannot help."""
        is_own = np.arange(len(self.heading)) == self.current
        return bool(self.season_h[self.fits | is_own].max() < TIE)

    @property
    def orientation_score(self) -> float | None:
        """Its own score over the best that fits, 0 to 100: at 100 no heading here is better; None without sun."""
        if self.sunless:
            return None
        best = max(self.score[self.current], self.score[self.fits].max(initial=0.0))
        return min(100.0, float(100 * self.score[self.current] / best))  # rounding may pass 100


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
    _, _, own_heading = smallest_rectangle(bed.outline)
    turn = heading - own_heading
    if abs(turn) < 1e-9:
        return bed
    middle = bed.outline.centroid
    return bed.moved(lambda outline: affinity.rotate(outline, -turn, origin=middle))


def headings_of(bed: Bed, *, step: float = 5.0) -> tuple[Floats, int]:
    """Return the headings to compare [degrees], and the number of the bed's own among them.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="b", outline=rectangle(0, 0, length=4, width=2, heading=92), height=0.4)
    >>> headings, current = headings_of(bed, step=45)
    >>> headings.round(6).tolist(), current
    ([0.0, 45.0, 90.0, 92.0, 135.0], 3)
    """
    own_heading = smallest_rectangle(bed.outline)[2]
    steps = [heading for heading in np.arange(0, 180, step).tolist() if turn_between(heading, own_heading) > SAME]
    headings = np.array(sorted([*steps, own_heading]))
    return headings, int(np.argmin(np.abs(headings - own_heading)))


def turned_beds(bed: Bed, *, step: float = 5.0) -> list[Bed]:
    """Return a bed at each heading of `headings_of`, in their order."""
    heading, current = headings_of(bed, step=step)
    return [bed if index == current else turned(bed, float(value)) for index, value in enumerate(heading)]


def compare_headings(
    site: Site,
    bed: Bed,
    sun_at: Callable[[Bed], BedSun],
    *,
    fits: Callable[[Polygon], Limit | None],
    step: float = 5.0,
) -> Headings:
    """Return a bed's sun at every heading, and which is best.

    Parameters
    ----------
    site : Site
    bed : Bed
    sun_at : callable
        Returns the exact sun on a bed, with its walls and trellis at their new position.
    fits : callable
        Returns None if an outline fits, else the limit that it breaks.
    step : float
        Between headings. [degrees]

    Returns
    -------
    Headings
    """
    heading, current = headings_of(bed, step=step)
    beds = turned_beds(bed, step=step)
    suns = [sun_at(turned_bed) for turned_bed in beds]
    obstacle = tuple(fits(turned_bed.outline) for turned_bed in beds)
    season = np.array([sun.season_sun_h for sun in suns])
    score = np.array([sun.sun_score for sun in suns])
    free = np.array([limit is None for limit in obstacle])
    return Headings(
        bed=bed.id,
        heading=heading,
        season_h=season,
        worst_h=np.array([sun.worst_cell_sun_h for sun in suns]),
        month_h=np.array([sun.month_sun_h for sun in suns]),
        score=score,
        obstacle=obstacle,
        current=current,
        best=_best(score, season, free, current, tie=100 * TIE / plenty_for(site, bed)),
        rows_gain_h=_rows_gain(bed, suns[current], sun_at),
        rows=bed.rows,
    )


def _rows_gain(bed: Bed, present: BedSun, sun_at: Callable[[Bed], BedSun]) -> float | None:
    """Return the gain of sun with rows the other way; None if the bed has no rows. [h a day]"""
    if bed.rows is None:
        return None
    other_way: RowsLie = "across" if bed.rows == "along" else "along"
    return sun_at(dataclasses.replace(bed, rows=other_way)).season_sun_h - present.season_sun_h


def _best(score: Floats, season: Floats, free: NDArray[np.bool_], current: int, *, tie: float) -> int:
    """Return the number of the best heading that fits: the bed's own if it is in a tie, else the sunniest in one."""
    allowed = np.flatnonzero(free)
    if not len(allowed):
        return current
    top = score[allowed].max()
    if score[current] >= top - tie:
        return current
    near = allowed[score[allowed] >= top - tie]
    return int(near[np.argmax(np.round(season[near], 6))])
