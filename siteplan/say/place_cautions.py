"""What is said of a spot that deserves a word?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from siteplan.land.units import System
from siteplan.say.phrases import Phrase, finished
from siteplan.say.place_limits import limit_text


def _frost(figures: Mapping[str, Any], units: System) -> str:  # noqa: ARG001  # a phrase is given the units
    if not figures["barrier"]:
        return "The ground lies lower than all around: cold air gathers there, and frost comes early and stays late."
    return f"{figures['kind'].capitalize()} {{barrier}} just downhill dams cold air: frost may stay longer there."


PHRASES: dict[str, Phrase] = {
    "bed-spot": lambda figures, units: finished(f"Here the bed would {limit_text(figures['limit'], units)}."),
    "frost-pocket": _frost,
    "open-to-wind": (
        "It lies open to the wind on nearly all sides: a hedge or an open fence within ten of its heights shelters."
    ),
    "old-paint": (
        "It lies within {within:distance} of building {building}. If the walls were painted before 1978, have the "
        "soil tested for lead before growing food there, and ask the local health office."
    ),
}
