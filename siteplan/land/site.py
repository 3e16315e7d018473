"""What is the property, and how does its gardener want to work?

Records that are checked when they are made; everything is in SI and in the local frame. Each field has its range, its
default and its meaning here; template, schemas and README take them from here.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, ClassVar

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.constants import Albedo, Crop, Material, RollingSurface
from siteplan.land.features import (
    Bed,
    Building,
    Door,
    Feature,
    Fence,
    Gate,
    Hedge,
    Keepout,
    Level,
    MonthDay,
    Pile,
    Surface,
    Tap,
    Tree,
)
from siteplan.land.findings import Caution
from siteplan.land.frame import DrawnFrame, LocalFrame
from siteplan.land.ground_picture import GroundPicture
from siteplan.land.layers import Recipe
from siteplan.land.record import Record
from siteplan.land.surface_model import SurfaceModel
from siteplan.land.terrain import Skyline, Terrain
from siteplan.land.tiers import BED_HEIGHT
from siteplan.land.unit_sizes import INCH
from siteplan.land.units import METRE, LengthUnit, System
from siteplan.land.values import FIRST_YEAR, LAST_YEAR, Mix, Money, Quantity, Text, Whole, printable
from siteplan.land.walls import PieceOffer, WallSettings
from siteplan.land.weather import Weather

BED_SIDE = Quantity("length", least=0.1, most=100)
BED_LENGTH = Quantity("length", least=0.1, most=100, usual=(0.5, 15))
SETBACK = Quantity("length", least=0, most=20)
AISLE = Quantity("length", least=0, most=10)
BAG = Quantity("volume", least=0.0005, most=2, usual=(0.005, 2))
STEP = Quantity("volume", least=0.001, most=100, usual=(0.005, 100))
STORAGE = Quantity("volume", above=0, usual=(0.1, 1000))
SPEED = Quantity("speed", least=0.1, most=3)
HANDLING = Quantity("time", least=0, most=0.5)
SHARE = Quantity("fraction", above=0, most=1)
WEIGHT = Quantity("fraction", least=0, most=100)
CURRENCY = Text(pattern="[A-Z]{3}", wanted='the three capital letters of ISO 4217, such as "EUR"')


@dataclass(frozen=True, kw_only=True)
class Season(Record):
    """The growing season, from last to first frost, both included; in the south it runs across the new year."""

    last_frost: Annotated[MonthDay, "of spring, as 04-20: the season begins; south of the equator the later date"]
    first_frost: Annotated[MonthDay, "of autumn, as 10-20: the season ends"]

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
class SunSettings(Record):
    """Cell and time step of the sun hours, and how much sun the crops want."""

    cell: Annotated[float, Quantity("length", least=0.05, most=20), "side of a map cell"] = 0.25
    step: Annotated[float, Quantity("time", least=1 / 120, most=1), "longest time step along the sun's path"] = 1 / 6
    year: Annotated[int, Whole(FIRST_YEAR, LAST_YEAR), "year of the sun's path; this year where left out"]
    need: Annotated[float, Quantity("time", above=0, most=16), "hours of sun a day that crops want at least"] = 6.0
    plenty: Annotated[float, Quantity("time", above=0, most=24), "hours beyond which more counts no more"] = 8.0

    def _conflicts(self) -> Iterator[str]:
        if self.need > self.plenty:
            yield f"need is {self.need:g} h, more than plenty ({self.plenty:g} h); swap them?"


@dataclass(frozen=True, kw_only=True)
class Barrow(Record):
    """The wheelbarrow or cart. The default mass is that of a barrow with one wheel: common practice, no source."""

    volume: Annotated[float, Quantity("volume", least=0.005, most=2, usual=(0.03, 0.6)), "that it holds"] = 0.085
    load: Annotated[float, Quantity("mass", least=1, most=1000, usual=(20, 500)), "most that it carries"] = 80.0
    width: Annotated[float, Quantity("length", least=0.1, most=3, usual=(0.3, 1.3)), "at its widest"] = 0.65
    clearance: Annotated[float, Quantity("length", least=0, most=1), "kept free on each side"] = 0.10
    max_grade: Annotated[float, SHARE, "rise over run that it may be pushed up loaded"] = 0.125
    mass: Annotated[float, Quantity("mass", above=0, most=300), "of the barrow itself, empty"] = 18.0
    count: Annotated[int, Whole(1, 20), "of barrows: with two, one is loaded while the other is pushed"] = 1


@dataclass(frozen=True, kw_only=True)
class Labour(Record):
    """How many people work, and how long a day."""

    people: Annotated[int, Whole(1, 100), "who work at the same time"] = 1
    hours_per_day: Annotated[float, Quantity("time", above=0, most=16), "of work"] = 4.0
    body_mass: Annotated[float, Quantity("mass", least=20, most=300), "of one person, for the energy alone"] = 80.0


@dataclass(frozen=True, kw_only=True)
class HaulSettings(Record):
    """How the barrow is wheeled, loaded and tipped, and where a lorry may tip.

    Usual values: 2.5 to 3.5 km/h loaded and 4 to 5 empty on level pavement; 0.5 to 1 min to tip; heaps of loose soil,
    compost or chips at 30 to 45 degrees. A lorry's width is without mirrors. All is common practice, no source.
    """

    loaded_speed: Annotated[float, SPEED, "with a loaded barrow, on level pavement"] = 3.0 / 3.6
    empty_speed: Annotated[float, SPEED, "back with the empty barrow"] = 4.5 / 3.6
    tip_time: Annotated[float, HANDLING, "to tip the barrow, each trip"] = 0.75 / 60
    bag_time: Annotated[float, HANDLING, "to lift one bag into the barrow, slit and empty it"] = 1.0 / 60
    shovel_pace: Annotated[
        float, Quantity("fraction", least=0.1, most=10), "factor on the shovel_rate of data/materials.csv"
    ] = 1.0
    rest: Annotated[float, Quantity("time", least=0, most=0.75), "in each hour of work"] = 10 / 60
    wet: Annotated[bool, "true: the ground is wet, and a wheel rolls harder"] = False
    off_lawn: Annotated[bool, "true: heaps stay off the grass"] = False
    tip_anywhere: Annotated[bool, "true: a lorry may tip wherever hard ground from the edge takes it"] = False
    lorry_width: Annotated[float, Quantity("length", least=1, most=4), "of the lorry that delivers"] = 2.5
    heap_angle: Annotated[float, Quantity("angle", least=10, most=60), "of a heap's side to the ground"] = 35.0
    delivery_day: Annotated[int, Whole(1, 365), "of the work; what is delivered is not wheeled before"] = 1
    board_price: Annotated[float | None, Money(most=1e6, each="one board"), "of a board over soft ground"] = None
    board_length: Annotated[
        float | None, Quantity("length", least=0.3, most=10), "of such a board, uncut; 2.4 m or 8 ft where left out"
    ] = None


@dataclass(frozen=True, kw_only=True)
class FillSettings(Record):
    """What limits a purchase, beside its price.

    `storage` is the most that may be bought in all, since it must lie somewhere until it is used. [m3]
    `bag_handling` is what it is worth not to open and empty a bag: it affects the choice, not the bill. [money]
    """

    storage: Annotated[float, STORAGE, "most that may be bought in all; no limit if left out"] = math.inf
    bag_handling: Annotated[
        float, Money(most=1e6, each="one bag"), "what it is worth not to open one bag; counted in the choice alone"
    ] = 0.0


@dataclass(frozen=True, kw_only=True)
class WaterSettings(Record):
    """How the beds are watered.

    `flow` is that of the open tap through its hose, None if it was not measured. [m3/h]
    `weekly` is the depth of a week's watering over a bed: an inch, as watering guides say. [m]
    `efficiency` is the share of the water that reaches the roots, 1 with a can. [0 to 1]
    """

    flow: Annotated[
        float | None, Quantity("rate", above=0, most=6), "of the open tap: time how long it fills a bucket"
    ] = None
    weekly: Annotated[
        float, Quantity("length", above=0, most=0.2), "how deep a week's watering stands over a bed"
    ] = INCH
    efficiency: Annotated[
        float, SHARE, "share that reaches the roots: 1 by the can, about 0.85 by drip, 0.7 by sprinkler"
    ] = 1.0


@dataclass(frozen=True, kw_only=True)
class SoilSettings(Record):
    """What is known of the soil: total lead by a soil test [mg/kg], and when raw manure was last worked in."""

    lead: Annotated[
        float | None, Quantity("concentration", least=0, most=100_000), "total lead in the ground, by a soil test"
    ] = None
    manure_on: Annotated[dt.date | None, "the day on which raw manure was worked into the ground"] = None


@dataclass(frozen=True, kw_only=True)
class Stock(Record):
    """What is on hand, and at which pile."""

    material: Annotated[str, Text(), "name of the material"]
    volume: Annotated[float, Quantity("volume", above=0, most=1000), "loose, as it lies there"]
    at: Annotated[str, Text(), "id of the pile at which it lies"]
    each_year: Annotated[
        float, Quantity("volume", least=0, most=1000), "what comes to it each year for top-ups, such as own compost"
    ] = 0.0


@dataclass(frozen=True, kw_only=True)
class Offer(Record):
    """What can be bought: by the bag, or loose in steps; `price` is for one bag or one step.

    A loose offer with `fetch` is picked up by the gardener: one trip brings that volume at most, and
    `payload` at most [kg]; `delivery` is then the cost of one trip. A blend lists its parts in `mix`:
    materials with their shares by volume, which sum to 1.
    """

    exactly_one: ClassVar = ("bag", "loose")

    material: Annotated[str, Text(), "name of the material; of a blend where mix is given"]
    price: Annotated[float, Money(), "of one bag or one loose step, or by volume, as 40 USD / yd^3"]
    bag: Annotated[float | None, BAG, "what one bag holds"] = None
    loose: Annotated[float | None, STEP, "sold in steps of this volume"] = None
    minimum: Annotated[float, Quantity("volume", least=0, most=1000), "least that is sold"] = 0.0
    delivery: Annotated[float, Money(each="one delivery"), "flat, for each delivery or own trip"] = 0.0
    per_delivery: Annotated[float | None, Quantity("volume", above=0, most=1000), "most that one delivery brings"] = (
        None
    )
    name: Annotated[str, Text(), "what the offer is called"] = ""
    fetch: Annotated[float | None, Quantity("volume", above=0, most=100), "most that one own trip brings"] = None
    payload: Annotated[float | None, Quantity("mass", above=0, most=50_000), "most that one own trip carries"] = None
    mix: Annotated[tuple[tuple[str, float], ...], Mix(), "a blend: its materials with their shares by volume"] = ()

    @property
    def size(self) -> float:
        """Volume of one bag, or of one loose step. [m3]"""
        return self.bag if self.bag is not None else self.loose or 0.0

    def _conflicts(self) -> Iterator[str]:
        key = "loose" if self.bag is None else "bag"
        for most in ("per_delivery", "fetch"):
            limit = getattr(self, most)
            if limit is not None and limit < self.size * (1 - 1e-9):
                yield f"{most} is {limit:.3g} m3, less than one {key} ({self.size:.3g} m3)"
        total = math.fsum(share for _, share in self.mix)
        if self.mix and not math.isclose(total, 1, abs_tol=1e-6):
            yield f"mix: the shares sum to {total:g}, must sum to 1"
        if self.payload is not None and self.fetch is None:
            yield "payload is what one own trip carries; give fetch, the volume of one trip, as well"


@dataclass(frozen=True, kw_only=True)
class PlaceSettings(Record):
    """What a new bed is like, and how far it keeps from things. [m]

    The weights say how much sun a gardener gives up for convenience; place/merit/merit.py has units and reasons.
    """

    length: Annotated[float, BED_LENGTH, "of a new bed"] = 2.4384
    width: Annotated[float, BED_SIDE, "of a new bed"] = 1.2192
    height: Annotated[float, BED_HEIGHT, "of a new bed's walls"] = 0.4572
    count: Annotated[int, Whole(1, 50), "of places to name"] = 3
    wall_setback: Annotated[float, SETBACK, "kept from buildings"] = 0.6
    boundary_setback: Annotated[float, SETBACK, "kept from the boundary"] = 0.3
    aisle: Annotated[float, AISLE, "kept free around a bed, to walk"] = 0.61
    barrow_aisle: Annotated[float, AISLE, "kept free along one side, for the barrow"] = 0.91
    max_slope: Annotated[float, SHARE, "rise over run of the ground under a bed"] = 0.15
    accessible: Annotated[bool, "true: the way around it is for a wheelchair"] = False
    weight_worst: Annotated[
        float,
        Quantity("fraction", least=0, most=1),
        "how much the darkest cell of a bed counts; the rest is the mean",
    ] = 0.5
    weight_wheeling: Annotated[float, WEIGHT, "hours of daily sun that an hour of wheeling, once, is worth"] = 0.5
    weight_water: Annotated[float, WEIGHT, "hours of daily sun that a metre to the tap is worth"] = 0.010
    weight_beyond_hose: Annotated[float, WEIGHT, "hours of daily sun that a metre beyond the hose is worth"] = 0.020
    weight_door: Annotated[float, WEIGHT, "hours of daily sun that a metre to the door is worth"] = 0.005
    weight_levelling: Annotated[float, WEIGHT, "hours of daily sun that a metre's fall under the bed is worth"] = 0.5


@dataclass(frozen=True, kw_only=True)
class Site(Record):
    """A property with everything on it."""

    name: str
    frame: LocalFrame
    timezone: str
    boundary: Polygon
    season: Season
    sun: SunSettings
    recipe: Recipe
    units: Annotated[System, "how results are printed; never how they are computed"] = "metric"
    currency: Annotated[str, CURRENCY, "of all prices: three letters of ISO 4217"] = "USD"
    barrow: Barrow = field(default_factory=Barrow)
    labour: Labour = field(default_factory=Labour)
    haul: HaulSettings = field(default_factory=HaulSettings)
    place: PlaceSettings = field(default_factory=PlaceSettings)
    fill: FillSettings = field(default_factory=FillSettings)
    water: WaterSettings = field(default_factory=WaterSettings)
    soil: SoilSettings = field(default_factory=SoilSettings)
    walls: WallSettings = field(default_factory=WallSettings)
    stock: tuple[Stock, ...] = ()
    offers: tuple[Offer, ...] = ()
    piece_offers: tuple[PieceOffer, ...] = ()
    materials: Mapping[str, Material] = field(default_factory=dict)
    rolling_surfaces: Mapping[str, RollingSurface] = field(default_factory=dict)
    crops: Mapping[str, Crop] = field(default_factory=dict)
    albedos: Mapping[str, Albedo] = field(default_factory=dict)
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
    levels: tuple[Level, ...] = ()  # the reader makes the terrain of them; only the terrain is used
    terrain: Terrain | None = None
    surface_model: SurfaceModel | None = None  # obstacles around the property that are not drawn
    skyline: Skyline | None = None
    weather: Weather | None = None  # a typical year
    drawing_unit: LengthUnit = METRE  # of its coordinates, and so of a length without a unit
    variant: str = ""  # its name, if it is one of the property's
    country: str = ""  # two letters of ISO 3166; empty where it is not known
    drawn: DrawnFrame = field(default_factory=DrawnFrame)  # the coordinates in which it is drawn
    backdrop: GroundPicture | None = None  # what lies under the map
    cautions: tuple[Caution, ...] = ()

    def __repr__(self) -> str:
        """Return its name, how many features are drawn, and where it lies."""
        place = f"latitude {self.frame.latitude:.4f}, longitude {self.frame.longitude:.4f}"
        beds, drawn = len(self.beds), len(self.features())
        return f'<Site "{printable(self.name)}": {beds} of {drawn} features are beds, {place}>'

    @property
    def southern(self) -> bool:
        """Whether the noon sun stands in the north."""
        return self.frame.latitude < 0

    def features(self) -> tuple[Feature, ...]:
        """Return all drawn features except the boundary."""
        return (
            *self.buildings, *self.trees, *self.hedges, *self.fences, *self.surfaces, *self.gates,
            *self.taps, *self.piles, *self.doors, *self.beds, *self.keepouts,
        )  # fmt: skip

    def bed(self, bed_id: str) -> Bed:
        """Return the bed of that id; KeyError if there is none."""
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
