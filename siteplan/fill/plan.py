"""What goes into all beds of a property, what is on hand, what must be bought, and what else would it cost?

Asks the modules beside it in their order; proposed beds count as beds.
It leaves out formulas of its own, and the way of the material to the bed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from siteplan.fill.advice import fill_cautions
from siteplan.fill.buy import Purchase, break_even, buy
from siteplan.fill.recipe import fill_layers, inside, volume_needs, without_coarse
from siteplan.fill.results import Alternative, BedFill, BreakEven, FillPlan, Layer, TopUp, TopUpYear
from siteplan.fill.settle import top_ups
from siteplan.fill.slope import volume_over_ground
from siteplan.fill.supply import share_out
from siteplan.fill.water import moistening_water, watering
from siteplan.fill.weight import brace_spacing, ground_pressure, wall_load
from siteplan.land.features import Bed
from siteplan.land.site import Caution, Offer, Site
from siteplan.land.units import System, volume_text

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
    cautions = no_offer_cautions(bought, site.units) + fill_cautions(site, layers, bought.lines)
    sinking = top_ups(layers, site.materials)
    return FillPlan(
        layers=layers,
        on_hand=bought.on_hand,
        purchase=bought.lines,
        total_cost=bought.cost,
        alternatives=_alternatives(site, needs, bought, storage),
        supplies=share_out(layers, bought.on_hand, priority=priority),
        left_over=bought.left_over,
        cautions=tuple(dict.fromkeys(cautions)),
        beds=bed_fills(site, layers),
        top_ups=sinking,
        top_up_years=_top_up_years(site, sinking),
        break_evens=break_evens(site.offers),
    )


def bed_fills(site: Site, layers: Sequence[Layer]) -> tuple[BedFill, ...]:
    """Return what each bed comes to: volume, mass, pressures and water."""
    by_bed: dict[str, list[Layer]] = {}
    for layer in layers:
        by_bed.setdefault(layer.bed, []).append(layer)
    return tuple(_bed_fill(site, site.bed(bed), of_bed) for bed, of_bed in by_bed.items())


def _bed_fill(site: Site, bed: Bed, layers: Sequence[Layer]) -> BedFill:
    area = float(inside(bed).area)
    volume, wet = sum(layer.volume for layer in layers), sum(layer.mass_wet for layer in layers)
    load = wall_load(bed.height, wet / volume)
    over = volume_over_ground(bed, site.terrain)
    return BedFill(
        bed=bed.id,
        area=area,
        depth=bed.height,
        volume=volume,
        mass=sum(layer.mass for layer in layers),
        mass_wet=wet,
        settled_depth=sum(layer.settled for layer in layers),
        ground_pressure=ground_pressure(wet, area),
        wall_pressure=load.base_pressure,
        wall_thrust=load.thrust,
        brace_spacing=brace_spacing(bed.height),
        moistening_water=moistening_water(layers, site.materials),
        weekly_water=watering(area),
        volume_over_ground=over if math.isfinite(over) else volume,
        lining_area=0.0 if site.recipe.lining in ("none", "") else area,
    )


def _top_up_years(site: Site, sinking: Sequence[TopUp]) -> tuple[TopUpYear, ...]:
    """Return the top-ups of all beds year by year, each year bought for itself."""
    by_year: dict[int, dict[str, float]] = {}
    for top_up in sinking:
        needs = by_year.setdefault(top_up.year, {})
        for name, volume in top_up.volumes:
            needs[name] = needs.get(name, 0.0) + volume
    years = []
    for year, needs in sorted(by_year.items()):
        bought = buy(needs, (), site.offers, materials=site.materials, units=site.units, break_ties=False)
        cost = None if bought.missing else bought.cost
        years.append(TopUpYear(year=year, volumes=tuple(needs.items()), cost=cost))
    return tuple(years)


def break_evens(offers: Sequence[Offer]) -> tuple[BreakEven, ...]:
    """Return, for each material offered both ways, from which volume on its best loose offer beats its best bag."""
    pure = [offer for offer in offers if not offer.mix]
    names = dict.fromkeys(offer.material for offer in pure)
    found = []
    for name in names:
        bags = [offer for offer in pure if offer.material == name and offer.bag is not None]
        loose = [offer for offer in pure if offer.material == name and offer.bag is None]
        if bags and loose:
            best_bag = min(bags, key=lambda offer: offer.price / (offer.bag or math.inf))
            volume = min(break_even(best_bag, offer) for offer in loose)
            found.append(BreakEven(material=name, volume=volume))
    return tuple(found)


def no_offer_cautions(bought: Purchase, units: System) -> tuple[Caution, ...]:
    """Return a word on each material that is lacking."""
    volumes = {line.material: line.volume for line in bought.lines if line.kind == "none"}
    return tuple(
        Caution(
            "no-offer",
            "",
            f"{volume_text(volumes[name], units)} of {name} are neither on hand nor to be had: {why}. "
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
