"""What does plan.json hold?

Every result as plain numbers, with the unit in the name of the key. NaN, and what was not computed, become null.
It leaves out maps and drawings: those are in sun_hours.tif and plan.gpkg.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import siteplan
from siteplan.files.outputs.output import plain
from siteplan.fill.bed_results import TierFill
from siteplan.land.alike import MOST_IN_DOCUMENT
from siteplan.land.features import Bed
from siteplan.land.findings import Caution
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.land.surface_model import SurfaceModel
from siteplan.place.crops.crop_light import LIGHT_NEEDS, light_verdict
from siteplan.place.search.search_results import PlaceResult
from siteplan.say.cautions import listed_cautions
from siteplan.say.lighting import METHOD, cloud_sentence
from siteplan.say.place_reasons import choice_texts, result_sentences, steady_sentence, why
from siteplan.say.tiers import tier_fills_of, tier_suns
from siteplan.show.tables.document_records import centroid_lonlat, document_keys, document_of
from siteplan.sun.bed_sun import BedSun, TierSun, need_for
from siteplan.sun.light.daily_light import BedLight, Light

if TYPE_CHECKING:
    from siteplan.records import Answers, BedReport

SCHEMA = "siteplan-plan-1"


def plan_document(plan: Answers) -> dict[str, Any]:
    """Return the content of plan.json: only dicts, lists, strings, numbers, booleans and None.

    Parameters
    ----------
    plan : Answers
    """
    site, places = plan.site, plan.places
    document = {
        **_head(site),
        "light": weather_document(plan),
        "sure": _sure(plan),
        "beds": _beds(plan),
        "places": _places(places, site) if places else [],
        "search": _search(places, site) if places else None,
        "ruled_out": document_of(places.ruled_out, site) if places else [],
        "fill": document_of(plan.fill, site),
        "walls": document_of(plan.walls, site),
        "haul": document_of(plan.haul, site),
        "warnings": _warnings(plan.cautions, site),
    }
    cleaned: dict[str, Any] = plain(document)
    return cleaned


def _sure(plan: Answers) -> dict[str, Any] | None:
    """Return on how much of the ground the season's sun is surely enough; None if it was not asked."""
    sure = plan.sure_map
    if sure is None:
        return None
    parts = sure.parts() or (None, None, None)
    names = ("share_sure", "share_sure_not", "share_not_sure")
    return {
        "need_h": sure.need,
        "draws": sure.draws,
        "cell_m": sure.grid.cell,
        **dict(zip(names, parts, strict=True)),
    }


def _warnings(cautions: Iterable[Caution], site: Site) -> Any:
    """Return the cautions; if very many features share one, the list is cut and its last entry counts the rest."""
    return document_of(tuple(listed_cautions(cautions, most=MOST_IN_DOCUMENT)), site)


def site_document(site: Site) -> dict[str, Any]:
    """Return what was read of a site: its settings, the number of features of each kind, every caution."""
    kinds = Counter(type(feature).__name__.lower() for feature in (*site.features(), *site.levels))
    document: dict[str, Any] = plain(
        {
            **_head(site),
            "features": kinds,
            "materials": list(site.materials),
            "warnings": _warnings(site.cautions, site),
        },
    )
    return document


def _head(site: Site) -> dict[str, Any]:
    """Return which program wrote the document, and the settings that its figures depend on."""
    rests_on = {
        "name": site.name,
        "longitude": site.frame.longitude,
        "latitude": site.frame.latitude,
        "timezone": site.timezone,
        "currency": site.currency,
        "units": site.units,
        "drawn_unit": site.drawn.unit,
        "area_m2": site.boundary.area,
        "surface_model": _surface(site.surface_model),
        **document_of(site.season, site),
        **document_of(site.sun, site),
    }
    return {"schema": SCHEMA, "siteplan": siteplan.__version__, "site": rests_on}


def _surface(surface: SurfaceModel | None) -> dict[str, Any] | None:
    """Return which raster of the surface hides the sun where nothing is drawn, and where it does."""
    if surface is None:
        return None
    return {
        "file": surface.file,
        "date": None if surface.date is None else surface.date.isoformat(),
        "from_m": surface.begins,
        "within": surface.within,
        "cell_m": surface.layers[0].cell,
        "reach_m": surface.reach,
    }


def _beds(plan: Answers) -> list[dict[str, Any]]:
    """Return every bed of the site, with its results."""
    reports = {report.bed.id: report for report in plan.beds}
    return [
        _bed(plan.site, bed)
        | _report(plan.site, reports.get(bed.id))
        | {"fill": _bed_fill(plan, bed.id), "loads": _bed_loads(plan, bed.id), "tiers": _tiers(plan, bed)}
        for bed in plan.site.beds
    ]


def _bed(site: Site, bed: Bed) -> dict[str, Any]:
    """Return one bed as it is in the site's files."""
    long, wide, heading = smallest_rectangle(bed.outline)
    return {
        "id": bed.id,
        "proposed": bed.proposed,
        "filled": bed.filled,
        "crops": bed.crops,
        **centroid_lonlat(site, bed.outline),
        "area_m2": bed.outline.area,
        "length_m": long,
        "width_m": wide,
        "height_m": bed.height,
        "heading_deg": heading,
        "need_h": need_for(site, bed),
    }


