"""What goes into all beds of a property, what is in stock, and what must be bought?

Calls the other modules of this folder in order; proposed beds count as beds. It has no formulas of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from siteplan.fill.bed_fill import bed_fills
from siteplan.fill.bed_findings import bed_findings
from siteplan.fill.fill_results import FillPlan, Layer
from siteplan.fill.price_comparison import alternatives, break_evens
from siteplan.fill.purchase import Purchase, buy
from siteplan.fill.recipe import fill_layers, volume_needs
from siteplan.fill.safety import job_findings, soil_rules
from siteplan.fill.settling import top_up_years, top_ups
from siteplan.fill.stock import base_parts, layer_supplies
from siteplan.land.findings import Finding, finding
from siteplan.land.site import Site


def plan_fill(site: Site, *, priority: Sequence[str] = ()) -> FillPlan:
    """Return the fill plan of all beds of a site that are not full already.

    Parameters
    ----------
    site : Site
        Its beds, recipe, stock, offers, materials, and its settings for fill, water and soil are used.
    priority : sequence of str
        Ids of the beds that the stock serves first; the others follow in their own order.

    Returns
    -------
    FillPlan

    Raises
    ------
    ValueError
        If the recipe names a material that is not in the site's table.
    """
    full = tuple(bed.id for bed in site.beds if bed.filled)
    # full beds go on settling; how much is known only for those with layers of their own
    full_with_layers = [bed for bed in site.beds if bed.filled and bed.layers]
    site = replace(site, beds=tuple(bed for bed in site.beds if not bed.filled))
    layers = _layers(site)
    needs = volume_needs(layers)
    bought = buy(
        needs,
        site.stock,
        site.offers,
        materials=site.materials,
        storage=site.fill.storage,
        bag_handling=site.fill.bag_handling,
    )
    no_room = [line.material for line in bought.lines if line.why is not None and line.why.code != "no-offer"]
    full_layers = fill_layers(full_with_layers, site.recipe, site.materials)
    bed_top_ups = (*top_ups(layers, site.materials), *top_ups(full_layers, site.materials, age=1))
    return FillPlan(
        layers=layers,
        on_hand=bought.on_hand,
        purchase=bought.lines,
        total_cost=bought.cost,
        alternatives=alternatives(site, needs, bought),
        supplies=layer_supplies(layers, bought.on_hand, priority=priority, not_coming=no_room),
        left_over=bought.left_over,
        findings=tuple(_findings(site, layers, bought)),
        beds=bed_fills(site, layers),
        top_ups=bed_top_ups,
        top_up_years=top_up_years(bed_top_ups, bought.left_over, site.offers, site.materials, stock=site.stock),
        break_evens=break_evens(site.offers, site.materials),
        full=full,
        soil=soil_rules(site.soil),
    )


def _layers(site: Site) -> tuple[Layer, ...]:
    """Return the layers of all beds; the coarse base is made of what is in stock for it."""
    layers = fill_layers(site.beds, site.recipe, site.materials)
    base = base_parts(volume_needs(layers), site.stock, site.materials)
    return fill_layers(site.beds, site.recipe, site.materials, base=base) if base else layers


def _findings(site: Site, layers: Sequence[Layer], bought: Purchase) -> Iterator[Finding]:
    """Yield findings on materials that are lacking, on each bed and on the whole job; none of these without beds."""
    for line in bought.lines:
        if line.why is not None:
            figures = dict(line.why.figures)
            yield finding("no-offer", material=line.material, volume=line.volume, why=line.why.code, **figures)
    if site.beds:
        yield from bed_findings(site, layers)
        yield from job_findings(site, layers, bought.lines)
