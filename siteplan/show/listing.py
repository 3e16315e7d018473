"""What do both the map and the work sheet list about beds and shopping?

A bed's size and corners, its care once it is filled, and the shopping list, in the gardener's units.
Templates do the layout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import shapely
from shapely import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Bed
from siteplan.land.outline import corners_of, smallest_rectangle
from siteplan.land.site import Site
from siteplan.land.units import length_text
from siteplan.say.figures import money_text, volume_among
from siteplan.say.fill_prices import offer_text, why_text
from siteplan.say.filling import weekly_line

if TYPE_CHECKING:
    from siteplan.records import Answers

MOST_PLACES = 3  # on a work sheet: the same number as a search finds by default


def size_text(outline: BaseGeometry, height: float | None, plan: Answers) -> str:
    """Return the size of an outline as text: length by width, and height where it is given."""
    long, wide, _ = smallest_rectangle(outline)
    sizes = [long, wide] if height is None else [long, wide, height]
    return " × ".join(length_text(size, plan.site.units) for size in sizes)


def bed_size(bed: Bed, plan: Answers) -> str:
    """Return the size of a bed as text: length by width by height, and the number of tiers."""
    tiers = f", in {len(bed.frames)} tiers" if len(bed.frames) > 1 else ""
    return size_text(bed.outline, bed.height, plan) + tiers


@dataclass(frozen=True)
class Corner:
    """One corner of a bed, numbered as on the work sheet.

    Attributes
    ----------
    number : int
        From 1, clockwise from the north-west corner.
    drawn_x, drawn_y : float
        Coordinates in the gardener's drawing: in the measured plan, or in the site's coordinate system.
    lon, lat : float
        [degrees]
    """

    number: int
    drawn_x: float
    drawn_y: float
    lon: float
    lat: float


def place_beds(plan: Answers) -> list[Bed]:
    """Return a bed at each of the best places, at most `MOST_PLACES`."""
    places = plan.places
    return [places.bed_at(place) for place in places.places[:MOST_PLACES]] if places else []


def numbered_corners(outline: Polygon, site: Site) -> list[Corner]:
    """Return the coordinates of an outline's corners, to a millimetre or finer.

    Parameters
    ----------
    outline : Polygon
        In the local frame. [m]
    site : Site
    """
    degrees = site.frame.to_lonlat(MultiPoint(corners_of(outline)))
    places = shapely.get_coordinates(site.drawn.from_lonlat(degrees)).round(site.drawn.decimals) + 0.0
    pairs = zip(places.tolist(), shapely.get_coordinates(degrees).round(9).tolist(), strict=True)
    return [Corner(number, *place, *lonlat) for number, (place, lonlat) in enumerate(pairs, start=1)]


def aftercare(plan: Answers, bed_id: str) -> list[str]:
    """Return the care that a filled bed needs later: water, and a top-up in the first autumn."""
    if plan.fill is None:
        return []
    units = plan.site.units
    sentences = [weekly_line(plan, bed) for bed in plan.fill.beds if bed.bed == bed_id]
    for top_up in plan.fill.top_ups:
        if top_up.bed == bed_id and top_up.year == 1 and top_up.volumes:
            among = [volume for _, volume in top_up.volumes]
            materials = " and ".join(
                f"{volume_among(volume, among, units)} of {material}" for material, volume in top_up.volumes
            )
            sentences.append(f"top up in the first autumn with {materials}")
    return sentences


def purchase_rows(plan: Answers) -> list[dict[str, Any]]:
    """Return the shopping list."""
    if plan.fill is None:
        return []
    currency = plan.site.currency
    return [
        {
            "material": line.material,
            "offer": offer_text(line, plan.site.units) or why_text(line, plan.site.units),
            "count": line.count if line.kind != "none" else "—",
            "kind": line.kind,
            "volume": volume_among(line.volume, (other.volume for other in plan.fill.purchase), plan.site.units),
            "cost": money_text(line.cost, currency),
            "deliveries": line.deliveries,
        }
        for line in plan.fill.purchase
    ]
