"""Which obstacle would have to be removed to open a route to a bed?

A search that may cross barriers at a high cost: rather through a narrow gate than through any other barrier. Whether
the obstacle can be removed is for the gardener to judge.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.grid_moves import octile_moves
from siteplan.haul.routes.router import Router
from siteplan.land.barriers import Barrier, barrow_reach, missing_width
from siteplan.land.document import Metres
from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.land.site import Site

# Times of a metre in a narrow gate, in a barrier and off the property: so that the search prefers a narrow gate to a
# barrier, and a barrier to the neighbour's ground. [s]
_GATE, _BARRIER, _OUTSIDE = 1e2, 1e4, 1e6


@dataclass(frozen=True)
class Obstacle:
    """The obstacle that blocks the way to a bed.

    Attributes
    ----------
    kind : str
        ``gate`` if a wider gate would open a route; a feature's kind, such as ``fence``; a surface that no loaded
        barrow crosses, such as ``steps``; ``edge`` of the property; ``slope``.
    id : str
        Of the feature; empty for the edge and for a slope.
    wider : float
        By how much a gate is too narrow. [m]
    """

    kind: str
    id: str = ""
    wider: Metres = 0.0


def nearest_obstacle(site: Site, ground: CostField, start: BaseGeometry, bed: Bed) -> Obstacle:
    """Return the obstacle that blocks the way to a bed: the first on the cheapest path through obstacles.

    Parameters
    ----------
    site : Site
    ground : CostField
    start : shapely geometry
        Pile, or where a delivery is tipped.
    bed : Bed
    """
    grid = ground.grid
    inside = grid.inside(site.boundary)
    passable = np.isfinite(ground.loaded)
    metre = np.where(passable, 1.0, np.where(inside, _BARRIER, _OUTSIDE))
    _cheapen_gates(site, grid, metre)
    level = np.zeros(grid.shape)
    through_barriers = dataclasses.replace(ground, loaded=metre, rise_east=level, rise_north=level, room=None)
    router = Router(through_barriers, moves=octile_moves())
    times = router.least_times(np.array([_cell(grid, start)], dtype=np.int32), loaded=True)
    for row, column in router.steps(times, _cell(grid, bed.outline)):
        if not passable[row, column]:
            obstacle = _obstacle_at(site, ground, Point(grid.x[column], grid.y[row]))
            if obstacle.id != bed.id:
                return obstacle
    return Obstacle("slope")


def _cheapen_gates(site: Site, grid: Grid, metre: np.ndarray) -> None:
    """Write into `metre` the time in narrow gates, as wide as the strip that their fence blocks."""
    for gate in site.gates:
        if missing_width(gate, site.barrow) > 0:
            room = barrow_reach(site.barrow) + grid.cell
            window, near_cells = grid.part(gate.line.buffer(room, cap_style="flat"))
            metre[window][near_cells] = np.minimum(metre[window][near_cells], _GATE)


def _cell(grid: Grid, shape: BaseGeometry) -> tuple[int, int]:
    middle = shapely.point_on_surface(shape)
    row, column = grid.cell_of(middle.x, middle.y)
    return min(max(row, 0), grid.rows - 1), min(max(column, 0), grid.columns - 1)


def _obstacle_at(site: Site, ground: CostField, centre: Point) -> Obstacle:
    """Return the obstacle that blocks a cell, given its centre."""
    nearest: Barrier | None = min(
        ground.barriers, key=lambda barrier: barrier.shape.distance(centre) - barrier.reach, default=None
    )
    if nearest is not None and nearest.shape.distance(centre) <= nearest.reach + ground.grid.cell:
        return _gate_in(site, nearest, centre) or Obstacle(nearest.kind, nearest.id)
    for surface in sorted(site.surfaces, key=lambda surface: surface.outline.area):
        if surface.outline.covers(centre):
            return Obstacle(surface.surface, surface.id)
    return Obstacle("edge")


def _gate_in(site: Site, barrier: Barrier, centre: Point) -> Obstacle | None:
    """Return the narrow gate at the point where a barrier is crossed; None if there is none."""
    if barrier.kind not in ("fence", "hedge"):
        return None
    reach = barrow_reach(site.barrow)
    for gate in site.gates:
        missing = missing_width(gate, site.barrow)
        if missing > 0 and gate.line.buffer(2 * reach, cap_style="flat").covers(centre):
            return Obstacle("gate", gate.id, missing)
    return None
