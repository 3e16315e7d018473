"""What does a bed stand on, and what follows for its fill?

The surface under its middle: paving, lawn, bare soil; how far the ground falls; and the lead that a soil test found.
It leaves out whether a slab, a deck or a wall bears it: that is a builder's judgement and the local code's.

References
----------
Cardboard over turf, which dies in six to eight weeks: University of Maryland Extension, seen; a lap of 15 cm: common
practice, no source. Depth over paving: common practice, no source. Wet mix of 1600 kg/m3: calculated.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely

from siteplan.fill.dangers import Found
from siteplan.fill.hygiene import lead_class
from siteplan.fill.recipe import inside
from siteplan.fill.slope import volume_over_ground
from siteplan.land.features import Bed
from siteplan.land.site import Site
from siteplan.land.units import System, length_text

Base = Literal["paving", "lawn", "soil", "unknown"]

PAVED_DEPTH = 18 * 0.0254  # m
LEVEL_WITHIN = 4 * 0.0254  # m
UNEVEN_BY = 0.02  # of the volume
LAP = 0.15  # m, of the sheets of a lining
_EDGE_STEP = 0.25  # m

_BASES: dict[str, Base] = {
    "paved": "paving", "steps": "paving", "grass": "lawn", "soil": "soil", "mulch": "soil", "mud": "soil",
    "gravel": "soil",
}  # fmt: skip


def bed_base(site: Site, bed: Bed) -> Base:
    """Return what a bed stands on, by the surface under its middle; the smallest of those that lie there.

    Returns
    -------
    str
        ``paving``, ``lawn``, ``soil`` (mulch, mud and gravel too: roots pass), or ``unknown`` where none is drawn.
    """
    middle = bed.outline.representative_point()
    under = [surface for surface in site.surfaces if surface.outline.covers(middle)]
    if not under:
        return "unknown"
    return _BASES[min(under, key=lambda surface: surface.outline.area).surface]


def over_lead(site: Site, bed: Bed) -> bool:
    """Return whether roots would pass from a bed into soil with more lead than the screening level."""
    if site.soil.lead is None or bed_base(site, bed) == "paving":
        return False
    return lead_class(site.soil.lead) in ("above screening", "no food")


def preparation(base: Base, *, lining: str, barrier: bool, units: System) -> tuple[str, ...]:
    """Return what is done to the ground before anything is filled in.

    Parameters
    ----------
    base : str
        From `bed_base`.
    lining : str
        The recipe's; ``none`` where there is none.
    barrier : bool
        Whether the soil below must be kept from the roots; see `over_lead`.
    units : str

    Examples
    --------
    >>> preparation("paving", lining="none", barrier=False, units="metric")
    ('Leave gaps at the foot of the walls for the water to run off.',)
    >>> len(preparation("lawn", lining="cardboard", barrier=False, units="metric"))
    2
    """
    said = {
        "paving": ["Leave gaps at the foot of the walls for the water to run off."],
        "lawn": ["Mow the grass as short as you can; there is no need to lift the turf."],
        "soil": ["Pull the weeds and loosen the ground with a fork, if no service lies there."],
        "unknown": ["Mow or weed the ground."],
    }[base]
    if barrier:
        said.append("Lay a barrier that lets water through and no roots over the whole floor, up the walls too.")
    if lining not in ("none", "") and base != "paving":
        lap = length_text(LAP, units)
        said.append(f"Lay {lining} over the whole floor, lapped by {lap}, tape and staples off, and soak it.")
    return tuple(said)


def ground_findings(site: Site, bed: Bed) -> Found:
    """Yield code and text of what the ground under one bed asks for."""
    if bed_base(site, bed) == "paving":
        yield from _paving_findings(bed, site.units)
    elif over_lead(site, bed):
        yield (
            "lead-barrier",
            (
                "The soil below holds lead above the screening level: lay a barrier over the floor and fill with "
                "clean soil from elsewhere, deep enough for the roots of the crop."
            ),
        )
    fall = ground_fall(site, bed)
    if fall > LEVEL_WITHIN:
        level = float(inside(bed).area) * bed.height
        more = volume_over_ground(bed, site.terrain) / level - 1 if level else 0.0
        off = f" As the ground lies it would hold {abs(more):.0%} {'more' if more > 0 else 'less'}."
        yield (
            "uneven-ground",
            (
                f"The ground falls by {length_text(fall, site.units)} across the bed: cut it in, or step its walls, "
                "which stand higher by half the fall on the low side. The volume is reckoned as of a level bed with "
                f"the height at its middle.{off if abs(more) > UNEVEN_BY else ''}"
            ),
        )


def _paving_findings(bed: Bed, units: System) -> Found:
    if bed.height < PAVED_DEPTH - 1e-6:
        yield (
            "on-paving",
            (
                f"It stands on paving, where roots cannot go deeper: make it {length_text(PAVED_DEPTH, units)} deep "
                "or more, and let the water out at the foot of the walls."
            ),
        )
    weight = "500 kg on each square metre for each 30 cm of depth"
    if units == "imperial":
        weight = "100 lb on each square foot for each foot of depth"
    yield (
        "ground-load",
        (
            f"It stands on paving. Wet fill weighs about {weight}: never on a deck, a roof or a weak slab before a "
            "builder has looked at it."
        ),
    )


def ground_fall(site: Site, bed: Bed) -> float:
    """Return how much the ground falls between the edges and the middle of a bed; 0 where it is not known. [m]"""
    if site.terrain is None:
        return 0.0
    edges = shapely.get_coordinates(shapely.segmentize(bed.outline, _EDGE_STEP))
    points = np.vstack([edges, shapely.get_coordinates(shapely.centroid(bed.outline))])
    heights = site.terrain.height_at(points[:, 0], points[:, 1])
    heights = heights[np.isfinite(heights)]
    return float(np.ptp(heights)) if len(heights) else 0.0


def beds_to_fill(beds: Sequence[Bed]) -> tuple[Bed, ...]:
    """Return the beds that are not full already."""
    return tuple(bed for bed in beds if not bed.filled)
