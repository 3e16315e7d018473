"""Which pieces of the greatest value fit into a board, and which patterns are listed? By hand."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.walls.patterns import CuttingProblem, _most_valuable_counts, listed_patterns


def problem(needed, *rooms, sizes=(3, 2)):
    return CuttingProblem(sizes=sizes, needed=np.array(needed), rooms=rooms, costs=(1.0,) * len(rooms))


@pytest.mark.parametrize(("needed", "prices", "counts"), [
    ((1, 2), (3.0, 1.0), (1, 2)),  # all that is needed is 7 of 10: no more pieces than are needed
    ((9, 9), (3.0, 1.0), (3, 0)),  # 9 of 10 at 1 a step; 2 + 2 are worth 8
    ((9, 9), (3.0, 2.5), (0, 5)),  # 12.5; 2 + 2 are worth 11
    ((9, 4), (2.0, 2.5), (0, 4)),  # 10 of the second alone, 9.5 with three of it and one of the first
    ((9, 2), (3.0, 2.5), (2, 2)),  # 11 for all 10
    ((9, 9), (0.0, -1.0), (0, 0)),
])  # fmt: skip
def test_the_most_valuable_pieces_of_a_board_of_10(needed, prices, counts):
    assert _most_valuable_counts(problem(needed, 10), np.array(prices)) == [counts]


def test_each_stock_length_has_its_own():
    assert _most_valuable_counts(problem((9, 9), 2, 3, 5, 10), np.array([3.0, 1.0])) == [
        (0, 1),
        (1, 0),
        (1, 1),
        (3, 0),
    ]


def test_lengths_are_counted_in_their_common_divisor():
    assert _most_valuable_counts(problem((9, 9), 100, sizes=(30, 20)), np.array([3.0, 2.5])) == [(0, 5)]


def test_the_maximal_patterns_of_a_board_are_listed_unless_they_are_too_many():
    # of 10: 3 + 3 + 3 (1 left), 3 + 3 + 2 + 2, 3 + 2 + 2 + 2 (1 left), 2 x 5
    patterns = listed_patterns(problem((9, 9), 10), 4)
    assert sorted(pattern.counts for pattern in patterns) == [(0, 5), (1, 3), (2, 2), (3, 0)]
    assert listed_patterns(problem((9, 9), 10), 3) is None
