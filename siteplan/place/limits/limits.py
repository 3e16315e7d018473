"""Where must no bed go, and because of which feature?

Each limit is the ground that one feature forbids, as a polygon (exact) and as cells of a grid (fast). Whether the
barrow reaches a spot is no limit here: that follows from the minutes handed to the search.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.land.barriers import HEADROOM
from siteplan.land.features import Bed, Surface
from siteplan.land.grid import Grid, grid_over
from siteplan.land.outline import smallest_rectangle
from siteplan.land.root_protection import root_protection_area
from siteplan.land.site import PlaceSettings, Site

#: m; how far a person reaches into a bed from one side (common extension advice, seen second-hand: 2 to 2.5 ft)
REACH = 0.61
#: m; kept free around a tap so that a hose can be screwed on (common practice, no source)
TAP_ROOM = 0.3
#: ADA Standards section 403, seen second-hand: a route has 36 in of clear width [m], and rises by 1:20 at most
ROUTE_WIDTH, ROUTE_SLOPE = 0.9144, 1 / 20
#: surfaces that must stay: people walk or drive on them
LASTING_SURFACES = ("paved", "gravel", "steps")
#: m; two outlines that touch do not overlap
TOUCH = 0.001


@dataclass(frozen=True, eq=False, kw_only=True)
class Limit:
    """The ground that one feature forbids.

    Attributes
    ----------
    kind : str
        ``boundary``, ``building``, ``fence``, ``hedge``, ``surface``, ``keepout``, ``roots``, ``bed``, ``gate``,
        ``door``, ``tap``, ``pile`` or ``slope``.
    feature : str
        Id of the feature; empty for the boundary and the slope.
    ground : shapely geometry
        The forbidden ground: no bed's outline may overlap it. [m]
    bare : shapely geometry
        The feature itself, without its margin. Not even a bed that is already within the margin may overlap it. [m]
    grid : Grid
        Whose cells are used.
    margin : float
        Width of the ground kept free around the feature. [m]
    cause : str
        Buildings, fences, hedges: which setting makes the margin, ``setback`` or ``walk``. Surfaces: their material.
        Keepouts: their reason. Roots: what they are measured by, ``stem`` or ``crown``. Else empty.
    steepest : float
        For the slope: the steepest slope that a bed may lie on. [rise / run]
    """

    kind: str
    feature: str
    ground: BaseGeometry
    bare: BaseGeometry
    grid: Grid
    margin: float = 0.0
    cause: str = ""
    steepest: float = 0.0

    @cached_property
    def part(self) -> tuple[tuple[slice, slice], NDArray[np.bool_]]:
        """Slices of the rows and columns around the forbidden ground, and which of their cells are forbidden."""
        return self.grid.part(self.ground)


def limits(
    site: Site, grid: Grid, *, ignore: Collection[str] = (), width: float | None = None, aisle: float | None = None
) -> tuple[Limit, ...]:
    """Return all limits of a site for a new bed.

    Parameters
    ----------
    site : Site
    grid : Grid
        Whose cells are used.
    ignore : collection of str
        Ids of features that forbid nothing, such as a bed that is to be moved.
    width : float or None
        Of the bed. A bed narrow enough to be reached across from one side needs no walk behind it. [m]
    aisle : float or None
        Walking room around the bed; the site's if None. [m]

    Returns
    -------
    tuple of Limit
        The boundary first. Limits that do not touch the property are left out.
    """
    aisle_width = aisle_of(site.place) if aisle is None else aisle
    of_features = (
        *_built_limits(site, grid, _walk_at_wall(site.place, width, aisle_width)),
        *_surface_limits(site, grid),
        *_planting_limits(site, grid, aisle_width),
        *_access_limits(site, grid),
    )
    on_property = [
        limit for limit in of_features if limit.feature not in ignore and limit.ground.intersects(site.boundary)
    ]
    return (_boundary_limit(site, grid), *on_property, *_slope_limit(site, grid))


def aisle_of(settings: PlaceSettings) -> float:
    """Return the walking room around a bed; on an accessible site, at least the width of a wheelchair route. [m]

    Examples
    --------
    >>> aisle_of(PlaceSettings()), aisle_of(PlaceSettings(accessible=True))
    (0.61, 0.9144)
    """
    return max(settings.aisle, ROUTE_WIDTH) if settings.accessible else settings.aisle


def room_at_wall(settings: PlaceSettings, width: float | None) -> float:
    """Return how near to a bed of some width, or any if None, a wall may stand: its setback, or a walk. [m]

    Examples
    --------
    >>> room_at_wall(PlaceSettings(wall_setback=0.3), 1.2), room_at_wall(PlaceSettings(wall_setback=0.3), 0.6)
    (0.61, 0.3)
    """
    return max(settings.wall_setback, _walk_at_wall(settings, width, aisle_of(settings)))


def _walk_at_wall(settings: PlaceSettings, width: float | None, aisle: float) -> float:
    """Return the walking room between a bed and a wall; none if the bed is reached across from its other side. [m]"""
    return 0.0 if width is not None and width <= REACH and not settings.accessible else aisle


def _boundary_limit(site: Site, grid: Grid) -> Limit:
    """Return the ground beyond the boundary and its setback."""
    setback = site.place.boundary_setback
    bounds = site.boundary.bounds
    around = box(bounds[0] - 100, bounds[1] - 100, bounds[2] + 100, bounds[3] + 100)
    inside = site.boundary.buffer(-setback) if setback else site.boundary
    return Limit(
        kind="boundary",
        feature="",
        ground=around.difference(inside),
        bare=around.difference(site.boundary),
        grid=grid,
        margin=setback,
    )


def _limit_around(
    kind: str, feature: str, bare: BaseGeometry, grid: Grid, *, margin: float = 0.0, cause: str = ""
) -> Limit:
    """Return the limit of a feature with a margin around it."""
    ground = bare.buffer(margin) if margin > 0 else bare
    return Limit(kind=kind, feature=feature, ground=ground, bare=bare, grid=grid, margin=margin, cause=cause)


def _built_limits(site: Site, grid: Grid, walk: float) -> Iterator[Limit]:
    """Yield buildings, fences and hedges, with the setback from walls or the walking room, whichever is more."""
    margin = max(site.place.wall_setback, walk)
    cause = "setback" if margin > walk else "walk"
    features: list[tuple[str, str, BaseGeometry]] = [
        ("building", building.id, building.outline) for building in site.buildings if building.base < HEADROOM
    ]
    features += [("fence", fence.id, fence.footprint) for fence in site.fences if fence.base < HEADROOM]
    features += [("hedge", hedge.id, hedge.outline) for hedge in site.hedges]
    for kind, feature, bare in features:
        yield _limit_around(kind, feature, bare, grid, margin=margin, cause=cause)


def _surface_limits(site: Site, grid: Grid) -> Iterator[Limit]:
    """Yield the surfaces that must stay, and the keepouts with their setbacks."""
    for surface in site.surfaces:
        if surface.surface in LASTING_SURFACES:
            yield _limit_around(
                "surface", surface.id, _uncovered(surface, site.surfaces), grid, cause=surface.surface
            )
    for keepout in site.keepouts:
        yield _limit_around(
            "keepout", keepout.id, keepout.outline, grid, margin=keepout.setback, cause=keepout.reason
        )


def _uncovered(surface: Surface, surfaces: Collection[Surface]) -> BaseGeometry:
    """Return a surface without the smaller, plantable surfaces on it: where two overlap, the smaller one counts."""
    ground: BaseGeometry = surface.outline
    for other in surfaces:
        smaller = other.outline.area < surface.outline.area
        if smaller and other.surface not in LASTING_SURFACES and other.outline.intersects(ground):
            ground = ground.difference(other.outline)
    return ground


def _planting_limits(site: Site, grid: Grid, aisle: float) -> Iterator[Limit]:
    """Yield the roots of trees, and beds with their aisles."""
    for tree in site.trees:
        cause = "crown" if tree.trunk_diameter is None else "stem"
        yield _limit_around("roots", tree.id, root_protection_area(tree), grid, cause=cause)
    for bed in site.beds:
        yield _limit_around("bed", bed.id, bed.outline, grid, margin=aisle)


def _access_limits(site: Site, grid: Grid) -> Iterator[Limit]:
    """Yield the ground around gates, doors, taps and piles, which must stay accessible."""
    room = site.place.barrow_aisle
    for gate in site.gates:
        yield _limit_around("gate", gate.id, gate.line, grid, margin=max(room, gate.width / 2))
    for door in site.doors:
        yield _limit_around("door", door.id, door.place, grid, margin=room)
    for tap in site.taps:
        yield _limit_around("tap", tap.id, tap.place, grid, margin=TAP_ROOM)
    for pile in site.piles:
        yield _limit_around("pile", pile.id, pile.shape, grid, margin=room)


def _slope_limit(site: Site, grid: Grid) -> Iterator[Limit]:
    """Yield the cells whose ground is too steep to level; unknown ground does not count as steep."""
    steepest = min(site.place.max_slope, ROUTE_SLOPE) if site.place.accessible else site.place.max_slope
    steep = np.nan_to_num(ground_slope(site, grid)) > steepest
    if steep.any():
        rows, columns = np.nonzero(steep)
        west, north = grid.west + columns * grid.cell, grid.north - rows * grid.cell
        ground = shapely.union_all(shapely.box(west, north - grid.cell, west + grid.cell, north))
        yield Limit(kind="slope", feature="", ground=ground, bare=MultiPolygon(), grid=grid, steepest=steepest)


def ground_slope(site: Site, grid: Grid) -> NDArray[np.float64]:
    """Return the ground's steepest slope at each cell, shape (rows, columns). [rise / run]

    References
    ----------
    Beyond 15 % a raised bed wants a designed terrace (common practice, no source).
    """
    east, north = ground_gradient(site, grid)
    return np.asarray(np.hypot(east, north))


def ground_gradient(site: Site, grid: Grid) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the ground's rise eastward and northward at each cell, both of shape (rows, columns). [rise / run]

    The heights half a metre to either side are compared, so that their difference is the rise of a metre. Zeros
    without a terrain, NaN where the terrain is unknown.
    """
    if site.terrain is None:
        return np.zeros(grid.shape), np.zeros(grid.shape)
    x, y = grid.centres().T
    height = site.terrain.height_at
    east = height(x + 0.5, y) - height(x - 0.5, y)
    north = height(x, y + 0.5) - height(x, y - 0.5)
    return east.reshape(grid.shape), north.reshape(grid.shape)


