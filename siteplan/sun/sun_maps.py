"""Where on the property does the sun fall, month by month?

The engine's hours at the centre of every cell of a grid over the boundary; cells in a bed stand at its soil.
It leaves out what the cells are used for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.sun.engine import SunEngine
from siteplan.sun.obstacles.prisms import Prism, ground_under, own_shade

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
    hours = np.full((13, grid.rows * grid.columns), np.nan)
    for cells in standing_cells(site, grid):
        tell = None if cells.without else progress  # beds are soon done
        lit = engine.hours(cells.points, extra=cells.extra, without=cells.without, progress=tell)
        hours[:, cells.numbers] = np.vstack([lit.month_h, lit.season_h])
    maps = hours.reshape(13, *grid.shape)
    return SunMaps(grid=grid, month_h=maps[:12], season_h=maps[12])


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells of a map that see the same things standing.

    Attributes
    ----------
    numbers : ndarray of int, shape (n,)
        Row by row from the north-west.
    points : ndarray, shape (n, 3)
        Where they stand. [m]
    extra : tuple of Prism
        What stands besides.
    without : tuple of str
        Ids of features that are not there.
    """

    numbers: NDArray[np.int64]
    points: Floats
    extra: tuple[Prism, ...] = ()
    without: tuple[str, ...] = ()


def standing_cells(site: Site, grid: Grid) -> Iterator[Cells]:
    """Yield the cells of a property, bed by bed, then all the others; those inside buildings belong to none."""
    centres = grid.centres()
    ground = np.zeros(len(centres))
    if site.terrain is not None:
        ground = site.terrain.height_at(centres[:, 0], centres[:, 1])
    asked = grid.inside(site.boundary).ravel() & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            asked &= ~grid.inside(building.outline).ravel()
    for bed in site.beds:
        here = np.flatnonzero(asked & grid.inside(bed.outline).ravel())
        asked[here] = False
        soil = np.full(len(here), ground_under(site, bed.outline) + bed.height)
        yield Cells(here, np.column_stack([centres[here], soil]), tuple(own_shade(site, bed)), (bed.id,))
    here = np.flatnonzero(asked)
    yield Cells(here, np.column_stack([centres[here], ground[here]]))
