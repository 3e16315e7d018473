"""How are the findings about the fill put into words?

One phrase for each code: first those about a single bed, then those about the whole job. Each refers to those who are
licensed to judge: a builder, the local code, a physician, the health office.
The kernel decides what is worth a caution.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.land.units import System
from siteplan.say.figures import push_text
from siteplan.say.phrases import Phrase


def _crop_depth(figures: Mapping[str, Any], _units: System) -> str:
    below = ""
    if figures["below"]:
        below = " and roots are counted on to use {below:length} of the ground below (common practice)"
    return (
        f"{{soil:length}} of soil lie above the coarse base{below}, less than these want: "
        "{wanted:lengths}. Less coarse material, a higher bed, or crops with shallower roots."
    )


def _nitrogen(figures: Mapping[str, Any], _units: System) -> str:
    ratio = " ({material}: about {carbon:.0f} parts of carbon to one of nitrogen)" if figures["carbon"] else ""
    return (
        f"Fresh wood or straw within the reach of roots takes up nitrogen while it decays{ratio}, worst when mixed "
        "in. Keep it at the bottom under the soil, or on top as a mulch, or feed more nitrogen in the first years."
    )


def _braces(figures: Mapping[str, Any]) -> str:
    """Return a phrase on how many braces are common across a bed, with gaps for their positions."""
    if figures["count"] == 0:
        return "At this length a brace between its ends is not common."
    if figures["count"] == 1:
        return "Common for boards here is one brace across, at the middle of the long sides, from post to post."
    return "Common for boards here are {count} braces across, about {step:tape} apart, from post to post."


def _wall_span(figures: Mapping[str, Any], _units: System) -> str:
    return f"Walls longer than {{long:length}} bulge. {_braces(figures)} Ask a builder."


def _wall_bracing(figures: Mapping[str, Any], units: System) -> str:
    thrust = push_text(figures["thrust"], units)
    return (
        f"Walls over {{high:length}} high need bracing: wet fill pushes {thrust} of wall. "
        f"{_braces(figures)} Ask a builder, and the local code."
    )


def _ground_load(_figures: Mapping[str, Any], units: System) -> str:
    weight = "500 kg on each square metre for each 30 cm of depth"
    if units == "imperial":
        weight = "100 lb on each square foot for each foot of depth"
    return (
        f"It stands on paving. Wet fill weighs about {weight}: never on a deck, a roof or a weak slab before a "
        "builder has looked at it."
    )


def _uneven_ground(figures: Mapping[str, Any], _units: System) -> str:
    excess = figures["more"]
    more_or_less = "more" if excess > 0 else "less"
    note = f" On this ground it would hold {abs(excess):.0%} {more_or_less}." if excess else ""
    return (
        "The ground falls by {fall:length} across the bed. Dig the high side in, or build the walls on the low side "
        "higher by half of that. The volume is that of a bed on level ground, with its height at the middle." + note
    )


#: phrases about one bed, by the finding's code
OF_BEDS: dict[str, Phrase] = {
    "no-inside": "The walls leave no inside to fill; check the wall thickness against the bed's width.",
    "recipe-scaled": (
        "The recipe's layers do not add up to the inside depth of {depth:length}, so they are made thicker or "
        "thinner to fill it."
    ),
    "no-soil": "Nothing but coarse material: there is no soil for roots.",
    "compost-share": (
        "Compost and the like make up {share:.0%} of what lies above the coarse base. Above half, salts and "
        "nutrients build up and the bed sinks; a third is the usual advice."
    ),
    "castings-share": (
        "Worm castings make up {share:.0%} of what lies above the coarse base. Above a fifth they can slow growth; a "
        "twentieth is enough to help."
    ),
    "coarse-share": (
        "The coarse layers take {share:.0%} of the depth. A third to half is the usual most: they sink for years, "
        "and roots want the rest."
    ),
    "shallow-soil": (
        "Only {soil:length} of soil lie above the coarse base. Roots want {least:length} at least, better "
        "{good:length}: less coarse material, or a higher bed."
    ),
    "nitrogen": _nitrogen,
    "crop-depth": _crop_depth,
    "crop-tier": (
        "Only {soil:length} of soil lie above the coarse base there, less than these want: {wanted:lengths}. Plant "
        "them on a higher tier."
    ),
    "wall-span": _wall_span,
    "wall-bracing": _wall_bracing,
    "on-paving": (
        "It stands on paving, which roots cannot enter. Make it {deep:length} deep or more, and leave gaps for the "
        "water at the foot of the walls."
    ),
    "ground-load": _ground_load,
    "lead-barrier": (
        "The soil below holds lead above the screening level: lay a barrier over the floor and fill with clean soil "
        "from elsewhere, deep enough for the roots of the crop."
    ),
    "uneven-ground": _uneven_ground,
}

#: why a material cannot be had, by the reason's code
WHY_LACKING: dict[str, Phrase] = {
    "no-offer": "nobody offers it",
    "no-room": "only {room:volume} can be stored, not {wanted:volume}",
    "no-fit": "no offer fits into the {room:volume} that can be stored",
}

#: what a test result for lead means, by its class
_LEAD = {
    "background": "little more than what most soil holds.",
    "caution": (
        "more than most soil holds. Keep the soil covered, wash hands and vegetables, and peel roots; a bed with "
        "clean soil is the safer place for leaves and roots."
    ),
    "above screening": (
        "above the {screening:g} ppm at which US homes are screened (EPA, October 2025). Grow food only in beds with "
        "a barrier below and clean soil from elsewhere; use no soil of this ground in them."
    ),
    "no food": (
        "above {no_food:g} ppm, where no vegetables are to be grown in it. Grow food only in beds with a barrier "
        "below and clean soil from elsewhere, keep bare soil covered, and keep children off it."
    ),
}


def _no_offer(figures: Mapping[str, Any], _units: System) -> str:
    return (
        f"{{volume:volume}} of {{material}} are missing: {WHY_LACKING[figures['why']]}. The total does not include "
        "them. Add an offer or a stock of it, or collect it."
    )


def _heavy_lifting(figures: Mapping[str, Any], _units: System) -> str:
    advice = (
        "Most of this is heavy: small loads, straight back, knees bent, two people for what is awkward; rest, drink, "
        "and stop at chest pain or dizziness."
    )
    if not figures["bag"]:
        return advice
    lifters = "two people" if figures["for_two"] else "some alone, not for all"
    return advice + f" A bag of {{bag}} weighs about {{mass:mass}}, more when wet: a lift for {lifters}."


def _composted_manure(_figures: Mapping[str, Any], units: System) -> str:
    hot = "{hot_from:.0f} to {hot_to:.0f} °C"
    if units == "imperial":
        hot = "131 to 170 °F"
    return (
        f"Manure counts as composted when it was held at {hot} for {{vessel_days}} days in a closed vessel or an "
        "aerated pile, or for {windrow_days} days in a heap that was turned {turns} times (7 CFR 205.203(c)(2)). Ask "
        "who made it. If nobody can say, take it as raw: {touching} days from working it in to the harvest of what "
        "touches the soil, {clear} for what does not."
    )


def _lead(figures: Mapping[str, Any], _units: System) -> str:
    return (
        f"The soil test found {{lead:g}} ppm of lead: {_LEAD[figures['lead_class']]} A screening level is no safe "
        "level: the local health office says what the reading means."
    )


#: phrases about the whole job, by the finding's code
_OF_THE_JOB: dict[str, Phrase] = {
    "no-offer": _no_offer,
    "fresh-manure": (
        "Never fill a bed with fresh manure. Where raw manure has been worked into soil, wait {touching} days before "
        "harvest for what touches the soil, {clear} days for what does not (7 CFR 205.203); use it well composted."
    ),
    "composted-manure": _composted_manure,
    "compost-dust": (
        "Compost and castings can carry moulds and Legionella. Wet them before you shovel, wear gloves, do not "
        "breathe the dust, and wash your hands; with weak lungs or a weak immune system ask a physician first."
    ),
    "heavy-lifting": _heavy_lifting,
    "lead-test": (
        "Have soil of unknown history tested for lead before you use it or plant through to it, above all beside old "
        "paint and busy roads; the local extension or health office says what the result means."
    ),
    "lead": _lead,
    "manure-dates": (
        "Raw manure was worked in on {worked_in}: pick what touches the soil (lettuce, carrots) from {touching} on, "
        "what does not (staked tomatoes) from {clear} on (7 CFR 205.203(c), {touching_days} and {clear_days} days)."
    ),
    "treated-timber": (
        "Build no bed from old treated timber, railway sleepers or tyres: until 2003 timber was commonly preserved "
        "with arsenic. Use untreated durable wood, or new timber that your local authority allows for food beds."
    ),
    "call-before-digging": (
        "Before you dig or drive a post, have buried pipes and cables marked (in the US call 811 two to three "
        "working days ahead), and dig by hand near the marks."
    ),
    "handling": "{material:sentence}: {caution}",
}

PHRASES: dict[str, Phrase] = {**OF_BEDS, **_OF_THE_JOB}