class LimitIndex:
    """A spatial index of a site's limits.

    Parameters
    ----------
    all_limits : tuple of Limit
        From `limits`.
    """

    def __init__(self, all_limits: tuple[Limit, ...]) -> None:
        self.all_limits = all_limits
        self._grounds = shapely.STRtree([limit.ground for limit in all_limits])

    def near(self, points: NDArray[np.float64], *, ignore: str) -> tuple[Limit, ...]:
        """Return the limits that touch the bounding box of points, in their order.

        Parameters
        ----------
        points : ndarray, shape (n, 2 or more)
            East and north first. [m]
        ignore : str
            Id of a feature whose limits are left out, such as a bed that is to be moved.
        """
        low, high = points.min(axis=0), points.max(axis=0)
        hits = np.sort(self._grounds.query(box(low[0], low[1], high[0], high[1])))
        return tuple(self.all_limits[hit] for hit in hits if self.all_limits[hit].feature != ignore)


def limits_by_width(site: Site) -> Callable[[Bed], LimitIndex]:
    """Return a function that gives the index of all limits for a bed, on cells of the size that the site's maps have.

    A bed narrow enough to be reached across from one side has fewer limits; either index is made once.
    """
    grid = grid_over(site.boundary, site.sun.cell)

    @cache
    def index(width: float | None) -> LimitIndex:
        return LimitIndex(limits(site, grid, width=width))

    return lambda bed: index(REACH if smallest_rectangle(bed.outline)[1] <= REACH else None)


