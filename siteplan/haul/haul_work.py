"""How much work is it to haul everything?

Where deliveries are tipped, the route of each supply, its whole loads with their minutes: what a plan and each way to
do otherwise share. It leaves out the order of the work, heaps and what deserves a word.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from siteplan.haul.delivery.heaps import lanes_of
from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.delivery.packaging import Part, delivered_parts, tipped_volumes
from siteplan.haul.delivery.tipping import TippingSpot, tipping_for
from siteplan.haul.ground.standing_places import at_pile
from siteplan.haul.haul_results import Load, Route
from siteplan.haul.loads.loads import crew_choice, share_out, supply_load
from siteplan.haul.pushing import route_forces
from siteplan.haul.routes.bed_routes import Source, Ways

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply


@dataclass(frozen=True, eq=False)
class HaulWork:
    """The work of hauling everything.

    Attributes
    ----------
    spot : TippingSpot or None
        Where deliveries are tipped; None where nothing is delivered, or nothing of it gets to a bed.
    routes : tuple of Route
        One for each pair of place and bed that is used and has a way.
    reached, barred : tuple of Part
        Supplies to which there is a way, and those to which there is none.
    loads : tuple of Load
        One for each that is reached, in their order.
    tipped : mapping of str to float
        What is tipped loose, by material: all that is delivered, not only what the beds take. [m3]
    barred_trips : int
        That the barred supplies would take, if there were a way.
    """

    spot: TippingSpot | None
    routes: tuple[Route, ...]
    reached: tuple[Part, ...]
    barred: tuple[Part, ...]
    loads: tuple[Load, ...]
    tipped: Mapping[str, float]
    barred_trips: int

    @property
    def minutes(self) -> float:
        """Of the clock, without rests. [min]"""
        return sum(load.minutes for load in self.loads)


def haul_work(
    ways: Ways, supplies: Sequence[Supply], *, purchase: Sequence[PurchaseLine] = (), drop: str | None = None
) -> HaulWork:
    """Return the work of getting all supplies to their beds.

    Parameters
    ----------
    ways : Ways
        Over the site.
    supplies : sequence of Supply
        What goes from where into which bed; `at` is empty for what is delivered.
    purchase : sequence of PurchaseLine
        What is bought: what comes in bags is carried in bags.
    drop : str, optional
        Id of the only zone on which deliveries may be tipped; the one with the least work when not given.
    """
    parts = delivered_parts(supplies, purchase)
    piles = {pile.id: pile for pile in ways.site.piles}
    used = dict.fromkeys(item.at for item in supplies if item.at)
    sources = ways.sources({name: at_pile(ways.ground, piles[name]) for name in used})
    routes = _routes(ways, sources, [part.supply for part in parts if part.supply.at])
    zones = shapely.union_all([zone.ground for zone in tipping_zones(ways.site)])
    lanes = lanes_of(ways.site, [route for route in routes.values() if route is not None], zones)
    spot = tipping_for(ways, parts, drop, volumes=tipped_volumes(parts, purchase), lanes=lanes)
    if spot is not None:
        tipped = {"": ways.source(spot.id, spot.cells)}
        routes |= _routes(ways, tipped, [part.supply for part in parts if not part.supply.at])
    ways_in = [routes[part.supply.at, part.supply.bed] for part in parts]
    reached = [(part, route) for part, route in zip(parts, ways_in, strict=True) if route is not None]
    barred = tuple(part for part, route in zip(parts, ways_in, strict=True) if route is None)
    return HaulWork(
        spot=spot if any(not part.supply.at for part, _ in reached) else None,
        routes=tuple(route for route in routes.values() if route is not None),
        reached=tuple(part for part, _ in reached),
        barred=barred,
        loads=tuple(_load(ways, part, route) for part, route in reached),
        tipped=tipped_volumes([part for part, _ in reached], purchase, barred),
        barred_trips=sum(share_out(part.supply, ways.site.barrow, part.bags).trips for part in barred),
    )


def _routes(
    ways: Ways, sources: Mapping[str, Source], supplies: Sequence[Supply]
) -> dict[tuple[str, str], Route | None]:
    """Return the route of each pair of place and bed."""
    pairs = list(dict.fromkeys((item.at, item.bed) for item in supplies))
    found = ways.routes([(sources[at], ways.site.bed(bed)) for at, bed in pairs])
    return dict(zip(pairs, found, strict=True))


def _load(ways: Ways, part: Part, route: Route) -> Load:
    """Return a load with its push, and with a second barrow where there is one and it helps."""
    site, item = ways.site, part.supply
    load = supply_load(
        item,
        route=route,
        barrow=site.barrow,
        people=site.labour.people,
        material=site.materials.get(item.material),
        bags=part.bags,
        haul=site.haul,
        body_mass=site.labour.body_mass,
    )
    if load.trips == 0:
        return load
    keep, peak = route_forces(ways.ground, route.line, mass=load.per_trip_mass, barrow=site.barrow.mass)
    load = dataclasses.replace(load, push_force=keep, peak_force=peak)
    crew = crew_choice(load, site.labour.people)
    if site.barrow.count < 2 or not crew.second_barrow_helps:
        return load
    return dataclasses.replace(load, minutes=crew.side_by_side, side_by_side=True)
