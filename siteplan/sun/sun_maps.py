"""Where on the property does the sun fall, month by month?

The engine's hours at the centre of every cell of a grid over the boundary. Cells in a bed are at the height of its
soil, other cells on the ground.
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
        """Hours of the sunniest cell in its sunniest month; NaN if all cells are NaN. [h a day]"""
        on_property = self.month_h[np.isfinite(self.month_h)]
        return float(on_property.max()) if on_property.size else math.nan


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
        A cell in a bed is on the soil of its tier. The bed's trellis shades it, the bed's crop does not. Where the
        terrain is unknown, a cell is NaN.
    """
    grid = grid_over(site.boundary, site.sun.cell)
    hours = np.full((13, grid.rows * grid.columns), np.nan)
    for group in cell_groups(site, grid):
        tell = None if group.without else progress  # beds take hardly any time
        lit = engine.hours(group.points, extra=group.extra, without=group.without, progress=tell)
        hours[:, group.numbers] = np.vstack([lit.month_h, lit.season_h])
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
    """Return the maps of a site without some features, computed anew only where those features may shade.

    Parameters
    ----------
    maps : SunMaps
        Of the site with all features.
    site : Site
        With all features.
    engine : SunEngine
        Of this site.
    features : collection of str
        Ids of the features to leave out.
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        A cell keeps its hours if the features can hide less than `culling.NEGLIGIBLE` from it. Cells in a bed that is
        left out are on the ground.
    """
    left_out = frozenset(features)
    site_without = replace(site, beds=tuple(bed for bed in site.beds if bed.id not in left_out))
    engine_without = replace(engine, prisms=tuple(prism for prism in engine.prisms if prism.owner not in left_out))
    stale = _in_beds(maps.grid, (bed for bed in site.beds if bed.id in left_out))
    return _recomputed(maps, site_without, engine_without, stale, {engine: left_out}, progress)


def maps_after(
    maps: SunMaps,
    before: tuple[Site, SunEngine],
    after: tuple[Site, SunEngine],
    *,
    progress: Callable[[float], None] | None = None,
) -> SunMaps:
    """Return the maps of a site that has changed, computed anew only where the change may matter.

    Parameters
    ----------
    maps : SunMaps
        Of the site before the change.
    before, after : tuple of Site and SunEngine
        The site before and after the change, each with its engine.
    progress : callable, optional
        Called with the share done, up to 1.

    Returns
    -------
    SunMaps
        A cell keeps its hours if the changed features can hide less than `culling.NEGLIGIBLE` from it, before and
        after. All cells are computed anew if anything but features has changed, or if the site has a terrain, a
        skyline or a surface raster.
    """
    (site_before, engine_before), (site, engine) = before, after
    if not _only_features_differ(site_before, site) or engine_before.path is not engine.path:
        return sun_maps(site, engine, progress=progress)
    prisms_before, prisms_after = _by_owner(engine_before), _by_owner(engine)
    owners = prisms_before.keys() | prisms_after.keys()
    changed = frozenset(owner for owner in owners if prisms_before.get(owner) != prisms_after.get(owner))
    stale = _in_beds(maps.grid, set(site_before.beds) ^ set(site.beds))
    for building in set(site_before.buildings) ^ set(site.buildings):
        stale |= maps.grid.inside(building.outline).ravel()
    return _recomputed(maps, site, engine, stale, {engine_before: changed, engine: changed}, progress)


def _only_features_differ(old: Site, site: Site) -> bool:
    """Return whether two sites on level, open ground have the same boundary, cells, season and frame."""
    terrain_and_beyond = (old.terrain, site.terrain, old.skyline, site.skyline, old.surface_model, site.surface_model)
    plain = all(value is None for value in terrain_and_beyond)
    same = old.sun == site.sun and old.season == site.season and old.frame == site.frame
    return plain and same and old.boundary.equals(site.boundary)


def _by_owner(engine: SunEngine) -> dict[str, list[Prism]]:
    """Return an engine's prisms by the feature that they belong to."""
    prisms: dict[str, list[Prism]] = {}
    for prism in engine.prisms:
        prisms.setdefault(prism.owner, []).append(prism)
    return prisms


def _in_beds(grid: Grid, beds: Iterable[Bed]) -> NDArray[np.bool_]:
    """Return which cells lie in any of the beds, shape (cells,)."""
    inside = np.zeros(grid.rows * grid.columns, dtype=np.bool_)
    for bed in beds:
        inside |= grid.inside(bed.outline).ravel()
    return inside


def _recomputed(
    maps: SunMaps,
    site: Site,
    engine: SunEngine,
    stale: NDArray[np.bool_],
    reach: Mapping[SunEngine, Collection[str]],
    progress: Callable[[float], None] | None,
) -> SunMaps:
    """Return maps with the stale cells computed anew, and the cells that the features in `reach` may shade."""
    hours = np.full((13, maps.grid.rows * maps.grid.columns), np.nan)
    former_hours = np.concatenate([maps.month_h, maps.season_h[None]]).reshape(13, -1)
    for group in cell_groups(site, maps.grid):
        to_compute = stale[group.numbers]
        for with_features, owners in reach.items():
            to_compute = to_compute | with_features.within_reach(group.points, owners)
        hours[:, group.numbers] = former_hours[:, group.numbers]
        tell = None if group.without else progress
        lit = engine.hours(group.points[to_compute], extra=group.extra, without=group.without, progress=tell)
        hours[:, group.numbers[to_compute]] = np.vstack([lit.month_h, lit.season_h])
    layers = hours.reshape(13, *maps.grid.shape)
    return SunMaps(grid=maps.grid, month_h=layers[:12], season_h=layers[12])


@dataclass(frozen=True, eq=False)
class CellGroup:
    """Cells of a map that are shaded by the same obstacles.

    Attributes
    ----------
    numbers : ndarray of int, shape (n,)
        Numbers of the cells, row by row from the north-west.
    points : ndarray, shape (n, 3)
        East, north and elevation of the cells' centres. [m]
    extra : tuple of Prism
        Obstacles in addition to the engine's.
    without : tuple of str
        Ids of features that are left out.
    """

    numbers: NDArray[np.int64]
    points: Floats
    extra: tuple[Prism, ...] = ()
    without: tuple[str, ...] = ()


def cell_groups(site: Site, grid: Grid) -> Iterator[CellGroup]:
    """Yield the cells of a property in groups: each bed's tiers, then all others; cells in buildings are left out."""
    centres = grid.centres()
    ground = np.zeros(len(centres))
    if site.terrain is not None:
        ground = site.terrain.height_at(centres[:, 0], centres[:, 1])
    open_ = grid.inside(site.boundary).ravel() & np.isfinite(ground)
    for building in site.buildings:
        if building.base == 0:
            open_ &= ~grid.inside(building.outline).ravel()
    for bed in site.beds:
        for frame in reversed(bed.frames):  # the highest first: the rest of the tier below is then its ledge
            cells = np.flatnonzero(open_ & grid.inside(frame.outline).ravel())
            open_[cells] = False
            soil = np.full(len(cells), ground_under(site, bed.outline) + frame.top)
            shade = own_shade(site, bed, tier=frame.number)
            yield CellGroup(cells, np.column_stack([centres[cells], soil]), shade, (bed.id,))
    cells = np.flatnonzero(open_)
    yield CellGroup(cells, np.column_stack([centres[cells], ground[cells]]))
