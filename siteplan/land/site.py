"""What is the property, and how does its gardener want to work?

Frozen dataclasses, checked on creation; everything is in SI and in the local frame.
It leaves out computing, and where the values came from.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.cautions import Caution
from siteplan.land.check import number_within, one_of
from siteplan.land.crops import Crop
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Feature,
    Fence,
    Gate,
    Hedge,
    Keepout,
    MonthDay,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.frame import LocalFrame
from siteplan.land.materials import Ground, Material
from siteplan.land.terrain import Skyline, Terrain
from siteplan.land.units import System
from siteplan.land.weather import Weather


@dataclass(frozen=True, kw_only=True)
class Season:
    """The growing season, from last to first frost, both included; across the new year where reversed."""

    last_frost: MonthDay
    first_frost: MonthDay

    def holds(self, day_of_year: int, year: int) -> bool:
        """Return whether a day of the year lies in the season.

        Examples
        --------
        >>> north = Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(9, 28))
        >>> north.holds(130, 2026), north.holds(129, 2026)
        (True, False)
        >>> south = Season(last_frost=MonthDay(9, 28), first_frost=MonthDay(5, 10))
        >>> south.holds(1, 2026), south.holds(180, 2026)
        (True, False)
        """
        start, end = self.last_frost.day_of_year(year), self.first_frost.day_of_year(year)
        if start <= end:
            return start <= day_of_year <= end
        return day_of_year >= start or day_of_year <= end


@dataclass(frozen=True, kw_only=True)
class SunSettings:
    """How the sun is swept, and how much of it the crops want."""

    year: int
    cell: float = 0.25  # m
    step: float = 1 / 6  # h
    need: float = 6.0  # h
    plenty: float = 8.0  # h

    def __post_init__(self) -> None:
        number_within(self.cell, 0.05, 20, what="cell", unit="m")
        number_within(self.step, 1 / 120, 1, what="step", unit="h")
        number_within(self.need, 0, 16, above=True, what="need", unit="h")
        number_within(self.plenty, self.need, 24, what="plenty", unit="h")
        if not 1950 <= self.year <= 2100:
            raise ValueError(f"year is {self.year}, must be from 1950 to 2100")


@dataclass(frozen=True, kw_only=True)
class Barrow:
    """The wheelbarrow or cart."""

    volume: float = 0.085  # m3
    load: float = 80.0  # kg
    width: float = 0.65  # m
    clearance: float = 0.10  # m on each side
    max_grade: float = 0.125  # rise / run that it may be pushed up loaded
    mass: float = 18.0  # kg, empty, with one wheel. Common practice, no source
    count: int = 1  # how many of them there are

    def __post_init__(self) -> None:
        number_within(self.volume, 0.005, 2, what="volume", unit="m3")
        number_within(self.load, 1, 1000, what="load", unit="kg")
        number_within(self.width, 0.1, 3, what="width", unit="m")
        number_within(self.clearance, 0, 1, what="clearance", unit="m")
        number_within(self.max_grade, 0, 1, above=True, what="max_grade")
        number_within(self.mass, 0, 300, above=True, what="mass", unit="kg")
        number_within(self.count, 1, 20, what="count")


@dataclass(frozen=True, kw_only=True)
class Labour:
    """Who works, and how long a day."""

    people: int = 1
    hours_per_day: float = 4.0
    body_mass: float = 80.0  # kg, of one person; for the energy alone

    def __post_init__(self) -> None:
        number_within(self.people, 1, 100, what="people")
        number_within(self.hours_per_day, 0, 16, above=True, what="hours_per_day", unit="h")
        number_within(self.body_mass, 20, 300, what="body_mass", unit="kg")


@dataclass(frozen=True, kw_only=True)
class HaulSettings:
    """How the barrow is wheeled, loaded and tipped, and where a lorry may tip.

    Speeds are those on level pavement. `shovel_pace` multiplies what the table of materials says that one person
    loads in an hour. `rest` is rested in each hour. Nothing that is delivered is wheeled before `delivery_day`.
    Every value is common practice, without a source, and may be changed.
    """

    loaded_speed: float = 3.0 / 3.6  # m/s; 2.5 to 3.5 km/h
    empty_speed: float = 4.5 / 3.6  # m/s; 4 to 5 km/h
    tip_time: float = 0.75 / 60  # h each trip; 0.5 to 1 min
    bag_time: float = 1.0 / 60  # h; a bag is picked up into the tray, slit and emptied
    shovel_pace: float = 1.0
    rest: float = 10 / 60  # h in each hour of work
    wet: bool = False  # whether the ground is wet
    off_lawn: bool = False  # whether heaps stay off the grass
    tip_anywhere: bool = False  # whether a lorry may tip wherever it gets to, beside the drop zones
    lorry_width: float = 2.5  # m, without mirrors
    heap_angle: float = 35.0  # degrees of a heap's side to the ground, of loose soil, compost, chips; 30 to 45
    delivery_day: int = 1  # of the work
    board_length: float = 2.4  # m, an uncut sheet or plank
    board_price: float | None = None  # money, each

    def __post_init__(self) -> None:
        number_within(self.loaded_speed, 0.1, 3, what="loaded_speed", unit="m/s")
        number_within(self.empty_speed, 0.1, 3, what="empty_speed", unit="m/s")
        number_within(self.tip_time, 0, 0.5, what="tip_time", unit="h")
        number_within(self.bag_time, 0, 0.5, what="bag_time", unit="h")
        number_within(self.shovel_pace, 0.1, 10, what="shovel_pace")
        number_within(self.rest, 0, 0.75, what="rest", unit="h in each hour")
        number_within(self.lorry_width, 1, 4, what="lorry_width", unit="m")
        number_within(self.heap_angle, 10, 60, what="heap_angle", unit="degrees")
        number_within(self.delivery_day, 1, 365, what="delivery_day")
        number_within(self.board_length, 0.3, 10, what="board_length", unit="m")
        if self.board_price is not None:
            number_within(self.board_price, 0, 1e6, what="board_price")


@dataclass(frozen=True, kw_only=True)
class LayerSpec:
    """One layer of the recipe: a share of the inside depth, or a thickness. [m]

    A blended layer names its parts in `mix`, materials with their shares by volume; `material` is then its name.
    """

    material: str
    fraction: float | None = None
    thickness: float | None = None
    mix: tuple[tuple[str, float], ...] = ()

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """The materials of the layer with their shares by volume, which sum to 1.

        Examples
        --------
        >>> LayerSpec(material="topsoil", fraction=1.0).parts
        (('topsoil', 1.0),)
        >>> LayerSpec(material="upper mix", fraction=1.0, mix=(("topsoil", 3), ("compost", 1))).parts
        (('topsoil', 0.75), ('compost', 0.25))
        """
        total = sum(share for _, share in self.mix)
        return tuple((name, share / total) for name, share in self.mix) if self.mix else ((self.material, 1.0),)


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """What goes in, bottom to top."""

    layers: tuple[LayerSpec, ...]
    lining: str = "none"


@dataclass(frozen=True, kw_only=True)
class FillSettings:
    """What limits a purchase, beside its price.

    `storage` is the most that may be bought in all, since it must lie somewhere until it is used. [m3]
    `bag_handling` is what it is worth not to open and empty a bag: counted in the choice, never in the bill. [money]
    """

    storage: float = math.inf
    bag_handling: float = 0.0

    def __post_init__(self) -> None:
        if not self.storage > 0:
            raise ValueError(f"storage is {self.storage:g} m3, must be above 0")
        number_within(self.bag_handling, 0, 1e6, what="bag_handling")


@dataclass(frozen=True, kw_only=True)
class WaterSettings:
    """How the beds are watered.

    `flow` is that of the open tap through its hose, None where nobody measured it. [m3/h]
    `weekly` is how deep a week's watering stands over a bed: an inch, as watering pages say. [m]
    `efficiency` is the share of it that reaches the roots, 1 by the can. [0 to 1]
    """

    flow: float | None = None
    weekly: float = 0.0254
    efficiency: float = 1.0

    def __post_init__(self) -> None:
        if self.flow is not None:
            number_within(self.flow, 0, 6, above=True, what="flow", unit="m3/h")
        number_within(self.weekly, 0, 0.2, above=True, what="weekly", unit="m")
        number_within(self.efficiency, 0, 1, above=True, what="efficiency")


@dataclass(frozen=True, kw_only=True)
class SoilSettings:
    """What is known of the ground: total lead by a soil test [mg/kg], and when raw manure was last worked in."""

    lead: float | None = None
    manure_on: dt.date | None = None

    def __post_init__(self) -> None:
        if self.lead is not None:
            number_within(self.lead, 0, 100_000, what="lead", unit="ppm")


@dataclass(frozen=True, kw_only=True)
class Stock:
    """What is on hand, and at which pile."""

    material: str
    volume: float  # m3
    at: str


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What can be bought: by the bag, or loose in steps; `price` is for one of either.

    A loose offer with `fetch` is picked up by the gardener: one trip brings that volume at most, and
    `payload` at most [kg]; `delivery` is then what one trip costs. A blend names its parts in `mix`:
    materials with their shares by volume, which sum to 1.
    """

    material: str
    price: float
    bag: float | None = None  # m3
    loose: float | None = None  # m3
    minimum: float = 0.0  # m3
    delivery: float = 0.0  # money, each delivery
    per_delivery: float | None = None  # m3
    name: str = ""
    fetch: float | None = None  # m3, one own trip
    payload: float | None = None  # kg, one own trip
    mix: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlaceSettings:
    """What a new bed is like, and how far it keeps from things. [m]"""

    length: float = 2.4384
    width: float = 1.2192
    height: float = 0.4572
    count: int = 3
    wall_setback: float = 0.6
    boundary_setback: float = 0.3
    aisle: float = 0.61
    barrow_aisle: float = 0.91
    max_slope: float = 0.15  # rise / run
    accessible: bool = False  # whether the way around it is for a wheelchair
    # what a gardener gives up sun for: place/merit/merit.py says in which units, and why these
    weight_worst: float = 0.5
    weight_wheeling: float = 0.5
    weight_water: float = 0.010
    weight_beyond_hose: float = 0.020
    weight_door: float = 0.005
    weight_levelling: float = 0.5


