"""How are headings, shifts and the trade-off between sun and work drawn, small enough for a card?

A compass shows the sun at each heading, another the gain of each shift, and a chart sets sun against wheeling.
All are plain SVG with a sentence for a screen reader. The exact figures are in the tables.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from markupsafe import Markup

from siteplan.land.outline import COMPASS
from siteplan.land.units import System
from siteplan.say.figures import hours_text
from siteplan.say.place_reasons import choice_labels, choice_texts
from siteplan.say.placing import gain_text, heading_sentence
from siteplan.say.safe_text import page_text
from siteplan.show.charts.svg import picture

if TYPE_CHECKING:
    from siteplan.place.headings.headings import Headings
    from siteplan.place.headings.shifts import Shifts
    from siteplan.place.search.search_results import PlaceResult

#: side of a compass, and the radii of its inner and outer ring
_SIDE, _INNER, _OUTER = 190.0, 26.0, 72.0


def _at(azimuth: float, radius: float) -> tuple[float, float]:
    """Return x and y in the picture of a point at an azimuth and a radius."""
    turn = math.radians(azimuth)
    return _SIDE / 2 + radius * math.sin(turn), _SIDE / 2 - radius * math.cos(turn)


def heading_rose(headings: Headings, *, now: float, style: str = "") -> Markup:
    """Return the season's sun at every heading on a compass, north up; a heading that does not fit is hollow.

    Each heading is drawn twice, since a bed has two ends. The outer ring marks the hours of the best heading, the
    inner ring a value at least an hour lower.

    Parameters
    ----------
    headings : Headings
    now : float
        The bed's present heading. [degrees]
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    hours = [float(season_h) for season_h in headings.season_h]
    high = float(math.ceil(max(hours) * 10 - 1e-6)) / 10
    least = math.floor(min(hours) * 10 + 1e-6) / 10
    low = max(min(least, high - 1.0), 0.0)
    span = max(high - low, 0.1)

    def radius(season_h: float) -> float:
        return _INNER + (season_h - low) / span * (_OUTER - _INNER)

    parts = [_ring(_OUTER), _ring(_INNER)]
    for azimuth, point in ((0.0, "N"), (90.0, "E"), (180.0, "S"), (270.0, "W")):
        x, y = _at(azimuth, _OUTER + 13)
        parts.append(f'<text class="name" x="{x:.1f}" y="{y + 3.5:.1f}">{point}</text>')
    for kind, heading in (("now", now), ("best", float(headings.best_heading))):
        (x, y), (u, v) = _at(heading, _OUTER + 5), _at(heading + 180, _OUTER + 5)
        parts.append(f'<path class="{kind}" d="M{x:.1f} {y:.1f}L{u:.1f} {v:.1f}"/>')
    for heading, season_h, fits in zip(headings.heading, hours, headings.fits, strict=True):
        for azimuth in (float(heading), float(heading) + 180):
            x, y = _at(azimuth, radius(season_h))
            parts.append(f'<circle class="{"fits" if fits else "not"}" cx="{x:.1f}" cy="{y:.1f}" r="2.4"/>')
    parts += [_ring_label(_OUTER, hours_text(high)), _ring_label(_INNER, hours_text(low))]
    unfit = int((~headings.fits).sum())
    words = f"Sun by heading, {hours_text(low)} to {hours_text(high)} a day. {heading_sentence(headings)}."
    words += f" {unfit} of {len(hours)} headings do not fit." if unfit else ""
    return picture(_SIDE, _SIDE, words, parts, "rose", style=style)


def _ring(radius: float) -> str:
    return f'<circle class="ring" cx="{_SIDE / 2}" cy="{_SIDE / 2}" r="{radius}"/>'


def _ring_label(radius: float, label: str) -> str:
    x, y = _at(45, radius)
    return f'<text class="value" x="{x + 9:.1f}" y="{y - 2:.1f}">{page_text(label)}</text>'


def shifts_rose(shifts: Shifts, *, style: str = "") -> Markup:
    """Return the gain of each of eight shifts, drawn around the bed, north up; in brackets if the bed does not fit.

    Parameters
    ----------
    shifts : Shifts
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    most = max([abs(step.gain_h) for step in shifts.steps] + [0.1])
    middle = _SIDE / 2
    parts = [_ring(_INNER)]
    spoken = []
    for step in shifts.steps:
        azimuth = COMPASS[step.direction]
        reach = _INNER + abs(step.gain_h) / most * 34
        (x, y), (u, v), (a, b) = _at(azimuth, _INNER), _at(azimuth, reach), _at(azimuth, 76)
        direction = "more" if step.gain_h > 0 else "less"
        fits = "" if step.obstacle is None else " unfit"
        parts.append(f'<path class="step {direction}{fits}" d="M{x:.1f} {y:.1f}L{u:.1f} {v:.1f}"/>')
        text = gain_text(step.gain_h) if step.obstacle is None else f"({gain_text(step.gain_h)})"
        parts.append(f'<text class="gain" x="{a:.1f}" y="{b + 3.5:.1f}">{text}</text>')
        spoken.append(f"{step.direction} {gain_text(step.gain_h)} h" + ("" if not fits else ", does not fit"))
    parts.append(f'<text class="name" x="{middle}" y="{middle - 1}">N</text>')
    parts.append(f'<path class="base" d="M{middle} {middle + 12}V{middle + 2}M{middle - 3} {middle + 5}l3 -3 3 3"/>')
    return picture(_SIDE, _SIDE, f"A step in each direction: {'; '.join(spoken)}.", parts, "rose steps", style=style)


def trade_chart(places: PlaceResult, units: System, *, style: str = "") -> Markup:
    """Return a chart of the trade-off between sun and work: hours upward, minutes of wheeling to the right.

    Each spot has the same name as in the table.

    Parameters
    ----------
    places : PlaceResult
        The first choice is drawn filled.
    units : str
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    choices = places.trade_off
    left, base, tall, wide = 30.0, 96.0, 82.0, 236.0
    minutes = [choice.minutes if math.isfinite(choice.minutes) else 0.0 for choice in choices]
    hours = [choice.season_sun_h for choice in choices]
    most = max(math.ceil(max(minutes, default=0.0) / 5) * 5, 5)
    high = math.ceil(max(hours, default=1.0))
    low = min(math.floor(min(hours, default=0.0)), high - 1)
    parts = [f'<path class="base" d="M{left} {base - tall}V{base}H{left + wide}"/>']
    for share, label in ((0.0, "0"), (0.5, f"{most / 2:g}"), (1.0, f"{most:g} min")):
        parts.append(f'<text class="name" x="{left + share * wide:.1f}" y="{base + 12}">{label}</text>')
    parts.append(f'<text class="name" x="{left + wide / 2:.1f}" y="{base + 23}">of wheeling</text>')
    for level in (low, high):
        y = base - (level - low) / (high - low) * tall
        parts.append(f'<text class="side" x="{left - 4}" y="{y + 3:.1f}">{level:g} h</text>')
    labels = choice_labels(places)
    for label, time, season, choice in zip(labels, minutes, hours, choices, strict=True):
        x, y = left + time / most * wide, base - (season - low) / (high - low) * tall
        kind = "fits" if choice.first else "not"
        parts.append(f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="4"/>')
        parts.append(f'<text class="name" x="{x + 9:.1f}" y="{y - 3:.1f}">{label}</text>')
    spoken = "; ".join(f"{label}: {text}" for label, text in zip(labels, choice_texts(places, units), strict=True))
    return picture(left + wide + 26, base + 28, f"Sun against wheeling. {spoken}.", parts, "trade", style=style)
