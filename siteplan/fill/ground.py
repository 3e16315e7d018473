"""What does a bed stand on, and what follows for its fill?

The surface under its middle: paving, lawn, bare soil; how far the ground falls; and the lead that a soil test found.
It leaves out whether a slab, a deck or a wall bears it: that is a builder's judgement and the local code's.

References
----------
Cardboard over turf, which dies in six to eight weeks: University of Maryland Extension, seen; a lap of 15 cm: common
practice, no source. Depth over paving: common practice, no source. Wet mix of 1600 kg/m3: calculated.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np
import shapely

from siteplan.fill.hygiene import lead_class
from siteplan.fill.recipe import inside
from siteplan.fill.slope import volume_over_ground
from siteplan.land.cautions import Finding, finding
from siteplan.land.features import Bed
from siteplan.land.site import Site

Base = Literal["paving", "lawn", "soil", "unknown"]

PAVED_DEPTH = 18 * 0.0254  # m
LEVEL_WITHIN = 4 * 0.0254  # m
UNEVEN_BY = 0.02  # of the volume
LAP = 0.15  # m, of the sheets of a lining
_EDGE_STEP = 0.25  # m

_BASES: dict[str, Base] = {
    "paved": "paving", "steps": "paving", "grass": "lawn", "soil": "soil", "mulch": "soil", "mud": "soil",
    "gravel": "soil",
}  # fmt: skip


def bed_base(site: Site, bed: Bed) -> Base:
    """Return what a bed stands on, by the surface under its middle; the smallest of those that lie there.

    Returns
    -------
    str
        ``paving``, ``lawn``, ``soil`` (mulch, mud and gravel too: roots pass), or ``unknown`` where none is drawn.
    """
    middle = bed.outline.representative_point()
    under = [surface for surface in site.surfaces if surface.outline.covers(middle)]
    if not under:
        return "unknown"
    return _BASES[min(under, key=lambda surface: surface.outline.area).surface]


def over_lead(site: Site, bed: Bed) -> bool:
    """Return whether roots would pass from a bed into soil with more lead than the screening level."""
    if site.soil.lead is None or bed_base(site, bed) == "paving":
        return False
    return lead_class(site.soil.lead) in ("above screening", "no food")


def ground_findings(site: Site, bed: Bed) -> Iterator[Finding]:
    """Yield what the ground under one bed asks for."""
    if bed_base(site, bed) == "paving":
        if bed.height < PAVED_DEPTH - 1e-6:
            yield finding("on-paving", bed.id, deep=PAVED_DEPTH)
        yield finding("ground-load", bed.id)
    elif over_lead(site, bed):
        yield finding("lead-barrier", bed.id)
    fall = ground_fall(site, bed)
    if fall > LEVEL_WITHIN:
        level = float(inside(bed).area) * bed.height
        more = volume_over_ground(bed, site.terrain) / level - 1 if level else 0.0
        yield finding("uneven-ground", bed.id, fall=fall, more=more if abs(more) > UNEVEN_BY else 0.0)


def ground_fall(site: Site, bed: Bed) -> float:
    """Return how much the ground falls between the edges and the middle of a bed; 0 where it is not known. [m]"""
    if site.terrain is None:
        return 0.0
    edges = shapely.get_coordinates(shapely.segmentize(bed.outline, _EDGE_STEP))
    points = np.vstack([edges, shapely.get_coordinates(shapely.centroid(bed.outline))])
    heights = site.terrain.height_at(points[:, 0], points[:, 1])
    heights = heights[np.isfinite(heights)]
    return float(np.ptp(heights)) if len(heights) else 0.0


def beds_to_fill(beds: Sequence[Bed]) -> tuple[Bed, ...]:
    """Return the beds that are not full already."""
    return tuple(bed for bed in beds if not bed.filled)
