"""What is the result of a search for places?

Plain records with figures in SI units. The other modules of this folder compute them, `siteplan.say` puts them into
words.
"""

from __future__ import annotations

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
        Mean over the bed and its worst cell, over the growing season or the requested months. [h a day]
    sun_h : float
        Hours that count: mean and worst cell combined by their weights, each capped at plenty. [h a day]
    merit : float
        Sun less the costs of work, water and walking, as a share of plenty: 1 is the best possible.
    exact : bool
        Whether the sun was computed at the bed's own soil; else it was read off the map of the ground.
    minutes : float
        Time of wheeling to fill it, all trips; NaN if no minutes were given. [min]
    trips : int
        Barrow trips to fill it.
    water_m, door_m : float
        Distance to the nearest tap and door; NaN if there is none. [m]
    levelling : Levelling
        What it takes to level the ground under it.
    sunniest, longest : OtherSpot or None
        Of the spots that fit and were computed: the one with the most hours that count, and the one with the most
        hours on average. None if no other has more.
    first : OtherSpot or None
        The first choice; None for the first choice itself, and for beds of several sizes.
    where : Whereabouts or None
        Position relative to landmarks; None if there are none near.
    square_to : (str, str) or None
        Kind and id of the feature that it lies square to.
    month_sun_h : ndarray, shape (12,), or None
        Mean over the bed for each month; None if the sun was read off the map. [h a day]
    findings : tuple of Finding
        Hazards of the spot: cold air, wind, old paint.
    crops : tuple of CropFit
        How crops suit a bed there, those that suit first; empty if that was not requested.
    doubt : SunDoubt or None
        How sure its sun is; None if that was not requested, or the sun was read off the map.
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
        Best first; fewer than requested if no more fit.
    limits : tuple of Limit
        All limits that forbid ground.
    ruled_out : tuple of RuledOut
        What the limits forbid, by kind; the kind that forbids most spots first.
    grid : Grid
        Of the maps.
    merit_map, heading_map : ndarray, shape (rows, columns)
        Best merit for a bed with its middle on each cell, and its heading [degrees]; NaN where none fits.
    scanned, free, computed : int
        Number of spots (cell and heading) scanned on the maps, free there, and with the exact sun computed.
    gap : float
        Upper bound of how much better another set of the computed spots could be, in merit a bed.
    search_gap : float
        By how much a spot that was not computed is expected to be better than the best, at most, in merit.
    bed : Bed
        The bed that was searched for, with its trellis, crop and height.
    weights : Weights
        Prices of work in hours of sun.
    need, plenty : float
        Hours that its crops want at least, and beyond which more no longer counts: a merit of 1. [h a day]
    southern : bool
        Whether the noon sun is in the north.
    months : tuple of int, or None
        Months whose sun counts, 1 to 12; None for the growing season.
    walked, door_walked : bool
        Whether the distance to the tap, and to the door, is along a walkable way; else it is a straight line.
    hose : float
        Longest hose given at a tap; infinite if not all taps have one. [m]
    loads_from : tuple of str
        Ids of the piles from which wheeling is counted, from the nearest each time; empty if a lorry tips and no pile
        is drawn.
    findings : tuple of Finding
        Findings about the answer as a whole. For beds of several sizes, `feature` is the bed's number.
    trade_off : tuple of Choice
        Pareto-optimal spots for sun, work and water, the sunniest first.
    sensitivity : Sensitivity or None
        Whether the first choice stays the best under other weights; None if nothing fits.
    first_stays : int or None
        In how many draws of the uncertain figures the first place stays the best; None if that was not computed.
    draws : int
        Number of those draws.
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
    southern: bool
    months: tuple[int, ...] | None = None
    walked: bool
    door_walked: bool
    hose: float
    loads_from: tuple[str, ...] = ()
    findings: tuple[Finding, ...]
    trade_off: tuple[Choice, ...]
    sensitivity: Sensitivity | None
    first_stays: int | None = None
    draws: int = 0

    def bed_at(self, place: Place) -> Bed:
        """Return the bed at one of the places; its id is the place's rank."""
        return replace(self.bed.on(place.outline), id=f"place {place.rank}")
