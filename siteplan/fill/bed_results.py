"""What are the results for the fill of one bed, and of each of its tiers?

Records of plain figures in SI units. The other modules of this folder compute them; texts are in `siteplan.say`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from siteplan.land.document import CubicMetres, Hidden, Hours, Kilograms, Metres, Named, Pascals, SquareMetres, Unit


@dataclass(frozen=True, kw_only=True)
class TierFill:
    """The fill of one tier of a bed; a bed of one frame is one tier.

    Attributes
    ----------
    tier : int
        1 for the lowest.
    height, top : float
        Height of its frame's walls, and height of their top above the floor. [m]
    area : float
        Area of the open soil at its top. [m2]
    soil_depth, settled_depth : float
        Under its ledge: depth of the root zone when filled, and depth of all layers after the first year. [m]
    volume, mass_wet : float
        Fill within the walls of its frame, also that under the ledges of higher tiers. [m3, kg]
    wall_height : float
        Height of the fill that presses on its walls: in its own frame and in the frames close behind. [m]
    wall_pressure, wall_thrust : float
        Pressure of wet, drained fill at the foot of its walls, and total force. [Pa, N per m of wall]
    brace_spacing : float
        Common practice for boards, for a builder to confirm. [m]
    """

    tier: int
    height: Metres
    top: Metres
    area: Annotated[SquareMetres, Named("planting_area")]
    soil_depth: Metres
    settled_depth: Metres
    volume: CubicMetres
    mass_wet: Kilograms
    wall_height: Metres
    wall_pressure: Pascals
    wall_thrust: Annotated[float, Unit("n_per_m")]
    brace_spacing: Metres


@dataclass(frozen=True, kw_only=True)
class BedFill:
    """The fill of one bed.

    Attributes
    ----------
    bed : str
    area, depth : float
        Area of the floor within the walls, and height of the highest brim above it. [m2, m]
    volume, mass, mass_wet : float
        Loose fill up to the brim: volume, mass moist as delivered, and mass on a wet day. [m3, kg]
    settled_depth : float
        Depth at the deepest part after the first year, without a top-up. [m]
    ground_pressure : float
        Mean pressure on the floor on a wet day. [Pa]
    wall_pressure, wall_thrust : float
        Pressure of wet, drained fill at the foot of the lowest wall, and total force. [Pa, N per m of wall]
    brace_spacing : float
        Common practice for boards, for a builder to confirm. [m]
    moistening_water, weekly_water : float
        Water to make fresh fill as moist as a wrung-out sponge, and for a week's watering. [m3]
    volume_over_ground : float
        Volume under a level top over the ground as it lies; `volume` if the ground is not known. [m3]
    lining_area : float
        Area of the floor that is lined; 0 without a lining, or on paving. [m2]
    volume_full_after_a_year : float
        Loose volume that would still reach the brim after the first year's settling. [m3]
    on : str
        What it stands on: ``paving``, ``lawn``, ``soil`` or ``unknown``.
    barrier : bool
        Whether roots must be kept out of the soil below, because of its lead.
    layer_water : tuple of float
        Part of `moistening_water` for each layer, from the bottom. [m3]
    moistening_hose, weekly_hose : float or None
        How long the hose runs for each; None if its flow is not known. [hours]
    tiers : tuple of TierFill
        From the lowest; a bed of one frame has one.
    """

    bed: Hidden[str]
    area: Annotated[SquareMetres, Named("inside_area")]
    depth: Hidden[float]
    volume: Hidden[float]
    mass: Hidden[float]
    mass_wet: Kilograms
    settled_depth: Hidden[float]
    ground_pressure: Pascals
    wall_pressure: Pascals
    wall_thrust: Annotated[float, Unit("n_per_m")]
    brace_spacing: Metres
    moistening_water: CubicMetres
    weekly_water: CubicMetres
    volume_over_ground: CubicMetres
    lining_area: SquareMetres
    volume_full_after_a_year: CubicMetres = 0.0
    on: str = "unknown"
    barrier: Hidden[bool] = False
    layer_water: tuple[CubicMetres, ...] = ()
    moistening_hose: Hours | None = None
    weekly_hose: Hours | None = None
    tiers: Hidden[tuple[TierFill, ...]] = ()

    @property
    def planting_area(self) -> float:
        """Area of the open soil on all its tiers. [m2]"""
        return sum(tier.area for tier in self.tiers) or self.area
