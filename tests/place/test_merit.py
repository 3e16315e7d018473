"""Sun, costs and trips: by hand and by law."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point

from siteplan.land.features import Door, Tap
from siteplan.land.grid import Grid, grid_over
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import Barrow, PlaceSettings
from siteplan.land.terrain import Terrain
from siteplan.place.merit.merit import (
    COSTS,
    Weights,
    WorkMaps,
    barrow_trips,
    cost_in_sun,
    cost_terms,
    fill_from_nearest,
    hours_of,
    straight_distance,
    sun_that_counts,
    weights_of,
    work_maps,
)
from siteplan.sun.bed_sun import BedSun

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


@pytest.mark.parametrize(("weight", "cost"), [
    ("wheeling", 0.7 * 3.0 * 20 / 60),  # twenty trips of 3 min are an hour
    ("water", 0.7 * 20.0), ("beyond_hose", 0.7 * 5.0), ("door", 0.7 * 10.0), ("levelling", 0.7 * 0.2),
])  # fmt: skip
def test_each_price_by_itself(weight, cost):
    work = WorkMaps(water=None, door=None, walked=False, hose=15.0, trips=20)
    weights = Weights(**{name: 0.7 * (name == weight) for name in COSTS})
    assert cost_in_sun(3.0, 20.0, 10.0, 0.2, weights=weights, work=work) == pytest.approx(cost)


def test_what_each_price_is_multiplied_by():
    work = WorkMaps(water=None, door=None, walked=False, hose=15.0, trips=20)
    terms = cost_terms(3.0, 14.0, 10.0, 0.2, work=work)
    assert terms == pytest.approx({"wheeling": 1.0, "water": 14, "beyond_hose": 0, "door": 10, "levelling": 0.2})
    assert cost_terms(3.0, 15.5, 10.0, 0.2, work=work)["beyond_hose"] == pytest.approx(0.5)


@pytest.mark.parametrize(("share", "mean", "worst", "counts"), [
    (0.0, 7.0, 3.0, 7.0), (1.0, 7.0, 3.0, 3.0), (0.25, 7.0, 3.0, 6.0), (0.25, 7.0, 9.0, 7.25), (0.25, 7.0, 8.0, 7.25),
])  # fmt: skip
def test_the_worst_cell_has_its_share(share, mean, worst, counts):
    assert float(sun_that_counts(mean, worst, weights=Weights(worst=share), plenty=8.0)) == pytest.approx(counts)


def bed_sun(cells, months=None):
    """Return the sun of four cells; what a search does not read is nothing."""
    nothing = dict.fromkeys(BedSun.__dataclass_fields__)
    return BedSun(**nothing | {"cell_season_h": np.array(cells), "cell_month_h": months})


def test_the_hours_of_a_bed_by_hand():
    # of 4, 6, 8 and 10 h capped at 8: a mean of 6.5; the worst is 4: 0.5 x 6.5 + 0.5 x 4
    found = hours_of(bed_sun([4.0, 6.0, 8.0, 10.0]), None, weights=Weights(worst=0.5), plenty=8.0)
    assert (found.season, found.worst, found.counting) == (7.0, 4.0, 5.25)
    # two months, the second three times as heavy: 0.25 x 2 + 0.75 x 6 = 5 and 0.25 x 6 + 0.75 x 10 = 9
    months = np.zeros((12, 2))
    months[4], months[5] = (2.0, 6.0), (6.0, 10.0)
    share = np.zeros(12)
    share[4], share[5] = 0.25, 0.75
    found = hours_of(bed_sun([0.0, 0.0], months), share, weights=Weights(worst=0.5), plenty=8.0)
    assert (found.season, found.worst, found.counting) == (7.0, 5.0, 0.5 * 6.5 + 0.5 * 5.0)
    with pytest.raises(ValueError, match="cell_month_h is None"):
        hours_of(bed_sun([1.0]), share, weights=Weights(), plenty=8.0)


@pytest.mark.parametrize(("layers", "trips"), [
    # 0.8 m3; a load is 0.1 m3, or 80 kg: 0.08 m3 at the 1,000 kg/m3 of what no table lists
    ((LayerSpec(material="unknown", fraction=1.0),), 10),
    ((LayerSpec(material="unknown", thickness=0.2),), 5),  # half of 0.4 m
    ((LayerSpec(material="unknown", thickness=0.2), LayerSpec(material="unknown", fraction=0.1)), 6),
    ((LayerSpec(material="unknown", fraction=1.0, mix=(("a", 1), ("b", 3))),), 10),
])  # fmt: skip
def test_trips_of_layers_by_hand(yard, layers, trips):
    recipe = Recipe(layers=layers)
    site = yard(recipe=recipe, barrow=Barrow(volume=0.1, load=80.0))
    assert barrow_trips(site, area=2.0, height=0.4) == trips


def test_a_rounding_makes_no_trip_more(yard):
    site = yard(recipe=Recipe(layers=()), barrow=Barrow(volume=0.1, load=1000.0))
    assert barrow_trips(site, area=1.0, height=0.3) == 3  # 0.3 / 0.1 is a hair more than 3
    assert barrow_trips(site, area=1.0, height=0.300_01) == 4


def test_work_without_taps_doors_and_slopes(yard):
    site = yard()
    work = work_maps(site, grid_over(site.boundary, 1.0), water=None, door=None, trips=7)
    assert (work.water, work.door, work.rise_east, work.rise_north) == (None, None, None, None)
    assert (work.walked, work.door_walked, work.hose, work.trips) == (False, False, math.inf, 7)


@pytest.mark.parametrize(("hoses", "longest"), [
    ((10.0, 25.0), 25.0), ((10.0,), 10.0), ((10.0, None), math.inf), ((None,), math.inf), ((), math.inf),
])  # fmt: skip
def test_the_longest_hose_counts_where_all_are_known(yard, hoses, longest):
    taps = tuple(Tap(id=f"t{k}", place=Point(k, 1), hose_length=one) for k, one in enumerate(hoses))
    site = yard(taps=taps)
    assert work_maps(site, grid_over(site.boundary, 1.0), water=None, door=None, trips=1).hose == longest


def test_ways_to_tap_and_door_each_by_itself(yard):
    site = yard(taps=(Tap(id="t", place=Point(0.5, 0.5)),), doors=(Door(id="d", place=Point(9.5, 0.5)),))
    grid = grid_over(site.boundary, 1.0)  # ten columns, eight rows
    to_door = np.full(grid.shape, np.nan)
    to_door[0, 0] = 30.0
    work = work_maps(site, grid, water=None, door=to_door, trips=1)
    assert (work.walked, work.door_walked) == (False, True)
    assert (work.door == 30).all()
    assert work.water[7, :3].tolist() == [0, 1, 2]
    assert work.water[4, 4] == 5.0
    nothing = np.full(grid.shape, np.nan)
    work = work_maps(site, grid, water=nothing, door=nothing, trips=1)
    assert (work.walked, work.door_walked) == (False, False)
    assert work.door[7, :3].tolist() == [9, 8, 7]


def test_the_slope_of_the_ground_is_told(yard):
    cells = Grid(-5, 15, 0.5, 40, 40)
    x, y = np.meshgrid(cells.x, cells.y)
    site = yard(terrain=Terrain(cells, 0.05 * x - 0.02 * y))
    work = work_maps(site, grid_over(site.boundary, 1.0), water=None, door=None, trips=1)
    assert work.rise_east == pytest.approx(0.05)
    assert work.rise_north == pytest.approx(-0.02)


def test_distances_to_the_nearest_of_several():
    found = straight_distance(Grid(0, 1, 1, 1, 4), [(0.5, 0.5), (3.5, 4.5, 9.0)])
    assert found.tolist() == [[0.0, 1.0, 2.0, 3.0]]
    assert straight_distance(Grid(0, 1, 1, 1, 4), []) is None


def test_what_is_unknown_everywhere_is_nothing():
    assert fill_from_nearest(np.full((2, 2), np.nan)).tolist() == [[0, 0], [0, 0]]
    assert fill_from_nearest(np.array([[1.0, np.inf], [np.nan, np.nan]])).tolist() == [[1, 1], [1, 1]]
