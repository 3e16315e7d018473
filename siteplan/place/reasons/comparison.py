"""What has another spot that a place has not, and what does it cost?

The sun of the other spot, and how much more or less work it makes.
It leaves out the verdict: whoever reads the figures weighs them.
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.place.merit.merit import WorkMaps
from siteplan.place.search.candidates import Floats
from siteplan.place.search.refinement import Scored, Search


@dataclass(frozen=True, kw_only=True)
class OtherSpot:
    """Another spot, seen from a place.

    Attributes
    ----------
    rank : int
        Of the place that stands there; 0 where none was chosen there.
    season_sun_h, worst_cell_sun_h : float
        Mean over a bed there and in its worst cell, over the months that count. [h a day]
    sun_h : float
        Of these, the hours that count: each up to plenty. [h a day]
    east, north : float
        From the place to there. [m]
    more_minutes : float
        How much more wheeling it takes to fill a bed there, all trips; negative where less, NaN where unknown. [min]
    more_water_m, more_door_m : float
        How much farther it is to the tap and to the door; negative where nearer, NaN where there is none. [m]
    """

    rank: int
    season_sun_h: float
    worst_cell_sun_h: float
    sun_h: float
    east: float
    north: float
    more_minutes: float
    more_water_m: float
    more_door_m: float


def other_spot(search: Search, work: WorkMaps, place: Scored, other: Scored, *, rank: int = 0) -> OtherSpot:
    """Return another spot as seen from a place.

    Parameters
    ----------
    search : Search
    work : WorkMaps
        For the number of trips.
    place, other : Scored
    rank : int
        Of the other, where it is a place too.
    """
    spots, here, there = search.spots, place.index, other.index

    def more(values: Floats) -> float:
        return float(values[there] - values[here])

    return OtherSpot(
        rank=rank,
        season_sun_h=other.season,
        worst_cell_sun_h=other.worst,
        sun_h=other.sun,
        east=more(spots.x),
        north=more(spots.y),
        more_minutes=more(spots.minutes) * work.trips,
        more_water_m=more(spots.water),
        more_door_m=more(spots.door),
    )
