"""What does the search for a place answer?

Plain records with figures in SI; the modules beside this one compute them, `siteplan.say` puts them into words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.document import Degrees, Hidden, Metres, Named
from siteplan.land.features import Bed
from siteplan.land.findings import Finding
from siteplan.land.grid import Grid
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.headings.alignment import Owner
from siteplan.place.limits.limits import Limit
from siteplan.place.merit.levelling import Levelling
from siteplan.place.merit.merit import Weights
from siteplan.place.merit.sensitivity import Sensitivity
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.place.reasons.landmarks import Whereabouts
from siteplan.place.search.no_fit import RuledOut
from siteplan.sun.doubt.doubt import SunDoubt

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, kw_only=True)
class Place:
    """One spot for a bed, and why it was chosen.

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
    sun_h : float
        Of these, the hours that count: each up to plenty. [h a day]
    merit : float
        Sun less what the work, the water and the walk cost, as a share of plenty: 1 is the best there can be.
    exact : bool
        Whether the sun was computed at the bed's own soil, or read off the map on the ground.
    minutes : float
        Of wheeling to fill it, all trips; NaN where no minutes were handed in. [min]
    trips : int
        With the barrow, to fill it.
    water_m, door_m : float
        To the nearest tap and door; NaN where there is none. [m]
    levelling : Levelling
        What the ground under it takes to level.
    sunniest, longest : OtherSpot or None
        Of the spots that fit and were computed: that with the most sun that counts, and that with the longest hours
        on average, counted or not. None where no other has more.
    first : OtherSpot or None
        The first choice; None for itself, and where the beds differ in size.
    where : Whereabouts or None
        Told from what stands near; None where nothing does.
    square_to : (str, str) or None
        Kind and id of what it lies square to.
    month_sun_h : ndarray, shape (12,), or None
        Mean over the bed for each month; None where it was read off the map. [h a day]
    findings : tuple of Finding
        What to know about the spot: cold air, wind, old paint.
    crops : tuple of CropFit
        Which crops suit a bed there, those that suit first; empty where it was not asked.
    doubt : SunDoubt or None
        How sure its sun is; None where it was not asked, or was read off the map.
    """

    rank: int
    outline: Annotated[Polygon, Named("geometry")]
    x: Hidden[float]
    y: Hidden[float]
    heading: Degrees
    length: Metres
    width: Metres
    season_sun_h: float
    worst_cell_sun_h: float
    sun_h: Hidden[float]
    merit: float
    exact: bool
    minutes: Annotated[float, Named("haul_minutes")]
    trips: Hidden[int]
    water_m: float
    door_m: float
    levelling: Hidden[Levelling]
    sunniest: Hidden[OtherSpot | None] = None
    longest: Hidden[OtherSpot | None] = None
    first: Hidden[OtherSpot | None] = None
    where: Hidden[Whereabouts | None] = None
    square_to: Hidden[Owner | None] = None
    month_sun_h: Floats | None = None
    findings: Hidden[tuple[Finding, ...]] = ()
    crops: Annotated[tuple[CropFit, ...], Named("suiting_crops")] = ()
    doubt: SunDoubt | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class PlaceResult:
    """Where a new bed should go.

    Attributes
    ----------
    places : tuple of Place
        Best first; fewer than were asked for where no more fit.
    limits : tuple of Limit
        All that forbids ground.
    ruled_out : tuple of RuledOut
        The same by kind, the most forbidding first.
    grid : Grid
        Of the maps.
    merit_map, heading_map : ndarray, shape (rows, columns)
        The best merit for a bed with its middle on each cell, and its heading; NaN where none fits. [degrees]
    scanned, free, computed : int
        Spots (cell and heading) looked at on the maps, those free there, and those whose exact sun was computed.
    gap : float
        By how much another choice of as many of the spots computed could be better, in merit a bed.
    search_gap : float
        Most by which a spot that was not computed is expected to be better than the best, in merit.
    bed : Bed
        That was moved about: its trellis, crop and height.
    weights : Weights
        What sun was given up for.
    need, plenty : float
        Hours that its crops want at least, and beyond which more counts no more: a merit of 1. [h a day]
    southern : bool
        Whether the noon sun stands in the north.
    months : tuple of int, or None
        Whose sun counts, 1 to 12; None for the growing season.
    walked, door_walked : bool
        Whether the way to the tap, and to the door, is along the walkable way; else in a straight line.
    hose : float
        Longest hose named at a tap; infinite where none is named. [m]
    loads_from : tuple of str
        Ids of the piles from which wheeling is counted, the nearest each time; empty where a lorry tips, since no
        pile is drawn.
    findings : tuple of Finding
        What is to be said about the answer as a whole. Beds of several sizes: `feature` is the bed's number.
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
    scanned: int
    free: int
    computed: int
    gap: float
    search_gap: float
    bed: Bed
    weights: Weights
    need: float
    plenty: float
    southern: bool = False
    months: tuple[int, ...] | None = None
    walked: bool = False
    door_walked: bool = False
    hose: float = math.inf
    loads_from: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    trade_off: tuple[Choice, ...] = ()
    sensitivity: Sensitivity | None = None
    first_stays: int | None = None
    draws: int = 0

    def bed_at(self, place: Place) -> Bed:
        """Return the bed that was moved about as it would stand at one of the places, called by the place's rank."""
        return replace(self.bed.on(place.outline), id=f"place {place.rank}")
