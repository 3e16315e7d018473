"""What does the row of a lot hold?

The figures of its answers in SI units, or why it has none. `store` keeps the rows, `writing` writes the tables.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely

from siteplan.land.errors import Fault
from siteplan.land.site import Site
from siteplan.place.limits.limits import aisle_of
from siteplan.place.search.rows_of_beds import beds_in_rows
from siteplan.place.search.search_results import PlaceResult
from siteplan.records import Answers
from siteplan.say.figures import MONTHS
from siteplan.say.place_reasons import result_sentences
from siteplan.screen.answering import LotAnswers

Row = dict[str, Any]

#: the status of a lot
PLANNED, NO_PLACE, FAULT, ENDED = "planned", "no place", "fault", "ended"

_SUN = tuple(f"place_{month.lower()}_sun_h" for month in MONTHS)
#: the columns of figures and texts, in order; their names contain the units
COLUMNS: dict[str, str] = {
    "lot": "text", "status": "text", "why": "text", "lot_m2": "real", "mean_season_sun_h": "real",
    "ground_6h_m2": "real", "ground_8h_m2": "real", "place_season_sun_h": "real",
    "place_worst_cell_sun_h": "real", **dict.fromkeys(_SUN, "real"), "place_heading_deg": "real",
    "place_lon_deg": "real", "place_lat_deg": "real", "place_merit": "real", "beds_fit": "whole",
    "beds_drawn": "whole", "cost": "real", "currency": "text", "work_h": "real", "trips": "whole",
    "cautions": "whole", "caution_words": "text",
}  # fmt: skip


def planned_row(site: Site, answers: LotAnswers) -> Row:
    """Return the row of a lot that was planned, with its outline and its best place in longitude and latitude."""
    search, work = answers.search, answers.work
    row: Row = {"status": PLANNED, "why": "", "lot_m2": float(site.boundary.area), "beds_drawn": len(site.beds)}
    row |= _sun(search) | _place(site, search.places) | _work(site, work)
    cautions = (search if work is None else work).cautions
    row |= {"cautions": len(cautions), "caution_words": " ".join(caution.text for caution in cautions)}
    row["outline"] = site.frame.to_lonlat(site.boundary).wkb_hex
    return {key: _plain(value) for key, value in row.items()}


def faulty_row(faults: tuple[Fault, ...]) -> Row:
    """Return the row of a lot whose input is at fault."""
    return {"status": FAULT, "why": "; ".join(map(str, faults))}


def ended_row(why: str) -> Row:
    """Return the row of a lot whose planning was cut off."""
    return {"status": ENDED, "why": why}


def _sun(search: Answers) -> Row:
    """Return the mean sun, and the areas with six and with eight hours of it."""
    maps = search.maps
    if maps is None:
        return {}
    hours, area = maps.season_h[np.isfinite(maps.season_h)], maps.grid.cell**2
    return {
        "mean_season_sun_h": float(hours.mean()) if len(hours) else None,
        "ground_6h_m2": float((hours >= 6).sum() * area),
        "ground_8h_m2": float((hours >= 8).sum() * area),
    }


def _place(site: Site, search: PlaceResult | None) -> Row:
    """Return the best place, or why there is none."""
    if search is None:
        return {}
    forbidden = shapely.union_all([limit.ground for limit in search.limits])
    if not search.places:
        sentences = "; ".join(result_sentences(search, site.units))
        return {"status": NO_PLACE, "why": sentences, "beds_fit": 0}
    place = search.places[0]
    shape = site.frame.to_lonlat(place.outline)
    beds = beds_in_rows(
        shapely.difference(site.boundary, forbidden),
        length=place.length,
        width=place.width,
        heading=place.heading,
        aisle=aisle_of(site.place),
    )
    months = place.month_sun_h
    return {
        "place_season_sun_h": place.season_sun_h,
        "place_worst_cell_sun_h": place.worst_cell_sun_h,
        **({} if months is None else dict(zip(_SUN, months.tolist(), strict=True))),
        "place_heading_deg": place.heading,
        "place_lon_deg": shape.centroid.x,
        "place_lat_deg": shape.centroid.y,
        "place_merit": place.merit,
        "beds_fit": max(beds, len(search.places)),
        "place": shape.wkb_hex,
    }


def _work(site: Site, work: Answers | None) -> Row:
    """Return what the beds cost and how long the work takes."""
    if work is None:
        return {}
    prices = [work.fill.price if work.fill else None, work.walls.price if work.walls else None]
    known_prices = [price for price in prices if price is not None]
    row: Row = {"cost": math.fsum(known_prices) if known_prices else None, "currency": site.currency}
    if work.haul is not None:
        row |= {"work_h": work.haul.total_minutes / 60, "trips": work.haul.trips}
    return row


def _plain(value: Any) -> Any:
    """Return a value that JSON can hold; a number that is not finite becomes None."""
    if isinstance(value, np.generic):
        value = value.item()
    return None if isinstance(value, float) and not math.isfinite(value) else value