def fit_check(all_limits: tuple[Limit, ...], *, standing: Polygon | None = None) -> Callable[[Polygon], Limit | None]:
    """Return a function that tests an outline exactly: it gives None if it fits, else the first limit that it breaks.

    Parameters
    ----------
    all_limits : tuple of Limit
    standing : Polygon or None
        Present outline of a bed that is to be moved: a limit that it breaks already counts without its margin.

    Examples
    --------
    >>> wall = Limit(kind="building", feature="shed", ground=box(0, 0, 1, 4), bare=box(0, 0, 1, 4),
    ...     grid=Grid(0, 4, 1, 4, 4))
    >>> broken = fit_check((wall,))
    >>> broken(box(1, 1, 2, 2)), broken(box(0.5, 1, 1.5, 2)).feature
    (None, 'shed')
    """
    grounds = [limit.ground if standing is None else _ground_while_moved(limit, standing) for limit in all_limits]
    tree = shapely.STRtree(grounds)

    def broken(outline: Polygon) -> Limit | None:
        hits = tree.query(outline.buffer(-TOUCH), predicate="intersects")
        return all_limits[int(min(hits))] if len(hits) else None

    return broken


def _ground_while_moved(limit: Limit, standing: Polygon) -> BaseGeometry:
    """Return the ground that a limit forbids to a bed that is moved or turned from its present outline."""
    bed = standing.buffer(-TOUCH)
    if not bed.intersects(limit.ground):
        return limit.ground
    lasting = limit.kind in {"boundary", "building", "fence", "hedge", "bed"}
    return limit.bare if lasting or not bed.intersects(limit.bare) else MultiPolygon()
