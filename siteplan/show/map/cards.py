"""What does the page say about each bed, place, pile and barrow run?

Each card is a dict of figures, words and charts; the template only lays it out.
It leaves out the wording of reasons and cautions: those come with the answers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from markupsafe import Markup
from shapely.geometry.base import BaseGeometry

from siteplan.fill.fill_results import Layer
from siteplan.haul.haul_results import Route
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.units import length_text, mass_text, volume_text
from siteplan.say.cautions import in_words
from siteplan.say.directions import distance_text
from siteplan.say.doubt import bed_doubts, hours_range, measure_sentences
from siteplan.say.figures import heading_text, hours_text, is_enough, plural, share_text, time_text
from siteplan.say.lighting import cloud_sentence, guide_sentence, light_days, light_facts
from siteplan.say.place_reasons import choice_labels, choice_texts, why
from siteplan.say.placing import crop_sentences, heading_sentence, shift_sentence, unfit_sentence
from siteplan.say.safe_text import plain_text
from siteplan.say.tiers import push_sentences, tier_crops, tier_sentences
from siteplan.show.charts.bars import month_bars
from siteplan.show.charts.bed_charts import bed_charts, chart_top
from siteplan.show.charts.roses import trade_chart
from siteplan.show.charts.sections import route_profile
from siteplan.show.listing import aftercare, bed_size, numbered_corners, size_text
from siteplan.show.sheet.setting_out import corner_rows, set_out
from siteplan.show.symbols.planned import NumberedRoute, numbered_routes, pile_words
from siteplan.sun.bed_sun import need_for

if TYPE_CHECKING:
    from siteplan.place.search.search_results import Place
    from siteplan.records import Answers, BedReport

Card = dict[str, Any]


def bounds_of(shape: BaseGeometry) -> list[float]:
    """Return the bounds of a shape as west, south, east, north, to the centimetre. [m]"""
    return [round(edge, 2) for edge in shape.bounds]


def bed_cards(plan: Answers) -> list[Card]:
    """Return a card for each bed of the site."""
    reports = {report.bed.id: report for report in plan.beds}
    return [_bed_card(plan, number, bed, reports.get(bed.id)) for number, bed in enumerate(plan.site.beds)]


def _bed_card(plan: Answers, number: int, bed: Bed, report: BedReport | None) -> Card:
    """Return the card of one bed."""
    charts = bed_charts(plan, bed.id)
    card: Card = {
        "key": f"bed-{number}",
        "title": bed.id,
        "proposed": bed.proposed,
        "find": bounds_of(bed.outline),
        "size": bed_size(bed, plan),
        "heading": heading_text(smallest_rectangle(bed.outline)[2]),
        "sun": None,
        "light": None,
        "headings": None,
        "lit": charts.get("hours"),
        "move": "",
        "moves": charts.get("moves"),
        "crops": [f"{line}." for line in tier_crops(report, plan.site.units)] if report else [],
        "tiers": [*tier_sentences(plan, bed), *push_sentences(plan, bed)],
        "cautions": [caution.text for caution in plan.cautions if caution.feature == bed.id],
        "cut": charts.get("layers"),
        **_filling(plan, bed.id),
    }
    return card | _sunlight(plan, report, charts) if report else card


def _sunlight(plan: Answers, report: BedReport, charts: Mapping[str, Markup]) -> Card:
    """Return the part of a bed's card on sun, light, turning and moving it."""
    need = need_for(plan.site, report.bed)
    sun = report.sun
    parts: Card = {}
    parts["sun"] = {
        "season": hours_text(sun.season_sun_h),
        "range": hours_range(sun.season_sun_h, report.doubt),
        "doubts": bed_doubts(plan, report),
        "worst": hours_text(sun.worst_cell_sun_h),
        "class": sun.light_class,
        "score": f"{sun.sun_score:.0f}",
        "need": hours_text(need),
        "enough": is_enough(sun.season_sun_h, need),
        "chart": charts["months"],
    }
    if report.light is not None:
        parts["light"] = {
            "days": light_days(clouds=report.light.typical is not None),
            "season": f"{report.light.best.dli_mol_m2[12]:.0f} mol/m² a day",
            "facts": light_facts(report.light),
            "chart": charts["light"],
            "guide": guide_sentence(report.light),
            "clouds": cloud_sentence(plan),
        }
    if report.shifts is not None:
        parts["move"] = shift_sentence(report.shifts, plan.site.units)
    if report.headings is not None:
        parts["headings"] = {
            "chart": charts["headings"],
            "sentence": heading_sentence(report.headings),
            "unfit": unfit_sentence(report.headings, plan.site.units),
        }
    return parts


