"""How does another spot compare with a place?

The sun of the other spot, and how much more or less work it makes. Which of the two is better is left to the reader.
"""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.place.merit.merit import WorkMaps
from siteplan.place.search.candidates import Floats
from siteplan.place.search.refinement import ScoredSpot, Search


@dataclass(frozen=True, kw_only=True)
class OtherSpot:
    """Another spot, compared with a place.

    Attributes
    ----------
    rank : int
        Rank of the place on that spot; 0 if it was not chosen as a place.
    season_sun_h, worst_cell_sun_h : float
        Mean over a bed there and its worst cell, over the months that count. [h a day]
    sun_h : float
        Hours that count, see `merit.sun_that_counts`. [h a day]
    east, north : float
        From the place to the other spot. [m]
    more_minutes : float
        Additional time of wheeling to fill a bed there, all trips; negative if less, NaN if unknown. [min]
    more_water_m, more_door_m : float
        Additional distance to the tap and to the door; negative if nearer, NaN if there is none. [m]
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


def other_spot(search: Search, work: WorkMaps, place: ScoredSpot, other: ScoredSpot, *, rank: int = 0) -> OtherSpot:
    """Return another spot, compared with a place.

    Parameters
    ----------
    search : Search
    work : WorkMaps
        Gives the number of trips.
    place, other : ScoredSpot
    rank : int
        Rank of the other spot if it is a place too.
    """
    spots, place_index, other_index = search.spots, place.index, other.index

    def difference(values: Floats) -> float:
        return float(values[other_index] - values[place_index])

    return OtherSpot(
        rank=rank,
        season_sun_h=other.season,
        worst_cell_sun_h=other.worst,
        sun_h=other.sun,
        east=difference(spots.x),
        north=difference(spots.y),
        more_minutes=difference(spots.minutes) * work.trips,
        more_water_m=difference(spots.water),
        more_door_m=difference(spots.door),
    )
