"""What does plan.json hold of places, headings, moves and crops?

Plain numbers with the unit in the key's name.
It leaves out what was not asked: that is null or empty.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from siteplan.place.crops.crop_fit import CropFit

if TYPE_CHECKING:
    from siteplan.place.headings.headings import Headings
    from siteplan.place.headings.shifts import Moves
    from siteplan.place.search.results import PlaceResult


def headings_document(headings: Headings | None) -> dict[str, Any] | None:
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
        "obstacle": headings.obstacle,
        "sentence": headings.sentence,
    }


def moves_document(moves: Moves | None) -> dict[str, Any] | None:
    """Return what a step in each of eight directions brings."""
    if moves is None:
        return None
    return {
        "steps": [
            {
                "direction": move.direction,
                "distance_m": move.distance,
                "gain_h": move.gain_h,
                "worst_cell_gain_h": move.worst_gain_h,
                "fits": move.obstacle is None,
                "obstacle": move.obstacle,
            }
            for move in moves.moves
        ],
        "best": moves.best.direction if moves.best else None,
        "sentence": moves.sentence,
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


def search_document(places: PlaceResult | None) -> dict[str, Any] | None:
    """Return what the search as a whole says: how sure it is, what else there is, how steady the choice."""
    if places is None:
        return None
    return {
        "spots": places.asked,
        "free": places.free,
        "asked_of_the_exact_sun": places.tried,
        "gap": places.gap,
        "search_gap": places.search_gap,
        "gap_h": places.gap * places.plenty,
        "search_gap_h": places.search_gap * places.plenty,
        "sentences": places.sentences,
        "trade_off": [
            {
                "x_m": choice.x,
                "y_m": choice.y,
                "heading_deg": choice.heading,
                "season_sun_h": choice.season_sun_h,
                "worst_cell_sun_h": choice.worst_cell_sun_h,
                "haul_minutes": choice.minutes,
                "water_m": choice.water_m,
                "text": choice.text,
            }
            for choice in places.trade_off
        ],
        "steady": None if places.sensitivity is None else places.sensitivity.sentence,
    }
