"""What goes into all beds of a property, what is on hand, what must be bought, and what else would it cost?

Asks the modules beside it in their order; proposed beds count as beds.
It leaves out formulas of its own, and the way of the material to the bed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from siteplan.fill.advice import fill_findings
from siteplan.fill.buy import Purchase, break_even, buy
from siteplan.fill.ground import bed_base, beds_to_fill, over_lead
from siteplan.fill.hygiene import earliest_harvest, lead_class
from siteplan.fill.recipe import fill_layers, inside, volume_needs, without_coarse
from siteplan.fill.results import Alternative, BedFill, BreakEven, FillPlan, Layer, SoilRules, TopUp, TopUpYear
from siteplan.fill.settle import loose_volume, top_ups
from siteplan.fill.slope import volume_over_ground
from siteplan.fill.supply import share_out
from siteplan.fill.water import hose_hours, moistening_water, watering
from siteplan.fill.weight import brace_spacing, ground_pressure, wall_load
from siteplan.land.cautions import Finding, finding
from siteplan.land.features import Bed
from siteplan.land.site import Offer, Site, SoilSettings

#: what takes the place of the coarse base where it is left out
_SOIL = "topsoil"


def plan_fill(site: Site, *, priority: Sequence[str] = ()) -> FillPlan:
    """Return the plan of the fill of all beds of a site but those that are full already.

    Parameters
    ----------
    site : Site
        Its beds, recipe, stock, offers and materials are read, and what is set for fill, water and soil.
    priority : sequence of str
        Ids of the beds that the stock serves first; the others follow in their own order.

    Returns
    -------
    FillPlan

    Raises
    ------
    ValueError
        Where the recipe names a material that is not in the site's table.
    """
    full = tuple(bed.id for bed in site.beds if bed.filled)
    site = replace(site, beds=beds_to_fill(site.beds))
    layers = fill_layers(site.beds, site.recipe, site.materials)
    needs = volume_needs(layers)
    bought = buy(
        needs,
        site.stock,
        site.offers,
        materials=site.materials,
        storage=site.fill.storage,
        bag_handling=site.fill.bag_handling,
    )
    findings = (*_lacking(bought), *fill_findings(site, layers, bought.lines))
    sinking = top_ups(layers, site.materials)
    return FillPlan(
        layers=layers,
        on_hand=bought.on_hand,
        purchase=bought.lines,
        total_cost=bought.cost,
        alternatives=_alternatives(site, needs, bought),
        supplies=share_out(layers, bought.on_hand, priority=priority),
        left_over=bought.left_over,
        findings=tuple(dict.fromkeys(findings)),
        beds=bed_fills(site, layers),
        top_ups=sinking,
        top_up_years=_top_up_years(site, sinking),
        break_evens=break_evens(site.offers),
        full=full,
        soil=soil_rules(site.soil),
    )


def soil_rules(soil: SoilSettings) -> SoilRules:
    """Return what the soil test and the manure in the ground mean.

    Examples
    --------
    >>> soil_rules(SoilSettings(lead=150)).lead_class, soil_rules(SoilSettings()).lead_class
    ('caution', None)
    """
    touching, clear = (_harvest(soil, touches_soil=touches) for touches in (True, False))
    return SoilRules(
        lead=soil.lead,
        lead_class=None if soil.lead is None else lead_class(soil.lead),
        harvest_touching=touching,
        harvest_clear=clear,
    )


def _harvest(soil: SoilSettings, *, touches_soil: bool) -> dt.date | None:
    if soil.manure_on is None:
        return None
    return dt.date.fromisoformat(str(earliest_harvest(np.datetime64(soil.manure_on, "D"), touches_soil=touches_soil)))


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
    on, flow = bed_base(site, bed), site.water.flow
    layer_water = tuple(moistening_water([layer], site.materials) for layer in layers)
    weekly = watering(area, depth=site.water.weekly, efficiency=site.water.efficiency)
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
        moistening_water=sum(layer_water),
        weekly_water=weekly,
        volume_over_ground=over if math.isfinite(over) else volume,
        lining_area=0.0 if site.recipe.lining in ("none", "") or on == "paving" else area,
        volume_full_after_a_year=sum(
            loose_volume(layer.volume, site.materials[layer.material].settling_first) for layer in layers
        ),
        on=on,
        barrier=over_lead(site, bed),
        layer_water=layer_water,
        moistening_hose=None if flow is None else hose_hours(sum(layer_water), flow),
        weekly_hose=None if flow is None else hose_hours(weekly, flow),
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
        bought = buy(needs, (), site.offers, materials=site.materials, break_ties=False)
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


def _lacking(bought: Purchase) -> tuple[Finding, ...]:
    """Return a finding for each material that is neither on hand nor to be had."""
    return tuple(
        finding("no-offer", material=line.material, volume=line.volume, **dict(line.why.figures), why=line.why.code)
        for line in bought.lines
        if line.why is not None
    )


def _alternatives(site: Site, needs: Mapping[str, float], bought: Purchase) -> tuple[Alternative, ...]:
    """Return what the whole job costs otherwise: all by the bag, all loose, no coarse layer."""
    bags = [offer for offer in site.offers if offer.bag is not None]
    loose = [offer for offer in site.offers if offer.bag is None]
    others = [
        _priced("all bagged", site, needs, bags, bought),
        _priced("all loose", site, needs, loose, bought),
    ]
    plain = without_coarse(site.recipe, site.materials, instead=_SOIL)
    if plain != site.recipe and _SOIL in site.materials:
        plain_needs = volume_needs(fill_layers(site.beds, plain, site.materials))
        others.append(_priced("no coarse layer", site, plain_needs, site.offers, bought))
    return tuple(others)


def _priced(
    name: str, site: Site, needs: Mapping[str, float], offers: Sequence[Offer], bought: Purchase
) -> Alternative:
    """Return one alternative; what the plan itself cannot get either is left out on both sides."""
    other = buy(
        needs,
        site.stock,
        offers,
        materials=site.materials,
        storage=site.fill.storage,
        break_ties=False,
    )
    lacking = tuple(sorted(set(other.missing) - set(bought.missing)))
    if lacking:
        return Alternative(name=name, total_cost=None, lacking=lacking, only_this_way=True)
    lacking = tuple(sorted(other.missing))
    if lacking and len(lacking) == len(other.lines):
        return Alternative(name=name, total_cost=None, lacking=lacking)
    alike = set(other.missing) == set(bought.missing)
    saving = other.cost - bought.cost if alike else None
    return Alternative(name=name, total_cost=other.cost, lacking=lacking, saving=saving)
