"""What does the search for a place answer?

Plain records; the modules beside this one compute them.
It leaves out people's units, but for the sentences, which are written in the site's own.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.cautions import Caution
from siteplan.land.grid import Grid
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.limits.limits import Limit
from siteplan.place.merit.sensitivity import Sensitivity
from siteplan.place.merit.tradeoff import Choice

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Place:
    """One spot for a bed.

    Attributes
    ----------
    rank : int
        1 is the best.
    outline : Polygon
        Of the bed. [m]
    x, y : float
        Its middle. [m]
    heading : float
        Of the long side, clockwise from true north, 0 to 180. [degrees]
    length, width : float
        [m]
    season_sun_h, worst_cell_sun_h : float
        Mean over the bed and in its worst cell, over the growing season or the months asked for. [h a day]
    merit : float
        Sun less what the work, the water and the walk cost, as a share of plenty: 1 is the best there can be.
    why : tuple of str
        Plain sentences: what it gives, and what it gives up.
    exact : bool
        Whether the sun was asked at the bed's own soil, or read off the map on the ground.
    minutes : float
        Of wheeling to fill it, all trips; NaN where no minutes were handed in. [min]
    water_m, door_m : float
        To the nearest tap and door; NaN where there is none. [m]
    month_sun_h : ndarray, shape (12,), or None
        Mean over the bed for each month; None where it was read off the map. [h a day]
    cautions : tuple of Caution
        What to know about the spot: cold air, wind, old paint.
    crops : tuple of CropFit
        Which crops suit a bed there, those that suit first; empty where it was not asked.
    """

    rank: int
    outline: Polygon
    x: float
    y: float
    heading: float
    length: float
    width: float
    season_sun_h: float
    worst_cell_sun_h: float
    merit: float
    why: tuple[str, ...]
    exact: bool
    minutes: float
    water_m: float
    door_m: float
    month_sun_h: Floats | None = None
    cautions: tuple[Caution, ...] = ()
    crops: tuple[CropFit, ...] = ()


@dataclass(frozen=True, kw_only=True)
class RuledOut:
    """How much one kind of limit forbids.

    Attributes
    ----------
    name, reason : str
        The kind, and the reason of its largest one.
    features : tuple of str
        Ids of what causes it, the largest first.
    share : float
        Of the property's ground that is forbidden. [0 to 1]
    spots, alone : float
        Share of all spots (cell and heading) that it forbids, and that it alone forbids: what would open without it.
    """

    name: str
    reason: str
    features: tuple[str, ...]
    share: float
    spots: float
    alone: float


@dataclass(frozen=True, eq=False, kw_only=True)
class PlaceResult:
    """Where a new bed should go.

    Attributes
    ----------
    places : tuple of Place
        The best first; empty where nothing fits.
    limits : tuple of Limit
        What forbids, feature by feature, with masks.
    ruled_out : tuple of RuledOut
        The same by kind; what forbids the most spots comes first.
    grid : Grid
        Of the maps.
    merit_map, heading_map : ndarray, shape (rows, columns)
        The best merit with the middle on that cell, as estimated from the maps, and its heading; NaN where none fits.
    asked, free : int
        How many spots (cell and heading) were looked at, and how many of them no cell forbids.
    tried : int
        How many were asked of the exact sun.
    gap : float
        Most by which another choice of as many of the spots tried could be better, in merit a bed.
    search_gap : float
        Most by which a spot that was not tried is expected to be better than the best, in merit.
    plenty : float
        Hours of daily sun that a merit of 1 is worth. [h a day]
    sentences : tuple of str
        What to say about the answer as a whole.
    trade_off : tuple of Choice
        The spots that no other beats on sun, work and water at once, the sunniest first.
    sensitivity : Sensitivity or None
        Whether the first choice stays the best under other weights; None where nothing fits.
    """

    places: tuple[Place, ...]
    limits: tuple[Limit, ...]
    ruled_out: tuple[RuledOut, ...]
    grid: Grid
    merit_map: Floats
    heading_map: Floats
    asked: int
    free: int
    tried: int
    gap: float
    search_gap: float
    sentences: tuple[str, ...]
    plenty: float = 8.0
    trade_off: tuple[Choice, ...] = ()
    sensitivity: Sensitivity | None = None
