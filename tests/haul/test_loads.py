from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString

from siteplan.fill.fill_results import Supply
from siteplan.haul.haul_results import Route
from siteplan.haul.loads.loads import Bag, bag_loads, barrow_loads, bucket_minutes, shovel_minutes, supply_load
from siteplan.haul.loads.work_rates import MET_WHEELBARROW, shovel_met
from siteplan.land.constants import Material
from siteplan.land.site import Barrow

SOIL = Material(
    name="topsoil", kind="mineral", density=1250, density_wet=1560, settling_first=0.1, settling_later=0.03,
    shovel_rate=0.5,
)  # fmt: skip
LINE = LineString([(0, 0), (30, 0)])
ROUTE = Route("heap", "bed", LINE, 30.0, 0.0, loaded_s=36.0, empty_s=24.0, back=LINE.reverse())


def load(volume=1.0, mass=1250.0, *, people=1, route=ROUTE, material=SOIL):
    supply = Supply(bed="bed", material="topsoil", at="heap", volume=volume, mass=mass)
    return supply_load(supply, barrow=Barrow(volume=0.085, load=80), people=people, material=material, route=route)


def test_minutes_by_hand():
    # 16 trips: 1 m3 at 0.5 m3/h is 120 min; 16 times out in 36 s and back in 24 s is 16 min; 16 times 0.75 min is 12
    found = load()
    parts = (found.shovel_minutes, found.push_minutes, found.tip_minutes, found.bucket_minutes, found.minutes)
    assert parts == pytest.approx((120, 16, 12, 0, 148), rel=1e-12)  # rounding


def test_energy_by_hand():
    # one person shovels 1250 kg in 2 h, 10.4 kg/min = 23 lb/min: 8.8 MET; 28 min behind the barrow at 5.5 MET; 80 kg
    assert load().energy_kcal == pytest.approx(80 * (8.8 * 2 + 5.5 * 28 / 60), rel=1e-9)
    assert (shovel_met(1250 / 120), MET_WHEELBARROW) == (8.8, 5.5)


def test_two_shovel_together_and_a_third_waits():
    assert load(people=2).shovel_minutes == 60
    assert load(people=3).minutes == load(people=2).minutes
    assert load(people=2).push_minutes == load(people=1).push_minutes


def test_a_material_without_figures_is_shovelled_at_the_usual_rate():
    assert load(material=None).shovel_minutes == 120


def test_nothing_to_carry_takes_no_time():
    found = load(0.0, 0.0)
    assert (found.trips, found.minutes) == (0, 0.0)


def test_the_last_metres_by_bucket_by_hand():
    # 0.12 m3 in buckets of 12 l that weigh less than 12 kg: 10 buckets, 5 walks of twice 6 m at 3 km/h is 1.2 min;
    # and all of it is shovelled once more: 14.4 min
    found = bucket_minutes(0.12, 60.0, distance=6.0, rate=0.5, people=1)
    assert found == pytest.approx(1.2 + 14.4, rel=1e-12)  # rounding
    # heavy: 0.012 m3 of soil are 15 kg, so that 12 kg fill a bucket; 150 kg are 13 buckets, 7 walks
    assert bucket_minutes(0.12, 150.0, distance=6.0, rate=0.5, people=1) == pytest.approx(7 * 0.24 + 14.4, rel=1e-12)
    assert bucket_minutes(0.12, 60.0, distance=0.0, rate=0.5, people=1) == 0.0


@pytest.mark.parametrize("wrong", [{"volume": -1.0}, {"mass": -1.0}, {"tray": 0.0}, {"load": 0.0}])
def test_what_cannot_be_carried_is_refused(wrong):
    given_ = {"volume": 1.0, "mass": 1.0, "tray": 0.1, "load": 10.0} | wrong
    with pytest.raises(ValueError, match="volume and mass must be at least 0, tray and load above 0"):
        barrow_loads(**given_)


quantities = st.floats(1e-4, 50, allow_subnormal=False)
densities = st.floats(20, 2500)


@settings(deadline=None, max_examples=60)
@given(volume=quantities, density=densities, tray=st.floats(0.02, 0.5), limit=st.floats(20, 200))
def test_trips_times_load_are_the_whole_and_no_load_is_too_much(volume, density, tray, limit):
    found = barrow_loads(volume, volume * density, tray=tray, load=limit)
    assert found.trips * found.volume == pytest.approx(volume, rel=1e-12)  # rounding
    assert found.trips * found.mass == pytest.approx(volume * density, rel=1e-12)
    assert found.volume <= tray * (1 + 1e-6)
    assert found.mass <= limit * (1 + 1e-6)
    fewer = found.trips - 1
    assert fewer == 0 or volume / fewer > tray or volume * density / fewer > limit


