"""The integer programme against every choice there is."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.place.search.selection import best_set, conflicts

merits = st.lists(st.floats(0, 1), min_size=1, max_size=8)


@settings(deadline=None, max_examples=60)
@given(merits, st.sets(st.tuples(st.integers(0, 7), st.integers(0, 7)), max_size=14), st.integers(1, 4))
def test_no_other_choice_is_better(merit, drawn, count):
    n = len(merit)
    pairs = {(min(pair), max(pair)) for pair in drawn if pair[0] != pair[1] and max(pair) < n}
    chosen = best_set(np.array(merit), np.array(sorted(pairs), dtype=np.intp).reshape(-1, 2), count)

    def goes(some):
        return not any(pair in pairs for pair in itertools.combinations(sorted(some), 2))

    assert goes(chosen)
    most = max(
        k for k in range(1, count + 1) if any(goes(some) for some in itertools.combinations(range(n), min(k, n)))
    )
    assert len(chosen) == min(most, n)
    best = max(sum(merit[k] for k in some) for some in itertools.combinations(range(n), len(chosen)) if goes(some))
    assert sum(merit[k] for k in chosen) == pytest.approx(best, abs=1e-6)  # the solver's own tolerance


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=2, max_size=7, unique=True),
    st.sampled_from([0.0, 0.6, 1.0]),
)
def test_conflicts_are_what_lies_nearer_than_the_aisle(corners, aisle):
    boxes = np.array([shapely.box(x / 2, y / 2, x / 2 + 1, y / 2 + 1) for x, y in corners])
    expected = []
    for first, second in itertools.combinations(range(len(boxes)), 2):
        apart = boxes[first].distance(boxes[second])
        overlap = boxes[first].intersection(boxes[second]).area > 0
        if overlap or apart < aisle - 0.0015:  # outlines count as apart to a millimetre
            expected.append([first, second])
    assert conflicts(boxes, aisle=aisle).tolist() == expected


def test_none_asked_for_or_none_there():
    empty = np.empty((0, 2), dtype=np.intp)
    assert best_set(np.array([]), empty, 3) == []
    assert best_set(np.array([1.0]), empty, 0) == []
