"""Does the best spot stay the best when a weight is halved or doubled?

Each weight in turn, over all free spots by the maps' estimate.
It leaves out several weights changed at once, and limits: those are not for weighing.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from siteplan.place.merit.merit import COSTS, Weights, WorkMaps, cost_terms
from siteplan.place.search.candidates import Floats
from siteplan.place.search.refinement import Scored, Search
from siteplan.place.search.selection import TIE

#: m; a spot no farther away is the same place to a gardener
SAME_PLACE = 1.0


@dataclass(frozen=True, kw_only=True)
class Change:
    """One weight changed.

    Attributes
    ----------
    weight : str
        Its name.
    factor : float
        0.5 or 2.
    east, north : float
        From the first choice to the best spot then. [m]
    heading : float
        Of the best spot then. [degrees]
    loss_h : float
        What staying at the first choice would then give up, in hours of daily sun. [h a day]
    stays : bool
        Whether the first choice is then still as good, to a tie, or the best is next to it.
    """

    weight: str
    factor: float
    east: float
    north: float
    heading: float
    loss_h: float
    stays: bool

    @property
    def moved(self) -> float:
        """How far the best spot then is from the first choice. [m]"""
        return math.hypot(self.east, self.north)


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """What halving and doubling each weight changes."""

    changes: tuple[Change, ...]

    @property
    def largest(self) -> Change | None:
        """The change after which staying at the first choice gives up most; None where it stays the best always."""
        return max((one for one in self.changes if not one.stays), key=lambda one: one.loss_h, default=None)

    @property
    def unsettling(self) -> tuple[str, ...]:
        """The weights of which a change moves the best spot."""
        return tuple(dict.fromkeys(one.weight for one in self.changes if not one.stays))


def sensitivity(search: Search, work: WorkMaps, weights: Weights, first: Scored) -> Sensitivity:
    """Return whether the first choice stays the best when each weight is halved or doubled.

    Parameters
    ----------
    search : Search
    work : WorkMaps
    weights : Weights
        As they are.
    first : Scored
        The first choice.
    """
    spots = search.spots
    terms = cost_terms(spots.minutes, spots.water, spots.door, spots.drop, work=work)
    # the first choice may not be the maps' own best: what it gives up already is not held against a change
    already = max(0.0, float(spots.merit[_best_that_fits(search, spots.merit)] - spots.merit[first.index]))
    changes = []
    for name, factor in itertools.product(("worst", *COSTS), (0.5, 2.0)):
        old = getattr(weights, name)
        new = min(factor * old, 1.0) if name == "worst" else factor * old
        gain = spots.mean - np.minimum(spots.worst, spots.plenty) if name == "worst" else terms[name]
        merit = spots.merit - (new - old) / spots.plenty * gain  # more weight takes away as much more
        changes.append(_change(search, merit, (name, factor), first, already))
    return Sensitivity(changes=tuple(changes))


def _change(search: Search, merit: Floats, which: tuple[str, float], first: Scored, already: float) -> Change:
    spots = search.spots
    best = _best_that_fits(search, merit)
    east, north = (float(values[best] - values[first.index]) for values in (spots.x, spots.y))
    loss = max(0.0, float(merit[best] - merit[first.index]) - already) * spots.plenty
    return Change(
        weight=which[0],
        factor=which[1],
        east=east,
        north=north,
        heading=float(spots.heading[best]) % 180,
        loss_h=loss,
        stays=loss <= TIE or math.hypot(east, north) <= SAME_PLACE,
    )


def _best_that_fits(search: Search, merit: Floats) -> int:
    """Return the best of the spots whose outline fits exactly."""
    start = 200
    while True:
        some = np.argpartition(-merit, start)[:start] if start < len(merit) else np.arange(len(merit))
        some = some[np.lexsort((some, -merit[some]))]
        fit = np.flatnonzero(search.fit(some))
        if len(fit) or start >= len(merit):
            return int(some[fit[0]])
        start *= 10
