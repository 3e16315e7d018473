"""What should a gardener know about a spot before building there?

Cold air that gathers, exposure to wind, old paint nearby: each is a finding, none forbids the spot. What only a
survey or a soil test can show is not checked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.findings import Finding, finding
from siteplan.land.outline import COMPASS
from siteplan.land.site import Site

#: m; ground that is lower by this than a ring of that radius around it gathers cold air (common practice, no source)
HOLLOW, RING = 0.3, 8.0
#: m and rise/run; a solid barrier this near downhill dams cold air, on ground at least this steep
#: (University of Kentucky ID-128, seen: above a solid fence)
DAM_REACH, DAM_SLOPE = 4.0, 0.03
#: a windbreak shelters up to ten of its heights best (Brandle and Finch, University of Nebraska, seen: 5 to 10)
SHELTER = 10.0
#: m; soil this near to old painted walls wants a lead test (common practice, no source: 10 ft)
OLD_PAINT = 3.05


def spot_findings(site: Site, outline: Polygon) -> tuple[Finding, ...]:
    """Return the hazards of a bed on an outline.

    Parameters
    ----------
    site : Site
    outline : Polygon
        Of the bed. [m]

    Returns
    -------
    tuple of Finding
        ``frost-pocket`` (figures: kind and id of the barrier that dams cold air, empty for a hollow),
        ``open-to-wind``, ``old-paint`` (the building, how near it counts, and the country).
    """
    return (*_frost(site, outline), *_wind(site, outline), *_paint(site, outline))


def _frost(site: Site, outline: Polygon) -> Iterator[Finding]:
    """Yield a finding if cold air may gather: in a hollow, or above a solid barrier just downhill."""
    if site.terrain is None:
        return
    middle = outline.centroid
    azimuths = np.radians(list(COMPASS.values()))
    ground = float(site.terrain.height_at([middle.x], [middle.y])[0])
    ground_around = site.terrain.height_at(middle.x + RING * np.sin(azimuths), middle.y + RING * np.cos(azimuths))
    known_around = ground_around[np.isfinite(ground_around)]
    if not math.isfinite(ground) or len(known_around) < 5:
        return
    if float(known_around.mean()) - ground >= HOLLOW and (known_around > ground).sum() >= len(known_around) - 1:
        yield finding("frost-pocket", kind="", barrier="")
        return
    lowest = int(np.nanargmin(ground_around))
    if ground - float(ground_around[lowest]) < DAM_SLOPE * RING:
        return
    reach, azimuth = DAM_REACH + float(middle.hausdorff_distance(outline)), float(azimuths[lowest])
    foot = (middle.x + reach * math.sin(azimuth), middle.y + reach * math.cos(azimuth))
    downhill = LineString([(middle.x, middle.y), foot])
    for kind, barrier, shape in _barriers(site):
        if shape.intersects(downhill) and shape.distance(outline) <= DAM_REACH:
            yield finding("frost-pocket", kind=kind, barrier=barrier)
            return


def _barriers(site: Site) -> list[tuple[str, str, BaseGeometry]]:
    """Return kind, id and outline of the features that are solid from the ground up."""
    barriers: list[tuple[str, str, BaseGeometry]] = [
        ("building", building.id, building.outline) for building in site.buildings if not building.base
    ]
    fences = [fence for fence in site.fences if not fence.base and fence.transmittance < 0.1]
    barriers += [("fence", fence.id, fence.footprint) for fence in fences]
    barriers += [("hedge", hedge.id, hedge.outline) for hedge in site.hedges if hedge.transmittance <= 0.1]
    return barriers


def _wind(site: Site, outline: Polygon) -> Iterator[Finding]:
    """Yield a finding if at least seven of the eight compass points have no windbreak near."""
    middle = outline.centroid
    windbreaks: list[tuple[BaseGeometry, float]] = [(feature.footprint, feature.height) for feature in site.fences]
    for group in (site.buildings, site.hedges, site.trees):
        windbreaks += [(feature.outline, feature.height) for feature in group]
    near = [shape for shape, height in windbreaks if shape.distance(middle) <= SHELTER * height]
    open_sides = 0
    for azimuth in np.radians(list(COMPASS.values())):
        far = (middle.x + 200 * math.sin(azimuth), middle.y + 200 * math.cos(azimuth))
        ray = LineString([(middle.x, middle.y), far])
        open_sides += not any(shape.intersects(ray) for shape in near)
    if open_sides >= 7:
        yield finding("open-to-wind")


def _paint(site: Site, outline: Polygon) -> Iterator[Finding]:
    """Yield a finding for the nearest building whose old paint may have come down on the soil."""
    on_ground = [building for building in site.buildings if not building.base]
    near = [building for building in on_ground if building.outline.distance(outline) < OLD_PAINT]
    if near:
        nearest = min(near, key=lambda building: (building.outline.distance(outline), building.id))
        yield finding("old-paint", building=nearest.id, within=OLD_PAINT, country=site.country)
