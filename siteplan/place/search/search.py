"""Where should a new bed go?

Every cell and heading is scanned on the maps, the best are asked of the exact sun, and a set that does not overlap is
chosen. It leaves out the shade that several new beds throw on each other: that is asked once they are chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.place.limits.barrow_way import barrow_way
from siteplan.place.limits.hazards import spot_cautions
from siteplan.place.limits.limits import aisle_of, cells_inside
from siteplan.place.merit.merit import Weights, sun_that_counts
from siteplan.place.merit.sensitivity import sensitivity
from siteplan.place.merit.tradeoff import trade_off
from siteplan.place.reasons.reasons import Grounds, reasons
from siteplan.place.search.candidates import Indices, Spots, merit_maps
from siteplan.place.search.footprint import form_of_size
from siteplan.place.search.no_fit import nothing_fits, ruled_out
from siteplan.place.search.refinement import Scored, Search, best_spot
from siteplan.place.search.request import Task, kinds, make_task
from siteplan.place.search.results import Place, PlaceResult, RuledOut
from siteplan.place.search.selection import MOST, best_together, conflicts
from siteplan.place.search.squaring import squared
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]
Exact = Callable[[Bed], BedSun]
Shuts = Callable[[tuple[int, ...]], bool]

#: most questions to the exact sun for the first bed, and for each further one
BUDGET, BUDGET_MORE = 150, 60
#: merit a bed; a set chosen together must be better by more than this to displace the best one by one
TOGETHER = 0.01


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
) -> PlaceResult:
    """Return the best spots for beds of one size, with reasons.

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
        Of a bed that is no rectangle, an L or a keyhole, wherever it is drawn; length and width are then not asked.
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
        Whose sun counts, as for a spring or an autumn bed; the growing season where None.

    Returns
    -------
    PlaceResult
        Without places where nothing fits; the sentences then say why.
    """
    task = make_task(
        site, maps, size=(length, width, height), shape=shape, count=count, minutes=minutes, water=water, door=door,
        soil_season_h=soil_season_h, like=like, ignore=ignore, weights=weights, step=step,
        months=months,
    )  # fmt: skip
    limited = task.limits(task.form)
    found = task.scan(limited, task.form)
    reach = np.ones(maps.grid.shape, dtype=bool) if minutes is None else ~np.isnan(minutes)
    parts = ruled_out(limited, found, kinds(limited), task.inside, reach)
    spots = task.spots(found, task.form)
    barred = shapely.union_all([limit.ground for limit in limited])
    search = Search(spots, _scorer(task, spots, exact), lambda which: spots.clear_of(barred, which))
    shuts = _shutter(task, spots)
    search.shuts = None if shuts is None else lambda index: shuts((index,))
    chosen, gap, search_gap = _choose(task, search, shuts, final=exact is None)
    best, heading = merit_maps(spots, search.winners(), maps.grid)
    return PlaceResult(
        places=_places(task, search, chosen),
        limits=limited,
        ruled_out=parts,
        grid=maps.grid,
        merit_map=best,
        heading_map=heading,
        asked=found.asked,
        free=len(spots),
        tried=0 if exact is None else len(search.tried),
        gap=gap,
        search_gap=search_gap,
        plenty=task.plenty,
        sentences=_sentences(task, parts, len(chosen), shut=bool(search.passed_over)),
        trade_off=trade_off(search, task.ways, chosen[0], site) if chosen else (),
        sensitivity=sensitivity(search, task.ways, task.weights, chosen[0], site.units) if chosen else None,
    )


def _scorer(task: Task, spots: Spots, exact: Exact | None) -> Callable[[int], Scored]:
    """Return the function that says what one spot is worth."""

    def by_map(index: int) -> Scored:
        outline = spots.outlines(np.array([index]))[0]
        hours = task.map_h[cells_inside(outline, task.maps.grid)]
        hours = hours[np.isfinite(hours)]  # a bed smaller than a cell may hold no centre: the cut hours serve then
        merit, sun = float(spots.merit[index]), float(spots.sun[index])
        season = float(hours.mean()) if len(hours) else float(spots.mean[index])
        worst = float(hours.min()) if len(hours) else float(spots.worst[index])
        return Scored(index=index, merit=merit, sun=sun, season=season, worst=worst, bed_sun=None)

    def by_engine(index: int) -> Scored:
        outline = spots.outlines(np.array([index]))[0]
        answer = exact(task.bed_on(outline)) if exact is not None else None
        return by_map(index) if answer is None else score_of(answer, index, float(spots.cost[index]), task)

    return by_map if exact is None else by_engine


def score_of(answer: BedSun, index: int, cost: float, task: Task) -> Scored:
    """Return what a spot with that exact sun and that cost is worth."""
    cells = answer.cell_season_h
    if task.month_share is not None:
        if answer.cell_month_h is None:
            raise ValueError("the exact sun must keep its cells' months where months are asked for")
        cells = task.month_share @ answer.cell_month_h
    mean, worst = float(np.minimum(cells, task.plenty).mean()), float(cells.min())
    sun = float(sun_that_counts(mean, worst, weights=task.weights, plenty=task.plenty))
    merit = (sun - cost) / task.plenty
    return Scored(index=index, merit=merit, sun=sun, season=float(cells.mean()), worst=worst, bed_sun=answer)


def _shutter(task: Task, spots: Spots) -> Shuts | None:
    """Return the test whether beds on some spots would shut the barrow's way; None where no minutes are known."""
    if task.minutes is None or not np.isfinite(task.minutes).any():
        return None
    way = barrow_way(task.site, task.maps.grid, task.minutes, ignore=task.ignore)
    return cache(lambda indices: way.shuts(shapely.union_all(spots.outlines(np.array(indices, dtype=np.intp)))))


