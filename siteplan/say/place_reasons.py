"""Why was this place chosen?

Sentences on its sun, where it lies, how it compares with other spots, and the work it makes; most important first.
The search is in `siteplan.place.search`.
"""

from __future__ import annotations

import math

from siteplan.land.units import System, length_text, volume_text
from siteplan.place.merit.sensitivity import Sensitivity
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.place.reasons.landmarks import Whereabouts
from siteplan.place.search.search_results import Place, PlaceResult
from siteplan.say.directions import axis_text, compass_point, distance_text
from siteplan.say.figures import MONTH_NAMES, hours_text, is_enough, plural, share_text
from siteplan.say.phrases import Phrase, fill_phrase, listed
from siteplan.say.place_limits import NO_FIT

#: smaller differences are not mentioned [h], [min], [m]
HARDLY, FEW_MINUTES, FEW_METRES = 0.05, 1.0, 0.5
#: m; a fall that a spade can level, and one that needs a step or a cut (common practice, no source: 4 in)
LITTLE_DROP, STEP = 0.05, 0.10

_WEIGHTS = {
    "worst": "the darkest spot of a bed",
    "wheeling": "wheeling",
    "water": "the way to the water",
    "beyond_hose": "what lies beyond the hose",
    "door": "the way to the door",
    "levelling": "levelling",
}
#: what is said about the result as a whole, by the finding's code
PHRASES: dict[str, Phrase] = {
    **NO_FIT,
    "fewer-fit": "only {found} of the {count} beds asked for fit without overlapping",
    "way-kept-open": "spots where a bed would cut off the barrow's way to the ground behind it were left out",
    "way-shut-everywhere": "wherever a bed of that size fits, it cuts off the barrow's way to the ground behind it",
    "mutual-shade": lambda figures, units: (  # noqa: ARG005  # a phrase is given the units
        "these beds hardly shade each other; the hours count what little there is"
        if figures["lost"] < HARDLY
        else "the hours count the shade that these beds throw on each other; bed {rank} loses most by it: "
        "{lost:hours} a day"
    ),
}


def why(place: Place, search: PlaceResult, units: System) -> tuple[str, ...]:
    """Return why a place was chosen, and its drawbacks, most important first."""
    reasons = [_sun(place, search), _lies(place.where, units), _against_sunniest(place, search, units)]
    if place.first is not None:
        reasons.append(_sun_against_first(place, place.first, search) + _saved(place.first, units))
    reasons += [_wheeling(place, search), _water(place, search, units), _door(place, search, units), _side(place)]
    reasons += [_level(place, units), _trellis(search)]
    return tuple(sentence for sentence in reasons if sentence)


def result_sentences(search: PlaceResult, units: System) -> tuple[str, ...]:
    """Return sentences about the result as a whole."""
    return tuple(
        (f"bed {finding.feature}: " if finding.feature else "")
        + fill_phrase(PHRASES[finding.code], dict(finding.figures), units)
        for finding in search.findings
    )


def period_text(months: tuple[int, ...] | None) -> str:
    """Return the months that count, in words.

    Examples
    --------
    >>> period_text((4, 5)), period_text(None)
    ('April and May', 'the season')
    """
    return "the season" if months is None else listed([MONTH_NAMES[month - 1] for month in months])


def _sun(place: Place, search: PlaceResult) -> str:
    """Return how much sun a place has, and whether that is enough."""
    season, darkest = hours_text(place.season_sun_h), hours_text(place.worst_cell_sun_h)
    text = f"{season} of sun a day over {period_text(search.months)}, {darkest} at its darkest spot"
    if not is_enough(place.season_sun_h, search.need):
        text += f"; less than the {hours_text(search.need)} that its crops want: grow what bears some shade"
    return text


def _lies(whereabouts: Whereabouts | None, units: System) -> str:
    if whereabouts is None:
        return ""
    return f"it lies {where_text(whereabouts, units)}"


