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


def test_how_far_from_its_fence_a_gate_may_be_drawn():
    assert laid_gate("g", Point(5, 2.0), 1, [STRAIGHT]).line.bounds == (4.5, 0, 5.5, 0)
    assert laid_gate("g", Point(5, 2.01), 1, [STRAIGHT]) is None
    hedge = Hedge(id="h", outline=box(0, 1, 10, 1.5), height=1)
    assert laid_gate("g", Point(5, 1.2), 1, [STRAIGHT, hedge]).line.bounds == (
        4.5,
        0,
        5.5,
        0,
    )  # a fence before a hedge
    assert laid_gate("g", Point(5, 2.6), 1, [STRAIGHT, hedge]).line.bounds == (4.5, 1.5, 5.5, 1.5)


def test_a_gate_as_wide_as_its_fence_and_wider():
    assert laid_gate("g", Point(3, 0), 10, [STRAIGHT]).line.bounds == (0, 0, 10, 0)
    with pytest.raises(ValueError, match=r'is 10\.01 m wide, wider than its fence "f" \(10\.00 m\)'):
        laid_gate("g", Point(3, 0), 10.01, [STRAIGHT])


@pytest.mark.parametrize(
    ("x", "gap"), [(10.24, (9, 10)), (10.26, (9.76, 10.76)), (-0.24, (0, 1)), (-0.3, (-0.8, 0.2))]
)
def test_a_gate_beyond_the_end_of_its_fence(x, gap):
    """A point more than a quarter of its width past the end stands in the opening beside the fence."""
    west, _, east, _ = laid_gate("g", Point(x, 0), 1, [STRAIGHT]).line.bounds
    assert (west, east) == pytest.approx(gap)


@pytest.mark.parametrize(("drawn", "gap"), [
    ([(9.1, 0), (10.1, 0)], (9.1, 10)),  # nine tenths of it lie on the fence
    ([(9.21, 0), (10.21, 0)], (9.21, 10.21)),  # 0.79: it bridges a gap
    ([(9.19, 0), (10.19, 0)], (9.19, 10)),
    ([(4, 1), (6, 1)], (4, 6)), ([(6, 1), (4, 1)], (4, 6)),
])  # fmt: skip
def test_a_gate_that_is_drawn_as_a_line(drawn, gap):
    gate = laid_gate("g", LineString(drawn), None, [STRAIGHT])
    west, _, east, _ = gate.line.bounds
    assert (west, east) == pytest.approx(gap)
    assert gate.width == pytest.approx(LineString(drawn).length)
    middle = LineString(drawn).interpolate(0.5, normalized=True)
    assert (gate.place.x, gate.place.y) == (middle.x, middle.y)


def test_a_gate_drawn_over_the_seam_of_a_ring_or_beside_it():
    ring = Fence(
        id="ring", line=LineString([(0, 0), (4, 0), (4, 4), (0, 4), (0, 0)]), height=1
    )  # its seam is at (0, 0)
    over = laid_gate("g", LineString([(0, 1), (0, 0), (1, 0)]), None, [ring]).line
    assert over.length == pytest.approx(2)
    assert over.distance(Point(0, 1)) == pytest.approx(0, abs=1e-9)
    assert over.distance(Point(1, 0)) == pytest.approx(0, abs=1e-9)
    beside = laid_gate("g", LineString([(1, 0), (3, 0)]), None, [ring]).line
    assert beside.bounds == pytest.approx((1, 0, 3, 0))
    point = laid_gate("g", Point(0, 0.5), 2, [ring]).line
    assert (point.bounds, point.length) == (pytest.approx((0, 0, 0.5, 1.5)), pytest.approx(2))


@pytest.mark.parametrize(("x", "told"), [
    (13, 'the nearest, fence "f", is 3.00 m away'), (17, 'the nearest, hedge "h", is 2.00 m away'),
])  # fmt: skip
def test_a_gate_off_every_fence_names_the_nearest(x, told):
    remarks = Remarks()
    hedge = Hedge(id="h", outline=box(19, -1, 20, 1), height=1)
    note_off_fence("g", Point(x, 0), [STRAIGHT, hedge], remarks)
    (caution,) = remarks.cautions
    assert (caution.code, caution.feature) == ("gate-off-fence", "g")
    assert caution.text == (
        f"It is on no fence or hedge ({told}), so it is left out and opens nothing. Draw it on its fence."
    )
    note_off_fence("g", Point(0, 0), [], none := Remarks())
    assert "(none is drawn)" in next(iter(none.cautions)).text
