"""The patterns with which column generation begins, and what it ends with, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.walls.patterns import (
    CuttingProblem,
    Pattern,
    _best_fit_patterns,
    _most_valuable_counts,
    _packed_bundles,
    _patterns_of_one_kind,
    generated_patterns,
    listed_patterns,
)


def problem(sizes, needed, rooms, costs):
    return CuttingProblem(sizes=sizes, needed=np.array(needed), rooms=rooms, costs=costs)


def test_one_kind_to_a_board_as_many_as_fit_and_are_needed():
    found = _patterns_of_one_kind(problem((3, 2), (9, 1), (10, 5, 2), (1.0, 1.0, 1.0)))
    assert found == [(0, (3, 0)), (1, (1, 0)), (0, (0, 1)), (1, (0, 1)), (2, (0, 1))]


@pytest.mark.parametrize(("sizes", "needed", "rooms", "costs", "patterns"), [
    # 7, then 6 on a second board; 4 where less room is left, with the 7; 2 with the 6
    ((7, 6, 4, 2), (1, 1, 1, 1), (12,), (1.0,), [(0, (1, 0, 1, 0)), (0, (0, 1, 0, 1))]),
    # the board of 12 is cheaper for its length: 6 + 5 on one; the 4 left over needs only the board of 10
    ((6, 5, 4), (1, 1, 1), (10, 12), (1.0, 1.1), [(1, (1, 1, 0)), (0, (0, 0, 1))]),
    # 11 is longer than the usual board of 10: on one of 12, with room for 1
    ((11, 1), (1, 1), (10, 12), (1.0, 9.0), [(1, (1, 1))]),
    # 10 fits the usual board to the end
    ((10, 2), (1, 1), (10, 12), (1.0, 9.0), [(0, (1, 0)), (0, (0, 1))]),
    # of equal price for their length the longer one: 18 of 20
    ((6,), (3,), (10, 20), (1.0, 2.0), [(1, (3,))]),
    ((5,), (2,), (10,), (1.0,), [(0, (2,))]),
])  # fmt: skip
def test_each_piece_goes_where_least_room_is_left(sizes, needed, rooms, costs, patterns):
    assert _best_fit_patterns(problem(sizes, needed, rooms, costs)) == patterns


def test_patterns_that_hold_all_that_is_needed():
    # of 10: one of 3 and three of 2, or five of 2; where one of 2 is needed only both
    assert listed_patterns(problem((3, 2), (1, 9), (10,), (1.0,)), 9) == [(0, (1, 3)), (0, (0, 5))]
    assert listed_patterns(problem((3, 2), (1, 1), (10, 3), (1.0, 1.0)), 9) == [
        (0, (1, 1)), (1, (1, 0)), (1, (0, 1)),
    ]  # fmt: skip
    assert listed_patterns(problem((3, 2), (9, 9), (1,), (1.0,)), 9) == []
    assert isinstance(listed_patterns(problem((3, 2), (1, 1), (10,), (1.0,)), 9)[0], Pattern)


def test_generated_patterns_hold_the_useful_ones_and_their_bound():
    # boards of 10 for 12 pieces of 3 and 8 of 2. The linear programme: x boards of 3 + 3 + 2 + 2 and y of 3 + 3 + 3,
    # 2x + 3y = 12 and 2x = 8, so x = 4 and y = 4/3
    patterns, bound = generated_patterns(problem((3, 2), (12, 8), (10,), (1.0,)))
    assert {(0, (2, 2)), (0, (3, 0))} <= set(patterns)
    assert bound == pytest.approx(4 + 4 / 3, rel=1e-6)
    # a board of 4 at 1 takes one piece of 3 or two of 2, a board of 10 at 3 no more for its price: 12 + 4 boards of 4
    dear, least = generated_patterns(problem((3, 2), (12, 8), (10, 4), (3.0, 1.0)))
    assert {(1, (0, 2))} <= set(dear)
    assert least == pytest.approx(12 + 4, rel=1e-6)
    assert len(set(dear)) == len(dear)


def test_free_boards_have_no_bound():
    _, bound = generated_patterns(problem((3, 2), (12, 8), (10,), (0.0,)))
    assert bound == 0.0


def test_bundles_are_powers_of_two_and_a_rest():
    # ten pieces of 30 of a room of 250 are at most eight: 1, 2, 4 and 1; of 20 three: 1 and 2. In steps of 10
    found = _packed_bundles(problem((30, 20), (10, 3), (250, 90), (1.0, 1.0)), np.array([1.0, 0.5]), 10)
    assert [(bundle.kind, bundle.count, bundle.weight) for bundle in found] == [
        (0, 1, 3), (0, 2, 6), (0, 4, 12), (0, 1, 3), (1, 1, 2), (1, 2, 4),
    ]  # fmt: skip
    assert [len(bundle.packed) for bundle in found] == [23, 20, 14, 23, 24, 22]


def test_a_piece_as_long_as_the_board_fits():
    assert _most_valuable_counts(problem((10, 3), (1, 9), (10,), (1.0,)), np.array([4.0, 1.0])) == [(1, 0)]
    assert _most_valuable_counts(problem((10, 3), (1, 9), (9,), (1.0,)), np.array([4.0, 1.0])) == [(0, 3)]
