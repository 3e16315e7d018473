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

from siteplan.fill.hygiene import LEAD_NO_FOOD, LEAD_SCREENING, earliest_harvest, lead_class
from siteplan.fill.recipe import known
from siteplan.fill.results import Layer, PurchaseLine
from siteplan.land.constants import Material
from siteplan.land.site import Site
from siteplan.land.units import mass_text

HEAVY_BAG, TOO_HEAVY_BAG = 16.0, 25.0  # kg

#: code and text of a caution
Found = Iterator[tuple[str, str]]

#: what is said in every job, or wherever the material is met
WORDS = {
    "fresh-manure": (
        "Never fill a bed with fresh manure. Where raw manure has been worked into soil, wait 120 days before "
        "harvest for what touches the soil, 90 days for what does not (7 CFR 205.203); use it well composted."
    ),
    "compost-dust": (
        "Compost and castings can carry moulds and Legionella. Wet them before you shovel, wear gloves, do not "
        "breathe the dust, and wash your hands; with weak lungs or a weak immune system ask a physician first."
    ),
    "lead-test": (
        "Have soil of unknown history tested for lead before you use it or plant through to it, above all beside "
        "old paint and busy roads; the local extension or health office says what the result means."
    ),
    "treated-timber": (
        "Build no bed from old treated timber, railway sleepers or tyres: until 2003 timber was commonly preserved "
        "with arsenic. Use untreated durable wood, or new timber that your local authority allows for food beds."
    ),
    "call-before-digging": (
        "Before you dig or drive a post, have buried pipes and cables marked (in the US call 811 two to three "
        "working days ahead), and dig by hand near the marks."
    ),
    "heavy-lifting": (
        "Most of this is heavy: small loads, straight back, knees bent, two people for what is awkward; rest, "
        "drink, and stop at chest pain or dizziness."
    ),
}


#: what a reading of lead means, by its class; levels in ppm
_LEAD = {
    "background": "little more than what most soil holds.",
    "caution": (
        "more than most soil holds. Keep the soil covered, wash hands and vegetables, and peel roots; a bed with "
        "clean soil is the safer place for leaves and roots."
    ),
    "above screening": (
        f"above the {LEAD_SCREENING:g} ppm at which US homes are screened (EPA, October 2025). Grow food only in "
        "beds with a barrier below and clean soil from elsewhere; use no soil of this ground in them."
    ),
    "no food": (
        f"above {LEAD_NO_FOOD:g} ppm, where no vegetables are to be grown in it. Grow food only in beds with a "
        "barrier below and clean soil from elsewhere, keep bare soil covered, and keep children off it."
    ),
}
_LEAD_LAST = "A screening level is no safe level: the local health office says what the reading means."


def is_compost(material: Material) -> bool:
    """Return whether a material counts as compost: rotted organic matter full of nutrients."""
    return material.kind == "amendment" or "compost" in material.name


def job_dangers(site: Site, layers: Sequence[Layer], purchase: Sequence[PurchaseLine]) -> Found:
    """Yield code and text of what to know about the materials used and the work itself."""
    used = dict.fromkeys(layer.material for layer in layers)
    if site.recipe.lining in site.materials:
        used[site.recipe.lining] = None
    materials = [known(name, site.materials) for name in used]
    if any(material.touches == "nothing" or _raw_manure(material) for material in materials):
        yield "fresh-manure", WORDS["fresh-manure"]
    if any(is_compost(material) for material in materials):
        yield "compost-dust", WORDS["compost-dust"]
    yield "heavy-lifting", WORDS["heavy-lifting"] + _heaviest_bag(site, purchase)
    yield from soil_findings(site)
    for code in ("treated-timber", "call-before-digging"):
        yield code, WORDS[code]
    for material in materials:
        if material.caution:
            yield "handling", f"{material.name.capitalize()}: {material.caution}"


def _raw_manure(material: Material) -> bool:
    return "manure" in material.name and "compost" not in material.name


def soil_findings(site: Site) -> Found:
    """Yield code and text of what a soil test, and manure in the ground, ask for."""
    lead, manure_on = site.soil.lead, site.soil.manure_on
    if lead is None:
        yield "lead-test", WORDS["lead-test"]
    else:
        found = f"The soil test found {lead:g} ppm of lead"
        yield "lead", f"{found}: {_LEAD[lead_class(lead)]} {_LEAD_LAST}"
    if manure_on is not None:
        days = [earliest_harvest(np.datetime64(manure_on, "D"), touches_soil=touches) for touches in (True, False)]
        touching, clear = (str(day) for day in days)
        yield (
            "manure-dates",
            (
                f"Raw manure was worked in on {manure_on}: pick what touches the soil (lettuce, carrots) from "
                f"{touching} on, what does not (staked tomatoes) from {clear} on (7 CFR 205.203(c), 120 and 90 days)."
            ),
        )


def _heaviest_bag(site: Site, purchase: Sequence[PurchaseLine]) -> str:
    """Return a sentence on the heaviest bag bought, where it is above the filters for lifting; else nothing."""
    masses = {
        line.material: sum(site.materials[name].density * part for name, part in line.parts) / line.count
        for line in purchase
        if line.kind == "bag" and all(name in site.materials for name, _ in line.parts)
    }
    name = max(masses, key=lambda key: masses[key], default="")
    if not name or masses[name] <= HEAVY_BAG:
        return ""
    share = "two people" if masses[name] > TOO_HEAVY_BAG else "some alone, not for all"
    return f" A bag of {name} weighs about {mass_text(masses[name], site.units)}, more when wet: a lift for {share}."
