"""What goes into all beds of a property, what is on hand, what must be bought, and what else would it cost?

Asks the modules beside it in their order; proposed beds count as beds.
It leaves out formulas of its own, and the way of the material to the bed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from siteplan.fill.buy import Purchase, buy
from siteplan.fill.recipe import fill_layers, volume_needs, without_coarse
from siteplan.fill.results import Alternative, FillPlan
from siteplan.fill.supply import share_out
from siteplan.land.site import Caution, Offer, Site

#: what takes the place of the coarse base where it is left out
_SOIL = "topsoil"


def plan_fill(
    site: Site, *, priority: Sequence[str] = (), storage: float = math.inf, bag_handling: float = 0.0
) -> FillPlan:
    """Return the plan of the fill of all beds of a site.

    Parameters
    ----------
    site : Site
        Its beds, recipe, stock, offers and materials are read.
    priority : sequence of str
        Ids of the beds that the stock serves first; the others follow in their own order.
    storage : float
        Most that may be bought in all. [m3]
    bag_handling : float
        What opening one bag is worth, counted in the choice but not in the bill. [money]

    Returns
    -------
    FillPlan

    Raises
    ------
    ValueError
        Where the recipe names a material that is not in the site's table.
    """
    layers = fill_layers(site.beds, site.recipe, site.materials)
    needs = volume_needs(layers)
    bought = buy(
        needs,
        site.stock,
        site.offers,
        materials=site.materials,
        storage=storage,
        bag_handling=bag_handling,
        units=site.units,
    )
    return FillPlan(
        layers=layers,
        on_hand=bought.on_hand,
        purchase=bought.lines,
        total_cost=bought.cost,
        alternatives=_alternatives(site, needs, bought, storage),
        supplies=share_out(layers, bought.on_hand, priority=priority),
        left_over=bought.left_over,
        cautions=no_offer_cautions(bought),
    )


def no_offer_cautions(bought: Purchase) -> tuple[Caution, ...]:
    """Return a word on each material that is lacking."""
    volumes = {line.material: line.volume for line in bought.lines if line.kind == "none"}
    return tuple(
        Caution(
            "no-offer",
            "",
            f"{volumes[name] * 1000:.0f} L of {name} are neither on hand nor to be had: {why}. "
            "The total leaves them out; add an offer or a stock of it, or collect it.",
        )
        for name, why in bought.missing.items()
    )


def _alternatives(
    site: Site, needs: Mapping[str, float], bought: Purchase, storage: float
) -> tuple[Alternative, ...]:
    """Return what the whole job costs otherwise: all by the bag, all loose, no coarse layer."""
    bags = [offer for offer in site.offers if offer.bag is not None]
    loose = [offer for offer in site.offers if offer.bag is None]
    others = [
        _priced("all bagged", site, needs, bags, bought, storage),
        _priced("all loose", site, needs, loose, bought, storage),
    ]
    plain = without_coarse(site.recipe, site.materials, instead=_SOIL)
    if plain != site.recipe and _SOIL in site.materials:
        plain_needs = volume_needs(fill_layers(site.beds, plain, site.materials))
        others.append(_priced("no coarse layer", site, plain_needs, site.offers, bought, storage))
    return tuple(others)


def _priced(
    name: str, site: Site, needs: Mapping[str, float], offers: Sequence[Offer], bought: Purchase, storage: float
) -> Alternative:
    """Return one alternative; what the plan itself cannot get either is left out on both sides."""
    other = buy(
        needs, site.stock, offers, materials=site.materials, storage=storage, units=site.units, break_ties=False
    )
    lacking = sorted(set(other.missing) - set(bought.missing))
    if lacking:
        return Alternative(name=name, total_cost=None, why=f"cannot be had this way: {', '.join(lacking)}")
    left_out = sorted(set(other.missing))
    why = f"without {', '.join(left_out)}, which cannot be had" if left_out else ""
    return Alternative(name=name, total_cost=other.cost, why=why)
