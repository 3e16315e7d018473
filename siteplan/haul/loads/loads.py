"""How many barrow loads, and how long do they take?

Whole trips by the smaller of the tray's volume and what may be pushed; minutes from shovelling, way and tipping.
It leaves out the order of the work, and rests.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

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
from siteplan.haul.results import Load, Route
from siteplan.land.constants import Material
from siteplan.land.site import Barrow, HaulSettings

if TYPE_CHECKING:
    from siteplan.fill.results import Supply

SHOVEL_RATE = 0.5  # m3/h, one person, where the material has none of its own. Common practice, no source
_WHOLE = 1e-9  # a trip is not begun for less than this share of a load


@dataclass(frozen=True)
class BarrowLoad:
    """How a quantity is shared out among trips.

    Attributes
    ----------
    trips : int
    volume, mass : float
        Of each, all equal. [m3, kg]
    limit : str
        ``volume`` or ``mass``: what fills the barrow first.
    fullest : float
        Most that one load of it may be. [m3]
    """

    trips: int
    volume: float
    mass: float
    limit: str
    fullest: float


def barrow_loads(volume: float, mass: float, *, tray: float, load: float) -> BarrowLoad:
    """Return the fewest whole trips that carry a quantity.

    Parameters
    ----------
    volume, mass : float
        Of the whole. [m3, kg]
    tray, load : float
        What the barrow holds, and what is pushed at once. [m3, kg]

    Examples
    --------
    A cubic metre of topsoil, with a barrow of 85 litres and 80 kg, and one of wood chips:

    >>> soil = barrow_loads(1.0, 1250.0, tray=0.085, load=80.0)
    >>> soil.trips, soil.limit, soil.fullest
    (16, 'mass', 0.064)
    >>> barrow_loads(1.0, 300.0, tray=0.085, load=80.0).trips
    12
    >>> barrow_loads(0.0, 0.0, tray=0.085, load=80.0).trips
    0
    """
    if volume < 0 or mass < 0 or tray <= 0 or load <= 0:
        raise ValueError(
            f"volume {volume:g} m3, mass {mass:g} kg, tray {tray:g} m3 and load {load:g} kg: none below 0"
        )
    heavy = mass * tray > load * volume
    fullest = volume * load / mass if heavy and mass > 0 else tray
    trips = max(math.ceil(volume / tray - _WHOLE), math.ceil(mass / load - _WHOLE), 0)
    if trips == 0 and (volume > 0 or mass > 0):
        trips = 1
    each = max(trips, 1)
    return BarrowLoad(trips, volume / each, mass / each, "mass" if heavy else "volume", fullest)


def bag_loads(bags: int, volume: float, mass: float, *, tray: float, load: float) -> BarrowLoad:
    """Return the fewest whole trips that carry whole bags; a bag is never divided between two.

    Parameters
    ----------
    bags : int
    volume, mass : float
        Of all of them. [m3, kg]
    tray, load : float
        What the barrow holds, and what is pushed at once: one bag at the least. [m3, kg]

    Examples
    --------
    Ten bags of 28 litres and 20 kg, with a barrow of 85 litres and 80 kg: three at a time by volume.

    >>> bag_loads(10, 0.28, 200.0, tray=0.085, load=80.0).trips
    4
    """
    if bags <= 0:
        return BarrowLoad(0, 0.0, 0.0, "volume", tray)
    by_volume = math.floor(tray * bags / volume + _WHOLE) if volume > 0 else bags
    by_mass = math.floor(load * bags / mass + _WHOLE) if mass > 0 else bags
    at_once = max(1, min(by_volume, by_mass))
    trips = math.ceil(bags / at_once)
    limit = "mass" if by_mass < by_volume else "volume"
    return BarrowLoad(trips, volume / trips, mass / trips, limit, at_once * volume / bags)


def shovel_minutes(volume: float, *, rate: float, people: int) -> float:
    """Return how long loading takes; more than two at one tray are in each other's way. [min]

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
    """Return how long it takes to carry a quantity the last metres by bucket, filling them included. [min]

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


def share_out(supply: Supply, barrow: Barrow, bag: float | None = None) -> tuple[BarrowLoad, int]:
    """Return the trips of one supply and how many bags it is; with a `bag` volume [m3] whole bags are carried."""
    if bag is None:
        return barrow_loads(supply.volume, supply.mass, tray=barrow.volume, load=barrow.load), 0
    bags = math.ceil(supply.volume / bag - _WHOLE)
    return bag_loads(bags, supply.volume, supply.mass, tray=barrow.volume, load=barrow.load), bags


def supply_load(
    supply: Supply,
    *,
    from_id: str,
    barrow: Barrow,
    people: int,
    material: Material | None,
    route: Route | None,
    bag: float | None = None,
    haul: HaulSettings | None = None,
    body_mass: float = BODY_MASS,
) -> Load:
    """Return the trips and minutes of one supply; minutes are NaN where it has no route.

    Parameters
    ----------
    supply : Supply
    from_id : str
        Pile or tipping spot.
    barrow : Barrow
    people : int
    material : Material or None
        For how fast it is shovelled.
    route : Route or None
    bag : float, optional
        Volume of a bag, where it comes in bags: they are lifted, not shovelled. [m3]
    haul : HaulSettings, optional
        Common practice when not given.
    body_mass : float
        Of one person. [kg]

    Notes
    -----
    One barrow: the crew loads it together, one pushes, and the others wait or rake. Energy counts all who work.
    """
    haul = haul or HaulSettings()
    share, bags = share_out(supply, barrow, bag)
    rate = haul.shovel_pace * (material.shovel_rate if material else SHOVEL_RATE)
    hands = min(people, SHOVELS_AT_ONE_TRAY)
    shovel = shovel_minutes(supply.volume, rate=rate, people=people)
    if bags:
        shovel = bags * haul.bag_time * 60 / hands
    tip = share.trips * haul.tip_time * 60
    push = bucket = kcal = math.nan
    if route is not None:
        push = share.trips * (route.loaded_s + route.empty_s) / 60
        bucket = bucket_minutes(
            supply.volume, supply.mass, distance=route.bucket_m, rate=rate, people=people, speed=haul.loaded_speed
        )
        per_minute = supply.mass / max(supply.volume, 1e-12) * rate / 60
        met = MET_WHEELBARROW if bags else shovel_met(per_minute)
        kcal = energy(met, shovel / 60 * hands, body_mass=body_mass)
        kcal += energy(MET_WHEELBARROW, (push + tip) / 60 + bucket / 60 * people, body_mass=body_mass)
    return Load(
        bed=supply.bed, material=supply.material, from_id=from_id, volume=supply.volume, mass=supply.mass,
        trips=share.trips, per_trip_volume=share.volume, per_trip_mass=share.mass, limit=share.limit,
        shovel_minutes=shovel, push_minutes=push, tip_minutes=tip, bucket_minutes=bucket,
        minutes=shovel + push + tip + bucket, energy_kcal=kcal, bags=bags,
    )  # fmt: skip
