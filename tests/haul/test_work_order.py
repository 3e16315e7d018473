from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.haul.haul_results import Load
from siteplan.haul.loads.work_order import deliveries_of, order_of_work
from siteplan.land.site import HaulSettings, Labour


def load(bed="bed", minutes=50.0, trips=5, push=10.0, material="soil"):
    return Load(
        bed=bed, material=material, from_id="heap", volume=1, mass=100, trips=trips, per_trip_volume=1 / max(trips, 1),
        per_trip_mass=20, limit="mass", shovel_minutes=minutes - push, push_minutes=push, tip_minutes=0,
        bucket_minutes=0, minutes=minutes,
    )  # fmt: skip


def test_a_bed_is_filled_in_one_visit_and_far_beds_first():
    loads = [load("a", material="top"), load("near"), load("far", push=20), load("bought"), load("a"), load("far")]
    runs = order_of_work(
        loads, [1, 0, 1, 0, 0, 0], [False, False, False, True, False, True], Labour(hours_per_day=10)
    )
    # beds that wait for no delivery first, of each kind the farthest first, each from the bottom up
    assert [run.bed for run in runs] == ["a", "a", "near", "far", "far", "bought"]
    assert [run.material for run in runs] == ["soil", "top", "soil", "soil", "soil", "soil"]
    assert [run.number for run in runs] == [1, 2, 3, 4, 5, 6]
    assert [run.delivered for run in runs] == [False, False, False, True, False, True]


def test_what_lies_above_a_delivered_layer_waits_with_it():
    # the delivery comes on day 2: the base is laid before, the bought soil and the compost over it after, in one visit
    loads = [load("a", material="base"), load("a", material="soil"), load("a", material="compost"), load("b")]
    runs = order_of_work(
        loads, [0, 1, 2, 0], [False, True, False, False], Labour(hours_per_day=10), haul=HaulSettings(delivery_day=2)
    )
    assert [(run.bed, run.material, run.day) for run in runs] == [
        ("b", "soil", 1), ("a", "base", 1), ("a", "soil", 2), ("a", "compost", 2),
    ]  # fmt: skip


def test_rest_and_days_by_hand():
    # 50 min of work are 60 with ten minutes of rest in the hour; a day of 1.6 h holds 96 min: eight trips of 12 min
    runs = order_of_work([load(), load("other")], [0, 0], [False, False], Labour(hours_per_day=1.6))
    assert [(run.day, run.bed, run.trips) for run in runs] == [(1, "bed", 5), (1, "other", 3), (2, "other", 2)]
    assert [run.start for run in runs] == pytest.approx([0, 60, 0])
    assert [run.minutes for run in runs] == pytest.approx([60, 36, 24])


def test_a_trip_longer_than_a_day_has_its_own():
    runs = order_of_work([load(minutes=500, trips=2)], [0], [False], Labour(hours_per_day=1))
    assert [(run.day, run.trips) for run in runs] == [(1, 1), (2, 1)]


def test_trips_that_take_no_time_are_one_run():
    # bags beside the bed, with no time set for a bag and for tipping
    (run,) = order_of_work([load(minutes=0.0, push=0.0)], [0], [False], Labour(hours_per_day=1))
    assert (run.trips, run.start, run.minutes) == (5, 0.0, 0.0)


def test_nothing_to_carry_is_no_run():
    assert order_of_work([load(trips=0)], [0], [False], Labour()) == ()


