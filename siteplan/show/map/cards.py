"""What does the page say about each bed, place, pile and run?

Each card is a plain record of numbers and words, and of charts; the template only lays it out.
It leaves out the wording of reasons and cautions: those come with the answers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from siteplan.fill.results import Layer
from siteplan.haul.results import Route
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.units import length_text, mass_text, volume_text
from siteplan.place.reasons.words import distance_text
from siteplan.say.figures import heading_text, hours_text, money_text, plural, share_text, time_text
from siteplan.say.filling import weekly_line
from siteplan.say.lighting import cloud_sentence, guide_sentence, light_days, light_facts
from siteplan.say.placing import crop_sentences, unfit_sentence
from siteplan.say.safe_text import plain_text
from siteplan.show.charts.bars import half_hours, layer_cut, light_bars, month_bars, route_profile
from siteplan.show.charts.colours import scale_top
from siteplan.show.charts.roses import heading_rose, moves_rose, trade_chart
from siteplan.show.symbols.planned import NumberedRoute, numbered_routes, pile_words

if TYPE_CHECKING:
    from siteplan.answers import Answers, BedReport
    from siteplan.place.search.results import Place
    from siteplan.sun.light.daily_light import BedLight

Card = dict[str, Any]


def bounds_of(shape: BaseGeometry) -> list[float]:
    """Return west, south, east, north to the centimetre. [m]"""
    return [round(value, 2) for value in shape.bounds]


def size_text(outline: BaseGeometry, height: float | None, plan: Answers) -> str:
    """Return length by width (by height) of an outline."""
    long, wide, _ = smallest_rectangle(outline)
    sizes = [long, wide] if height is None else [long, wide, height]
    return " × ".join(length_text(size, plan.site.units) for size in sizes)


def kinds_of(plan: Answers) -> dict[str, str]:
    """Return the kind of each material."""
    return {name: material.kind for name, material in plan.site.materials.items()}


def chart_top(plan: Answers) -> float:
    """Return the hours at the upper end of all charts and of the scale."""
    if plan.maps is not None:
        return scale_top(plan.maps.month_h)
    return scale_top([report.sun.month_sun_h for report in plan.beds]) if plan.beds else 12.0


def bed_cards(plan: Answers) -> list[Card]:
    """Return a card for each bed of the site."""
    reports = {report.bed.id: report for report in plan.beds}
    return [_bed_card(plan, number, bed, reports.get(bed.id)) for number, bed in enumerate(plan.site.beds)]


def _bed_card(plan: Answers, number: int, bed: Bed, report: BedReport | None) -> Card:
    """Return what is known about one bed."""
    card: Card = {
        "key": f"bed-{number}",
        "title": bed.id,
        "proposed": bed.proposed,
        "find": bounds_of(bed.outline),
        "size": size_text(bed.outline, bed.height, plan),
        "heading": heading_text(smallest_rectangle(bed.outline)[2]),
        "sun": None,
        "light": _light(plan, report.light) if report and report.light else None,
        "headings": None,
        "lit": None,
        "move": "",
        "moves": None,
        "crops": [f"{line}." for line in crop_sentences(report.crops, plan.site.units)] if report else [],
        "cautions": [caution.text for caution in plan.cautions if caution.feature == bed.id],
        **_filling(plan, bed.id),
    }
    return card | _sunlight(plan, bed, report) if report else card


def _sunlight(plan: Answers, bed: Bed, report: BedReport) -> Card:
    """Return what a bed's card says of its sun, of turning and of moving it."""
    need = bed.need if bed.need is not None else plan.site.sun.need
    sun = report.sun
    months = [float(hours) for hours in sun.month_sun_h]
    parts: Card = {}
    parts["sun"] = {
        "season": hours_text(sun.season_sun_h),
        "worst": hours_text(sun.worst_cell_sun_h),
        "class": sun.light_class,
        "score": f"{sun.sun_score:.0f}",
        "need": hours_text(need),
        "enough": sun.season_sun_h >= need,
        "chart": month_bars(months, need=need, top=chart_top(plan)),
    }
    if report.lit is not None:
        parts["lit"] = half_hours(report.lit, clock=plan.site.timezone)
    if report.moves is not None:
        parts["move"] = report.moves.sentence
        parts["moves"] = moves_rose(report.moves)
    if report.headings is not None:
        parts["headings"] = {
            "chart": heading_rose(report.headings, now=smallest_rectangle(bed.outline)[2]),
            "sentence": report.headings.sentence,
            "unfit": unfit_sentence(report.headings),
        }
    return parts


def _light(plan: Answers, light: BedLight) -> Card:
    """Return what is known about a bed's light."""
    days = light_days(clouds=light.typical is not None)
    there = light.open_clear if light.open_typical is None else light.open_typical
    return {
        "days": days,
        "season": f"{light.best.dli_mol_m2[12]:.0f} mol/m² a day",
        "facts": light_facts(light),
        "chart": light_bars(light.best, there, days=days),
        "guide": guide_sentence(light),
        "clouds": cloud_sentence(plan),
    }


def _filling(plan: Answers, bed_id: str) -> Card:
    """Return the layers of a bed and the loads that bring them."""
    layers: Sequence[Layer] = [layer for layer in plan.fill.layers if layer.bed == bed_id] if plan.fill else []
    loads = [load for load in plan.haul.loads if load.bed == bed_id] if plan.haul else []
    units = plan.site.units
    return {
        "cut": layer_cut(layers, kinds_of(plan), units) if layers else None,
        "mass": mass_text(sum(layer.mass for layer in layers), units) if layers else "",
        "volume": volume_text(sum(layer.volume for layer in layers), units) if layers else "",
        "loads": [
            {
                "material": load.material,
                "from": load.from_id or "delivery",
                "trips": load.trips,
                "each": mass_text(load.per_trip_mass, units),
                "time": time_text(load.minutes),
            }
            for load in loads
        ],
        "trips": sum(load.trips for load in loads),
        "after": aftercare(plan, bed_id),
    }


