"""How far is it on foot from a tap or a door to each spot?

The least way over ground on which a person can walk, round what stands, through gates and up steps.
It leaves out how hard the ground is to walk on: a hose and a short walk do not mind.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence

import numpy as np
from shapely import Point

from siteplan.haul.ground.cost_field import MOST_CELLS, on_foot
from siteplan.haul.results import GroundCost
from siteplan.haul.routes.router import Router
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.site import Site

#: m; as fine as a walker's shoulders need. Common practice, no source
CELL = 0.25
#: m; a tap or door that is farther than this from walkable ground is not got at. Common practice, no source
ARM = 1.5


def walking_distance(site: Site, grid: Grid, sources: Sequence[Point], *, without: Collection[str] = ()) -> Floats:
    """Return the length of the way on foot from the nearest source to each cell.

    Parameters
    ----------
    site : Site
    grid : Grid
        On which the answer is wanted; the ways have cells of their own.
    sources : sequence of Point
        Taps, or doors. [m]
    without : collection of str
        Ids of features thought away, as a bed that is to be moved.

    Returns
    -------
    ndarray, shape (rows, columns)
        NaN where one cannot stand, or cannot get. [m]

    Notes
    -----
    Moves in 40 directions: at most 0.8 % longer than the shortest way on the cells.
    """
    west, south, east, north = site.boundary.bounds
    cell = max(CELL, math.sqrt((east - west) * (north - south) / MOST_CELLS))
    fine = grid_over(site.boundary, cell)
    router = Router(_level(on_foot(site, fine, without=without)))
    length = np.full(fine.shape, np.inf)
    x, y = np.meshgrid(fine.x, fine.y)
    for source in sources:
        away = np.where(router.ground.free, np.hypot(x - source.x, y - source.y), np.inf)
        row, column = np.unravel_index(int(np.argmin(away)), away.shape)
        if away[row, column] > ARM:
            continue
        field = router.field(np.array([[row, column]], dtype=np.int32), loaded=False)
        length = np.minimum(length, field.seconds + away[row, column])
    return _read(length, fine, grid)


def _level(ground: GroundCost) -> GroundCost:
    """Return ground on which a metre takes a second, so that the time is the length."""
    metre = np.where(ground.free, 1.0, np.inf)
    level = np.zeros(ground.grid.shape)
    return dataclasses.replace(ground, loaded=metre, empty=metre, rise_east=level, rise_north=level)


def _read(length: Floats, fine: Grid, grid: Grid) -> Floats:
    """Return a map on other cells, each with the value of the cell under its centre. [m]"""
    rows = np.floor((fine.north - grid.y) / fine.cell).astype(int)
    columns = np.floor((grid.x - fine.west) / fine.cell).astype(int)
    inside = ((rows >= 0) & (rows < fine.rows))[:, None] & ((columns >= 0) & (columns < fine.columns))[None, :]
    at = np.ix_(np.clip(rows, 0, fine.rows - 1), np.clip(columns, 0, fine.columns - 1))
    return np.where(inside & np.isfinite(length[at]), length[at], np.nan)
