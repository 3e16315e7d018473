"""How are the findings about hauling put into words?

One phrase for each code, with gaps for the figures. A figure above a guideline is shown together with the guideline.
The amount of work is in `hauling`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.land.units import System, force_text, length_text, mass_text
from siteplan.say.figures import share_text
from siteplan.say.phrases import Phrase, finished, listed


def obstacle_text(kind: str, name: str, wider: float, grade: float, units: System) -> str:
    """Return what blocks a route, and how it could be opened.

    Parameters
    ----------
    kind, name : str
        Kind and name of an Obstacle.
    wider : float
        How much wider a gate would have to be. [m]
    grade : float
        Steepest slope that a loaded barrow can be pushed up. [rise/run]
    units : str
        ``metric`` or ``imperial``.

    Examples
    --------
    >>> obstacle_text("gate", "wicket", 0.05, 0.125, "metric")
    'gate "wicket" is 5 cm too narrow'
    >>> obstacle_text("slope", "", 0.0, 0.125, "metric")
    'the ground is steeper than the barrow can be pushed (12 %)'
    """
    if kind == "gate":
        return f'gate "{name}" is {length_text(wider, units)} too narrow'
    if kind == "edge":
        return "the edge of the property is in the way"
    if kind == "slope":
        return f"the ground is steeper than the barrow can be pushed ({share_text(grade)})"
    if kind in ("building", "fence", "hedge", "tree", "bed", "keepout"):
        return f'{kind} "{name}" is in the way'
    return f'{kind} "{name}" cannot be crossed with a loaded barrow'


def _no_way(figures: Mapping[str, Any], units: System) -> str:
    reason = obstacle_text(figures["obstacle"], figures["id"], figures["wider"], figures["grade"], units)
    return f'No way in for the barrow from "{{source}}": {finished(reason)}.'


def _heavy_push(figures: Mapping[str, Any], units: System) -> str:
    start = 'Pushing {mass:mass} of {material} from "{source}" takes a push as hard as lifting {keep:force}'
    if force_text(figures["peak"], units) != force_text(figures["keep"], units):
        start += ", and {peak:force} at the hardest spot"
    start += ". That is above the guideline "
    if figures["anybody"]:
        start += "for anybody: {men:force} for men and {women:force} for women to keep moving, "
        start += "{men_start:force} and {women_start:force} to start"
    else:
        start += "for women: {women:force} to keep moving and {women_start:force} to start; "
        start += "for men it is {men:force} and {men_start:force}"
    return start + ". Take smaller loads, lay boards, or go two together."


def _heavy_bag(figures: Mapping[str, Any], units: System) -> str:
    bags = ", ".join(f"{name} {mass_text(mass, units)}" for name, mass in figures["bags"])
    return (
        f"Bags weigh about {finished(bags)}, more when wet. "
        "The guideline for lifting, held close at elbow height, is {men:mass} for men and {women:mass} for women, "
        "and from the ground about {ground:mass}. Lift together, from a tailgate or a table."
    )


def _heap_too_big(figures: Mapping[str, Any], units: System) -> str:
    names, widest = listed(figures["materials"]), length_text(figures["widest"], units)
    rounds = f"needs a round of {widest}" if len(figures["materials"]) == 1 else f"need rounds of up to {widest}"
    return (
        f"Not all heaps fit here at once: {finished(names)} {rounds}, clear of roots, beds and ways. "
        "Have them delivered one after the other, or make more room."
    )


def _no_drop(figures: Mapping[str, Any], units: System) -> str:  # noqa: ARG001  # a phrase takes both
    if figures["hard"]:
        return f"No pile says where a delivery may be tipped (drop = true). {_LORRY}"
    return (
        "No pile says where a delivery may be tipped (drop = true), and no hard ground as wide as a lorry "
        "({width:length}) reaches an open edge of the property. So it is assumed to be tipped here."
    )


_LORRY = (
    "A lorry {width:length} wide is assumed to come from the edge of the property and to tip within "
    "{reach:length} of here. Ask the driver whether it can get there, whether wires or branches hang in the way, and "
    "whether the ground will bear it."
)

PHRASES: dict[str, Phrase] = {
    "gate-too-narrow": (
        "The gate is {width:length} wide and the barrow needs {need:length} with its clearance, so it is treated "
        "as shut. A narrower barrow, or less clearance, would fit through."
    ),
    "no-way-in": _no_way,
    "bucket": 'The barrow from "{source}" stops {short:length} short: the rest is carried by bucket.',
    "steep-way": (
        'The way from "{source}" climbs {grade:share} at its steepest, more than 1:12. Push with smaller loads or '
        "with two people, and never stop across the slope."
    ),
    "steep-descent": (
        'The way from "{source}" goes down {grade:share} at its steepest with a loaded barrow, more than 1:12. Take '
        "smaller loads, keep the barrow in front of you, go slowly and let go if it runs away."
    ),
    "aslant-way": (
        'The way from "{source}" runs across ground that falls {grade:share} sideways, where a loaded barrow tips '
        "over easily. The usual limit is {guideline:share}. Take smaller loads, or level a path."
    ),
    "barrow-load": (
        "The barrow is set to {load:mass} a load. More than {guideline:mass} on one or two wheels is a high risk "
        "for the person who pushes. Take smaller loads."
    ),
    "heavy-push": _heavy_push,
    "heavy-bag": _heavy_bag,
    "heavy-work": (
        "{mass:mass} are shovelled and wheeled here. Lift with a straight back, take turns, rest ten minutes in the "
        "hour, drink a cup of water every 15 to 20 minutes, and stop at once at chest pain or dizziness. Ask a "
        "doctor first if you are not used to heavy work."
    ),
    "lorry": _LORRY,
    "no-drop": _no_drop,
    "heap-too-big": _heap_too_big,
    "heap-in-the-way": "The heap of {material} lies on a way that is used: tip it later, or somewhere else.",
}
