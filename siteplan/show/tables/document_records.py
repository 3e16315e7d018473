"""How is one result record written to plan.json?

Each field has a key of its name and unit; the unit comes from a marker in the field's type (land/document.py). Some
records add values computed from their fields. `document` puts the records together.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from types import MappingProxyType
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from siteplan.fill.fill_results import Alternative, BreakEven, FillPlan, PurchaseLine, TopUp, TopUpYear
from siteplan.haul.haul_results import HaulPlan, HaulSummary, Heap
from siteplan.land.document import Named, Unit
from siteplan.land.features import MonthDay
from siteplan.land.site import Site
from siteplan.land.values import Quantity
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift, Shifts
from siteplan.place.limits.limits import Limit
from siteplan.place.search.no_fit import RuledOut
from siteplan.place.search.search_results import Place
from siteplan.say.fill_prices import but_text, offer_text, why_text
from siteplan.say.hauling import comparison_name
from siteplan.say.place_limits import limit_text, ruled_out_text
from siteplan.say.placing import heading_sentence, shift_sentence
from siteplan.say.walling import piece_text
from siteplan.show.listing import numbered_corners
from siteplan.walls.walls_results import Sawn, WallPlan, WallPurchase


def document_of(value: Any, site: Site) -> Any:
    """Return a value as plan.json holds it: records as mappings, tuples as lists, shapes as GeoJSON.

    Parameters
    ----------
    value : object
        A result record, a tuple of records, or the value of a field; None stays None.
    site : Site
        Its local frame and units are used.
    """
    if isinstance(value, tuple):
        return [document_of(part, site) for part in value]
    if isinstance(value, BaseGeometry):
        return dict(mapping(site.frame.to_lonlat(value)))  # GeoJSON, RFC 7946
    if isinstance(value, (dt.date, MonthDay)):
        return str(value)
    if not dataclasses.is_dataclass(value):
        return value
    record: Any = type(value)
    fields = {key: document_of(getattr(value, name), site) for name, key in document_keys(record).items()}
    add_values = _ADDED.get(record)
    return fields | add_values(value, site) if add_values else fields


@cache
def document_keys(record: type) -> Mapping[str, str]:
    """Return the key under which each field of a record is written; hidden fields are left out.

    Examples
    --------
    >>> from siteplan.fill.fill_results import StockUse
    >>> dict(document_keys(StockUse))
    {'material': 'material', 'at': 'at', 'volume': 'volume_m3', 'left': 'left_m3'}
    """
    hints = get_type_hints(record, include_extras=True)
    keys = {field.name: _key(field.name, hints[field.name]) for field in dataclasses.fields(record)}
    return MappingProxyType({name: key for name, key in keys.items() if key})


def _key(name: str, hint: Any) -> str:
    markers = [*_markers(hint)]
    name = next((marker.name for marker in markers if isinstance(marker, Named)), name)
    unit = next((marker.unit for marker in markers if isinstance(marker, (Unit, Quantity))), "")
    return f"{name}_{unit}" if name and unit else name


def _markers(hint: Any) -> Iterator[Any]:
    """Yield the markers of a type and of the types within it, as in ``tuple[CubicMetres, ...]``."""
    if get_origin(hint) is Annotated:
        yield from hint.__metadata__
    for part in get_args(hint):
        yield from _markers(part)


def centroid_lonlat(site: Site, shape: BaseGeometry) -> dict[str, float]:
    """Return the centroid of a shape in longitude and latitude. [degrees]"""
    middle = site.frame.to_lonlat(shape.centroid)
    return {"centroid_lon": middle.x, "centroid_lat": middle.y}


def _of_fill(fill: FillPlan, site: Site) -> dict[str, Any]:
    return {
        "complete": fill.complete,
        "lacking": fill.lacking,
        "total_cost": fill.price,
        "currency": site.currency,
    }


def _of_purchase(line: PurchaseLine, site: Site) -> dict[str, Any]:
    return {"offer": offer_text(line, site.units), "why": why_text(line, site.units)}


def _of_alternative(alternative: Alternative, _: Site) -> dict[str, Any]:
    return {"why": but_text(alternative)}


def _of_top_up(top_up: TopUp, _: Site) -> dict[str, Any]:
    return {"volumes": _volumes(top_up.volumes)}


def _of_top_up_year(year: TopUpYear, _: Site) -> dict[str, Any]:
    return {"volumes": _volumes(year.volumes), "left_over": _volumes(year.left_over)}


def _volumes(volumes: Iterable[tuple[str, float]]) -> list[dict[str, Any]]:
    return [{"material": material, "volume_m3": volume} for material, volume in volumes]


def _of_break_even(break_even: BreakEven, _: Site) -> dict[str, Any]:
    return {"volume_m3": break_even.volume}


def _of_walls(walls: WallPlan, site: Site) -> dict[str, Any]:
    return {"total_cost": walls.price, "currency": site.currency, "lacking": walls.lacking}


def _of_sawn(cut: Sawn, _: Site) -> dict[str, Any]:
    return {"pieces": [{"length_m": length, "count": count} for length, count in cut.pieces]}


def _of_wall_purchase(line: WallPurchase, site: Site) -> dict[str, Any]:
    return {"offer": piece_text(line, site.units)}


def _of_haul(haul: HaulPlan, _: Site) -> dict[str, Any]:
    return {
        "trips": haul.trips,
        "minutes_with_rests": haul.minutes_with_rests,
        "mass_kg": haul.mass,
        "days": haul.days,
    }


def _of_heap(heap: Heap, site: Site) -> dict[str, Any]:
    return centroid_lonlat(site, heap.centre)


def _of_haul_summary(row: HaulSummary, _: Site) -> dict[str, Any]:
    return {"name": comparison_name(row), "planned": row.planned}


def _of_place(place: Place, site: Site) -> dict[str, Any]:
    return {
        **centroid_lonlat(site, place.outline),
        "corners": [dataclasses.asdict(corner) for corner in numbered_corners(place.outline, site)],
    }


def _of_ruled_out(part: RuledOut, site: Site) -> dict[str, Any]:
    return {"reason": ruled_out_text(part, site.units)}


def _of_headings(headings: Headings, site: Site) -> dict[str, Any]:
    return {
        "evenness": headings.evenness,
        "fits": headings.fits,
        "obstacle": [_obstacle(limit, site) for limit in headings.obstacle],
        "sentence": heading_sentence(headings),
    }


def _of_shift(step: Shift, site: Site) -> dict[str, Any]:
    return {"fits": step.obstacle is None, "obstacle": _obstacle(step.obstacle, site)}


def _of_shifts(shifts: Shifts, site: Site) -> dict[str, Any]:
    return {
        "steps": [document_of(step, site) for step in (*shifts.steps, shifts.further) if step is not None],
        "best": shifts.best.direction if shifts.best else None,
        "sentence": shift_sentence(shifts, site.units),
    }


def _obstacle(limit: Limit | None, site: Site) -> str | None:
    return None if limit is None else limit_text(limit, site.units)


#: functions that return the further values of a record, by its type
_ADDED: Mapping[type, Callable[[Any, Site], dict[str, Any]]] = {
    FillPlan: _of_fill,
    PurchaseLine: _of_purchase,
    Alternative: _of_alternative,
    TopUp: _of_top_up,
    TopUpYear: _of_top_up_year,
    BreakEven: _of_break_even,
    WallPlan: _of_walls,
    Sawn: _of_sawn,
    WallPurchase: _of_wall_purchase,
    HaulPlan: _of_haul,
    Heap: _of_heap,
    HaulSummary: _of_haul_summary,
    Place: _of_place,
    RuledOut: _of_ruled_out,
    Headings: _of_headings,
    Shift: _of_shift,
    Shifts: _of_shifts,
}
