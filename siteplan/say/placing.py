"""How are headings, shifts, crops and the search put into words?

Short sentences and table rows for the terminal, the map and the work sheet.
The reasons for a place are in `siteplan.say.place_reasons`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from siteplan.land.units import System, length_text
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.headings.headings import TIE, Headings
from siteplan.place.headings.shifts import Shifts
from siteplan.place.search.search_results import PlaceResult
from siteplan.say.directions import axis_text, distance_text
from siteplan.say.figures import MONTHS, time_text
from siteplan.say.place_limits import limit_text
from siteplan.say.place_reasons import choice_labels, choice_texts
from siteplan.say.safe_text import plain_text

_ARROWS = {
    "north": "N", "northeast": "NE", "east": "E", "southeast": "SE",
    "south": "S", "southwest": "SW", "west": "W", "northwest": "NW",
}  # fmt: skip


def months_text(months: Sequence[int]) -> str:
    """Return months as ranges; a range may run across the new year.

    Examples
    --------
    >>> months_text((4, 5, 6)), months_text((11, 12, 1)), months_text((3, 4, 9)), months_text(()), months_text((7,))
    ('Apr to Jun', 'Nov to Jan', 'Mar to Apr, Sep', '', 'Jul')
    """
    wanted = set(months)
    if len(wanted) == 12:
        return "all year"
    spans = []
    for start in sorted(wanted):
        if (start - 2) % 12 + 1 in wanted:
            continue
        end = start
        while end % 12 + 1 in wanted:
            end = end % 12 + 1
        spans.append(MONTHS[start - 1] if end == start else f"{MONTHS[start - 1]} to {MONTHS[end - 1]}")
    return ", ".join(spans)


def crop_sentences(fits: Iterable[CropFit], units: System) -> list[str]:
    """Return which crops suit a bed and when, which need a deeper bed, and which need more light.

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
    suited = [f"{', '.join(names)} ({months})" for months, names in by_months.items()]
    lines = [f"Crops that suit it: {'; '.join(suited)}" if suited else "No crop of the table suits it as it is"]
    deeper = [
        f"{', '.join(names)} with {length_text(missing, units)} more soil"
        for missing, names in sorted(by_depth.items())
    ]
    if deeper:
        lines.append(f"These would suit it too: {'; '.join(deeper)}")
    if too_dark := [fit.crop for fit in fits if not fit.lit]:
        lines.append(f"Too little sun for {', '.join(too_dark)}")
    if ground_depth := max(fit.ground for fit in fits):
        lines.append(
            f"Roots are counted on to use {length_text(ground_depth, units)} of the ground below (common practice)"
        )
    return lines


def proof_sentence(places: PlaceResult) -> str:
    """Return a sentence on how sure it is that no other choice is better."""
    if not places.places or not places.computed:
        return ""
    text = f"{places.scanned:,} spots were compared on the maps, of which {places.free:,} are free. "
    text += f"For {places.computed:,} of them the sun was computed exactly"
    if len(places.places) > 1:
        gap = max(places.gap, 0.0) * places.plenty
        most = (
            f"could bring at most {_hours(gap)} more sun a day to each bed" if gap >= 0.005 else "brings no more sun"
        )
        text += f"; another choice among these {most}"
    beyond = places.search_gap * places.plenty
    gain = f"brings more than {_hours(beyond)} more" if beyond >= 0.005 else "brings more"
    return f"{text}. By estimate, none of the others {gain}"


def _hours(hours: float) -> str:
    return f"{hours:.2f} h" if hours < 0.1 else f"{hours:.1f} h"


#: column heads of `trade_rows`
TRADE_HEADS = ("spot", "season h", "darkest h", "wheeling", "to the tap", "against the first choice")


def trade_rows(places: PlaceResult, units: System) -> list[list[str]]:
    """Return the trade-off between sun, work and water: a row for each spot, in the columns of `TRADE_HEADS`."""
    return [
        [
            label,
            f"{choice.season_sun_h:.1f}",
            f"{choice.worst_cell_sun_h:.1f}",
            time_text(choice.minutes) if math.isfinite(choice.minutes) else "—",
            distance_text(choice.water_m, units) if math.isfinite(choice.water_m) else "—",
            text,
        ]
        for choice, label, text in zip(
            places.trade_off, choice_labels(places), choice_texts(places, units), strict=True
        )
    ]


def score_text(headings: Headings) -> str:
    """Return the score of a bed's present heading; a dash if no heading has any sun."""
    return "—" if headings.orientation_score is None else f"{headings.orientation_score:.0f}"


def heading_sentence(headings: Headings) -> str:
    """Return the gain from turning a bed, in hours a day over the season."""
    return _turning(headings) + _beside(headings) + _rows(headings)


