"""What should a gardener know about a spot before building there?

Cold air that gathers, wind that sweeps over, old paint nearby: each a flag with its reason, none forbids.
It leaves out what only a survey or a soil test can tell.
"""

from __future__ import annotations

import math

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.cautions import Caution
from siteplan.land.outline import COMPASS
from siteplan.land.site import Site
from siteplan.place.reasons.words import distance_text

#: m; ground this much lower than the ring around it gathers cold air (common practice, no source)
HOLLOW, RING = 0.3, 8.0
#: m; a solid barrier just downhill dams cold air (University of Kentucky ID-128, seen: above a solid fence)
DAM_REACH, DAM_SLOPE = 4.0, 0.03
#: a windbreak shelters up to ten of its heights best (Brandle and Finch, University of Nebraska, seen: 5 to 10)
SHELTER = 10.0
#: m; soil this near to old painted walls wants a lead test (common practice, no source: 10 ft)
OLD_PAINT = 3.05


def spot_cautions(site: Site, outline: Polygon, *, name: str = "") -> tuple[Caution, ...]:
    """Return what to know about a bed on that outline.

    Parameters
    ----------
    site : Site
    outline : Polygon
        Of the bed. [m]
    name : str
        Id of the bed, or empty for a new one.
    """
    texts = {
        "frost-pocket": _frost(site, outline),
        "open-to-wind": _wind(site, outline),
        "old-paint": _paint(site, outline),
    }
    return tuple(Caution(code, name, text) for code, text in texts.items() if text)


def _frost(site: Site, outline: Polygon) -> str:
    """Return why cold air may gather there: a hollow, or a solid barrier just downhill."""
    if site.terrain is None:
        return ""
    middle = outline.centroid
    azimuths = np.radians(list(COMPASS.values()))
    here = float(site.terrain.height_at([middle.x], [middle.y])[0])
    around = site.terrain.height_at(middle.x + RING * np.sin(azimuths), middle.y + RING * np.cos(azimuths))
    known = around[np.isfinite(around)]
    if not math.isfinite(here) or len(known) < 5:
        return ""
    if float(known.mean()) - here >= HOLLOW and (known > here).sum() >= len(known) - 1:
        return "The ground lies lower than all around: cold air gathers there, and frost comes early and stays late."
    lowest = int(np.nanargmin(around))
    if here - float(around[lowest]) < DAM_SLOPE * RING:
        return ""
    reach, azimuth = DAM_REACH + 1, float(azimuths[lowest])
    foot = (middle.x + reach * math.sin(azimuth), middle.y + reach * math.cos(azimuth))
    downhill = LineString([(middle.x, middle.y), foot])
    for kind, barrier, shape in _barriers(site):
        if shape.intersects(downhill) and shape.distance(outline) <= DAM_REACH:
            return f"{kind.capitalize()} {barrier} just downhill dams cold air: frost may stay longer there."
    return ""


def _barriers(site: Site) -> list[tuple[str, str, BaseGeometry]]:
    """Return what is solid from the ground up."""
    found: list[tuple[str, str, BaseGeometry]] = [
        ("building", one.id, one.outline) for one in site.buildings if not one.base
    ]
    found += [("fence", one.id, one.footprint) for one in site.fences if not one.base and one.transmittance < 0.1]
    return [*found, *(("hedge", one.id, one.outline) for one in site.hedges if one.transmittance <= 0.1)]


def _wind(site: Site, outline: Polygon) -> str:
    """Return from how many sides the wind comes unbroken, where that is nearly all of them."""
    middle = outline.centroid
    things: list[tuple[BaseGeometry, float]] = [(one.footprint, one.height) for one in site.fences]
    for group in (site.buildings, site.hedges, site.trees):
        things += [(one.outline, one.height) for one in group]
    near = [shape for shape, height in things if shape.distance(middle) <= SHELTER * height]
    open_sides = 0
    for azimuth in np.radians(list(COMPASS.values())):
        far = (middle.x + 200 * math.sin(azimuth), middle.y + 200 * math.cos(azimuth))
        ray = LineString([(middle.x, middle.y), far])
        open_sides += not any(shape.intersects(ray) for shape in near)
    if open_sides < 7:
        return ""
    return (
        "It lies open to the wind on nearly all sides: a hedge or an open fence within ten of its heights shelters."
    )


def _paint(site: Site, outline: Polygon) -> str:
    """Return which walls are so near that old paint may have come down on the soil."""
    near = [one for one in site.buildings if not one.base and one.outline.distance(outline) < OLD_PAINT]
    if not near:
        return ""
    nearest = min(near, key=lambda one: (one.outline.distance(outline), one.id))
    return (
        f"It lies within {distance_text(OLD_PAINT, site.units)} of building {nearest.id}. If the walls were painted "
        "before 1978, have the soil tested for lead before growing food there, and ask the local health office."
    )
