"""Which thing, taken out of the way, would open a way soonest?

A search that may break through barriers: through gates that are too narrow rather than through what stands fast.
It leaves out whether it can be taken away.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.haul.ground.barriers import Barrier, barrow_reach, missing_width
from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.routes.grid_moves import octile_moves
from siteplan.haul.routes.router import Router
from siteplan.land.document import Metres
from siteplan.land.features import Bed
from siteplan.land.grid import Grid
from siteplan.land.site import Site

# Times that a metre takes in a gate that is too narrow, in what stands fast and off the property, so that the search
# takes a wider gate before it takes a barrier, and a barrier before the neighbour's ground. [s]
_GATE, _BARRIER, _OUTSIDE = 1e2, 1e4, 1e6


@dataclass(frozen=True)
class Obstacle:
    """What stands in a barrow's way.

    Attributes
    ----------
    kind : str
        ``gate`` where a wider gate would open a way; a feature's kind, as ``fence``; a surface that no loaded barrow
        crosses, as ``steps``; ``edge`` of the property; ``slope``.
    id : str
        Of the feature; empty for the edge and for a slope.
    wider : float
        How much wider a gate would have to be. [m]
    """

    kind: str
    id: str = ""
    wider: Metres = 0.0


def nearest_obstacle(site: Site, ground: CostField, start: BaseGeometry, bed: Bed) -> Obstacle:
    """Return what bars the way to a bed: the first thing that the cheapest break-through meets.

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
    breaking = dataclasses.replace(ground, loaded=metre, rise_east=level, rise_north=level, room=None)
    router = Router(breaking, moves=octile_moves())
    times = router.least_times(np.array([_cell(grid, start)], dtype=np.int32), loaded=True)
    for row, column in router.steps(times, _cell(grid, bed.outline)):
        if not passable[row, column]:
            met = _met(site, ground, Point(grid.x[column], grid.y[row]))
            if met.id != bed.id:
                return met
    return Obstacle("slope")


def _cheapen_gates(site: Site, grid: Grid, metre: np.ndarray) -> None:
    """Write into `metre` what a gate that is too narrow takes, about as far as the barrow keeps from its fence."""
    for gate in site.gates:
        if missing_width(gate, site.barrow) > 0:
            room = barrow_reach(site.barrow) + grid.cell
            where, near = grid.part(gate.line.buffer(room, cap_style="flat"))
            metre[where][near] = np.minimum(metre[where][near], _GATE)


def _cell(grid: Grid, shape: BaseGeometry) -> tuple[int, int]:
    middle = shapely.point_on_surface(shape)
    row, column = grid.cell_of(middle.x, middle.y)
    return min(max(row, 0), grid.rows - 1), min(max(column, 0), grid.columns - 1)


def _met(site: Site, ground: CostField, at: Point) -> Obstacle:
    """Return what bars a cell."""
    near: Barrier | None = min(ground.barriers, key=lambda item: item.shape.distance(at) - item.reach, default=None)
    if near is not None and near.shape.distance(at) <= near.reach + ground.grid.cell:
        return _gate_in(site, near, at) or Obstacle(near.kind, near.id)
    for surface in sorted(site.surfaces, key=lambda item: item.outline.area):
        if surface.outline.covers(at):
            return Obstacle(surface.surface, surface.id)
    return Obstacle("edge")


def _gate_in(site: Site, barrier: Barrier, at: Point) -> Obstacle | None:
    """Return the gate that is too narrow where a barrier is broken through, None where there is none."""
    if barrier.kind not in ("fence", "hedge"):
        return None
    reach = barrow_reach(site.barrow)
    for gate in site.gates:
        short = missing_width(gate, site.barrow)
        if short > 0 and gate.line.buffer(2 * reach, cap_style="flat").covers(at):
            return Obstacle("gate", gate.id, short)
    return None
