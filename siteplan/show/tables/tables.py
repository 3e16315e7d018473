"""Which tables does a plan give for a spreadsheet, a notebook or a GIS?

DataFrames with units in the names of columns, and GeoDataFrames in longitude and latitude. An empty table keeps its
columns. See `siteplan.files.outputs.output` for writing files.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Feature, Level
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.say.figures import MONTHS
from siteplan.say.fill_prices import offer_text
from siteplan.say.lighting import light_columns, light_values
from siteplan.say.phrases import fill_phrase
from siteplan.say.place_limits import limit_text
from siteplan.say.place_reasons import why
from siteplan.say.tiers import tier_fills_of, tier_suns
from siteplan.say.walling import piece_text
from siteplan.show.listing import numbered_corners

if TYPE_CHECKING:
    from siteplan.records import Answers

_SHAPE_KEYS = ("outline", "line", "place", "shape")


#: the types of columns that do not hold real numbers; a column has its type even if it is empty
_TEXT = {
    "bed", "light_class", "obstacle", "why", "material", "offer", "kind", "currency", "from", "to", "limit", "gates",
    "pile", "on_hand", "id", "corners_drawn", "drawn_unit", "corners_lon_lat_deg",
}  # fmt: skip
_WHOLE = {"rank", "tier", "frame", "order", "count", "deliveries", "trips", "bags"}
_YES_NO = {"as_it_stands", "fits", "proposed", "drop"}


def _frame(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> pd.DataFrame:
    """Return a table with typed columns: text, whole number, yes or no, and real number for all others."""
    table = pd.DataFrame([list(row) for row in rows], columns=list(columns))
    types = dict.fromkeys(columns, "float64")
    types |= {column: "int64" for column in columns if column in _WHOLE}
    types |= {column: "bool" for column in columns if column in _YES_NO}
    return table.astype({column: kind for column, kind in types.items() if column not in _TEXT})


def _sentences(texts: Iterable[str]) -> str:
    """Return texts as sentences, each with a capital letter and a full stop.

    Examples
    --------
    >>> _sentences(["it lies beside shed", "8 m from the nearest tap"])
    'It lies beside shed. 8 m from the nearest tap.'
    """
    return " ".join(fill_phrase("{text:sentence}.", {"text": text.removesuffix(".")}, "metric") for text in texts)


def sun_table(plan: Answers) -> pd.DataFrame:
    """Return the sun at each bed: one row for each bed, in hours a day by month and in the season.

    Parameters
    ----------
    plan : Answers
    """
    columns = (
        "bed", *(f"{month.lower()}_sun_h" for month in MONTHS), "season_sun_h", "worst_cell_sun_h", "light_class",
        "sun_score", "orientation_score", "heading_deg", "best_heading_deg", *light_columns(),
    )  # fmt: skip
    rows = [
        (
            report.bed.id,
            *(float(hours) for hours in report.sun.month_sun_h),
            report.sun.season_sun_h,
            report.sun.worst_cell_sun_h,
            report.sun.light_class,
            report.sun.sun_score,
            report.headings.orientation_score if report.headings else None,
            smallest_rectangle(report.bed.outline)[2],
            report.headings.best_heading if report.headings else None,
            *light_values(report.light),
        )
        for report in plan.beds
    ]
    return _frame(columns, rows)


def tiers_table(plan: Answers) -> pd.DataFrame:
    """Return one row for each frame of each bed, the lowest first: its walls, its open soil, and its sun."""
    columns = (
        "bed", "tier", "height_m", "bottom_m", "top_m", "planting_area_m2", "soil_depth_m", "volume_m3",
        "wall_pressure_pa", "wall_thrust_n_per_m", "brace_spacing_m",
        *(f"{month.lower()}_sun_h" for month in MONTHS), "season_sun_h", "worst_cell_sun_h", "light_class",
    )  # fmt: skip
    rows: list[tuple[Any, ...]] = []
    for bed in plan.site.beds:
        suns, fills = tier_suns(plan, bed), tier_fills_of(plan, bed)
        for frame in bed.frames:
            fill, sun = fills.get(frame.number), suns.get(frame.number)
            filled = (
                (fill.soil_depth, fill.volume, fill.wall_pressure, fill.wall_thrust, fill.brace_spacing)
                if fill
                else (None,) * 5
            )
            lit = (
                (*sun.month_sun_h.tolist(), sun.season_sun_h, sun.worst_cell_sun_h, sun.light_class)
                if sun
                else (*(None,) * 14, "")
            )
            rows.append(
                (bed.id, frame.number, frame.height, frame.bottom, frame.top, frame.ledge.area, *filled, *lit)
            )
    return _frame(columns, rows)


def headings_table(plan: Answers) -> pd.DataFrame:
    """Return the sun at each bed and heading, one row for each; `obstacle` is empty if the bed fits."""
    columns = (
        "bed", "heading_deg", "as_it_stands", "season_sun_h", "worst_cell_sun_h", "evenness", "sun_score", "fits",
        "obstacle",
    )  # fmt: skip
    rows = [
        (
            report.bed.id, float(headings.heading[number]), number == headings.current,
            float(headings.season_h[number]), float(headings.worst_h[number]), float(headings.evenness[number]),
            float(headings.score[number]), limit is None,
            "" if limit is None else _sentences([f"it would {limit_text(limit, plan.site.units)}"]),
        )
        for report in plan.beds
        if (headings := report.headings) is not None
        for number, limit in enumerate(headings.obstacle)
    ]  # fmt: skip
    return _frame(columns, rows)


def places_table(plan: Answers) -> pd.DataFrame:
    """Return the places found, best first."""
    columns = (
        "rank", "season_sun_h", "worst_cell_sun_h", "heading_deg", "length_m", "width_m", "haul_minutes", "water_m",
        "merit", "corners_drawn", "drawn_unit", "corners_lon_lat_deg", "why",
    )  # fmt: skip
    rows = [
        (
            place.rank, place.season_sun_h, place.worst_cell_sun_h, place.heading, place.length, place.width,
            place.minutes, place.water_m, place.merit, *_corners(place.outline, plan.site),
            _sentences(why(place, places, plan.site.units)),
        )
        for places in ([plan.places] if plan.places else [])
        for place in places.places
    ]  # fmt: skip
    return _frame(columns, rows)


def _corners(outline: Polygon, site: Site) -> tuple[str, str, str]:
    """Return three texts: an outline's corners as drawn (``x y; x y``), their unit, and as longitude and latitude."""
    corners = numbered_corners(outline, site)
    digits = site.drawn.decimals
    as_drawn = "; ".join(f"{corner.drawn_x:.{digits}f} {corner.drawn_y:.{digits}f}" for corner in corners)
    lonlat = "; ".join(f"{corner.lon:.9f} {corner.lat:.9f}" for corner in corners)
    return as_drawn, site.drawn.unit, lonlat


