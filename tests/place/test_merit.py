"""Sun, costs and trips: by hand and by law."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import PlaceSettings
from siteplan.place.merit.merit import (
    Weights,
    WorkMaps,
    barrow_trips,
    cost_in_sun,
    sun_that_counts,
    weights_of,
    work_maps,
)

NOWHERE = WorkMaps(water=None, door=None, walked=False, hose=math.inf, trips=10)
hours = st.floats(0, 16)


def test_trips_by_the_smaller_of_volume_and_mass(tiny_yard):
    # 1.296 m3: 40 % coarse at 187.5 kg/m3 goes by volume (0.085 m3 a load), topsoil by mass (80 / 1250 = 0.064 m3),
    # compost by volume (80 / 700 = 0.114 is more than the tray): 6.10 + 8.10 + 3.05 = 17.2 loads
    assert barrow_trips(tiny_yard, area=2.4 * 1.2, height=0.45) == 18


def test_trips_without_a_recipe(yard):
    # 0.8 m3 at 1000 kg/m3 in loads of 80 kg
    assert barrow_trips(yard(), area=2.0, height=0.4) == 10


@settings(deadline=None, max_examples=50)
@given(hours, hours, st.floats(0, 1))
def test_more_sun_never_counts_less_and_never_more_than_plenty(mean, worst, share):
    weights = Weights(worst=share)
    value = sun_that_counts(min(mean, 8.0), worst, weights=weights, plenty=8.0)
    more = sun_that_counts(min(mean + 1, 8.0), worst + 1, weights=weights, plenty=8.0)
    assert 0 <= value <= more + 1e-9 <= 8 + 2e-9


@settings(deadline=None, max_examples=50)
@given(st.floats(0, 60), st.floats(0, 200), st.floats(0, 200), st.floats(0, 2))
def test_farther_never_costs_less(minutes, water, door, drop):
    here = cost_in_sun(minutes, water, door, drop, weights=Weights(), work=NOWHERE)
    there = cost_in_sun(minutes + 1, water + 1, door + 1, drop + 0.1, weights=Weights(), work=NOWHERE)
    assert there > here >= 0


def test_what_is_not_known_costs_nothing():
    nan = np.full(3, np.nan)
    assert cost_in_sun(nan, nan, nan, nan, weights=Weights(), work=NOWHERE).tolist() == [0, 0, 0]


def test_water_along_the_way_is_taken_where_it_is_handed_in(tiny_yard):
    from siteplan.land.grid import grid_over

    grid = grid_over(tiny_yard.boundary, 1.0)
    way = np.full(grid.shape, 20.0)
    way[0, 0] = np.nan
    walked = work_maps(tiny_yard, grid, water=way, door=None, trips=5)
    assert walked.walked
    assert walked.water is not None
    assert (walked.water == 20).all()
    assert (walked.hose, walked.door) == (15.0, None)
    straight = work_maps(tiny_yard, grid, water=np.full(grid.shape, np.nan), door=None, trips=5)
    assert not straight.walked
    row, column = grid.cell_of(0.4, -2.6)
    assert straight.water is not None
    assert straight.water[row, column] == pytest.approx(math.hypot(0.5 - 0.5, -2.5 + 2.9))


def test_the_site_may_weigh_for_itself():
    assert weights_of(PlaceSettings(weight_water=0.2)).water == 0.2


@pytest.mark.parametrize("wrong", [{"worst": 1.1}, {"door": -0.1}, {"wheeling": math.nan}])
def test_weights_that_make_no_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="must be at least 0"):
        Weights(**wrong)


def test_trips_of_a_blend_are_those_of_its_parts(tiny_yard):
    # 1.296 m3, 60 % of it two parts topsoil to one of compost: as 40 % topsoil and 20 % compost lying apart
    blend = LayerSpec(material="upper mix", fraction=0.6, mix=(("topsoil", 2), ("compost", 1)))
    mixed = Recipe(layers=(LayerSpec(material="coarse organic", fraction=0.4), blend))
    assert barrow_trips(replace(tiny_yard, recipe=mixed), area=2.4 * 1.2, height=0.45) == 18
