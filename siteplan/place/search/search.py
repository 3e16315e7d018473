"""Where should a new bed go?

Every cell and heading is scanned on the maps, the exact sun is computed for the best spots, and spots that do not
overlap are chosen. The shade that several new beds cast on each other is computed afterwards, in `mutual_shade`.
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
from siteplan.place.search.refinement import ScoredSpot, Search
from siteplan.place.search.request import Request, kinds_of, make_request
from siteplan.place.search.search_results import Place, PlaceResult
from siteplan.place.search.selection import BlocksWay, Selection, select
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
    """Return the best spots for beds of one size, each with the figures for and against it.

    Parameters
    ----------
    site : Site
    maps : SunMaps
        Of the property; their grid is searched.
    length, width, height : float or None
        Of the bed; the site's settings if None. [m]
    count : int or None
        Number of beds; the site's setting if None.
    minutes : ndarray, shape (rows, columns), or None
        Time of one round trip by barrow; NaN where it cannot go. A spot with only NaN around it is not reached. [min]
    water, door : ndarray, shape (rows, columns), or None
        Walking distance to the nearest tap and door; straight lines if None. [m]
    exact : callable or None
        Returns the sun on a bed at its own soil, with its trellis. If None, the sun is read off the maps.
    soil_season_h : ndarray, shape (rows, columns), or None
        Season's sun at the height of the bed's soil, for a more accurate scan; the maps' if None. [h a day]
    shape : Polygon or None
        Outline of a bed that is not a rectangle, such as an L or a keyhole, at any position; it replaces length and
        width.
    like : Bed or None
        Bed from which trellis, crop, need and height are taken. Its id is kept only if it is among `ignore`, so that
        the exact sun leaves it out at its old place.
    ignore : collection of str or None
        Ids of features that forbid nothing; if None the proposed beds, since their place may change.
    weights : Weights or None
        Prices of work in hours of sun; the site's settings if None.
    step : float
        Between headings. [degrees]
    months : collection of int or None
        Months whose sun counts, 1 to 12, as for a spring or an autumn bed; the growing season if None.
    loads_from : collection of str
        Ids of the piles from which `minutes` are counted; empty if a lorry tips and no pile is drawn.

    Returns
    -------
    PlaceResult
        Without places if nothing fits; its findings then say why.

    Raises
    ------
    ValueError
        If an array has another shape than the maps, or a length, width, height or month is out of range.
    """
    request = make_request(
        site, maps, size=(length, width, height), shape=shape, count=count, minutes=minutes, water=water, door=door,
        soil_season_h=soil_season_h, like=like, ignore=ignore, weights=weights, step=step,
        months=months,
    )  # fmt: skip
    all_limits = request.limits(request.form)
    scanned = request.scan(all_limits, request.form)
    search, blocks_way = _search(request, scanned, all_limits, exact)
    selection = select(
        search,
        request.count,
        aisle=aisle_of(site.place),
        edges=request.edges,
        blocks_way=blocks_way,
        by_map=exact is None,
    )
    result = _result(request, search, selection, all_limits, scanned)
    return replace(
        result,
        months=None if months is None else tuple(sorted(months)),
        loads_from=tuple(loads_from),
    )


def _search(
    request: Request, scanned: Scan, all_limits: tuple[Limit, ...], exact: Exact | None
) -> tuple[Search, BlocksWay | None]:
    """Return the search among the scanned spots, and the test whether beds would block the barrow's way."""
    spots = request.spots(scanned, request.form)
    blocks_way = _way_test(request, spots)
    search = Search(
        spots,
        _scorer(request, spots, exact),
        _clearance_test(spots, all_limits),
        blocks_way=None if blocks_way is None else lambda index: blocks_way((index,)),
    )
    return search, blocks_way


def _clearance_test(spots: Spots, all_limits: tuple[Limit, ...]) -> Callable[[NDArray[np.intp]], NDArray[np.bool_]]:
    """Return the test which of some spots, given by their numbers, are clear of all forbidden ground."""
    return partial(spots.clear_of, shapely.union_all([limit.ground for limit in all_limits]))


def _result(
    request: Request, search: Search, selection: Selection, all_limits: tuple[Limit, ...], scanned: Scan
) -> PlaceResult:
    """Return the answer: the selected spots, the alternatives to them, and why other spots do not fit."""
    first_choice = selection.spots[0] if selection.spots else None
    # the trade-off computes more spots, with which `_places` then compares: so it comes first
    trade_offs = trade_off(search, request.work, selection.spots) if first_choice else ()
    merit_map, heading_map = merit_maps(search.spots, search.best_of_cells(), request.maps.grid)
    limits_by_kind = ruled_out(all_limits, scanned, kinds_of(all_limits), request.inside, _reached(request))
    findings = _findings(request, limits_by_kind, len(selection.spots), way_blocked=bool(search.passed_over))
    return PlaceResult(
        places=_places(request, search, selection.spots) if first_choice else (),
        limits=all_limits,
        ruled_out=limits_by_kind,
        grid=request.maps.grid,
        merit_map=merit_map,
        heading_map=heading_map,
        scanned=scanned.scanned,
        free=len(search.spots),
        computed=sum(spot.bed_sun is not None for spot in search.computed.values()),
        gap=selection.gap,
        search_gap=selection.search_gap,
        bed=request.bed,
        weights=request.weights,
        need=request.need,
        plenty=request.plenty,
        southern=request.site.southern,
        walked=request.work.walked,
        door_walked=request.work.door_walked,
        hose=request.work.hose,
        findings=tuple(findings),
        trade_off=trade_offs,
        sensitivity=sensitivity(search, request.work, request.weights, first_choice) if first_choice else None,
    )


