"""What is delivered, loose or in bags, and where does it lie?

The trips and heaps that what is bought asks for, and the tipping spot that serves them.
It leaves out when the lorry comes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from siteplan.haul.loads import share_out
from siteplan.haul.results import Heap, Route
from siteplan.haul.tipping import TippingSpot, place_heaps, tipping_spots
from siteplan.haul.ways import Ways
from siteplan.land.site import Caution, Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply


def bag_volumes(purchase: Sequence[PurchaseLine]) -> dict[str, float]:
    """Return the volume of a bag of each material that comes in bags alone; of several sizes their mean. [m3]"""
    volumes: dict[str, float] = {}
    counts: Counter[str] = Counter()
    loose: set[str] = set()
    for line in purchase:
        names = [name for name, _ in line.parts] or [line.material]
        for name in names:
            if line.kind == "bag" and line.count:
                volumes[name] = volumes.get(name, 0.0) + line.volume
                counts[name] += line.count
            else:
                loose.add(name)
    return {name: volumes[name] / counts[name] for name in counts if name not in loose}


def delivered_trips(site: Site, supplies: Sequence[Supply], bags: Mapping[str, float]) -> Counter[str]:
    """Return how often each bed is wheeled to with what is delivered."""
    trips: Counter[str] = Counter()
    for item in supplies:
        if not item.at:
            trips[item.bed] += share_out(item, site.barrow, bags.get(item.material))[0].trips
    return trips


def tipping_for(
    site: Site, ways: Ways, supplies: Sequence[Supply], bags: Mapping[str, float], drop: str | None
) -> TippingSpot | None:
    """Return where deliveries are tipped, None where nothing is delivered."""
    trips = delivered_trips(site, supplies, bags)
    if not trips:
        return None
    spots = tipping_spots(ways, trips)
    return next((spot for spot in spots if spot.id == drop), spots[0])


def loose_volumes(supplies: Sequence[Supply], bags: Mapping[str, float]) -> dict[str, float]:
    """Return what is delivered loose, by material. [m3]"""
    volumes: dict[str, float] = {}
    for item in supplies:
        if not item.at and item.material not in bags:
            volumes[item.material] = volumes.get(item.material, 0.0) + item.volume
    return volumes


def heaps_for(
    site: Site, spot: TippingSpot | None, volumes: Mapping[str, float], routes: Iterable[Route | None]
) -> tuple[tuple[Heap, ...], list[Caution]]:
    """Return the heaps of a delivery and what is to be said about them; none where nothing is delivered."""
    if spot is None:
        return (), []
    return place_heaps(site, spot, volumes, routes=[route for route in routes if route is not None])
