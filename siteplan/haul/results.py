"""What does a haul plan say: which way, how many loads, how long, where to tip?

Frozen dataclasses, in SI units and in the local frame; minutes are of the clock, for the whole crew.
It leaves out how they are found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.cautions import Caution
from siteplan.land.grid import Floats, Grid

if TYPE_CHECKING:
    from siteplan.fill.results import Supply
    from siteplan.haul.loads.crew import CrewChoice
    from siteplan.haul.pushing import BoardsChoice


@dataclass(frozen=True)
class Barrier:
    """Something that a barrow cannot be pushed through.

    Attributes
    ----------
    kind, id : str
        As ``fence`` and ``back-fence``.
    shape : shapely geometry
        What stands there, before it is grown. [m]
    reach : float
        How far the middle of the barrow keeps from it. [m]
    """

    kind: str
    id: str
    shape: BaseGeometry
    reach: float


@dataclass(frozen=True, eq=False)
class GroundCost:
    """What each cell of ground asks of whoever crosses it.

    Attributes
    ----------
    grid : Grid
    loaded, empty : ndarray, shape (rows, columns)
        Time on the level, with a loaded and with an empty barrow; infinite where there is no way. [s/m]
    rise_east, rise_north : ndarray, shape (rows, columns)
        Slope of the ground, positive where it rises that way. [rise/run]
    rolling : ndarray, shape (rows, columns)
        Rolling resistance as a share of the weight rolled. [0 to 1]
    max_grade : float
        Steepest climb with a loaded barrow. [rise/run]
    barriers : tuple of Barrier
        What stands in the way.
    cautions : tuple of Caution
        Gates that are too narrow, for one.
    room : ndarray, shape (rows, columns), optional
        How far each centre lies outside all grown barriers and within the edge, negative where it does not; lines
        are kept from going below 0. Without it they are kept out of the cells that are barred. [m]
    """

    grid: Grid
    loaded: Floats
    empty: Floats
    rise_east: Floats
    rise_north: Floats
    rolling: Floats
    max_grade: float
    barriers: tuple[Barrier, ...] = ()
    cautions: tuple[Caution, ...] = ()
    room: Floats | None = None

    @property
    def free(self) -> NDArray[np.bool_]:
        """Where an empty barrow can stand, shape (rows, columns)."""
        return np.isfinite(self.empty)


@dataclass(frozen=True, eq=False)
class Route:
    """The least-time way from a pile to a bed, as wheeled.

    Attributes
    ----------
    from_id, to_id : str
        Pile (or tipping spot) and bed.
    line : LineString
        Out, with the loaded barrow; it ends where the barrow stands beside the bed. [m]
    length_m, climb_m : float
        Along the line, and all that it rises on the way out. [m]
    loaded_s, empty_s : float
        Once out loaded, once back empty. [s]
    back : LineString
        The way back, which may be another one. [m]
    bucket_m : float
        What is left from the line's end to the bed, to be carried by bucket; 0 as a rule. [m]
    steepest : float
        Steepest climb on the way out. [rise/run]
    """

    from_id: str
    to_id: str
    line: LineString
    length_m: float
    climb_m: float
    loaded_s: float
    empty_s: float
    back: LineString
    bucket_m: float = 0.0
    steepest: float = 0.0


@dataclass(frozen=True)
class Load:
    """One material for one bed from one place.

    Attributes
    ----------
    bed, material, from_id : str
    volume, mass : float
        Of the whole. [m3, kg]
    trips : int
        Whole barrow loads, each as large as the next.
    per_trip_volume, per_trip_mass : float
        In each load: `trips` of them are exactly the whole. [m3, kg]
    limit : str
        What fills the barrow first: ``volume`` or ``mass``.
    shovel_minutes, push_minutes, tip_minutes, bucket_minutes : float
        What the minutes are made of. [min]
    minutes : float
        Of the clock, all trips, without rests; NaN where there is no way in. [min]
    push_force, peak_force : float
        To keep the barrow moving, averaged over the way out, and at its worst spot; NaN without a way. [N]
    energy_kcal : float
        Of the whole crew. [kcal]
    bags : int
        Whole bags that it is; 0 where it lies loose. `shovel_minutes` are then those of lifting and emptying them.
    side_by_side : bool
        Whether one of two barrows is loaded while the other is pushed: the minutes are then less than their parts.
    """

    bed: str
    material: str
    from_id: str
    volume: float
    mass: float
    trips: int
    per_trip_volume: float
    per_trip_mass: float
    limit: str
    shovel_minutes: float
    push_minutes: float
    tip_minutes: float
    bucket_minutes: float
    minutes: float
    push_force: float = float("nan")
    peak_force: float = float("nan")
    energy_kcal: float = float("nan")
    bags: int = 0
    side_by_side: bool = False


@dataclass(frozen=True)
class Run:
    """Some trips in a row: one line of the order of work.

    Attributes
    ----------
    number, day : int
        Both from 1.
    bed, material, from_id : str
    trips : int
    start, minutes : float
        Since the day's work began, and how long, rests included. [min]
    delivered : bool
        Whether it waits for a delivery.
    per_trip_mass : float
        [kg]
    mixed : bool
        Whether the layer comes from several places, or of several materials: it is forked together as it comes.
    """

    number: int
    day: int
    bed: str
    material: str
    from_id: str
    trips: int
    start: float
    minutes: float
    delivered: bool = False
    mixed: bool = False
    per_trip_mass: float = 0.0


@dataclass(frozen=True)
class Delivery:
    """By when a material must have come.

    Attributes
    ----------
    material : str
    volume : float
        Of all of it, loose or in bags. [m3]
    day, before_run : int
        Of the order of work.
    """

    material: str
    volume: float
    day: int
    before_run: int


@dataclass(frozen=True)
class Heap:
    """Where one delivered material is tipped: a cone at its angle of repose, or a ridge with such ends and sides.

    Attributes
    ----------
    material : str
    volume : float
        Loose. [m3]
    centre : Point
    radius, height : float
        Of a ridge half its width. [m]
    length : float
        Of a ridge's crest; 0 of a cone. [m]
    heading : float
        Of the crest, clockwise from north. [degrees, 0 to 180]
    """

    material: str
    volume: float
    centre: Point
    radius: float
    height: float
    length: float = 0.0
    heading: float = 0.0

    @property
    def outline(self) -> Polygon:
        """What it covers. [m]"""
        if self.length <= 0:
            return self.centre.buffer(self.radius)
        turn = math.radians(self.heading)
        east, north = math.sin(turn) * self.length / 2, math.cos(turn) * self.length / 2
        x, y = self.centre.x, self.centre.y
        return LineString([(x - east, y - north), (x + east, y + north)]).buffer(self.radius)


@dataclass(frozen=True)
class HaulSummary:
    """A haul plan in one row.

    Attributes
    ----------
    name : str
        What sets it apart.
    minutes : float
        Of the clock, without rests. [min]
    trips : int
    walked_m, climbed_m : float
        Out and back, over all trips. [m]
    peak_force : float
        The hardest push anywhere, NaN where nothing is wheeled. [N]
    energy_kcal : float
        Of the whole crew. [kcal]
    unreached : int
        Loads to which there is no way: their minutes are missing.
    cautions : int
    planned : bool
        Whether it is the one that is planned.
    """

    name: str
    minutes: float
    trips: int
    walked_m: float
    climbed_m: float
    peak_force: float
    energy_kcal: float
    unreached: int
    cautions: int
    planned: bool = False


@dataclass(frozen=True)
class HaulPlan:
    """Everything about getting the material to the beds.

    Attributes
    ----------
    routes : tuple of Route
        One for each pair of pile and bed that is used and has a way.
    loads : tuple of Load
        One for each supply, in their order.
    total_minutes : float
        Of the clock, without rests; loads without a way in are left out, and a caution says so. [min]
    drop : str
        Id of the pile (or surface) on which deliveries are tipped; empty where nothing is delivered.
    drop_place : Point or None
        The spot itself.
    heaps : tuple of Heap
        What is tipped there.
    order : tuple of Run
        The work by day.
    cautions : tuple of Caution
    deliveries : tuple of Delivery
        By when what is bought must have come.
    comparison : tuple of HaulSummary
        The plan beside others, as with another tipping spot or a gate shut; only where it was asked.
    crew : CrewChoice or None
        What a second barrow would change; only where it was asked.
    boards : tuple of BoardsChoice
        Boards over soft ground when it is wet; only where it was asked.
    supplies : tuple of Supply
        What goes from where into which layer.
    """

    routes: tuple[Route, ...]
    loads: tuple[Load, ...]
    total_minutes: float
    drop: str = ""
    drop_place: Point | None = None
    heaps: tuple[Heap, ...] = ()
    order: tuple[Run, ...] = ()
    cautions: tuple[Caution, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    comparison: tuple[HaulSummary, ...] = ()
    crew: CrewChoice | None = None
    boards: tuple[BoardsChoice, ...] = ()
    supplies: tuple[Supply, ...] = ()

    @property
    def trips(self) -> int:
        """All barrow loads together."""
        return sum(load.trips for load in self.loads)

    @property
    def mass(self) -> float:
        """All that is moved. [kg]"""
        return sum(load.mass for load in self.loads)

    @property
    def days(self) -> int:
        """How many days the work takes."""
        return max((run.day for run in self.order), default=0)
