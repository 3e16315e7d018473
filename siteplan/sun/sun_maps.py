"""Where on the property does the sun fall, month by month?

The engine's hours at the centre of every cell of a grid over the boundary; cells in a bed stand at its soil.
It leaves out what the cells are used for.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
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

    @cached_property
    def longest_h(self) -> float:
        """The sunniest cell in its sunniest month; NaN where no cell is known. [h a day]"""
        known = self.month_h[np.isfinite(self.month_h)]
        return float(known.max()) if known.size else math.nan


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
        A cell in a bed stands on the soil of its tier, under the bed's trellis, and sees nothing of its own crop;
        where the terrain is not known it is NaN.
    """
    grid = grid_over(site.boundary, site.sun.cell)
    hours = np.full((13, grid.rows * grid.columns), np.nan)
    for cells in standing_cells(site, grid):
        tell = None if cells.without else progress  # beds are soon done
        lit = engine.hours(cells.points, extra=cells.extra, without=cells.without, progress=tell)
        hours[:, cells.numbers] = np.vstack([lit.month_h, lit.season_h])
    maps = hours.reshape(13, *grid.shape)
    return SunMaps(grid=grid, month_h=maps[:12], season_h=maps[12])


def maps_without(
    maps: SunMaps,
    site: Site,
    engine: SunEngine,
    features: Collection[str],
    *,
    progress: Callable[[float], None] | None = None,
) -> SunMaps:
    """Return the maps of a site from which some features are gone, swept anew only where they may take sun.

    Parameters
    ----------
    maps : SunMaps
        With the features standing.
    site, engine
        Those of `maps`.
    features : collection of str
        Their ids.
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        A cell keeps its hours where the features could take less than `culling.NEGLIGIBLE` from it. Cells in a bed
        that is gone stand on the ground.
    """
    gone = frozenset(features)
    cleared = replace(site, beds=tuple(bed for bed in site.beds if bed.id not in gone))
    there = replace(engine, prisms=tuple(prism for prism in engine.prisms if prism.owner not in gone))
    anew = _in_beds(maps.grid, (bed for bed in site.beds if bed.id in gone))
    return _swept_anew(maps, cleared, there, anew, {engine: gone}, progress)


def maps_after(
    maps: SunMaps,
    before: tuple[Site, SunEngine],
    after: tuple[Site, SunEngine],
    *,
    progress: Callable[[float], None] | None = None,
) -> SunMaps:
    """Return the maps of a site that has changed, swept anew only where the change may matter.

    Parameters
    ----------
    maps : SunMaps
        Of the site before.
    before, after : tuple of Site and SunEngine
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        A cell keeps its hours where what has changed could take less than `culling.NEGLIGIBLE` from it, before and
        after. All are swept where more has changed than what stands.
    """
    (old, old_engine), (site, engine) = before, after
    if not _same_sky(old, site) or old_engine.path is not engine.path:
        return sun_maps(site, engine, progress=progress)
    one, other = _by_owner(old_engine), _by_owner(engine)
    changed = frozenset(owner for owner in one.keys() | other.keys() if one.get(owner) != other.get(owner))
    beds = set(old.beds) ^ set(site.beds)
    anew = _in_beds(maps.grid, beds)
    for building in set(old.buildings) ^ set(site.buildings):
        anew |= maps.grid.inside(building.outline).ravel()
    return _swept_anew(maps, site, engine, anew, {old_engine: changed, engine: changed}, progress)


def _same_sky(old: Site, site: Site) -> bool:
    """Return whether two sites have the same ground, cells, season and far hills."""
    around = (old.terrain, site.terrain, old.skyline, site.skyline, old.surface_model, site.surface_model)
    plain = all(one is None for one in around)
    same = old.sun == site.sun and old.season == site.season and old.frame == site.frame
    return plain and same and old.boundary.equals(site.boundary)


def _by_owner(engine: SunEngine) -> dict[str, list[Prism]]:
    found: dict[str, list[Prism]] = {}
    for prism in engine.prisms:
        found.setdefault(prism.owner, []).append(prism)
    return found


def _in_beds(grid: Grid, beds: Iterable[Bed]) -> NDArray[np.bool_]:
    """Return which cells lie in some beds."""
    found = np.zeros(grid.rows * grid.columns, dtype=np.bool_)
    for bed in beds:
        found |= grid.inside(bed.outline).ravel()
    return found


def _swept_anew(
    maps: SunMaps,
    site: Site,
    engine: SunEngine,
    anew: NDArray[np.bool_],
    reach: Mapping[SunEngine, Collection[str]],
    progress: Callable[[float], None] | None,
) -> SunMaps:
    """Return maps with some cells swept anew, and those that features of some engines may shade."""
    hours = np.full((13, maps.grid.rows * maps.grid.columns), np.nan)
    known = np.concatenate([maps.month_h, maps.season_h[None]]).reshape(13, -1)
    for cells in standing_cells(site, maps.grid):
        here = anew[cells.numbers]
        for of, owners in reach.items():
            here = here | of.within_reach(cells.points, owners)
        hours[:, cells.numbers] = known[:, cells.numbers]
        tell = None if cells.without else progress
        lit = engine.hours(cells.points[here], extra=cells.extra, without=cells.without, progress=tell)
        hours[:, cells.numbers[here]] = np.vstack([lit.month_h, lit.season_h])
    found = hours.reshape(13, *maps.grid.shape)
    return SunMaps(grid=maps.grid, month_h=found[:12], season_h=found[12])


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
    """Yield the cells of a property, bed by bed, tier by tier, then the others; those in buildings belong to none."""
    centres = grid.centres()
    ground = np.zeros(len(centres))
    if site.terrain is not None:
        ground = site.terrain.height_at(centres[:, 0], centres[:, 1])
    asked = grid.inside(site.boundary).ravel() & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            asked &= ~grid.inside(building.outline).ravel()
    for bed in site.beds:
        for frame in reversed(bed.frames):  # the highest first: what it leaves of the one below is that one's ledge
            here = np.flatnonzero(asked & grid.inside(frame.outline).ravel())
            asked[here] = False
            soil = np.full(len(here), ground_under(site, bed.outline) + frame.top)
            shade = own_shade(site, bed, tier=frame.number)
            yield Cells(here, np.column_stack([centres[here], soil]), shade, (bed.id,))
    here = np.flatnonzero(asked)
    yield Cells(here, np.column_stack([centres[here], ground[here]]))