def where_text(whereabouts: Whereabouts, units: System) -> str:
    """Return where a bed lies, as in ``5 m east of back-door, between shed and maple``."""
    text = f"beside {whereabouts.landmark}"
    if whereabouts.distance >= 0.3:
        point = compass_point(whereabouts.east, whereabouts.north)
        text = f"{distance_text(whereabouts.distance, units)} {point} of {whereabouts.landmark}"
    return f"{text}, between {whereabouts.between[0]} and {whereabouts.between[1]}" if whereabouts.between else text


def _against_sunniest(place: Place, search: PlaceResult, units: System) -> str:
    """Return how much more sun the sunniest spot has, or that no other spot has more useful sun."""
    sunniest, longest = place.sunniest, place.longest
    if sunniest is not None and sunniest.sun_h - place.sun_h >= HARDLY:
        hours = f"{hours_text(sunniest.season_sun_h)}, {hours_text(sunniest.worst_cell_sun_h)} at its darkest spot"
        return (
            f"has {hours_text(sunniest.sun_h - place.sun_h)} less useful sun than the sunniest spot"
            f"{_away(sunniest, units)} ({hours}){_saved(sunniest, units)}"
        )
    if longest is None or longest.season_sun_h - place.season_sun_h < HARDLY:
        return "no other spot that fits has more sun"
    most, darkest = hours_text(longest.season_sun_h), hours_text(longest.worst_cell_sun_h)
    if place.season_sun_h >= search.plenty:
        beyond = f"both are above {search.plenty:.2g} h, where more adds nothing"
        return f"other spots that fit have more sun, up to {most}, but {beyond}"
    return f"no other spot that fits has more useful sun: one has {most}, but {darkest} at its darkest spot"


def _sun_against_first(place: Place, first: OtherSpot, search: PlaceResult) -> str:
    """Return how a place compares with the first choice in useful sun."""
    gain = place.sun_h - first.sun_h
    if abs(gain) >= HARDLY:
        return f"{hours_text(abs(gain))} {'more' if gain > 0 else 'less'} useful sun than the first choice"
    return f"as much useful sun as the first choice{_both_plenty(place, first, search)}"


def _both_plenty(spot: Place | Choice, other: OtherSpot | Choice, search: PlaceResult) -> str:
    """Return why two spots count as equal although their hours differ; empty if they do not differ."""
    differ = abs(spot.season_sun_h - other.season_sun_h) >= HARDLY
    if differ and min(spot.season_sun_h, other.season_sun_h) >= search.plenty:
        return f" (both above {search.plenty:.2g} h)"
    return ""


def _away(other: OtherSpot, units: System) -> str:
    """Return the distance and the direction to another spot."""
    away = math.hypot(other.east, other.north)
    if away < FEW_METRES:
        return ""
    return f", {distance_text(away, units)} to the {compass_point(other.east, other.north)}"


def _saved(other: OtherSpot, units: System) -> str:
    """Return how much wheeling, hose and walking a place saves compared with another spot."""
    saved = []
    if other.more_minutes >= FEW_MINUTES:
        saved.append(f"{other.more_minutes:.0f} min of wheeling")
    if other.more_water_m >= 2 * FEW_METRES:
        saved.append(f"{distance_text(other.more_water_m, units)} of hose")
    if other.more_door_m >= 2 * FEW_METRES:
        saved.append(f"{distance_text(other.more_door_m, units)} of the way to the door")
    return f", and saves {listed(saved)}" if saved else ""


def _wheeling(place: Place, search: PlaceResult) -> str:
    if not math.isfinite(place.minutes):
        return ""
    start = "where a lorry can tip, since no pile is drawn"
    if search.loads_from:
        nearest_of = "the nearer of " if len(search.loads_from) == 2 else "the nearest of "
        start = (nearest_of if len(search.loads_from) > 1 else "") + listed(search.loads_from, most=3)
    trips = plural(place.trips, "trip")
    return f"{place.minutes:.0f} min of wheeling to fill it, about {trips} with the barrow from {start}"


def _water(place: Place, search: PlaceResult, units: System) -> str:
    if not math.isfinite(place.water_m):
        return ""
    way = "on foot" if search.walked else "in a straight line"
    text = f"{distance_text(place.water_m, units)} from the nearest tap {way}"
    beyond = place.water_m - search.hose
    return f"{text}, {distance_text(beyond, units)} beyond the hose" if beyond > 0 else text


