"""Where should a new bed go?

Every cell and heading is scanned on the maps, the exact sun is computed for the best, and a set that does not overlap
is chosen. It leaves out the shade that several new beds throw on each other: that is computed afterwards.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from functools import cache, partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.findings import Finding, finding
from siteplan.land.site import Site
from siteplan.place.headings.alignment import square_to
from siteplan.place.limits.barrow_way import barrow_way
from siteplan.place.limits.hazards import spot_findings
from siteplan.place.limits.limits import Limit, aisle_of
from siteplan.place.merit.levelling import levelling
from siteplan.place.merit.merit import Weights, hours_of
from siteplan.place.merit.sensitivity import sensitivity
from siteplan.place.merit.tradeoff import trade_off
from siteplan.place.reasons.comparison import OtherSpot, other_spot
from siteplan.place.reasons.landmarks import whereabouts
from siteplan.place.search.candidates import Spots, merit_maps
from siteplan.place.search.footprint import form_of_size
from siteplan.place.search.footprint_scan import Scan
from siteplan.place.search.no_fit import RuledOut, nothing_fits, ruled_out
from siteplan.place.search.refinement import Scored, Search
from siteplan.place.search.request import Request, kinds_of, make_request
from siteplan.place.search.search_results import Place, PlaceResult
from siteplan.place.search.selection import Selection, Shuts, select
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]
Exact = Callable[[Bed], BedSun]


def find_places(
    site: Site,
    maps: SunMaps,
    *,
    length: float | None = None,
    width: float | None = None,
    height: float | None = None,
    count: int | None = None,
    minutes: Floats | None = None,
    water: Floats | None = None,
    door: Floats | None = None,
    exact: Exact | None = None,
    soil_season_h: Floats | None = None,
    shape: Polygon | None = None,
    like: Bed | None = None,
    ignore: Collection[str] | None = None,
    weights: Weights | None = None,
    step: float = 5.0,
    months: Collection[int] | None = None,
    loads_from: Collection[str] = (),
) -> PlaceResult:
    """Return the best spots for beds of one size, each with the figures that speak for and against it.

    Parameters
    ----------
    site : Site
    maps : SunMaps
        Of the property; their grid is searched.
    length, width, height : float or None
        Of the bed; the site's own where None. [m]
    count : int or None
        How many beds.
    minutes : ndarray, shape (rows, columns), or None
        Of one round trip by barrow; NaN where it cannot get. A spot with none around it has no way in. [min]
    water, door : ndarray, shape (rows, columns), or None
        Along the walkable way to the nearest tap and door; straight lines where None. [m]
    exact : callable or None
        The sun on a bed at its own soil, with its trellis; the maps alone serve where None.
    soil_season_h : ndarray, shape (rows, columns), or None
        Season's sun at the height of the bed's soil: makes the first look truer. The maps' where None. [h a day]
    shape : Polygon or None
        Of a bed that is no rectangle, an L or a keyhole, wherever it is drawn; length and width are then left out.
    like : Bed or None
        Gives trellis, crop, need and height. Its outline is not kept, and its id only where it is ignored, so that
        the sun takes it away from its old place.
    ignore : collection of str or None
        Features that forbid nothing; the proposed beds where None, since their place may change.
    weights : Weights or None
        What sun is given up for; the site's own where None.
    step : float
        Between headings. [degrees]
    months : collection of int or None
        That count, 1 to 12, as for a spring or an autumn bed; the growing season where None.
    loads_from : collection of str
        Ids of the piles from which `minutes` are counted; none where a lorry tips, since no pile is drawn.

    Returns
    -------
    PlaceResult
        Without places where nothing fits; the findings then say why.
    """
    request = make_request(
        site, maps, size=(length, width, height), shape=shape, count=count, minutes=minutes, water=water, door=door,
        soil_season_h=soil_season_h, like=like, ignore=ignore, weights=weights, step=step,
        months=months,
    )  # fmt: skip
    limited = request.limits(request.form)
    found = request.scan(limited, request.form)
    search, shuts = _search(request, found, limited, exact)
    taken = select(
        search, request.count, aisle=aisle_of(site.place), edges=request.edges, shuts=shuts, by_map=exact is None
    )
    result = _result(request, search, taken, limited, found)
    return replace(
        result,
        months=None if months is None else tuple(sorted(months)),
        loads_from=tuple(loads_from),
    )


def _search(
    request: Request, found: Scan, limited: tuple[Limit, ...], exact: Exact | None
) -> tuple[Search, Shuts | None]:
    """Return the search among the spots that a scan found, and the test whether beds would shut the barrow's way."""
    spots = request.spots(found, request.form)
    barred = shapely.union_all([limit.ground for limit in limited])
    shuts = _shutter(request, spots)
    search = Search(
        spots,
        _scorer(request, spots, exact),
        lambda which: spots.clear_of(barred, which),
        shuts=None if shuts is None else lambda index: shuts((index,)),
    )
    return search, shuts


def _result(
    request: Request, search: Search, taken: Selection, limited: tuple[Limit, ...], found: Scan
) -> PlaceResult:
    """Return the answer: the spots taken with what else could be chosen, and why no others fit."""
    first = taken.spots[0] if taken.spots else None
    choices = trade_off(search, request.work, taken.spots) if first else ()  # computes more spots: before the reasons
    best, heading = merit_maps(search.spots, search.winners(), request.maps.grid)
    parts = ruled_out(limited, found, kinds_of(limited), request.inside, _reached(request))
    return PlaceResult(
        places=_places(request, search, taken.spots) if first else (),
        limits=limited,
        ruled_out=parts,
        grid=request.maps.grid,
        merit_map=best,
        heading_map=heading,
        scanned=found.scanned,
        free=len(search.spots),
        computed=sum(one.bed_sun is not None for one in search.computed.values()),
        gap=taken.gap,
        search_gap=taken.search_gap,
        bed=request.bed,
        weights=request.weights,
        need=request.need,
        plenty=request.plenty,
        southern=request.site.southern,
        walked=request.work.walked,
        door_walked=request.work.door_walked,
        hose=request.work.hose,
        findings=tuple(_findings(request, parts, len(taken.spots), shut=bool(search.passed_over))),
        trade_off=choices,
        sensitivity=sensitivity(search, request.work, request.weights, first) if first else None,
    )


