"""The steps of sawing at the least cost, one by one and by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.walls.cutting import (
    Cut,
    Cutting,
    Plank,
    _cost_step,
    _in_steps,
    _next_possible_cost,
    _relative_gap,
    _whole_counts,
    _without_surplus,
    cutting,
)
from siteplan.walls.patterns import Pattern


def test_lengths_in_tenths_of_a_millimetre():
    # a piece of 1.2 m with its cut of 3 mm is 12030 steps; 1.20004 m are rounded up, a board of 2.40007 m down. A board
    # of 2.4 m has 3 mm more for the cut that its last piece does not need, and 2 mm of tolerance
    problem = _in_steps({1.2: 4, 1.20004: 2}, [1.20004, 1.2], [Plank(2.4, 5.0), Plank(2.40007, 7.0)], 0.003)
    assert problem.sizes == (12031, 12030)
    assert problem.needed.tolist() == [2, 4]
    assert problem.rooms == (24050, 24050)
    assert problem.costs == (5.0, 7.0)


@pytest.mark.parametrize(("costs", "step"), [
    ((2.4, 3.6), 1.2), ((3.0, 7.0), 1.0), ((0.0001, 0.0003), 1e-4), ((1.00005,), 0.0), ((3.0, math.pi), 0.0),
])  # fmt: skip
def test_the_step_of_all_sums_of_costs(costs, step):
    assert _cost_step(costs) == pytest.approx(step, rel=1e-12)


@pytest.mark.parametrize(("bound", "costs", "least"), [
    (10.2, (3.0, 6.0), 12.0), (12.0, (3.0, 6.0), 12.0), (12.000001, (3.0, 6.0), 12.0), (12.001, (3.0, 6.0), 15.0),
    (10.2, (math.pi,), 10.2), (math.inf, (3.0,), math.inf),
])  # fmt: skip
def test_a_bound_is_rounded_up_to_the_next_sum(bound, costs, least):
    assert _next_possible_cost(bound, costs) == least


@pytest.mark.parametrize(("bound", "costs", "gap"), [
    (100.0, (2.0, 4.0), 0.9 * 2 / (105 + 4)), (0.5, (2.0,), 0.9 * 2 / (0.525 + 4)), (0.0, (2.0,), 0.0),
    (100.0, (math.pi,), 0.0),
])  # fmt: skip
def test_the_solver_may_stop_where_no_sum_of_costs_lies_in_between(bound, costs, gap):
    assert _relative_gap(bound, costs) == pytest.approx(gap, rel=1e-12)


@pytest.mark.parametrize(("cost", "least", "proven"), [
    (100.0, 99.99995, True), (100.0, 99.9998, False), (0.5, 0.5 - 5e-7, True), (0.5, 0.5 - 2e-6, False),
])  # fmt: skip
def test_a_cost_within_a_millionth_of_its_bound_is_proven(cost, least, proven):
    assert Cutting((), cost, least).proven is proven


def test_counts_are_whole():
    assert _whole_counts(SimpleNamespace(x=np.array([0.9999, 2.0001, 0.0]))).tolist() == [1, 2, 0]


def test_surplus_pieces_stay_in_the_last_boards():
    # two boards of 2 + 1 pieces and one of 2 short ones give 4 + 4 pieces, one of each too many: the last board keeps
    # a short one, the second a long one
    patterns = [Pattern(0, (2, 1)), Pattern(1, (0, 2))]
    assert _without_surplus(patterns, np.array([2, 1]), [1.2, 0.5], np.array([3, 3])) == [
        Cut(0, ((1.2, 2), (0.5, 1)), 1), Cut(0, ((1.2, 1), (0.5, 1)), 1), Cut(1, ((0.5, 1),), 1),
    ]  # fmt: skip
    assert _without_surplus(patterns, np.array([2, 0]), [1.2, 0.5], np.array([2, 1])) == [
        Cut(0, ((1.2, 2), (0.5, 1)), 1)
    ]
    assert _without_surplus(patterns, np.array([2, 1]), [1.2, 0.5], np.array([4, 4])) == [
        Cut(0, ((1.2, 2), (0.5, 1)), 2), Cut(1, ((0.5, 2),), 1),
    ]  # fmt: skip


def test_the_longest_boards_come_first():
    found = cutting({2.3: 1, 4.7: 2}, [Plank(2.4, 1.0), Plank(3.6, 2.0), Plank(4.8, 3.0)], kerf=0.003)
    assert found == Cutting((Cut(2, ((4.7, 1),), 2), Cut(0, ((2.3, 1),), 1)), 7.0, 7.0)


def test_boards_without_a_price_are_cut_too():
    assert cutting({1.0: 3}, [Plank(2.4, 0.0)], kerf=0.003).cost == 0.0


@pytest.mark.parametrize("most", [3, 2])
def test_as_many_patterns_are_listed_as_may_be(most):
    # of 2.4 m: 1.2 + 1.2 does not fit with its cut, 1.2 + 0.9, 0.9 + 0.9 do: few patterns, and the same answer from
    # those that are generated
    found = cutting({1.2: 2, 0.9: 2}, [Plank(2.4, 2.0)], kerf=0.01, most_patterns=most)
    assert found == Cutting((Cut(0, ((1.2, 1), (0.9, 1)), 2),), 4.0, 4.0)
