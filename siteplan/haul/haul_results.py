"""What does a haul plan say: which way, how many loads, how long, where to tip?

Frozen dataclasses, in SI units and in the local frame; minutes are of the clock, for the whole crew.
It leaves out how they are found.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from shapely import LineString, Point, Polygon

from siteplan.fill.fill_results import Supply
from siteplan.haul.routes.obstruction import Obstacle
from siteplan.land.document import CubicMetres, Degrees, Hidden, Kilograms, Metres, Named, Newtons, Unit
from siteplan.land.findings import Finding


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
    steepest, steepest_down : float
        Steepest climb and steepest descent on the way out, none below 0. [rise/run]
    cross_fall : float
        Steepest slope of the ground across the way out, none below 0. [rise/run]
    gates : tuple of str
        Gates that it goes through on the way out, in that order; then those of the way back alone.
    """

    from_id: Annotated[str, Named("from")]
    to_id: Annotated[str, Named("to")]
    line: Annotated[LineString, Named("geometry")]
    length_m: float
    climb_m: float
    loaded_s: float
    empty_s: float
    back: Hidden[LineString]
    bucket_m: float = 0.0
    steepest: Annotated[float, Named("steepest_grade")] = 0.0
    steepest_down: Annotated[float, Named("steepest_descent")] = 0.0
    cross_fall: float = 0.0
    gates: tuple[str, ...] = ()


@dataclass(frozen=True)
class Load:
    """One material for one bed from one place, to which there is a way.

    Attributes
    ----------
    bed, material, from_id : str
    volume, mass : float
        That goes into the bed. [m3, kg]
    trips : int
        Whole barrow loads.
    per_trip_volume, per_trip_mass : float
        Of the fullest trip. What lies loose is shared out evenly: `trips` of them are exactly the whole. Bags are
        whole: together they may hold more than the bed takes. [m3, kg]
    limit : str
        What fills the barrow first: ``volume`` or ``mass``.
    shovel_minutes, push_minutes, tip_minutes, bucket_minutes : float
        What the minutes are made of. [min]
    minutes : float
        Of the clock, all trips, without rests. [min]
    push_force, peak_force : float
        To keep the barrow moving, averaged over the way out, and at its worst spot; NaN where nothing is pushed. [N]
    energy_kcal : float
        Of the whole crew. [kcal]
    bags : int
        Whole bags that are carried; 0 where it lies loose. `shovel_minutes` are then those of lifting and emptying
        them.
    bag_mass : float
        Of the heaviest of these bags; 0 where it lies loose. [kg]
    side_by_side : bool
        Whether one of two barrows is loaded while the other is pushed: the minutes are then less than their parts.
    gates : tuple of str
        Gates that its route goes through.
    """

    bed: str
    material: str
    from_id: Annotated[str, Named("from")]
    volume: CubicMetres
    mass: Kilograms
    trips: int
    per_trip_volume: CubicMetres
    per_trip_mass: Kilograms
    limit: str
    shovel_minutes: float
    push_minutes: float
    tip_minutes: float
    bucket_minutes: float
    minutes: float
    push_force: Newtons = float("nan")
    peak_force: Newtons = float("nan")
    energy_kcal: float = float("nan")
    bags: int = 0
    bag_mass: Hidden[float] = 0.0
    side_by_side: bool = False
    gates: tuple[str, ...] = ()


