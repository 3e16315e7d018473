"""Where on the property does the sun fall, month by month?

The engine's hours at the centre of every cell of a grid over the boundary; cells in a bed stand at its soil.
It leaves out what the cells are used for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles import own_shade

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SunMaps:
    """Maps of direct sun; NaN outside the boundary and inside buildings that stand on the ground.

    Attributes
    ----------
    grid : Grid
        Of the cells; row 0 is the northernmost.
    month_h : ndarray, shape (12, rows, columns)
        Mean of the days of each month. [h a day]
    season_h : ndarray, shape (rows, columns)
        Mean of the days of the growing season. [h a day]
    """

    grid: Grid
    month_h: Floats
    season_h: Floats


def sun_maps(site: Site, engine: SunEngine, *, progress: Callable[[float], None] | None = None) -> SunMaps:
    """Return the maps of a property.

    Parameters
    ----------
    site : Site
        Its `sun.cell` is the side of a cell.
    engine : SunEngine
        Of that site.
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        Cells without a known elevation of the ground are NaN.
    """
    grid = grid_over(site.boundary, site.sun.cell)
    hours = np.full((13, grid.rows * grid.columns), np.nan)
    centres = grid.centres()
    ground = np.zeros(len(centres)) if site.terrain is None else site.terrain.height_at(*centres.T)
    open_air = _under_open_sky(site, grid).ravel() & np.isfinite(ground)
    for bed in site.beds:
        cells = grid.inside(bed.outline).ravel() & open_air
        open_air &= ~cells
        soil = site.ground_at(bed.outline) + bed.height
        points = np.column_stack([centres[cells], np.full(int(cells.sum()), soil)])
        answer = engine.hours(points, extra=own_shade(site, bed), without=(bed.id,))
        hours[:12, cells], hours[12, cells] = answer.month_h, answer.season_h
    points = np.column_stack([centres, ground])[open_air]
    answer = engine.hours(points, progress=progress)
    hours[:12, open_air], hours[12, open_air] = answer.month_h, answer.season_h
    maps = hours.reshape(13, *grid.shape)
    return SunMaps(grid=grid, month_h=maps[:12], season_h=maps[12])


def _under_open_sky(site: Site, grid: Grid) -> NDArray[np.bool_]:
    """Return the cells on the property that no building covers from the ground up."""
    covered = shapely.union_all([building.outline for building in site.buildings if building.base == 0])
    return grid.inside(site.boundary) & ~grid.inside(covered)
