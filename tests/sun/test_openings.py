"""Does the sun go through gates, in fences, hedges and walls alike, and do drawn walls stand on their outline?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPoint, Point, Polygon, box, union_all
from shapely.affinity import rotate

from siteplan.land.features import Fence, Gate, Hedge
from siteplan.land.grid import Grid
from siteplan.land.openings import open_area
from siteplan.land.terrain import Terrain
from siteplan.sun.engine import sun_engine
from siteplan.sun.obstacles.prisms import obstacle_prisms


def only(site, **features):
    nothing = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}
    return replace(site, **(nothing | features))


def gate(start, end, name="g"):
    line = LineString([start, end])
    return Gate(id=name, place=line.interpolate(0.5, normalized=True), line=line, width=line.length)


def ground_of(site):
    return union_all([prism.outline for prism in obstacle_prisms(site)])


HEDGE = Hedge(id="h", outline=box(-10, -1, 10, 0), height=2.0, transmittance=0.0)
WALL = Fence(id="w", line=LineString(box(-10, -1, 10, 0).exterior), outline=box(-10, -1, 10, 0), height=2.0)
FENCE = Fence(id="f", line=LineString([(-10, -0.5), (10, -0.5)]), height=2.0, thickness=1.0)
GATE = gate((-1, 0), (1, 0))  # laid along the northern edge of hedge and wall


@pytest.mark.parametrize(
    ("barrier", "opening"),
    [({"hedges": (HEDGE,)}, GATE), ({"fences": (WALL,)}, GATE), ({"fences": (FENCE,)}, gate((-1, -0.5), (1, -0.5)))],
    ids=["hedge", "wall", "fence"],
)
def test_a_gate_goes_all_the_way_through(tiny_yard, barrier, opening):
    standing = ground_of(only(tiny_yard, gates=(opening,), **barrier))
    expected = union_all([box(-10, -1, -1, 0), box(1, -1, 10, 0)])
    assert standing.symmetric_difference(expected).area < 1e-9


@pytest.mark.parametrize(
    ("barrier", "opening"),
    [({"hedges": (HEDGE,)}, GATE), ({"fences": (WALL,)}, GATE), ({"fences": (FENCE,)}, gate((-1, -0.5), (1, -0.5)))],
    ids=["hedge", "wall", "fence"],
)
def test_the_sun_comes_through_a_gate(tiny_yard, barrier, opening):
    # half a metre north of what stands, 2 m high: at noon in December the sun (some 27 degrees high at 40 N) throws a
    # shadow of 4 m; through the gap, 2 m wide and 1 m deep, it comes while its azimuth is within about 180 +- 34
    points = np.array([[0.0, 0.5, 0.0], [-5.0, 0.5, 0.0]])
    engine = sun_engine(only(tiny_yard, gates=(opening,), **barrier))
    behind_gap, behind = engine.exact_hours(points).month_h[11]
    shut = sun_engine(only(tiny_yard, **barrier)).exact_hours(points).month_h[11]
    assert shut[0] < 0.05
    assert behind < 0.05
    azimuth = engine.path.azimuth[(engine.path.month == 12)]
    hours = engine.path.hours[(engine.path.month == 12)] / 31
    # past the farther corners, a metre to each side and 1.5 m away: 33.7 degrees off the south
    expected = float(hours[np.abs(azimuth - 180) < np.degrees(np.arctan(1 / 1.5))].sum())
    assert behind_gap == pytest.approx(expected, abs=0.1)  # and a step of the sun at either end


def test_a_hedge_along_a_fence_is_open_where_the_fence_is(tiny_yard):
    fence = Fence(id="f", line=LineString([(-10, 0.2), (10, 0.2)]), height=1.2)
    standing = ground_of(only(tiny_yard, fences=(fence,), hedges=(HEDGE,), gates=(gate((-1, 0.2), (1, 0.2)),)))
    assert not standing.intersects(box(-0.99, -2, 0.99, 1))
    assert standing.covers(Point(-1.2, -0.5))


def test_a_fence_beside_its_twin_is_open_as_well(tiny_yard):
    twins = tuple(Fence(id=f"f{y}", line=LineString([(-10, y), (10, y)]), height=1.2) for y in (0.0, 0.15))
    standing = ground_of(only(tiny_yard, fences=twins, gates=(gate((-1, 0), (1, 0)),)))
    assert not standing.intersects(box(-0.99, -1, 0.99, 1))


def test_a_gate_leaves_alone_what_stands_behind():
    # a hedge around three sides: the gate in its south leg does not open the north leg, 6 m behind
    around = Polygon([(0, 0), (12, 0), (12, 8), (0, 8), (0, 7), (11, 7), (11, 1), (0, 1)])
    left = open_area(around, [gate((4, 0), (6, 0))])
    assert around.area - left.area == pytest.approx(2.0)
    assert left.covers(box(4, 7, 6, 8))


def test_a_gate_elsewhere_opens_nothing(tiny_yard):
    far = gate((-1, 3), (1, 3))
    site = only(tiny_yard, hedges=(HEDGE,), fences=(WALL,), gates=(far,))
    assert ground_of(site).area == pytest.approx(20)


def test_a_wall_stands_on_its_outline_whatever_its_thickness(tiny_yard):
    ring = box(0, 0, 6, 6).difference(box(0.5, 0.5, 5.5, 5.5))
    wall = Fence(id="w", line=LineString(ring.exterior), outline=ring, height=2.0, thickness=0.04, base=0.3)
    (prism,) = obstacle_prisms(only(tiny_yard, fences=(wall,)))
    assert prism.outline.equals(ring)
    assert (prism.bottom, prism.top) == (0.3, 2.0)


@pytest.mark.parametrize("turned", [0.0, 30.0, 77.0])
def test_a_wall_on_a_slope_follows_it(tiny_yard, turned):
    grid = Grid(west=-20, north=20, cell=1, rows=40, columns=40)
    slope = Terrain(grid, 100 + 0.1 * np.broadcast_to(grid.x, grid.shape))
    outline = rotate(box(-9, -0.25, 9, 0.25), turned, origin=(0, 0))
    wall = Fence(id="w", line=LineString(outline.exterior), outline=outline, height=1.5)
    prisms = obstacle_prisms(replace(only(tiny_yard, fences=(wall,)), terrain=slope))
    assert len(prisms) == 9  # of 2 m
    assert union_all([prism.outline for prism in prisms]).symmetric_difference(outline).area < 1e-6
    for prism in prisms:
        assert prism.top == pytest.approx(100 + 0.1 * prism.outline.centroid.x + 1.5)


@pytest.mark.parametrize("turned", [0.0, 40.0])
def test_a_hedge_on_a_slope_follows_it_like_a_fence(tiny_yard, turned):
    # a slope of 20 %: one height from its middle would be 1.8 m too high at the low end and as much too low at the top
    grid = Grid(west=-20, north=20, cell=1, rows=40, columns=40)
    slope = Terrain(grid, 100 + 0.2 * np.broadcast_to(grid.x, grid.shape))
    outline = rotate(box(-9, -0.5, 9, 0.5), turned, origin=(0, 0))
    line = rotate(LineString([(-9, 0), (9, 0)]), turned, origin=(0, 0))
    hedge = Hedge(id="h", outline=outline, height=1.8, transmittance=0.3)
    wall = Fence(id="h", line=LineString(outline.exterior), outline=outline, height=1.8, transmittance=0.3)
    fence = Fence(id="h", line=line, thickness=1.0, height=1.8, transmittance=0.3)
    site = replace(only(tiny_yard), terrain=slope)
    prisms = obstacle_prisms(replace(site, hedges=(hedge,)))
    drawn = obstacle_prisms(replace(site, fences=(wall,)))
    assert [replace(prism, transmittance_path=None) for prism in prisms] == list(drawn)
    assert {prism.transmittance_path for prism in prisms} == {1.0}  # a hedge's leaves take by the way through them
    for prism in prisms:
        assert prism.top == pytest.approx(100 + 0.2 * prism.outline.centroid.x + 1.8)
    beside = MultiPoint([(x, y) for x in range(-8, 9, 2) for y in (-1.5, 1.5)])
    xy = shapely.get_coordinates(rotate(beside, turned, origin=(0, 0)))
    points = np.column_stack([xy, 100 + 0.2 * xy[:, 0]])
    solid = replace(hedge, transmittance=0.0), replace(fence, transmittance=0.0)
    hours = [
        sun_engine(replace(site, **kind)).exact_hours(points).month_h
        for kind in ({"hedges": solid[:1]}, {"fences": solid[1:]})
    ]
    assert hours[0] == pytest.approx(hours[1], abs=1e-9)
