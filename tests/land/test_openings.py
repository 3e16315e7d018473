"""How far a gate opens fences, hedges and walls: by hand, both sides of each end."""

from __future__ import annotations

import pytest
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.openings import open_area, open_ground, open_line, way_through


def gate(start, end):
    line = LineString([start, end])
    return Gate(id="g", place=line.interpolate(0.5, normalized=True), line=line, width=line.length)


def fence(line, **given):
    return Fence(id="f", line=LineString(line), height=1.8, **given)


HEDGE = box(0, 0, 10, 1)


@pytest.mark.parametrize(("aside", "open_m"), [(0.0, 2.0), (0.29, 2.0), (0.31, 0.0)])
@pytest.mark.parametrize("side", [1, -1])
def test_a_gate_opens_what_is_nearer_than_a_foot(aside, open_m, side):
    wicket = gate((4, side * aside), (6, side * aside))
    assert 10 - open_line(fence([(0, 0), (10, 0)]), [wicket]).length == pytest.approx(open_m)
    north = gate((4, 1 + aside), (6, 1 + aside))
    assert 10 - open_area(HEDGE, [north]).area == pytest.approx(open_m)
    assert 10 - open_area(HEDGE, [gate((4, -aside), (6, -aside))]).area == pytest.approx(open_m)


def test_several_gates_open_each_their_own_gap():
    gates = [gate((1, 0), (2, 0)), gate((5, 0), (8, 0)), gate((20, 0), (21, 0))]
    assert open_line(fence([(0, 0), (10, 0)]), gates).length == pytest.approx(6)
    assert open_area(HEDGE, gates).area == pytest.approx(6)
    assert open_line(fence([(0, 0), (10, 0)]), []).length == 10
    assert open_area(HEDGE, []).equals(HEDGE)


@pytest.mark.parametrize("thick", [0.01, 0.04, 0.5])
def test_a_fence_is_cut_also_where_it_bends_a_little_at_its_gate(thick):
    bent = fence([(0, 0), (5, 0.03), (10, 0)], thickness=thick)  # the gate's line runs straight, 3 cm beside the bend
    assert open_line(bent, [gate((4, 0), (6, 0))]).intersection(box(4.001, -1, 5.999, 1)).length == 0
    corner = fence([(0, 0), (5, 0), (5, 5)], thickness=thick)  # what goes on around a corner stays
    left = open_line(corner, [gate((3, 0), (5, 0))])
    assert left.length == pytest.approx(3 + 5 - max(thick, 0.05))


def test_the_gap_of_a_hedge_ends_at_its_edges():
    left = open_area(HEDGE, [gate((4, 0.5), (6, 0.5))])
    assert left.equals(MultiPolygon([box(0, 0, 4, 1), box(6, 0, 10, 1)]))
    along = open_area(box(0, 0, 10, 1), [gate((5, 0), (5, 1))])  # a gate laid across: its band runs along the hedge
    assert along.is_empty or along.area < 10


def test_a_gap_reaches_as_deep_as_the_hedge():
    """A hedge of 4 m by 4 m: sqrt 16 and twice 0.3 m are 4.6 m to either side of the gate."""
    assert open_area(box(0, 0, 4, 4), [gate((1, 0), (2, 0))]).area == pytest.approx(12)
    deep = box(0, 0, 1, 16)  # as large, and 16 m deep: 4.6 m are opened
    assert open_area(deep, [gate((0, 0), (1, 0))]).area == pytest.approx(16 - 4.6)


@pytest.mark.parametrize(("second", "area"), [(0.35, 20), (0.25, 20 - 2 * 2)])
def test_another_part_behind_is_opened_where_it_is_as_near(second, area):
    """Two strips a metre deep: of the gate between them both are nearer than 0.3 m, or one is."""
    strips = MultiPolygon([box(0, 0, 10, 1), box(0, 1 + 0.25 + second, 10, 2.25 + second)])
    left = open_area(strips, [gate((4, 1.25), (6, 1.25))])
    assert left.area == pytest.approx(area if second < 0.3 else 20 - 2)


def test_ground_without_and_with_gates():
    thick = fence([(0, 0), (10, 0)], thickness=0.5)
    assert open_ground(thick, []).area == pytest.approx(5)
    assert open_ground(thick, [gate((4, 0), (6, 0))]).equals(
        MultiPolygon([box(0, -0.25, 4, 0.25), box(6, -0.25, 10, 0.25)])
    )
    walled = Fence(id="w", line=LineString(HEDGE.exterior), outline=HEDGE, height=1.8, thickness=0.04)
    assert open_ground(walled, [gate((4, 0), (6, 0))]).area == pytest.approx(8)
    corner = fence([(0, 0), (4, 0), (4, 3)], thickness=1.0)
    assert open_ground(corner, []).area == pytest.approx(4 + 3)  # square at the corner: 0.25 out, 0.25 in
    assert open_ground(Hedge(id="h", outline=HEDGE, height=2), [gate((4, 1), (6, 1))]).area == pytest.approx(8)


@pytest.mark.parametrize(("barriers", "south", "north"), [
    ((), 0.0, 0.0),
    ((fence([(0, 0), (10, 0)], thickness=0.4),), -0.2, 0.2),
    ((fence([(0, 0), (4, 0)], thickness=0.4),), -0.2, 0.2),  # which ends where the gate hangs
    ((Hedge(id="h", outline=HEDGE, height=2),), 0.0, 1.0),
    ((Hedge(id="h", outline=box(0, -1, 10, 0.2), height=2), fence([(0, 0), (10, 0)], thickness=0.6)), -1.0, 0.3),
    ((Hedge(id="h", outline=box(0, 0.29, 10, 1), height=2),), 0.0, 1.0),
    ((Hedge(id="h", outline=box(0, 0.31, 10, 1), height=2),), 0.0, 0.0),  # in which it does not stand
    ((fence([(0, 0.31), (10, 0.31)], thickness=0.4),), 0.0, 0.0),
    ((Hedge(id="h", outline=Polygon([(0, 0), (10, 0), (10, 6), (0, 6), (0, 5), (9, 5), (9, 1), (0, 1)]), height=2),), 0.0, 1.0),
])  # fmt: skip
@pytest.mark.parametrize("backwards", [False, True])
def test_the_way_through_a_gate(barriers, south, north, backwards):
    wicket = gate((6, 0), (4, 0)) if backwards else gate((4, 0), (6, 0))
    line = way_through(wicket, barriers, beyond=0.5)
    assert line.bounds == pytest.approx((5.0, south - 0.5, 5.0, north + 0.5))


def test_the_way_through_a_slanting_gate():
    line = way_through(
        gate((0, 0), (3, 4)), (), beyond=2.5
    )  # its middle at 1.5, 2; across it 4 to the west, 3 to the north
    assert line.equals_exact(LineString([(1.5 + 2, 2 - 1.5), (1.5 - 2, 2 + 1.5)]), 1e-9)
    assert line.distance(Point(1.5, 2)) < 1e-9
