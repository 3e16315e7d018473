"""How are places, headings, moves and crops said to a person?

Short sentences and rows that terminal, map and work sheet share.
It leaves out the reasons for a place: those come with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from siteplan.land.units import System, length_text
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.reasons.words import distance_text
from siteplan.say.figures import MONTHS, time_text

if TYPE_CHECKING:
    from siteplan.place.headings.headings import Headings
    from siteplan.place.headings.shifts import Moves
    from siteplan.place.search.results import PlaceResult

_ARROWS = {
    "north": "N", "northeast": "NE", "east": "E", "southeast": "SE",
    "south": "S", "southwest": "SW", "west": "W", "northwest": "NW",
}  # fmt: skip


def months_text(months: Sequence[int]) -> str:
    """Return months as spans, across the new year where they run on.

    Examples
    --------
    >>> months_text((4, 5, 6)), months_text((11, 12, 1)), months_text((3, 4, 9)), months_text(()), months_text((7,))
    ('Apr to Jun', 'Nov to Jan', 'Mar to Apr, Sep', '', 'Jul')
    """
    held = set(months)
    if len(held) == 12:
        return "all year"
    spans = []
    for start in sorted(held):
        if (start - 2) % 12 + 1 in held:
            continue
        end = start
        while end % 12 + 1 in held:
            end = end % 12 + 1
        spans.append(MONTHS[start - 1] if end == start else f"{MONTHS[start - 1]} to {MONTHS[end - 1]}")
    return ", ".join(spans)


def crop_sentences(fits: Iterable[CropFit], units: System) -> list[str]:
    """Return which crops suit a bed and when, which would if it were deeper, and which want more light.

    Parameters
    ----------
    fits : iterable of CropFit
    units : str
    """
    fits = list(fits)
    if not fits:
        return []
    by_months: dict[str, list[str]] = {}
    by_depth: dict[float, list[str]] = {}
    for fit in fits:
        if fit.suits:
            by_months.setdefault(months_text(fit.months), []).append(fit.crop)
        elif fit.lit:
            by_depth.setdefault(fit.deeper, []).append(fit.crop)
    said = [f"{', '.join(names)} ({when})" for when, names in by_months.items()]
    lines = [f"Crops that suit it: {'; '.join(said)}" if said else "No crop of the table suits it as it is"]
    deeper = [
        f"{', '.join(names)} with {length_text(more, units)} more soil" for more, names in sorted(by_depth.items())
    ]
    if deeper:
        lines.append(f"These would suit it too: {'; '.join(deeper)}")
    if dark := [fit.crop for fit in fits if not fit.lit]:
        lines.append(f"Too little sun for {', '.join(dark)}")
    return lines


def proof_sentence(places: PlaceResult) -> str:
    """Return how sure it is that no other choice is better."""
    if not places.places or not places.tried:
        return ""
    hours = max(places.gap, 0.0) * places.plenty
    more = places.search_gap * places.plenty
    text = f"{places.asked:,} spots looked at, {places.free:,} of them free, {places.tried:,} asked of the exact sun"
    if len(places.places) > 1:
        text += f"; another choice of these spots could bring at most {_hours(hours)} more a day a bed"
    return f"{text}; one not asked promises at most {_hours(more)} more"


def _hours(hours: float) -> str:
    return f"{hours:.2f} h" if hours < 0.1 else f"{hours:.1f} h"


def trade_rows(places: PlaceResult, units: System) -> list[list[str]]:
    """Return the choices between sun, work and water: hours, worst cell, wheeling, way to the tap, comparison."""
    return [
        [
            f"{choice.season_sun_h:.1f}",
            f"{choice.worst_cell_sun_h:.1f}",
            time_text(choice.minutes) if math.isfinite(choice.minutes) else "—",
            distance_text(choice.water_m, units) if math.isfinite(choice.water_m) else "—",
            choice.text,
        ]
        for choice in places.trade_off
    ]


def unfit_sentence(headings: Headings) -> str:
    """Return how many headings do not fit and what is in the way most often; nothing where all do."""
    reasons = [why for why in headings.obstacle if why is not None]
    if not reasons:
        return ""
    most = max(dict.fromkeys(reasons), key=reasons.count)
    return f"{len(reasons)} of {len(headings.obstacle)} headings do not fit: most often it would {most}"


def move_rows(moves: Moves) -> list[tuple[str, str, str]]:
    """Return each step around a bed: compass letters, gain in hours with its sign, what is in the way."""
    steps = [move for move in moves.moves if math.isclose(move.distance, moves.moves[0].distance)]
    return [(_ARROWS[move.direction], gain_text(move.gain_h), move.obstacle or "") for move in steps]


def gain_text(hours: float) -> str:
    """Return a gain with its sign.

    Examples
    --------
    >>> gain_text(0.42), gain_text(-1.26), gain_text(-0.01)
    ('+0.4', '-1.3', '0.0')
    """
    text = f"{hours:+.1f}"
    return "0.0" if text in {"+0.0", "-0.0"} else text


def moves_sentence(moves: Moves, units: System) -> str:
    """Return all steps in a line; one that does not fit stands in brackets."""
    step = distance_text(moves.moves[0].distance, units) if moves.moves else ""
    parts = [f"({point} {gain})" if why else f"{point} {gain}" for point, gain, why in move_rows(moves)]
    held = " (in brackets: does not fit)" if any(part.startswith("(") for part in parts) else ""
    return f"A step of {step}, hours more a day: {', '.join(parts)}{held}"
