"""What cannot a barrow be pushed through, and which gates let it pass?

Whatever stands on the ground, each with the distance that the middle of the barrow keeps from it.
It leaves out the ground between: what that costs is asked in ground.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from shapely import LineString

from siteplan.haul.results import Barrier
from siteplan.land.cautions import Caution
from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.openings import open_ground, way_through
from siteplan.land.site import Barrow, Site
from siteplan.land.units import length_text

HEADROOM = 2.0  # m; what starts higher is passed under. Common practice, no source
LOW_CROWN = 0.6  # m; a crown that begins lower is a bush. Common practice, no source
TRUNK_UNKNOWN = 0.3  # m, diameter assumed where none is known. Common practice, no source


def barrow_reach(barrow: Barrow) -> float:
    """Return how far the middle of the barrow keeps from what stands: half its width and the clearance. [m]

    Examples
    --------
    >>> round(barrow_reach(Barrow(width=0.65, clearance=0.10)), 3)
    0.425
    """
    return barrow.width / 2 + barrow.clearance


def gate_passes(gate: Gate, barrow: Barrow) -> bool:
    """Return whether the barrow fits through, its clearance kept on both sides."""
    return gate.width >= 2 * barrow_reach(barrow) - 1e-9


def standing_barriers(site: Site, barrow: Barrow, *, without: Collection[str] = ()) -> tuple[Barrier, ...]:
    """Return everything that stands in the barrow's way, gates that it fits through taken out.

    Parameters
    ----------
    site : Site
    barrow : Barrow
    without : collection of str
        Ids of features that are thought away.

    Notes
    -----
    Keepouts and bushes are kept clear by half the width alone, since nothing hard stands at their edge.
    """
    half, full = barrow.width / 2, barrow_reach(barrow)
    gates = [gate for gate in site.gates if gate_passes(gate, barrow)]
    found = [
        *(Barrier("building", item.id, item.outline, full) for item in site.buildings if item.base < HEADROOM),
        *(Barrier("fence", item.id, open_ground(item, gates), full) for item in site.fences if item.base < HEADROOM),
        *(Barrier("hedge", item.id, open_ground(item, gates), full) for item in site.hedges),
        *_trees(site, full, half),
        *(Barrier("bed", item.id, item.outline, full) for item in site.beds),
        *(Barrier("keepout", item.id, item.outline, half) for item in site.keepouts),
    ]
    return tuple(item for item in found if item.id not in without and not item.shape.is_empty)


def _trees(site: Site, full: float, half: float) -> Iterator[Barrier]:
    for tree in site.trees:
        trunk = tree.trunk.buffer((tree.trunk_diameter or TRUNK_UNKNOWN) / 2)
        yield Barrier("tree", tree.id, trunk, full)
        if tree.crown_base < LOW_CROWN:
            yield Barrier("tree", tree.id, tree.outline, half)


def passage(site: Site, gate: Gate, barrow: Barrow, *, cell: float) -> tuple[LineString, float]:
    """Return the axis of a gate's passage and how far to its sides the middle of the barrow may stray. [m]

    At least one row of cells stays open: on cells that are coarser than the clearance, a gate that just fits may be
    passed with less of it.
    """
    barriers: list[Fence | Hedge] = [*site.fences, *site.hedges]
    axis = way_through(gate, barriers, beyond=barrow_reach(barrow) + 2 * cell)
    return axis, max(gate.width / 2 - barrow_reach(barrow), cell * math.sqrt(0.5))


def narrow_gates(site: Site, barrow: Barrow) -> tuple[Caution, ...]:
    """Return a caution for each gate that is too narrow for the barrow."""
    need = length_text(2 * barrow_reach(barrow), site.units)
    return tuple(
        Caution(
            "gate-too-narrow",
            gate.id,
            f"The gate is {length_text(gate.width, site.units)} wide and the barrow needs {need} with its clearance, "
            "so it is taken as shut. A narrower barrow, or less clearance, opens it.",
        )
        for gate in site.gates
        if not gate_passes(gate, barrow)
    )
