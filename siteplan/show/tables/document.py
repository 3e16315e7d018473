"""What does plan.json hold?

Every answer as plain numbers with the unit in the key's name; NaN and what was not asked become null.
It leaves out maps and drawings: those are in sun_hours.tif and plan.gpkg.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

import siteplan
from siteplan.files.output import plain
from siteplan.haul.results import HaulPlan, Load, Route
from siteplan.land.cautions import Caution
from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.place.search.results import Place, PlaceResult
from siteplan.say.hauling import comparison_name
from siteplan.say.lighting import light_document, weather_document
from siteplan.say.place_limits import ruled_out_text
from siteplan.say.place_reasons import why
from siteplan.show.tables.document_fill import bed_fill_document, fill_document
from siteplan.show.tables.document_place import crops_document, headings_document, search_document, shifts_document

if TYPE_CHECKING:
    from siteplan.records import Answers, BedReport

SCHEMA = "siteplan-plan-1"


def plan_document(plan: Answers) -> dict[str, Any]:
    """Return what plan.json holds: dicts, lists, strings, numbers and None alone.

    Parameters
    ----------
    plan : Answers
    """
    document = {
        "schema": SCHEMA,
        "siteplan": siteplan.__version__,
        "site": _site(plan.site),
        "light": weather_document(plan),
        "beds": _beds(plan),
        "places": [_place(plan.site, place, plan.places) for place in plan.places.places] if plan.places else [],
        "search": search_document(plan.places, plan.site.units),
        "ruled_out": _ruled_out(plan),
        "fill": fill_document(plan),
        "haul": _haul(plan),
        "warnings": _warnings(plan.cautions),
    }
    cleaned: dict[str, Any] = plain(document)
    return cleaned


def site_document(site: Site) -> dict[str, Any]:
    """Return what was read, before anything is asked: the site's settings, how many of each kind, every caution."""
    kinds: dict[str, int] = {}
    for feature in site.features():
        kind = type(feature).__name__.lower()
        kinds[kind] = kinds.get(kind, 0) + 1
    document: dict[str, Any] = plain(
        {
            "schema": SCHEMA,
            "siteplan": siteplan.__version__,
            "site": _site(site),
            "features": kinds,
            "warnings": _warnings(site.cautions),
        },
    )
    return document


def _warnings(cautions: Iterable[Caution]) -> list[dict[str, str]]:
    return [{"code": caution.code, "feature": caution.feature, "text": caution.text} for caution in cautions]


def _site(site: Site) -> dict[str, Any]:
    """Return what the figures rest on."""
    return {
        "name": site.name,
        "longitude": site.frame.longitude,
        "latitude": site.frame.latitude,
        "timezone": site.timezone,
        "currency": site.currency,
        "units": site.units,
        "area_m2": site.boundary.area,
        "last_frost": str(site.season.last_frost),
        "first_frost": str(site.season.first_frost),
        "year": site.sun.year,
        "cell_m": site.sun.cell,
        "step_h": site.sun.step,
        "need_h": site.sun.need,
        "plenty_h": site.sun.plenty,
    }


def centroid_lonlat(site: Site, shape: BaseGeometry) -> dict[str, float]:
    """Return the middle of a shape in longitude and latitude. [degrees]"""
    middle = site.frame.to_lonlat(shape.centroid)
    return {"centroid_lon": middle.x, "centroid_lat": middle.y}


def geojson(site: Site, shape: BaseGeometry) -> dict[str, Any]:
    """Return a shape as RFC 7946 has it, in longitude and latitude."""
    return dict(mapping(site.frame.to_lonlat(shape)))


def _beds(plan: Answers) -> list[dict[str, Any]]:
    """Return every bed of the site, with what was asked about it."""
    reports = {report.bed.id: report for report in plan.beds}
    return [_bed(plan, bed, reports.get(bed.id)) for bed in plan.site.beds]


def _bed(plan: Answers, bed: Bed, report: BedReport | None) -> dict[str, Any]:
    """Return one bed."""
    long, wide, heading = smallest_rectangle(bed.outline)
    sun = report.sun if report else None
    headings = report.headings if report else None
    return {
        "id": bed.id,
        "proposed": bed.proposed,
        "filled": bed.filled,
        "crops": bed.crops,
        **centroid_lonlat(plan.site, bed.outline),
        "area_m2": bed.outline.area,
        "length_m": long,
        "width_m": wide,
        "height_m": bed.height,
        "heading_deg": heading,
        "need_h": bed.need if bed.need is not None else plan.site.sun.need,
        "month_sun_h": sun.month_sun_h if sun else None,
        "season_sun_h": sun.season_sun_h if sun else None,
        "worst_cell_sun_h": sun.worst_cell_sun_h if sun else None,
        "light_class": sun.light_class if sun else None,
        "sun_score": sun.sun_score if sun else None,
        "orientation_score": headings.orientation_score if headings else None,
        "best_heading_deg": headings.best_heading if headings else None,
        "headings": headings_document(headings, plan.site.units),
        "moves": shifts_document(report.shifts if report else None, plan.site.units),
        "suiting_crops": crops_document(report.crops if report else ()),
        "light": light_document(report.light if report else None),
        "fill": bed_fill_document(plan, bed.id),
        "loads": _bed_loads(plan, bed.id),
    }


def _bed_loads(plan: Answers, bed_id: str) -> dict[str, Any] | None:
    if plan.haul is None:
        return None
    loads = [load for load in plan.haul.loads if load.bed == bed_id]
    return {
        "trips": sum(load.trips for load in loads),
        "minutes": sum(load.minutes for load in loads),
        "mass_kg": sum(load.mass for load in loads),
    }


