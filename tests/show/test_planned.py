"""Answers on the map: runs in their order, reasons where they count."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

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
