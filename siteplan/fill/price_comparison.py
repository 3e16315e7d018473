"""What would the fill cost in bags only, loose only, or without coarse material?

Also, for each material that is sold in bags and loose: from how many bags on it is cheaper loose. The plan itself may
mix bags and loose material.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from siteplan.fill.buying_programme import ENOUGH, Deal
from siteplan.fill.fill_results import Alternative, BreakEven
from siteplan.fill.purchase import Purchase, buy, deal_of
from siteplan.fill.recipe import SOIL, fill_layers, volume_needs
from siteplan.land.constants import Material
from siteplan.land.site import Offer, Site

MOST_BAGS = 2000  # largest number of bags that is compared with loose material
_SAME = 1e-9  # money; tolerance for rounding


def alternatives(site: Site, needs: Mapping[str, float], plan: Purchase) -> tuple[Alternative, ...]:
    """Return what the whole job costs all by the bag, all loose, and with soil in place of coarse material.

    Parameters
    ----------
    site : Site
    needs : mapping of str to float
        Loose volume of each material over all beds. [m3]
    plan : Purchase
        What is bought in the plan, to be compared with.
    """
    bags = [offer for offer in site.offers if offer.bag is not None]
    loose = [offer for offer in site.offers if offer.bag is None]
    compared = [
        _alternative("all bagged", site, needs, bags, plan),
        _alternative("all loose", site, needs, loose, plan),
    ]
    if SOIL in site.materials:
        layered = fill_layers(site.beds, site.recipe, site.materials)
        plain = fill_layers(site.beds, site.recipe, site.materials, coarse=False)
        if plain != layered:
            compared.append(_alternative("no coarse layer", site, volume_needs(plain), site.offers, plan))
    return tuple(compared)


def _alternative(
    name: str, site: Site, needs: Mapping[str, float], offers: Sequence[Offer], plan: Purchase
) -> Alternative:
    """Return one alternative; what the plan itself cannot get either is left out on both sides."""
    purchase = buy(
        needs,
        site.stock,
        offers,
        materials=site.materials,
        storage=site.fill.storage,
        bag_handling=site.fill.bag_handling,
        break_ties=False,
    )
    lacking = tuple(sorted(set(purchase.missing) - set(plan.missing)))
    if lacking:
        reasons = {line.material: line.why.code for line in purchase.lines if line.why is not None}
        not_offered = tuple(material for material in lacking if reasons[material] == "no-offer")
        return Alternative(
            name=name,
            total_cost=None,
            lacking=not_offered or lacking,
            only_this_way=True,
            too_much=not not_offered,
        )
    lacking = tuple(sorted(purchase.missing))
    if lacking and len(lacking) == len(purchase.lines):
        return Alternative(name=name, total_cost=None, lacking=lacking)
    same_missing = set(purchase.missing) == set(plan.missing)
    saving = purchase.cost - plan.cost if same_missing else None
    return Alternative(name=name, total_cost=purchase.cost, lacking=lacking, saving=saving)


def break_evens(offers: Sequence[Offer], materials: Mapping[str, Material]) -> tuple[BreakEven, ...]:
    """Return, for each material that is sold by the bag and loose, from how many bags on it is cheaper loose.

    Parameters
    ----------
    offers : sequence of Offer
        Blends are left out.
    materials : mapping of str to Material
        What they weigh, for trips that are limited by their payload.

    Examples
    --------
    24 bags cost 120, and so do three steps with their delivery; 25 bags cost 125, 31 bags 155 against 140, and so on:

    >>> from siteplan.files.constant_tables import read_materials
    >>> bag = Offer(material="topsoil", price=5, bag=0.05)
    >>> loose = Offer(material="topsoil", price=20, loose=0.5, delivery=60)
    >>> break_evens([bag, loose], read_materials())[0].bags
    25
    """
    pure = [offer for offer in offers if not offer.mix]
    comparisons = []
    for name in dict.fromkeys(offer.material for offer in pure):
        bags = [deal_of(offer, materials) for offer in pure if offer.material == name and offer.bag is not None]
        loose = [deal_of(offer, materials) for offer in pure if offer.material == name and offer.bag is None]
        if bags and loose:
            size = min(bags, key=lambda deal: deal.price / deal.size).size
            comparisons.append(BreakEven(material=name, bag=size, bags=_cheaper_from(size, bags, loose)))
    return tuple(comparisons)


def _cheaper_from(size: float, bags: Sequence[Deal], loose: Sequence[Deal]) -> int | None:
    """Return the least count of bags of that size from which on loose material always costs less.

    Each count's volume is bought in whole bags of one kind, and in whole steps of one loose offer with its minimum
    and all its deliveries or trips. The counts are gone through from the largest downwards, up to the first at which
    bags cost no more. The largest is that beyond which loose material must be cheaper, for its steps, trips and
    minimum together add no more than a fixed sum to its price for the volume.
    """
    by_bag = min(_price_for_volume(deal) for deal in bags) * (1 - ENOUGH)
    bounds = [
        _fixed_sum(deal) / (by_bag - slope) for deal in loose if (slope := _price_for_volume(deal)) < by_bag - _SAME
    ]
    if not bounds:
        return None
    most_bags = min(MOST_BAGS, math.ceil(min(bounds) / size) + 1)
    cheaper_from = most_bags + 1
    for count in range(most_bags, 0, -1):
        if not _least_cost(loose, count * size) < _least_cost(bags, count * size) - _SAME:
            break
        cheaper_from = count
    return cheaper_from if cheaper_from <= most_bags else None


def _least_cost(deals: Sequence[Deal], volume: float) -> float:
    """Return what a volume costs by the cheapest one of some deals; a thousandth of it may be lacking. [money]"""
    return min(deal.cost(deal.fewest(volume * (1 - ENOUGH))) for deal in deals)


def _price_for_volume(deal: Deal) -> float:
    """Return the price of a volume that comes in full bags, steps and deliveries. [money per m3]"""
    return deal.price / deal.size + (deal.fee / deal.capacity if deal.delivered else 0.0)


def _fixed_sum(deal: Deal) -> float:
    """Return the most that a deal may cost beyond its price for the volume: a last step, a last trip, the minimum."""
    extra_volume = deal.size + deal.minimum
    return extra_volume * _price_for_volume(deal) + deal.fee