def _choose(task: Task, search: Search, shuts: Shuts | None, *, final: bool) -> tuple[list[Scored], float, float]:
    """Return the spots chosen, best first, with the gap to the best set of those tried, and of the search."""
    chosen: list[Scored] = []
    search_gap = 0.0
    aisle = aisle_of(task.site.place)
    alone = search.shuts
    for number in range(task.count):
        taken = tuple(one.index for one in chosen)
        if shuts is not None:
            search.shuts = _beside(shuts, taken)
        usable = _clear_of_chosen(search.spots, list(taken), aisle)
        budget = BUDGET_MORE if number else BUDGET
        best, promise = best_spot(search, usable, budget=len(search.spots) if final else budget)
        if best is None:
            break
        search_gap = max(search_gap, promise) if number == 0 else search_gap
        chosen.append(squared(search, best, task.edges, usable))
    search.shuts = alone
    if len(chosen) < task.count or task.count > 1:
        together, gap = _together(task, search, chosen)
        if shuts is None or not shuts(tuple(sorted(one.index for one in together))):
            chosen = together
        else:  # each leaves the way open, but not all of them at once
            gap = max(0.0, sum(one.merit for one in together) - sum(one.merit for one in chosen)) / len(chosen)
    else:
        gap = 0.0
    return sorted(chosen, key=lambda one: (-one.merit, one.index)), gap, search_gap


def _beside(shuts: Shuts, taken: tuple[int, ...]) -> Callable[[int], bool]:
    """Return the test of one more bed beside those on spots taken."""
    return lambda index: shuts(tuple(sorted((*taken, index))))


def _clear_of_chosen(spots: Spots, taken: list[int], aisle: float) -> Callable[[Indices], NDArray[np.bool_]]:
    """Return the test of which spots leave an aisle to those taken."""
    grown = shapely.union_all([one.buffer(aisle) for one in spots.outlines(np.array(taken, dtype=np.intp))])

    def usable(which: Indices) -> NDArray[np.bool_]:
        clear = np.ones(len(which), dtype=bool)
        for index in taken:  # nearer than this they overlap however they are turned
            away = np.hypot(spots.x[which] - spots.x[index], spots.y[which] - spots.y[index])
            clear &= away >= spots.form.core + aisle - 0.01
        if taken:
            clear[clear] = spots.clear_of(grown, which[clear])
        return clear

    return usable


