"""Does the best spot stay the best when a weight is halved or doubled?

Each weight is changed alone, over all free spots with their merit by the maps. Limits are not changed: they have no
weight.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from siteplan.place.merit.merit import COSTS, Weights, WorkMaps, cost_terms
from siteplan.place.search.candidates import Floats
from siteplan.place.search.refinement import ScoredSpot, Search
from siteplan.place.search.selection import TIE

#: m; a spot no farther away than this is the same place to a gardener
SAME_PLACE = 1.0


@dataclass(frozen=True, kw_only=True)
class Change:
    """The effect of one changed weight.

    Attributes
    ----------
    weight : str
        Name of the weight.
    factor : float
        0.5 or 2.
    east, north : float
        From the first choice to the spot that is best with the changed weight. [m]
    heading : float
        Of that best spot. [degrees]
    loss_h : float
        What the first choice loses against that best spot, in hours of daily sun. [h a day]
    stays : bool
        Whether the loss is within a tie, or that best spot is next to the first choice.
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
        """Distance from the first choice to the best spot with the changed weight. [m]"""
        return math.hypot(self.east, self.north)


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """The effects of halving and doubling each weight."""

    changes: tuple[Change, ...]

    @property
    def largest(self) -> Change | None:
        """The change with which the first choice loses most; None if it always stays the best."""
        unsettling = (change for change in self.changes if not change.stays)
        return max(unsettling, key=lambda change: change.loss_h, default=None)

    @property
    def unsettling(self) -> tuple[str, ...]:
        """Names of the weights whose change moves the best spot."""
        return tuple(dict.fromkeys(change.weight for change in self.changes if not change.stays))


def sensitivity(search: Search, work: WorkMaps, weights: Weights, first_choice: ScoredSpot) -> Sensitivity:
    """Return whether the first choice stays the best when each weight is halved or doubled.

    Parameters
    ----------
    search : Search
    work : WorkMaps
    weights : Weights
        As they are.
    first_choice : ScoredSpot
    """
    spots = search.spots
    terms = cost_terms(spots.minutes, spots.water, spots.door, spots.drop, work=work)
    # by the maps the first choice may not be the best even with the weights as they are: that loss is subtracted
    best = _best_that_fits(search, spots.merit)
    loss_unchanged = max(0.0, float(spots.merit[best] - spots.merit[first_choice.index]))
    changes = []
    for name, factor in itertools.product(("worst", *COSTS), (0.5, 2.0)):
        weight = getattr(weights, name)
        changed_weight = min(factor * weight, 1.0) if name == "worst" else factor * weight
        gain = spots.mean - np.minimum(spots.worst, spots.plenty) if name == "worst" else terms[name]
        merit = spots.merit - (changed_weight - weight) / spots.plenty * gain  # merit is linear in each weight
        changes.append(_change(search, merit, name, factor, first_choice, loss_unchanged))
    return Sensitivity(changes=tuple(changes))


def _change(
    search: Search, merit: Floats, weight: str, factor: float, first_choice: ScoredSpot, loss_unchanged: float
) -> Change:
    """Return the effect of a weight times a factor, from the changed merits, shape (n,)."""
    spots = search.spots
    best = _best_that_fits(search, merit)
    east, north = (float(values[best] - values[first_choice.index]) for values in (spots.x, spots.y))
    loss = max(0.0, float(merit[best] - merit[first_choice.index]) - loss_unchanged) * spots.plenty
    return Change(
        weight=weight,
        factor=factor,
        east=east,
        north=north,
        heading=float(spots.heading[best]) % 180,
        loss_h=loss,
        stays=loss <= TIE or math.hypot(east, north) <= SAME_PLACE,
    )


def _best_that_fits(search: Search, merit: Floats) -> int:
    """Return the number of the best spot whose outline fits exactly; more of the best are tested until one fits."""
    count = 200
    while True:
        best = np.argpartition(-merit, count)[:count] if count < len(merit) else np.arange(len(merit))
        best = best[np.lexsort((best, -merit[best]))]
        fit = np.flatnonzero(search.fit(best))
        if len(fit) or count >= len(merit):
            return int(best[fit[0]])
        count *= 10
