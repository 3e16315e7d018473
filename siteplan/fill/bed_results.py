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
        Of its frame's walls alone, and of their top above the floor. [m]
    area : float
        Of the soil that lies open at its top. [m2]
    soil_depth, settled_depth : float
        Under its ledge: what roots live in, as filled to the brim; and all of it after the first year. [m]
    volume, mass_wet : float
        Within the walls of its frame, whatever ledge lies above. [m3, kg]
    wall_height : float
        Of the fill that its walls feel: their own, and of the frames that stand near behind them. [m]
    wall_pressure, wall_thrust : float
        At the foot of its walls, and in all, for wet and drained fill. [Pa, N per m of wall]
    brace_spacing : float
        Common practice for boards; a builder's to confirm. [m]
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
        Of the floor within the walls, and up to the highest brim. [m2, m]
    volume, mass, mass_wet : float
        Filled to the brim, loose: moist as delivered, and on a wet day. [m3, kg]
    settled_depth : float
        Where it is deepest, after the first year, without a top-up. [m]
    ground_pressure : float
        On a wet day, over the whole floor. [Pa]
    wall_pressure, wall_thrust : float
        At the foot of the lowest wall, and in all, for wet and drained fill. [Pa, N per m of wall]
    brace_spacing : float
        Common practice for boards; a builder's to confirm. [m]
    moistening_water, weekly_water : float
        To make fresh fill as moist as a wrung-out sponge; an inch over the area. [m3]
    volume_over_ground : float
        What it would hold with a level top over the ground as it lies; `volume` where that is not known. [m3]
    lining_area : float
        Of the floor, to be covered by the recipe's lining; 0 where there is none, or paving below. [m2]
    volume_full_after_a_year : float
        Loose, to stand at the brim when the first year's settling is over: each layer's volume divided by what
        remains of it. [m3]
    on : str
        What it stands on: ``paving``, ``lawn``, ``soil`` or ``unknown``.
    barrier : bool
        Whether the soil below must be kept from the roots, for the lead in it.
    layer_water : tuple of float
        Share of each layer, from the bottom, in `moistening_water`. [m3]
    moistening_hose, weekly_hose : float or None
        How long the hose runs for either; None where its flow is not known. [hours]
    tiers : tuple of TierFill
        From the lowest; one where the bed is one frame.
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
        """Of the soil that lies open, on all its tiers. [m2]"""
        return sum(tier.area for tier in self.tiers) or self.area
