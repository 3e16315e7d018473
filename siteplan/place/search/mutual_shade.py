"""What do several new beds take from each other?

Each chosen bed is asked of the exact sun once more, with the walls, trellises and crops of the others beside it.
It leaves out choosing again: beds are low, aisles lie between them, and what they lose is told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.place.reasons.reasons import sun_text
from siteplan.place.search.results import Place, PlaceResult
from siteplan.sun.bed_sun import BedSun

Beside = Callable[[Bed, Sequence[Bed]], BedSun]

#: h a day; less than this is not worth a word
HARDLY = 0.05


def shaded_together(
    found: PlaceResult,
    beds: Sequence[Bed],
    beside: Beside,
    *,
    need: float,
    period: str = "the season",
    month_share: NDArray[np.float64] | None = None,
) -> PlaceResult:
    """Return an answer whose hours count the shade that the new beds throw on each other.

    Parameters
    ----------
    found : PlaceResult
    beds : sequence of Bed
        One on each place, in their order, each with an id of its own.
    beside : callable
        The exact sun on a bed with others standing as well.
    need : float
        Of its crop. [h a day]
    period : str
        As the reasons name it.
    month_share : ndarray, shape (12,), or None
        How much each month counts; None for the growing season.
    """
    if len(found.places) < 2 or not all(place.exact for place in found.places):
        return found
    places, lost = [], []
    for number, (place, bed) in enumerate(zip(found.places, beds, strict=True)):
        answer = beside(bed, [*beds[:number], *beds[number + 1 :]])
        season, worst = _hours(answer, month_share)
        lost.append(place.season_sun_h - season)
        places.append(_told(place, answer, season, worst, need=need, period=period))
    return replace(found, places=tuple(places), sentences=(*found.sentences, _sentence(lost)))


def _hours(answer: BedSun, month_share: NDArray[np.float64] | None) -> tuple[float, float]:
    """Return the mean and the worst cell over what counts. [h a day]"""
    cells = answer.cell_season_h
    if month_share is not None and answer.cell_month_h is not None:
        cells = month_share @ answer.cell_month_h
    return float(cells.mean()), float(cells.min())


def _told(place: Place, answer: BedSun, season: float, worst: float, *, need: float, period: str) -> Place:
    return replace(
        place,
        season_sun_h=season,
        worst_cell_sun_h=worst,
        month_sun_h=answer.month_sun_h,
        why=(sun_text(season, worst, period=period, need=need), *place.why[1:]),
    )


def _sentence(lost: Sequence[float]) -> str:
    most = max(lost)
    if most < HARDLY:
        return "these beds hardly shade each other: all hours are with all of them standing"
    rank = int(np.argmax(lost)) + 1
    text = f"most of each other's shade falls on bed {rank}: {most:.1f} h a day"
    return f"all hours are with all these beds standing; {text}"