def _tiers(plan: Answers, bed: Bed) -> list[dict[str, Any]]:
    """Return each tier of a bed, the lowest first: its frame, soil and sun; a bed of one frame has one tier."""
    suns, fills = tier_suns(plan, bed), tier_fills_of(plan, bed)
    nothing_of_sun, nothing_of_fill = (dict.fromkeys(document_keys(kind).values()) for kind in (TierSun, TierFill))
    return [
        nothing_of_fill
        | nothing_of_sun
        | (document_of(fills.get(frame.number), plan.site) or {})
        | (document_of(suns.get(frame.number), plan.site) or {})
        | {
            "tier": frame.number,
            "height_m": frame.height,
            "bottom_m": frame.bottom,
            "top_m": frame.top,
            "planting_area_m2": frame.ledge.area,
            "outline": document_of(frame.outline, plan.site),
        }
        for frame in bed.frames
    ]


def _report(site: Site, report: BedReport | None) -> dict[str, Any]:
    """Return the sun at one bed; if it was not computed, the same keys without values."""
    headings = report.headings if report else None
    return {
        **(document_of(report.sun, site) if report else dict.fromkeys(document_keys(BedSun).values())),
        "orientation_score": headings.orientation_score if headings else None,
        "best_heading_deg": headings.best_heading if headings else None,
        "headings": document_of(headings, site),
        "moves": document_of(report.shifts, site) if report else None,
        "suiting_crops": document_of(report.crops, site) if report else [],
        "light": light_document(report.light, site) if report else None,
        "doubt": document_of(report.doubt, site) if report else None,
    }


def _bed_fill(plan: Answers, bed_id: str) -> dict[str, Any] | None:
    """Return the fill of one bed: zeros if the bed is full already, None if the fill was not computed."""
    if plan.fill is None:
        return None
    layers = tuple(layer for layer in plan.fill.layers if layer.bed == bed_id)
    return {
        "volume_m3": sum(layer.volume for layer in layers),
        "mass_kg": sum(layer.mass for layer in layers),
        "depth_m": max((layer.top for layer in layers), default=0.0),
        "settled_depth_m": max((bed.settled_depth for bed in plan.fill.beds if bed.bed == bed_id), default=0.0),
        **next((document_of(bed, plan.site) for bed in plan.fill.beds if bed.bed == bed_id), {}),
        "layers": document_of(layers, plan.site),
        "top_up": [document_of(top_up, plan.site) for top_up in plan.fill.top_ups if top_up.bed == bed_id],
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


def _places(places: PlaceResult, site: Site) -> list[dict[str, Any]]:
    """Return the places, each with the reasons for it."""
    return [document_of(place, site) | {"why": why(place, places, site.units)} for place in places.places]


def _search(places: PlaceResult, site: Site) -> dict[str, Any]:
    """Return the results of the search as a whole: how sure it is, the other choices, how sensitive the first is."""
    texts = choice_texts(places, site.units)
    return {
        "spots": places.scanned,
        "free": places.free,
        "asked_of_the_exact_sun": places.computed,
        "gap": places.gap,
        "search_gap": places.search_gap,
        "gap_h": places.gap * places.plenty,
        "search_gap_h": places.search_gap * places.plenty,
        "sentences": result_sentences(places, site.units),
        "draws": places.draws,
        "first_stays_of_draws": places.first_stays,
        "trade_off": [
            document_of(choice, site) | {"text": text} for choice, text in zip(places.trade_off, texts, strict=True)
        ],
        "steady": steady_sentence(places.sensitivity, site.units) or None,
    }


def weather_document(plan: Answers) -> dict[str, Any]:
    """Return the sources of the figures of light."""
    station = document_of(plan.site.weather, plan.site)
    return {"method": METHOD, "typical_year": station, "clouds": cloud_sentence(plan)}


def light_document(light: BedLight | None, site: Site) -> dict[str, Any] | None:
    """Return a bed's light; `typical_year` is None without a weather file."""
    if light is None:
        return None
    season = float(light.best.dli_mol_m2[12])
    return {
        "month_sky_share": light.sky_share[:12],
        "season_sky_share": light.sky_share[12],
        "clear_days": _year(light.clear),
        "typical_year": None if light.typical is None else _year(light.typical),
        "season_share_of_open_ground": light.share_of_open[12],
        "season_crop_groups": [
            document_of(want, site) | {"light": light_verdict(season, want)} for want in LIGHT_NEEDS
        ],
        "clouds_counted": light.typical is not None,
    }


def _year(light: Light) -> dict[str, Any]:
    """Return the light of one kind of year (clear or typical), by month and in the season."""
    columns = {
        "direct_kwh_m2_per_day": light.direct_kwh_m2,
        "diffuse_kwh_m2_per_day": light.diffuse_kwh_m2,
        "reflected_kwh_m2_per_day": light.reflected_kwh_m2,
        "bright_sun_h": light.bright_h,
        "dli_mol_m2_per_day": light.dli_mol_m2,
    }
    by_month = {f"month_{key}": months[:12] for key, months in columns.items()}
    return by_month | {f"season_{key}": months[12] for key, months in columns.items()}
