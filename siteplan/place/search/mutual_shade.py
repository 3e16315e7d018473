"""How much sun do several new beds take from each other?

The exact sun on each chosen bed is computed once more, with the walls, trellises and crops of the other beds. The
places are not chosen again: beds are low and have aisles between them, and the loss is reported.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.land.findings import finding
from siteplan.place.merit.merit import Hours, hours_of
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.place.search.search_results import Place, PlaceResult
from siteplan.sun.bed_sun import BedSun

Beside = Callable[[Bed, Sequence[Bed]], BedSun]
#: records of a spot with its hours of sun
SpotRecord = TypeVar("SpotRecord", Place, OtherSpot, Choice)


def shaded_together(
    result: PlaceResult,
    beds: Sequence[Bed],
    sun_beside: Beside,
    *,
    month_share: NDArray[np.float64] | None = None,
) -> PlaceResult:
    """Return a result whose hours include the shade that the new beds cast on each other.

    Parameters
    ----------
    result : PlaceResult
    beds : sequence of Bed
        One on each place, in their order, each with its own id.
    sun_beside : callable
        Returns the exact sun on a bed with other beds built as well.
    month_share : ndarray, shape (12,), or None
        Weight of each month; None for the growing season.

    Returns
    -------
    PlaceResult
        With the finding ``mutual-shade``: the rank of the place that loses most, and how much. [h a day]
        The hours are changed in comparisons of places and in the trade-off too.
    """
    if len(result.places) < 2 or not all(place.exact for place in result.places):
        return result
    answers = [sun_beside(bed, [*beds[:number], *beds[number + 1 :]]) for number, bed in enumerate(beds)]
    hours = {
        place.rank: hours_of(answer, month_share, weights=result.weights, plenty=result.plenty)
        for place, answer in zip(result.places, answers, strict=True)
    }
    losses = [place.season_sun_h - hours[place.rank].season for place in result.places]
    worst = int(np.argmax(losses))
    return replace(
        result,
        places=tuple(
            replace(_shaded(place, hours), month_sun_h=answer.month_sun_h)
            for place, answer in zip(result.places, answers, strict=True)
        ),
        trade_off=tuple(_with_hours(choice, hours) for choice in result.trade_off),
        findings=(*result.findings, finding("mutual-shade", rank=result.places[worst].rank, lost=losses[worst])),
    )


def _shaded(place: Place, hours: Mapping[int, Hours]) -> Place:
    """Return a place with the hours of all beds built, also for the places that it is compared with."""
    sunniest, longest, first = (
        None if compared is None else _with_hours(compared, hours)
        for compared in (place.sunniest, place.longest, place.first)
    )
    return replace(_with_hours(place, hours), sunniest=sunniest, longest=longest, first=first)


def _with_hours(spot: SpotRecord, hours: Mapping[int, Hours]) -> SpotRecord:
    """Return a spot with the hours of the place of its rank; unchanged if it is no place."""
    if spot.rank not in hours:
        return spot
    shaded = hours[spot.rank]
    return replace(spot, season_sun_h=shaded.season, worst_cell_sun_h=shaded.worst, sun_h=shaded.counting)