def _together(task: Task, search: Search, chosen: list[Scored]) -> tuple[list[Scored], float]:
    """Return the set of spots to take and by how much, a bed, another set of those tried would be better."""
    if not chosen:
        return chosen, 0.0
    ranked = sorted(search.tried.values(), key=lambda one: (-one.merit, one.index))
    fit = search.fit(np.array([one.index for one in ranked]))
    ranked = [one for one, fits in zip(ranked, fit, strict=True) if fits and search.keeps_way(one.index)]
    left_out = ranked[MOST:]
    ranked = ranked[:MOST] + [one for one in chosen if one in left_out]
    total = sum(one.merit for one in chosen)
    if len(chosen) == task.count and ranked[0].merit * task.count - total <= 1e-9:
        return chosen, 0.0
    pairs = conflicts(search.spots.outlines(np.array([one.index for one in ranked])), aisle=aisle_of(task.site.place))
    best = [ranked[k] for k in best_together(np.array([one.merit for one in ranked]), pairs, task.count)]
    better = (sum(one.merit for one in best) - total) / len(best)
    taken = best if len(best) > len(chosen) or better > TOGETHER else chosen
    # a set with a spot too low to be weighed has at most that spot's merit, and the greatest for the others
    hopes = [one.merit for one in (*ranked[: len(taken) - 1], *left_out[:1])] if left_out else []
    short = max(sum(one.merit for one in best), sum(hopes) if hopes else -np.inf) - sum(one.merit for one in taken)
    return taken, max(short / len(taken), 0.0)


def _places(task: Task, search: Search, chosen: list[Scored]) -> tuple[Place, ...]:
    """Return the chosen spots with their figures and reasons."""
    if not chosen:
        return ()
    open_spots = [one for one in search.tried.values() if search.keeps_way(one.index)]
    sunniest = max(open_spots, key=lambda one: (one.sun, -one.index))
    grounds = Grounds(
        site=task.site,
        search=search,
        ways=task.ways,
        edges=task.edges,
        bed=task.bed,
        sunniest=sunniest,
        period=task.period,
    )
    spots = search.spots
    places = []
    for rank, one in enumerate(chosen, start=1):
        index = one.index
        places.append(
            Place(
                rank=rank,
                outline=spots.outlines(np.array([index]))[0],
                x=float(spots.x[index]),
                y=float(spots.y[index]),
                heading=float(spots.heading[index]) % 180,
                length=task.form.length,
                width=task.form.width,
                season_sun_h=one.season,
                worst_cell_sun_h=one.worst,
                merit=one.merit,
                why=reasons(one, rank=rank, first=chosen[0], grounds=grounds),
                exact=one.bed_sun is not None,
                minutes=float(spots.minutes[index]) * task.ways.trips,
                water_m=float(spots.water[index]),
                door_m=float(spots.door[index]),
                month_sun_h=None if one.bed_sun is None else one.bed_sun.month_sun_h,
                cautions=spot_cautions(task.site, spots.outlines(np.array([index]))[0]),
            )
        )
    return tuple(places)


def _sentences(task: Task, parts: tuple[RuledOut, ...], found: int, *, shut: bool) -> tuple[str, ...]:
    """Return what to say about the answer as a whole."""
    passed = ("spots where a bed would shut the barrow's way to ground beyond were passed over",) if shut else ()
    if found >= task.count:
        return passed
    if found:
        return (f"only {found} of the {task.count} beds asked for fit without overlapping", *passed)
    if shut:
        return ("wherever a bed of that size fits it would shut the barrow's way to ground beyond",)

    def fits(length: float, width: float) -> bool:
        form = form_of_size(length, width)
        limited = task.limits(form)
        found = task.scan(limited, form)
        barred = shapely.union_all([limit.ground for limit in limited])
        spots = task.spots(found, form)
        return bool(spots.clear_of(barred, np.arange(len(spots))).any())

    return nothing_fits(parts, length=task.form.length, width=task.form.width, units=task.site.units, fits=fits)
