"""What is bought, so that all beds are filled at the least cost?

The stock is used first; the rest of all needs goes through one integer programme. Which bed gets what is decided in
`stock`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from siteplan.fill.buying_programme import ENOUGH, SHORT, Deal, cheapest, tolerated
from siteplan.fill.fill_results import LeftOver, OfferKind, PurchaseLine, StockUse
from siteplan.fill.recipe import material_named
from siteplan.fill.stock import take_stock
from siteplan.land.constants import Material
from siteplan.land.findings import Finding, finding
from siteplan.land.site import Offer, Stock

_WHOLE = 1e-9  # share of a bag that counts as a rounding error


@dataclass(frozen=True, kw_only=True)
class Purchase:
    """The stock used and the purchases that meet a set of needs.

    Attributes
    ----------
    on_hand : tuple of StockUse
        Every piece of stock, used or not.
    lines : tuple of PurchaseLine
        Purchases; then, of kind ``none``, the materials that cannot be bought.
    cost : float
        Sum of the lines that have a cost, in the site's currency.
    left_over : tuple of LeftOver
    """

    on_hand: tuple[StockUse, ...]
    lines: tuple[PurchaseLine, ...]
    cost: float
    left_over: tuple[LeftOver, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Materials that cannot be bought."""
        return tuple(line.material for line in self.lines if line.why is not None)


def buy(
    needs: Mapping[str, float],
    stock: Sequence[Stock],
    offers: Sequence[Offer],
    *,
    materials: Mapping[str, Material],
    storage: float = math.inf,
    bag_handling: float = 0.0,
    break_ties: bool = True,
) -> Purchase:
    """Return how the needs of the whole job are met: from stock first, then by the cheapest purchases.

    Parameters
    ----------
    needs : mapping of str to float
        Loose volume of each material over all beds. [m3]
    stock : sequence of Stock
        Used in their order.
    offers : sequence of Offer
    materials : mapping of str to Material
        Densities of the materials on offer.
    storage : float
        Most that may be bought in all. [m3]
    bag_handling : float
        Cost of the trouble of opening one bag; counted in the choice, not in the cost. [money]
    break_ties : bool
        See `siteplan.fill.buying_programme.cheapest`.

    Returns
    -------
    Purchase
        A material that cannot be bought is in `missing` and has a line without a cost; the others are bought anyway.

    Raises
    ------
    ValueError
        Where a material is not known.

    Notes
    -----
    Counts are rounded up over the whole job, never bed by bed. A thousandth of a need may be lacking, so that
    0.0417 of 48 cubic feet, written for a twenty-fourth, is two bags and not three.

    Examples
    --------
    >>> from siteplan.files.constant_tables import read_materials
    >>> bags = Offer(material="compost", price=5.5, bag=0.028316846592)
    >>> plan = buy({"compost": 0.2643}, [], [bags], materials=read_materials())
    >>> plan.lines[0].count, plan.lines[0].kind, plan.cost
    (10, 'bag', 55.0)
    >>> heap = Stock(material="compost", volume=0.5, at="heap")
    >>> plan = buy({"compost": 0.2, "sand": 0.1}, [heap], [bags], materials=read_materials())
    >>> plan.on_hand[0].volume, plan.cost, plan.missing
    (0.2, 0.0, ('sand',))
    """
    on_hand = take_stock(needs, stock)
    open_needs = _still_wanted(needs, on_hand)
    offered = {name for offer in offers for name, share in _parts(offer).items() if share > 0}
    lacking = {name: finding("no-offer") for name in open_needs if name not in offered}
    to_buy = {name: need for name, need in open_needs.items() if name in offered}
    at_least = {name: need - ENOUGH * needs[name] for name, need in to_buy.items()}
    deals = [deal_of(offer, materials, bag_handling=bag_handling) for offer in offers]
    counts = cheapest(at_least, deals, storage=storage, break_ties=break_ties)
    if counts is None:
        lacking |= dict.fromkeys(to_buy, _no_room(math.fsum(at_least.values()), storage))
        counts = (0,) * len(deals)
    bought = [
        _line(offer, deal, count, materials)
        for offer, deal, count in zip(offers, deals, counts, strict=True)
        if count
    ]
    return Purchase(
        on_hand=on_hand,
        lines=(*bought, *(_lacking(name, open_needs[name], reason) for name, reason in lacking.items())),
        cost=math.fsum(line.cost or 0.0 for line in bought),
        left_over=_left_over(on_hand, bought, to_buy),
    )


