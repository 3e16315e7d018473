"""Which parts of the work exceed a guideline value, or cannot be done at all?

Beds without a route, routes that are steep, slope sideways or end with buckets, pushes above guideline values,
lifting and heat. Whether a person may do the work is for them and their doctor to decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from siteplan.haul.haul_results import Load, Route, Unreached
from siteplan.haul.loads.lifting import bag_weight_limit
from siteplan.haul.loads.work_rates import (
    BAG_FILTER_MEN,
    BAG_FILTER_WOMEN,
    KEEP_FILTER_MEN,
    KEEP_FILTER_WOMEN,
    START_FILTER_MEN,
    START_FILTER_WOMEN,
)
from siteplan.land.findings import Finding, finding
from siteplan.land.site import Barrow

# 1:12, the steepest of a practical ramp (ADA Standards for Accessible Design, section 405, seen second-hand)
STEEP = 1 / 12
ASLANT = 0.05  # rise/run; most cross fall for a loaded barrow. Common practice, no source
MUCH = 200.0  # kg; from this mass in all, lifting and heat are mentioned. Common practice, no source
# Loads of small barrows: medium from 50 to 100 kg, high above. HSE RAPP tool, INDG478, 2016 (from memory).
HIGH_LOAD = 100.0  # kg


def no_way_findings(unreached: Sequence[Unreached], *, max_grade: float) -> list[Finding]:
    """Return a finding for each pair of source and bed without a route.

    Parameters
    ----------
    unreached : sequence of Unreached
    max_grade : float
        Steepest climb with a loaded barrow. [rise/run]
    """
    return [
        finding(
            "no-way-in", load.bed, source=load.from_id, obstacle=load.obstacle.kind, id=load.obstacle.id,
            wider=load.obstacle.wider, grade=max_grade,
        )
        for load in unreached
    ]  # fmt: skip


def route_findings(route: Route) -> list[Finding]:
    """Return the findings about a route: buckets, steep climb or descent, cross fall."""
    findings = []
    if route.bucket_m > 0:
        findings.append(finding("bucket", route.to_id, source=route.from_id, short=route.bucket_m))
    if route.steepest > STEEP:
        findings.append(finding("steep-way", route.to_id, source=route.from_id, grade=route.steepest))
    if route.steepest_down > STEEP:
        findings.append(finding("steep-descent", route.to_id, source=route.from_id, grade=route.steepest_down))
    if route.cross_fall > ASLANT:
        findings.append(
            finding("aslant-way", route.to_id, source=route.from_id, grade=route.cross_fall, guideline=ASLANT)
        )
    return findings


def load_findings(barrow: Barrow, loads: Sequence[Load]) -> list[Finding]:
    """Return the findings about loads: force of the push, mass, lifting and heat."""
    findings = []
    for bed in dict.fromkeys(load.bed for load in loads):
        pushed = [load for load in loads if load.bed == bed and math.isfinite(load.push_force)]
        hardest = max(pushed, key=lambda load: load.push_force + load.peak_force / 2, default=None)
        if hardest is not None:
            findings += _hard_push(hardest)
    if barrow.load > HIGH_LOAD:
        findings.append(finding("barrow-load", load=barrow.load, guideline=HIGH_LOAD))
    findings += _heavy_bags(loads)
    total_mass = sum(load.mass for load in loads)
    if total_mass > MUCH:
        findings.append(finding("heavy-work", mass=total_mass))
    return findings


def _heavy_bags(loads: Sequence[Load]) -> list[Finding]:
    """Return one finding for all that comes in bags which are heavy to lift."""
    masses: dict[str, float] = {}
    for load in loads:
        if load.bag_mass > BAG_FILTER_WOMEN:
            masses[load.heaviest_bag] = max(masses.get(load.heaviest_bag, 0.0), load.bag_mass)
    if not masses:
        return []
    return [
        finding(
            "heavy-bag", bags=tuple(masses.items()), men=BAG_FILTER_MEN, women=BAG_FILTER_WOMEN,
            ground=bag_weight_limit(),
        )
    ]  # fmt: skip


def _hard_push(load: Load) -> list[Finding]:
    """Return a finding if a push is above the guideline values."""
    if not (load.push_force > KEEP_FILTER_WOMEN or load.peak_force > START_FILTER_WOMEN):
        return []
    return [
        finding(
            "heavy-push", load.bed, source=load.from_id, material=load.material, mass=load.per_trip_mass,
            keep=load.push_force, peak=load.peak_force,
            anybody=load.push_force > KEEP_FILTER_MEN or load.peak_force > START_FILTER_MEN,
            men=KEEP_FILTER_MEN, women=KEEP_FILTER_WOMEN, men_start=START_FILTER_MEN, women_start=START_FILTER_WOMEN,
        )
    ]  # fmt: skip
