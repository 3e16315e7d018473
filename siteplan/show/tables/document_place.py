"""What does plan.json hold of places, headings, shifts and crops?

Plain numbers with the unit in the key's name.
It leaves out what was not asked: that is null or empty.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from siteplan.land.units import System
from siteplan.place.crops.crop_fit import CropFit
from siteplan.say.place_limits import limit_text
from siteplan.say.place_reasons import choice_texts, result_sentences, steady_sentence
from siteplan.say.placing import heading_sentence, shift_sentence

if TYPE_CHECKING:
    from siteplan.place.headings.headings import Headings
    from siteplan.place.headings.shifts import Shifts
    from siteplan.place.limits.limits import Limit
    from siteplan.place.search.results import PlaceResult


def headings_document(headings: Headings | None, units: System) -> dict[str, Any] | None:
    """Return a bed's sun at every heading."""
    if headings is None:
        return None
    return {
        "heading_deg": headings.heading,
        "season_sun_h": headings.season_h,
        "worst_cell_sun_h": headings.worst_h,
        "month_sun_h": headings.month_h,
        "evenness": headings.evenness,
        "sun_score": headings.score,
        "fits": headings.fits,
        "obstacle": [_obstacle(limit, units) for limit in headings.obstacle],
        "sentence": heading_sentence(headings),
    }


def _obstacle(limit: Limit | None, units: System) -> str | None:
    return None if limit is None else limit_text(limit, units)


def shifts_document(shifts: Shifts | None, units: System) -> dict[str, Any] | None:
    """Return what a step in each of eight directions brings."""
    if shifts is None:
        return None
    return {
        "steps": [
            {
                "direction": step.direction,
                "distance_m": step.distance,
                "gain_h": step.gain_h,
                "worst_cell_gain_h": step.worst_gain_h,
                "fits": step.obstacle is None,
                "obstacle": _obstacle(step.obstacle, units),
            }
            for step in (*shifts.steps, shifts.further)
            if step is not None
        ],
        "best": shifts.best.direction if shifts.best else None,
        "sentence": shift_sentence(shifts, units),
    }


def crops_document(fits: Iterable[CropFit]) -> list[dict[str, Any]]:
    """Return which crops suit a bed, and in which months it has light enough for them."""
    return [
        {
            "crop": fit.crop,
            "suits": fit.suits,
            "light": fit.light,
            "months": fit.months,
            "deeper_m": fit.deeper,
        }
        for fit in fits
    ]


def search_document(places: PlaceResult | None, units: System) -> dict[str, Any] | None:
    """Return what the search as a whole says: how sure it is, what else there is, how steady the choice."""
    if places is None:
        return None
    return {
        "spots": places.scanned,
        "free": places.free,
        "asked_of_the_exact_sun": places.computed,
        "gap": places.gap,
        "search_gap": places.search_gap,
        "gap_h": places.gap * places.plenty,
        "search_gap_h": places.search_gap * places.plenty,
        "sentences": result_sentences(places, units),
        "trade_off": [
            {
                "x_m": choice.x,
                "y_m": choice.y,
                "heading_deg": choice.heading,
                "season_sun_h": choice.season_sun_h,
                "worst_cell_sun_h": choice.worst_cell_sun_h,
                "haul_minutes": choice.minutes,
                "water_m": choice.water_m,
                "text": text,
            }
            for choice, text in zip(places.trade_off, choice_texts(places, units), strict=True)
        ],
        "steady": steady_sentence(places.sensitivity, units) or None,
    }
