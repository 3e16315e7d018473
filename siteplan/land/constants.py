"""What is in a row of the tables of constants: materials, ground surfaces, crops, tree crowns, albedos, spreads?

Plain records; the figures and their sources are in data/materials.csv, data/surfaces.csv,
data/crops.csv, data/crowns.csv, data/albedo.csv and data/spreads.csv.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from siteplan.land.record import Record
from siteplan.land.values import Quantity, Text

DENSITY = Quantity("density", above=0, most=3000)
SETTLING = Quantity("fraction", least=0, most=0.99)
SHARE = Quantity("fraction", above=0, most=1)
ROOT_DEPTH = Quantity("length", above=0, most=5)
LIGHT = Quantity("time", least=0, most=16)


def _falls_short(record: object, low: str, high: str, unit: str) -> Iterator[str]:
    """Yield a fault if the field `high` is less than the field `low`."""
    low_value, high_value = getattr(record, low), getattr(record, high)
    if high_value < low_value:
        yield f"{high} is {high_value:g} {unit}, must be at least {low_value:g} {unit}, which is {low}"


@dataclass(frozen=True, kw_only=True)
class Material(Record):
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
    coarse_organic : bool
        Whether what is on hand of it goes into a coarse organic base.
    """

    name: Annotated[
        str,
        Text(),
        "one of data/materials.csv, to change its figures; or a new one, which needs all keys up to shovel_rate",
    ]
    kind: Annotated[Literal["coarse", "mineral", "organic", "amendment", "sheet"], "what it is made of"]
    density: Annotated[float, DENSITY, "as delivered, loose and moist"]
    density_wet: Annotated[float, DENSITY, "on a wet day"]
    settling_first: Annotated[float, SETTLING, "share of its depth lost in the first year"]
    settling_later: Annotated[float, SETTLING, "share of its depth lost in each later year"]
    shovel_rate: Annotated[float, Quantity("rate", above=0, most=20), "loose volume that one person loads by hand"]
    caution: Annotated[str, Text(longest=2000), "what to know before handling it"] = ""
    source: Annotated[str, Text(longest=2000), "where the figures come from"] = ""
    carbon_nitrogen: Annotated[
        float | None, Quantity("fraction", least=1, most=2000), "parts of carbon to one of nitrogen, by mass"
    ] = None
    touches: Annotated[
        Literal["roots", "below", "ground", "nothing"],
        "what it may touch: roots; below: only what is below roots; ground: as a lining; nothing that is soon eaten",
    ] = "roots"
    coarse_organic: Annotated[bool, "true: it may be part of a coarse organic base, in whatever mix there is"] = False

    def _conflicts(self) -> Iterator[str]:
        yield from _falls_short(self, "density", "density_wet", "kg/m3")


@dataclass(frozen=True, kw_only=True)
class RollingSurface(Record):
    """How a barrow rolls on a ground surface.

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
    rolling: Annotated[float, SHARE, "share of the weight rolled, dry"]
    rolling_wet: Annotated[float, SHARE, "share of the weight rolled, wet"]
    pace: Annotated[float, SHARE, "share of the pace on pavement"]
    loaded: Annotated[bool, "whether a loaded barrow can pass"]
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Crop(Record):
    """What a crop wants of a bed; varieties, spacing and when to sow are left out.

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
    light_least: Annotated[float, LIGHT, "below which it is not worth growing"]
    light_good: Annotated[float, LIGHT, "beyond which it wants no more"]
    bed_depth: Annotated[float, Quantity("length", above=0, most=2), "of soil over usable ground"]
    root_depth_low: Annotated[float, ROOT_DEPTH, "how deep it roots at least"]
    root_depth_high: Annotated[float, ROOT_DEPTH, "how deep it roots at most"]
    season: Annotated[Literal["cool", "warm", "perennial"], "when it grows"]
    source: str = ""

    def _conflicts(self) -> Iterator[str]:
        yield from _falls_short(self, "light_least", "light_good", "h")
        yield from _falls_short(self, "root_depth_low", "root_depth_high", "m")


@dataclass(frozen=True, kw_only=True)
class Crown(Record):
    """The transmittance of a tree's crown for direct sun, through the middle of a crown 6 m wide.

    Attributes
    ----------
    foliage, crown_density : str
        ``deciduous`` or ``evergreen``; ``open``, ``medium`` or ``dense``.
    transmittance_leafy, transmittance_bare : float
        In leaf and leafless. [0 to 1]
    leafy_least, leafy_most, bare_least, bare_most : float
        The range of the published values. [0 to 1]
    source : str
        Where the figures come from, with their flag.
    """

    foliage: str
    crown_density: str
    transmittance_leafy: Annotated[float, SHARE]
    transmittance_bare: Annotated[float, SHARE]
    leafy_least: Annotated[float, SHARE]
    leafy_most: Annotated[float, SHARE]
    bare_least: Annotated[float, SHARE]
    bare_most: Annotated[float, SHARE]
    source: str

    def _conflicts(self) -> Iterator[str]:
        yield from _falls_short(self, "leafy_least", "transmittance_leafy", "of the sun")
        yield from _falls_short(self, "transmittance_leafy", "leafy_most", "of the sun")
        yield from _falls_short(self, "bare_least", "transmittance_bare", "of the sun")
        yield from _falls_short(self, "transmittance_bare", "bare_most", "of the sun")


@dataclass(frozen=True, kw_only=True)
class Albedo(Record):
    """The share of sunlight that a kind of feature or surface reflects, equally in all directions.

    Attributes
    ----------
    kind : str
        A kind of feature, or of surface.
    albedo : float
        Of the whole solar spectrum. [0 to 1]
    least, most : float
        The range of the published values. [0 to 1]
    source : str
        Where the figures come from, with their flag.
    """

    kind: str
    albedo: Annotated[float, SHARE]
    least: Annotated[float, SHARE]
    most: Annotated[float, SHARE]
    source: str

    def _conflicts(self) -> Iterator[str]:
        yield from _falls_short(self, "least", "albedo", "of the light")
        yield from _falls_short(self, "albedo", "most", "of the light")


@dataclass(frozen=True, kw_only=True)
class UsualSpread:
    """How far off the figures of a feature may be, each way, by how they were measured.

    Attributes
    ----------
    measured : str
        ``typed`` if the file does not say, ``guess``, ``paced``, ``tape``, ``angle`` or ``laser``.
    tree, built : float
        Spread of the height of a tree, and of any other feature, as a share of the height. [0 to 1]
    width : float
        Spread of a crown's width, as a share of the width. [0 to 1]
    least : float
        Smallest spread of any length. [m]
    position : float
        Spread of the position. [m]
    share : float
        Spread of a screen's transmittance. [0 to 1]
    leaves : float
        The transmittance of leaves, if the file gives one, may be this many times larger or smaller.
    leaf_days : float
        Leaves may come or fall this much earlier or later. [days]
    source : str
        Where the figures come from, with their flag.
    """

    measured: str
    tree: float
    built: float
    width: float
    least: float
    position: float
    share: float
    leaves: float
    leaf_days: float
    source: str
