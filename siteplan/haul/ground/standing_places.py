"""Where can the barrow stand beside a bed or a pile?

Free cells within reach that nothing divides from it. It leaves out which of them is best: the routes say that.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.haul.ground.cost_field import CostField
from siteplan.land.features import Bed, Pile
from siteplan.land.grid import Grid

Cells = NDArray[np.int32]

ARM = 1.5  # m; a pile that is nearer than this is shovelled into the barrow. Common practice, no source


def centres_of(grid: Grid, cells: Cells) -> NDArray[np.float64]:
    """Return the middles of cells, shape (n, 2). [m]"""
    return np.column_stack([grid.x[cells[:, 1]], grid.y[cells[:, 0]]])


def standing_cells(ground: CostField, shape: BaseGeometry, *, own: str, within: float) -> Cells:
    """Return the cells on which a loaded barrow can stand near a shape, with nothing in between.

    Parameters
    ----------
    ground : CostField
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
    where, near = ground.grid.part(shape.buffer(within))
    rows, columns = np.nonzero(near & np.isfinite(ground.loaded[where]))
    cells = np.column_stack([rows + where[0].start, columns + where[1].start]).astype(np.int32)
    shapes = np.array([item.shape for item in ground.barriers if item.id != own], dtype=object)
    around = shapes[shapely.dwithin(shapes, shape, within)] if len(shapes) else shapes
    if not len(around) or not len(cells):
        return cells
    sight = shapely.shortest_line(shapely.points(centres_of(ground.grid, cells)), shape)
    divided = shapely.intersects(sight, shapely.union_all(around))
    return np.asarray(cells[~divided])


def beside(ground: CostField, bed: Bed) -> Cells:
    """Return the cells beside a bed at which the barrow is tipped."""
    reach = next((item.reach for item in ground.barriers if item.id == bed.id), ground.grid.cell)
    return standing_cells(ground, bed.outline, own=bed.id, within=reach + 1.5 * ground.grid.cell)


def at_pile(ground: CostField, pile: Pile) -> Cells:
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
