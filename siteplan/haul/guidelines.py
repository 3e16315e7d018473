"""What deserves a word before the barrow is taken out?

Ways that are not there, steep or long by bucket; pushes above guideline values; lifting and heat.
It leaves out whether somebody may do the work: that is for them, and their doctor, to say.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.haul.loads.lifting import bag_from_the_ground
from siteplan.haul.loads.work_rates import (
    BAG_FILTER_MEN,
    BAG_FILTER_WOMEN,
    KEEP_FILTER_MEN,
    KEEP_FILTER_WOMEN,
    START_FILTER_MEN,
    START_FILTER_WOMEN,
)
from siteplan.haul.results import Load, Route
from siteplan.land.cautions import Caution
from siteplan.land.site import Site
from siteplan.land.units import System, force_text, length_text, mass_text

# 1:12, the steepest of a practical ramp (ADA Standards for Accessible Design, section 405, seen second-hand)
STEEP = 1 / 12
MUCH = 200.0  # kg in all, above which lifting and heat get a word. Common practice, no source
# Loads of small barrows: medium from 50 to 100 kg, high above. HSE RAPP tool, INDG478, 2016 (from memory).
HIGH_LOAD = 100.0  # kg


def way_caution(bed: str, source: str, why: str) -> Caution:
    """Return the caution for a bed that cannot be reached."""
    return Caution("no-way-in", bed, f'No way in for the barrow from "{source}": {why}.')


def route_cautions(route: Route, system: System) -> list[Caution]:
    """Return what a route deserves to be said about."""
    found = []
    if route.bucket_m > 0:
        short = length_text(route.bucket_m, system)
        text = f'The barrow from "{route.from_id}" stops {short} short: the rest is carried by bucket.'
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
        if hardest is not None and (caution := _force_caution(hardest, site.units)) is not None:
            found.append(caution)
    if site.barrow.load > HIGH_LOAD:
        text = (
            f"The barrow is set to {mass_text(site.barrow.load, site.units)} a load. With one or two wheels more "
            f"than {mass_text(HIGH_LOAD, site.units)} is a high risk for whoever pushes: take smaller loads."
        )
        found.append(Caution("barrow-load", "", text))
    found += _bag_cautions(loads, site.units)
    moved = sum(load.mass for load in loads)
    if moved > MUCH:
        text = (
            f"{mass_text(moved, site.units)} are shovelled and wheeled here. Lift with a straight back, take turns, "
            "rest ten minutes in the hour, drink a cup of water every 15 to 20 minutes, and stop at once at chest "
            "pain or dizziness. Ask a doctor first if you are not used to heavy work."
        )
        found.append(Caution("heavy-work", "", text))
    return found


def _bag_cautions(loads: Sequence[Load], system: System) -> list[Caution]:
    """Return one caution for all materials whose bags are heavy to lift."""
    masses: dict[str, float] = {}
    for load in loads:
        if load.bags:
            masses[load.material] = max(masses.get(load.material, 0.0), load.mass / load.bags)
    heavy = [f"{name} {mass_text(mass, system)}" for name, mass in masses.items() if mass > BAG_FILTER_WOMEN]
    if not heavy:
        return []
    men, women, ground = (
        mass_text(mass, system) for mass in (BAG_FILTER_MEN, BAG_FILTER_WOMEN, bag_from_the_ground())
    )
    text = (
        f"Bags weigh about {', '.join(heavy)}, more when wet. The guideline for lifting, held close at elbow height, "
        f"is {men} for men and {women} for women, and from the ground about {ground}. Lift together, from a tailgate "
        "or a table."
    )
    return [Caution("heavy-bag", "", text)]


def _force_caution(load: Load, system: System) -> Caution | None:
    """Return a caution where a push is above the guideline values."""
    if not (load.push_force > KEEP_FILTER_WOMEN or load.peak_force > START_FILTER_WOMEN):
        return None
    filters = (KEEP_FILTER_MEN, KEEP_FILTER_WOMEN, START_FILTER_MEN, START_FILTER_WOMEN)
    men, women, men_start, women_start = (force_text(force, system) for force in filters)
    if load.push_force > KEEP_FILTER_MEN or load.peak_force > START_FILTER_MEN:
        guide = (
            f"for anybody: {men} for men and {women} for women to keep moving, {men_start} and {women_start} to start"
        )
    else:
        guide = f"for women: {women} to keep moving and {women_start} to start; for men it is {men} and {men_start}"
    keep, peak = force_text(load.push_force, system), force_text(load.peak_force, system)
    text = (
        f'Pushing {mass_text(load.per_trip_mass, system)} of {load.material} from "{load.from_id}" takes about '
        f"{keep}, {peak} at the hardest spot. That is above the guideline {guide}. "
        "Take smaller loads, lay boards, or go two together."
    )
    return Caution("heavy-push", load.bed, text)