def _reached(request: Request) -> NDArray[np.bool_]:
    """Return the cells that the barrow reaches; all if that is unknown."""
    if request.minutes is None:
        return np.ones(request.maps.grid.shape, dtype=bool)
    return ~np.isnan(request.minutes)


def _scorer(request: Request, spots: Spots, exact: Exact | None) -> Callable[[int], ScoredSpot]:
    """Return the function that computes the merit of one spot."""

    def by_map(index: int) -> ScoredSpot:
        outline = spots.outlines(np.array([index]))[0]
        hours = request.map_h[request.maps.grid.inside(outline)]
        hours = hours[np.isfinite(hours)]  # none if the bed covers no cell's centre: then the scan's hours are used
        merit, sun = float(spots.merit[index]), float(spots.sun[index])
        season = float(hours.mean()) if len(hours) else float(spots.mean[index])
        worst = float(hours.min()) if len(hours) else float(spots.worst[index])
        return ScoredSpot(index=index, merit=merit, sun=sun, season=season, worst=worst, bed_sun=None)

    def by_engine(exact: Exact, index: int) -> ScoredSpot:
        bed_sun = exact(request.bed_on(spots.outlines(np.array([index]))[0]))
        hours = hours_of(bed_sun, request.month_share, weights=request.weights, plenty=request.plenty)
        merit = (hours.counting - float(spots.cost[index])) / request.plenty
        return ScoredSpot(
            index=index, merit=merit, sun=hours.counting, season=hours.season, worst=hours.worst, bed_sun=bed_sun
        )

    return by_map if exact is None else partial(by_engine, exact)


def _way_test(request: Request, spots: Spots) -> BlocksWay | None:
    """Return the test whether beds on spots would block the barrow's way; None if no minutes are known."""
    if request.minutes is None or not np.isfinite(request.minutes).any():
        return None
    way = barrow_way(request.site, request.maps.grid, request.minutes, ignore=request.ignore)
    return cache(lambda indices: way.blocks_way(shapely.union_all(spots.outlines(np.array(indices, dtype=np.intp)))))


def _places(request: Request, search: Search, chosen: tuple[ScoredSpot, ...]) -> tuple[Place, ...]:
    """Return the chosen spots with their figures, each compared with the sunniest and with the first spot."""
    ranks = {spot.index: rank for rank, spot in enumerate(chosen, start=1)}
    usable = [spot for spot in search.computed.values() if search.keeps_way(spot.index)]
    sunniest = max(usable, key=lambda spot: (spot.sun, -spot.index))
    longest = max(usable, key=lambda spot: (spot.season, -spot.index))

    def compared(spot: ScoredSpot, compared_spot: ScoredSpot) -> OtherSpot:
        return other_spot(search, request.work, spot, compared_spot, rank=ranks.get(compared_spot.index, 0))

    return tuple(
        replace(
            _place(request, search.spots, spot, rank),
            sunniest=compared(spot, sunniest) if sunniest.sun > spot.sun else None,
            longest=compared(spot, longest) if longest.season > spot.season else None,
            first=compared(spot, chosen[0]) if rank > 1 else None,
        )
        for rank, spot in enumerate(chosen, start=1)
    )


def _place(request: Request, spots: Spots, scored: ScoredSpot, rank: int) -> Place:
    """Return a chosen spot with its own figures."""
    index, site = scored.index, request.site
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
        season_sun_h=scored.season,
        worst_cell_sun_h=scored.worst,
        sun_h=scored.sun,
        merit=scored.merit,
        exact=scored.bed_sun is not None,
        minutes=float(spots.minutes[index]) * request.work.trips,
        trips=request.work.trips,
        water_m=float(spots.water[index]),
        door_m=float(spots.door[index]),
        levelling=levelling(outline, request.bed.height, site.terrain),
        where=whereabouts(site, outline),
        square_to=square_to(request.edges, x, y, heading),
        month_sun_h=None if scored.bed_sun is None else scored.bed_sun.month_sun_h,
        findings=spot_findings(site, outline),
    )


def _findings(
    request: Request, limits_by_kind: tuple[RuledOut, ...], count: int, *, way_blocked: bool
) -> Iterator[Finding]:
    """Yield the findings about the answer as a whole; `way_blocked` says whether spots were left out for that."""
    if count:
        if count < request.count:
            yield finding("fewer-fit", found=count, count=request.count)
        if way_blocked:
            yield finding("way-kept-open")
    elif way_blocked:
        yield finding("way-shut-everywhere")
    else:
        form = request.form
        yield from nothing_fits(limits_by_kind, length=form.length, width=form.width, fits=_fits(request))


def _fits(request: Request) -> Callable[[float, float], bool]:
    """Return the test whether a rectangle of another length and width fits anywhere."""

    def fits(length: float, width: float) -> bool:
        form = form_of_size(length, width)
        all_limits = request.limits(form)
        spots = request.spots(request.scan(all_limits, form), form)
        return bool(_clearance_test(spots, all_limits)(np.arange(len(spots))).any())

    return fits
