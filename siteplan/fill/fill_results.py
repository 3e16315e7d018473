"""What is in a fill plan?

Records of plain figures, in SI units and in the site's currency. The other modules of this folder compute them.
Rounding, other units and texts are in `siteplan.say`.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.fill.bed_results import BedFill
from siteplan.land.document import CubicMetres, Hidden, Kilograms, Metres, Named, Unit
from siteplan.land.findings import Finding

OfferKind = Literal["bag", "loose", "fetch", "none"]


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One layer of one bed, as filled to the brim.

    Attributes
    ----------
    bed, material : str
    order : int
        0 for what goes in first, at the bottom.
    bottom, top : float
        Above the bed's floor. [m]
    volume : float
        Loose, as it comes off the barrow. [m3]
    mass, mass_wet : float
        Moist as delivered, and on a wet day. [kg]
    settled : float
        Thickness after the first year. [m]
    blend : str
        Name of the blend that it is a part of, else empty. The parts of a blend are computed as layers on top of each
        other.
    base : bool
        Whether it is part of the coarse base, below the root zone.
    lifts : int
        Number of steps in which it, or the whole blend, is filled in; each is wetted and settles before the next.
    tier : int
        Number of the tier under whose ledge it lies, 1 for the lowest.
    frame : int
        Number of the frame within whose walls it lies, 1 for the lowest.
    recipe_layer : int
        Number of the recipe's layer that it comes from, 0 for the lowest; the parts of one blend share it.
    """

    bed: str
    order: int
    material: str
    bottom: Metres
    top: Metres
    volume: CubicMetres
    mass: Kilograms
    settled: Metres
    mass_wet: Kilograms = 0.0
    blend: str = ""
    base: bool = False
    lifts: int = 1
    tier: int = 1
    frame: int = 1
    recipe_layer: Hidden[int] = 0

    @property
    def thickness(self) -> float:
        """How thick it is when filled. [m]"""
        return self.top - self.bottom

    @property
    def mixture(self) -> tuple[str, int]:
        """Equal for those layers of a column that are mixed before they go in: the parts of one blend."""
        return self.blend, self.recipe_layer if self.blend else self.order


@dataclass(frozen=True, kw_only=True)
class StockUse:
    """What is taken from one pile, and what stays there. [m3]"""

    material: str
    at: str
    volume: CubicMetres
    left: CubicMetres