def printable(text: str) -> str:
    r"""Return a name in at most 60 signs that steer no terminal.

    Examples
    --------
    >>> printable("north\x1b[2J bed"), len(printable("a" * 100))
    ('north?[2J bed', 60)
    """
    shown = "".join(letter if letter.isprintable() else "?" for letter in text)
    return shown if len(shown) <= 60 else shown[:57] + "..."


@dataclass(frozen=True, kw_only=True)
class Site:
    """A property with everything on it."""

    name: str
    frame: LocalFrame
    timezone: str
    boundary: Polygon
    season: Season
    sun: SunSettings
    recipe: Recipe
    units: System = "metric"
    currency: str = "USD"
    barrow: Barrow = field(default_factory=Barrow)
    labour: Labour = field(default_factory=Labour)
    haul: HaulSettings = field(default_factory=HaulSettings)
    place: PlaceSettings = field(default_factory=PlaceSettings)
    fill: FillSettings = field(default_factory=FillSettings)
    water: WaterSettings = field(default_factory=WaterSettings)
    soil: SoilSettings = field(default_factory=SoilSettings)
    stock: tuple[Stock, ...] = ()
    offers: tuple[Offer, ...] = ()
    materials: Mapping[str, Material] = field(default_factory=dict)
    grounds: Mapping[str, Ground] = field(default_factory=dict)
    crops: Mapping[str, Crop] = field(default_factory=dict)
    buildings: tuple[Building, ...] = ()
    trees: tuple[Tree, ...] = ()
    hedges: tuple[Hedge, ...] = ()
    fences: tuple[Fence, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    gates: tuple[Gate, ...] = ()
    taps: tuple[Tap, ...] = ()
    piles: tuple[Pile, ...] = ()
    doors: tuple[Door, ...] = ()
    beds: tuple[Bed, ...] = ()
    keepouts: tuple[Keepout, ...] = ()
    terrain: Terrain | None = None
    skyline: Skyline | None = None
    weather: Weather | None = None  # a typical year
    cautions: tuple[Caution, ...] = ()

    def __post_init__(self) -> None:
        one_of(self.units, ("metric", "imperial"), what="units")

    def __repr__(self) -> str:
        """Return its name, how much is drawn, and where it lies."""
        place = f"latitude {self.frame.latitude:.4f}, longitude {self.frame.longitude:.4f}"
        beds, drawn = len(self.beds), len(self.features())
        return f'<Site "{printable(self.name)}": {beds} of {drawn} features are beds, {place}>'

    @property
    def southern(self) -> bool:
        """Whether the noon sun stands in the north."""
        return self.frame.latitude < 0

    def features(self) -> tuple[Feature, ...]:
        """Return all that is drawn, but for the boundary."""
        return (
            *self.buildings, *self.trees, *self.hedges, *self.fences, *self.surfaces, *self.gates,
            *self.taps, *self.piles, *self.doors, *self.beds, *self.keepouts,
        )  # fmt: skip

    def bed(self, bed_id: str) -> Bed:
        """Return the bed of that id; KeyError where there is none."""
        for bed in self.beds:
            if bed.id == bed_id:
                return bed
        raise KeyError(bed_id)

    def ground_at(self, shape: BaseGeometry) -> float:
        """Return the ground's elevation at the middle of a shape; 0 on a level plane. [m]"""
        if self.terrain is None:
            return 0.0
        middle = shapely.centroid(shape)
        return float(self.terrain.height_at([middle.x], [middle.y])[0])
