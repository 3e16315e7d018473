"""Where can the barrow stand beside a bed or a pile?

In free cells within reach, with no barrier in between. Which of them is best is decided by the routes.
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

ARM = 1.5  # m; largest distance at which a pile is shovelled into the barrow. Common practice, no source


def centres_of(grid: Grid, cells: Cells) -> NDArray[np.float64]:
    """Return the middles of cells, shape (n, 2). [m]"""
    return np.column_stack([grid.x[cells[:, 1]], grid.y[cells[:, 0]]])


def standing_cells(ground: CostField, shape: BaseGeometry, *, own: str, within: float) -> Cells:
    """Return the cells on which a loaded barrow can stand near a shape, with no barrier in between.

    Parameters
    ----------
    ground : CostField
    shape : shapely geometry
    own : str
        Id of the shape's feature, which is no barrier here.
    within : float
        Largest distance from the shape to a cell's middle. [m]

    Returns
    -------
    ndarray, shape (n, 2)
        Rows and columns.
    """
    window, near_cells = ground.grid.part(shape.buffer(within))
    rows, columns = np.nonzero(near_cells & np.isfinite(ground.loaded[window]))
    cells = np.column_stack([rows + window[0].start, columns + window[1].start]).astype(np.int32)
    shapes = np.array([barrier.shape for barrier in ground.barriers if barrier.id != own], dtype=object)
    barriers = shapes[shapely.dwithin(shapes, shape, within)] if len(shapes) else shapes
    if not len(barriers) or not len(cells):
        return cells
    sight = shapely.shortest_line(shapely.points(centres_of(ground.grid, cells)), shape)
    is_divided = shapely.intersects(sight, shapely.union_all(barriers))
    return np.asarray(cells[~is_divided])


def cells_beside(ground: CostField, bed: Bed) -> Cells:
    """Return the cells beside a bed from which the barrow is tipped into it, shape (n, 2)."""
    reach = next((barrier.reach for barrier in ground.barriers if barrier.id == bed.id), ground.grid.cell)
    return standing_cells(ground, bed.outline, own=bed.id, within=reach + 1.5 * ground.grid.cell)


def at_pile(ground: CostField, pile: Pile) -> Cells:
    """Return the cells in which the barrow is loaded at a pile: on it, else the nearest within ARM, shape (n, 2)."""
    if pile.shape.area > 0:
        cells_on_pile = standing_cells(ground, pile.shape, own=pile.id, within=0.0)
        if len(cells_on_pile):
            return cells_on_pile
    cells = standing_cells(ground, pile.shape, own=pile.id, within=ARM)
    if not len(cells):
        return cells
    distance = shapely.distance(shapely.points(centres_of(ground.grid, cells)), pile.shape)
    return np.asarray(cells[distance <= distance.min() + ground.grid.cell / 4])
