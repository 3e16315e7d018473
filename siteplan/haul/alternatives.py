"""How would another tipping spot or gate change the work?

One row for each alternative: as planned, tipped elsewhere, with a gate shut or widened. The choice is left to the
reader: the spot with the least work is not always the best place for a heap.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely.affinity import scale

from siteplan.haul.delivery.lorry import lorry_ground, tipping_zones
from siteplan.haul.haul_results import HaulSummary
from siteplan.haul.haul_work import HaulWork, haul_work
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.land.barriers import barrow_reach, gate_passes, missing_width
from siteplan.land.features import Gate
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply

MOST_SPOTS, MOST_GATES = 4, 2  # most rows; few gates, since all routes are computed anew for each


def summarise(work: HaulWork, change: str = "none", feature: str = "") -> HaulSummary:
    """Return the work as one row of a comparison.

    Parameters
    ----------
    work : HaulWork
    change, feature : str
        What differs from the plan, as in HaulSummary.
    """
    trips_and_routes = [(load.trips, route) for load, route in zip(work.loads, work.load_routes, strict=True)]
    return HaulSummary(
        change=change,
        feature=feature,
        minutes=work.minutes,
        trips=sum(load.trips for load in work.loads),
        walked_m=sum(trips * (route.length_m + route.back.length) for trips, route in trips_and_routes),
        climbed_m=sum(trips * route.climb_m for trips, route in trips_and_routes),
        peak_force=max((load.peak_force for load in work.loads if load.trips), default=math.nan),
        energy_kcal=sum(load.energy_kcal for load in work.loads),
        unreached=work.unreached_trips,
    )


def compare_hauls(
    finder: RouteFinder, supplies: Sequence[Supply], work: HaulWork, *, purchase: Sequence[PurchaseLine] = ()
) -> tuple[HaulSummary, ...]:
    """Return the work as planned and its alternatives: other tipping spots, a used gate shut, a narrow one widened.

    Parameters
    ----------
    finder : RouteFinder
        With which the work was planned.
    supplies : sequence of Supply
    work : HaulWork
        As planned.
    purchase : sequence of PurchaseLine
        As for the plan.

    Returns
    -------
    tuple of HaulSummary
        As planned first, the others by the fewest trips without a route, then by the least minutes; empty if there
        are no alternatives.

    Notes
    -----
    To learn what a planned second gate would save, draw it: the row with it shut shows the work without it. Hard
    ground that a lorry reaches is compared even if the site allows tipping on its drop zones only.
    """
    site = finder.site
    rows = [
        summarise(haul_work(finder.for_site(changed_site), supplies, purchase=purchase, drop=drop), change, drop)
        for change, changed_site, drop in _spots(site, work)[:MOST_SPOTS]
    ]
    rows += [
        summarise(haul_work(finder.with_gates_of(changed_site), supplies, purchase=purchase), change, gate)
        for change, changed_site, gate in _gates(site, work)[:MOST_GATES]
    ]
    rows.sort(key=lambda row: (row.unreached, row.minutes, row.change, row.feature))
    as_planned = summarise(work, feature=work.spot.id if work.spot else "")
    return (as_planned, *rows) if rows else ()


def _spots(site: Site, work: HaulWork) -> list[tuple[str, Site, str]]:
    """Return the other drop zones, and the hard ground that a lorry reaches: change, changed site and zone's id."""
    if work.spot is None:
        return []
    zones = [zone for zone in tipping_zones(site) if zone.id != work.spot.id]
    spots = [("tipped", site, zone.id) for zone in zones]
    if not site.haul.tip_anywhere and any(pile.drop for pile in site.piles):
        undrawn = dataclasses.replace(site, piles=tuple(dataclasses.replace(pile, drop=False) for pile in site.piles))
        if not lorry_ground(undrawn).is_empty:
            spots.append(("lorry", undrawn, tipping_zones(undrawn)[0].id))
    return spots


def _gates(site: Site, work: HaulWork) -> list[tuple[str, Site, str]]:
    """Return the site with each used gate shut and each narrow one widened: change, changed site, gate's id.

    Used gates come first, then the narrow ones by what they lack; gates that are alike by their ids.
    """
    changes: list[tuple[str, Site, str]] = []
    used_gates = {name for route in work.routes for name in route.gates}
    for gate in sorted(site.gates, key=lambda gate: (missing_width(gate, site.barrow), gate.id)):
        other_gates = tuple(other for other in site.gates if other is not gate)
        if not gate_passes(gate, site.barrow):
            wide = _widened(gate, 2 * barrow_reach(site.barrow))
            changes.append(("widened", dataclasses.replace(site, gates=(*other_gates, wide)), gate.id))
        elif gate.id in used_gates:
            changes.append(("shut", dataclasses.replace(site, gates=other_gates), gate.id))
    return changes


def _widened(gate: Gate, width: float) -> Gate:
    """Return a gate with another width and the same middle. [m]"""
    share = width / gate.line.length
    return dataclasses.replace(gate, line=scale(gate.line, share, share, origin="centroid"), width=width)
