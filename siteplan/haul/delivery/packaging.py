"""What is delivered loose, what in bags?

Each supply in the parts in which it comes; of bags those that are opened for it, each bag opened once.
It leaves out where they lie, and when the lorry comes.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from siteplan.fill.fill_results import PurchaseLine, Supply

_CRUMB = 1e-9  # m3, no more than rounding
_OPENED = 1e-6  # m3, a spoonful: no bag is opened for less


@dataclass(frozen=True)
class Part:
    """A supply, or the part of it that comes in one way.

    Attributes
    ----------
    supply : Supply
    bags : tuple of float or None
        Volumes of the bags that are carried for it; None where it lies loose. A bag that serves two beds is carried
        to the first. [m3]
    """

    supply: Supply
    bags: tuple[float, ...] | None


@dataclass
class _Bought:
    bags: list[float] = field(default_factory=list)  # m3 each, with what else is in it where it holds a blend
    loose: float = 0.0  # m3


def _bought(purchase: Sequence[PurchaseLine]) -> dict[str, _Bought]:
    """Return what comes of each material, in bags and loose; the largest bags first."""
    found: dict[str, _Bought] = {}
    for line in purchase:
        for name, volume in line.parts or ((line.material, line.volume),):
            one = found.setdefault(name, _Bought())
            if line.kind == "bag" and line.count > 0:
                one.bags += [line.volume / line.count] * line.count
            else:
                one.loose += volume
    for one in found.values():
        one.bags.sort(reverse=True)
    return found


def bag_volumes(purchase: Sequence[PurchaseLine]) -> dict[str, float]:
    """Return the volume of a bag of each material that comes in bags alone; of several sizes their mean. [m3]"""
    return {
        name: sum(one.bags) / len(one.bags)
        for name, one in _bought(purchase).items()
        if one.bags and one.loose <= _CRUMB
    }


def delivered_parts(supplies: Sequence[Supply], purchase: Sequence[PurchaseLine]) -> tuple[Part, ...]:
    """Return the supplies, those that come partly loose and partly in bags in two parts.

    Parameters
    ----------
    supplies : sequence of Supply
    purchase : sequence of PurchaseLine
        What lies loose is used first, layer by layer in the order of the supplies; bags that are left keep.

    Notes
    -----
    What a bag holds beyond the bed for which it is opened goes into the next one, so that no more bags are carried
    than bought.
    """
    bought = _bought(purchase)
    over = dict.fromkeys(bought, 0.0)  # of the bag opened last
    parts: list[Part] = []
    for item in supplies:
        known = bought.get(item.material)
        if item.at or known is None or not known.bags:
            parts.append(Part(item, None))
            continue
        loose = min(item.volume, known.loose)
        if item.volume - loose <= _CRUMB:
            loose = item.volume
        known.loose = max(known.loose - loose, 0.0)
        if loose > _CRUMB or item.volume <= _CRUMB:
            parts.append(Part(_share(item, loose), None))
        if (rest := item.volume - loose) > _CRUMB:
            opened, over[item.material] = _opened(known.bags, rest - over[item.material])
            parts.append(Part(_share(item, rest), opened))
    return tuple(parts)


def _opened(bags: list[float], lacking: float) -> tuple[tuple[float, ...], float]:
    """Take bags until they hold what is lacking; return them and what is left in the last. [m3]

    Where more is lacking than was bought, bags like the last are taken to be had.
    """
    opened: list[float] = []
    while lacking > _OPENED:
        opened.append(bags.pop(0) if len(bags) > 1 else bags[0])
        lacking -= opened[-1]
    return tuple(opened), max(-lacking, 0.0)


def _share(item: Supply, volume: float) -> Supply:
    if volume == item.volume:
        return item
    return dataclasses.replace(item, volume=volume, mass=item.mass * volume / item.volume)


def loose_volumes(parts: Iterable[Part]) -> dict[str, float]:
    """Return what is delivered loose, by material. [m3]"""
    return _volumes(part.supply for part in parts if part.bags is None)


def tipped_volumes(
    parts: Iterable[Part], purchase: Sequence[PurchaseLine], barred: Iterable[Part] = ()
) -> dict[str, float]:
    """Return what is tipped loose, by material: all that the lorry brings, more than the beds take as a rule. [m3]

    Parameters
    ----------
    parts : iterable of Part
        That get to a bed.
    purchase : sequence of PurchaseLine
    barred : iterable of Part
        That do not, and so are not tipped.
    """
    bought, kept_back = _bought(purchase), loose_volumes(barred)
    whole = {name: one.loose - kept_back.get(name, 0.0) for name, one in bought.items()}
    return {name: max(volume, whole.get(name, 0.0)) for name, volume in loose_volumes(parts).items()}


def delivered_volumes(parts: Iterable[Part]) -> dict[str, float]:
    """Return what is delivered in all, by material. [m3]"""
    return _volumes(part.supply for part in parts)


def _volumes(supplies: Iterable[Supply]) -> dict[str, float]:
    volumes: dict[str, float] = {}
    for item in supplies:
        if not item.at:
            volumes[item.material] = volumes.get(item.material, 0.0) + item.volume
    return volumes
