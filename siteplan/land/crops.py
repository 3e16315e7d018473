"""What does a crop want of a bed?

A plain record; the figures and their sources stand in data/crops.csv.
It leaves out varieties, spacing and when to sow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from siteplan.land.check import number_within, one_of

CropSeason = Literal["cool", "warm", "perennial"]
SEASONS = ("cool", "warm", "perennial")


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
