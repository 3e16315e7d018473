"""Estimates, neighbours and orders of spots: by hand, without maps."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import Polygon, box

from siteplan.land.grid import Grid
from siteplan.place.merit.merit import Weights, WorkMaps
from siteplan.place.search import refinement
from siteplan.place.search.candidates import Spots, merit_maps, spots_of
from siteplan.place.search.footprint import form_of, form_of_size
from siteplan.place.search.footprint_scan import Scan
from siteplan.place.search.refinement import (
    ScoredSpot,
    Search,
    _beside,
    _best_known,
    _first_that_fit,
    _position_and_heading,
    best_on_cells,
    best_spot,
    estimated,
    spread,
)
from siteplan.place.search.search import _scorer

BED = form_of_size(2, 1)
ELL = form_of(Polygon([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]))


def spots(x, y=0.0, heading=0.0, merit=0.5, *, cell=None, form=BED):
    count = len(x)
    arrays = {name: np.zeros(count) for name in Spots.__dataclass_fields__ if name not in {"form", "plenty"}}
    arrays |= {name: np.broadcast_to(np.array(one, dtype=float), count).copy()
               for name, one in (("x", x), ("y", y), ("heading", heading), ("merit", merit))}  # fmt: skip
    arrays["cell"] = np.arange(count) if cell is None else np.array(cell)
    arrays["sun"] = arrays["merit"]
    return Spots(**arrays, form=form, plenty=8.0)


def scored(index, merit):
    return ScoredSpot(index=index, merit=merit, sun=0.0, season=0.0, worst=0.0, bed_sun=None)


def search_of(some, exact=None, fits=None):
    """Return a search whose spots have a merit by hand, with the spots that it asked for and tested."""
    exact = some.merit if exact is None else np.array(exact, dtype=float)
    asked, tested = [], []

    def score(index):
        asked.append(index)
        return scored(index, float(exact[index]))

    def clear(which):
        tested.extend(which.tolist())
        return np.ones(len(which), dtype=bool) if fits is None else np.array(fits, dtype=bool)[which]

    return Search(spots=some, score=score, clear=clear), asked, tested


@pytest.mark.parametrize(("form", "turn", "away"), [
    (BED, 30.0, 1.0), (BED, 90.0, 2.0), (BED, 180.0, 0.0), (BED, 150.0, 1.0), (ELL, 60.0, 1.0), (ELL, 180.0, 2.0),
])  # fmt: skip
def test_a_turn_counts_as_a_distance(form, turn, away):
    """Chords of the unit circle: of 60 degrees as long as the radius; a rectangle is itself after half a turn."""
    first, second = _position_and_heading(spots([3.0, 3.0], 7.0, [20.0, 20.0 + turn], form=form), np.arange(2))
    assert np.hypot(*(second - first)[:2]) == 0
    assert np.linalg.norm(second - first) == pytest.approx(away, abs=1e-9)


def test_the_estimate_by_hand():
    # computed: 0.1 better than by the map at 0 m, 0.3 worse at 1 m; the third 0.45 m from the first: 1 / 0.5^2 = 4 and
    # 1 / 0.6^2 = 2.7778
    search, *_ = search_of(spots([0.0, 1.0, 0.45], merit=[0.5, 0.6, 0.7]), exact=[0.6, 0.3, 0.0])
    search.compute([0, 1])
    share = np.array([1 / 0.5**2, 1 / 0.6**2])
    expected = 0.7 + (share @ [0.1, -0.3]) / share.sum()
    assert estimated(search, np.array([2])) == pytest.approx([expected])
    own = np.array([1 / 0.05**2, 1 / 1.05**2])
    assert estimated(search, np.array([0])) == pytest.approx([0.5 + (own @ [0.1, -0.3]) / own.sum()])


def test_of_many_computed_spots_the_nearest_four_count():
    search, *_ = search_of(spots([0.0, 1.0, 2.0, 3.0, 4.0, 0.0], merit=0.5), exact=[0.6, 0.6, 0.6, 0.6, 9.0, 0.0])
    search.compute(range(5))
    assert estimated(search, np.array([5])) == pytest.approx([0.6])


@pytest.mark.parametrize(("form", "x", "heading", "beside"), [
    (BED, 0.74, 10.0, True), (BED, 0.76, 10.0, False), (BED, 0.0, 29.9, True), (BED, 0.0, 30.1, False),
    (BED, 0.0, 171.0, True), (BED, 0.0, 169.0, False), (ELL, 0.0, 171.0, False), (ELL, 0.0, 351.0, True),
])  # fmt: skip
def test_what_lies_beside_a_spot(form, x, heading, beside):
    some = spots([0.0, x], 0.0, [10.0, heading], form=form)
    assert _beside(some, np.arange(2), 0).tolist() == [True, beside]
    assert _beside(some, np.arange(2), 0, turn=180.0).tolist() == [True, x <= 0.75]


@pytest.mark.parametrize(("options", "chosen"), [
    ({}, [0, 3, 4]),  # a metre, or 25 degrees
    ({"distance": 0.4}, [0, 1, 3, 4]), ({"turn": 10.0}, [0, 2, 3, 4]), ({"distance": 1.1, "turn": 91.0}, [0, 4]),
])  # fmt: skip
def test_spots_that_differ_from_each_other(options, chosen):
    some = spots([0.0, 0.5, 0.0, 1.0, 5.0], 0.0, [0.0, 0.0, 170.0, 0.0, 90.0])
    assert spread(some, np.arange(5), 9, **options) == chosen
    assert spread(some, np.arange(5), 2, **options) == chosen[:2]
    assert spread(some, np.arange(0), 2) == []


def test_each_spot_is_computed_and_tested_once():
    search, asked, tested = search_of(spots(np.arange(4.0)), fits=[1, 0, 1, 1])
    assert [one.index for one in search.compute([2, 0, 2])] == [2, 0, 2]
    assert [one.index for one in search.compute([0, 1])] == [0, 1]
    assert sorted(asked) == [0, 1, 2]
    assert search.fit(np.array([0, 1, 0])).tolist() == [True, False, True]
    assert search.fit(np.array([1, 3])).tolist() == [False, True]
    assert sorted(set(tested)) == [0, 1, 3]
    assert tested.count(1) == 1
    assert search.keeps_way(1)
    search.blocks_way = lambda index: index == 1
    assert [search.keeps_way(index) for index in (0, 1)] == [True, False]


def test_spots_in_order_and_the_best_of_each_cell(monkeypatch):
    some = spots(np.arange(6.0), merit=[0.1, 0.9, 0.5, 0.5, 0.7, 0.9], cell=[3, 3, 3, 1, 1, 0])
    search, *_ = search_of(some)
    whole = [1, 5, 4, 2, 3, 0]
    assert search.ordered(all_of_them=True).tolist() == whole
    assert search.ordered(all_of_them=False).tolist() == whole
    assert search.best_of_cells().tolist() == [1, 5, 4]
    monkeypatch.setattr(refinement, "SORTED", 4)
    assert search.ordered(all_of_them=False).tolist() == [1, 5, 4]  # without those that tie at the edge
    assert search.ordered(all_of_them=True).tolist() == whole
    assert best_on_cells(np.array([], dtype=np.int64), np.array([])).tolist() == []


def test_the_first_that_fit(monkeypatch):
    monkeypatch.setattr(refinement, "POOL", 2)
    search, _, tested = search_of(spots(np.arange(20.0)), fits=[k % 5 == 4 for k in range(20)])
    found = _first_that_fit(search, np.arange(20), lambda which: which != 4)
    assert found.tolist() == [9, 14]
    assert max(tested) == 15  # four at a time
    assert len(_first_that_fit(search, np.arange(20), lambda which: which < 0)) == 0
    assert len(_first_that_fit(search, np.arange(0), lambda which: which < 0)) == 0


def test_of_equal_spots_the_first_is_best():
    search, *_ = search_of(spots(np.arange(3.0)), exact=[0.5, 0.7, 0.7])
    search.compute([2, 1, 0])
    assert _best_known(search, np.array([0, 2, 1])).index == 1


def test_the_best_by_the_exact_sun_is_found_where_the_map_is_wrong():
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0, 10, 0.5), np.arange(0, 8, 0.5)))
    by_map, exact = 0.3 + 0.02 * x, 0.4 + 0.02 * x - 0.04 * y  # the map does not see what takes the sun in the north
    search, asked, _ = search_of(spots(x, y, merit=by_map), exact=exact)
    best, gap = best_spot(search, lambda which: np.ones(len(which), dtype=bool), budget=200)
    assert (x[best.index], y[best.index]) == (9.5, 0.0)
    assert 0 <= gap <= 0.0015
    assert len(asked) < len(x)
    none, gap = best_spot(search, lambda which: np.zeros(len(which), dtype=bool), budget=200)
    assert (none, gap) == (None, 0.0)
    search.blocks_way = lambda index: x[index] > 5
    best, _ = best_spot(search, lambda which: np.ones(len(which), dtype=bool), budget=400)
    assert x[best.index] <= 5
    search.blocks_way = lambda index: True  # noqa: ARG005
    assert best_spot(search, lambda which: np.ones(len(which), dtype=bool), budget=0)[0] is None


GRID = Grid(west=10, north=24, cell=2, rows=2, columns=3)


def scan_of(headings):
    return Scan(
        row=np.array([0, 1], dtype=np.int32), column=np.array([2, 0], dtype=np.int32), heading=np.array([1, 0], dtype=np.int32),
        mean=np.array([6.0, 5.0]), worst=np.array([4.0, 5.0]), minutes=np.array([3.0, 1.0]), headings=np.array(headings),
        scanned=2, blocked=np.zeros(1), alone=np.zeros(1),
    )  # fmt: skip


def test_spots_with_their_costs_by_hand():
    water, door = np.arange(6.0).reshape(2, 3), 10 + np.arange(6.0).reshape(2, 3)
    east, north = np.full((2, 3), 0.1), np.full((2, 3), 0.03)
    work = WorkMaps(water=water, door=door, walked=False, hose=99.0, trips=10, rise_east=east, rise_north=north)
    weights = Weights(worst=0.5, wheeling=0.2, water=0.1, beyond_hose=0.0, door=0.01, levelling=1.0)
    found = spots_of(scan_of([0.0, 90.0]), grid=GRID, work=work, weights=weights, plenty=8.0, form=BED, timed=True)
    assert (found.x.tolist(), found.y.tolist(), found.heading.tolist()) == ([15.0, 11.0], [23.0, 21.0], [90.0, 0.0])
    assert found.cell.tolist() == [2, 3]
    assert found.sun.tolist() == [5.0, 5.0]
    assert (found.minutes.tolist(), found.water.tolist(), found.door.tolist()) == ([3, 1], [2, 3], [12, 13])
    # 2 m along the rise of 0.1 and 1 m across it; 2 m along the rise of 0.03
    assert found.drop == pytest.approx([0.2 + 0.03, 0.06 + 0.1])
    assert found.cost == pytest.approx([0.2 * 0.5 + 0.2 + 0.12 + 0.23, 0.2 / 6 + 0.3 + 0.13 + 0.16])
    assert found.merit == pytest.approx((found.sun - found.cost) / 8)
    assert len(found) == 2
    bare = WorkMaps(water=None, door=None, walked=False, hose=99.0, trips=10)
    free = spots_of(scan_of([0.0, 90.0]), grid=GRID, work=bare, weights=weights, plenty=8.0, form=BED, timed=False)
    assert np.isnan([free.minutes, free.water, free.door]).all()
    assert (free.drop == 0).all()
    assert free.merit.tolist() == [5 / 8, 5 / 8]


def test_the_best_merit_of_each_cell_as_a_map():
    some = spots([11, 13, 15], 23, [200.0, 90.0, 10.0], [0.3, 0.4, 0.5], cell=[0, 4, 5])
    merit, heading = merit_maps(some, np.array([0, 1]), GRID)
    assert np.nan_to_num(merit, nan=-1).tolist() == [[0.3, -1, -1], [-1, 0.4, -1]]
    assert np.nan_to_num(heading, nan=-1).tolist() == [[20.0, -1, -1], [-1, 90.0, -1]]


@pytest.mark.parametrize(("edge", "clear"), [(2.0, True), (1.9992, True), (1.9988, False), (1.5, False)])
def test_outlines_that_touch_are_clear(edge, clear):
    some = spots([1.0], 0.0, 90.0)  # from 0 to 2 m east
    assert some.clear_of(box(edge, -5, 9, 5), np.array([0])).tolist() == [clear]


def test_the_merit_of_a_spot_is_its_sun_less_its_cost():
    """By the exact sun: of cells of 4 and 6 h 4.5 h count; less 0.5 h of work they are 4 of 8."""
    some = replace(spots([11.0], 21.0, 90.0), cost=np.array([0.5]))
    answer = SimpleNamespace(cell_season_h=np.array([4.0, 6.0]), cell_month_h=None)
    asked = []
    request = SimpleNamespace(
        bed_on=lambda outline: outline, month_share=None, weights=Weights(worst=0.5), plenty=8.0
    )
    found = _scorer(request, some, lambda bed: asked.append(bed) or answer)(0)
    assert (found.merit, found.sun, found.season, found.worst) == (0.5, 4.5, 5.0, 4.0)
    assert found.bed_sun is answer
    assert asked[0].equals(box(10, 20.5, 12, 21.5))


def test_a_spot_by_the_map_alone():
    grid = Grid(west=10, north=22, cell=1, rows=2, columns=3)
    hours = np.array([[5.0, 7.0, np.nan], [1.0, 2.0, 3.0]])
    some = replace(spots([11.0], [21.5], 90.0, 0.3), sun=np.array([6.5]), mean=np.array([6.2]), worst=np.array([5.9]))
    request = SimpleNamespace(map_h=hours, maps=SimpleNamespace(grid=grid))
    found = _scorer(request, some, None)(0)
    assert (found.merit, found.sun, found.season, found.worst, found.bed_sun) == (0.3, 6.5, 6.0, 5.0, None)
    dark = SimpleNamespace(map_h=np.full((2, 3), np.nan), maps=SimpleNamespace(grid=grid))
    found = _scorer(dark, some, None)(0)  # the scan's hours
    assert (found.season, found.worst) == (6.2, 5.9)
