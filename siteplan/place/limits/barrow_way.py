"""Would a bed block the barrow's way to the ground beyond it?

The cells that the barrow reaches now are taken without those that obstacles or the bed block. Cells that are then no
longer connected to the place where loads come from are cut off. The time of the way is not considered: it is in the
minutes handed in.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.barriers import barrow_reach, gate_passes, passage, standing_barriers
from siteplan.land.grid import Grid
from siteplan.land.site import Site

Cells = NDArray[np.bool_]

#: m2; a smaller piece of ground may be cut off: nobody wheels there (common practice, no source)
CORNER = 4.0
#: neighbours of a cell: those that touch it at a corner count as well
_NEIGHBOURS = np.ones((3, 3), dtype=bool)


@dataclass(frozen=True, eq=False, kw_only=True)
class BarrowWay:
    """The cells that the barrow reaches, and the cell from which it comes.

    Attributes
    ----------
    grid : Grid
    reached : ndarray of bool, shape (rows, columns)
        Cells connected to the source before any new bed is built.
    source : int
        Number of the cell from which loads come, row by row; -1 if there is none.
    room : float
        Least distance from the middle of the barrow's way to a bed's edge. [m]
    """

    grid: Grid
    reached: Cells
    source: int
    room: float

    def cut_off(self, outline: BaseGeometry) -> float:
        """Return how much ground beds on an outline would cut off: all of it if one is at the source. [m2]"""
        remaining = self.reached & ~self.grid.inside(outline.buffer(self.room))
        unreached = remaining & ~_connected(remaining, self.source)
        return float(unreached.sum()) * self.grid.cell**2

    def blocks_way(self, outline: BaseGeometry) -> bool:
        """Return whether beds on an outline would cut off more ground than `CORNER`."""
        return self.cut_off(outline) > CORNER


def barrow_way(site: Site, grid: Grid, minutes: NDArray[np.float64], *, ignore: Collection[str] = ()) -> BarrowWay:
    """Return the cells that the barrow reaches.

    Parameters
    ----------
    site : Site
    grid : Grid
    minutes : ndarray, shape (rows, columns)
        Time of one trip by barrow; NaN where it cannot go. [min]
    ignore : collection of str
        Ids of features that do not block the way, such as a bed that is to be moved.
    """
    on_property = grid.inside(
        site.boundary.buffer(-site.barrow.width / 2)
    )  # a barrow does not lean over the boundary
    free = np.isfinite(minutes) & on_property & ~_blocked_cells(site, grid, ignore)
    source = int(np.argmin(np.where(free, minutes, np.inf))) if free.any() else -1
    room = barrow_reach(site.barrow)
    return BarrowWay(grid=grid, reached=_connected(free, source), source=source, room=room)


def _blocked_cells(site: Site, grid: Grid, ignore: Collection[str]) -> Cells:
    """Return the cells that barriers block for the middle of a barrow; gates that are wide enough are open."""
    barriers = standing_barriers(site, site.barrow, without=ignore)
    walls = [barrier.shape for barrier in barriers if barrier.kind in ("fence", "hedge")]
    others = [barrier.shape for barrier in barriers if barrier.kind not in ("fence", "hedge")]
    half_width = site.barrow.width / 2  # without the clearance, for which cells are too coarse
    blocked = grid.inside(shapely.union_all(walls).buffer(half_width))
    for gate in site.gates:
        if gate_passes(gate, site.barrow):
            axis, stray = passage(site, gate, site.barrow, cell=grid.cell)
            blocked &= ~grid.inside(axis.buffer(stray, cap_style="flat"))
    return blocked | grid.inside(shapely.union_all(others).buffer(half_width))


def _connected(free: Cells, source: int) -> Cells:
    """Return the free cells that are connected to the source; none if the source is not free itself."""
    from scipy.ndimage import label

    if source < 0 or not free.ravel()[source]:
        return np.zeros_like(free)
    pieces, _ = label(free, structure=_NEIGHBOURS)
    return np.asarray(pieces == pieces.ravel()[source])