@dataclass(frozen=True)
class Unreached:
    """A supply to which there is no way: it is no trip and takes no time, and none of it is tipped.

    Attributes
    ----------
    bed, material, from_id : str
    delivered : bool
        Whether it would have to be delivered.
    volume, mass : float
        That the bed lacks. [m3, kg]
    trips : int
        With the barrow, if there were a way.
    obstacle : Obstacle
        The nearest thing that would open a way.
    """

    bed: str
    material: str
    from_id: Annotated[str, Named("from")]
    delivered: bool
    volume: CubicMetres
    mass: Kilograms
    trips: int
    obstacle: Obstacle


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
    mixed : bool
        Whether the layer comes from several places, or of several materials: it is forked together as it comes.
    per_trip_mass : float
        Of the fullest trip. [kg]
    gates : tuple of str
        Gates that it goes through.
    """

    number: int
    day: int
    bed: str
    material: str
    from_id: Annotated[str, Named("from")]
    trips: int
    start: Annotated[float, Unit("min")]
    minutes: float
    delivered: bool = False
    mixed: bool = False
    per_trip_mass: Hidden[float] = 0.0
    gates: Hidden[tuple[str, ...]] = ()


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
    volume: CubicMetres
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
    volume: CubicMetres
    centre: Hidden[Point]
    radius: Metres
    height: Metres
    length: Annotated[Metres, Named("ridge_length")] = 0.0
    heading: Annotated[Degrees, Named("ridge_heading")] = 0.0

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
    """The work in one row, as planned or otherwise.

    Attributes
    ----------
    change : str
        What sets it apart: ``none``, ``tipped`` on another drop zone, ``lorry`` tips on hard ground instead, a gate
        ``shut``, a narrow gate ``widened``.
    feature : str
        Id of that drop zone, ground or gate; of the plan itself where deliveries are tipped, or empty.
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
        Trips for which there is no way: `trips` and `minutes` leave them out.
    """

    change: Hidden[str]
    feature: Hidden[str]
    minutes: float
    trips: int
    walked_m: float
    climbed_m: float
    peak_force: Newtons
    energy_kcal: float
    unreached: Annotated[int, Named("trips_without_way")]

    @property
    def planned(self) -> bool:
        """Whether it is the work as planned."""
        return self.change == "none"


@dataclass(frozen=True)
class BoardsChoice:
    """Boards along one route.

    Attributes
    ----------
    from_id, to_id : str
    soft_m : float
        Of the way out over soft ground. [m]
    boards : int
        That cover it.
    cost : float or None
        In the site's currency; None where no price is known.
    push_bare, push_boarded : float
        To keep the heaviest load moving at its hardest spot, without and with them. [N]
    """

    from_id: Annotated[str, Named("from")]
    to_id: Annotated[str, Named("to")]
    soft_m: float
    boards: Annotated[int, Named("count")]
    cost: float | None
    push_bare: Newtons
    push_boarded: Newtons


@dataclass(frozen=True)
class CrewChoice:
    """Two ways to share the work. [min]

    Attributes
    ----------
    together : float
        All load the one barrow, then one pushes it while the others wait.
    side_by_side : float
        With a second barrow: one is pushed while the other is loaded. As `together` for somebody alone.
    """

    together: Annotated[float, Named("minutes_with_one")]
    side_by_side: Annotated[float, Named("minutes")]

    @property
    def second_barrow_helps(self) -> bool:
        """Whether a second barrow saves time."""
        return self.side_by_side < self.together


@dataclass(frozen=True)
class HaulPlan:
    """Everything about getting the material to the beds.

    Attributes
    ----------
    routes : tuple of Route
        One for each pair of pile and bed that is used and has a way.
    loads : tuple of Load
        One for each supply to which there is a way; two where it comes loose and in bags.
    unreached : tuple of Unreached
        The supplies to which there is none.
    total_minutes : float
        Of the clock, without rests. [min]
    drop : str
        Id of the pile (or surface) on which deliveries are tipped; empty where none is.
    drop_place : Point or None
        The spot itself.
    heaps : tuple of Heap
        What is tipped there.
    order : tuple of Run
        The work by day.
    findings : tuple of Finding
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
    unreached: tuple[Unreached, ...] = ()
    drop: str = ""
    drop_place: Hidden[Point | None] = None
    heaps: tuple[Heap, ...] = ()
    order: tuple[Run, ...] = ()
    findings: Hidden[tuple[Finding, ...]] = ()
    deliveries: tuple[Delivery, ...] = ()
    comparison: tuple[HaulSummary, ...] = ()
    crew: Annotated[CrewChoice | None, Named("second_barrow")] = None
    boards: tuple[BoardsChoice, ...] = ()
    supplies: Hidden[tuple[Supply, ...]] = ()

    @property
    def trips(self) -> int:
        """All barrow loads together."""
        return sum(load.trips for load in self.loads)

    @property
    def minutes_with_rests(self) -> float:
        """Of the clock, rests included. [min]"""
        return sum(run.minutes for run in self.order)

    @property
    def mass(self) -> float:
        """All that is moved. [kg]"""
        return sum(load.mass for load in self.loads)

    @property
    def days(self) -> int:
        """How many days the work takes."""
        return max((run.day for run in self.order), default=0)
