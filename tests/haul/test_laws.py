"""What must hold for every yard: a barrier never shortens a route, nor does a wider barrow, and none is crossed."""

from __future__ import annotations

import dataclasses

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from siteplan.haul.ground.cost_field import cost_field
from siteplan.haul.routes.router import Router
from siteplan.land.barriers import barrow_reach
from siteplan.land.features import Building, Fence, Gate
from siteplan.land.grid import grid_over
from siteplan.land.outline import rectangle
from siteplan.land.site import Barrow

CELL = 0.2  # m
few = settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
ROUNDED = 1 + 1e-6  # moves are kept in single precision

sheds = st.tuples(st.floats(-4, 4), st.floats(-3, 3), st.floats(0.5, 5), st.floats(0.3, 2), st.floats(0, 179))


def yard_with(yard, found, **options):
    buildings = tuple(
        Building(id=f"shed {k}", outline=rectangle(x, y, length=length, width=width, heading=heading), height=3)
        for k, (x, y, length, width, heading) in enumerate(found)
    )
    return dataclasses.replace(yard, buildings=buildings, **options)


def times(site):
    """Return router, field and its times from the yard's south-west corner."""
    ground = cost_field(site, grid_over(site.boundary, CELL))
    router = Router(ground)
    field = router.least_times(np.array([ground.grid.cell_of(-5.5, -4.5)]), loaded=True)
    return router, field, field.seconds


@few
@given(found=st.lists(sheds, max_size=3), more=sheds)
def test_another_wall_never_shortens_a_way(bare_yard, found, more):
    _, _, before = times(yard_with(bare_yard, found))
    _, _, after = times(yard_with(bare_yard, [*found, more]))
    assert (after * ROUNDED >= before).all()


@few
@given(found=st.lists(sheds, min_size=1, max_size=4), wider=st.floats(0.01, 0.6))
def test_a_wider_barrow_never_shortens_a_way(bare_yard, found, wider):
    _, _, before = times(yard_with(bare_yard, found, barrow=Barrow(width=0.5)))
    _, _, after = times(yard_with(bare_yard, found, barrow=Barrow(width=0.5 + wider)))
    assert (after * ROUNDED >= before).all()


@few
@given(found=st.lists(sheds, min_size=1, max_size=4), end=st.tuples(st.floats(-5, 5), st.floats(-4, 4)))
def test_a_route_crosses_no_barrier_and_is_no_staircase(bare_yard, found, end):
    site = yard_with(bare_yard, found)
    router, field, seconds = times(site)
    cell = router.ground.grid.cell_of(*end)
    if not np.isfinite(seconds[cell]):
        return
    line, taken = router.quickest_line(field, cell)
    assert site.boundary.covers(line)
    for shed in site.buildings:
        # the room beside barriers is read between centres 20 cm apart: off by 1 cm at a corner of radius 0.425 m
        assert line.distance(shed.outline) >= barrow_reach(site.barrow) - 0.02
    assert taken <= seconds[cell] * ROUNDED
    # a corner of each shed turns a taut line by at most four pieces of its arc, on either side
    assert len(line.coords) <= 2 + 8 * len(found)


@few
@given(heading=st.floats(0, 179), width=st.floats(0.86, 1.4), x=st.floats(-1, 1), y=st.floats(-1, 1))
def test_nothing_is_touched_in_a_gate(bare_yard, heading, width, x, y):
    # a gate that just fits, at any angle and anywhere between the cells: at least half the barrow's width to its posts
    turn = np.radians(heading)
    along = np.array([np.sin(turn), np.cos(turn)])
    line = LineString([np.array([x, y]) - 20 * along, np.array([x, y]) + 20 * along])
    gap = LineString([np.array([x, y]) - width / 2 * along, np.array([x, y]) + width / 2 * along])
    site = dataclasses.replace(
        bare_yard,
        fences=(Fence(id="fence", line=line, height=1.2),),
        gates=(Gate(id="gate", place=Point(x, y), line=gap, width=width),),
    )
    grid = grid_over(site.boundary, 0.1)
    ground = cost_field(site, grid)
    across = np.array([along[1], -along[0]])
    start, end = (grid.cell_of(*(np.array([x, y]) + side * across + 0.8 * along)) for side in (2.5, -2.5))
    router = Router(ground)
    route, taken = router.quickest_line(router.least_times(np.array([start]), loaded=True), end)
    assert np.isfinite(taken)
    posts = line.difference(gap.buffer(1e-6)).buffer(0.02)
    assert route.distance(posts) >= site.barrow.width / 2
