"""Where on the property are the hours that crops want sure, and where not?

A few draws on a coarse grid say by how much the season's sun may be off. That is laid over the fine map, which knows
the edges of the shade. Beds are left out of what stands: they shade little beside themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.sun.doubt.doubt import HIGH, LOW
from siteplan.sun.doubt.drawn_hours import Ledge, Otherwise, Spot, otherwise
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

COARSE = 1.5  # m; side of a cell of the coarse grid
MOST_CELLS = 2000  # of the coarse grid, about; its cells are larger on a large property


@dataclass(frozen=True, eq=False)
class SureMap:
    """In how many draws the season's sun is enough.

    Attributes
    ----------
    grid : Grid
        That of the map of the sun.
    need : float
        Hours that crops want. [h a day]
    draws : int
    share : ndarray, shape (rows, columns)
        Of the draws, those in which the cell has the hours; NaN where the map of the sun is. [0 to 1]
    """

    grid: Grid
    need: float
    draws: int
    share: Floats

    def verdict(self) -> Floats:
        """Return 1 where the hours are sure, -1 where it is sure that they are not had, 0 between, NaN off the map.

        Sure is what at least nine tenths of the draws say.

        Examples
        --------
        >>> grid = Grid(west=0.0, north=1.0, cell=1.0, rows=1, columns=4)
        >>> SureMap(grid, 6.0, 16, np.array([[15 / 16, 14 / 16, 1 / 16, np.nan]])).verdict().tolist()
        [[1.0, 0.0, -1.0, nan]]
        """
        decided = np.where(self.share >= HIGH, 1.0, np.where(self.share <= LOW, -1.0, 0.0))
        return np.where(np.isfinite(self.share), decided, np.nan)

    def parts(self) -> tuple[float, float, float] | None:
        """Return the shares of the ground that are sure to have the hours, sure not to, not sure; None without."""
        verdict = self.verdict()
        known = verdict[np.isfinite(verdict)]
        if not known.size:
            return None
        return float((known > 0).mean()), float((known < 0).mean()), float((known == 0).mean())


@dataclass(frozen=True, eq=False)
class CoarseGround:
    """Cells of a coarse grid on the ground, ready to be asked with other figures.

    Attributes
    ----------
    grid : Grid
    asked : ndarray of bool, shape (rows, columns)
        Which cells are looked up.
    state : Otherwise
        With one spot: those cells.
    """

    grid: Grid
    asked: NDArray[np.bool_]
    state: Otherwise

    def season_h(self, values: Floats) -> Floats:
        """Return the season's sun on the cells that are asked, with other figures, shape (n,). [h a day]"""
        ((hours,),) = self.state.cell_hours(values)
        return np.asarray(hours[12], dtype=np.float64)


def coarse_ground(site: Site, engine: SunEngine) -> CoarseGround:
    """Return the cells in which draws are made: over a property, outside its buildings.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    """
    across = max(site.sun.cell, COARSE, float(np.sqrt(site.boundary.area / MOST_CELLS)))
    grid = grid_over(site.boundary, across)
    x, y = grid.centres().T
    ground = np.zeros(len(x)) if site.terrain is None else site.terrain.height_at(x, y)
    asked = shapely.contains_xy(site.boundary.buffer(across), x, y) & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            asked &= ~shapely.contains_xy(building.outline, x, y)
    cells = np.column_stack([x, y, ground])[asked]
    spot = Spot("ground", (Ledge(cells, pack(()), 1.0),), tuple(bed.id for bed in site.beds))
    return CoarseGround(grid, asked.reshape(grid.shape), otherwise(site, engine, [spot]))


def sure_map(
    maps: SunMaps,
    coarse: CoarseGround,
    shares: Floats,
    *,
    need: float,
    progress: Callable[[float], None] | None = None,
) -> SureMap:
    """Return in how many draws each cell of a map has the hours that crops want.

    Parameters
    ----------
    maps : SunMaps
        With the figures as given.
    coarse : CoarseGround
        Of the same site.
    shares : ndarray, shape (draws, figures)
        As of `doubt.drawn_sun`.
    need : float
        [h a day]
    progress : callable, optional
        Called with the share done, up to 1.
    """
    state = coarse.state
    values = np.column_stack([f.drawn(s) for f, s in zip(state.figures, shares.T, strict=True)] or [shares])
    laid, as_given = _laid_over(coarse, maps.grid), coarse.season_h(state.given)
    having = np.zeros(maps.grid.shape)
    for number, one in enumerate(values):
        having += maps.season_h + laid(coarse.season_h(one) - as_given) >= need
        if progress is not None:
            progress((number + 1) / len(values))
    known = np.isfinite(maps.season_h)
    return SureMap(maps.grid, need, len(values), np.where(known, having / len(values), np.nan))


def _laid_over(coarse: CoarseGround, fine: Grid) -> Callable[[Floats], Floats]:
    """Return what reads values of the coarse cells at the cells of a fine grid, shape of the fine grid.

    Between four coarse cells it is linear in both directions. A coarse cell that was not asked has the value of the
    nearest one that was.
    """
    from scipy.ndimage import distance_transform_edt, map_coordinates  # long to load: for those who ask

    grid = coarse.grid
    if not coarse.asked.any():
        return lambda _: np.zeros(fine.shape)
    numbers = np.cumsum(coarse.asked.ravel()).reshape(grid.shape) - 1
    nearest = distance_transform_edt(~coarse.asked, return_distances=False, return_indices=True)
    source = numbers[tuple(nearest)]
    x, y = fine.centres().T
    at = [(grid.north - y) / grid.cell - 0.5, (x - grid.west) / grid.cell - 0.5]

    def laid(values: Floats) -> Floats:
        found = map_coordinates(values[source], at, order=1, mode="nearest")
        return np.asarray(found.reshape(fine.shape), dtype=np.float64)

    return laid
