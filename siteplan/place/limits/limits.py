"""Where must no bed go, and why?

Each limit is the ground that one feature forbids, as a polygon (exact) and as a mask of cells (fast).
It leaves out whether the barrow gets there: that follows from the minutes handed to the search.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Surface
from siteplan.land.grid import Grid
from siteplan.land.site import PlaceSettings, Site
from siteplan.land.units import length_text
from siteplan.place.limits.root_protection import root_protection_area
from siteplan.place.limits.walking_room import ROUTE_SLOPE, ROUTE_WIDTH

#: m; how far a person reaches into a bed from one side (common extension advice, seen second-hand: 2 to 2.5 ft)
REACH = 0.61
#: m; a roof that starts higher leaves room to stand under it (common practice, no source)
HEADROOM = 2.0
#: m; kept free around a tap so that a hose can be screwed on (common practice, no source)
TAP_ROOM = 0.3
#: surfaces that are there to be walked or driven on
STAYING = ("paved", "gravel", "steps")
#: m; two outlines that touch do not overlap
TOUCH = 0.001


@dataclass(frozen=True, eq=False, kw_only=True)
class Limit:
    """What one feature forbids.

    Attributes
    ----------
    name : str
        Of the kind of limit: ``boundary``, ``building``, ``fence``, ``hedge``, ``surface``, ``keepout``,
        ``roots``, ``bed``, ``gate``, ``door``, ``tap``, ``pile``, ``slope``.
    reason : str
        As it reads after "a bed would ...".
    feature : str
        Id of the feature that causes it; empty for the boundary and the slope.
    ground : shapely geometry
        No bed's outline may overlap it. [m]
    bare : shapely geometry
        The thing itself, without its setback: what a bed that stands too near already must still not overlap. [m]
    grid : Grid
        For the mask.
    """

    name: str
    reason: str
    feature: str
    ground: BaseGeometry
    bare: BaseGeometry
    grid: Grid

    @cached_property
    def mask(self) -> NDArray[np.bool_]:
        """Which cells have their centre on forbidden ground, shape (rows, columns)."""
        return cells_inside(self.ground, self.grid)


def cells_inside(ground: BaseGeometry, grid: Grid) -> NDArray[np.bool_]:
    """Return which cells have their centre in `ground`, shape (rows, columns), looking only within its bounds.

    Examples
    --------
    >>> cells_inside(box(0, 0, 1, 1), Grid(0, 2, 1, 2, 2)).tolist()
    [[False, False], [True, False]]
    """
    mask = np.zeros(grid.shape, dtype=bool)
    if ground.is_empty:
        return mask
    west, south, east, north = ground.bounds
    columns = np.flatnonzero((grid.x >= west) & (grid.x <= east))
    rows = np.flatnonzero((grid.y >= south) & (grid.y <= north))
    if not len(columns) or not len(rows):
        return mask
    x, y = np.meshgrid(grid.x[columns], grid.y[rows])
    shapely.prepare(ground)
    mask[np.ix_(rows, columns)] = shapely.intersects_xy(ground, x, y)
    return mask


def limits(
    site: Site, grid: Grid, *, ignore: Collection[str] = (), width: float | None = None, aisle: float | None = None
) -> tuple[Limit, ...]:
    """Return all that forbids ground to a new bed.

    Parameters
    ----------
    site : Site
    grid : Grid
        For the masks.
    ignore : collection of str
        Ids of features that forbid nothing: a bed that is to be moved.
    width : float or None
        Of the bed. One that can be reached across from a single side needs no walk behind it. [m]
    aisle : float or None
        Walking room around the bed; the site's where it is None. [m]

    Returns
    -------
    tuple of Limit
        The boundary first. Those that do not touch the property are left out.
    """
    beside = aisle_of(site.place) if aisle is None else aisle
    walk = beside
    if width is not None and width <= REACH and not site.place.accessible:
        walk = 0.0
    found = [_boundary(site, grid)]
    for name, reason, feature, ground, bare in (
        *_standing(site, walk),
        *_on_the_ground(site),
        *_growing(site, beside),
        *_kept_clear(site),
    ):
        if feature not in ignore and ground.intersects(site.boundary):
            found.append(Limit(name=name, reason=reason, feature=feature, ground=ground, bare=bare, grid=grid))
    if (steep := _steep(site, grid)) is not None:
        found.append(steep)
    return tuple(found)


def aisle_of(settings: PlaceSettings) -> float:
    """Return the walking room around a bed; at least a wheelchair's route where the way is to be accessible. [m]

    Examples
    --------
    >>> aisle_of(PlaceSettings()), aisle_of(PlaceSettings(accessible=True))
    (0.61, 0.9144)
    """
    return max(settings.aisle, ROUTE_WIDTH) if settings.accessible else settings.aisle


_Raw = tuple[str, str, str, BaseGeometry, BaseGeometry]


def _boundary(site: Site, grid: Grid) -> Limit:
    """Return the ground beyond the boundary and its setback."""
    setback = site.place.boundary_setback
    bounds = site.boundary.bounds
    around = box(bounds[0] - 100, bounds[1] - 100, bounds[2] + 100, bounds[3] + 100)
    near = f"be outside the boundary or within {length_text(setback, site.units)} of it"
    return Limit(
        name="boundary",
        reason=near if setback else "be outside the boundary",
        feature="",
        ground=around.difference(_inward(site.boundary, setback)),
        bare=around.difference(site.boundary),
        grid=grid,
    )


def _inward(shape: Polygon, distance: float) -> BaseGeometry:
    return shape.buffer(-distance) if distance else shape


def _standing(site: Site, walk: float) -> Iterator[_Raw]:
    """Yield what stands, with its setback or the room to walk around the bed, whichever is more."""
    distance = max(site.place.wall_setback, walk)
    why = "setback" if distance > walk else "room to walk around the bed"
    things: list[tuple[str, str, BaseGeometry]] = [
        ("building", one.id, one.outline) for one in site.buildings if one.base < HEADROOM
    ]
    things += [("fence", one.id, one.footprint) for one in site.fences if one.base < HEADROOM]
    things += [("hedge", one.id, one.outline) for one in site.hedges]
    for kind, name, bare in things:
        near = f" or within {length_text(distance, site.units)} of it ({why})" if distance else ""
        yield kind, f"stand on {kind} {name}{near}", name, _grown(bare, distance), bare


def _grown(shape: BaseGeometry, distance: float) -> BaseGeometry:
    return shape.buffer(distance) if distance > 0 else shape


def _on_the_ground(site: Site) -> Iterator[_Raw]:
    """Yield surfaces that stay, and keepouts with theirs."""
    for surface in site.surfaces:
        if surface.surface in STAYING:
            ground = _uncovered(surface, site.surfaces)
            yield "surface", f"lie on {surface.surface} ground ({surface.id})", surface.id, ground, ground
    for keepout in site.keepouts:
        reason = f"lie on {keepout.id} ({keepout.reason})"
        if keepout.setback:
            reason += f" or within {length_text(keepout.setback, site.units)} of it"
        yield "keepout", reason, keepout.id, _grown(keepout.outline, keepout.setback), keepout.outline


def _uncovered(surface: Surface, surfaces: Collection[Surface]) -> BaseGeometry:
    """Return the part of a surface on which no smaller one lies: where two overlap, the smaller counts."""
    ground: BaseGeometry = surface.outline
    for other in surfaces:
        smaller = other.outline.area < surface.outline.area
        if smaller and other.surface not in STAYING and other.outline.intersects(ground):
            ground = ground.difference(other.outline)
    return ground


def _growing(site: Site, aisle: float) -> Iterator[_Raw]:
    """Yield the roots of trees, and beds with their aisles."""
    for tree in site.trees:
        area = root_protection_area(tree)
        why = "under its crown" if tree.trunk_diameter is None else "12 stem diameters, at most 15 m"
        yield "roots", f"lie on the roots of {tree.id} ({why})", tree.id, area, area
    for bed in site.beds:
        reason = f"overlap bed {bed.id} or leave less than {length_text(aisle, site.units)} beside it"
        yield "bed", reason, bed.id, _grown(bed.outline, aisle), bed.outline


def _kept_clear(site: Site) -> Iterator[_Raw]:
    """Yield what people must get at: gates, doors, taps, piles."""
    room = site.place.barrow_aisle
    for gate in site.gates:
        yield "gate", f"block gate {gate.id}", gate.id, gate.line.buffer(max(room, gate.width / 2)), gate.line
    for door in site.doors:
        yield "door", f"block door {door.id}", door.id, door.place.buffer(room), door.place
    for tap in site.taps:
        yield "tap", f"block tap {tap.id}", tap.id, tap.place.buffer(TAP_ROOM), tap.place
    for pile in site.piles:
        yield "pile", f"lie on pile {pile.id} or in the way to it", pile.id, pile.shape.buffer(room), pile.shape


def _steep(site: Site, grid: Grid) -> Limit | None:
    """Return the cells whose ground falls more than levelling makes sensible; unknown ground is not held steep."""
    slope = ground_slope(site, grid)
    most = min(site.place.max_slope, ROUTE_SLOPE) if site.place.accessible else site.place.max_slope
    steep = np.nan_to_num(slope) > most
    if not steep.any():
        return None
    rows, columns = np.nonzero(steep)
    west, north = grid.west + columns * grid.cell, grid.north - rows * grid.cell
    ground = shapely.union_all(shapely.box(west, north - grid.cell, west + grid.cell, north))
    reason = f"lie on ground steeper than {most:.0%}"
    return Limit(name="slope", reason=reason, feature="", ground=ground, bare=MultiPolygon(), grid=grid)


def ground_slope(site: Site, grid: Grid) -> NDArray[np.float64]:
    """Return the ground's steepest slope at each cell, shape (rows, columns). [rise / run]

    References
    ----------
    Beyond 15 % a raised bed wants a designed terrace (common practice, no source).
    """
    east, north = ground_gradient(site, grid)
    return np.asarray(np.hypot(east, north))


def ground_gradient(site: Site, grid: Grid, *, over: float = 1.0) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how the ground rises eastward and northward at each cell, both (rows, columns). [rise / run]

    Without terrain the plane is level. NaN where the terrain is not known.
    """
    if site.terrain is None:
        return np.zeros(grid.shape), np.zeros(grid.shape)
    x, y = grid.centres().T
    half = over / 2
    height = site.terrain.height_at
    east = (height(x + half, y) - height(x - half, y)) / over
    north = (height(x, y + half) - height(x, y - half)) / over
    return east.reshape(grid.shape), north.reshape(grid.shape)


