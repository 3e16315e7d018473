"""Where can the barrow stand beside a bed or a pile, and what is in the way when it cannot get there?

Free cells within reach that nothing divides from it; and a search that may break through, to name what it breaks.
It leaves out which of the cells is best: the routes say that.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.ground.cost_field import cells_within
from siteplan.haul.results import Barrier, GroundCost
from siteplan.haul.routes.grid_moves import octile_moves
from siteplan.haul.routes.router import Router
from siteplan.land.features import Pile
from siteplan.land.grid import Grid
from siteplan.land.site import Site

Cells = NDArray[np.int32]

ARM = 1.5  # m; a pile that is nearer than this is shovelled into the barrow. Common practice, no source
_WALL, _OUTSIDE = 1e3, 1e5  # times that a search which may break through takes in a barrier, and off the property


def centres_of(grid: Grid, cells: Cells) -> NDArray[np.float64]:
    """Return the middles of cells, shape (n, 2). [m]"""
    return np.column_stack([grid.x[cells[:, 1]], grid.y[cells[:, 0]]])


def standing_cells(ground: GroundCost, shape: BaseGeometry, *, own: str, within: float) -> Cells:
    """Return the cells on which a loaded barrow can stand near a shape, with nothing in between.

    Parameters
    ----------
    ground : GroundCost
    shape : shapely geometry
        What it stands beside, or on.
    own : str
        Id of the shape's feature: that is no obstacle.
    within : float
        Farthest from the shape to the cell's middle. [m]

    Returns
    -------
    ndarray, shape (n, 2)
        Rows and columns.
    """
    where, near = cells_within(ground.grid, shape.buffer(within))
    rows, columns = np.nonzero(near & np.isfinite(ground.loaded[where]))
    cells = np.column_stack([rows + where[0].start, columns + where[1].start]).astype(np.int32)
    around = [item for item in ground.barriers if item.id != own and item.shape.distance(shape) <= within]
    if not around or not len(cells):
        return cells
    sight = shapely.shortest_line(shapely.points(centres_of(ground.grid, cells)), shape)
    divided = shapely.intersects(sight, shapely.union_all([item.shape for item in around]))
    return np.asarray(cells[~divided])


def beside(ground: GroundCost, shape: BaseGeometry, *, own: str) -> Cells:
    """Return the cells beside a bed at which the barrow is tipped."""
    reach = next((item.reach for item in ground.barriers if item.id == own), ground.grid.cell)
    return standing_cells(ground, shape, own=own, within=reach + 1.5 * ground.grid.cell)


def at_pile(ground: GroundCost, pile: Pile) -> Cells:
    """Return the cells from which a pile is loaded: on it, or else the nearest within arm's length."""
    if pile.shape.area > 0:
        on = standing_cells(ground, pile.shape, own=pile.id, within=0.0)
        if len(on):
            return on
    cells = standing_cells(ground, pile.shape, own=pile.id, within=ARM)
    if not len(cells):
        return cells
    far = shapely.distance(shapely.points(centres_of(ground.grid, cells)), pile.shape)
    return np.asarray(cells[far <= far.min() + ground.grid.cell / 4])


def what_bars(site: Site, ground: GroundCost, start: BaseGeometry, end: BaseGeometry, *, own: str) -> str:
    """Return what is in the barrow's way, in words: the first thing that the cheapest break-through meets.

    Parameters
    ----------
    site : Site
    ground : GroundCost
    start, end : shapely geometry
        Pile and bed.
    own : str
        Id of the bed.
    """
    grid = ground.grid
    inside = grid.inside(site.boundary)
    passable = np.isfinite(ground.loaded)
    breaking = dataclasses.replace(
        ground,
        loaded=np.where(passable, 1.0, np.where(inside, _WALL, _OUTSIDE)),
        rise_east=np.zeros(grid.shape),
        rise_north=np.zeros(grid.shape),
        room=None,
    )
    router = Router(breaking, moves=octile_moves())
    field = router.field(np.array([_cell(grid, start)], dtype=np.int32), loaded=True)
    for row, column in router.steps(field, _cell(grid, end)):
        if not passable[row, column]:
            name = _name(site, ground, Point(grid.x[column], grid.y[row]), own)
            if name:
                return name
    return f"the ground is steeper than the barrow can be pushed ({ground.max_grade:.1%})"


def _cell(grid: Grid, shape: BaseGeometry) -> tuple[int, int]:
    middle = shapely.point_on_surface(shape)
    row, column = grid.cell_of(middle.x, middle.y)
    return min(max(row, 0), grid.rows - 1), min(max(column, 0), grid.columns - 1)


def _name(site: Site, ground: GroundCost, at: Point, own: str) -> str:
    """Return what bars a cell, in words; empty where it is the bed itself."""
    near: Barrier | None = min(ground.barriers, key=lambda item: item.shape.distance(at) - item.reach, default=None)
    if near is not None and near.shape.distance(at) <= near.reach + ground.grid.cell:
        return "" if near.id == own else f'{near.kind} "{near.id}" is in the way'
    for surface in sorted(site.surfaces, key=lambda item: item.outline.area):
        if surface.outline.covers(at):
            return f'{surface.surface} "{surface.id}" cannot be crossed with a loaded barrow'
    return "the edge of the property is in the way"
