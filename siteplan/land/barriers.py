"""Which features block a barrow, and which gates let it pass?

Each barrier has the distance that the middle of the barrow keeps from it. The time over the ground between barriers
is in `cost_field`.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.findings import Finding, finding
from siteplan.land.openings import open_ground, way_through
from siteplan.land.site import Barrow, Site

HEADROOM = 2.0  # m; under a roof or fence that starts higher one stands and wheels. Common practice, no source
LOW_CROWN = 0.6  # m; a tree whose crown begins lower is a bush. Common practice, no source
TRUNK_UNKNOWN = 0.3  # m; trunk diameter if none is given. Common practice, no source


@dataclass(frozen=True)
class Barrier:
    """A feature that blocks a barrow.

    Attributes
    ----------
    kind, id : str
        Such as ``fence`` and ``back-fence``.
    shape : shapely geometry
        The feature itself. [m]
    reach : float
        Least distance of the barrow's middle from it. [m]
    """

    kind: str
    id: str
    shape: BaseGeometry
    reach: float


def barrow_reach(barrow: Barrow) -> float:
    """Return the least distance of the barrow's middle from a barrier: half its width plus the clearance. [m]

    Examples
    --------
    >>> round(barrow_reach(Barrow(width=0.65, clearance=0.10)), 3)
    0.425
    """
    return barrow.width / 2 + barrow.clearance


def gate_passes(gate: Gate, barrow: Barrow) -> bool:
    """Return whether the barrow fits through a gate with its clearance on both sides."""
    return gate.width >= 2 * barrow_reach(barrow) - 1e-9


def standing_barriers(site: Site, barrow: Barrow, *, without: Collection[str] = ()) -> tuple[Barrier, ...]:
    """Return all barriers of a site, with gaps at the gates that the barrow fits through.

    Parameters
    ----------
    site : Site
    barrow : Barrow
    without : collection of str
        Ids of features to leave out.

    Notes
    -----
    The distance from keepouts and bushes is half the barrow's width, without clearance: their edges are not hard.
    """
    half_width, reach = barrow.width / 2, barrow_reach(barrow)
    gates = [gate for gate in site.gates if gate_passes(gate, barrow)]
    barriers = [
        *(
            Barrier("building", building.id, building.outline, reach)
            for building in site.buildings
            if building.base < HEADROOM
        ),
        *(
            Barrier("fence", fence.id, open_ground(fence, gates), reach)
            for fence in site.fences
            if fence.base < HEADROOM
        ),
        *(Barrier("hedge", hedge.id, open_ground(hedge, gates), reach) for hedge in site.hedges),
        *_trees(site, reach, half_width),
        *(Barrier("bed", bed.id, bed.outline, reach) for bed in site.beds),
        *(Barrier("keepout", keepout.id, keepout.outline, half_width) for keepout in site.keepouts),
    ]
    return tuple(barrier for barrier in barriers if barrier.id not in without and not barrier.shape.is_empty)


def _trees(site: Site, reach: float, half_width: float) -> Iterator[Barrier]:
    for tree in site.trees:
        trunk = tree.trunk.buffer((tree.trunk_diameter or TRUNK_UNKNOWN) / 2)
        yield Barrier("tree", tree.id, trunk, reach)
        if tree.crown_base < LOW_CROWN:
            yield Barrier("tree", tree.id, tree.outline, half_width)


def passage(site: Site, gate: Gate, barrow: Barrow, *, cell: float) -> tuple[LineString, float]:
    """Return the axis of a gate's passage, and how far from it the middle of the barrow may be. [m]

    At least one row of cells stays open. On cells coarser than the clearance, the barrow may therefore pass a gate
    that just fits with less clearance.
    """
    barriers: list[Fence | Hedge] = [*site.fences, *site.hedges]
    axis = way_through(gate, barriers, beyond=barrow_reach(barrow) + 2 * cell)
    return axis, max(gate.width / 2 - barrow_reach(barrow), cell * math.sqrt(0.5))


def missing_width(gate: Gate, barrow: Barrow) -> float:
    """Return by how much a gate is too narrow for the barrow and its clearance, 0 if it fits. [m]"""
    return 0.0 if gate_passes(gate, barrow) else 2 * barrow_reach(barrow) - gate.width


def narrow_gates(site: Site) -> list[Finding]:
    """Return a finding for each gate that is too narrow for the barrow."""
    need = 2 * barrow_reach(site.barrow)
    return [
        finding("gate-too-narrow", gate.id, width=gate.width, need=need)
        for gate in site.gates
        if not gate_passes(gate, site.barrow)
    ]


def gates_crossed(site: Site, lines: tuple[LineString, ...]) -> tuple[str, ...]:
    """Return the ids of the gates that lines go through, in the order of the lines, each once."""
    crossed: list[str] = []
    for line in lines:
        crossings = [
            (line.project(line.intersection(gate.line).centroid), gate.id)
            for gate in site.gates
            if line.intersects(gate.line)
        ]
        crossed += [name for _, name in sorted(crossings)]
    return tuple(dict.fromkeys(crossed))