def _door(place: Place, search: PlaceResult, units: System) -> str:
    if not math.isfinite(place.door_m):
        return ""
    way = "to walk" if search.door_walked else "in a straight line"
    return f"{distance_text(place.door_m, units)} {way} from the door"


def _side(place: Place) -> str:
    text = f"its long side runs {axis_text(place.heading)} (heading {place.heading:.0f}°)"
    if place.square_to is None:
        return text
    kind, name = place.square_to
    return f"{text}, square to {f'{kind} {name}' if name else f'the {kind}'}"


def _level(place: Place, units: System) -> str:
    ground = place.levelling
    if ground.drop < LITTLE_DROP:
        return ""
    text = f"the ground falls {length_text(ground.drop, units)} under it: boards up to "
    text += f"{length_text(ground.lower_board, units)} on the lower side, or {volume_text(ground.cut, units)} to dig"
    return f"{text} and fill" if ground.drop <= STEP else f"{text} and fill; step it, or cut it in"


def _trellis(search: PlaceResult) -> str:
    if search.bed.trellis_height is None or search.bed.trellis_side is not None:
        return ""
    side, noon = ("south", "north") if search.southern else ("north", "south")
    return f"its trellis stands along the {side} side, so that the noon sun from the {noon} reaches the bed"


def choice_labels(search: PlaceResult) -> list[str]:
    """Return a name for each spot of the trade-off: the place's number, or a letter if it is none of the places."""
    letters = iter("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    return [str(choice.rank) if choice.rank else next(letters) for choice in search.trade_off]


def choice_texts(search: PlaceResult, units: System) -> list[str]:
    """Return each spot of the trade-off compared with the first choice: ``0.4 h less sun, 5 m more hose``."""
    first_choice = next((choice for choice in search.trade_off if choice.first), None)
    return [
        "the first choice"
        if first_choice is None or choice.first
        else _choice_text(choice, first_choice, search, units)
        for choice in search.trade_off
    ]


def _choice_text(choice: Choice, first: Choice, search: PlaceResult, units: System) -> str:
    gain = choice.sun_h - first.sun_h
    differences = [f"{hours_text(abs(gain))} {'more' if gain > 0 else 'less'} sun"]
    if abs(gain) < HARDLY:
        differences = [f"as sunny{_both_plenty(choice, first, search)}"]
    minutes = choice.minutes - first.minutes
    if abs(minutes) >= FEW_MINUTES:
        differences.append(f"{abs(minutes):.0f} min {'more' if minutes > 0 else 'less'} wheeling")
    hose = choice.water_m - first.water_m
    if abs(hose) >= FEW_METRES:
        differences.append(f"{distance_text(abs(hose), units)} {'more' if hose > 0 else 'less'} hose")
    return ", ".join(differences)


def counting_sentence(search: PlaceResult) -> str:
    """Return a sentence on how the sun of two spots is compared."""
    weight = search.weights.worst
    return (
        f"Spots are compared by their useful sun, which is counted up to {search.plenty:.2g} h a day since more adds "
        f"nothing: {share_text(weight)} by the darkest spot of a bed, {share_text(1 - weight)} by its mean"
    )


def steady_sentence(sensitivity: Sensitivity | None, units: System) -> str:
    """Return whether the first choice stays the best if a weight is changed; empty if that was not tested."""
    if sensitivity is None:
        return ""
    largest = sensitivity.largest
    if largest is None:
        return "the first choice stays the best when any one weight is halved or doubled"
    text = (
        f"with {'twice' if largest.factor > 1 else 'half'} the weight on {_WEIGHTS[largest.weight]} the best spot "
        f"lies {distance_text(largest.moved, units)} to the {compass_point(largest.east, largest.north)}; "
        f"staying costs what is worth {largest.loss_h:.1f} h of sun a day"
    )
    other_weights = len(sensitivity.unsettling) - 1
    return text + (f"; {plural(other_weights, 'other weight')} would move it too" if other_weights else "")
