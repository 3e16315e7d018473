"""What is in a haul plan: routes, loads, times, tipping spot?

Frozen dataclasses, in SI units and in the local frame. Minutes are clock time of the whole crew. The other modules of
this folder compute them.
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
    """The quickest route with the barrow from a pile to a bed.

    Attributes
    ----------
    from_id, to_id : str
        Pile (or tipping spot) and bed.
    line : LineString
        Way out with the loaded barrow; it ends beside the bed. [m]
    length_m, climb_m : float
        Length of the line, and sum of all its rises on the way out. [m]
    loaded_s, empty_s : float
        Time of one way out, loaded, and one way back, empty. [s]
    back : LineString
        Way back, which may differ from the way out. [m]
    bucket_m : float
        Rest of the way from the line's end to the bed, to be carried by bucket; usually 0. [m]
    steepest, steepest_down : float
        Steepest climb and steepest descent on the way out, at least 0. [rise/run]
    cross_fall : float
        Steepest slope of the ground across the way out, at least 0. [rise/run]
    gates : tuple of str
        Ids of the gates on the way out, in order; then those used on the way back only.
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
    """One material from one source to one bed that has a route.

    Attributes
    ----------
    bed, material, from_id : str
    volume, mass : float
        Amount that goes into the bed. [m3, kg]
    trips : int
        Number of barrow loads.
    per_trip_volume, per_trip_mass : float
        Of the fullest trip. Loose material is divided evenly among the trips. Bags are not divided: together they may
        hold more than the bed takes. [m3, kg]
    limit : str
        What limits a barrow load: ``volume`` or ``mass``.
    shovel_minutes, push_minutes, tip_minutes, bucket_minutes : float
        Parts of the minutes. For bags, `shovel_minutes` is the time of lifting and emptying them. [min]
    minutes : float
        Clock time of all trips, without rests. [min]
    push_force, peak_force : float
        Force to keep the barrow moving, as a mean over the way out, and at its hardest spot; NaN if nothing is
        pushed. [N]
    energy_kcal : float
        Energy spent by the whole crew. [kcal]
    bags : int
        Number of bags carried; 0 for loose material.
    bag_mass, heaviest_bag : float, str
        Mass of the heaviest bag, and the name of the material or blend in it; 0 and empty for loose material. [kg]
    side_by_side : bool
        Whether one of two barrows is loaded while the other is pushed: `minutes` is then less than the sum of its
        parts.
    gates : tuple of str
        Ids of the gates on its route.
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
    heaviest_bag: Hidden[str] = ""


@dataclass(frozen=True)
class Unreached:
    """A supply without a route: it adds no trips and no time to the plan, and none of it is tipped.

    Attributes
    ----------
    bed, material, from_id : str
    delivered : bool
        Whether it would have to be delivered.
    volume, mass : float
        Amount that the bed does not get. [m3, kg]
    trips : int
        Barrow trips that it would take if there were a route.
    obstacle : Obstacle
        The nearest obstacle whose removal would open a route.
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
    """Successive trips of one load: one line of the order of work.

    Attributes
    ----------
    number, day : int
        Both from 1.
    bed, material, from_id : str
    trips : int
    start, minutes : float
        Start since the day's work began, and duration, rests included. [min]
    delivered : bool
        Whether it waits for a delivery.
    mixed : bool
        Whether the layer has several sources or materials, which are mixed with a fork as they come.
    per_trip_mass : float
        Of the fullest trip. [kg]
    gates : tuple of str
        Ids of the gates on its route.
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
    """When a material must have been delivered.

    Attributes
    ----------
    material : str
    volume : float
        Total, loose or in bags. [m3]
    day, before_run : int
        Day and run of the order of work that need it first.
    """

    material: str
    volume: CubicMetres
    day: int
    before_run: int


@dataclass(frozen=True)
class Heap:
    """A heap of one delivered material: a cone at its angle of repose, or a ridge with sides and ends at that angle.

    Attributes
    ----------
    material : str
    volume : float
        Loose. [m3]
    centre : Point
    radius, height : float
        Radius of a cone or half the width of a ridge, and height. [m]
    length : float
        Length of a ridge's crest; 0 for a cone. [m]
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
        """Ground that it covers. [m]"""
        if self.length <= 0:
            return self.centre.buffer(self.radius)
        turn = math.radians(self.heading)
        east, north = math.sin(turn) * self.length / 2, math.cos(turn) * self.length / 2
        x, y = self.centre.x, self.centre.y
        return LineString([(x - east, y - north), (x + east, y + north)]).buffer(self.radius)


@dataclass(frozen=True)
class HaulSummary:
    """The work of the plan, or of one alternative, as a row of a comparison.

    Attributes
    ----------
    change : str
        Difference from the plan: ``none``, ``tipped`` on another drop zone, ``lorry`` tips on hard ground instead, a
        gate ``shut``, a narrow gate ``widened``.
    feature : str
        Id of that drop zone, ground or gate. For the plan itself: id of its tipping spot, or empty.
    minutes : float
        Clock time, without rests. [min]
    trips : int
    walked_m, climbed_m : float
        Way out and back; all rises with the load, on the way out. Sums of all trips. [m]
    peak_force : float
        The hardest push anywhere; NaN if nothing is wheeled. [N]
    energy_kcal : float
        Energy spent by the whole crew. [kcal]
    unreached : int
        Trips without a route, which are not included in `trips` and `minutes`.
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
    """Boards over the soft ground of one route.

    Attributes
    ----------
    from_id, to_id : str
    soft_m : float
        Length of the way out over soft ground. [m]
    boards : int
        Number of boards that cover it.
    cost : float or None
        In the site's currency; None if no price is known.
    push_bare, push_boarded : float
        Force to keep the heaviest load moving at its hardest spot, without and with boards. [N]
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
        With one barrow: all load it, then one pushes it while the others wait.
    side_by_side : float
        With a second barrow: one is pushed while the other is loaded. Equal to `together` for a single person.
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
        One for each pair of pile and bed that is used and has a route.
    loads : tuple of Load
        One for each supply with a route; two if it comes both loose and in bags.
    unreached : tuple of Unreached
        The supplies without a route.
    total_minutes : float
        Clock time, without rests. [min]
    drop : str
        Id of the pile (or surface) on which deliveries are tipped; empty if nothing is tipped.
    drop_place : Point or None
        The tipping spot.
    heaps : tuple of Heap
        The heaps tipped there.
    order : tuple of Run
        The order of work, by day.
    findings : tuple of Finding
    deliveries : tuple of Delivery
        When purchases must have been delivered.
    comparison : tuple of HaulSummary
        The plan and its alternatives, such as another tipping spot or a gate shut; only if requested.
    crew : CrewChoice or None
        Effect of a second barrow; only if requested.
    boards : tuple of BoardsChoice
        Effect of boards over soft ground when it is wet; only if requested.
    supplies : tuple of Supply
        Source, material and layer of all supplies.
    load_routes : tuple of Route
        The route of each load.
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
    load_routes: Hidden[tuple[Route, ...]] = ()

    @property
    def trips(self) -> int:
        """Total number of barrow trips."""
        return sum(load.trips for load in self.loads)

    @property
    def minutes_with_rests(self) -> float:
        """Clock time, rests included. [min]"""
        return sum(run.minutes for run in self.order)

    @property
    def mass(self) -> float:
        """Total mass moved. [kg]"""
        return sum(load.mass for load in self.loads)

    @property
    def days(self) -> int:
        """Number of days that the work takes."""
        return max((run.day for run in self.order), default=0)
