"""In what order is the work done, and on which day?

Bed by bed, in as few visits as layers and deliveries allow, the farthest bed first. A trip is not split between days.
Weather is not considered.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from siteplan.haul.haul_results import Delivery, Load, Run
from siteplan.land.site import HaulSettings, Labour


def order_of_work(
    loads: Sequence[Load],
    layers: Sequence[int],
    delivered: Sequence[bool],
    labour: Labour,
    *,
    haul: HaulSettings | None = None,
) -> tuple[Run, ...]:
    """Return the loads as runs of whole trips, day by day.

    Parameters
    ----------
    loads : sequence of Load
    layers : sequence of int
        Layer of each load, 0 at the bottom: a layer begins only when the one below it is complete.
    delivered : sequence of bool
        Whether each load waits for a delivery.
    labour : Labour
        Gives the hours in a day. The minutes of a load are already those of the crew.
    haul : HaulSettings, optional
        Share of rests, and the day on which deliveries come; by default common practice.

    Notes
    -----
    Each bed is filled in one visit, from the bottom up, the farthest bed first. Beds that wait for no delivery come
    before the others. If deliveries come on a later day, the layers below them are filled before: such a bed is
    visited twice. A single trip that takes longer than a day has a day of its own. A filled bed blocks no route,
    since routes avoid all beds, filled or not.
    """
    haul = haul or HaulSettings()
    parts = Counter((load.bed, layer) for load, layer in zip(loads, layers, strict=True) if load.trips > 0)
    day, clock = 1, 0.0
    runs: list[Run] = []
    for i in _in_visits(loads, layers, delivered, waits=haul.delivery_day > 1):
        load = loads[i]
        trip_minutes = load.minutes / load.trips / (1 - haul.rest)
        if delivered[i] and day < haul.delivery_day:
            day, clock = haul.delivery_day, 0.0
        for run_day, start, trips in _by_days(load.trips, trip_minutes, day, clock, labour.hours_per_day * 60):
            runs.append(
                Run(
                    number=len(runs) + 1,
                    day=run_day,
                    bed=load.bed,
                    material=load.material,
                    from_id=load.from_id,
                    trips=trips,
                    start=start,
                    minutes=trips * trip_minutes,
                    delivered=delivered[i],
                    mixed=parts[load.bed, layers[i]] > 1,
                    per_trip_mass=load.per_trip_mass,
                    gates=load.gates,
                )
            )
            day, clock = run_day, start + trips * trip_minutes
    return tuple(runs)


def _by_days(
    trips: int, trip_minutes: float, day: int, clock: float, day_length: float
) -> Iterator[tuple[int, float, int]]:
    """Yield the day, the start and the number of trips of each run of a load, from a time of a day on. [min]

    A day has at least one trip, also if the trip takes longer than the day. A trip may take no time at all.
    """
    while trips:
        fitting = min(trips, max(0, math.floor((day_length - clock) / max(trip_minutes, 1e-9) + 1e-9)))
        if fitting == 0 and clock > 0:
            day, clock = day + 1, 0.0
            continue
        fitting = max(fitting, 1)
        yield day, clock, fitting
        clock, trips = clock + fitting * trip_minutes, trips - fitting


def _in_visits(loads: Sequence[Load], layers: Sequence[int], delivered: Sequence[bool], *, waits: bool) -> list[int]:
    """Return the numbers of the loads in the order of work, without loads that have no trips.

    Parameters
    ----------
    loads, layers, delivered
        As for `order_of_work`.
    waits : bool
        Whether deliveries come on a later day than the first.
    """
    sorting: list[tuple[tuple[bool, bool, float, str], int]] = []  # sort key and number of each load
    for bed in dict.fromkeys(load.bed for load in loads):
        of_bed = [i for i, load in enumerate(loads) if load.bed == bed and load.trips > 0]
        of_bed.sort(key=lambda i: (layers[i], delivered[i], -loads[i].push_minutes / loads[i].trips, i))
        longest_push = max((loads[i].push_minutes / loads[i].trips for i in of_bed), default=0.0)
        bought = any(delivered[i] for i in of_bed)
        waiting = False
        for i in of_bed:
            waiting |= waits and delivered[i]  # the layers above a delivered layer wait as well
            sorting.append(((waiting, bought, -longest_push, bed), i))
    return [i for _, i in sorted(sorting, key=lambda pair: pair[0])]


def deliveries_of(runs: Sequence[Run], volumes: Mapping[str, float]) -> tuple[Delivery, ...]:
    """Return when each material must have been delivered, the earliest first.

    Parameters
    ----------
    runs : sequence of Run
    volumes : mapping of str to float
        Delivered, by material. [m3]
    """
    first_runs: dict[str, Run] = {}
    for run in runs:
        if run.delivered:
            first_runs.setdefault(run.material, run)
    return tuple(Delivery(name, volumes.get(name, 0.0), run.day, run.number) for name, run in first_runs.items())