def _place(site: Site, place: Place, found: PlaceResult) -> dict[str, Any]:
    return {
        "rank": place.rank,
        **centroid_lonlat(site, place.outline),
        "heading_deg": place.heading,
        "length_m": place.length,
        "width_m": place.width,
        "season_sun_h": place.season_sun_h,
        "worst_cell_sun_h": place.worst_cell_sun_h,
        "month_sun_h": place.month_sun_h,
        "merit": place.merit,
        "haul_minutes": place.minutes,
        "water_m": place.water_m,
        "door_m": place.door_m,
        "exact": place.exact,
        "why": why(place, found, site.units),
        "suiting_crops": crops_document(place.crops),
        "geometry": geojson(site, place.outline),
    }


def _ruled_out(plan: Answers) -> list[dict[str, Any]]:
    if plan.places is None:
        return []
    return [
        {
            "name": part.kind,
            "reason": ruled_out_text(part, plan.site.units),
            "features": part.features,
            "ground_share": part.share,
            "spots_share": part.spots,
            "spots_alone_share": part.alone,
        }
        for part in plan.places.ruled_out
    ]


def _haul(plan: Answers) -> dict[str, Any] | None:
    """Return routes, loads, heaps and the order of work."""
    haul = plan.haul
    if haul is None:
        return None
    return {
        "routes": [_route(plan.site, route) for route in haul.routes],
        "loads": [_load(load) for load in haul.loads],
        "unreached": [
            {
                "bed": one.bed,
                "material": one.material,
                "from": one.from_id,
                "delivered": one.delivered,
                "volume_m3": one.volume,
                "mass_kg": one.mass,
                "obstacle": {"kind": one.obstacle.kind, "id": one.obstacle.id, "wider_m": one.obstacle.wider},
            }
            for one in haul.unreached
        ],
        "trips": haul.trips,
        "total_minutes": haul.total_minutes,
        "minutes_with_rests": haul.minutes_with_rests,
        "mass_kg": haul.mass,
        "drop": haul.drop,
        "heaps": [
            {
                "material": heap.material,
                "volume_m3": heap.volume,
                **centroid_lonlat(plan.site, heap.centre),
                "radius_m": heap.radius,
                "height_m": heap.height,
                "ridge_length_m": heap.length,
                "ridge_heading_deg": heap.heading,
            }
            for heap in haul.heaps
        ],
        "days": haul.days,
        "order": [
            {
                "number": run.number,
                "day": run.day,
                "bed": run.bed,
                "material": run.material,
                "from": run.from_id,
                "trips": run.trips,
                "start_min": run.start,
                "minutes": run.minutes,
                "delivered": run.delivered,
                "mixed": run.mixed,
            }
            for run in haul.order
        ],
        **_beside(haul),
    }


def _beside(haul: HaulPlan) -> dict[str, Any]:
    """Return what goes with the plan: deliveries, other spots and gates, a second barrow, boards."""
    return {
        "deliveries": [
            {"material": one.material, "volume_m3": one.volume, "day": one.day, "before_run": one.before_run}
            for one in haul.deliveries
        ],
        "comparison": [
            {
                "name": comparison_name(row),
                "planned": row.planned,
                "minutes": row.minutes,
                "trips": row.trips,
                "walked_m": row.walked_m,
                "climbed_m": row.climbed_m,
                "peak_force_n": row.peak_force,
                "energy_kcal": row.energy_kcal,
                "loads_without_way": row.unreached,
            }
            for row in haul.comparison
        ],
        "second_barrow": None
        if haul.crew is None
        else {"minutes": haul.crew.side_by_side, "minutes_with_one": haul.crew.together},
        "boards": [
            {
                "from": one.from_id,
                "to": one.to_id,
                "soft_m": one.soft_m,
                "count": one.boards,
                "cost": one.cost,
                "push_bare_n": one.push_bare,
                "push_boarded_n": one.push_boarded,
            }
            for one in haul.boards
        ],
    }


def _route(site: Site, route: Route) -> dict[str, Any]:
    return {
        "from": route.from_id,
        "to": route.to_id,
        "length_m": route.length_m,
        "climb_m": route.climb_m,
        "steepest_grade": route.steepest,
        "steepest_descent": route.steepest_down,
        "cross_fall": route.cross_fall,
        "gates": list(route.gates),
        "loaded_s": route.loaded_s,
        "empty_s": route.empty_s,
        "bucket_m": route.bucket_m,
        "geometry": geojson(site, route.line),
    }


def _load(load: Load) -> dict[str, Any]:
    return {
        "bed": load.bed,
        "material": load.material,
        "from": load.from_id,
        "volume_m3": load.volume,
        "mass_kg": load.mass,
        "trips": load.trips,
        "per_trip_volume_m3": load.per_trip_volume,
        "per_trip_mass_kg": load.per_trip_mass,
        "limit": load.limit,
        "minutes": load.minutes,
        "shovel_minutes": load.shovel_minutes,
        "push_minutes": load.push_minutes,
        "tip_minutes": load.tip_minutes,
        "bucket_minutes": load.bucket_minutes,
        "push_force_n": load.push_force,
        "peak_force_n": load.peak_force,
        "energy_kcal": load.energy_kcal,
        "bags": load.bags,
        "gates": list(load.gates),
        "side_by_side": load.side_by_side,
    }
