"""Does the best spot stay the best when a weight is halved or doubled?

Each weight in turn, over all free spots by the maps' estimate.
It leaves out several weights changed at once, and limits: those are not for weighing.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from siteplan.land.units import System
from siteplan.place.merit.merit import COSTS, Ways, Weights, cost_terms
from siteplan.place.reasons.words import compass_point, distance_text
from siteplan.place.search.candidates import Floats
from siteplan.place.search.refinement import Scored, Search
from siteplan.place.search.squaring import TIE

#: m; a spot no farther away is the same place to a gardener
SAME_PLACE = 1.0
_NAMES = {
    "worst": "the worst cell",
    "wheeling": "wheeling",
    "water": "the way to the water",
    "beyond_hose": "what lies beyond the hose",
    "door": "the way to the door",
    "levelling": "levelling",
}


@dataclass(frozen=True, kw_only=True)
class Change:
    """One weight changed.

    Attributes
    ----------
    weight : str
        Its name.
    factor : float
        0.5 or 2.
    x, y, heading : float
        The best spot then. [m], [degrees]
    moved : float
        How far that is from the first choice. [m]
    loss_h : float
        What staying at the first choice would then give up, in hours of daily sun. [h a day]
    stays : bool
        Whether the first choice is then still as good, to a tie, or the best is next to it.
    """

    weight: str
    factor: float
    x: float
    y: float
    heading: float
    moved: float
    loss_h: float
    stays: bool


@dataclass(frozen=True, kw_only=True)
class Sensitivity:
    """What halving and doubling each weight changes, and the sentence on it."""

    changes: tuple[Change, ...]
    sentence: str


def sensitivity(search: Search, ways: Ways, weights: Weights, first: Scored, units: System) -> Sensitivity:
    """Return whether the first choice stays the best when each weight is halved or doubled.

    Parameters
    ----------
    search : Search
    ways : Ways
    weights : Weights
        As they are.
    first : Scored
        The first choice.
    units : str
        For the sentence.
    """
    spots = search.spots
    terms = cost_terms(spots.minutes, spots.water, spots.door, spots.drop, ways=ways)
    # the first choice may not be the maps' own best: what it gives up already is not held against a change
    already = max(0.0, float(spots.merit[_best_that_fits(search, spots.merit)] - spots.merit[first.index]))
    changes = []
    for name, factor in itertools.product(("worst", *COSTS), (0.5, 2.0)):
        old = getattr(weights, name)
        new = min(factor * old, 1.0) if name == "worst" else factor * old
        gain = spots.mean - np.minimum(spots.worst, spots.plenty) if name == "worst" else terms[name]
        merit = spots.merit - (new - old) / spots.plenty * gain  # more weight takes away as much more
        changes.append(_change(search, merit, (name, factor), first, already))
    return Sensitivity(changes=tuple(changes), sentence=_sentence(search, changes, first, units))


def _change(search: Search, merit: Floats, which: tuple[str, float], first: Scored, already: float) -> Change:
    spots = search.spots
    best = _best_that_fits(search, merit)
    moved = float(np.hypot(spots.x[best] - spots.x[first.index], spots.y[best] - spots.y[first.index]))
    loss = max(0.0, float(merit[best] - merit[first.index]) - already) * spots.plenty
    return Change(
        weight=which[0],
        factor=which[1],
        x=float(spots.x[best]),
        y=float(spots.y[best]),
        heading=float(spots.heading[best]) % 180,
        moved=moved,
        loss_h=loss,
        stays=loss <= TIE or moved <= SAME_PLACE,
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


def _sentence(search: Search, changes: list[Change], first: Scored, units: System) -> str:
    moved = [change for change in changes if not change.stays]
    if not moved:
        return "the first choice stays the best when any one weight is halved or doubled"
    worst = max(moved, key=lambda change: change.loss_h)
    east = worst.x - float(search.spots.x[first.index])
    north = worst.y - float(search.spots.y[first.index])
    times = "twice" if worst.factor > 1 else "half"
    others = len({change.weight for change in moved}) - 1
    text = f"with {times} the weight on {_NAMES[worst.weight]} the best spot lies "
    text += f"{distance_text(worst.moved, units)} to the {compass_point(east, north)}; "
    text += f"staying gives up what is worth {worst.loss_h:.1f} h of sun a day"
    return text + (f"; {others} other weight{'s' if others > 1 else ''} would move it too" if others else "")