def _filling(plan: Answers, bed_id: str) -> Card:
    """Return the part of a bed's card on its layers and the loads that bring them."""
    layers: Sequence[Layer] = [layer for layer in plan.fill.layers if layer.bed == bed_id] if plan.fill else []
    loads = [load for load in plan.haul.loads if load.bed == bed_id] if plan.haul else []
    units = plan.site.units
    return {
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
            "range": hours_range(place.season_sun_h, place.doubt),
            "doubts": measure_sentences("its sun", place.doubt),
            "worst": hours_text(place.worst_cell_sun_h),
            "why": list(why(place, plan.places, plan.site.units)),
            "crops": [f"{line}." for line in crop_sentences(place.crops, plan.site.units)],
            **_place_corners(plan, place),
            "chart": _place_chart(plan, place),
            "cautions": [caution.text for caution in in_words(place.findings, plan.site.units)],
        }
        for place in plan.places.places
    ]


def _place_corners(plan: Answers, place: Place) -> Card:
    """Return a place's corners: on the measured plan if there is one, and by two tapes if there are fixed points.

    Longitude and latitude are left out, so that the page does not reveal where the garden is.
    """
    site = plan.site
    taped = set_out(site, Bed(id="", outline=place.outline, height=site.place.height))
    tapes = corner_rows(taped, site.units) if taped is not None else []
    measured = site.drawn.origin is not None
    rows: list[Card] = []
    for number, corner in enumerate(numbered_corners(place.outline, site)):
        row: Card = {"number": corner.number, "x": f"{corner.drawn_x:.2f}", "y": f"{corner.drawn_y:.2f}"}
        rows.append(row | (tapes[number] if tapes else {}))
    return {
        "corners": rows if measured or tapes else [],
        "unit": site.drawn.unit if measured else "",
        "tapes": (taped.first.name, taped.second.name, taped.side) if taped is not None else (),
    }


def _place_chart(plan: Answers, place: Place) -> Markup | None:
    """Return the chart of sun by month at a place; None if the search had only the map."""
    if place.month_sun_h is None or plan.places is None:
        return None
    months = [float(hours) for hours in place.month_sun_h]
    return month_bars(months, need=plan.places.need, top=chart_top(plan))


def trade_off(plan: Answers) -> list[Card]:
    """Return the spots on the Pareto front: no other spot beats them in sun, work and water at once."""
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
            "text": text,
            "label": label,
        }
        for choice, label, text in zip(
            plan.places.trade_off, choice_labels(plan.places), choice_texts(plan.places, units), strict=True
        )
    ]


def trade_picture(plan: Answers) -> Markup | None:
    """Return a chart of these spots by sun and wheeling; None if there is nothing to choose between."""
    if plan.places is None or len(plan.places.trade_off) < 2:
        return None
    return trade_chart(plan.places, plan.site.units)


def ruled_out(plan: Answers) -> list[Card]:
    """Return how much of the property each kind of limit rules out, in the order of the search."""
    if plan.places is None:
        return []
    return [
        {
            "name": part.kind,
            "share": share_text(part.share),
            "features": [plain_text(feature, longest=40) for feature in part.features[:3]],
            "more": max(len(part.features) - 3, 0),
        }
        for part in plan.places.ruled_out
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
    """Return the card of one run."""
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
        "through": ", ".join(route.gates),
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
    """Return the height profile of a route; None on level ground."""
    terrain = plan.site.terrain
    if terrain is None or route.length_m <= 0:
        return None
    stops = np.linspace(0, route.line.length, 60)
    points = shapely.get_coordinates(shapely.line_interpolate_point(route.line, stops))
    height = terrain.height_at(points[:, 0], points[:, 1])
    is_known = np.isfinite(height)
    return (
        route_profile(stops[is_known].tolist(), height[is_known].tolist(), plan.site.units)
        if is_known.sum() > 1
        else None
    )