def layers_table(plan: Answers) -> pd.DataFrame:
    """Return the layers of each bed, from the bottom up."""
    columns = (
        "bed", "order", "material", "bottom_m", "top_m", "volume_m3", "mass_kg", "settled_m", "tier", "frame",
    )  # fmt: skip
    rows = [
        (
            layer.bed, layer.order, layer.material, layer.bottom, layer.top, layer.volume, layer.mass, layer.settled,
            layer.tier, layer.frame,
        )
        for layer in (plan.fill.layers if plan.fill else ())
    ]  # fmt: skip
    return _frame(columns, rows)


def shopping_table(plan: Answers) -> pd.DataFrame:
    """Return the shopping list; `cost` is in the site's currency, which is in the next column."""
    columns = ("material", "offer", "kind", "count", "volume_m3", "cost", "currency", "deliveries")
    rows: list[tuple[Any, ...]] = [
        (
            line.material,
            offer_text(line, plan.site.units),
            line.kind,
            line.count,
            line.volume,
            line.cost,
            plan.site.currency,
            line.deliveries,
        )
        for line in (plan.fill.purchase if plan.fill else ())
    ]
    rows += [
        (
            line.material,
            piece_text(line, plan.site.units),
            "piece",
            line.count,
            None,
            line.cost,
            plan.site.currency,
            0,
        )
        for line in (plan.walls.purchase if plan.walls else ())
    ]
    return _frame(columns, rows)


