"""Would a bed block the barrow's way to the ground beyond it?

The cells that the barrow reaches now are taken without those that obstacles or the bed block. Cells that are then no
longer connected to the place where loads come from are cut off. The time of the way is not considered: it is in the
minutes handed in.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.barriers import HEADROOM
from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.grid import Grid
from siteplan.land.openings import open_ground, way_through
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
        Ids of beds that do not block the way.
    """
    half_width = site.barrow.width / 2
    on_property = grid.inside(site.boundary.buffer(-half_width))  # a barrow does not lean over the boundary
    free = np.isfinite(minutes) & on_property & ~_blocked_cells(site, grid, ignore)
    source = int(np.argmin(np.where(free, minutes, np.inf))) if free.any() else -1
    room = half_width + site.barrow.clearance
    return BarrowWay(grid=grid, reached=_connected(free, source), source=source, room=room)


def _blocked_cells(site: Site, grid: Grid, ignore: Collection[str]) -> Cells:
    """Return the cells that obstacles block for the middle of a barrow; gates that are wide enough are open."""
    half_width = site.barrow.width / 2
    needed_width = site.barrow.width + 2 * site.barrow.clearance - 1e-9
    gates = [gate for gate in site.gates if gate.width >= needed_width]
    barriers: list[Fence | Hedge] = [*(fence for fence in site.fences if fence.base < HEADROOM), *site.hedges]
    solid: list[BaseGeometry] = [building.outline for building in site.buildings if building.base < HEADROOM]
    solid += [bed.outline for bed in site.beds if bed.id not in ignore]
    blocked = grid.inside(shapely.union_all([open_ground(barrier, gates) for barrier in barriers]).buffer(half_width))
    for gate in gates:
        blocked &= ~grid.inside(_passage(site, gate, barriers, grid.cell))
    return blocked | grid.inside(shapely.union_all(solid).buffer(half_width))


def _passage(site: Site, gate: Gate, barriers: list[Fence | Hedge], cell: float) -> BaseGeometry:
    """Return the ground on which the middle of a barrow passes a gate; wide enough to hold a row of coarse cells."""
    axis = way_through(gate, barriers, beyond=site.barrow.width / 2 + 2 * cell)
    half_passage = gate.width / 2 - site.barrow.width / 2 - site.barrow.clearance
    return axis.buffer(max(half_passage, cell * math.sqrt(0.5)), cap_style="flat")


def _connected(free: Cells, source: int) -> Cells:
    """Return the free cells that are connected to the source; none if the source is not free itself."""
    from scipy.ndimage import label

    if source < 0 or not free.ravel()[source]:
        return np.zeros_like(free)
    pieces, _ = label(free, structure=_NEIGHBOURS)
    return np.asarray(pieces == pieces.ravel()[source])
