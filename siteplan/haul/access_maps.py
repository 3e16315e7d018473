"""How far is it to each spot: from the piles with the barrow, and on foot from a tap or a door?

Least times and lengths around obstacles, through gates and up steps, as maps on a given grid. Shovelling and tipping
are not included; on foot all ground counts as equally easy to walk on.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point

from siteplan.haul.delivery.lorry import tipping_zones
from siteplan.haul.ground.cost_field import MOST_CELLS, CostField, walking_field
from siteplan.haul.ground.standing_places import ARM, Cells, at_pile, centres_of
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.haul.routes.router import Router
from siteplan.land.features import Pile
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.site import Site

CELL = 0.25  # m; cell of walking routes, about half the width of a walker. Common practice, no source


def minutes_field(site: Site, grid: Grid, *, sources: Collection[str], without: Collection[str] = ()) -> Floats:
    """Return the minutes of one round trip from the nearest source to each cell, loaded out and empty back.

    Parameters
    ----------
    site : Site
    grid : Grid
        Of the result; the routes have a grid of their own.
    sources : collection of str
        Ids of piles. If empty: all drop zones, else all piles, else where a lorry would tip.
    without : collection of str
        Ids of features to leave out, such as a bed that is to be moved.

    Returns
    -------
    ndarray, shape (rows, columns)
        Without shovelling and tipping; NaN where the barrow cannot come near. [min]

    Raises
    ------
    ValueError
        If `sources` names an unknown pile.

    Notes
    -----
    The barrow is tipped from beside a bed. So a cell that is too near a wall for the barrow itself has the minutes of
    the nearest cell that it reaches, if that is within the barrow's reach plus a cell and no barrier lies in between.
    """
    finder = RouteFinder(site, without=without)
    piles = _sources(site, sources) or [zone.pile for zone in tipping_zones(site)]
    cells = np.vstack([at_pile(finder.ground, pile) for pile in piles])
    if not len(cells):
        return np.full(grid.shape, np.nan)
    return _within_reach(finder.source("", cells).round_trip / 60, finder.ground, grid)


def _sources(site: Site, sources: Collection[str]) -> list[Pile]:
    piles = {pile.id: pile for pile in site.piles}
    unknown = sorted(set(sources) - set(piles))
    if unknown:
        raise ValueError(f"pile {unknown[0]!r} is not there; there are: {', '.join(sorted(piles)) or 'none'}")
    drops = [pile.id for pile in site.piles if pile.drop]
    return [piles[pile_id] for pile_id in (sources or drops or piles)]


def _within_reach(minutes: Floats, ground: CostField, grid: Grid) -> Floats:
    """Return a map of the routes' cells on `grid`: each cell with the nearest value within reach, else NaN.

    A cell that a barrier divides from the nearest one has no value.
    """
    from scipy.ndimage import distance_transform_edt

    reach = max((barrier.reach for barrier in ground.barriers), default=0.0) + max(grid.cell, ground.grid.cell)
    reached = np.isfinite(minutes)
    if not reached.any():
        return np.full(grid.shape, np.nan)
    distance, nearest = distance_transform_edt(~reached, sampling=ground.grid.cell, return_indices=True)
    is_near = distance <= reach
    read = np.zeros(minutes.shape, dtype=np.bool_)
    read[_cells_under(ground.grid, grid)] = True
    lent = np.argwhere(is_near & ~reached & read).astype(np.int32)
    is_near[tuple(lent.T)] = ~_divided(ground, lent, nearest[:, lent[:, 0], lent[:, 1]].T)
    return _read(np.where(is_near, minutes[nearest[0], nearest[1]], np.nan), ground.grid, grid)


def _divided(ground: CostField, cells: Cells, others: Cells) -> NDArray[np.bool_]:
    """Return which cells a barrier divides from other cells, both as rows and columns, shape (n, 2)."""
    ends = np.stack([centres_of(ground.grid, cells), centres_of(ground.grid, others)], axis=1)
    barriers = shapely.STRtree([barrier.shape for barrier in ground.barriers])
    is_divided = np.zeros(len(cells), dtype=np.bool_)
    is_divided[barriers.query(shapely.linestrings(ends), predicate="intersects")[0]] = True
    return is_divided


def walking_distances(
    site: Site, grid: Grid, goals: Sequence[Sequence[Point]], *, without: Collection[str] = ()
) -> list[Floats]:
    """Return the length of the way on foot from each cell to the nearest point of each goal.

    Parameters
    ----------
    site : Site
    grid : Grid
        Of the result; the routes have a grid of their own.
    goals : sequence of sequences of Point
        Such as the taps, and the doors. [m]
    without : collection of str
        Ids of features to leave out, such as a bed that is to be moved.

    Returns
    -------
    list of ndarray, shape (rows, columns)
        One for each goal; NaN where nobody can stand, or there is no way. [m]

    Notes
    -----
    Moves in 40 directions: at most 0.8 % longer than a straight line on open ground, and up to three cells longer
    beside barriers.
    """
    if not any(goals):
        return [np.full(grid.shape, np.nan) for _ in goals]
    west, south, east, north = site.boundary.bounds
    cell = max(CELL, math.sqrt((east - west) * (north - south) / MOST_CELLS))
    fine = grid_over(site.boundary, cell)
    router = Router(_metres(walking_field(site, fine, without=without)))
    return [_read(_length(router, points), fine, grid) for points in goals]


def _metres(ground: CostField) -> CostField:
    """Return level ground on which each metre takes one second, so that times are lengths."""
    metre = np.where(ground.free, 1.0, np.inf)
    level = np.zeros(ground.grid.shape)
    return dataclasses.replace(ground, loaded=metre, empty=metre, rise_east=level, rise_north=level)


def _length(router: Router, points: Sequence[Point]) -> Floats:
    """Return the length of the way from the nearest of some points, infinite where there is none. [m]"""
    ground = router.ground
    x, y = np.meshgrid(ground.grid.x, ground.grid.y)
    length = np.full(ground.grid.shape, np.inf)
    for point in points:
        distance = np.where(ground.free, np.hypot(x - point.x, y - point.y), np.inf)
        row, column = np.unravel_index(int(np.argmin(distance)), distance.shape)
        if distance[row, column] <= ARM:  # else the point cannot be reached by hand
            times = router.least_times(np.array([[row, column]], dtype=np.int32), loaded=False)
            length = np.minimum(length, times.seconds + distance[row, column])
    return length


def _read(source_map: Floats, fine: Grid, grid: Grid) -> Floats:
    """Return a map on another grid, with the value under each cell's centre; NaN off the map and for infinity."""
    on_map = ((grid.y <= fine.north) & (grid.y > fine.south))[:, None] & (
        (grid.x >= fine.west) & (grid.x < fine.east)
    )[None, :]
    values = source_map[_cells_under(fine, grid)]
    return np.where(on_map & np.isfinite(values), values, np.nan)


def _cells_under(fine: Grid, grid: Grid) -> tuple[NDArray[np.intp], ...]:
    """Return the rows and columns of the cells under another grid's centres, as an index; off the map the nearest."""
    rows = np.floor((fine.north - grid.y) / fine.cell).astype(int)
    columns = np.floor((grid.x - fine.west) / fine.cell).astype(int)
    return np.ix_(np.clip(rows, 0, fine.rows - 1), np.clip(columns, 0, fine.columns - 1))