def aftercare(plan: Answers, bed_id: str) -> list[str]:
    """Return what a filled bed wants later: water, and a top-up in the first autumn."""
    if plan.fill is None:
        return []
    units = plan.site.units
    said = [weekly_line(plan, bed) for bed in plan.fill.beds if bed.bed == bed_id]
    for top_up in plan.fill.top_ups:
        if top_up.bed == bed_id and top_up.year == 1 and top_up.volumes:
            what = " and ".join(f"{volume_text(volume, units)} of {material}" for material, volume in top_up.volumes)
            said.append(f"top up in the first autumn with {what}")
    return said


def place_cards(plan: Answers) -> list[Card]:
    """Return a card for each place found."""
    if plan.places is None:
        return []
    return [
        {
            "key": f"place-{place.rank}",
            "rank": place.rank,
            "find": bounds_of(place.outline),
            "size": size_text(place.outline, None, plan),
            "heading": heading_text(place.heading),
            "season": hours_text(place.season_sun_h),
            "worst": hours_text(place.worst_cell_sun_h),
            "why": list(place.why),
            "crops": [f"{line}." for line in crop_sentences(place.crops, plan.site.units)],
            "chart": _place_chart(plan, place),
            "cautions": [caution.text for caution in place.cautions],
        }
        for place in plan.places.places
    ]


def _place_chart(plan: Answers, place: Place) -> Markup | None:
    """Return the sun by month at a place; None where the search had only the map."""
    if place.month_sun_h is None:
        return None
    months = [float(hours) for hours in place.month_sun_h]
    return month_bars(months, need=plan.site.sun.need, top=chart_top(plan))


def trade_off(plan: Answers) -> list[Card]:
    """Return the spots that no other beats on sun, work and water at once."""
    if plan.places is None:
        return []
    units = plan.site.units
    return [
        {
            "sun": hours_text(choice.season_sun_h),
            "worst": hours_text(choice.worst_cell_sun_h),
            "time": time_text(choice.minutes) if math.isfinite(choice.minutes) else "—",
            "water": distance_text(choice.water_m, units) if math.isfinite(choice.water_m) else "—",
            "find": bounds_of(choice.outline),
            "text": choice.text,
        }
        for choice in plan.places.trade_off[:8]
    ]


def trade_picture(plan: Answers) -> Markup | None:
    """Return the same spots between sun and wheeling; None where there is no choice."""
    if plan.places is None or len(plan.places.trade_off) < 2:
        return None
    return trade_chart(plan.places.trade_off[:8])


def ruled_out(plan: Answers) -> list[Card]:
    """Return how much of the property each kind of limit takes, as the search ordered them."""
    if plan.places is None:
        return []
    return [
        {
            "name": limit.name,
            "share": share_text(limit.share),
            "features": [plain_text(feature, longest=40) for feature in limit.features[:3]],
            "more": max(len(limit.features) - 3, 0),
        }
        for limit in plan.places.ruled_out
    ]


def pile_cards(plan: Answers) -> list[Card]:
    """Return a card for each pile."""
    return [
        {
            "key": f"pile-{number}",
            "title": pile.id,
            "drop": pile.drop,
            "find": bounds_of(pile.shape.buffer(1.5)),
            "lines": pile_words(plan, pile.id),
        }
        for number, pile in enumerate(plan.site.piles)
    ]


def run_cards(plan: Answers) -> list[Card]:
    """Return a card for each run, in the order of work."""
    return [_run_card(plan, numbered) for numbered in numbered_routes(plan)]


def _run_card(plan: Answers, numbered: NumberedRoute) -> Card:
    """Return what is known about one run."""
    route, units = numbered.route, plan.site.units
    return {
        "key": f"run-{numbered.number}",
        "number": numbered.badge,
        "from": route.from_id or "delivery",
        "to": route.to_id,
        "find": bounds_of(route.line.buffer(1.0)),
        "length": length_text(route.length_m, units),
        "climb": length_text(route.climb_m, units),
        "steepest": share_text(max(route.steepest, 0.0)),
        "trips": plural(numbered.trips, "trip"),
        "time": time_text(numbered.minutes),
        "profile": _profile(plan, route),
        "loads": [
            {
                "material": load.material,
                "trips": load.trips,
                "volume": volume_text(load.per_trip_volume, units),
                "each": mass_text(load.per_trip_mass, units),
            }
            for load in numbered.loads
        ],
    }


def _profile(plan: Answers, route: Route) -> Markup | None:
    """Return the ground along a route; None on a level plane."""
    terrain = plan.site.terrain
    if terrain is None or route.length_m <= 0:
        return None
    stops = np.linspace(0, route.line.length, 60)
    points = shapely.get_coordinates(shapely.line_interpolate_point(route.line, stops))
    height = terrain.height_at(points[:, 0], points[:, 1])
    known = np.isfinite(height)
    return route_profile(stops[known].tolist(), height[known].tolist(), plan.site.units) if known.sum() > 1 else None


def purchase_rows(plan: Answers) -> list[Card]:
    """Return the shopping list."""
    if plan.fill is None:
        return []
    currency = plan.site.currency
    return [
        {
            "material": line.material,
            "offer": line.offer or line.why,
            "count": line.count if line.kind != "none" else "—",
            "kind": line.kind,
            "volume": volume_text(line.volume, plan.site.units),
            "cost": money_text(line.cost, currency),
            "deliveries": line.deliveries,
        }
        for line in plan.fill.purchase
    ]
