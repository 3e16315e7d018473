"""Pushes and boards piece by piece, and what bounds a comparison or a search of spots. By hand."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, box
from shapely.affinity import rotate

from siteplan.haul import alternatives, pushing
from siteplan.haul.delivery import tipping
from siteplan.haul.delivery.heaps import HeapGround, fit_heaps
from siteplan.haul.ground.cost_field import CostField
from siteplan.haul.haul_results import HaulPlan, Load, Route
from siteplan.haul.pushing import board_length, choose_boards, route_forces
from siteplan.land.grid import Grid
from siteplan.land.site import HaulSettings
from siteplan.land.unit_sizes import GRAVITY


def ground(*rolling, cell=1.0):
    """Return level cells in a row with these shares of rolling resistance."""
    row, level = np.array([rolling]), np.ones((1, len(rolling)))
    return CostField(Grid(0, cell, cell, 1, len(rolling)), level, level, 0 * level, 0 * level, row, 1.0)


def route(bed, *ends):
    line = LineString([(x, 0.5) for x in ends])
    return Route("heap", bed, line, line.length, 0.0, 1.0, 1.0, line.reverse())


def load(bed, mass, source="heap"):
    return Load(bed, "soil", source, 1.0, mass, 1, 0.1, mass, "mass", 1.0, 1.0, 1.0, 0.0, 3.0)


def test_the_mean_push_is_weighted_by_length_and_the_peak_is_the_hardest():
    # two pieces of half a metre at 2 % and one of 0.2 m at 10.5 %, 60 kg in a barrow of 20 kg
    found = route_forces(ground(0.02, 0.105), LineString([(0, 0.5), (1, 0.5), (1.2, 0.5)]), mass=60, barrow=20)
    assert found == pytest.approx((80 * GRAVITY * (0.02 + 0.2 * 0.105) / 1.2, 80 * GRAVITY * 0.105))
    short = route_forces(ground(0.02, 0.105), LineString([(0.5, 0.5), (1, 0.5), (1.2, 0.5)]), mass=60, barrow=20)
    assert short[0] == pytest.approx(80 * GRAVITY * (0.5 * 0.02 + 0.2 * 0.105) / 0.7)
    assert route_forces(ground(0.02), LineString([(0.5, 0.5), (0.5, 0.5)]), mass=60, barrow=20) == pytest.approx(
        (80 * GRAVITY * 0.02,) * 2
    )


def test_boards_lie_where_more_than_a_tenth_of_the_weight_is_rolled(bare_yard, monkeypatch):
    # soft are 10.5 % and twice 30 %, 3 m; on boards 3 %. The heaviest load of the route counts, 60 kg, and 20 kg of barrow
    monkeypatch.setattr(pushing, "wet_field", lambda field, _: field)
    site = dataclasses.replace(bare_yard, barrow=dataclasses.replace(bare_yard.barrow, mass=20))
    field = ground(0.02, 0.105, 0.10, 0.3, 0.3, 0.02)
    routes = (route("dry", 0, 1), route("far", 0, 6), route("short", 3, 4), route("near", 2, 5), route("soft", 1, 2))
    loads = (load("far", 50), load("far", 60), load("far", 99, "other"), load("near", 60), load("short", 60))
    own = (routes[1], routes[1], route("far", 0, 6), routes[3], routes[2])
    choices = choose_boards(site, field, HaulPlan(routes, loads, 0.0, load_routes=own), length=1.0, price=3.0)
    assert [(one.to_id, round(one.soft_m, 6), one.boards, one.cost) for one in choices] == [
        ("far", 3.0, 3, 9.0), ("near", 2.0, 2, 6.0), ("short", 1.0, 1, 3.0), ("soft", 1.0, 1, 3.0),
    ]  # fmt: skip
    assert [one.push_bare for one in choices] == pytest.approx(
        [80 * GRAVITY * 0.3] * 3 + [20 * GRAVITY * 0.105]  # no load goes there
    )
    assert [one.push_boarded for one in choices] == pytest.approx(
        [80 * GRAVITY * share for share in (0.10, 0.10, 0.03)] + [20 * GRAVITY * 0.03]
    )


def test_two_ways_between_the_same_names_have_each_its_own_loads(bare_yard, monkeypatch):
    # a drop zone that also holds stock: 50 kg go one way, 60 kg the other, both over 3 m of 30 %
    monkeypatch.setattr(pushing, "wet_field", lambda field, _: field)
    site = dataclasses.replace(bare_yard, barrow=dataclasses.replace(bare_yard.barrow, mass=20))
    ways = (route("bed", 0, 3), route("bed", 0, 3))
    plan = HaulPlan(ways, (load("bed", 60), load("bed", 50)), 0.0, load_routes=ways[::-1])
    choices = choose_boards(site, ground(0.3, 0.3, 0.3), plan, length=1.0)
    assert [one.push_bare for one in choices] == pytest.approx([80 * GRAVITY * 0.3, 70 * GRAVITY * 0.3])


def test_a_board_is_as_long_as_set_or_the_shortest_that_is_sold(bare_yard):
    assert board_length(dataclasses.replace(bare_yard, units="metric")) == 2.4
    assert board_length(dataclasses.replace(bare_yard, units="imperial")) == pytest.approx(8 * 0.3048)
    assert board_length(dataclasses.replace(bare_yard, haul=HaulSettings(board_length=3.1))) == 3.1


def test_pieces_are_read_at_their_middles_on_cells_of_any_size():
    # 1.05 m are three pieces of 0.35 m; the middle of half a metre lies 2 cm before the next cell
    field = ground(0, 1, 2)
    assert field.along(LineString([(0.5, 0.5), (1.55, 0.5)])).length == pytest.approx([0.35] * 3)
    assert field.along(LineString([(0.73, 0.5), (1.23, 0.5)])).rolling.tolist() == [0]
    level = np.ones((3, 3))
    values = np.arange(9.0).reshape(3, 3)
    small = CostField(Grid(0, 0.75, 0.25, 3, 3), level, level, level, level, values, 1.0)
    down = small.along(LineString([(0.3, 0.74), (0.3, 0.01)]))
    assert down.rolling.tolist() == [1, 4, 7]
    assert down.length == pytest.approx([0.73 / 3] * 3)


@pytest.mark.parametrize("turned", [0, 45, 80])
def test_the_heading_of_a_ridge_across_its_ground_is_within_half_a_circle(turned):
    strips = rotate(box(0, 0, 1.6, 5).union(box(8.6, 0, 10.2, 5)), turned, origin=(0, 0))
    (heap,), _ = fit_heaps(HeapGround(strips), {"soil": 1.0}, Point(0, 2.5))
    assert 0 <= heap.heading < 180
    assert heap.heading == pytest.approx(-turned % 180, abs=0.01)


@pytest.mark.parametrize(("beds", "zones", "cells", "tried"), [
    (60, 1, 100, [100]), (61, 1, 100, [50]),  # 60 at most: every other
    (61, 1, 61, [31]), (61, 1, 60, [60]), (61, 2, 61, [21, 21]),  # 30 at most: every third
    (61, 61, 10, [1] * 61),
])  # fmt: skip
def test_with_more_than_sixty_beds_sixty_cells_are_tried(monkeypatch, beds, zones, cells, tried):
    places = np.array([(0, k) for k in range(cells)], dtype=np.int32)
    names = [SimpleNamespace(id=str(k), pile=None, ground=None) for k in range(zones)]
    for name, value in {
        "tipping_zones": lambda _: names, "at_pile": lambda *_: places, "heap_ground": lambda *_: None,
        "work_at": lambda _finder, _trips, some: np.zeros(len(some)),
        "_spot": lambda _finder, zone, some, *_: SimpleNamespace(id=zone.id, minutes=float(zone.id), count=len(some)),
    }.items():  # fmt: skip
        monkeypatch.setattr(tipping, name, value)
    finder = SimpleNamespace(site=None, ground=None)
    spots = tipping.tipping_spots(finder, {str(k): 1 for k in range(beds)})
    assert [spot.count for spot in spots] == tried
    (only,) = tipping.tipping_spots(finder, {"a": 1}, drop="0")
    assert (only.id, only.count) == ("0", cells)


def test_four_spots_and_two_gates_are_compared(monkeypatch):
    # by trips without a way, then by minutes
    work = SimpleNamespace(spot=SimpleNamespace(id="tip"))
    finder = SimpleNamespace(site=None, for_site=lambda site: site, with_gates_of=lambda site: site)
    monkeypatch.setattr(alternatives, "_spots", lambda *_: [("tipped", f"site {k}", f"zone {k}") for k in range(6)])
    monkeypatch.setattr(alternatives, "_gates", lambda *_: [("shut", f"site {k + 6}", f"gate {k}") for k in range(4)])
    monkeypatch.setattr(alternatives, "haul_work", lambda site, *_, **__: site)
    unreached = {"site 1": 3, "site 6": 1}

    def row(site, change="none", feature=""):
        minutes = -float(site.split()[1]) if isinstance(site, str) else 0.0
        return SimpleNamespace(
            change=change, feature=feature, minutes=minutes, unreached=unreached.get(site, 0) if minutes else 0
        )

    monkeypatch.setattr(alternatives, "summarise", row)
    rows = alternatives.compare_hauls(finder, [], work)
    assert [(one.change, one.feature) for one in rows] == [
        ("none", "tip"), ("shut", "gate 1"), ("tipped", "zone 3"), ("tipped", "zone 2"), ("tipped", "zone 0"),
        ("shut", "gate 0"), ("tipped", "zone 1"),
    ]  # fmt: skip


def test_a_row_sums_its_loads_and_tells_the_hardest_push():
    routes = (route("a", 0, 5), dataclasses.replace(route("b", 0, 3), climb_m=0.5))
    loads = [
        dataclasses.replace(load(bed, 50), trips=trips, peak_force=peak, energy_kcal=10.0)
        for bed, trips, peak in (("a", 2, 80.0), ("b", 3, 120.0), ("a", 0, 900.0))
    ]
    own = (*routes, routes[0])
    work = SimpleNamespace(routes=routes, loads=loads, load_routes=own, minutes=9.0, unreached_trips=4)
    row = alternatives.summarise(work, "shut", "gate")
    assert (row.change, row.feature, row.minutes, row.trips) == ("shut", "gate", 9.0, 5)
    assert (row.walked_m, row.climbed_m) == (2 * 10 + 3 * 6, 1.5)
    assert (row.peak_force, row.energy_kcal, row.unreached) == (120.0, 30.0, 4)
