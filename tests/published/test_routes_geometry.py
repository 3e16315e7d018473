"""Routes against closed-form geometry, Snell's law of refraction, and the exact visibility graph."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from shapely import LineString, Point, box

from siteplan.haul.ground.cost_field import CostField, cost_field
from siteplan.haul.routes.router import Router
from siteplan.land.barriers import barrow_reach
from siteplan.land.features import Building, Fence, Gate
from siteplan.land.grid import Grid, grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import Barrow, Site

CELL = 0.1  # m
ONE_PERCENT = 0.01  # what a route may be longer than the exact shortest


@pytest.fixture(scope="module")
def open_yard(tiny_yard) -> Site:
    return dataclasses.replace(
        tiny_yard, boundary=box(-8, -6, 8, 6), buildings=(), trees=(), fences=(), gates=(), surfaces=(), taps=(),
        piles=(), beds=(), stock=(), barrow=Barrow(width=0.65, clearance=0.10),
    )  # fmt: skip


def middle(ground: CostField, x: float, y: float) -> tuple[tuple[int, int], tuple[float, float]]:
    """Return the cell that holds a point, and its middle."""
    row, column = ground.grid.cell_of(x, y)
    return (row, column), (float(ground.grid.x[column]), float(ground.grid.y[row]))


def shortest(site: Site, start: tuple[float, float], end: tuple[float, float]) -> float:
    """Return the exact shortest length for the barrow's middle: Dijkstra's search over the visibility graph."""
    reach = barrow_reach(site.barrow)
    grown = shapely.union_all([item.outline.buffer(reach, quad_segs=6) for item in site.buildings])
    room = site.boundary.buffer(-site.barrow.width / 2).difference(grown)
    rings = [ring for part in shapely.get_parts(room) for ring in (part.exterior, *part.interiors)]
    nodes = np.array([start, end, *(point for ring in rings for point in list(ring.coords)[:-1])])
    i, j = np.triu_indices(len(nodes), 1)
    fat = room.buffer(1e-6)
    shapely.prepare(fat)
    seen = shapely.covers(fat, shapely.linestrings(np.stack([nodes[i], nodes[j]], axis=1)))
    lengths = np.hypot(*(nodes[i] - nodes[j]).T)
    graph = csr_matrix((lengths[seen], (i[seen], j[seen])), shape=(len(nodes), len(nodes)))
    return float(dijkstra(graph, directed=False, indices=0)[1])


@pytest.mark.parametrize("degrees", [0, 7, 14, 22.5, 31, 45, 63, 80, 90])
def test_on_open_ground_the_way_is_straight(open_yard, degrees):
    ground = cost_field(open_yard, grid_over(open_yard.boundary, CELL))
    start, a = middle(ground, 0, 0)
    end, b = middle(ground, 5 * math.cos(math.radians(degrees)), 5 * math.sin(math.radians(degrees)))
    line, _ = Router(ground).quickest_line(Router(ground).least_times(np.array([start]), loaded=True), end)
    assert line.length == pytest.approx(math.dist(a, b), rel=1e-9)  # one straight line, no staircase
    assert len(line.coords) == 2


def test_around_a_rectangle(open_yard):
    # By hand: past a wall of half-width 1.5 and reach r the taut string is two tangents and two arcs round the corners,
    # with a stretch of the wall's length between; here the wall is thin in y and the way runs north round its east end.
    wall = box(-1.5, -0.2, 1.5, 0.2)
    site = dataclasses.replace(open_yard, buildings=(Building(id="wall", outline=wall, height=2.5),))
    ground = cost_field(site, grid_over(site.boundary, CELL))
    start, a = middle(ground, 1.0, -3.0)
    end, b = middle(ground, 1.0, 3.0)
    router = Router(ground)
    line, _ = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
    reach = barrow_reach(site.barrow)
    exact = 0.0
    for point, corner in ((a, (1.5, -0.2)), (b, (1.5, 0.2))):
        far = math.dist(point, corner)
        tangent = math.sqrt(far**2 - reach**2)
        toward = math.atan2(abs(point[1] - corner[1]), corner[0] - point[0])  # above the way straight east
        turn = math.pi / 2 - (toward - math.asin(reach / far))  # from the tangent round to due north
        exact += tangent + reach * turn
    exact += 0.4
    assert line.length == pytest.approx(exact, rel=ONE_PERCENT)
    assert line.distance(wall) >= reach - 0.01  # m; room is read between centres 10 cm apart


def test_through_a_gap(open_yard):
    # By hand: the straight line through the middle of the gap passes its posts, 0.6 m off, at 0.6 cos 37 = 0.48 m.
    fence = Fence(id="fence", line=LineString([(0, -6), (0, 6)]), height=1.5)
    gate = Gate(id="gate", place=Point(0, 0), line=LineString([(0, -0.6), (0, 0.6)]), width=1.2)
    site = dataclasses.replace(open_yard, fences=(fence,), gates=(gate,))
    ground = cost_field(site, grid_over(site.boundary, CELL))
    start, a = middle(ground, -4.01, -3.01)
    end, b = middle(ground, 4.01, 3.01)
    router = Router(ground)
    line, _ = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
    assert line.length == pytest.approx(math.dist(a, b), rel=1e-9)  # straight
    assert line.intersects(gate.line)


def two_media(ratio: float) -> CostField:
    """Return ground of 20 m by 16 m at 10 cm whose southern half takes `ratio` times as long as its northern."""
    grid = Grid(0, 16, CELL, 160, 200)
    time = np.where(np.repeat(grid.y[:, None] > 8, 200, axis=1), 1.0, ratio)
    flat = np.zeros(grid.shape)
    return CostField(grid, time, time, flat, flat, flat, max_grade=1.0)


@pytest.mark.parametrize("ratio", [1.25, 1.6, 2.2, 3.0])
@pytest.mark.parametrize("across", [4.0, 8.0, 14.0])
def test_two_media_obey_snells_law(ratio, across):
    # Snell's law of refraction, sin a / sin b = n b / n a, is Fermat's least time: the textbook case.
    ground = two_media(ratio)
    start, a = middle(ground, 2.0, 14.0)
    end, b = middle(ground, 2.0 + across, 2.0)
    router = Router(ground)
    line, seconds = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
    x = line.intersection(LineString([(0, 8), (20, 8)])).x
    upper = (x - a[0]) / math.hypot(x - a[0], a[1] - 8)
    lower = (b[0] - x) / math.hypot(b[0] - x, 8 - b[1])
    assert upper / lower == pytest.approx(ratio, rel=0.01)  # the stated 1 %
    best = min(
        math.hypot(at - a[0], a[1] - 8) + ratio * math.hypot(b[0] - at, 8 - b[1])
        for at in np.linspace(a[0], b[0], 20001)
    )
    assert seconds == pytest.approx(best, rel=1e-4)  # least time is flat around its minimum


def random_yard(yard: Site, seed: int) -> Site:
    """Return a yard with up to six sheds set at random, none of them nearly a barrow's width from another or the edge."""
    chance = np.random.default_rng(seed)
    need = 2 * barrow_reach(yard.barrow)
    sheds: list[Building] = []
    for k in range(chance.integers(1, 9)):
        x, y = chance.uniform((-5, -4), (5, 4))
        outline = rectangle(
            float(x), float(y), length=float(chance.uniform(1, 5)), width=float(chance.uniform(0.5, 2)),
            heading=float(chance.uniform(0, 180)),
        )  # fmt: skip
        gaps = [outline.distance(shed.outline) for shed in sheds]
        edge = outline.distance(yard.boundary.exterior)
        # a gap with less than a cell and a half to spare may be taken as shut
        if all(not need - 0.02 < gap < need + 0.15 for gap in gaps) and not need - 0.12 < edge < need + 0.05:
            sheds.append(Building(id=f"shed {k}", outline=outline, height=2.5))
    return dataclasses.replace(yard, buildings=tuple(sheds))


@pytest.mark.parametrize("seed", range(8))
def test_within_one_percent_of_the_visibility_graph(open_yard, seed):
    site = random_yard(open_yard, seed)
    ground = cost_field(site, grid_over(site.boundary, CELL))
    router = Router(ground)
    free = np.argwhere(np.isfinite(ground.loaded))
    chance = np.random.default_rng(seed + 1000)
    start = free[chance.integers(len(free))]
    field = router.least_times(start[None], loaded=True)
    reach = barrow_reach(site.barrow)
    for end in free[chance.integers(len(free), size=3)]:
        a = (ground.grid.x[start[1]], ground.grid.y[start[0]])
        b = (ground.grid.x[end[1]], ground.grid.y[end[0]])
        exact = shortest(site, a, b)
        assert np.isfinite(field.seconds[tuple(end)]) == np.isfinite(exact)
        if not np.isfinite(exact):
            continue
        line, _ = router.quickest_line(field, tuple(end))
        assert line.length == pytest.approx(exact, rel=ONE_PERCENT, abs=1e-9)
        assert all(line.distance(shed.outline) >= reach - 0.01 for shed in site.buildings)  # m, read between 10 cm
        assert site.boundary.covers(line)
