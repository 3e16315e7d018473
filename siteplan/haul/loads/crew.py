"""Do two work faster together at one barrow, or one loading and one pushing with two?

The minutes of one load either way; whichever is less is the better for that distance.
It leaves out that people tire differently, and change places.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from siteplan.haul.loads.work_rates import SHOVELS_AT_ONE_TRAY
from siteplan.haul.results import Load


@dataclass(frozen=True)
class CrewChoice:
    """Two ways to work, for one load. [min]

    Attributes
    ----------
    together : float
        All load the one barrow, then one pushes it while the others wait.
    side_by_side : float
        With a second barrow: one is pushed while the other is loaded. As `together` for somebody alone.
    """

    together: float
    side_by_side: float

    @property
    def second_barrow_helps(self) -> bool:
        """Whether a second barrow saves time."""
        return self.side_by_side < self.together


def crew_choice(load: Load, people: int) -> CrewChoice:
    """Return the minutes of a load with one barrow and with two.

    Parameters
    ----------
    load : Load
        As planned for that many people.
    people : int

    Notes
    -----
    Side by side, the first barrow is filled, then filling and pushing go on at once, trip by trip, as long as the
    slower of the two takes; the last barrow is pushed while nobody fills.
    """
    together = load.shovel_minutes + load.push_minutes + load.tip_minutes + load.bucket_minutes
    if people < 2 or load.trips == 0:
        return CrewChoice(together, together)
    alone = load.shovel_minutes * min(people, SHOVELS_AT_ONE_TRAY)
    fill = alone / min(people - 1, SHOVELS_AT_ONE_TRAY) / load.trips
    push = (load.push_minutes + load.tip_minutes) / load.trips
    side_by_side = fill + (load.trips - 1) * max(fill, push) + push + load.bucket_minutes
    return CrewChoice(together, side_by_side)


def crew_total(loads: Sequence[Load], people: int) -> CrewChoice:
    """Return the minutes of all loads that have a way in, with one barrow and with a second where it helps."""
    choices = [crew_choice(load, people) for load in loads if math.isfinite(load.minutes)]
    return CrewChoice(
        sum(choice.together for choice in choices),
        sum(min(choice.together, choice.side_by_side) for choice in choices),
    )
