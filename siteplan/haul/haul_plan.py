"""How does the material get to the beds?

The routes and loads with the heaps, the order of work by day and the findings. `best_haul` adds comparisons with
other tipping spots and gates, boards and a second barrow. The formulas are in the other modules of this folder.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.haul.alternatives import compare_hauls
from siteplan.haul.delivery.heaps import place_heaps
from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.delivery.packaging import Part, delivered_volumes
from siteplan.haul.guidelines import load_findings, no_way_findings, route_findings
from siteplan.haul.haul_results import HaulPlan, Heap, Unreached
from siteplan.haul.haul_work import HaulWork, haul_work
from siteplan.haul.loads.loads import crew_total, supply_trips
from siteplan.haul.loads.pile_service import assign_piles
from siteplan.haul.loads.work_order import deliveries_of, order_of_work
from siteplan.haul.pushing import choose_boards
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.haul.routes.obstruction import nearest_obstacle
from siteplan.land.barriers import narrow_gates
from siteplan.land.findings import Finding
from siteplan.land.grid import Grid
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply

FEW_BEDS = 12  # with more beds there is no comparison: each row of it takes long to compute


def plan_haul(
    site: Site,
    supplies: Sequence[Supply],
    *,
    purchase: Sequence[PurchaseLine] = (),
    drop: str | None = None,
    grid: Grid | None = None,
    wet: bool | None = None,
) -> HaulPlan:
    """Return how all supplies get to their beds.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        Material, source pile and bed; `at` is empty for deliveries.
    purchase : sequence of PurchaseLine
        Purchases: bags are carried as bags, and need no heap.
    drop : str, optional
        Id of the drop zone on which deliveries are tipped; by default the one with the least work.
    grid : Grid, optional
        For the routes; by default one that is fine enough for the barrow.
    wet : bool, optional
        Whether the ground is wet, which makes the push harder; by default the site's setting.

    Returns
    -------
    HaulPlan
        Supplies without a route are in `unreached`, each with the obstacle that blocks the way.

    Raises
    ------
    ValueError
        If a supply names an unknown bed or pile, or `drop` is no drop zone.
    """
    _refuse_unknown(site, supplies, drop)
    finder = RouteFinder(site, grid=grid, wet=wet)
    return _planned(finder, supplies, haul_work(finder, supplies, purchase=purchase, drop=drop))


def best_haul(site: Site, supplies: Sequence[Supply], *, purchase: Sequence[PurchaseLine] = ()) -> HaulPlan:
    """Return the plan with all comparisons; its `supplies` tell which pile serves which layer.

    Parameters
    ----------
    site : Site
    supplies : sequence of Supply
        Material for each layer. If several piles have one material, the piles are assigned anew.
    purchase : sequence of PurchaseLine

    Raises
    ------
    ValueError
        If a supply names an unknown bed or pile.
    """
    _refuse_unknown(site, supplies, None)
    if not supplies:
        return plan_haul(site, ())
    finder = RouteFinder(site)
    served = assign_piles(site, supplies, purchase=purchase, finder=finder)
    work = haul_work(finder, served, purchase=purchase)
    plan = _planned(finder, served, work)
    is_small = len({supply.bed for supply in served}) <= FEW_BEDS
    return dataclasses.replace(
        plan,
        comparison=compare_hauls(finder, served, work, purchase=purchase) if is_small else (),
        crew=crew_total(plan.loads, site.labour.people),
        boards=choose_boards(site, finder.ground, plan),
    )


def _planned(finder: RouteFinder, supplies: Sequence[Supply], work: HaulWork) -> HaulPlan:
    """Return the plan for the computed work: heaps, order of work and findings are added."""
    site = finder.site
    heaps, crowded = _heaps(site, work)
    layers = [part.supply.order for part in work.reached_parts]
    runs = order_of_work(
        work.loads, layers, [not part.supply.at for part in work.reached_parts], site.labour, haul=site.haul
    )
    tipped_on = work.spot.id if work.spot else ""
    unreached = tuple(_unreached(finder, part, tipped_on) for part in work.unreached_parts)
    findings = [
        *narrow_gates(site),
        *(work.spot.findings if work.spot else ()),
        *no_way_findings(unreached, max_grade=site.barrow.max_grade),
        *(finding for route in work.routes for finding in route_findings(route)),
        *crowded,
        *load_findings(site.barrow, work.loads),
    ]
    return HaulPlan(
        routes=work.routes,
        loads=work.loads,
        unreached=unreached,
        total_minutes=work.minutes,
        drop=tipped_on,
        drop_place=work.spot.place if work.spot else None,
        heaps=heaps,
        order=runs,
        findings=tuple(dict.fromkeys(findings)),
        deliveries=deliveries_of(runs, delivered_volumes(work.reached_parts)),
        supplies=tuple(supplies),
        load_routes=work.load_routes,
    )


def _heaps(site: Site, work: HaulWork) -> tuple[tuple[Heap, ...], list[Finding]]:
    """Return the heaps of the material that is tipped loose, and the findings about them."""
    if work.spot is None or not work.tipped:
        return (), []
    return place_heaps(site, work.spot.id, work.spot.zone, work.spot.place, work.tipped, routes=work.routes)


def _unreached(finder: RouteFinder, part: Part, tipped_on: str) -> Unreached:
    """Return a supply without a route, with the obstacle that blocks it.

    A delivery starts where others are tipped, or at the first zone if none is.
    """
    site, supply = finder.site, part.supply
    if supply.at:
        source = next(pile for pile in site.piles if pile.id == supply.at)
    else:
        zones = tipping_zones(site)
        source = next((zone for zone in zones if zone.id == tipped_on), zones[0]).pile
    return Unreached(
        bed=supply.bed,
        material=supply.material,
        from_id=source.id,
        delivered=not supply.at,
        volume=supply.volume,
        mass=supply.mass,
        trips=supply_trips(supply, site.barrow, part.bags).trips,
        obstacle=nearest_obstacle(site, finder.ground, source.shape, site.bed(supply.bed)),
    )


def _refuse_unknown(site: Site, supplies: Sequence[Supply], drop: str | None) -> None:
    """Raise ValueError if a supply names an unknown bed or pile, or `drop` is no drop zone."""
    zones = [pile.id for pile in site.piles if pile.drop]
    if drop is not None and drop not in zones:
        raise ValueError(f"drop zone {drop!r} is not there; there are: {', '.join(sorted(zones)) or 'none'}")
    beds, piles = {bed.id for bed in site.beds}, {pile.id for pile in site.piles}
    for supply in supplies:
        if supply.bed not in beds:
            raise ValueError(f"supply of {supply.material!r} goes to bed {supply.bed!r}, which is not there")
        if supply.at and supply.at not in piles:
            raise ValueError(f"supply of {supply.material!r} lies at pile {supply.at!r}, which is not there")
