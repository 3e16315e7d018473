"""Which hazards does the job have, and which materials may be used where food grows?

The materials and bags of the plan are compared with published limits for manure, compost, lead and lifting. They do
not replace the judgement of licensed professionals; the texts of the findings say so.

References
----------
Raw manure, and when manure counts as composted: 7 CFR 205.203(c), US national organic standard, seen second-hand.
Lead: US EPA residential screening level of 200 ppm, directive of 16 October 2025, seen second-hand; no vegetables
above 400 ppm: University of Maryland Extension, seen; caution above 100 ppm: common practice, no source.
Lifting: HSE L23 filters of 25 and 16 kg, seen second-hand. Treated wood: Iowa State University Extension, seen.
Calling before digging: utility pages, seen. Dust and Legionella: health agencies, memory.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Literal

from siteplan.fill.fill_results import Layer, PurchaseLine, SoilRules
from siteplan.fill.recipe import material_named
from siteplan.land.constants import Material
from siteplan.land.findings import Finding, finding
from siteplan.land.site import Site, SoilSettings

LeadClass = Literal["background", "caution", "above screening", "no food"]

LEAD_CAUTION, LEAD_SCREENING, LEAD_NO_FOOD = 100.0, 200.0, 400.0  # ppm
MANURE_DAYS_TOUCHING, MANURE_DAYS_CLEAR = 120, 90
#: manure counts as composted after these days at these temperatures, in a vessel or in a windrow turned this often
COMPOSTED = {"hot_from": 55.0, "hot_to": 77.0, "vessel_days": 3, "windrow_days": 15, "turns": 5}  # degrees Celsius
HEAVY_BAG, TOO_HEAVY_BAG = 16.0, 25.0  # kg


def lead_class(ppm: float) -> LeadClass:
    """Return what a soil test's total lead means for a food garden.

    Parameters
    ----------
    ppm : float
        Total lead. [mg/kg]

    Returns
    -------
    str
        ``background``; ``caution`` above 100; ``above screening`` above 200: a bed over a barrier, filled with clean
        soil; ``no food`` above 400: none in that soil.

    Raises
    ------
    ValueError
        Where it is below 0.

    Examples
    --------
    >>> [lead_class(ppm) for ppm in (90, 150, 250, 450)]
    ['background', 'caution', 'above screening', 'no food']
    """
    if not ppm >= 0:
        raise ValueError(f"lead is {ppm:g} ppm, must be at least 0")
    if ppm > LEAD_NO_FOOD:
        return "no food"
    if ppm > LEAD_SCREENING:
        return "above screening"
    return "caution" if ppm > LEAD_CAUTION else "background"


def earliest_harvest(worked_in: dt.date, *, touches_soil: bool) -> dt.date:
    """Return the first day on which a crop may be picked after raw manure was worked into the soil.

    Parameters
    ----------
    worked_in : date
    touches_soil : bool
        Whether what is eaten touches the soil or is splashed by it: lettuce, carrots; not staked tomatoes.

    Examples
    --------
    >>> str(earliest_harvest(dt.date(2026, 3, 1), touches_soil=True))
    '2026-06-29'
    """
    return worked_in + dt.timedelta(days=MANURE_DAYS_TOUCHING if touches_soil else MANURE_DAYS_CLEAR)


def soil_rules(soil: SoilSettings) -> SoilRules:
    """Return what the soil test, and manure in the ground, mean for the site's crops.

    Examples
    --------
    >>> soil_rules(SoilSettings(lead=150)).lead_class, soil_rules(SoilSettings()).lead_class
    ('caution', None)
    """
    since = soil.manure_on
    return SoilRules(
        lead=soil.lead,
        lead_class=None if soil.lead is None else lead_class(soil.lead),
        harvest_touching=None if since is None else earliest_harvest(since, touches_soil=True),
        harvest_clear=None if since is None else earliest_harvest(since, touches_soil=False),
    )


def is_compost(material: Material) -> bool:
    """Return whether a material counts as compost: rotted organic matter full of nutrients."""
    return material.kind == "amendment" or "compost" in material.name


def job_findings(site: Site, layers: Sequence[Layer], purchase: Sequence[PurchaseLine]) -> Iterator[Finding]:
    """Yield the findings about the materials that are used, and about the work itself."""
    names = dict.fromkeys(layer.material for layer in layers)
    if site.recipe.lining in site.materials:
        names[site.recipe.lining] = None
    materials = [material_named(name, site.materials) for name in names]
    manures = [material.name for material in materials if "manure" in material.name]
    if any(material.touches == "nothing" for material in materials) or any("compost" not in name for name in manures):
        yield finding("fresh-manure", touching=MANURE_DAYS_TOUCHING, clear=MANURE_DAYS_CLEAR)
    if any("compost" in name for name in manures):
        yield finding("composted-manure", "", **COMPOSTED, touching=MANURE_DAYS_TOUCHING, clear=MANURE_DAYS_CLEAR)
    if any(is_compost(material) for material in materials):
        yield finding("compost-dust")
    yield _lifting(purchase)
    yield from _soil_findings(site.soil)
    yield finding("treated-timber")
    yield finding("call-before-digging")
    for material in materials:
        if material.caution:
            yield finding("handling", material=material.name, caution=material.caution)


def _soil_findings(soil: SoilSettings) -> Iterator[Finding]:
    """Yield the findings about lead and about manure in the ground."""
    rules = soil_rules(soil)
    if soil.lead is None:
        yield finding("lead-test")
    else:
        limits = {"screening": LEAD_SCREENING, "no_food": LEAD_NO_FOOD}
        yield finding("lead", "", lead=soil.lead, lead_class=rules.lead_class, **limits)
    if soil.manure_on is not None:
        yield finding(
            "manure-dates",
            worked_in=soil.manure_on,
            touching=rules.harvest_touching,
            clear=rules.harvest_clear,
            touching_days=MANURE_DAYS_TOUCHING,
            clear_days=MANURE_DAYS_CLEAR,
        )


def _lifting(purchase: Sequence[PurchaseLine]) -> Finding:
    """Return that the work is heavy, with the heaviest bag where it is above the filters for lifting."""
    bags = [line for line in purchase if line.kind == "bag" and line.mass_each > HEAVY_BAG]
    if not bags:
        return finding("heavy-lifting", bag="")
    heaviest = max(bags, key=lambda line: line.mass_each)
    mass = heaviest.mass_each
    return finding("heavy-lifting", bag=heaviest.material, mass=mass, for_two=mass > TOO_HEAVY_BAG)
