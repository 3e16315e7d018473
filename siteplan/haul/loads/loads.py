"""How many barrow loads are there, and how long do they take?

The number of trips follows from the barrow's volume and its greatest load; the minutes from shovelling, wheeling and
tipping, with one barrow or with two. Rests and the order of work are added in `work_order`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from siteplan.haul.haul_results import CrewChoice, Load, Route
from siteplan.haul.loads.work_rates import (
    BODY_MASS,
    BUCKET_LOAD,
    BUCKET_VOLUME,
    BUCKETS_AT_ONCE,
    LOADED_SPEED,
    MET_WHEELBARROW,
    SHOVELS_AT_ONE_TRAY,
    energy,
    shovel_met,
)
from siteplan.land.constants import Material
from siteplan.land.site import Barrow, HaulSettings

if TYPE_CHECKING:
    from siteplan.fill.fill_results import Supply

SHOVEL_RATE = 0.5  # m3/h; one person, for materials without a rate of their own. Common practice, no source
_WHOLE = 1e-9  # share of a load that counts as a rounding error


@dataclass(frozen=True)
class Bag:
    """One bag that is carried.

    Attributes
    ----------
    volume, mass : float
        Of its whole content. [m3, kg]
    name : str
        Of the material, or of the blend.
    """

    volume: float
    mass: float
    name: str = ""


@dataclass(frozen=True)
class BarrowLoad:
    """A quantity divided among barrow trips.

    Attributes
    ----------
    trips : int
    volume, mass : float
        Of the fullest trip; loose material is divided evenly. [m3, kg]
    limit : str
        What limits a load: ``volume`` or ``mass``.
    """

    trips: int
    volume: float
    mass: float
    limit: str


def barrow_loads(volume: float, mass: float, *, tray: float, load: float) -> BarrowLoad:
    """Return the fewest whole trips that carry a quantity.

    Parameters
    ----------
    volume, mass : float
        Of the whole quantity. [m3, kg]
    tray, load : float
        Volume of the barrow, and greatest mass of a load. [m3, kg]

    Raises
    ------
    ValueError
        If a quantity is negative, or `tray` or `load` is not above 0.

    Examples
    --------
    A cubic metre of topsoil, with a barrow of 85 litres and 80 kg, and one of wood chips:

    >>> soil = barrow_loads(1.0, 1250.0, tray=0.085, load=80.0)
    >>> soil.trips, soil.limit
    (16, 'mass')
    >>> barrow_loads(1.0, 300.0, tray=0.085, load=80.0).trips
    12
    >>> barrow_loads(0.0, 0.0, tray=0.085, load=80.0).trips
    0
    """
    if volume < 0 or mass < 0 or tray <= 0 or load <= 0:
        raise ValueError(
            f"volume {volume:g} m3, mass {mass:g} kg, tray {tray:g} m3 and load {load:g} kg: volume and mass must be "
            "at least 0, tray and load above 0"
        )
    heavy = mass * tray > load * volume
    trips = max(math.ceil(volume / tray - _WHOLE), math.ceil(mass / load - _WHOLE), 0)
    if trips == 0 and (volume > 0 or mass > 0):
        trips = 1
    divisor = max(trips, 1)
    return BarrowLoad(trips, volume / divisor, mass / divisor, "mass" if heavy else "volume")


def bag_loads(bags: Sequence[Bag], *, tray: float, load: float) -> BarrowLoad:
    """Return the fewest trips that carry whole bags, taken in their order.

    Parameters
    ----------
    bags : sequence of Bag
    tray, load : float
        Volume of the barrow, and greatest mass of a load; a single bag is carried even if it exceeds them. [m3, kg]

    Returns
    -------
    BarrowLoad
        Volume and mass are those of the heaviest trip.

    Examples
    --------
    Ten bags of 28 litres and 20 kg, with a barrow of 85 litres and 80 kg: three at a time by volume, four by mass.

    >>> bags = bag_loads([Bag(0.028, 20.0)] * 10, tray=0.085, load=80.0)
    >>> bags.trips, round(bags.mass), bags.limit
    (4, 60, 'volume')
    """
    if not bags:
        return BarrowLoad(0, 0.0, 0.0, "volume")
    trips = _packed(bags, len(bags), tray=tray, load=load)
    even = _packed(bags, math.ceil(len(bags) / len(trips)), tray=tray, load=load)
    trips = even if len(even) == len(trips) else trips
    mass, volume = max((_mass(trip), _volume(trip)) for trip in trips)
    limit = "mass" if tray * _mass(bags) > load * _volume(bags) else "volume"
    return BarrowLoad(len(trips), volume, mass, limit)


def _packed(bags: Sequence[Bag], count: int, *, tray: float, load: float) -> list[list[Bag]]:
    """Return the bags of each trip if they are taken in turn: at most `count`, and what the barrow takes."""
    trips: list[list[Bag]] = [[]]
    for bag in bags:
        trip = [*trips[-1], bag]
        full = len(trip) > count or _volume(trip) > tray * (1 + _WHOLE) or _mass(trip) > load * (1 + _WHOLE)
        if trips[-1] and full:
            trips.append([])
        trips[-1].append(bag)
    return trips


def _volume(bags: Sequence[Bag]) -> float:
    return sum(bag.volume for bag in bags)


def _mass(bags: Sequence[Bag]) -> float:
    return sum(bag.mass for bag in bags)


def shovel_minutes(volume: float, *, rate: float, people: int) -> float:
    """Return the time of loading; of more than two people at one barrow, two shovel. [min]

    Parameters
    ----------
    volume : float
        Loose. [m3]
    rate : float
        Of one person. [m3/h]
    people : int

    Examples
    --------
    >>> shovel_minutes(1.0, rate=0.5, people=1), shovel_minutes(1.0, rate=0.5, people=4)
    (120.0, 60.0)
    """
    return volume / (rate * min(people, SHOVELS_AT_ONE_TRAY)) * 60


def bucket_minutes(
    volume: float, mass: float, *, distance: float, rate: float, people: int, speed: float = LOADED_SPEED
) -> float:
    """Return the time to carry a quantity the last metres by bucket, with filling the buckets. [min]

    Parameters
    ----------
    volume, mass : float
        [m3, kg]
    distance : float
        One way. [m]
    rate : float
        Of shovelling, one person. [m3/h]
    people : int
    speed : float
        Of walking. [m/s]

    Examples
    --------
    One cubic metre is 84 buckets, two to a walk of 10 m there and back:

    >>> round(bucket_minutes(1.0, 300.0, distance=10.0, rate=0.5, people=1))
    137
    """
    if distance <= 0:
        return 0.0
    buckets = math.ceil(max(volume / BUCKET_VOLUME, mass / BUCKET_LOAD) - _WHOLE)
    walks = math.ceil(buckets / BUCKETS_AT_ONCE / people)
    return walks * 2 * distance / speed / 60 + shovel_minutes(volume, rate=rate, people=people)


def supply_trips(supply: Supply, barrow: Barrow, bags: Sequence[Bag] | None = None) -> BarrowLoad:
    """Return the trips of one supply; if it comes in these bags, they are not divided.

    An empty sequence of bags is the rest of a bag that was opened for another bed: it is carried loose.
    """
    if not bags:
        return barrow_loads(supply.volume, supply.mass, tray=barrow.volume, load=barrow.load)
    return bag_loads(bags, tray=barrow.volume, load=barrow.load)


def _density(supply: Supply) -> float:
    return supply.mass / supply.volume if supply.volume > 0 else 0.0


def supply_load(
    supply: Supply,
    *,
    route: Route,
    barrow: Barrow,
    people: int,
    material: Material | None,
    bags: Sequence[Bag] | None = None,
    haul: HaulSettings | None = None,
    body_mass: float = BODY_MASS,
) -> Load:
    """Return the load of one supply along a route: its trips, minutes and energy, without the force of the push.

    Parameters
    ----------
    supply : Supply
    route : Route
    barrow : Barrow
    people : int
    material : Material or None
        Gives the rate of shovelling.
    bags : sequence of Bag, optional
        The bags in which it comes: they are lifted, not shovelled.
    haul : HaulSettings, optional
        By default common practice.
    body_mass : float
        Of one person. [kg]

    Notes
    -----
    With one barrow: the crew loads it together, one pushes, and the others wait or rake. The energy is that of all
    who work.
    """
    haul = haul or HaulSettings()
    share = supply_trips(supply, barrow, bags)
    rate = haul.shovel_pace * (material.shovel_rate if material else SHOVEL_RATE)
    hands = min(people, SHOVELS_AT_ONE_TRAY)
    if not bags:
        shovel = shovel_minutes(supply.volume, rate=rate, people=people)
        met = shovel_met(_density(supply) * rate / 60)
    else:
        shovel, met = len(bags) * haul.bag_time * 60 / hands, MET_WHEELBARROW
    heaviest = max(bags or (), key=lambda bag: bag.mass, default=Bag(0.0, 0.0))
    tip = share.trips * haul.tip_time * 60
    push = share.trips * (route.loaded_s + route.empty_s) / 60
    bucket = bucket_minutes(
        supply.volume, supply.mass, distance=route.bucket_m, rate=rate, people=people, speed=haul.loaded_speed
    )
    kcal = energy(met, shovel / 60 * hands, body_mass=body_mass)
    kcal += energy(MET_WHEELBARROW, (push + tip) / 60 + bucket / 60 * people, body_mass=body_mass)
    return Load(
        bed=supply.bed, material=supply.material, from_id=route.from_id, volume=supply.volume, mass=supply.mass,
        trips=share.trips, per_trip_volume=share.volume, per_trip_mass=share.mass, limit=share.limit,
        shovel_minutes=shovel, push_minutes=push, tip_minutes=tip, bucket_minutes=bucket,
        minutes=shovel + push + tip + bucket, energy_kcal=kcal,
        bags=len(bags or ()), bag_mass=heaviest.mass, gates=route.gates, heaviest_bag=heaviest.name,
    )  # fmt: skip


def crew_choice(load: Load, people: int) -> CrewChoice:
    """Return the minutes of a load with one barrow and with two.

    Parameters
    ----------
    load : Load
        Planned for this number of people.
    people : int

    Notes
    -----
    Side by side: the first barrow is filled; then one is filled while the other is pushed, each trip taking as long
    as the slower of the two; at last the last barrow is pushed.
    """
    together = load.shovel_minutes + load.push_minutes + load.tip_minutes + load.bucket_minutes
    if people < 2 or load.trips == 0:
        return CrewChoice(together, together)
    alone = load.shovel_minutes * min(people, SHOVELS_AT_ONE_TRAY)
    fill = alone / min(people - 1, SHOVELS_AT_ONE_TRAY) / load.trips
    push = (load.push_minutes + load.tip_minutes) / load.trips
    side_by_side = fill + (load.trips - 1) * max(fill, push) + push + load.bucket_minutes
    return CrewChoice(together, side_by_side)


def crew_total(loads: Sequence[Load], people: int) -> CrewChoice:
    """Return the minutes of all loads, with one barrow, and with a second for the loads that it helps."""
    choices = [crew_choice(load, people) for load in loads]
    return CrewChoice(
        sum(choice.together for choice in choices),
        sum(min(choice.together, choice.side_by_side) for choice in choices),
    )
