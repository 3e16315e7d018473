"""Times and figures of routes from what the router tells, by hand; and the moves of the search."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, box

from siteplan.haul.ground.cost_field import Pieces
from siteplan.haul.routes import bed_routes
from siteplan.haul.routes.bed_routes import RouteFinder
from siteplan.haul.routes.grid_moves import octile_moves, taut_moves
from siteplan.haul.routes.router import LeastTimes

LOADED, EMPTY = np.arange(12.0).reshape(3, 4), 100 + np.arange(12.0).reshape(3, 4)
CELLS = np.array([[0, 1], [2, 3]], dtype=np.int32)


@pytest.fixture
def finder_of():
    """Return a function that makes a finder whose router knows its least times, and a list of what it was asked."""

    def make(ratio):
        asked = []

        def least_times(cells, *, loaded, towards=False, keep=True):
            asked.append((np.asarray(cells).tolist(), loaded, towards, keep))
            return LeastTimes(LOADED if loaded else EMPTY, np.zeros(1, dtype=np.int32), loaded, towards)

        finder = object.__new__(RouteFinder)
        finder.router = SimpleNamespace(loaded_to_empty=ratio, least_times=least_times)
        return finder, asked

    return make


def test_out_and_back_from_the_bed(finder_of):
    # the way back takes two thirds of the time where the loaded barrow is slower by half
    finder, asked = finder_of(1.5)
    assert finder._times_to_bed(CELLS[:1], CELLS) == pytest.approx([1 * 5 / 3, 11 * 5 / 3])
    assert asked == [([[0, 1]], True, True, True)]
    finder, asked = finder_of(None)
    assert finder._times_to_bed(CELLS[:1], CELLS).tolist() == [1 + 101, 11 + 111]
    assert asked == [([[0, 1]], True, True, True), ([[0, 1]], False, False, True)]


def test_out_and_back_from_a_cell(finder_of):
    # the nearest cell beside each bed; a bed without one is not reached
    stands = [CELLS, CELLS[1:], np.empty((0, 2), dtype=np.int32)]
    finder, asked = finder_of(1.5)
    assert finder._times_from_cell(CELLS[0], stands) == pytest.approx([1 * 5 / 3, 11 * 5 / 3, np.inf])
    assert asked == [([0, 1], True, False, False)]
    finder, asked = finder_of(None)
    assert finder._times_from_cell(CELLS[0], stands).tolist() == [102, 122, np.inf]
    assert asked == [([0, 1], True, False, False), ([0, 1], False, True, False)]


def test_a_source_has_times_out_loaded_and_home_empty(finder_of):
    finder, asked = finder_of(1.5)
    source = finder.source("heap", CELLS)
    assert (source.out.loaded, source.home.loaded, source.home.towards) == (True, False, True)
    assert source.home.seconds == pytest.approx(LOADED / 1.5)
    assert source.round_trip == pytest.approx(LOADED * 5 / 3)
    assert len(asked) == 1
    finder, asked = finder_of(None)
    assert finder.source("heap", CELLS).round_trip.tolist() == (LOADED + EMPTY).tolist()
    assert [one[1:3] for one in asked] == [(True, False), (False, True)]


@pytest.mark.parametrize(("ratio", "empty", "back"), [(1.5, 20.0, (4, 0)), (None, 25.0, (4, 1))])
def test_the_figures_of_a_route(monkeypatch, ratio, empty, back):
    # 1 m at 2 %, 2 m at -5 %, 1 m at 4 % up, and a corner without length that falls aslant
    out = LineString([(0, 0), (4, 0)])
    pieces = Pieces(
        length=np.array([1.0, 2.0, 1.0, 0.0]), rise=np.array([0.02, -0.05, 0.04, 0.0]),
        cross_fall=np.array([0.01, 0.03, 0.02, 0.9]), rolling=np.zeros(4),
    )  # fmt: skip
    lines = {"out": (out, 30.0), "home": (LineString([(4, 1), (0, 0)]), 25.0)}
    finder = object.__new__(RouteFinder)
    finder.site, finder.ground = "site", SimpleNamespace(along=lambda _: pieces)
    finder.router = SimpleNamespace(loaded_to_empty=ratio, quickest_line=lambda times, _: lines[times])
    monkeypatch.setattr(bed_routes, "gates_crossed", lambda _site, two: (str(len(two)),))
    source = SimpleNamespace(id="heap", out="out", home="home")
    route = finder._route(source, "bed", (0, 0), bucket=1.5)
    assert (route.from_id, route.to_id, route.length_m, route.loaded_s, route.bucket_m) == ("heap", "bed", 4, 30, 1.5)
    assert route.climb_m == pytest.approx(0.06)
    assert (route.steepest, route.steepest_down, route.cross_fall) == (0.04, 0.05, 0.03)
    assert (route.empty_s, route.back.coords[0], route.gates) == (empty, back, ("2",))
    down = Pieces(np.ones(1), np.array([-0.3]), np.zeros(1), np.zeros(1))
    finder.ground = SimpleNamespace(along=lambda _: down)
    falling = finder._route(source, "bed", (0, 0), bucket=0.0)
    assert (falling.steepest, falling.steepest_down, falling.climb_m) == (0.0, 0.3, 0.0)


def test_few_beds_are_searched_from_the_beds_and_many_from_the_cells(finder_of):
    asked = []
    finder, _ = finder_of(None)
    finder.router.prepare = lambda: None
    finder._trips = {}
    finder.cells_beside = lambda _: CELLS
    finder._times_to_bed = lambda _stand, cells: asked.append("bed") or np.arange(float(len(cells)))
    finder._times_from_cell = lambda _cell, stands: asked.append("cell") or 10 + np.arange(float(len(stands)))
    beds = [SimpleNamespace(id=str(k), outline=box(0, 0, 1, 1)) for k in range(3)]
    assert finder.out_and_back(beds[:2], CELLS).tolist() == [[0, 1], [0, 1]]
    assert sorted(asked) == ["bed"] * 2
    assert finder.out_and_back(beds, CELLS).tolist() == [[10, 10], [11, 11], [12, 12]]
    assert sorted(asked) == ["bed"] * 2 + ["cell"] * 2
    finder.out_and_back(beds, CELLS)  # kept
    assert len(asked) == 4


def test_moves_in_forty_directions_and_in_eight():
    for moves, kinds in (
        (taut_moves(), [(1, 0), (1, 1), (2, 1), (3, 1), (3, 2), (4, 1)]),
        (octile_moves(), [(1, 0), (1, 1)]),
    ):
        steps = moves.steps.tolist()
        assert sorted({(max(abs(a), abs(b)), min(abs(a), abs(b))) for a, b in steps}) == kinds
        assert len({tuple(step) for step in steps}) == len(steps) == sum(8 if 0 < b < a else 4 for a, b in kinds)
        # counter-clockwise from the south-west, rows growing southward
        angles = [np.arctan2(-row, column) for row, column in steps]
        assert angles == sorted(angles)
        assert moves.starts[0] == 0
        assert moves.starts[-1] == len(moves.crossed) == len(moves.lengths)
        assert 0 < moves.lengths.min() < 1e-6
