from __future__ import annotations

import dataclasses
import itertools
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from siteplan.fill.fill_results import Supply
from siteplan.haul.haul_plan import plan_haul
from siteplan.haul.loads.pile_service import assign_piles, solve_transport
from siteplan.land.features import Bed, Pile


def supply(bed, at, volume, order=0):
    return Supply(bed=bed, material="topsoil", at=at, volume=volume, mass=volume * 1250, order=order)


@pytest.fixture
def yard(bare_yard):
    return dataclasses.replace(
        bare_yard,
        beds=(Bed(id="east", outline=box(3, -1, 5, 1), height=0.4), Bed(id="west", outline=box(-5, -1, -3, 1), height=0.4)),
        piles=(Pile(id="east heap", shape=Point(4, 3)), Pile(id="west heap", shape=Point(-4, 3))),
    )  # fmt: skip


def test_each_bed_is_served_from_its_own_side(yard):
    crossed = [supply("east", "west heap", 0.5), supply("west", "east heap", 0.5)]
    found = assign_piles(yard, crossed)
    assert [(item.bed, item.at, item.volume) for item in found] == [
        ("east", "east heap", pytest.approx(0.5)),
        ("west", "west heap", pytest.approx(0.5)),
    ]
    assert plan_haul(yard, found).total_minutes < plan_haul(yard, crossed).total_minutes


def test_piles_and_layers_keep_their_volumes(yard):
    before = [supply("east", "west heap", 0.4), supply("east", "east heap", 0.1, 1), supply("west", "east heap", 0.2)]
    after = assign_piles(yard, before)
    for key in (lambda item: item.at, lambda item: (item.bed, item.order)):
        totals = []
        for supplies in (before, after):
            count: Counter = Counter()
            for item in supplies:
                count[key(item)] += item.volume
            totals.append(count)
        assert totals[0] == pytest.approx(totals[1])
    assert sum(item.mass for item in after) == pytest.approx(sum(item.mass for item in before))


def test_one_pile_alone_is_left_as_it_is(yard):
    before = (supply("east", "west heap", 0.4), supply("west", "west heap", 0.4))
    assert assign_piles(yard, before) == before


@settings(deadline=None, max_examples=25)
@given(cost=st.lists(st.floats(1, 100), min_size=9, max_size=9))
def test_transport_equals_the_best_of_all_assignments(cost):
    # three units from three places to three: a vertex of the problem is one of the six assignments
    table = np.array(cost).reshape(3, 3)
    found = solve_transport(table, [1, 1, 1], [1, 1, 1])
    best = min(sum(table[i, j] for i, j in enumerate(order)) for order in itertools.permutations(range(3)))
    assert (found * table).sum() == pytest.approx(best, rel=1e-6)  # the solver's own tolerance
    assert found.sum(axis=0) == pytest.approx([1, 1, 1])
    assert found.sum(axis=1) == pytest.approx([1, 1, 1])


def test_what_is_given_must_be_taken():
    with pytest.raises(ValueError, match="2 is given and 1 is taken"):
        solve_transport(np.ones((1, 1)), [2.0], [1.0])