def _lacking(material: str, volume: float, reason: Finding) -> PurchaseLine:
    return PurchaseLine(material=material, kind="none", count=0, volume=volume, cost=None, why=reason)


def _no_room(needed: float, storage: float) -> Finding:
    """Return why nothing can be bought: too little storage for the needs, or for the sizes on offer."""
    if needed > storage:
        return finding("no-room", room=storage, wanted=needed)
    return finding("no-fit", room=storage)


def _parts(offer: Offer) -> dict[str, float]:
    """Return the share of each material in an offer."""
    if not offer.mix:
        return {offer.material: 1.0}
    shares: dict[str, float] = {}
    for name, share in offer.mix:
        shares[name] = shares.get(name, 0.0) + share
    return shares


def deal_of(offer: Offer, materials: Mapping[str, Material], *, bag_handling: float = 0.0) -> Deal:
    """Return an offer as a `Deal` for the buying programme; one delivery or trip brings whole bags."""
    parts = _parts(offer)
    size = offer.size
    limits = [limit for limit in (offer.per_delivery, offer.fetch) if limit is not None]
    if offer.payload is not None:  # loaded on a wet day
        limits.append(
            offer.payload / sum(share * material_named(name, materials).density_wet for name, share in parts.items())
        )
    if offer.bag is not None:
        limits = [math.floor(limit / size + _WHOLE) * size for limit in limits]
    return Deal(
        size=size,
        price=offer.price,
        parts=parts,
        delivered=offer.bag is None or offer.delivery > 0 or offer.minimum > 0 or bool(limits),
        minimum=offer.minimum,
        fee=offer.delivery,
        capacity=min(limits, default=math.inf),
        handling=0.0 if offer.bag is None else bag_handling,
    )


def _line(offer: Offer, deal: Deal, count: int, materials: Mapping[str, Material]) -> PurchaseLine:
    volume = count * deal.size
    density = sum(share * material_named(name, materials).density for name, share in deal.parts.items())
    kind: OfferKind = "loose" if offer.fetch is None else "fetch"
    if offer.bag is not None:
        kind = "bag"
    return PurchaseLine(
        material=offer.material,
        kind=kind,
        name=offer.name,
        size=deal.size,
        mass_each=deal.size * density,
        count=count,
        volume=volume,
        cost=deal.cost(count),
        deliveries=deal.deliveries(count),
        parts=tuple((name, volume * share) for name, share in deal.parts.items() if share > 0),
    )


def _still_wanted(needs: Mapping[str, float], on_hand: Sequence[StockUse]) -> dict[str, float]:
    """Return the needs that the stock does not meet, without those within the tolerance. [m3]"""
    open_needs = dict(needs)
    for use in on_hand:
        if use.volume:
            open_needs[use.material] -= use.volume
    return {name: volume for name, volume in open_needs.items() if volume > tolerated(needs[name])}


def _left_over(
    on_hand: Sequence[StockUse], lines: Sequence[PurchaseLine], needs: Mapping[str, float]
) -> tuple[LeftOver, ...]:
    """Return what is left over at the piles, then of each material bought."""
    bought: dict[str, float] = {}
    for line in lines:
        for name, volume in line.parts:
            bought[name] = bought.get(name, 0.0) + volume
    left_over = [LeftOver(material=use.material, at=use.at, volume=use.left) for use in on_hand if use.left > SHORT]
    surplus = {name: volume - needs.get(name, 0.0) for name, volume in bought.items()}
    left_over += [LeftOver(material=name, at="", volume=volume) for name, volume in surplus.items() if volume > SHORT]
    return tuple(left_over)