def _reached(request: Request) -> NDArray[np.bool_]:
    """Return which cells the barrow gets to, as far as that is known."""
    if request.minutes is None:
        return np.ones(request.maps.grid.shape, dtype=bool)
    return ~np.isnan(request.minutes)


def _scorer(request: Request, spots: Spots, exact: Exact | None) -> Callable[[int], Scored]:
    """Return the function that says what one spot is worth."""

    def by_map(index: int) -> Scored:
        outline = spots.outlines(np.array([index]))[0]
        hours = request.map_h[request.maps.grid.inside(outline)]
        hours = hours[np.isfinite(hours)]  # a bed smaller than a cell may hold no centre: the cut hours serve then
        merit, sun = float(spots.merit[index]), float(spots.sun[index])
        season = float(hours.mean()) if len(hours) else float(spots.mean[index])
        worst = float(hours.min()) if len(hours) else float(spots.worst[index])
        return Scored(index=index, merit=merit, sun=sun, season=season, worst=worst, bed_sun=None)

    def by_engine(exact: Exact, index: int) -> Scored:
        answer = exact(request.bed_on(spots.outlines(np.array([index]))[0]))
        hours = hours_of(answer, request.month_share, weights=request.weights, plenty=request.plenty)
        merit = (hours.counting - float(spots.cost[index])) / request.plenty
        return Scored(
            index=index, merit=merit, sun=hours.counting, season=hours.season, worst=hours.worst, bed_sun=answer
        )

    return by_map if exact is None else partial(by_engine, exact)


def _shutter(request: Request, spots: Spots) -> Shuts | None:
    """Return the test whether beds on some spots would shut the barrow's way; None where no minutes are known."""
    if request.minutes is None or not np.isfinite(request.minutes).any():
        return None
    way = barrow_way(request.site, request.maps.grid, request.minutes, ignore=request.ignore)
    return cache(lambda indices: way.shuts(shapely.union_all(spots.outlines(np.array(indices, dtype=np.intp)))))


def _places(request: Request, search: Search, chosen: tuple[Scored, ...]) -> tuple[Place, ...]:
    """Return the chosen spots with their figures, and what others have that they have not."""
    ranks = {one.index: rank for rank, one in enumerate(chosen, start=1)}
    known = [one for one in search.computed.values() if search.keeps_way(one.index)]
    sunniest = max(known, key=lambda one: (one.sun, -one.index))
    longest = max(known, key=lambda one: (one.season, -one.index))

    def beside(here: Scored, other: Scored) -> OtherSpot:
        return other_spot(search, request.work, here, other, rank=ranks.get(other.index, 0))

    return tuple(
        replace(
            _place(request, search.spots, one, rank),
            sunniest=beside(one, sunniest) if sunniest.sun > one.sun else None,
            longest=beside(one, longest) if longest.season > one.season else None,
            first=beside(one, chosen[0]) if rank > 1 else None,
        )
        for rank, one in enumerate(chosen, start=1)
    )


def _place(request: Request, spots: Spots, one: Scored, rank: int) -> Place:
    """Return a chosen spot with its own figures."""
    index, site = one.index, request.site
    outline = spots.outlines(np.array([index]))[0]
    x, y, heading = float(spots.x[index]), float(spots.y[index]), float(spots.heading[index]) % 180
    return Place(
        rank=rank,
        outline=outline,
        x=x,
        y=y,
        heading=heading,
        length=request.form.length,
        width=request.form.width,
        season_sun_h=one.season,
        worst_cell_sun_h=one.worst,
        sun_h=one.sun,
        merit=one.merit,
        exact=one.bed_sun is not None,
        minutes=float(spots.minutes[index]) * request.work.trips,
        trips=request.work.trips,
        water_m=float(spots.water[index]),
        door_m=float(spots.door[index]),
        levelling=levelling(outline, request.bed.height, site.terrain),
        where=whereabouts(site, outline),
        square_to=square_to(request.edges, x, y, heading),
        month_sun_h=None if one.bed_sun is None else one.bed_sun.month_sun_h,
        findings=spot_findings(site, outline),
    )


def _findings(request: Request, parts: tuple[RuledOut, ...], found: int, *, shut: bool) -> Iterator[Finding]:
    """Yield what is to be said about the answer as a whole."""
    if found:
        if found < request.count:
            yield finding("fewer-fit", found=found, count=request.count)
        if shut:
            yield finding("way-kept-open")
    elif shut:
        yield finding("way-shut-everywhere")
    else:
        yield from nothing_fits(parts, length=request.form.length, width=request.form.width, fits=_fits(request))


def _fits(request: Request) -> Callable[[float, float], bool]:
    """Return the test whether a rectangle of some other length and width fits anywhere."""

    def fits(length: float, width: float) -> bool:
        form = form_of_size(length, width)
        limited = request.limits(form)
        barred = shapely.union_all([limit.ground for limit in limited])
        spots = request.spots(request.scan(limited, form), form)
        return bool(spots.clear_of(barred, np.arange(len(spots))).any())

    return fits