@settings(deadline=None, max_examples=40)
@given(volume=quantities, density=densities, people=st.integers(1, 5))
def test_more_people_are_never_slower(volume, density, people):
    assert shovel_minutes(volume, rate=0.5, people=people + 1) <= shovel_minutes(volume, rate=0.5, people=people)
    slow = bucket_minutes(volume, volume * density, distance=5, rate=0.5, people=people)
    assert bucket_minutes(volume, volume * density, distance=5, rate=0.5, people=people + 1) <= slow


def test_bags_are_carried_whole_by_hand():
    # seven bags of 0.04 m3 and 28 kg: two at a time by volume (0.085 / 0.04), two by mass (80 / 28): four trips
    supply = Supply(bed="bed", material="compost", at="", volume=0.25, mass=175.0)
    found = supply_load(
        supply,
        barrow=Barrow(volume=0.085, load=80),
        people=1,
        material=SOIL,
        route=ROUTE,
        bags=(Bag(0.04, 28.0),) * 7,
    )
    assert (found.bags, found.trips, found.limit) == (7, 4, "volume")
    assert found.shovel_minutes == 7  # a minute each to lift and to empty
    assert found.per_trip_volume == pytest.approx(0.08, rel=1e-12)  # rounding
    assert found.per_trip_mass == pytest.approx(56, rel=1e-12)
    assert found.bag_mass == pytest.approx(28, rel=1e-12)


def test_bags_are_shared_out_evenly():
    # nine bags, four at a time: three trips of three, not four, four and one
    found = bag_loads([Bag(0.028, 19.6)] * 9, tray=0.17, load=4 * 0.028 * 700)
    assert (found.trips, found.limit) == (3, "mass")
    assert found.volume == pytest.approx(3 * 0.028)


def test_each_bag_counts_with_its_own_mass():
    # bags of 60, 30 and 40 kg with a barrow of 80 kg: the second does not go with the first, but with the third
    bags = [Bag(0.04, 60.0), Bag(0.02, 30.0), Bag(0.04, 40.0)]
    found = bag_loads(bags, tray=0.085, load=80.0)
    assert (found.trips, found.volume, found.mass, found.limit) == (2, pytest.approx(0.06), 70.0, "mass")


def test_a_load_in_bags_of_a_blend_weighs_what_is_bought():
    # 60 L of topsoil in two bags of 50 L and 51.5 kg: both bags in one trip of 110 L and 120 kg are 103 kg
    supply = Supply(bed="bed", material="topsoil", at="", volume=0.06, mass=75.0)
    found = supply_load(
        supply, barrow=Barrow(volume=0.11, load=120), people=1, material=SOIL, route=ROUTE,
        bags=(Bag(0.05, 51.5, "raised bed mix"),) * 2,
    )  # fmt: skip
    assert (found.trips, found.mass, found.per_trip_mass) == (1, 75.0, 103.0)
    assert (found.bag_mass, found.heaviest_bag) == (51.5, "raised bed mix")


def test_a_bag_heavier_than_the_barrow_may_be_is_still_one_load():
    assert bag_loads([Bag(0.1, 100.0)] * 3, tray=0.085, load=80.0).trips == 3
    assert bag_loads([], tray=0.085, load=80.0).trips == 0
    assert (
        bag_loads([Bag(0.04, 0.0)] * 4, tray=0.085, load=80.0).trips == 2
    )  # what weighs nothing fills the tray alone


@settings(deadline=None, max_examples=40)
@given(bags=st.lists(st.floats(0.01, 0.08), min_size=1, max_size=60), density=densities)
def test_whole_bags_never_overfill_the_barrow(bags, density):
    found = bag_loads([Bag(volume, volume * density) for volume in bags], tray=0.085, load=80.0)
    most = min(0.085, 80.0 / density)
    assert found.volume <= max(most, *bags) * (1 + 1e-6)
    assert found.mass == pytest.approx(found.volume * density, rel=1e-12)
    assert found.trips >= math.ceil(sum(bags) / max(most, *bags) - 1e-6)
    assert found.trips <= len(bags)
