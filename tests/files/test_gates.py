"""Is a gate laid where a person means it, whatever the fence looks like?"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, box

from siteplan.files.drawing.gates import laid_gate, note_off_fence
from siteplan.files.remarks import Remarks
from siteplan.land.features import Fence, Hedge


def fence(*points, name="f"):
    return Fence(id=name, line=LineString(points), height=1.8)


STRAIGHT = fence((0, 0), (10, 0))


def test_nearest_fence_wins():
    other = fence((0, 1.5), (10, 1.5), name="other")
    assert laid_gate("g", Point(5, 1.2), 1, [STRAIGHT, other]).line.bounds == (4.5, 1.5, 5.5, 1.5)


def test_gate_near_an_end_is_moved_along():
    assert laid_gate("g", Point(0.2, 0.1), 1, [STRAIGHT]).line.bounds == (0, 0, 1, 0)
    assert laid_gate("g", Point(9.9, 0.1), 1, [STRAIGHT]).line.bounds == (9, 0, 10, 0)


def test_gate_in_the_gap_between_two_fences():
    left, right = fence((0, 0), (4, 0)), fence((5, 0), (9, 0), name="right")
    assert laid_gate("g", Point(4.5, 0), 1, [left, right]).line.bounds == (4, 0, 5, 0)
    drawn = LineString([(4, 0), (5, 0)])
    gate = laid_gate("g", drawn, None, [left, right])
    assert gate.line.equals(drawn)
    assert gate.width == 1


def test_gate_around_a_corner():
    bent = fence((0, 0), (5, 0), (5, 5))
    gate = laid_gate("g", Point(5, 0), 2, [bent])
    assert gate.line.equals(LineString([(4, 0), (5, 0), (5, 1)]))


def test_gate_over_the_seam_of_a_ring():
    ring = Fence(id="ring", line=LineString(box(0, 0, 4, 4).exterior), height=1)  # its seam is at (4, 0)
    gate = laid_gate("g", Point(4, 0), 2, [ring])
    assert gate.line.length == pytest.approx(2)
    assert gate.line.distance(Point(3, 0)) < 1e-9
    assert gate.line.distance(Point(4, 1)) < 1e-9
    drawn = laid_gate("g", LineString([(3.5, 0), (4, 0.5)]), None, [ring])
    assert drawn.line.length == pytest.approx(1)


def test_gate_in_a_fence_of_several_parts():
    parted = Fence(id="f", line=MultiLineString([[(0, 0), (4, 0)], [(6, 0), (10, 0)]]), height=1)
    assert laid_gate("g", Point(8, 0), 1, [parted]).line.bounds == (7.5, 0, 8.5, 0)


def test_gate_in_a_hedge_where_no_fence_is_near():
    hedge = Hedge(id="h", outline=box(0, -0.3, 10, 0.3), height=1.5)
    gate = laid_gate("g", Point(5, 0.1), 1, [hedge])
    assert gate.line.bounds == (4.5, 0.3, 5.5, 0.3)
    assert laid_gate("g", Point(5, 0.1), 1, [hedge, fence((0, 1), (10, 1))]).line.bounds == (4.5, 1, 5.5, 1)


def test_a_gate_wider_than_its_fence():
    with pytest.raises(ValueError, match=r"is 10\.50 m wide, wider than its fence"):
        laid_gate("g", Point(5, 0), 10.5, [STRAIGHT])


@pytest.mark.parametrize(
    ("fences", "system", "words"),
    [
        ([], "metric", "(none is drawn)"),
        ([STRAIGHT], "metric", '(the nearest, fence "f", is 2.10 m away)'),
        ([STRAIGHT], "imperial", '(the nearest, fence "f", is 6 ft 10 1/2 in away)'),  # 2.1 m / 0.0254 m = 82.7 in
    ],
)
def test_a_gate_on_no_fence_is_left_out_and_told(fences, system, words):
    place = Point(5, 2.1)
    assert laid_gate("g", place, 1, fences) is None
    remarks = Remarks(system=system)
    note_off_fence("g", place, fences, remarks)
    (caution,) = remarks.all_cautions()
    assert (caution.code, caution.feature) == ("gate-off-fence", "g")
    assert words in caution.text
    assert "left out and opens nothing" in caution.text


@settings(deadline=None, max_examples=60)
@given(st.floats(0, 15), st.floats(-1.9, 1.9), st.floats(0.3, 4))
def test_gap_is_as_wide_as_the_gate_and_lies_in_the_fence(along, aside, width):
    bent = fence((0, 0), (6, 0), (10, 5), (15, 5))
    place = bent.line.interpolate(along)
    gate = laid_gate("g", Point(place.x, place.y + aside / 2), width, [bent])
    assert gate.line.length == pytest.approx(width)
    ends = [Point(point) for point in gate.line.coords]
    at_the_end = any(end.distance(bent.line) > 1e-6 for end in ends)
    if at_the_end:  # only where it was drawn beyond an end of the fence
        assert min(bent.line.project(gate.place), bent.line.length - bent.line.project(gate.place)) < 1e-6
