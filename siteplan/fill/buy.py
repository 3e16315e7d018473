"""What is taken from the stock, and what is bought, so that all beds are filled at the least cost?

Stock first, pile by pile as listed; what is still wanted of all beds together goes through one integer programme.
It leaves out which bed gets what: the plan shares it out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from siteplan.fill.programme import ENOUGH, SHORT, Deal, cheapest, tolerated
from siteplan.fill.results import LeftOver, OfferKind, PurchaseLine, StockUse
from siteplan.land.cautions import Finding, finding
from siteplan.land.materials import Material
from siteplan.land.site import Offer, Stock


@dataclass(frozen=True, kw_only=True)
class Purchase:
    """What serves a set of needs.

    Attributes
    ----------
    on_hand : tuple of StockUse
        Every piece of stock, used or not.
    lines : tuple of PurchaseLine
        What is bought; then, of kind ``none``, what is lacking.
    cost : float
        Of all lines that have one, in the site's currency.
    left_over : tuple of LeftOver
    """

    on_hand: tuple[StockUse, ...]
    lines: tuple[PurchaseLine, ...]
    cost: float
    left_over: tuple[LeftOver, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Materials that cannot be had."""
        return tuple(line.material for line in self.lines if line.why is not None)


def buy(
    needs: Mapping[str, float],
    stock: Sequence[Stock] = (),
    offers: Sequence[Offer] = (),
    *,
    materials: Mapping[str, Material] | None = None,
    storage: float = math.inf,
    bag_handling: float = 0.0,
    break_ties: bool = True,
) -> Purchase:
    """Return what serves the needs of the whole job: stock first, then the cheapest of the offers.

    Parameters
    ----------
    needs : mapping of str to float
        Loose volume of each material over all beds. [m3]
    stock : sequence of Stock
        Used in their order.
    offers : sequence of Offer
    materials : mapping of str to Material, optional
        Wanted where an own trip is limited by its payload.
    storage : float
        Most that may be bought in all. [m3]
    bag_handling : float
        What opening one bag is worth; counted in the choice, not in the cost. [money]
    break_ties : bool
        See `siteplan.fill.programme.cheapest`.

    Returns
    -------
    Purchase
        What cannot be had stands in `missing` and has a line without a cost; the rest is bought all the same.

    Notes
    -----
    Counts are rounded up over the whole job, never bed by bed. A thousandth of a need may be lacking, so that
    0.0417 of 48 cubic feet, written for a twenty-fourth, is two bags and not three.

    Examples
    --------
    >>> bags = Offer(material="compost", price=5.5, bag=0.028316846592)
    >>> plan = buy({"compost": 0.2643}, [], [bags])
    >>> plan.lines[0].count, plan.lines[0].kind, plan.cost
    (10, 'bag', 55.0)
    >>> plan = buy({"compost": 0.2, "sand": 0.1}, [Stock(material="compost", volume=0.5, at="heap")], [bags])
    >>> plan.on_hand[0].volume, plan.cost, plan.missing
    (0.2, 0.0, ('sand',))
    """
    on_hand = take_stock(needs, stock)
    rest = _still_wanted(needs, on_hand)
    offered = {name for offer in offers for name, share in _parts(offer).items() if share > 0}
    lacking = {name: finding("no-offer") for name in rest if name not in offered}
    wanted = {name: need for name, need in rest.items() if name in offered}
    at_least = {name: need - ENOUGH * needs[name] for name, need in wanted.items()}
    deals = [_deal(offer, materials or {}, bag_handling) for offer in offers]
    counts = cheapest(at_least, deals, storage=storage, break_ties=break_ties)
    if counts is None:
        lacking |= dict.fromkeys(wanted, _no_room(math.fsum(at_least.values()), storage))
        counts = (0,) * len(deals)
    table = materials or {}
    lines = [
        _line(offer, deal, count, table) for offer, deal, count in zip(offers, deals, counts, strict=True) if count
    ]
    bought = tuple(lines)
    lines += [
        PurchaseLine(material=name, kind="none", count=0, volume=rest[name], cost=None, why=why)
        for name, why in lacking.items()
    ]
    return Purchase(
        on_hand=on_hand,
        lines=tuple(lines),
        cost=math.fsum(line.cost or 0.0 for line in lines),
        left_over=_left_over(on_hand, bought, wanted),
    )


def _no_room(wanted: float, storage: float) -> Finding:
    """Return why nothing can be bought: too little room for what is wanted, or for the sizes in which it is sold."""
    if wanted > storage:
        return finding("no-room", room=storage, wanted=wanted)
    return finding("no-fit", room=storage)