def _turning(headings: Headings) -> str:
    fits, current, best = headings.fits, headings.current, headings.best
    if not fits.any():
        dark = "; no sun to speak of reaches it either, so that there is no score" if headings.sunless else ""
        return f"no heading fits here, not even its own: the spot itself is at fault{dark}"
    if headings.sunless:
        return "no sun to speak of reaches it at any heading that fits: turning it cannot help, and there is no score"
    others = fits & (np.arange(len(fits)) != current)
    if not others.any():
        return "it cannot be turned here: no other heading fits"
    compared = np.append(headings.season_h[others], headings.season_h[current])
    largest_difference = float(np.ptp(compared))
    largest_loss = float(headings.season_h[current] - headings.season_h[fits].min())
    if best == current and (largest_difference < 2 * TIE or round(largest_loss, 1) < 2 * TIE):
        return f"turning it makes no difference here ({largest_difference:.1f} h at most)"
    if best == current:
        return f"no heading that fits is better; the worst would cost it {largest_loss:.1f} h a day"
    gain = float(headings.season_h[best] - headings.season_h[current])
    text = f"turned to {headings.best_heading:.0f}° ({axis_text(headings.best_heading)}) it gets {abs(gain):.1f} h "
    text += f"{'more' if gain >= 0 else 'less'} sun a day over the season"
    if (darkest_gain := float(headings.worst_h[best] - headings.worst_h[current])) >= TIE:
        text += f", and {darkest_gain:.1f} h more at its darkest spot"
    return text


def _beside(headings: Headings) -> str:
    """Return the gain from turning if a bed in the way were moved too; empty if no bed is in the way."""
    barred = [k for k, limit in enumerate(headings.obstacle) if limit is not None and limit.kind == "bed"]
    if not barred or headings.sunless:
        return ""
    best_barred = max(barred, key=lambda k: (round(float(headings.score[k]), 6), float(headings.season_h[k])))
    limit, gain = (
        headings.obstacle[best_barred],
        float(headings.season_h[best_barred] - headings.season_h[headings.current]),
    )
    name = plain_text(limit.feature) if limit is not None else ""
    if gain < TIE:
        return f"; were {name} moved as well, none of the headings that it bars would bring more"
    heading = f"{headings.heading[best_barred]:.0f}° ({axis_text(float(headings.heading[best_barred]))})"
    return f"; were {name} moved as well, {heading} would bring {gain:.1f} h more sun a day"


def _rows(headings: Headings) -> str:
    """Return the gain from planting rows in the other direction; empty if the bed has no rows."""
    if headings.rows_gain_h is None:
        return ""
    direction, gain = "across" if headings.rows == "along" else "along", headings.rows_gain_h
    if abs(gain) < TIE:
        return f"; rows {direction} would bring no more between them"
    return f"; rows {direction} would bring {abs(gain):.1f} h {'more' if gain > 0 else 'less'} sun between them"


def unfit_sentence(headings: Headings, units: System) -> str:
    """Return how many headings do not fit, and what is most often in the way; empty if all fit."""
    reasons = [limit_text(limit, units) for limit in headings.obstacle if limit is not None]
    if not reasons:
        return ""
    most = max(dict.fromkeys(reasons), key=reasons.count)
    return f"{len(reasons)} of {len(headings.obstacle)} headings do not fit: most often it would {most}"


def shift_sentence(shifts: Shifts, units: System) -> str:
    """Return a sentence on the gain from moving a bed."""
    if (best := shifts.best) is not None:
        return f"moving it {_step(best.distance, units)} {best.direction} gives {best.gain_h:.1f} h more sun a day"
    step = _step(shifts.steps[0].distance, units)
    if all(shift.obstacle is not None for shift in shifts.steps):
        return f"it cannot be moved {step} in any direction"
    return f"moving it {step} brings no more sun in any direction"


def _step(distance: float, units: System) -> str:
    return distance_text(distance, units).replace(".0 ", " ")


def shift_rows(shifts: Shifts) -> list[tuple[str, str, bool]]:
    """Return each shift of a bed: compass letters, gain in hours with its sign, whether the bed fits there."""
    return [(_ARROWS[step.direction], gain_text(step.gain_h), step.obstacle is None) for step in shifts.steps]


def shifts_line(shifts: Shifts, units: System) -> str:
    """Return all shifts in one line; those where the bed does not fit are in brackets."""
    step = distance_text(shifts.steps[0].distance, units)
    parts = [f"{point} {gain}" if fits else f"({point} {gain})" for point, gain, fits in shift_rows(shifts)]
    note = " (in brackets: does not fit)" if any(part.startswith("(") for part in parts) else ""
    return f"A step of {step}, hours more a day: {', '.join(parts)}{note}"


def gain_text(hours: float) -> str:
    """Return a gain in hours with its sign.

    Examples
    --------
    >>> gain_text(0.42), gain_text(-1.26), gain_text(-0.01)
    ('+0.4', '-1.3', '0.0')
    """
    text = f"{hours:+.1f}"
    return "0.0" if text in {"+0.0", "-0.0"} else text
