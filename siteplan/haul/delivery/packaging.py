"""What is delivered, loose or in bags, and where does it lie?

The trips and heaps that what is bought asks for, and the tipping spot that serves them.
It leaves out when the lorry comes.
"""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shapely.geometry.base import BaseGeometry

from siteplan.haul.delivery.tipping import TippingSpot, tipping_spots
from siteplan.haul.loads.loads import share_out
from siteplan.haul.routes.bed_routes import Ways
from siteplan.land.site import Site

if TYPE_CHECKING:
    from siteplan.fill.results import PurchaseLine, Supply

_CRUMB = 1e-9  # m3, no more than rounding


@dataclass(frozen=True)
class Part:
    """A supply, or the part of it that comes in one way.

    Attributes
    ----------
    supply : Supply
    bag : float or None
        Volume of the bags in which it comes; None where it lies loose. [m3]
    """

    supply: Supply
    bag: float | None


@dataclass(frozen=True)
class _Bought:
    bags: int = 0
    in_bags: float = 0.0  # m3, with what else is in them where they hold a blend
    loose: float = 0.0  # m3

    @property
    def bag(self) -> float:
        """Volume of a bag, the mean of several sizes. [m3]"""
        return self.in_bags / self.bags


def _bought(purchase: Sequence[PurchaseLine]) -> dict[str, _Bought]:
    """Return what comes of each material in bags and loose."""
    found: dict[str, _Bought] = {}
    for line in purchase:
        bag = line.kind == "bag" and line.count > 0
        for name, volume in line.parts or ((line.material, line.volume),):
            before = found.get(name, _Bought())
            if bag:
                found[name] = _Bought(before.bags + line.count, before.in_bags + line.volume, before.loose)
            else:
                found[name] = _Bought(before.bags, before.in_bags, before.loose + volume)
    return found


def bag_volumes(purchase: Sequence[PurchaseLine]) -> dict[str, float]:
    """Return the volume of a bag of each material that comes in bags alone; of several sizes their mean. [m3]"""
    return {name: one.bag for name, one in _bought(purchase).items() if one.bags and one.loose <= _CRUMB}


def delivered_parts(supplies: Sequence[Supply], purchase: Sequence[PurchaseLine]) -> tuple[Part, ...]:
    """Return the supplies, those that come partly loose and partly in bags in two parts.

    Parameters
    ----------
    supplies : sequence of Supply
    purchase : sequence of PurchaseLine
        What lies loose is used first, layer by layer in the order of the supplies; bags that are left keep.
    """
    bought = _bought(purchase)
    loose = {name: one.loose if one.bags else float("inf") for name, one in bought.items()}
    parts: list[Part] = []
    for item in supplies:
        left = float("inf") if item.at else loose.get(item.material, float("inf"))
        taken = min(item.volume, left)
        if item.volume - taken <= _CRUMB:
            taken = item.volume
        if not item.at and item.material in loose:
            loose[item.material] = max(left - taken, 0.0)
        if taken > _CRUMB or item.volume <= _CRUMB:
            parts.append(Part(_share(item, taken), None))
        if item.volume - taken > _CRUMB:
            parts.append(Part(_share(item, item.volume - taken), bought[item.material].bag))
    return tuple(parts)


def _share(item: Supply, volume: float) -> Supply:
    if volume == item.volume:
        return item
    return dataclasses.replace(item, volume=volume, mass=item.mass * volume / item.volume)


def delivered_trips(site: Site, parts: Sequence[Part]) -> Counter[str]:
    """Return how often each bed is wheeled to with what is delivered."""
    trips: Counter[str] = Counter()
    for part in parts:
        if not part.supply.at:
            trips[part.supply.bed] += share_out(part.supply, site.barrow, part.bag)[0].trips
    return trips


def tipping_for(
    site: Site, ways: Ways, parts: Sequence[Part], drop: str | None, *, lanes: BaseGeometry | None = None
) -> TippingSpot | None:
    """Return where deliveries are tipped, None where nothing is delivered."""
    trips = delivered_trips(site, parts)
    if not trips:
        return None
    spots = tipping_spots(ways, trips, volumes=loose_volumes(parts), lanes=lanes)
    return next((spot for spot in spots if spot.id == drop), spots[0])


def loose_volumes(parts: Sequence[Part]) -> dict[str, float]:
    """Return what is delivered loose, by material. [m3]"""
    return _volumes(part.supply for part in parts if part.bag is None)


def delivered_volumes(parts: Sequence[Part]) -> Mapping[str, float]:
    """Return what is delivered in all, by material. [m3]"""
    return _volumes(part.supply for part in parts)


def _volumes(supplies: Iterable[Supply]) -> dict[str, float]:
    volumes: dict[str, float] = {}
    for item in supplies:
        if not item.at:
            volumes[item.material] = volumes.get(item.material, 0.0) + item.volume
    return volumes
