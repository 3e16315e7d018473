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


def test_layers_come_before_the_next_then_stock_then_far_beds():
    loads = [load("a", material="top"), load("near"), load("far", push=20), load("bought")]
    runs = order_of_work(loads, [1, 0, 0, 0], [False, False, False, True], Labour(hours_per_day=10))
    assert [run.bed for run in runs] == ["far", "near", "bought", "a"]
    assert [run.number for run in runs] == [1, 2, 3, 4]
    assert [run.delivered for run in runs] == [False, False, True, False]


def test_rest_and_days_by_hand():
    # 50 min of work are 60 with ten minutes of rest in the hour; a day of 1.6 h holds 96 min: eight trips of 12 min
    runs = order_of_work([load(), load("other")], [0, 0], [False, False], Labour(hours_per_day=1.6))
    assert [(run.day, run.bed, run.trips) for run in runs] == [(1, "bed", 5), (1, "other", 3), (2, "other", 2)]
    assert [run.start for run in runs] == pytest.approx([0, 60, 0])
    assert [run.minutes for run in runs] == pytest.approx([60, 36, 24])


def test_a_trip_longer_than_a_day_has_its_own():
    runs = order_of_work([load(minutes=500, trips=2)], [0], [False], Labour(hours_per_day=1))
    assert [(run.day, run.trips) for run in runs] == [(1, 1), (2, 1)]


def test_nothing_to_carry_is_no_run():
    assert order_of_work([load(trips=0)], [0], [False], Labour()) == ()


@settings(deadline=None, max_examples=40)
@given(
    jobs=st.lists(st.tuples(st.integers(1, 30), st.floats(1, 400), st.integers(0, 3), st.booleans()), max_size=8),
    hours=st.floats(0.5, 10),
)
def test_every_trip_is_run_once_in_layer_order(jobs, hours):
    loads = [
        load(f"bed {k}", minutes=minutes, trips=trips, push=1.0) for k, (trips, minutes, _, _) in enumerate(jobs)
    ]
    layers = [layer for _, _, layer, _ in jobs]
    runs = order_of_work(loads, layers, [bought for *_, bought in jobs], Labour(hours_per_day=hours))
    assert sum(run.trips for run in runs) == sum(item.trips for item in loads)
    of = {item.bed: layer for item, layer in zip(loads, layers, strict=True)}
    assert [of[run.bed] for run in runs] == sorted(of[run.bed] for run in runs)
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
    assert [(run.bed, run.day, run.start) for run in runs] == [("stock", 1, 0), ("bought", 3, 0), ("upper", 3, 60)]


def test_deliveries_are_told_before_their_first_run():
    loads = [load("a", material="soil"), load("a", material="compost"), load("b", material="soil")]
    runs = order_of_work(loads, [0, 1, 0], [True, True, True], Labour(hours_per_day=1.5))
    found = deliveries_of(runs, {"soil": 2.0, "compost": 1.0})
    assert [(one.material, one.volume, one.before_run) for one in found] == [("soil", 2.0, 1), ("compost", 1.0, 4)]
    assert [one.day for one in found] == [1, runs[3].day]
    assert deliveries_of([run for run in runs if not run.delivered], {}) == ()


def test_a_layer_from_two_places_is_mixed():
    loads = [load("a"), load("a", material="bought soil"), load("b")]
    runs = order_of_work(loads, [0, 0, 0], [False, True, False], Labour(hours_per_day=10))
    assert {run.bed: run.mixed for run in runs} == {"a": True, "b": False}


@settings(deadline=None, max_examples=30)
@given(layers=st.lists(st.integers(0, 3), min_size=1, max_size=8), day=st.integers(1, 4))
def test_no_layer_begins_before_the_one_below_lies_in_every_bed(layers, day):
    loads = [load(f"bed {k % 3}", material=f"m{k}") for k in range(len(layers))]
    delivered = [k % 2 == 0 for k in range(len(layers))]
    runs = order_of_work(loads, layers, delivered, Labour(hours_per_day=2), haul=HaulSettings(delivery_day=day))
    levels = [layers[int(run.material[1:])] for run in runs]
    assert levels == sorted(levels)
    starts = [(run.day, run.start) for run in runs]
    assert starts == sorted(starts)
    assert all(run.day >= day for run in runs if run.delivered)
    assert sum(run.trips for run in runs) == sum(one.trips for one in loads)