def fit_check(limited: tuple[Limit, ...], *, standing: Polygon | None = None) -> Callable[[Polygon], str | None]:
    """Return the exact test of an outline against limits: None where it fits, else why not.

    Parameters
    ----------
    limited : tuple of Limit
    standing : Polygon or None
        Where a bed stands already: a limit that it breaks there counts without its setback from then on.

    Examples
    --------
    >>> grid = Grid(0, 4, 1, 4, 4)
    >>> wall = Limit(name="building", reason="stand on building shed", feature="shed",
    ...     ground=box(0, 0, 1, 4), bare=box(0, 0, 1, 4), grid=grid)
    >>> fits = fit_check((wall,))
    >>> fits(box(1, 1, 2, 2)), fits(box(0.5, 1, 1.5, 2))
    (None, 'stand on building shed')
    """
    grounds = [limit.ground if standing is None else _still_barred(limit, standing) for limit in limited]
    tree = shapely.STRtree(grounds)

    def why_not(outline: Polygon) -> str | None:
        hits = tree.query(outline.buffer(-TOUCH), predicate="intersects")
        return limited[int(min(hits))].reason if len(hits) else None

    return why_not


def _still_barred(limit: Limit, standing: Polygon) -> BaseGeometry:
    """Return what stays barred to a bed that stands there already and is only turned or moved."""
    bed = standing.buffer(-TOUCH)
    if not bed.intersects(limit.ground):
        return limit.ground
    lasting = limit.name in {"boundary", "building", "fence", "hedge", "bed"}
    return limit.bare if lasting or not bed.intersects(limit.bare) else MultiPolygon()
