"""Where on the property does the sun fall, month by month?

The engine's hours at the centre of every cell of a grid over the boundary; cells in a bed stand at its soil.
It leaves out what the cells are used for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles import ground_under, own_shade

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
    """Return the maps of a site.

    Parameters
    ----------
    site : Site
        Whose boundary is covered with cells of its own size.
    engine : SunEngine
        Of this site.
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        A cell in a bed stands on the bed's soil, under the bed's trellis, and sees nothing of its own crop; where the
        terrain is not known it is NaN.
    """
    grid = grid_over(site.boundary, site.sun.cell)
    centres = grid.centres()
    ground = np.zeros(len(centres))
    if site.terrain is not None:
        ground = site.terrain.height_at(centres[:, 0], centres[:, 1])
    asked = grid.inside(site.boundary).ravel() & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            asked &= ~grid.inside(building.outline).ravel()
    hours = np.full((13, len(centres)), np.nan)
    for bed in site.beds:
        here = np.flatnonzero(asked & grid.inside(bed.outline).ravel())
        asked[here] = False
        soil = np.full(len(here), ground_under(site, bed.outline) + bed.height)
        points = np.column_stack([centres[here], soil])
        lit = engine.hours(points, extra=own_shade(site, bed), without=(bed.id,))
        hours[:, here] = np.vstack([lit.month_h, lit.season_h])
    here = np.flatnonzero(asked)
    lit = engine.hours(np.column_stack([centres[here], ground[here]]), progress=progress)
    hours[:, here] = np.vstack([lit.month_h, lit.season_h])
    maps = hours.reshape(13, *grid.shape)
    return SunMaps(grid=grid, month_h=maps[:12], season_h=maps[12])