def loads_table(plan: Answers) -> pd.DataFrame:
    """Return the loads: one row for each material, bed and place that it comes from."""
    columns = (
        "bed", "material", "from", "volume_m3", "mass_kg", "trips", "per_trip_volume_m3", "per_trip_mass_kg", "limit",
        "minutes", "push_force_n", "bags", "gates",
    )  # fmt: skip
    rows = [
        (
            load.bed, load.material, load.from_id, load.volume, load.mass, load.trips, load.per_trip_volume,
            load.per_trip_mass, load.limit, load.minutes, load.push_force, load.bags, "; ".join(load.gates),
        )
        for load in (plan.haul.loads if plan.haul else ())
    ]  # fmt: skip
    return _frame(columns, rows)


def geographic_layers(plan: Answers) -> dict[str, gpd.GeoDataFrame]:
    """Return the layers of plan.gpkg: beds, tiers, places, routes, piles, features, in longitude and latitude.

    Parameters
    ----------
    plan : Answers

    Returns
    -------
    dict of str to GeoDataFrame
        Always all six keys; an empty layer keeps its columns.
    """
    site = plan.site
    sun = sun_table(plan).drop(columns=["heading_deg"])
    beds = _frame(
        ("bed", "proposed", "height_m", "area_m2", "heading_deg"),
        (
            (bed.id, bed.proposed, bed.height, bed.outline.area, smallest_rectangle(bed.outline)[2])
            for bed in site.beds
        ),
    ).merge(sun, on="bed", how="left")
    places = plan.places.places if plan.places else ()
    routes = plan.haul.routes if plan.haul else ()
    route_rows = [
        (route.from_id, route.to_id, route.length_m, route.climb_m, route.loaded_s, route.empty_s) for route in routes
    ]
    route_columns = ("from", "to", "length_m", "climb_m", "loaded_s", "empty_s")
    piles = _frame(
        ("pile", "drop", "on_hand"), ((pile.id, pile.drop, _on_hand(site, pile.id)) for pile in site.piles)
    )
    return {
        "beds": _located(site, beds, [bed.outline for bed in site.beds]),
        "tiers": _located(site, tiers_table(plan), [frame.outline for bed in site.beds for frame in bed.frames]),
        "places": _located(site, places_table(plan), [place.outline for place in places]),
        "routes": _located(site, _frame(route_columns, route_rows), [route.line for route in routes]),
        "piles": _located(site, piles, [pile.shape for pile in site.piles]),
        "features": _features(site),
    }


def _on_hand(site: Site, pile_id: str) -> str:
    """Return what a pile holds, in words."""
    return ", ".join(f"{stock.material} {stock.volume:.3f} m3" for stock in site.stock if stock.at == pile_id)


def _features(site: Site) -> gpd.GeoDataFrame:
    """Return every feature of the site, the boundary first."""
    features = [feature for feature in (*site.features(), *site.levels) if feature.id]
    shapes = [site.boundary, *(_shape(feature) for feature in features)]
    rows = [("boundary", "boundary", None, None)]
    rows += [
        (
            feature.id,
            type(feature).__name__.lower(),
            getattr(feature, "height", None),
            getattr(feature, "elevation", None),
        )
        for feature in features
    ]
    return _located(site, _frame(("id", "kind", "height_m", "elevation_m"), rows), shapes)


def _shape(feature: Feature | Level) -> BaseGeometry:
    """Return the shape that a feature is drawn with."""
    for key in _SHAPE_KEYS:
        shape = getattr(feature, key, None)
        if isinstance(shape, BaseGeometry):
            return shape
    raise TypeError(f"{type(feature).__name__} has no shape")


def _located(site: Site, table: pd.DataFrame, shapes: Sequence[BaseGeometry]) -> gpd.GeoDataFrame:
    """Return a table with shapes, converted from the local frame to longitude and latitude; infinity becomes NaN."""
    real = {name: column for name, column in table.items() if column.dtype == "float64"}
    table = table.assign(**{str(name): column.where(np.isfinite(column)) for name, column in real.items()})
    shapes_lonlat = [site.frame.to_lonlat(shape) for shape in shapes]
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapes_lonlat, crs="EPSG:4326"), crs="EPSG:4326")
