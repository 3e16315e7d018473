"""What would another tipping spot, gate or barrow change?

Each plan in one row: minutes, trips, metres, climb and push; and a plan for every drop zone to choose from.
It leaves out the choice: the least work is not always the best place for a heap.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely.affinity import scale

from siteplan.haul.delivery.lorry import lorry_ground, tipping_zones
from siteplan.haul.ground.barriers import barrow_reach, gate_passes
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.results import HaulPlan, HaulSummary
from siteplan.haul.routes.bed_routes import Ways
from siteplan.land.features import Gate
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply

MOST_SPOTS, MOST_GATES = 4, 2  # rows; with a gate more or less all ways are sought anew
AT_THE_GATE = 0.5  # m; a route that comes so near a gate's line leads through it


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


def compare_hauls(
    site: Site,
    supplies: Sequence[Supply],
    plan: HaulPlan,
    *,
    purchase: Sequence[PurchaseLine] = (),
    ways: Ways | None = None,
) -> tuple[HaulSummary, ...]:
    """Return the plan beside others in one row each: each tipping spot, each gate shut, each narrow gate widened.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
    plan : HaulPlan
        As planned from them.
    purchase : sequence of PurchaseLine
        As for the plan.
    ways : Ways, optional
        Over the site, where they are known already.

    Notes
    -----
    A second gate is drawn and then shut here: the row says what it brings. Where a lorry gets to on hard ground is
    compared with the drop zones even where it may tip on those alone.
    """
    ways = ways or Ways(site)
    rows = [
        summarised(name, plan_haul(other, supplies, purchase=purchase, drop=drop, ways=ways.over(other)))
        for name, other, drop in _spots(site, plan)[:MOST_SPOTS]
    ]
    rows += [
        summarised(name, plan_haul(other, supplies, purchase=purchase))
        for name, other in _gates(site, plan)[:MOST_GATES]
    ]
    here = dataclasses.replace(summarised(_name(plan), plan), planned=True)
    rows.sort(key=lambda row: (row.unreached, row.minutes, row.name))
    return (here, *rows) if rows else ()


def _name(plan: HaulPlan) -> str:
    return f'as planned, tipped at "{plan.drop}"' if plan.drop else "as planned"


def _spots(site: Site, plan: HaulPlan) -> list[tuple[str, Site, str | None]]:
    """Return the other drop zones, and the hard ground that a lorry gets to."""
    if not plan.drop:
        return []
    zones = [zone for zone in tipping_zones(site) if zone.id != plan.drop]
    found: list[tuple[str, Site, str | None]] = [(f'tipped at "{zone.id}"', site, zone.id) for zone in zones]
    if not site.haul.tip_anywhere and any(pile.drop for pile in site.piles):
        undrawn = dataclasses.replace(site, piles=tuple(dataclasses.replace(pile, drop=False) for pile in site.piles))
        if not lorry_ground(undrawn).is_empty:
            name = tipping_zones(undrawn)[0].id
            found.append((f'tipped where a lorry gets to on "{name}"', undrawn, None))
    return found


def _gates(site: Site, plan: HaulPlan) -> list[tuple[str, Site]]:
    """Return the site with each gate shut that is wheeled through, and with each one wide that is too narrow."""
    found: list[tuple[str, Site]] = []
    for gate in site.gates:
        rest = tuple(other for other in site.gates if other is not gate)
        if not gate_passes(gate, site.barrow):
            wide = _widened(gate, 2 * barrow_reach(site.barrow))
            found.append((f'with gate "{gate.id}" wide enough', dataclasses.replace(site, gates=(*rest, wide))))
        elif any(route.line.distance(gate.line) < AT_THE_GATE for route in plan.routes):
            found.append((f'with gate "{gate.id}" shut', dataclasses.replace(site, gates=rest)))
    return found


def _widened(gate: Gate, width: float) -> Gate:
    """Return a gate as wide as that, about its own middle."""
    share = width / gate.line.length
    return dataclasses.replace(gate, line=scale(gate.line, share, share, origin="centroid"), width=width)
