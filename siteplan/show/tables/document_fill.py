"""What does plan.json hold of the fill?

Layers, stock, shopping, what else it might cost, weight, water and the years to come; unrounded, unit in the name.
It leaves out the words: those are in `siteplan.say.filling`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from siteplan.say.filling import but_text, offer_text, why_text

if TYPE_CHECKING:
    from siteplan.fill.results import BedFill, FillPlan, Layer, SoilRules, TopUp
    from siteplan.records import Answers


def fill_document(plan: Answers) -> dict[str, Any] | None:
    """Return the fill of all beds; None where it was not asked."""
    fill = plan.fill
    if fill is None:
        return None
    return {
        "layers": [_layer(layer) for layer in fill.layers],
        "on_hand": [
            {"material": use.material, "at": use.at, "volume_m3": use.volume, "left_m3": use.left}
            for use in fill.on_hand
        ],
        "purchase": [
            {
                "material": line.material,
                "offer": offer_text(line, plan.site.units),
                "kind": line.kind,
                "count": line.count,
                "volume_m3": line.volume,
                "cost": line.cost,
                "deliveries": line.deliveries,
                "why": why_text(line, plan.site.units),
            }
            for line in fill.purchase
        ],
        "complete": fill.complete,
        "lacking": fill.lacking,
        "total_cost": fill.price,
        "currency": plan.site.currency,
        "alternatives": [
            {
                "name": other.name,
                "total_cost": other.total_cost,
                "why": but_text(other),
                "saving": other.saving,
            }
            for other in fill.alternatives
        ],
        "left_over": [
            {"material": left.material, "at": left.at, "volume_m3": left.volume} for left in fill.left_over
        ],
        "full_already": fill.full,
        "soil": _soil(fill.soil),
        **_to_come(fill),
    }


def bed_fill_document(plan: Answers, bed_id: str) -> dict[str, Any] | None:
    """Return the fill of one bed: nothing but zeros for one that is full already; None where it was not asked."""
    if plan.fill is None:
        return None
    layers = [layer for layer in plan.fill.layers if layer.bed == bed_id]
    return {
        "volume_m3": sum(layer.volume for layer in layers),
        "mass_kg": sum(layer.mass for layer in layers),
        "depth_m": max((layer.top for layer in layers), default=0.0),
        "settled_depth_m": sum(layer.settled for layer in layers),
        **next((_bed_numbers(bed) for bed in plan.fill.beds if bed.bed == bed_id), {}),
        "layers": [_layer(layer) for layer in layers],
        "top_up": [_top_up(top_up) for top_up in plan.fill.top_ups if top_up.bed == bed_id],
    }


def _bed_numbers(bed: BedFill) -> dict[str, Any]:
    """Return what a bed's fill weighs, pushes and drinks."""
    return {
        "on": bed.on,
        "inside_area_m2": bed.area,
        "mass_wet_kg": bed.mass_wet,
        "ground_pressure_pa": bed.ground_pressure,
        "wall_pressure_pa": bed.wall_pressure,
        "wall_thrust_n_per_m": bed.wall_thrust,
        "brace_spacing_m": bed.brace_spacing,
        "moistening_water_m3": bed.moistening_water,
        "moistening_hose_h": bed.moistening_hose,
        "layer_water_m3": bed.layer_water,
        "weekly_water_m3": bed.weekly_water,
        "weekly_hose_h": bed.weekly_hose,
        "lining_area_m2": bed.lining_area,
        "volume_over_ground_m3": bed.volume_over_ground,
        "volume_full_after_a_year_m3": bed.volume_full_after_a_year,
    }


def _top_up(top_up: TopUp) -> dict[str, Any]:
    volumes = [{"material": name, "volume_m3": volume} for name, volume in top_up.volumes]
    return {"year": top_up.year, "drop_m": top_up.drop, "volumes": volumes}


def _layer(layer: Layer) -> dict[str, Any]:
    return {
        "bed": layer.bed,
        "order": layer.order,
        "material": layer.material,
        "bottom_m": layer.bottom,
        "top_m": layer.top,
        "volume_m3": layer.volume,
        "mass_kg": layer.mass,
        "mass_wet_kg": layer.mass_wet,
        "settled_m": layer.settled,
        "blend": layer.blend,
    }


def _soil(soil: SoilRules) -> dict[str, Any]:
    """Return what a soil test and manure in the ground mean."""
    return {
        "lead_ppm": soil.lead,
        "lead_class": soil.lead_class,
        "harvest_touching_soil_from": None if soil.harvest_touching is None else str(soil.harvest_touching),
        "harvest_clear_of_soil_from": None if soil.harvest_clear is None else str(soil.harvest_clear),
    }


def _to_come(fill: FillPlan) -> dict[str, Any]:
    """Return the top-ups of the next years, and from how many bags on loose is cheaper."""
    return {
        "top_up": [
            {
                "year": year.year,
                "cost": year.cost,
                "volumes": [{"material": name, "volume_m3": volume} for name, volume in year.volumes],
                "left_over": [{"material": name, "volume_m3": volume} for name, volume in year.left_over],
            }
            for year in fill.top_up_years
        ],
        "loose_beats_bags_from": [
            {
                "material": one.material,
                "bags": one.bags,
                "bag_m3": one.bag,
                "volume_m3": one.volume if math.isfinite(one.volume) else None,
            }
            for one in fill.break_evens
        ],
    }
