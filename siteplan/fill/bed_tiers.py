"""How much soil has each tier of a bed, and how hard does it push on the walls of its frame?

The walls of a frame hold the fill within them, and carry the load of the frames above that are near enough. Whether
boards and posts are strong enough is for a builder and the local code to judge.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely

from siteplan.fill.bed_results import TierFill
from siteplan.fill.earth_pressure import Surcharge, brace_spacing, wall_load
from siteplan.fill.fill_results import Layer
from siteplan.fill.recipe import soil_depth
from siteplan.fill.tier_layers import by_tier
from siteplan.land.constants import Material
from siteplan.land.features import Bed
from siteplan.land.tiers import Frame
from siteplan.land.unit_sizes import GRAVITY


def tier_fills(bed: Bed, layers: Sequence[Layer], materials: Mapping[str, Material]) -> tuple[TierFill, ...]:
    """Return the figures of each tier of one bed, from the lowest; a bed of one frame has one tier.

    Parameters
    ----------
    bed : Bed
    layers : sequence of Layer
        Of that bed.
    materials : mapping of str to Material
    """
    columns = by_tier(layers)
    return tuple(_tier_fill(bed, frame, layers, columns.get(frame.number, []), materials) for frame in bed.frames)


def _tier_fill(
    bed: Bed,
    frame: Frame,
    layers: Sequence[Layer],
    column: Sequence[Layer],
    materials: Mapping[str, Material],
) -> TierFill:
    in_frame = [layer for layer in layers if layer.frame == frame.number]
    above = _surcharges(bed, frame, layers)
    load = wall_load(frame.height, _density(in_frame), above=above)
    loaded_height = wall_height(bed, frame)
    return TierFill(
        tier=frame.number,
        height=frame.height,
        top=frame.top,
        area=float(frame.ledge.area),
        soil_depth=soil_depth(column, materials),
        settled_depth=sum(layer.settled for layer in column),
        volume=sum(layer.volume for layer in in_frame),
        mass_wet=sum(layer.mass_wet for layer in in_frame),
        wall_height=loaded_height,
        wall_pressure=load.base_pressure,
        wall_thrust=load.thrust,
        brace_spacing=brace_spacing(loaded_height),
    )


def wall_height(bed: Bed, frame: Frame) -> float:
    """Return the height of fill that loads the walls of a frame: its own, and that of the frames near behind. [m]"""
    heights_behind = [
        above.height for above in bed.frames[frame.number :] if _behind(frame, above).reaches(frame.height)
    ]
    return frame.height + sum(heights_behind)


def _surcharges(bed: Bed, frame: Frame, layers: Sequence[Layer]) -> list[Surcharge]:
    """Return the loads of the frames above on the fill of a frame."""
    loads = []
    for above in bed.frames[frame.number :]:
        density = _density([layer for layer in layers if layer.frame == above.number])
        loads.append(_behind(frame, above, pressure=density * GRAVITY * above.height))
    return loads


def _behind(frame: Frame, above: Frame, *, pressure: float = 0.0) -> Surcharge:
    """Return the load of a frame above, from where it stands nearest to the inside of a frame's walls."""
    room = shapely.difference(above.outline, frame.inside).area < 1e-6  # m2; else it stands on the walls themselves
    distance = float(shapely.distance(shapely.boundary(frame.inside), above.outline)) if room else 0.0
    return Surcharge(pressure=pressure, distance=distance)


def _density(layers: Sequence[Layer]) -> float:
    """Return the density of some layers on a wet day. [kg/m3]"""
    volume = sum(layer.volume for layer in layers)
    return sum(layer.mass_wet for layer in layers) / volume if volume else 0.0
