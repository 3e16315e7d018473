"""What does a bed stand on?

The surface under its middle, the fall of the ground across it, and its volume over ground that is not level. Whether
a slab, a deck or a wall can carry it is for a builder and the local code to judge.
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.fill.safety import lead_class
from siteplan.land.features import Area, Bed
from siteplan.land.site import Site
from siteplan.land.terrain import Terrain

Base = Literal["paving", "lawn", "soil", "unknown"]

LAP = 0.15  # m, of the sheets of a lining. Common practice, no source
#: m, 8 in, about the depth of a spade: so much of the ground below roots are counted on to use, through cardboard and
#: a coarse base. Common practice, no source; roots of tomatoes go to 48 in where nothing stops them (data/crops.csv)
NATIVE_SOIL = 0.2032
_EDGE_STEP = 0.25  # m
_SAMPLES = 1600  # points in the bounding rectangle of the inside

_BASES: dict[str, Base] = {
    "paved": "paving", "steps": "paving", "grass": "lawn", "soil": "soil", "mulch": "soil", "mud": "soil",
    "gravel": "soil",
}  # fmt: skip


def bed_base(site: Site, bed: Bed) -> Base:
    """Return what a bed stands on: the smallest surface under its middle.

    Returns
    -------
    str
        ``paving``, ``lawn``, ``soil`` (mulch, mud and gravel too: roots pass), or ``unknown`` where none is drawn.
    """
    middle = bed.outline.representative_point()
    surfaces = [surface for surface in site.surfaces if surface.outline.covers(middle)]
    if not surfaces:
        return "unknown"
    return _BASES[min(surfaces, key=lambda surface: surface.outline.area).surface]


def over_lead(site: Site, bed: Bed) -> bool:
    """Return whether roots would pass from a bed into soil with more lead than the screening level."""
    if site.soil.lead is None or bed_base(site, bed) == "paving":
        return False
    return lead_class(site.soil.lead) in ("above screening", "no food")


def native_soil(site: Site, bed: Bed) -> float:
    """Return how far roots are counted on to go into the ground under a bed; 0 on paving and over a barrier. [m]"""
    return 0.0 if bed_base(site, bed) == "paving" or over_lead(site, bed) else NATIVE_SOIL


def ground_fall(site: Site, bed: Bed) -> float:
    """Return how much the ground falls between the highest and the lowest point under a bed's edges and middle.

    Returns
    -------
    float
        0 where the terrain is not known. [m]
    """
    if site.terrain is None:
        return 0.0
    edges = shapely.get_coordinates(shapely.segmentize(bed.outline, _EDGE_STEP))
    points = np.vstack([edges, shapely.get_coordinates(shapely.centroid(bed.outline))])
    heights = site.terrain.height_at(points[:, 0], points[:, 1])
    heights = heights[np.isfinite(heights)]
    return float(np.ptp(heights)) if len(heights) else 0.0


def volume_over_ground(bed: Bed, terrain: Terrain | None) -> float:
    """Return the volume between the ground and a bed's level top, within the walls; of tiers, up to each ledge.

    A bed that is let into the slope holds what a level one does; this one is not.

    Parameters
    ----------
    bed : Bed
        Its tops are level, at their heights above the ground at the middle of its outline.
    terrain : Terrain or None
        Level where it is None.

    Returns
    -------
    float
        NaN where the ground under the bed is not known. [m3]

    Notes
    -----
    The ground is sampled within the walls. On an even slope the answer is inside area times height, exactly, wherever
    the ground at the middle has the mean height. Where the ground rises above the top nothing is filled.

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> outline = rectangle(0, 0, length=4, width=1, heading=90)
    >>> volume_over_ground(Bed(id="a", outline=outline, height=0.5, wall_thickness=0), None)
    2.0
    """
    middle = shapely.centroid(bed.outline)
    ground = 0.0 if terrain is None else float(terrain.height_at([middle.x], [middle.y])[0])
    return sum(_volume_under(frame.column, ground + frame.top, terrain) for frame in bed.frames)


def _volume_under(within: Area, top: float, terrain: Terrain | None) -> float:
    """Return the volume between the ground and a level top, above an area. [m3]"""
    if terrain is None or within.is_empty:
        return float(within.area * top)
    west, south, east, north = within.bounds
    step = math.sqrt((east - west) * (north - south) / _SAMPLES)
    columns, rows = max(2, round((east - west) / step)), max(2, round((north - south) / step))
    x = west + (np.arange(columns) + 0.5) * (east - west) / columns
    y = south + (np.arange(rows) + 0.5) * (north - south) / rows
    eastings, northings = (axis.ravel() for axis in np.meshgrid(x, y))
    inside = shapely.contains_xy(within, eastings, northings)
    depth = top - terrain.height_at(eastings[inside], northings[inside])
    return float(within.area * _mean_depth(eastings[inside], northings[inside], depth, shapely.centroid(within)))


def _mean_depth(
    x: NDArray[np.float64], y: NDArray[np.float64], depth: NDArray[np.float64], centre: shapely.Point
) -> float:
    """Return the mean depth over an area from samples: that of the best plane, off which they are 0 on average.

    A plane has its mean at the area's centre, however unevenly the samples lie along the edge.
    """
    if len(depth) == 0 or np.isnan(depth).any():
        return math.nan
    depth = np.maximum(depth, 0.0)
    terms = np.column_stack([np.ones_like(x), x - centre.x, y - centre.y])
    plane, *_ = np.linalg.lstsq(terms, depth, rcond=None)
    return float(plane[0])
