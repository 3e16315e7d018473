"""Answers on the map: runs in their order, reasons where they count."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.haul.haul_results import Heap
from siteplan.show.map import cards
from siteplan.show.map.site_map import page_data, site_map
from siteplan.show.symbols import planned


def test_runs_are_numbered_by_the_order_of_work(drawn_plan):
    numbered = planned.numbered_routes(drawn_plan)
    first = {}
    for run in drawn_plan.haul.order:
        first.setdefault((run.from_id, run.bed), run.number)
    order = [first[one.route.from_id, one.route.to_id] for one in numbered]
    assert order == sorted(order)
    assert sum(one.trips for one in numbered) == drawn_plan.haul.trips
    assert sorted(run for one in numbered for run in one.runs) == [run.number for run in drawn_plan.haul.order]
    badges = [item["badge"] for item in planned.route_items(drawn_plan)]
    assert badges == [one.badge for one in numbered]
    assert all(str(one.runs[0]) in badge for one, badge in zip(numbered, badges, strict=True))


def test_many_runs_are_cut_to_what_a_round_holds(drawn_plan):
    route = drawn_plan.haul.routes[0]
    few = planned.NumberedRoute(1, route, (), (4, 6, 8))
    many = planned.NumberedRoute(1, route, (), (4, 6, 8, 10, 12))
    assert (few.badge, few.label) == ("4, 6, 8", "4, 6, 8")
    assert (many.badge, many.label) == ("4 …", "4, 6, 8, 10, 12")


def test_a_ridge_is_drawn_as_long_as_it_is(drawn_plan):
    ridge = Heap("topsoil", 1.0, Point(0, 0), 0.6, 0.42, 3.0, 90.0)
    items = planned.pile_items(replace(drawn_plan, haul=replace(drawn_plan.haul, heaps=(ridge,))))
    (heap,) = [item for item in items if item["k"] == "heap"]
    east = [x for x, _ in heap["c"][0][0]]
    assert max(east) - min(east) == pytest.approx(3.0 + 2 * 0.6, abs=2e-3)  # rounded to the millimetre


def test_every_cell_that_is_forbidden_has_a_reason(drawn_plan):
    places = drawn_plan.places
    cells, reasons = planned.forbidden_cells(places.limits, places.grid, "metric")
    assert np.array_equal(cells > 0, np.any([limit.grid.inside(limit.ground) for limit in places.limits], axis=0))
    row, column = places.grid.cell_of(-1.2, 1.8)  # in the middle of the septic field
    assert "septic" in reasons[cells[row, column] - 1]


def test_a_pile_says_what_lies_there_and_what_is_tipped(drawn_plan):
    assert planned.pile_words(drawn_plan, "soil-bins")[0].startswith("topsoil")
    assert planned.pile_words(drawn_plan, drawn_plan.haul.drop)[-1] == "deliveries are tipped here"


def test_each_drawn_card_is_on_the_page(drawn_plan):
    data = page_data(drawn_plan, tiles=False)
    page = site_map(drawn_plan)._page
    for items in data["layers"].values():
        for item in items:
            if "card" in item:
                assert f'id="{item["card"]}"' in page


def test_cards_follow_the_plan(drawn_plan):
    card = cards.bed_cards(drawn_plan)[0]
    assert card["size"] == "8 ft × 4 ft × 1 ft 6 in"
    assert card["heading"] == "east–west (90°)"
    assert card["trips"] == sum(load.trips for load in drawn_plan.haul.loads if load.bed == "north bed")
    assert cards.bed_cards(drawn_plan)[1]["cautions"] == [
        "The bed stands near the maple: dig by hand and cut no root."
    ]


def test_nothing_asked_gives_no_answers(drawn_plan):
    bare = replace(drawn_plan, maps=None, beds=(), places=None, fill=None, haul=None)
    data = page_data(bare, tiles=False)
    assert data["paintings"] == {}
    assert data["forbidden"] is None
    assert data["layers"]["places"] == data["layers"]["routes"] == []
    assert cards.trade_off(bare) == cards.ruled_out(bare) == cards.run_cards(bare) == []
    assert "hours of sun" not in re.search('<p id="readout".*?</p>', site_map(bare)._page)[0]


def test_tiles_give_the_place_away_and_nothing_else_does(drawn_plan):
    assert page_data(drawn_plan, tiles=False)["place"] is None
    assert page_data(drawn_plan, tiles=True)["place"]["latitude"] == pytest.approx(39.74)


def test_the_page_is_small(drawn_plan):
    page = site_map(drawn_plan).get_root().render()
    assert len(page.encode("utf-8")) < 3_000_000  # the bound for the demo; this yard is about as large


@pytest.mark.slow
def test_four_hectares_and_sixty_beds_stay_under_twelve_megabytes(drawn_plan, drawn_site):
    maps = drawn_plan.maps
    grid = replace(maps.grid, west=-100.0, north=100.0, cell=0.25, rows=800, columns=800)
    x, y = np.meshgrid(grid.x, grid.y)
    waves = sum(np.sin(x * k / 7 + k) * np.cos(y * k / 9 - k) for k in range(1, 9)) / 8
    noise = np.random.default_rng(1).normal(0, 0.01, (800, 800))  # as rough as a hundredth of an hour
    month = np.clip(6 + 5 * waves + noise, 0, 15)[None] * np.linspace(0.5, 1.0, 12)[:, None, None]
    large = replace(maps, grid=grid, month_h=month, season_h=month[5])
    beds = tuple(replace(drawn_site.beds[n % 3], id=f"bed {n}") for n in range(60))
    reports = tuple(replace(drawn_plan.beds[n % 3], bed=bed) for n, bed in enumerate(beds))
    plan = replace(drawn_plan, site=replace(drawn_site, beds=beds), maps=large, beds=reports)
    page = site_map(plan).get_root().render()
    assert len(page.encode("utf-8")) < 12_000_000


@pytest.mark.parametrize(
    ("busy", "share"),
    [((), 0.75), ((35,), 0.75), ((35, 50, 65), 0.85), ((35, 65, 80), 0.5), ((50, 65, 80), 0.25),
     ((30, 45, 60, 75, 90), 0.15), ((60, 75, 90), 0.35), ((30, 45, 85), 0.65)],
)  # fmt: skip
def test_a_number_stands_off_names_and_numbers(busy, share):
    # of 0.35, 0.5, 0.65, 0.25, 0.75, 0.15 and 0.85, the first that is about as far off as any; the start is taken too
    way = LineString([(0, 0), (100, 0)])
    spot = planned._badge_place(way, planned._Busy([Point(one, 0) for one in busy]))
    assert spot.x == pytest.approx(100 * share)


def load(origin, bed, trips=1, minutes=5.0):
    return SimpleNamespace(from_id=origin, bed=bed, trips=trips, minutes=minutes)


def run(number, origin, bed):
    return SimpleNamespace(number=number, from_id=origin, bed=bed)


def way(origin, bed):
    return SimpleNamespace(from_id=origin, to_id=bed)


def test_routes_are_numbered_as_they_are_first_used_and_unused_ones_come_last():
    ways = (way("pile", "unused"), way("pile", "a"), way("drive", "a"), way("pile", "b"))
    haul = SimpleNamespace(
        routes=ways, order=(run(1, "drive", "a"), run(2, "pile", "b"), run(3, "drive", "a"), run(4, "pile", "a")),
        loads=(load("drive", "a", 3, 20.0), load("drive", "a", 2, 10.0), load("pile", "a", 7, 30.0)),
    )  # fmt: skip
    found = planned.numbered_routes(SimpleNamespace(haul=haul))
    assert [(one.number, one.route, one.runs) for one in found] == [
        (1, ways[2], (1, 3)), (2, ways[3], (2,)), (3, ways[1], (4,)), (4, ways[0], ())
    ]  # fmt: skip
    assert [(one.trips, one.minutes) for one in found] == [(5, 30.0), (0, 0), (7, 30.0), (0, 0)]
    assert [one.label for one in found] == ["1, 3", "2", "4", "4"]
    assert planned.numbered_routes(SimpleNamespace(haul=None)) == ()


def test_a_badge_holds_nine_letters():
    nine, ten = (planned.NumberedRoute(1, way("p", "b"), (), runs) for runs in ((1, 2, 345), (1, 23, 456)))
    assert (len(nine.label), nine.badge) == (9, "1, 2, 345")
    assert (len(ten.label), ten.badge) == (10, "1 …")


def heaps(drawn_plan, *heaps, drop=None):
    haul = replace(drawn_plan.haul, heaps=heaps, drop_place=drop)
    return [item for item in planned.pile_items(replace(drawn_plan, haul=haul)) if item["k"] == "heap"]


def test_a_round_heap_is_a_circle_and_a_long_one_an_area(drawn_plan):
    round_, ridge = (
        Heap("soil", 1.0, Point(1, 2), 0.61239, 0.42),
        Heap("soil", 1.0, Point(1, 2), 0.6, 0.42, 0.5, 90.0),
    )
    first, second = heaps(drawn_plan, round_, ridge, drop=Point(5, 6))
    assert (first["g"], first["c"], first["r"]) == ("point", [1.0, 2.0], 0.612)
    assert (second["g"], "r" in second) == ("area", False)


def test_a_tipping_place_is_drawn_where_no_heap_lies_yet(drawn_plan):
    (place,) = heaps(drawn_plan, drop=Point(5, 6))
    assert (place["c"], place["r"], place["t"]) == ([5.0, 6.0], 0.6, ["Deliveries are tipped here"])
    assert heaps(drawn_plan) == []


def test_the_part_drawn_is_the_boundary_and_a_share_of_its_longer_side():
    """From (100, 30) to (120, 35): 20 m by 5 m, 6 % of 20 m are 1.2 m; a letter is a sixtieth of 22.4 m."""
    site = SimpleNamespace(boundary=box(100, 30, 120, 35))
    assert planned.site_extent(site) == [98.8, 28.8, 121.2, 36.2]
    assert planned._letter(site) == pytest.approx(22.4 / 60)
    tall = SimpleNamespace(boundary=box(100.00049, 30, 105, 50))
    assert planned.site_extent(tall, margin=0.1) == [98.0, 28.0, 107.0, 52.0]  # to the millimetre
    assert planned._letter(SimpleNamespace(boundary=box(100, 30, 105, 50))) == pytest.approx(22.4 / 60)


def test_numbers_keep_away_from_names_taps_doors_and_beds(drawn_plan, monkeypatch):
    """From a tap or a door two letters, from a bed one; each number that was placed takes one more letter's room."""
    seen = []
    monkeypatch.setattr(planned, "_badge_place", lambda _, busy: seen.append(busy) or Point(7.00049, 8.0))
    items = planned.route_items(drawn_plan, clear=(Point(1, 1),))
    letter = planned._letter(drawn_plan.site)
    shapes = seen[0]._first.geometries
    areas = [shape.area for shape in shapes if len(shape.exterior.coords) > 5]  # boxes of names have five
    circle = math.pi * (2 * letter) ** 2
    assert sum(one == pytest.approx(circle, rel=0.01) for one in areas) == 3  # the point, a tap, a door
    bed = drawn_plan.site.beds[0].outline
    around = bed.area + bed.length * letter + math.pi * letter**2
    assert sum(one == pytest.approx(around, rel=0.01) for one in areas) == 3
    assert (len(areas), len(shapes)) == (6, 6 + 5)  # and the names of three beds and two piles
    assert len(seen[0]._added) == len(items)
    assert seen[0]._added[0].area == pytest.approx(math.pi * letter**2, rel=0.01)
    assert {tuple(item["at"]) for item in items} == {(7.0, 8.0)}


def test_how_far_off_the_nearest_shape_is():
    busy = planned._Busy([Point(0, 0), Point(10, 0)])
    spots = np.array([Point(1, 0), Point(8, 0), Point(4, 3)], dtype=object)
    assert busy.away(spots).tolist() == [1.0, 2.0, 5.0]
    busy.add(Point(8, 1))
    assert busy.away(spots).tolist() == [1.0, 1.0, pytest.approx(math.sqrt(20))]
    assert planned._Busy([]).away(spots).tolist() == [math.inf] * 3
