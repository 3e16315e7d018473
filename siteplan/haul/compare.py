"""What would another tipping spot, gate or barrow change?

Each plan in one row: minutes, trips, metres, climb and push; and a plan for every drop zone to choose from.
It leaves out the choice: the least work is not always the best place for a heap.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from siteplan.haul.plan import plan_haul
from siteplan.haul.results import HaulPlan
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply


@dataclass(frozen=True)
class HaulSummary:
    """A haul plan in one row.

    Attributes
    ----------
    name : str
        What sets it apart.
    minutes : float
        Of the clock, without rests. [min]
    trips : int
    walked_m, climbed_m : float
        Out and back, over all trips. [m]
    peak_force : float
        The hardest push anywhere, NaN where nothing is wheeled. [N]
    energy_kcal : float
        Of the whole crew. [kcal]
    unreached : int
        Loads to which there is no way: their minutes are missing.
    cautions : int
    """

    name: str
    minutes: float
    trips: int
    walked_m: float
    climbed_m: float
    peak_force: float
    energy_kcal: float
    unreached: int
    cautions: int


def summarised(name: str, plan: HaulPlan) -> HaulSummary:
    """Return a plan in one row."""
    routes = {(route.from_id, route.to_id): route for route in plan.routes}
    reached = [load for load in plan.loads if math.isfinite(load.minutes)]
    ways = [(load.trips, routes[load.from_id, load.bed]) for load in reached]
    return HaulSummary(
        name=name,
        minutes=plan.total_minutes,
        trips=sum(load.trips for load in reached),
        walked_m=sum(trips * (route.length_m + route.back.length) for trips, route in ways),
        climbed_m=sum(trips * route.climb_m for trips, route in ways),
        peak_force=max((load.peak_force for load in reached), default=math.nan),
        energy_kcal=sum(load.energy_kcal for load in reached),
        unreached=len(plan.loads) - len(reached),
        cautions=len(plan.cautions),
    )


def compare_plans(plans: Mapping[str, HaulPlan]) -> tuple[HaulSummary, ...]:
    """Return several plans in one row each: those that reach most beds first, then by the least minutes."""
    rows = [summarised(name, plan) for name, plan in plans.items()]
    return tuple(sorted(rows, key=lambda row: (row.unreached, row.minutes, row.name)))


def compare_drops(
    site: Site, supplies: Sequence[Supply], *, purchase: Sequence[PurchaseLine] = ()
) -> tuple[HaulSummary, ...]:
    """Return what each drop zone of the site would make of the work, the best first; none where nothing is delivered.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
    purchase : sequence of PurchaseLine
        As for the plan.
    """
    if all(item.at for item in supplies):
        return ()
    zones = [pile.id for pile in site.piles if pile.drop]
    return compare_plans({zone: plan_haul(site, supplies, purchase=purchase, drop=zone) for zone in zones})
