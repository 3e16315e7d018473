"""Why this spot, and what does it give up?

Plain sentences from the figures, against the sunniest spot and the first choice.
It leaves out the choosing; and ids are said as they stand in the file: whoever prints them escapes them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.land.units import length_text, volume_text
from siteplan.place.headings.alignment import Edges
from siteplan.place.merit.levelling import levelling
from siteplan.place.merit.merit import Ways
from siteplan.place.reasons.landmarks import where_text
from siteplan.place.reasons.words import axis_text, compass_point, distance_text
from siteplan.place.search.refinement import Scored, Search
from siteplan.place.search.squaring import square_to

#: below this a difference is not worth a word [h], [min]
HARDLY, FEW = 0.05, 1.0
#: m; a fall that a spade levels, and one that wants a step or a cut (common practice, no source: 4 in)
LITTLE_DROP, STEP = 0.05, 0.10


@dataclass(frozen=True, eq=False, kw_only=True)
class Grounds:
    """What the sentences are drawn from."""

    site: Site
    search: Search
    ways: Ways
    edges: Edges
    bed: Bed
    sunniest: Scored
    period: str = "the season"


def reasons(place: Scored, *, rank: int, first: Scored, grounds: Grounds) -> tuple[str, ...]:
    """Return why a spot was chosen, most important first."""
    said = [_sun(place, grounds), _lies(place, grounds), _against_sunniest(place, grounds)]
    if rank > 1:
        said.append(_against_first(place, first, grounds))
    said += [_wheeling(place, grounds), _water(place, grounds), _door(place, grounds), _lie(place, grounds)]
    said += [_level(place, grounds), _trellis(grounds)]
    return tuple(sentence for sentence in said if sentence)


def _sun(place: Scored, grounds: Grounds) -> str:
    need = grounds.bed.need if grounds.bed.need is not None else grounds.site.sun.need
    return sun_text(place.season, place.worst, period=grounds.period, need=need)


def _lies(place: Scored, grounds: Grounds) -> str:
    where = where_text(grounds.site, grounds.search.spots.outlines(np.array([place.index]))[0])
    return f"it lies {where}" if where else ""


def sun_text(season: float, worst: float, *, period: str, need: float) -> str:
    """Return how much sun a bed has, and whether that is enough.

    Examples
    --------
    >>> sun_text(6.4, 5.4, period="the season", need=6.0)
    '6.4 h of sun a day over the season, 5.4 h in its worst cell'
    """
    text = f"{season:.1f} h of sun a day over {period}, {worst:.1f} h in its worst cell"
    if round(season, 1) < need:
        text += f"; less than the {need:.1f} h that its crops want: grow what bears some shade"
    return text


def _against_sunniest(place: Scored, grounds: Grounds) -> str:
    best = grounds.sunniest
    less = best.sun - place.sun
    if less < HARDLY:
        return "no other spot that fits has more sun that counts"
    saved = _gains(place, best, grounds)
    where = _where(place, best, grounds)
    return f"gives up {less:.1f} h against the sunniest spot{where}" + (f", and {saved}" if saved else "")


def _against_first(place: Scored, first: Scored, grounds: Grounds) -> str:
    more = place.sun - first.sun
    gained = _gains(place, first, grounds)
    sun = f"{abs(more):.1f} h {'more' if more > 0 else 'less'} sun than" if abs(more) >= HARDLY else "as sunny as"
    return f"{sun} the first choice" + (f", and {gained}" if gained else "")


def _where(place: Scored, other: Scored, grounds: Grounds) -> str:
    spots = grounds.search.spots
    east = float(spots.x[other.index] - spots.x[place.index])
    north = float(spots.y[other.index] - spots.y[place.index])
    away = float(np.hypot(east, north))
    if away < 0.5:
        return ""
    return f", {distance_text(away, grounds.site.units)} to the {compass_point(east, north)}"


def _gains(place: Scored, other: Scored, grounds: Grounds) -> str:
    """Return what a spot saves against another in wheeling, hose and walking."""
    spots, ways, units = grounds.search.spots, grounds.ways, grounds.site.units
    here, there = place.index, other.index
    saved = []
    minutes = float(spots.minutes[there] - spots.minutes[here]) * ways.trips
    if minutes >= FEW:
        saved.append(f"{minutes:.0f} min of wheeling")
    hose = float(spots.water[there] - spots.water[here])
    if hose >= FEW:
        saved.append(f"{distance_text(hose, units)} of hose")
    walk = float(spots.door[there] - spots.door[here])
    if walk >= FEW:
        saved.append(f"{distance_text(walk, units)} of the way to the door")
    return f"saves {' and '.join([', '.join(saved[:-1]), saved[-1]] if len(saved) > 1 else saved)}" if saved else ""


def _wheeling(place: Scored, grounds: Grounds) -> str:
    minutes = float(grounds.search.spots.minutes[place.index]) * grounds.ways.trips
    if not np.isfinite(minutes):
        return ""
    return f"{minutes:.0f} min of wheeling to fill it, about {grounds.ways.trips} trips with the barrow"


def _water(place: Scored, grounds: Grounds) -> str:
    water, units = float(grounds.search.spots.water[place.index]), grounds.site.units
    if not np.isfinite(water):
        return ""
    way = "along the way one walks" if grounds.ways.walked else "in a straight line"
    text = f"{distance_text(water, units)} from the nearest tap {way}"
    beyond = water - grounds.ways.hose
    if beyond > 0:
        text += f", {distance_text(beyond, units)} beyond the hose"
    return text


def _door(place: Scored, grounds: Grounds) -> str:
    door = float(grounds.search.spots.door[place.index])
    if not np.isfinite(door):
        return ""
    way = "to walk" if grounds.ways.door_walked else "in a straight line"
    return f"{distance_text(door, grounds.site.units)} {way} from the door"


def _lie(place: Scored, grounds: Grounds) -> str:
    spots = grounds.search.spots
    x, y, heading = (float(values[place.index]) for values in (spots.x, spots.y, spots.heading))
    heading %= 180
    text = f"its long side runs {axis_text(heading)} (heading {heading:.0f}°)"
    owner = square_to(grounds.edges, x, y, heading)
    return f"{text}, square to {owner}" if owner else text


def _level(place: Scored, grounds: Grounds) -> str:
    outline = grounds.search.spots.outlines(np.array([place.index]))[0]
    units = grounds.site.units
    found = levelling(outline, grounds.bed.height, grounds.site.terrain)
    if found.drop < LITTLE_DROP:
        return ""
    text = f"the ground falls {length_text(found.drop, units)} under it: boards up to "
    text += f"{length_text(found.lower_board, units)} on the lower side, or {volume_text(found.cut, units)} to dig"
    return f"{text} and fill" if found.drop <= STEP else f"{text} and fill; step it, or cut it in"


def _trellis(grounds: Grounds) -> str:
    if grounds.bed.trellis_height is None or grounds.bed.trellis_side is not None:
        return ""
    side, noon = ("south", "north") if grounds.site.southern else ("north", "south")
    return f"its trellis stands along the {side} side, so that the noon sun from the {noon} reaches the bed"
