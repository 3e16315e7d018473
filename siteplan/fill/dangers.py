"""What in this job can hurt?

A word on each danger of the materials and of the work that the plan meets.
It leaves out the beds' own limits; each caution defers to those who are licensed to judge.

References
----------
Raw manure: 7 CFR 205.203(c), seen second-hand. Treated wood: Iowa State University Extension, seen.
Lifting: HSE L23 filters of 25 and 16 kg, seen second-hand. Calling before digging: utility pages, seen.
Dust and Legionella: health agencies, memory. Lead: US EPA and University of Maryland Extension, seen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from siteplan.fill.hygiene import (
    LEAD_NO_FOOD,
    LEAD_SCREENING,
    MANURE_DAYS_CLEAR,
    MANURE_DAYS_TOUCHING,
    earliest_harvest,
    lead_class,
)
from siteplan.fill.recipe import known
from siteplan.fill.results import Layer, PurchaseLine
from siteplan.land.cautions import Finding, finding
from siteplan.land.materials import Material
from siteplan.land.site import Site

HEAVY_BAG, TOO_HEAVY_BAG = 16.0, 25.0  # kg


def is_compost(material: Material) -> bool:
    """Return whether a material counts as compost: rotted organic matter full of nutrients."""
    return material.kind == "amendment" or "compost" in material.name


def job_dangers(site: Site, layers: Sequence[Layer], purchase: Sequence[PurchaseLine]) -> Iterator[Finding]:
    """Yield what to know about the materials used and the work itself."""
    used = dict.fromkeys(layer.material for layer in layers)
    if site.recipe.lining in site.materials:
        used[site.recipe.lining] = None
    materials = [known(name, site.materials) for name in used]
    if any(material.touches == "nothing" or _raw_manure(material) for material in materials):
        yield finding("fresh-manure", touching=MANURE_DAYS_TOUCHING, clear=MANURE_DAYS_CLEAR)
    if any(is_compost(material) for material in materials):
        yield finding("compost-dust")
    yield _lifting(purchase)
    yield from soil_findings(site)
    yield finding("treated-timber")
    yield finding("call-before-digging")
    for material in materials:
        if material.caution:
            yield finding("handling", material=material.name, caution=material.caution)


def _raw_manure(material: Material) -> bool:
    return "manure" in material.name and "compost" not in material.name


def soil_findings(site: Site) -> Iterator[Finding]:
    """Yield what a soil test, and manure in the ground, ask for."""
    lead, manure_on = site.soil.lead, site.soil.manure_on
    if lead is None:
        yield finding("lead-test")
    else:
        yield finding("lead", lead=lead, lead_class=lead_class(lead), screening=LEAD_SCREENING, no_food=LEAD_NO_FOOD)
    if manure_on is not None:
        days = [earliest_harvest(np.datetime64(manure_on, "D"), touches_soil=touches) for touches in (True, False)]
        touching, clear = (str(day) for day in days)
        yield finding("manure-dates", worked_in=str(manure_on), touching=touching, clear=clear)


def _lifting(purchase: Sequence[PurchaseLine]) -> Finding:
    """Return the finding that the work is heavy, with the heaviest bag where it is above the filters for lifting."""
    bags = [line for line in purchase if line.kind == "bag" and line.mass_each > HEAVY_BAG]
    if not bags:
        return finding("heavy-lifting", bag="")
    heaviest = max(bags, key=lambda line: line.mass_each)
    mass = heaviest.mass_each
    return finding("heavy-lifting", bag=heaviest.material, mass=mass, for_two=mass > TOO_HEAVY_BAG)
