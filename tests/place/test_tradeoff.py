"""The trade-off between sun, work and water, and what other weights would choose."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shapely import Point, Polygon

from siteplan.land.features import Tap
from siteplan.place.merit.merit import Weights
from siteplan.place.merit.tradeoff import non_dominated
from siteplan.place.search.search import find_places
from siteplan.say.place_reasons import choice_labels, choice_texts, steady_sentence


@settings(deadline=None, max_examples=50)
@given(arrays(float, st.tuples(st.integers(1, 12), st.just(3)), elements=st.integers(0, 4).map(float)))
def test_the_set_is_what_the_definition_says(costs):
    kept = non_dominated(costs)
    for index, row in enumerate(costs):
        beaten = any((other <= row).all() and (other < row).any() for other in costs)
        equal_before = any((costs[k] == row).all() for k in range(index))
        assert kept[index] == (not beaten and not equal_before)


def test_sun_in_the_east_and_work_in_the_west_is_a_choice(yard, maps_from):
    # each metre eastward is 0.1 h more sun and 10 trips of a minute more: all along it no spot beats another
    site = yard(cell=0.25)
    maps = maps_from(site, lambda x, y: 6 + 0.1 * x + 0 * y)
    minutes = np.broadcast_to(maps.grid.x, maps.grid.shape).copy()
    found = find_places(site, maps, minutes=minutes)
    choices = found.trade_off
    assert 3 <= len(choices) <= 8
    suns = [choice.sun_h for choice in choices]
    works = [choice.minutes for choice in choices]
    assert suns == sorted(suns, reverse=True)
    assert works == sorted(works, reverse=True)
    assert choices[0].x > 8.5
    assert choices[-1].outline.bounds[0] < 1.0
    texts = choice_texts(found, "metric")
    (first,) = [number for number, choice in enumerate(choices) if choice.first]
    assert texts[first] == "the first choice"
    assert choice_labels(found)[first] == "1"  # the place's own number
    told = texts[0 if first else 1]
    assert "more sun" in told or "less sun" in told
    assert "wheeling" in told


def test_where_one_spot_is_best_at_all_there_is_no_choice(yard, maps_from):
    site = yard(taps=(Tap(id="tap", place=Point(9.9, 4)),), cell=0.25)
    found = find_places(site, maps_from(site, lambda x, y: 4 + 0.2 * x + 0 * y))
    assert len(found.trade_off) <= 2  # steps of 0.1 h and 1 m may leave one beside it
    assert found.trade_off[0].x == pytest.approx(found.places[0].x, abs=0.6)


def test_weights_that_decide_are_named(yard, maps_from):
    # sun grows eastward by 0.075 h/m, the tap stands in the west and costs 0.05 h/m: twice that turns the choice
    site = yard(taps=(Tap(id="tap", place=Point(0, 4)),), cell=0.25)
    maps = maps_from(site, lambda x, y: 5 + 0.075 * x + 0 * y)
    found = find_places(site, maps, weights=Weights(water=0.05))
    assert found.places[0].x > 8.5
    assert found.sensitivity is not None
    change = next(one for one in found.sensitivity.changes if (one.weight, one.factor) == ("water", 2.0))
    assert not change.stays
    assert found.places[0].x + change.east < 2
    assert change.moved > 6
    assert all(0 <= one.heading < 180 for one in found.sensitivity.changes)
    # then each metre to the west brings 0.10 h nearer to the water and takes 0.075 h of sun
    assert change.loss_h == pytest.approx(-0.025 * change.east, abs=0.03)  # a cell aside is 0.02 h
    assert steady_sentence(found.sensitivity, "metric").startswith(
        "with twice the weight on the way to the water the best spot lies"
    )
    assert "to the west" in steady_sentence(found.sensitivity, "metric")


def test_where_nothing_competes_the_first_choice_stays(yard, maps_from):
    site = yard(cell=0.25)
    found = find_places(site, maps_from(site, lambda x, y: 4 + 0.2 * x + 0 * y))
    assert found.sensitivity is not None
    assert all(change.stays for change in found.sensitivity.changes)
    said = steady_sentence(found.sensitivity, "metric")
    assert said == "the first choice stays the best when any one weight is halved or doubled"


@pytest.mark.parametrize(("east", "north"), [(1, 0), (-1, 0), (0, 1), (0, -1)])
def test_a_shape_that_has_two_ends_is_told_by_its_long_axis(yard, maps_from, east, north):
    # an L is another one turned by half a circle; where the best one lies is told by its long axis all the same
    ell = Polygon([(0, 0), (2.4, 0), (2.4, 0.8), (0.8, 0.8), (0.8, 2.0), (0, 2.0)])
    maps = maps_from(yard(cell=0.5), lambda x, y: 5 + 0.1 * (east * x + north * y))
    found = find_places(yard(cell=0.5), maps, shape=ell)
    assert {one.heading for one in found.sensitivity.changes} <= set(range(0, 180, 5))  # in steps of 5 degrees
