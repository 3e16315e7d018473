"""Would a bed shut the barrow's way to ground beyond it?

Cells that the barrow reaches, less what stands and what the bed takes; what then lies apart from the source is lost.
It leaves out what the way costs: that is in the minutes handed in.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.grid import Grid
from siteplan.land.openings import open_ground, way_through
from siteplan.land.site import Site
from siteplan.place.limits.limits import HEADROOM

Cells = NDArray[np.bool_]

#: m2; a corner smaller than this may be cut off: nobody wheels there (common practice, no source)
CORNER = 4.0
#: cells that touch at a corner are joined
_JOINED = np.ones((3, 3), dtype=bool)


@dataclass(frozen=True, eq=False, kw_only=True)
class BarrowWay:
    """Where the barrow gets, and from where.

    Attributes
    ----------
    grid : Grid
    reached : ndarray of bool, shape (rows, columns)
        Joined to where loads come from, as things are.
    source : int
        Number of the cell where loads come from, row by row; -1 where there is none.
    room : float
        From the middle of the way to the bed's edge. [m]
    """

    grid: Grid
    reached: Cells
    source: int
    room: float

    def cut_off(self, outline: BaseGeometry) -> float:
        """Return how much ground beds on that outline would cut off; all, where one stands at the source. [m2]"""
        left = self.reached & ~self.grid.inside(outline.buffer(self.room))
        lost = left & ~_joined(left, self.source)
        return float(lost.sum()) * self.grid.cell**2

    def shuts(self, outline: BaseGeometry) -> bool:
        """Return whether a bed on that outline would cut off more than a corner."""
        return self.cut_off(outline) > CORNER


def barrow_way(site: Site, grid: Grid, minutes: NDArray[np.float64], *, ignore: Collection[str] = ()) -> BarrowWay:
    """Return where the barrow gets.

    Parameters
    ----------
    site : Site
    grid : Grid
    minutes : ndarray, shape (rows, columns)
        Of one trip by barrow; NaN where it cannot get. [min]
    ignore : collection of str
        Features that are not there.
    """
    half = site.barrow.width / 2
    own = grid.inside(site.boundary.buffer(-half))  # a barrow does not lean over the boundary
    free = np.isfinite(minutes) & own & ~_standing(site, grid, ignore)
    source = int(np.argmin(np.where(free, minutes, np.inf))) if free.any() else -1
    return BarrowWay(grid=grid, reached=_joined(free, source), source=source, room=half + site.barrow.clearance)


def _standing(site: Site, grid: Grid, ignore: Collection[str]) -> Cells:
    """Return where the middle of a barrow cannot go for what stands; fences, walls and hedges have their gates."""
    half = site.barrow.width / 2
    need = site.barrow.width + 2 * site.barrow.clearance - 1e-9
    gates = [gate for gate in site.gates if gate.width >= need]
    low: list[Fence | Hedge] = [*(one for one in site.fences if one.base < HEADROOM), *site.hedges]
    solid: list[BaseGeometry] = [one.outline for one in site.buildings if one.base < HEADROOM]
    solid += [one.outline for one in site.beds if one.id not in ignore]
    shut = grid.inside(shapely.union_all([open_ground(one, gates) for one in low]).buffer(half))
    for gate in gates:
        shut &= ~grid.inside(_passage(site, gate, low, grid.cell))
    return shut | grid.inside(shapely.union_all(solid).buffer(half))


def _passage(site: Site, gate: Gate, barriers: list[Fence | Hedge], cell: float) -> BaseGeometry:
    """Return where the middle of a barrow gets through a gate: a row of cells at least, however coarse they are."""
    axis = way_through(gate, barriers, beyond=site.barrow.width / 2 + 2 * cell)
    aside = gate.width / 2 - site.barrow.width / 2 - site.barrow.clearance
    return axis.buffer(max(aside, cell * math.sqrt(0.5)), cap_style="flat")


def _joined(free: Cells, source: int) -> Cells:
    """Return the free cells that are joined to the source; none where that is not free itself."""
    from scipy.ndimage import label

    if source < 0 or not free.ravel()[source]:
        return np.zeros_like(free)
    pieces, _ = label(free, structure=_JOINED)
    return np.asarray(pieces == pieces.ravel()[source])
