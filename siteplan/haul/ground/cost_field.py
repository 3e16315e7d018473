"""How long does a metre of ground take with a barrow?

A cost field: time per metre in each cell, from its surface; with the slope and the steepest climb. It is infinite in
cells that are too near a barrier for the barrow's middle. Routes over it are computed in `routes.router`.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.land.barriers import Barrier, gate_passes, passage, standing_barriers
from siteplan.land.constants import RollingSurface
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.site import Barrow, Site

#: figures for ground without a surface, and for surfaces without figures of their own
GRASS = RollingSurface(
    surface="grass",
    rolling=0.07,
    rolling_wet=0.12,
    pace=1 / 1.1,
    loaded=True,
    source="rolling: between medium-hard soil 0.08 (Carvill, Mechanical Engineer's Data Handbook, seen second-hand) "
    "and firm ground; pace: the inverse of the terrain factor 1.1 for grass (Soule & Goldman 1972, seen second-hand)",
)

FINEST, COARSEST = 0.10, 0.25  # m; a cell is as large as the clearance, within these bounds
MOST_CELLS = 300_000  # on a larger property the cells grow
FAR = 5.0  # cells; room is computed up to this distance from barriers
SMALL = 2000  # cells around a barrier; for no more than these, room is computed without selecting the near ones
SLOPE_BASE = 0.5  # m to each side over which the slope of the terrain is measured
PIECE = 0.5  # m; longest piece of a line for which slope and surface are read


@dataclass(frozen=True, eq=False)
class CostField:
    """Time over each cell of ground, with its slope and rolling resistance.

    Attributes
    ----------
    grid : Grid
    loaded, empty : ndarray, shape (rows, columns)
        Time per metre on the level, with a loaded and with an empty barrow; infinite where there is no way. [s/m]
    rise_east, rise_north : ndarray, shape (rows, columns)
        Slope of the ground, positive where it rises eastward or northward. [rise/run]
    rolling : ndarray, shape (rows, columns)
        Rolling resistance as a share of the weight rolled. [0 to 1]
    max_grade : float, or ndarray of shape (rows, columns)
        Steepest climb with a loaded barrow. [rise/run]
    barriers : tuple of Barrier
        The barriers.
    room : ndarray, shape (rows, columns), optional
        Free distance at each cell's centre: to the nearest barrier less its reach, or to the property's edge less
        half the barrow. Negative where the barrow cannot be. Routes keep it at 0 or above; without it they only avoid
        the cells of infinite time. [m]
    """

    grid: Grid
    loaded: Floats
    empty: Floats
    rise_east: Floats
    rise_north: Floats
    rolling: Floats
    max_grade: Floats | float
    barriers: tuple[Barrier, ...] = ()
    room: Floats | None = None

    @property
    def free(self) -> NDArray[np.bool_]:
        """Cells in which an empty barrow can stand, shape (rows, columns)."""
        return np.isfinite(self.empty)

    def along(self, line: LineString) -> Pieces:
        """Return the ground along a line in short pieces, in the line's direction."""
        grid = self.grid
        corners = np.asarray(line.coords)
        spans = np.diff(corners, axis=0)
        lengths = np.hypot(spans[:, 0], spans[:, 1])
        count = np.maximum(1, np.ceil(lengths / min(PIECE, grid.cell))).astype(int)
        span = np.repeat(np.arange(len(count)), count)
        position = np.arange(len(span)) - np.repeat(np.cumsum(count) - count, count) + 0.5
        middles = corners[span] + spans[span] * (position / count[span])[:, None]
        columns = np.clip(((middles[:, 0] - grid.west) / grid.cell).astype(int), 0, grid.columns - 1)
        rows = np.clip(((grid.north - middles[:, 1]) / grid.cell).astype(int), 0, grid.rows - 1)
        east, north = (spans[span] / np.maximum(lengths[span], 1e-12)[:, None]).T
        to_east, to_north = self.rise_east[rows, columns], self.rise_north[rows, columns]
        return Pieces(
            length=(lengths / count)[span],
            rise=to_east * east + to_north * north,
            cross_fall=np.abs(to_north * east - to_east * north),
            rolling=self.rolling[rows, columns],
        )


@dataclass(frozen=True, eq=False)
class Pieces:
    """The ground along a line, piece by piece.

    Attributes
    ----------
    length : ndarray, shape (n,)
        [m]
    rise : ndarray, shape (n,)
        Slope in the line's direction, negative downhill. [rise/run]
    cross_fall : ndarray, shape (n,)
        Slope at right angles to it, not below 0. [rise/run]
    rolling : ndarray, shape (n,)
        Rolling resistance as a share of the weight rolled. [0 to 1]
    """

    length: Floats
    rise: Floats
    cross_fall: Floats
    rolling: Floats


