"""What does a plan of the fill say?

Plain records, in SI and in the site's currency; the modules beside this one compute them.
It leaves out rounding and people's units: those belong to whoever prints.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.land.site import Caution

OfferKind = Literal["bag", "loose", "fetch", "none"]


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One layer of one bed, as filled to the brim.

    Attributes
    ----------
    bed, material : str
    order : int
        0 at the bottom.
    bottom, top : float
        Above the bed's floor. [m]
    volume : float
        Loose, as it comes off the barrow. [m3]
    mass, mass_wet : float
        Moist as delivered, and on a wet day. [kg]
    settled : float
        Thickness after the first year. [m]
    """

    bed: str
    order: int
    material: str
    bottom: float
    top: float
    volume: float
    mass: float
    settled: float
    mass_wet: float = 0.0


@dataclass(frozen=True, kw_only=True)
class StockUse:
    """What is taken from one pile, and what stays there. [m3]"""

    material: str
    at: str
    volume: float
    left: float


@dataclass(frozen=True, kw_only=True)
class PurchaseLine:
    """One line of the shopping list.

    Attributes
    ----------
    material : str
        Several names joined by `` + `` where the offer is a blend.
    offer : str
        The offer in words; empty where nobody offers it.
    kind : str
        ``bag``, ``loose`` (delivered), ``fetch`` (own pick-up) or ``none`` (nobody offers it).
    count : int
        Bags, or steps of loose material.
    volume : float
        What comes; what is lacking where nobody offers it. [m3]
    cost : float or None
        Delivery included, in the site's currency; None where nobody offers it.
    deliveries : int
        Lorry loads, or own trips for ``fetch``.
    parts : tuple of (str, float)
        Volume that comes of each material. [m3]
    """

    material: str
    offer: str
    kind: OfferKind
    count: int
    volume: float
    cost: float | None
    deliveries: int = 0
    parts: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """Another way to do the whole job; `total_cost` is None where it cannot be done, and `why` says why."""

    name: str
    total_cost: float | None
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What goes from one place into one layer of one bed.

    Attributes
    ----------
    bed, material : str
    at : str
        Id of the pile; empty for what is bought, which lies where the delivery is tipped.
    volume, mass : float
        Loose, and moist. [m3, kg]
    order : int
        The layer, 0 at the bottom.
    """

    bed: str
    material: str
    at: str
    volume: float
    mass: float
    order: int = 0


@dataclass(frozen=True, kw_only=True)
class LeftOver:
    """What stays over when all beds are full: at a pile, or of what is bought (`at` empty). [m3]"""

    material: str
    at: str
    volume: float


@dataclass(frozen=True, kw_only=True)
class FillPlan:
    """The fill of all beds of a property.

    Attributes
    ----------
    layers : tuple of Layer
        Bed by bed, bottom to top.
    on_hand : tuple of StockUse
        Every piece of stock, used or not.
    purchase : tuple of PurchaseLine
    total_cost : float
        Of all that is bought, in the site's currency; a material that nobody offers is not in it.
    alternatives : tuple of Alternative
    supplies : tuple of Supply
    left_over : tuple of LeftOver
    cautions : tuple of Caution
    """

    layers: tuple[Layer, ...]
    on_hand: tuple[StockUse, ...]
    purchase: tuple[PurchaseLine, ...]
    total_cost: float
    alternatives: tuple[Alternative, ...]
    supplies: tuple[Supply, ...]
    left_over: tuple[LeftOver, ...]
    cautions: tuple[Caution, ...]

    @property
    def complete(self) -> bool:
        """Whether all that is needed is on hand or can be bought."""
        return all(line.cost is not None for line in self.purchase)
