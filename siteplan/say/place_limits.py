"""How is it explained that a bed may not stand somewhere?

What is wrong with a bed there, which limits rule out the ground, and what would help if nothing fits.
The limits are in `siteplan.place.limits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.land.root_protection import DIAMETERS, LARGEST_RADIUS
from siteplan.land.units import System, length_text
from siteplan.place.limits.limits import Limit
from siteplan.place.search.no_fit import NO_WAY, RuledOut
from siteplan.say.figures import share_text
from siteplan.say.phrases import Phrase, fill_phrase, finished, listed

_WALK = {"setback": "setback", "walk": "room to walk around the bed"}
_SURFACES = {"paved": "paved ground", "gravel": "gravel", "steps": "steps"}
_ROOTS = {"crown": "under its crown", "stem": "{diameters:g} stem diameters, at most {largest:length}"}
#: what is wrong with a bed there, to follow "a bed would ..."
_BREAKS: dict[str, str] = {
    "boundary": "be outside the boundary",
    "building": "stand on building {feature}",
    "fence": "stand on fence {feature}",
    "hedge": "stand on hedge {feature}",
    "surface": "lie on {surface} ({feature})",
    "keepout": "lie on {feature} ({cause})",
    "roots": "lie on the roots of {feature}",
    "bed": "overlap bed {feature} or leave less than {margin:length} beside it",
    "gate": "block gate {feature}",
    "door": "block door {feature}",
    "tap": "block tap {feature}",
    "pile": "lie on pile {feature} or in the way to it",
    "slope": "lie on ground steeper than {steepest:share}",
}
#: kinds of limits whose margin is mentioned
_WITH_MARGIN = ("boundary", "building", "fence", "hedge", "keepout")
#: what a gardener could change to free the ground, by kind of limit
_WITHOUT = {
    "boundary": "a smaller setback from the boundary",
    "building": "less room to the buildings",
    "fence": "less room to the fences",
    "hedge": "less room to the hedges",
    "surface": "giving up paved or gravelled ground",
    "keepout": "giving up a keepout",
    "roots": "a bed over tree roots, which harms the tree",
    "bed": "moving a bed that is there",
    "gate": "less room at the gate",
    "door": "less room at the door",
    "tap": "less room at the tap",
    "pile": "moving a pile",
    "slope": "levelling steeper ground",
    NO_WAY: "a way in for the barrow",
}


def limit_text(limit: Limit, units: System) -> str:
    """Return what is wrong with a bed there, to follow "a bed would ..."."""
    text = _BREAKS[limit.kind]
    if limit.margin and limit.kind in _WITH_MARGIN:
        text += " or within {margin:length} of it"
        text += " ({walk})" if limit.cause in _WALK and limit.kind != "keepout" else ""
    if limit.kind == "roots":
        text += f" ({_ROOTS[limit.cause]})"
    figures = {
        "feature": limit.feature,
        "cause": limit.cause,
        "margin": limit.margin,
        "steepest": limit.steepest,
        "surface": _SURFACES.get(limit.cause, limit.cause),
        "walk": _WALK.get(limit.cause, ""),
        "diameters": DIAMETERS,
        "largest": LARGEST_RADIUS,
    }
    return fill_phrase(text, figures, units)


def ruled_out_text(part: RuledOut, units: System) -> str:
    """Return what is wrong with a bed on ground that the largest limit of a kind rules out."""
    return "be out of the barrow's reach" if part.largest is None else limit_text(part.largest, units)


def _in_the_way(lead: str) -> Phrase:
    def phrase(figures: Mapping[str, Any], units: System) -> str:
        part: RuledOut = figures["part"]
        causes = f" ({listed(part.features, most=3)})" if part.features else ""
        reason = ruled_out_text(part, units)
        return finished(f"{lead}: at {share_text(part.spots)} of all spots it would {reason}{causes}")

    return phrase


def _would_open(figures: Mapping[str, Any], units: System) -> str:  # noqa: ARG001  # a phrase is given the units
    part: RuledOut = figures["part"]
    change = _WITHOUT.get(part.kind, part.kind)
    return f"the one change that would open the most ground: {change} ({share_text(part.alone)} of all spots)"


def _size(figures: Mapping[str, Any], units: System) -> str:
    return f"{length_text(figures['length'], units)} by {length_text(figures['width'], units)}"


#: what is said if nothing fits, by the finding's code
NO_FIT: dict[str, Phrase] = {
    "nothing-fits": lambda figures, units: f"no bed of {_size(figures, units)} fits anywhere on this property",
    "most-in-the-way": _in_the_way("what stands in the way most often"),
    "next-in-the-way": _in_the_way("what stands in the way next"),
    "would-open": _would_open,
    "no-single-change": "no single change would do: every spot is forbidden by more than one thing",
    "smaller-fits": lambda figures, units: f"a bed of {_size(figures, units)} would fit",
}
