"""Where on the property is it sure that crops get the hours they want, and where is it sure that they do not?

Draws on a coarse grid give the error of the season's sun. The error is interpolated onto the fine map, which has the
edges of the shade. Beds do not count as obstacles here: they shade little ground beside themselves.
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
from siteplan.sun.doubt.uncertain_scene import Ledge, Spot, UncertainScene, uncertain_scene
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.sun_maps import SunMaps

Floats = NDArray[np.float64]

COARSE = 1.5  # m; side of a cell of the coarse grid
MOST_CELLS = 2000  # of the coarse grid, about; a large property gets larger cells


@dataclass(frozen=True, eq=False)
class SureMap:
    """In how many draws the season's sun is enough.

    Attributes
    ----------
    grid : Grid
        Grid of the map of the sun.
    need : float
        Hours that crops want. [h a day]
    draws : int
    share : ndarray, shape (rows, columns)
        Share of the draws in which the cell has those hours; NaN where the map of the sun is NaN. [0 to 1]
    """

    grid: Grid
    need: float
    draws: int
    share: Floats

    def verdict(self) -> Floats:
        """Return 1 where enough sun is sure, -1 where too little is sure, 0 where neither is, NaN off the map.

        Sure means: in at least nine tenths of the draws.

        Examples
        --------
        >>> grid = Grid(west=0.0, north=1.0, cell=1.0, rows=1, columns=4)
        >>> SureMap(grid, 6.0, 16, np.array([[15 / 16, 14 / 16, 1 / 16, np.nan]])).verdict().tolist()
        [[1.0, 0.0, -1.0, nan]]
        """
        decided = np.where(self.share >= HIGH, 1.0, np.where(self.share <= LOW, -1.0, 0.0))
        return np.where(np.isfinite(self.share), decided, np.nan)

    def parts(self) -> tuple[float, float, float] | None:
        """Return the shares of the ground with verdict 1, -1 and 0, in this order; None if no cell has a verdict."""
        verdict = self.verdict()
        decided = verdict[np.isfinite(verdict)]
        if not decided.size:
            return None
        return float((decided > 0).mean()), float((decided < 0).mean()), float((decided == 0).mean())


@dataclass(frozen=True, eq=False)
class CoarseGround:
    """Cells of a coarse grid on the ground, whose sun can be looked up with other values of the uncertain figures.

    Attributes
    ----------
    grid : Grid
    used : ndarray of bool, shape (rows, columns)
        Which cells are looked up.
    scene : UncertainScene
        With one spot: those cells.
    """

    grid: Grid
    used: NDArray[np.bool_]
    scene: UncertainScene

    def season_h(self, values: Floats) -> Floats:
        """Return the season's sun on the used cells, with these values of the figures, shape (n,). [h a day]"""
        ((hours,),) = self.scene.cell_hours(values)
        return np.asarray(hours[12], dtype=np.float64)


def coarse_ground(site: Site, engine: SunEngine) -> CoarseGround:
    """Return the coarse cells in which draws are looked up: all of a property outside its buildings.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    """
    cell = max(site.sun.cell, COARSE, float(np.sqrt(site.boundary.area / MOST_CELLS)))
    grid = grid_over(site.boundary, cell)
    x, y = grid.centres().T
    ground = np.zeros(len(x)) if site.terrain is None else site.terrain.height_at(x, y)
    used = shapely.contains_xy(site.boundary.buffer(cell), x, y) & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            used &= ~shapely.contains_xy(building.outline, x, y)
    cells = np.column_stack([x, y, ground])[used]
    spot = Spot("ground", (Ledge(cells, pack(()), 1.0),), tuple(bed.id for bed in site.beds))
    return CoarseGround(grid, used.reshape(grid.shape), uncertain_scene(site, engine, [spot]))


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
        As of `doubt.sun_in_draws`.
    need : float
        [h a day]
    progress : callable, optional
        Called with the share done, up to 1.
    """
    scene = coarse.scene
    values = scene.values_in_draws(shares)
    interpolate, as_given = _interpolator(coarse, maps.grid), coarse.season_h(scene.given_values)
    enough = np.zeros(maps.grid.shape)  # number of draws in which each cell has enough sun
    for number, row in enumerate(values):
        enough += maps.season_h + interpolate(coarse.season_h(row) - as_given) >= need
        if progress is not None:
            progress((number + 1) / len(values))
    on_map = np.isfinite(maps.season_h)
    return SureMap(maps.grid, need, len(values), np.where(on_map, enough / len(values), np.nan))


def _interpolator(coarse: CoarseGround, fine: Grid) -> Callable[[Floats], Floats]:
    """Return a function that turns values of the used coarse cells, shape (n,), into values on a fine grid.

    It interpolates bilinearly between four coarse cells. An unused coarse cell has the value of the nearest used one.
    """
    from scipy.ndimage import distance_transform_edt, map_coordinates  # imported here: scipy is slow to load

    grid = coarse.grid
    if not coarse.used.any():
        return lambda _: np.zeros(fine.shape)
    numbers = np.cumsum(coarse.used.ravel()).reshape(grid.shape) - 1
    nearest = distance_transform_edt(~coarse.used, return_distances=False, return_indices=True)
    source = numbers[tuple(nearest)]
    x, y = fine.centres().T
    rows_and_columns = [(grid.north - y) / grid.cell - 0.5, (x - grid.west) / grid.cell - 0.5]

    def interpolate(values: Floats) -> Floats:
        on_fine = map_coordinates(values[source], rows_and_columns, order=1, mode="nearest")
        return np.asarray(on_fine.reshape(fine.shape), dtype=np.float64)

    return interpolate