@settings(deadline=None, max_examples=40)
@given(
    jobs=st.lists(st.tuples(st.integers(1, 30), st.floats(1, 400), st.integers(0, 3), st.booleans()), max_size=8),
    hours=st.floats(0.5, 10),
)
def test_every_trip_is_run_once(jobs, hours):
    loads = [
        load(f"bed {k}", minutes=minutes, trips=trips, push=1.0) for k, (trips, minutes, _, _) in enumerate(jobs)
    ]
    layers = [layer for _, _, layer, _ in jobs]
    runs = order_of_work(loads, layers, [bought for *_, bought in jobs], Labour(hours_per_day=hours))
    assert sum(run.trips for run in runs) == sum(item.trips for item in loads)
    assert [run.day for run in runs] == sorted(run.day for run in runs)
    for day in {run.day for run in runs}:
        ended = [run.start + run.minutes for run in runs if run.day == day]
        assert ended == sorted(ended)
        assert ended[-1] <= hours * 60 + 1e-6 or sum(run.trips for run in runs if run.day == day) == 1


def test_nothing_is_wheeled_before_the_day_of_its_delivery():
    loads = [load("stock"), load("bought"), load("upper")]
    runs = order_of_work(
        loads, [0, 0, 1], [False, True, False], Labour(hours_per_day=10), haul=HaulSettings(delivery_day=3)
    )
    assert [(run.bed, run.day, run.start) for run in runs] == [("stock", 1, 0), ("upper", 1, 60), ("bought", 3, 0)]


def test_deliveries_are_told_before_their_first_run():
    # an hour each with its rest, a trip 12 min: of a day of 1.5 h seven trips; b is filled on days 1 to 3, after a
    loads = [load("a", material="soil"), load("a", material="compost"), load("b", material="soil")]
    runs = order_of_work(loads, [0, 1, 0], [True, True, True], Labour(hours_per_day=1.5))
    found = deliveries_of(runs, {"soil": 2.0, "compost": 1.0})
    assert [(one.material, one.volume, one.before_run) for one in found] == [("soil", 2.0, 1), ("compost", 1.0, 2)]
    assert [one.day for one in found] == [1, 1]
    assert deliveries_of([run for run in runs if not run.delivered], {}) == ()


def test_a_layer_from_two_places_is_mixed():
    loads = [load("a"), load("a", material="bought soil"), load("b")]
    runs = order_of_work(loads, [0, 0, 0], [False, True, False], Labour(hours_per_day=10))
    assert {run.bed: run.mixed for run in runs} == {"a": True, "b": False}


@settings(deadline=None, max_examples=30)
@given(layers=st.lists(st.integers(0, 3), min_size=1, max_size=8), day=st.integers(1, 4))
def test_no_layer_of_a_bed_begins_before_the_one_below_and_visits_are_few(layers, day):
    loads = [load(f"bed {k % 3}", material=f"m{k}") for k in range(len(layers))]
    delivered = [k % 2 == 0 for k in range(len(layers))]
    runs = order_of_work(loads, layers, delivered, Labour(hours_per_day=2), haul=HaulSettings(delivery_day=day))
    for bed in {run.bed for run in runs}:
        levels = [layers[int(run.material[1:])] for run in runs if run.bed == bed]
        assert levels == sorted(levels)
    beds = [run.bed for run in runs]
    visits = [bed for k, bed in enumerate(beds) if k == 0 or beds[k - 1] != bed]
    assert all(visits.count(bed) <= (2 if day > 1 else 1) for bed in visits)
    starts = [(run.day, run.start) for run in runs]
    assert starts == sorted(starts)
    assert all(run.day >= day for run in runs if run.delivered)
    assert sum(run.trips for run in runs) == sum(one.trips for one in loads)


def test_a_layer_of_two_loads_is_mixed_however_few_their_trips():
    def runs(*trips):
        loads = [
            Load("bed", f"m{n}", "heap", 1.0, 1000.0, count, 0.1, 100.0, "volume", 1.0, 1.0, 1.0, 0.0, 3.0 * count)
            for n, count in enumerate(trips)
        ]
        return order_of_work(loads, layers=[0] * len(trips), delivered=[False] * len(trips), labour=Labour())

    assert [run.mixed for run in runs(1, 1)] == [True, True]
    assert [run.mixed for run in runs(1, 0)] == [False]
    assert [run.mixed for run in runs(2)] == [False]