def routing_grid(site: Site) -> Grid:
    """Return the grid for routes, over the whole property.

    Its cells are as large as the barrow's clearance, from 10 to 25 cm; larger on more than about two hectares.
    """
    west, south, east, north = site.boundary.bounds
    cell = min(max(site.barrow.clearance, FINEST), COARSEST)
    cell = max(cell, math.sqrt((east - west) * (north - south) / MOST_CELLS))
    return grid_over(site.boundary, cell)


def cost_field(
    site: Site, grid: Grid, *, barrow: Barrow | None = None, without: Collection[str] = (), wet: bool | None = None
) -> CostField:
    """Return the cost field of a site.

    Parameters
    ----------
    site : Site
        Surfaces that `site.rolling_surfaces` does not describe count as grass.
    grid : Grid
        Its cells are judged at their centres.
    barrow : Barrow, optional
        By default the site's.
    without : collection of str
        Ids of features to leave out, such as a bed that is to be moved.
    wet : bool, optional
        Whether the ground is wet; by default the site's setting.

    Notes
    -----
    A metre on the level takes 1 / (speed x pace of the surface). On wet ground the rolling resistance is higher. The
    loaded barrow is then slower, so that pushing takes the same power, and the steepest climb is reduced by the
    increase, so that the hardest push is the same as on dry ground (calculated). The time is infinite outside the
    boundary and within half the barrow's width of it; near a barrier; and, loaded, on steps and other surfaces that a
    loaded barrow cannot pass. Unknown terrain counts as level.
    """
    barrow = barrow or site.barrow
    barriers = standing_barriers(site, barrow, without=without)
    room = _room(site, grid, barriers, barrow)
    blocked = room < 0
    pace, rolling, carries = _surfaces(site, grid, wet=False)
    dry_rolling = rolling
    if site.haul.wet if wet is None else wet:
        rolling = _surfaces(site, grid, wet=True)[1]
    east, north = _rises(site, grid)
    return CostField(
        grid=grid,
        loaded=np.where(blocked | ~carries, np.inf, rolling / dry_rolling / (site.haul.loaded_speed * pace)),
        empty=np.where(blocked, np.inf, 1 / (site.haul.empty_speed * pace)),
        rise_east=east,
        rise_north=north,
        rolling=rolling,
        max_grade=np.maximum(barrow.max_grade - (rolling - dry_rolling), 0.0),
        barriers=barriers,
        room=room,
    )


def with_changed_gates(field: CostField, site: Site, changed_site: Site) -> CostField:
    """Return the cost field of a site with other gates; only the cells around those gates are computed.

    Parameters
    ----------
    field : CostField
        Of `site`, with its own barrow and without any feature left out.
    site, changed_site : Site
        The site, and the same site with a gate shut or widened.
    """
    barrow, grid = site.barrow, field.grid
    barriers = standing_barriers(changed_site, barrow)
    earlier_shapes = {(barrier.kind, barrier.id): barrier.shape for barrier in field.barriers}
    no_shape = shapely.Point()
    changed = [
        barrier.shape.symmetric_difference(earlier_shapes.pop((barrier.kind, barrier.id), no_shape))
        for barrier in barriers
    ]
    changed += list(earlier_shapes.values())
    for site_with, site_without in ((site, changed_site), (changed_site, site)):
        gates = [gate for gate in site_with.gates if gate not in site_without.gates and gate_passes(gate, barrow)]
        changed += [passage(site_with, gate, barrow, cell=grid.cell)[0].buffer(gate.width) for gate in gates]
    reach = max((barrier.reach for barrier in barriers), default=0.0) + (FAR + 1) * grid.cell
    window, _ = grid.part(shapely.box(*shapely.total_bounds(changed)).buffer(reach))
    rows, columns = window
    part = Grid(
        west=grid.west + columns.start * grid.cell, north=grid.north - rows.start * grid.cell, cell=grid.cell,
        rows=rows.stop - rows.start, columns=columns.stop - columns.start,
    )  # fmt: skip
    new_part = cost_field(changed_site, part)
    layers = {}
    for name in ("loaded", "empty", "room"):
        layers[name] = getattr(field, name).copy()
        layers[name][window] = getattr(new_part, name)
    return dataclasses.replace(field, barriers=barriers, **layers)


def walking_field(site: Site, grid: Grid, *, without: Collection[str] = ()) -> CostField:
    """Return the cost field of a person with two buckets: narrower than a barrow, able to climb steps, no slower."""
    walker = Barrow(width=0.5, clearance=0.05, max_grade=1.0)  # m; shoulders. Common practice, no source
    field = cost_field(site, grid, barrow=walker, without=without, wet=False)
    return dataclasses.replace(field, loaded=field.empty)


def wet_field(field: CostField, site: Site) -> CostField:
    """Return a cost field with the rolling resistance of wet ground."""
    return dataclasses.replace(field, rolling=_surfaces(site, field.grid, wet=True)[1])


