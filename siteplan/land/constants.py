"""What do the tables of constants say: of materials, of what a barrow rolls on, of crops?

Plain records; the figures and their sources stand in data/materials.csv, data/surfaces.csv and data/crops.csv.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.land.values import number_within, one_of

#: what a material may lie against: roots; only what is below them, or on top as a mulch; the ground; nothing eaten
TOUCHES = ("roots", "below", "ground", "nothing")
CropSeason = Literal["cool", "warm", "perennial"]
SEASONS = ("cool", "warm", "perennial")


@dataclass(frozen=True, kw_only=True)
class Material:
    """A material that fills a bed.

    Attributes
    ----------
    name : str
    kind : str
        ``coarse``, ``mineral``, ``organic``, ``amendment`` or ``sheet``.
    density, density_wet : float
        Bulk density as delivered, loose and moist; and on a wet day. [kg/m3]
    settling_first, settling_later : float
        Share of its depth lost in the first year, and in each later one. [0 to 1]
    shovel_rate : float
        Loose volume that one person loads by hand. [m3/h]
    caution : str
        What to know before handling it; may be empty.
    source : str
        Where the figures come from, with their flag.
    carbon_nitrogen : float or None
        Parts of carbon to one of nitrogen, by mass; None where no source gives it.
    touches : str
        What it may lie against: ``roots``; only what is ``below`` them, or on top as a mulch; the ``ground`` under
        the bed, as a lining; ``nothing`` that is soon to be eaten.
    """

    name: str
    kind: str
    density: float
    density_wet: float
    settling_first: float
    settling_later: float
    shovel_rate: float
    caution: str = ""
    source: str = ""
    carbon_nitrogen: float | None = None
    touches: str = "roots"

    def __post_init__(self) -> None:
        one_of(self.touches, TOUCHES, what="touches")
        if self.carbon_nitrogen is not None:
            number_within(self.carbon_nitrogen, 1, 2000, what="carbon_nitrogen")
        number_within(self.density, 0, 3000, above=True, what="density", unit="kg/m3")
        number_within(self.density_wet, self.density, 3000, what="density_wet", unit="kg/m3")
        number_within(self.settling_first, 0, 0.99, what="settling_first")
        number_within(self.settling_later, 0, 0.99, what="settling_later")
        number_within(self.shovel_rate, 0, 20, above=True, what="shovel_rate", unit="m3/h")


@dataclass(frozen=True, kw_only=True)
class RollingSurface:
    """What a surface asks of whoever pushes a barrow over it.

    Attributes
    ----------
    surface : str
    rolling, rolling_wet : float
        Rolling resistance as a share of the weight rolled, dry and wet. [0 to 1]
    pace : float
        Walking speed on it, as a share of that on pavement. [0 to 1]
    loaded : bool
        Whether a loaded barrow can pass at all.
    source : str
    """

    surface: str
    rolling: float
    rolling_wet: float
    pace: float
    loaded: bool
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Crop:
    """A crop.

    Attributes
    ----------
    name : str
    light_least, light_good : float
        Direct sun below which it is not worth growing, and beyond which it wants no more. [h a day]
    bed_depth : float
        Of soil in a bed that stands on usable ground. [m]
    root_depth_low, root_depth_high : float
        How deep it roots where nothing stops it. [m]
    season : str
        ``cool`` (bears frost, bolts in heat), ``warm`` (between the frosts) or ``perennial``.
    source : str
        Where the figures come from, with their flag.
    """

    name: str
    light_least: float
    light_good: float
    bed_depth: float
    root_depth_low: float
    root_depth_high: float
    season: CropSeason
    source: str = ""

    def __post_init__(self) -> None:
        number_within(self.light_least, 0, 16, what="light_least", unit="h")
        number_within(self.light_good, self.light_least, 16, what="light_good", unit="h")
        number_within(self.bed_depth, 0, 2, above=True, what="bed_depth", unit="m")
        number_within(self.root_depth_low, 0, 5, above=True, what="root_depth_low", unit="m")
        number_within(self.root_depth_high, self.root_depth_low, 5, what="root_depth_high", unit="m")
        one_of(self.season, SEASONS, what="season")