def take_stock(needs: Mapping[str, float], stock: Sequence[Stock]) -> tuple[StockUse, ...]:
    """Return what the needs take of each piece of stock, in its order.

    Examples
    --------
    >>> heaps = [Stock(material="topsoil", volume=1.0, at="drive"), Stock(material="topsoil", volume=1.0, at="shed")]
    >>> [(use.at, use.volume, use.left) for use in take_stock({"topsoil": 1.25}, heaps)]
    [('drive', 1.0, 0.0), ('shed', 0.25, 0.75)]
    """
    open_needs = dict(needs)
    uses = []
    for piece in stock:
        taken = min(piece.volume, open_needs.get(piece.material, 0.0))
        open_needs[piece.material] = open_needs.get(piece.material, 0.0) - taken
        uses.append(StockUse(material=piece.material, at=piece.at, volume=taken, left=piece.volume - taken))
    return tuple(uses)


def break_even(bag: Offer, loose: Offer) -> float:
    """Return the volume above which the loose offer is cheaper than the bags, steps left aside.

    Returns
    -------
    float
        Infinite where bags stay cheaper. [m3]

    Notes
    -----
    delivery / (price of bags per volume - price of loose per volume), for one delivery. Where that is less than the
    loose offer's minimum, which must then be paid for whole: what the minimum costs / price of bags per volume.

    Examples
    --------
    >>> bag = Offer(material="topsoil", price=5, bag=1.5)
    >>> break_even(bag, Offer(material="topsoil", price=45, loose=27, delivery=90))
    54.0
    >>> break_even(bag, Offer(material="topsoil", price=45, loose=27, delivery=90, minimum=81))
    67.5
    """
    if bag.bag is None or loose.loose is None:
        raise ValueError("break_even wants an offer by the bag and a loose one, in this order")
    by_bag, by_step = bag.price / bag.bag, loose.price / loose.loose
    if by_bag <= by_step:
        return math.inf
    volume = loose.delivery / (by_bag - by_step)
    return volume if volume >= loose.minimum else (loose.minimum * by_step + loose.delivery) / by_bag


def _parts(offer: Offer) -> dict[str, float]:
    """Return the share of each material in an offer."""
    if not offer.mix:
        return {offer.material: 1.0}
    shares: dict[str, float] = {}
    for name, share in offer.mix:
        shares[name] = shares.get(name, 0.0) + share
    if min(shares.values()) < 0 or not math.isclose(math.fsum(shares.values()), 1.0, abs_tol=1e-6):
        raise ValueError(f"the blend {offer.material!r} has parts that do not sum to 1")
    return shares


def _deal(offer: Offer, materials: Mapping[str, Material], bag_handling: float) -> Deal:
    parts = _parts(offer)
    size = offer.loose if offer.bag is None else offer.bag
    if size is None:
        raise ValueError(f"the offer of {offer.material!r} is neither by the bag nor loose")
    capacity = _capacity(offer, parts, materials)
    return Deal(
        size=size,
        price=offer.price,
        parts=parts,
        delivered=offer.bag is None or offer.delivery > 0 or offer.minimum > 0 or math.isfinite(capacity),
        minimum=offer.minimum,
        fee=offer.delivery,
        capacity=capacity,
        handling=0.0 if offer.bag is None else bag_handling,
    )


def _capacity(offer: Offer, parts: Mapping[str, float], materials: Mapping[str, Material]) -> float:
    """Return the most that one delivery or own trip brings; an own trip by volume and by wet mass. [m3]"""
    limits = [limit for limit in (offer.per_delivery, offer.fetch) if limit is not None]
    if offer.payload is not None and all(name in materials for name in parts):
        density = sum(share * materials[name].density_wet for name, share in parts.items())
        limits.append(offer.payload / density)
    return min(limits, default=math.inf)


def _line(offer: Offer, deal: Deal, count: int, materials: Mapping[str, Material]) -> PurchaseLine:
    volume = count * deal.size
    kind: OfferKind = "bag" if offer.bag is not None else "loose" if offer.fetch is None else "fetch"
    known = all(name in materials for name in deal.parts)
    density = sum(share * materials[name].density for name, share in deal.parts.items()) if known else math.nan
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
    """Return what the stock leaves open, where it is more than may be lacking. [m3]"""
    rest = dict(needs)
    for use in on_hand:
        if use.volume:
            rest[use.material] -= use.volume
    return {name: volume for name, volume in rest.items() if volume > tolerated(needs[name])}


def _left_over(
    on_hand: Sequence[StockUse], lines: Sequence[PurchaseLine], wanted: Mapping[str, float]
) -> tuple[LeftOver, ...]:
    """Return what stays at the piles, then what stays of each material bought."""
    bought: dict[str, float] = {}
    for line in lines:
        for name, volume in line.parts:
            bought[name] = bought.get(name, 0.0) + volume
    stays = [LeftOver(material=use.material, at=use.at, volume=use.left) for use in on_hand if use.left > SHORT]
    surplus = {name: volume - wanted.get(name, 0.0) for name, volume in bought.items()}
    stays += [LeftOver(material=name, at="", volume=volume) for name, volume in surplus.items() if volume > SHORT]
    return tuple(stays)
