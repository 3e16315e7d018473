"""How are the findings about a place put into words?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.land.units import System
from siteplan.say.phrases import Phrase, finished
from siteplan.say.place_limits import limit_text

#: year from which house paint was sold without lead, by country (US EPA and HUD: 1978, seen second-hand)
_LEAD_PAINT_UNTIL = {"US": 1978}


def _frost(figures: Mapping[str, Any], units: System) -> str:  # noqa: ARG001  # a phrase is given the units
    if not figures["barrier"]:
        return "The ground lies lower than all around: cold air gathers there, and frost comes early and stays late."
    return f"{figures['kind'].capitalize()} {{barrier}} just downhill dams cold air: frost may stay longer there."


def _old_paint(figures: Mapping[str, Any], units: System) -> str:  # noqa: ARG001  # a phrase is given the units
    year = _LEAD_PAINT_UNTIL.get(figures["country"])
    old = f"were painted before {year}" if year else "may carry old paint with lead"
    return (
        f"It lies within {{within:distance}} of building {{building}}. If the walls {old}, have the soil tested for "
        "lead before you grow food there, and ask the local health office what the result means."
    )


PHRASES: dict[str, Phrase] = {
    "bed-spot": lambda figures, units: finished(f"Here the bed would {limit_text(figures['limit'], units)}."),
    "frost-pocket": _frost,
    "open-to-wind": (
        "It lies open to the wind on nearly all sides: a hedge or an open fence within ten of its heights shelters."
    ),
    "old-paint": _old_paint,
}
