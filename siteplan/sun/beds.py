"""How much sun does a bed get, and is it enough?

The engine's hours at points on the soil, on a grid turned with the bed.
It leaves out the headings that it might have instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles import own_shade

Floats = NDArray[np.float64]

#: least hours of direct sun a day, and what a garden with so many is called: Penn State Extension's scheme (seen
#: second-hand); other extensions draw the lower lines elsewhere, so the hours are always said first
LIGHT_CLASSES = ((6.0, "full sun"), (4.0, "part sun"), (2.0, "part shade"), (0.0, "shade"))


@dataclass(frozen=True, eq=False)
class BedSun:
    """Direct sun on a bed's soil, as a mean over days.

    Attributes
    ----------
    bed : str
        Its id.
    month_sun_h : ndarray, shape (12,)
        Mean over the cells for each month. [h a day]
    season_sun_h, worst_cell_sun_h : float
        Mean over the cells, and the least of them, over the growing season. [h a day]
    light_class : str
        Of the season's mean: full sun, part sun, part shade or shade.
    sun_score : float
        0 to 100: the share of what is plenty for its crop that its cells get, on average.
    cells : ndarray, shape (n, 3)
        Where the cells stand: east, north and absolute height. [m]
    cell_season_h : ndarray, shape (n,)
        Of each cell over the growing season. [h a day]
    """

    bed: str
    month_sun_h: Floats
    season_sun_h: float
    worst_cell_sun_h: float
    light_class: str
    sun_score: float
    cells: Floats
    cell_season_h: Floats


def light_class(hours: float) -> str:
    """Return what a spot with so many hours of direct sun a day is called.

    Examples
    --------
    >>> [light_class(hours) for hours in (6.0, 5.9, 4.0, 3.9, 1.9)]
    ['full sun', 'part sun', 'part sun', 'part shade', 'shade']
    """
    if not hours >= 0:
        raise ValueError(f"hours is {hours}, must be at least 0")
    return next(name for least, name in LIGHT_CLASSES if hours >= least)


def bed_sun(site: Site, bed: Bed, engine: SunEngine) -> BedSun:
    """Return the sun on a bed, wherever it stands.

    Parameters
    ----------
    site : Site
    bed : Bed
        One of the site's, moved or turned, or a new one: what the site's bed of that id puts in its own sun is taken
        away, and this one's trellis set in its place.
    engine : SunEngine
        Of that site.

    Returns
    -------
    BedSun
    """
    cells = bed_cells(site, bed)
    answer = engine.hours(cells, extra=own_shade(site, bed), without=(bed.id,))
    plenty = site.sun.plenty * (1.0 if bed.need is None else bed.need / site.sun.need)
    season = answer.season_h
    mean = float(season.mean())
    return BedSun(
        bed=bed.id,
        month_sun_h=answer.month_h.mean(axis=1),
        season_sun_h=mean,
        worst_cell_sun_h=float(season.min()),
        light_class=light_class(mean),
        sun_score=sun_score(season, plenty),
        cells=cells,
        cell_season_h=season,
    )


def sun_score(season_h: Floats, plenty: float) -> float:
    """Return how much of what is plenty a bed's cells get, 0 to 100.

    Parameters
    ----------
    season_h : ndarray, shape (n,)
        Of each cell over the growing season. [h a day]
    plenty : float
        Beyond which more counts no more; where it is 0 nothing is wanted, and the score is 100. [h]

    Examples
    --------
    >>> sun_score(np.array([8.0, 12.0, 4.0, 0.0]), 8.0)
    62.5
    """
    if plenty <= 0:
        return 100.0
    return float(100 * np.minimum(season_h, plenty).mean() / plenty)


def bed_cells(site: Site, bed: Bed) -> Floats:
    """Return points on a bed's soil: the centres of a grid turned with it, and its middle where none lies within.

    They are at most a map's cell and a quarter of the bed's width apart, so that a turned bed is asked the same points
    of itself.

    Returns
    -------
    ndarray, shape (n, 3)
        East, north and absolute height. [m]
    """
    length, width, heading = smallest_rectangle(bed.outline)
    apart = min(site.sun.cell, width / 4)
    along = (np.arange(steps := math.ceil(length / apart)) + 0.5) * length / steps - length / 2
    across = (np.arange(steps := math.ceil(width / apart)) + 0.5) * width / steps - width / 2
    forth, aside = (values.ravel() for values in np.meshgrid(along, across))
    middle = shapely.centroid(shapely.minimum_rotated_rectangle(bed.outline))
    turn = math.radians(heading)
    east = middle.x + forth * math.sin(turn) + aside * math.cos(turn)
    north = middle.y + forth * math.cos(turn) - aside * math.sin(turn)
    soil = bed.outline.buffer(-bed.wall_thickness, join_style="mitre")
    within = shapely.intersects_xy(soil, east, north)
    if not within.any():
        inner = shapely.point_on_surface(bed.outline)
        east, north, within = np.array([inner.x]), np.array([inner.y]), np.array([True])
    height = site.ground_at(bed.outline) + bed.height
    return np.column_stack([east[within], north[within], np.full(int(within.sum()), height)])