def _room(site: Site, grid: Grid, barriers: tuple[Barrier, ...], barrow: Barrow) -> Floats:
    """Return `CostField.room`, at most `FAR` cells, shape (rows, columns). [m]

    Through a gate at least one row of cells stays open.
    """
    far = FAR * grid.cell
    wall_room, other_room = np.full(grid.shape, far), _edge_room(site, grid, barrow)
    for barrier in _near_grid(grid, barriers, far):
        window, near_cells = _window_around(grid, barrier.shape, barrier.reach + far)
        x, y = np.meshgrid(grid.x[window[1]], grid.y[window[0]])
        room = shapely.distance(shapely.points(x[near_cells], y[near_cells]), barrier.shape) - barrier.reach
        target = (wall_room if barrier.kind in ("fence", "hedge") else other_room)[window]
        target[near_cells] = np.minimum(target[near_cells], room)
    for gate in site.gates:
        if gate_passes(gate, barrow):
            axis, stray = passage(site, gate, barrow, cell=grid.cell)
            window, near_cells = grid.part(axis.buffer(stray + grid.cell, cap_style="flat"))
            x, y = np.meshgrid(grid.x[window[1]], grid.y[window[0]])
            gap = stray - shapely.distance(shapely.points(x[near_cells], y[near_cells]), axis)
            wall_room[window][near_cells] = np.maximum(wall_room[window][near_cells], gap)
    return np.asarray(np.minimum(wall_room, other_room))


def _near_grid(grid: Grid, barriers: tuple[Barrier, ...], far: float) -> Iterator[Barrier]:
    """Yield the barriers that may be near a cell of the grid; in a town thousands of others are not."""
    west, south, east, north = shapely.bounds([barrier.shape for barrier in barriers]).reshape(-1, 4).T
    margin = np.array([barrier.reach for barrier in barriers]) + far + grid.cell
    is_near = (west - margin < grid.east) & (east + margin > grid.west)
    is_near &= (south - margin < grid.north) & (north + margin > grid.south)
    yield from (barriers[number] for number in np.flatnonzero(is_near))


def _window_around(grid: Grid, shape: BaseGeometry, far: float) -> tuple[tuple[slice, slice], NDArray[np.bool_]]:
    """Return slices of the grid around a shape, and which of their cells are near it (all, if they are few)."""
    west, south, east, north = shape.bounds
    if (east - west + 2 * far) * (north - south + 2 * far) > SMALL * grid.cell**2:
        return grid.part(shape.buffer(far))
    window, _ = grid.part(shapely.box(west - far, south - far, east + far, north + far))
    rows, columns = (extent.stop - extent.start for extent in window)
    return window, np.ones((rows, columns), dtype=np.bool_)


def _edge_room(site: Site, grid: Grid, barrow: Barrow) -> Floats:
    """Return the distance of each centre inside the property's edge, less half the barrow; negative outside. [m]"""
    far = FAR * grid.cell
    inside = grid.inside(site.boundary)
    room = np.where(inside, far, -far)
    edge = site.boundary.boundary
    window, near_cells = grid.part(edge.buffer(barrow.width / 2 + far))
    x, y = np.meshgrid(grid.x[window[1]], grid.y[window[0]])
    distance = shapely.distance(shapely.points(x[near_cells], y[near_cells]), edge)
    room[window][near_cells] = np.where(inside[window][near_cells], distance, -distance) - barrow.width / 2
    return room


def _surfaces(site: Site, grid: Grid, *, wet: bool) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return pace, rolling resistance and whether a loaded barrow passes; of two surfaces the smaller counts."""
    grass = site.rolling_surfaces.get("grass", GRASS)
    pace = np.full(grid.shape, grass.pace)
    rolling = np.full(grid.shape, grass.rolling_wet if wet else grass.rolling)
    carries = np.full(grid.shape, grass.loaded)
    for surface in sorted(site.surfaces, key=lambda surface: (-surface.outline.area, surface.id)):
        figures = site.rolling_surfaces.get(surface.surface, grass)
        window, covered = grid.part(surface.outline)
        pace[window][covered] = figures.pace
        rolling[window][covered] = figures.rolling_wet if wet else figures.rolling
        carries[window][covered] = figures.loaded and (surface.surface != "steps")
    return pace, rolling, carries


def _rises(site: Site, grid: Grid) -> tuple[Floats, Floats]:
    """Return the slope eastward and northward at each cell's centre, each of shape (rows, columns). [rise/run]"""
    if site.terrain is None:
        return np.zeros(grid.shape), np.zeros(grid.shape)
    x, y = grid.centres().T
    base = max(SLOPE_BASE, grid.cell)
    height = site.terrain.height_at
    east = (height(x + base, y) - height(x - base, y)) / (2 * base)
    north = (height(x, y + base) - height(x, y - base)) / (2 * base)
    return np.nan_to_num(east).reshape(grid.shape), np.nan_to_num(north).reshape(grid.shape)
