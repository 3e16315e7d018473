"""Which supplies are delivered loose, and which in bags?

Each supply is split into a loose part and a part in bags, with the bags that are opened for it; each bag is opened
once.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from siteplan.haul.loads.loads import Bag

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply

_CRUMB = 1e-9  # m3; smaller volumes are rounding errors
_OPENED = 1e-6  # m3; no bag is opened for less than this


@dataclass(frozen=True)
class Part:
    """A supply, or the part of it that comes in one way.

    Attributes
    ----------
    supply : Supply
    bags : tuple of Bag or None
        The bags that are carried for it; None if it is loose. A bag for two beds is carried to the first; the rest
        for the second bed then has no bags of its own.
    """

    supply: Supply
    bags: tuple[Bag, ...] | None


@dataclass
class _Bought:
    """Purchases of one material: each bag, the whole blend if it is one, and loose volume. [m3]"""

    bags: list[Bag] = field(default_factory=list)
    loose: float = 0.0


def _bought(purchase: Sequence[PurchaseLine]) -> dict[str, _Bought]:
    """Return the purchases of each material, the largest bags first."""
    bought: dict[str, _Bought] = {}
    for line in purchase:
        for name, volume in line.parts or ((line.material, line.volume),):
            material = bought.setdefault(name, _Bought())
            if line.kind == "bag" and line.count > 0:
                material.bags += [Bag(line.volume / line.count, line.mass_each, line.material)] * line.count
            else:
                material.loose += volume
    for material in bought.values():
        material.bags.sort(key=lambda bag: bag.volume, reverse=True)
    return bought


def bag_volumes(purchase: Sequence[PurchaseLine]) -> dict[str, float]:
    """Return the mean volume of a bag of each material that is bought in bags only, by material. [m3]"""
    return {
        name: sum(bag.volume for bag in material.bags) / len(material.bags)
        for name, material in _bought(purchase).items()
        if material.bags and material.loose <= _CRUMB
    }


def delivered_parts(supplies: Sequence[Supply], purchase: Sequence[PurchaseLine]) -> tuple[Part, ...]:
    """Return the supplies; one that comes both loose and in bags is split into two parts.

    Parameters
    ----------
    supplies : sequence of Supply
    purchase : sequence of PurchaseLine
        Loose material is used first, in the order of the supplies, since unopened bags can be kept.

    Notes
    -----
    The rest of a bag goes into the next bed, so that no more bags are carried than bought.
    """
    bought = _bought(purchase)
    bagged = {name for name, material in bought.items() if material.bags}
    left_in_bag = dict.fromkeys(bought, 0.0)  # m3; rest of the bag opened last
    parts: list[Part] = []
    for supply in supplies:
        purchases = bought.get(supply.material)
        if supply.at or purchases is None or supply.material not in bagged:
            parts.append(Part(supply, None))
            continue
        loose = min(supply.volume, purchases.loose)
        if supply.volume - loose <= _CRUMB:
            loose = supply.volume
        purchases.loose = max(purchases.loose - loose, 0.0)
        if loose > _CRUMB or supply.volume <= _CRUMB:
            parts.append(Part(_share(supply, loose), None))
        if (rest := supply.volume - loose) > _CRUMB:
            opened, left_in_bag[supply.material] = _opened(purchases.bags, rest - left_in_bag[supply.material])
            parts.append(Part(_share(supply, rest), opened))
    return tuple(parts)


def _opened(bags: list[Bag], lacking: float) -> tuple[tuple[Bag, ...], float]:
    """Take bags from the list until they hold the lacking volume; return them and the rest of the last one. [m3]

    No more bags are taken than there are: a purchase may be a little less than what is needed.
    """
    opened: list[Bag] = []
    while lacking > _OPENED and bags:
        opened.append(bags.pop(0))
        lacking -= opened[-1].volume
    return tuple(opened), max(-lacking, 0.0)


def _share(supply: Supply, volume: float) -> Supply:
    if volume == supply.volume:
        return supply
    return dataclasses.replace(supply, volume=volume, mass=supply.mass * volume / supply.volume)


def loose_volumes(parts: Iterable[Part]) -> dict[str, float]:
    """Return the volume delivered loose, by material. [m3]"""
    return _volumes(part.supply for part in parts if part.bags is None)


def tipped_volumes(
    parts: Iterable[Part], purchase: Sequence[PurchaseLine], unreached: Iterable[Part] = ()
) -> dict[str, float]:
    """Return the volume tipped loose, by material: all that is delivered, usually more than the beds take. [m3]

    Parameters
    ----------
    parts : iterable of Part
        Supplies with a route to their bed.
    purchase : sequence of PurchaseLine
    unreached : iterable of Part
        Supplies without a route, which are not tipped.
    """
    bought, not_tipped = _bought(purchase), loose_volumes(unreached)
    loose_bought = {name: material.loose - not_tipped.get(name, 0.0) for name, material in bought.items()}
    return {name: max(volume, loose_bought.get(name, 0.0)) for name, volume in loose_volumes(parts).items()}


def delivered_volumes(parts: Iterable[Part]) -> dict[str, float]:
    """Return the total volume delivered, by material. [m3]"""
    return _volumes(part.supply for part in parts)


def _volumes(supplies: Iterable[Supply]) -> dict[str, float]:
    volumes: dict[str, float] = {}
    for supply in supplies:
        if not supply.at:
            volumes[supply.material] = volumes.get(supply.material, 0.0) + supply.volume
    return volumes
