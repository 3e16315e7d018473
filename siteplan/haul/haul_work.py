"""How much work is it to haul everything?

Where deliveries are tipped, the route of each supply, and its loads with their minutes. A plan and each alternative
to it are computed here. Heaps, order of work and findings are added in `haul_plan`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from siteplan.haul.delivery.heaps import barrow_lanes
from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.delivery.packaging import Part, delivered_parts, tipped_volumes
from siteplan.haul.delivery.tipping import TippingSpot, choose_tipping_spot
from siteplan.haul.ground.standing_places import at_pile
from siteplan.haul.haul_results import Load, Route
from siteplan.haul.loads.loads import crew_choice, supply_load, supply_trips
from siteplan.haul.pushing import route_forces
from siteplan.haul.routes.bed_routes import RouteFinder, Source

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply


@dataclass(frozen=True, eq=False)
class HaulWork:
    """The work of hauling everything.

    Attributes
    ----------
    spot : TippingSpot or None
        Where deliveries are tipped; None if nothing is delivered, or no delivery has a route to its bed.
    routes : tuple of Route
        One for each pair of source and bed that is used and has a route.
    reached_parts, unreached_parts : tuple of Part
        Supplies with a route, and those without.
    loads : tuple of Load
        One for each of `reached_parts`, in their order.
    load_routes : tuple of Route
        The route of each load. Two routes may have equal ids: on a drop zone that also holds stock, the barrow is
        loaded in two places.
    tipped : mapping of str to float
        Volume tipped loose, by material: all that is delivered, not only what the beds take. [m3]
    unreached_trips : int
        Trips that `unreached_parts` would take if there were a route.
    """

    spot: TippingSpot | None
    routes: tuple[Route, ...]
    reached_parts: tuple[Part, ...]
    unreached_parts: tuple[Part, ...]
    loads: tuple[Load, ...]
    load_routes: tuple[Route, ...]
    tipped: Mapping[str, float]
    unreached_trips: int

    @property
    def minutes(self) -> float:
        """Clock time of all loads, without rests. [min]"""
        return sum(load.minutes for load in self.loads)


def haul_work(
    finder: RouteFinder, supplies: Sequence[Supply], *, purchase: Sequence[PurchaseLine] = (), drop: str | None = None
) -> HaulWork:
    """Return the work of getting all supplies to their beds.

    Parameters
    ----------
    finder : RouteFinder
        Over the site.
    supplies : sequence of Supply
        Material, source pile and bed; `at` is empty for deliveries.
    purchase : sequence of PurchaseLine
        Purchases: bags are carried as bags.
    drop : str, optional
        Id of the only zone on which deliveries may be tipped; by default the one with the least work.
    """
    parts = delivered_parts(supplies, purchase)
    piles = {pile.id: pile for pile in finder.site.piles}
    used_piles = dict.fromkeys(supply.at for supply in supplies if supply.at)
    sources = finder.sources({name: at_pile(finder.ground, piles[name]) for name in used_piles})
    routes = _routes(finder, sources, [part.supply for part in parts if part.supply.at])
    zones = shapely.union_all([zone.ground for zone in tipping_zones(finder.site)])
    lanes = barrow_lanes(finder.site, [route for route in routes.values() if route is not None], zones)
    spot = choose_tipping_spot(finder, parts, drop, volumes=tipped_volumes(parts, purchase), lanes=lanes)
    if spot is not None:
        tipped = {"": finder.source(spot.id, spot.cells)}
        routes |= _routes(finder, tipped, [part.supply for part in parts if not part.supply.at])
    part_routes = [routes[part.supply.at, part.supply.bed] for part in parts]
    reached = [(part, route) for part, route in zip(parts, part_routes, strict=True) if route is not None]
    unreached = tuple(part for part, route in zip(parts, part_routes, strict=True) if route is None)
    return HaulWork(
        spot=spot if any(not part.supply.at for part, _ in reached) else None,
        routes=tuple(route for route in routes.values() if route is not None),
        reached_parts=tuple(part for part, _ in reached),
        unreached_parts=unreached,
        loads=tuple(_load(finder, part, route) for part, route in reached),
        load_routes=tuple(route for _, route in reached),
        tipped=tipped_volumes([part for part, _ in reached], purchase, unreached),
        unreached_trips=sum(supply_trips(part.supply, finder.site.barrow, part.bags).trips for part in unreached),
    )


def _routes(
    finder: RouteFinder, sources: Mapping[str, Source], supplies: Sequence[Supply]
) -> dict[tuple[str, str], Route | None]:
    """Return the route of each pair of source and bed; None where there is none."""
    pairs = list(dict.fromkeys((supply.at, supply.bed) for supply in supplies))
    routes = finder.routes([(sources[pile], finder.site.bed(bed)) for pile, bed in pairs])
    return dict(zip(pairs, routes, strict=True))


def _load(finder: RouteFinder, part: Part, route: Route) -> Load:
    """Return a load with its push; with the minutes of a second barrow if there is one and it helps."""
    site, supply = finder.site, part.supply
    load = supply_load(
        supply,
        route=route,
        barrow=site.barrow,
        people=site.labour.people,
        material=site.materials.get(supply.material),
        bags=part.bags,
        haul=site.haul,
        body_mass=site.labour.body_mass,
    )
    if load.trips == 0:
        return load
    keep, peak = route_forces(finder.ground, route.line, mass=load.per_trip_mass, barrow=site.barrow.mass)
    load = dataclasses.replace(load, push_force=keep, peak_force=peak)
    crew = crew_choice(load, site.labour.people)
    if site.barrow.count < 2 or not crew.second_barrow_helps:
        return load
    return dataclasses.replace(load, minutes=crew.side_by_side, side_by_side=True)
