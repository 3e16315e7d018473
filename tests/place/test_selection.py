"""Spots for several beds, and beds square to a wall: by hand, without maps."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from siteplan.place.headings.alignment import Edges
from siteplan.place.search import selection
from siteplan.place.search.candidates import Spots
from siteplan.place.search.footprint import form_of_size
from siteplan.place.search.refinement import ScoredSpot, Search
from siteplan.place.search.selection import _best_set_or_chosen, _clear_of_chosen, select, square_spot

BED = form_of_size(2, 1)  # 1 m wide from west to east where its heading is 0
NO_EDGES = Edges((), np.array([], dtype=object), np.array([]), np.array([]))
WALL = Edges((("fence", "x"),), shapely.linestrings([[[-1.0, -9], [-1.0, 9]]]), np.array([0.0]), np.array([18.0]))


def spots(x, y=0.0, heading=0.0, merit=0.5):
    count = len(x)
    arrays = {name: np.zeros(count) for name in Spots.__dataclass_fields__ if name not in {"form", "plenty"}}
    arrays |= {name: np.broadcast_to(np.array(one, dtype=float), count).copy()
               for name, one in (("x", x), ("y", y), ("heading", heading), ("merit", merit))}  # fmt: skip
    arrays["cell"], arrays["sun"] = np.arange(count), arrays["merit"]
    return Spots(**arrays, form=BED, plenty=8.0)


def search_of(some, exact=None, fits=None):
    """Return a search whose spots have these exact merits, by default those of the map."""
    exact = some.merit if exact is None else exact

    def score(index):
        merit = float(exact[index])
        return ScoredSpot(index=index, merit=merit, sun=0.0, season=0.0, worst=0.0, bed_sun=None)

    def clear(which):
        return np.ones(len(which), dtype=bool) if fits is None else np.array(fits, dtype=bool)[which]

    return Search(spots=some, score=score, clear=clear)


def everywhere(indices):
    return np.ones(len(indices), dtype=bool)


def test_beds_leave_an_aisle_to_those_taken():
    # beds 1 m wide beside one at (5, 3), and one across it: middles at 1 m and the aisle of 0.6 m, or at 0.5 + 0.6 + 1 m
    some = spots([5, 6.6, 6.59, 3.4, 3.41, 7.1, 7.09, 5, 5, 9], [3, 3, 3, 3, 3, 3, 3, 5.6, 5.59, 3],
                 [0, 0, 0, 0, 0, 90, 90, 0, 0, 0])  # fmt: skip
    usable = _clear_of_chosen(some, [0], 0.6)
    expected = [False, True, False, True, False, True, False, True, False, True]
    assert usable(np.arange(10)).tolist() == expected
    assert usable(np.array([9, 2, 1])).tolist() == [True, False, True]
    assert _clear_of_chosen(some, [0, 9], 0.6)(np.array([1, 3, 5])).tolist() == [True, True, False]
    assert _clear_of_chosen(some, [], 0.6)(np.arange(3)).tolist() == [True, True, True]


def chosen_by(some, count, *, aisle=1.0, blocks_way=None, by_map=False, edges=NO_EDGES, fits=None):
    search = search_of(some, fits=fits)
    found = select(search, count, aisle=aisle, edges=edges, blocks_way=blocks_way, by_map=by_map)
    assert search.blocks_way is None
    return [spot.index for spot in found.spots], found.gap, found.search_gap


X = [0.0, 1.6, 3.2, 10.0]  # two beds of 1 m and an aisle of 1 m need 2 m between their middles


@pytest.mark.parametrize(("merits", "count", "chosen", "gap"), [
    ([0.85, 0.90, 0.84, 0.50], 1, [1], 0.0),
    ([0.85, 0.90, 0.84, 0.50], 2, [0, 2], 0.0),  # 1.69 together; one by one 0.90 and 0.50
    ([0.84, 0.90, 0.85, 0.50], 2, [2, 0], 0.0),
    ([0.70, 0.90, 0.712, 0.50], 2, [1, 3], 0.006),  # 1.412 together, 1.40 one by one: not 0.01 a bed
    ([0.70, 0.90, 0.722, 0.50], 2, [2, 0], 0.0),  # 0.011 a bed
    ([0.50, 0.90, 0.50, 0.90], 2, [1, 3], 0.0),
    ([0.85, 0.90, 0.84, 0.50], 3, [0, 2, 3], 0.0),  # one by one only two
    ([0.85, 0.90, 0.84, 0.50], 9, [0, 2, 3], 0.0),
])  # fmt: skip
@pytest.mark.parametrize("by_map", [False, True])
def test_spots_are_chosen_together_where_that_is_better(merits, count, chosen, gap, by_map):
    found = chosen_by(spots(X, merit=merits), count, by_map=by_map)
    assert found == (chosen, pytest.approx(gap, abs=1e-9), 0.0)


def test_where_nothing_fits_nothing_is_chosen():
    assert chosen_by(spots(X), 2, fits=[0, 0, 0, 0]) == ([], 0.0, 0.0)
    assert chosen_by(spots(X, merit=[0.5, 0.9, 0.5, 0.4]), 1, fits=[1, 0, 1, 1])[0] == [0]


def test_beds_that_block_the_way_together_are_not_chosen_together():
    some = spots(X, merit=[0.85, 0.90, 0.84, 0.50])
    found = chosen_by(some, 2, blocks_way=lambda taken: taken == (0, 2))
    assert found == ([1, 3], pytest.approx((1.69 - 1.40) / 2), 0.0)  # the set that would be better
    assert chosen_by(some, 2, blocks_way=lambda taken: 1 in taken)[0] == [0, 2]
    # the second bed is sought with the first: (0, 1) is asked for in this order whatever is taken first
    asked = []
    chosen_by(some, 2, aisle=0.1, blocks_way=lambda taken: asked.append(taken) or False)
    assert (1,) in asked
    assert (0, 1) in asked
    assert all(list(taken) == sorted(taken) for taken in asked)


def test_what_is_left_out_of_the_programme_bounds_the_gap(monkeypatch):
    # the best two lie side by side; of those beyond the programme's two the third would go with the first
    monkeypatch.setattr(selection, "MOST", 2)
    search = search_of(spots([0.0, 1.0, 5.0, 9.0], merit=[0.9, 0.8, 0.7, 0.6]))
    computed = search.compute(range(4))
    chosen, gap = _best_set_or_chosen(search, [computed[0], computed[3]], 2, 1.0)
    assert [spot.index for spot in chosen] == [0, 3]
    assert gap == pytest.approx((0.9 + 0.7 - 1.5) / 2)
    monkeypatch.setattr(selection, "MOST", 3)
    chosen, gap = _best_set_or_chosen(search, [computed[0], computed[3]], 2, 1.0)
    assert [spot.index for spot in chosen] == [0, 2]
    assert gap == pytest.approx(0.0)  # with the fourth 1.5 at most
    # what fits no more, or blocks the way, is in no set
    search.blocks_way = lambda index: index == 2
    assert [spot.index for spot in _best_set_or_chosen(search, [computed[0], computed[3]], 2, 1.0)[0]] == [0, 3]


def squared(x, heading, merit, *, edges=WALL, usable=everywhere, fits=None, blocks_way=None, y=0.0):
    """Return the spot that takes the place of the first one, and how many were computed."""
    search = search_of(spots(x, y, heading, merit), fits=fits)
    search.blocks_way = blocks_way
    (best,) = search.compute([0])
    return square_spot(search, best, edges, usable).index, len(search.computed)


@pytest.mark.parametrize(("x", "heading", "merit", "index"), [
    (0.5, 0.0, 0.797, 1), (0.5, 90.0, 0.797, 1),  # a spot square to the wall, for 0.003 of merit
    (0.5, 0.0, 0.7938, 1), (0.5, 0.0, 0.7937, 0),  # 0.05 h of 8 h are 0.00625
    (0.5, 6.0, 0.797, 0), (0.5, 0.6, 0.797, 1), (0.5, 0.7, 0.797, 0), (0.5, 89.4, 0.797, 1), (0.5, 89.3, 0.797, 0),
    (0.5, 179.5, 0.797, 1),
    (0.6, 0.0, 0.797, 1), (0.61, 0.0, 0.797, 0), (-0.6, 0.0, 0.797, 1), (-0.61, 0.0, 0.797, 0),  # 0.6 m away
])  # fmt: skip
def test_a_bed_is_laid_square_where_that_costs_next_to_nothing(x, heading, merit, index):
    assert squared([0.0, x], [30.0, heading], [0.8, merit])[0] == index


def test_a_bed_stays_where_no_edge_is_near_or_it_is_square_already():
    assert squared([6.9, 6.9], [30.0, 0.0], [0.8, 0.8])[0] == 1  # 7.9 m from the wall
    assert squared([7.1, 7.1], [30.0, 0.0], [0.8, 0.9])[0] == 0
    assert squared([2.0, 2.0], [0.5, 0.0], [0.8, 0.9])[0] == 0
    assert squared([2.0, 2.0], [30.0, 0.0], [0.8, 0.9], edges=NO_EDGES)[0] == 0


def test_a_square_spot_is_free_fits_and_leaves_the_way_open():
    two = {"x": [2.0, 2.1, 2.45], "heading": [30.0, 0.0, 0.0], "merit": [0.8, 0.82, 0.81]}
    assert squared(**two)[0] == 1
    assert squared(**two, usable=lambda indices: indices != 1)[0] == 2
    assert squared(**two, fits=[1, 0, 1])[0] == 2
    assert squared(**two, fits=[1, 0, 0])[0] == 0
    assert squared(**two, blocks_way=lambda index: index == 1)[0] == 2
    assert squared(**two, blocks_way=lambda index: index > 0)[0] == 0
    assert squared([2.0, 2.1, 2.4], [30.0, 0.0, 0.0], [0.8, 0.81, 0.81])[0] == 1  # the first of two as good


def test_the_six_best_square_spots_are_computed():
    # ten of them 0.1 m apart in two headings, of which those 0.3 m or 25 degrees apart from each other are tried
    x = [2.0, *np.repeat(np.arange(1.5, 2.5, 0.1), 2)]
    heading = [30.0, *([0.0, 90.0] * 10)]
    merit = [0.8, *np.linspace(0.5, 0.79, 20)]
    index, computed = squared(x, heading, merit)
    assert index == 0
    assert computed == 1 + 6
    assert squared(x, heading, [0.8, *np.linspace(0.5, 0.7999, 20)])[0] == 20
