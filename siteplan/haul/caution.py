"""What deserves a word before the barrow is taken out?

Ways that are not there, steep or long by bucket; pushes above guideline values; lifting and heat.
It leaves out whether somebody may do the work: that is for them, and their doctor, to say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.haul.lifting import bag_from_the_ground
from siteplan.haul.results import Load, Route
from siteplan.haul.work import (
    BAG_FILTER_WOMEN,
    GRAVITY,
    KEEP_FILTER_MEN,
    KEEP_FILTER_WOMEN,
    START_FILTER_MEN,
    START_FILTER_WOMEN,
)
from siteplan.land.site import Caution, Site

# 1:12, the steepest of a practical ramp (ADA Standards for Accessible Design, section 405, seen second-hand)
STEEP = 1 / 12
MUCH = 200.0  # kg in all, above which lifting and heat get a word. Common practice, no source
# Loads of small barrows: medium from 50 to 100 kg, high above. HSE RAPP tool, INDG478, 2016 (from memory).
HIGH_LOAD = 100.0  # kg


def way_caution(bed: str, source: str, why: str) -> Caution:
    """Return the caution for a bed that cannot be reached."""
    return Caution("no-way-in", bed, f'No way in for the barrow from "{source}": {why}.')


def route_cautions(route: Route) -> list[Caution]:
    """Return what a route deserves to be said about."""
    found = []
    if route.bucket_m > 0:
        text = f'The barrow from "{route.from_id}" stops {route.bucket_m:.1f} m short: the rest is carried by bucket.'
        found.append(Caution("bucket", route.to_id, text))
    if route.steepest > STEEP:
        text = (
            f'The way from "{route.from_id}" climbs {route.steepest:.0%} at its steepest, more than 1:12. Push with '
            "smaller loads or with two people, and never stop across the slope."
        )
        found.append(Caution("steep-way", route.to_id, text))
    return found


def load_cautions(site: Site, loads: Sequence[Load]) -> list[Caution]:
    """Return what the loads deserve to be said about: force, mass, lifting and heat."""
    found = []
    for bed in dict.fromkeys(load.bed for load in loads):
        pushed = [load for load in loads if load.bed == bed and math.isfinite(load.push_force)]
        hardest = max(pushed, key=lambda load: load.push_force + load.peak_force / 2, default=None)
        if hardest is not None and (caution := _force_caution(hardest)) is not None:
            found.append(caution)
    if site.barrow.load > HIGH_LOAD:
        text = (
            f"The barrow is set to {site.barrow.load:.0f} kg a load. With one or two wheels more than "
            f"{HIGH_LOAD:.0f} kg is a high risk for whoever pushes: take smaller loads."
        )
        found.append(Caution("barrow-load", "", text))
    found += _bag_cautions(loads)
    moved = sum(load.mass for load in loads)
    if moved > MUCH:
        text = (
            f"{moved:.0f} kg are shovelled and wheeled here. Lift with a straight back, take turns, rest ten minutes "
            "in the hour, drink a cup of water every 15 to 20 minutes, and stop at once at chest pain or dizziness. "
            "Ask a doctor first if you are not used to heavy work."
        )
        found.append(Caution("heavy-work", "", text))
    return found


def _bag_cautions(loads: Sequence[Load]) -> list[Caution]:
    """Return a caution for each material whose bags are heavy to lift."""
    masses: dict[str, float] = {}
    for load in loads:
        if load.bags:
            masses[load.material] = max(masses.get(load.material, 0.0), load.mass / load.bags)
    text = (
        "A bag of {} weighs about {:.0f} kg, more when wet. The guideline for lifting, held close at elbow height, "
        "is 25 kg for men and 16 kg for women, and from the ground about {:.0f} kg. Lift it together, from a "
        "tailgate or a table."
    )
    heavy = {material: mass for material, mass in masses.items() if mass > BAG_FILTER_WOMEN}
    return [
        Caution("heavy-bag", "", text.format(material, mass, bag_from_the_ground()))
        for material, mass in heavy.items()
    ]


def _force_caution(load: Load) -> Caution | None:
    """Return a caution where a push is above the guideline values."""
    keep, peak = load.push_force / GRAVITY, load.peak_force / GRAVITY
    if not (load.push_force > KEEP_FILTER_WOMEN or load.peak_force > START_FILTER_WOMEN):
        return None
    if load.push_force > KEEP_FILTER_MEN or load.peak_force > START_FILTER_MEN:
        guide = "for anybody: 10 kgf for men and 7 kgf for women to keep moving, 20 and 15 kgf to start"
    else:
        guide = "for women: 7 kgf to keep moving and 15 kgf to start; for men it is 10 and 20 kgf"
    text = (
        f'Pushing {load.per_trip_mass:.0f} kg of {load.material} from "{load.from_id}" takes about {keep:.0f} kgf, '
        f"{peak:.0f} kgf at the hardest spot. That is above the guideline {guide}. "
        "Take smaller loads, lay boards, or go two together."
    )
    return Caution("heavy-push", load.bed, text)