@dataclass(frozen=True, kw_only=True)
class PurchaseLine:
    """One line of the shopping list.

    Attributes
    ----------
    material : str
        Name of the material, or of the blend.
    kind : str
        ``bag``, ``loose`` (delivered), ``fetch`` (own pick-up) or ``none`` (it cannot be had).
    count : int
        Number of bags, or of steps of loose material.
    volume : float
        Volume that is bought; of a material that cannot be had, the volume that is lacking. [m3]
    cost : float or None
        Cost with delivery, in the site's currency; None if it cannot be had.
    name : str
        Name of the shop or the offer; may be empty.
    size, mass_each : float
        Volume and moist mass of one bag or one step. [m3, kg]
    deliveries : int
        Number of lorry loads, or of own trips for ``fetch``.
    parts : tuple of (str, float)
        Volume of each material in it. [m3]
    why : Finding or None
        Why it cannot be had: ``no-offer``, ``no-room``, or ``no-fit`` (no size fits the room); None if it can.
    """

    material: str
    kind: OfferKind
    count: int
    volume: CubicMetres
    cost: float | None
    name: Hidden[str] = ""
    size: Hidden[float] = 0.0
    mass_each: Hidden[float] = 0.0
    deliveries: int = 0
    parts: Hidden[tuple[tuple[str, float], ...]] = ()
    why: Hidden[Finding | None] = None


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """Another way to do the whole job.

    Attributes
    ----------
    name : str
        ``all bagged``, ``all loose`` or ``no coarse layer``.
    total_cost : float or None
        None if it is impossible, or if nothing of it has a price.
    lacking : tuple of str
        Materials that cannot be had this way.
    only_this_way : bool
        Whether they can be had in the plan itself.
    too_much : bool
        Whether all is offered, but does not fit into the storage this way.
    saving : float or None
        What the plan saves against it; None if the two do not bring the same materials.
    """

    name: str
    total_cost: float | None
    lacking: Hidden[tuple[str, ...]] = ()
    only_this_way: Hidden[bool] = False
    too_much: Hidden[bool] = False
    saving: float | None = None


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Material from one source for one layer of one bed.

    Attributes
    ----------
    bed, material : str
    at : str
        Id of the pile; empty for purchases, which lie where the delivery is tipped.
    volume, mass : float
        Loose volume, and moist mass. [m3, kg]
    order : int
        Number of the layer, 0 at the bottom.
    """

    bed: str
    material: str
    at: str
    volume: float
    mass: float
    order: int = 0


@dataclass(frozen=True, kw_only=True)
class LeftOver:
    """What is left over when all beds are full: at a pile, or (with an empty `at`) of the purchases. [m3]"""

    material: str
    at: str
    volume: CubicMetres


@dataclass(frozen=True, kw_only=True)
class TopUp:
    """The material that fills one bed to the brim again after one year.

    Attributes
    ----------
    bed : str
    year : int
        1 for the first autumn after filling.
    drop : float
        How far the surface has sunk since it was last level with the brim. [m]
    volumes : tuple of (str, float)
        Loose volume of each material. [m3]
    """

    bed: Hidden[str]
    year: int
    drop: Metres
    volumes: Hidden[tuple[tuple[str, float], ...]]


@dataclass(frozen=True, kw_only=True)
class TopUpYear:
    """The top-up of all beds in one year.

    Attributes
    ----------
    year : int
    volumes : tuple of (str, float)
        Loose volume of each material for all beds. [m3]
    left_over : tuple of (str, float)
        The part that is on hand: at the piles, left over from purchases of earlier years, and added each year. [m3]
    cost : float or None
        Cost of the rest at the site's offers; None if nothing of it can be had.
    lacking : tuple of str
        Materials that are neither on hand nor on offer; they are not in `cost`.
    """

    year: int
    volumes: Hidden[tuple[tuple[str, float], ...]]
    left_over: Hidden[tuple[tuple[str, float], ...]]
    cost: float | None
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BreakEven:
    """From how many bags on a material is cheaper loose.

    Attributes
    ----------
    material : str
    bag : float
        Volume of the bag that is the cheapest for its volume. [m3]
    bags : int or None
        From this number on, bags cost more than the same volume loose; None if bags are always cheaper.
    """

    material: str
    bag: CubicMetres
    bags: int | None

    @property
    def volume(self) -> float:
        """The volume in those bags; infinite if bags are always cheaper. [m3]"""
        return math.inf if self.bags is None else self.bags * self.bag


@dataclass(frozen=True, kw_only=True)
class SoilRules:
    """Consequences of a soil test and of manure in the ground; None if nothing is known of them.

    Attributes
    ----------
    lead : float or None
        Total. [mg/kg]
    lead_class : str or None
        See `siteplan.fill.safety.lead_class`.
    harvest_touching, harvest_clear : date or None
        First day on which a crop may be picked that touches the soil, and one that does not.
    """

    lead: Annotated[float | None, Unit("ppm")] = None
    lead_class: str | None = None
    harvest_touching: Annotated[dt.date | None, Named("harvest_touching_soil_from")] = None
    harvest_clear: Annotated[dt.date | None, Named("harvest_clear_of_soil_from")] = None


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
        Cost of all purchases, in the site's currency; a material that nobody offers is not in it.
    alternatives : tuple of Alternative
    supplies : tuple of Supply
    left_over : tuple of LeftOver
    findings : tuple of Finding
        What to know before filling: `siteplan.say` has the words.
    beds : tuple of BedFill
        The beds that have space within their walls.
    top_ups : tuple of TopUp
        Bed by bed, for three years.
    top_up_years : tuple of TopUpYear
        The same over all beds, with their cost.
    break_evens : tuple of BreakEven
        For each material that is offered in bags and loose.
    full : tuple of str
        Ids of the beds that are full already: nothing is brought to them.
    soil : SoilRules
    """

    layers: tuple[Layer, ...]
    on_hand: tuple[StockUse, ...]
    purchase: tuple[PurchaseLine, ...]
    total_cost: Hidden[float]
    alternatives: tuple[Alternative, ...]
    supplies: Hidden[tuple[Supply, ...]]
    left_over: tuple[LeftOver, ...]
    findings: Hidden[tuple[Finding, ...]]
    beds: Hidden[tuple[BedFill, ...]] = ()
    top_ups: Hidden[tuple[TopUp, ...]] = ()
    top_up_years: Annotated[tuple[TopUpYear, ...], Named("top_up")] = ()
    break_evens: Annotated[tuple[BreakEven, ...], Named("loose_beats_bags_from")] = ()
    full: Annotated[tuple[str, ...], Named("full_already")] = ()
    soil: SoilRules = SoilRules()

    @property
    def complete(self) -> bool:
        """Whether all that is needed is on hand or can be bought."""
        return not self.lacking

    @property
    def lacking(self) -> tuple[str, ...]:
        """Materials that are neither on hand nor on offer."""
        return tuple(line.material for line in self.purchase if line.cost is None)

    @property
    def bought(self) -> dict[str, float]:
        """Volume bought of each material, in whole bags and steps: usually more than the beds need. [m3]"""
        volumes: dict[str, float] = {}
        for line in self.purchase:
            for name, volume in line.parts:
                volumes[name] = volumes.get(name, 0.0) + volume
        return volumes

    @property
    def price(self) -> float | None:
        """The total cost; None if material is lacking and nothing can be bought."""
        return None if self.lacking and len(self.lacking) == len(self.purchase) else self.total_cost
