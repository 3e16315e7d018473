from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.haul.haul_results import Load
from siteplan.haul.loads.loads import crew_choice


def load(trips=4, shovel=8.0, push=16.0, tip=4.0):
    return Load(
        bed="bed", material="soil", from_id="heap", volume=1, mass=100, trips=trips, per_trip_volume=1 / max(trips, 1),
        per_trip_mass=25, limit="mass", shovel_minutes=shovel, push_minutes=push, tip_minutes=tip, bucket_minutes=0,
        minutes=shovel + push + tip,
    )  # fmt: skip


def test_a_long_way_by_hand():
    # two people: filling takes one of them 4 min, out and back 5 min: 4 + 3 x 5 + 5 = 24, against 8 + 20 = 28 together
    found = crew_choice(load(), 2)
    assert (found.together, found.side_by_side) == (28, 24)
    assert found.second_barrow_helps


def test_a_short_way_by_hand():
    # out and back in 1 min, filling alone 10 min: 10 + 3 x 10 + 1 = 41, against 20 + 4 = 24 together
    found = crew_choice(load(shovel=20, push=3, tip=1), 2)
    assert (found.together, found.side_by_side) == (24, 41)
    assert not found.second_barrow_helps


def test_alone_a_second_barrow_is_no_use():
    assert not crew_choice(load(), 1).second_barrow_helps
    assert crew_choice(load(trips=0, shovel=0, push=0, tip=0), 2).side_by_side == 0


def test_no_way_stays_open():
    assert math.isnan(crew_choice(load(push=math.nan), 2).side_by_side)


@settings(deadline=None, max_examples=40)
@given(trips=st.integers(1, 40), shovel=st.floats(1, 500), push=st.floats(0.1, 500))
def test_three_with_two_barrows_are_never_slower_than_three_with_one(trips, shovel, push):
    # two of them fill as they would together, and the pushing goes on at the same time
    found = crew_choice(load(trips=trips, shovel=shovel, push=push), 3)
    assert found.side_by_side <= found.together * (1 + 1e-12)
    assert found.side_by_side == pytest.approx(max(found.side_by_side, shovel, push), rel=1e-12)
