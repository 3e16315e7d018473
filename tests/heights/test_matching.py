"""What of the things that are found is drawn already, and what is proposed of it? By hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, affinity, box

from siteplan.heights.canopy import Canopy
from siteplan.heights.crowns import CrownFigures
from siteplan.heights.low_rows import LowRow
from siteplan.heights.matching import match_features
from siteplan.heights.roofs import Roof
from siteplan.heights.survey_features import FoundBuilding, FoundTree, SurveyFeatures
from siteplan.heights.trees import Crown
from siteplan.land.features import Building, Fence, Hedge, Tree
from siteplan.land.grid import Grid
from siteplan.land.returns import Returns
from tests.place.conftest import bare_yard

GRID = Grid(west=0.0, north=40.0, cell=0.5, rows=80, columns=80)


def crown(
    x, y, wide=6.0, *, group=False, height=9.0, base=2.0, through=0.3, depth=5.0, through_spread=0.1, shape=None
):
    own = shape or Point(x, y).buffer(wide / 2)
    body = Crown(own, height, 3 if group else 1, group, np.zeros(0, dtype=int))
    figures = CrownFigures(height, 0.6, base, 0.9, through, through_spread, depth, 250, 80)
    return FoundTree(body, figures)


def found(*, trees=(), buildings=(), rows=(), plant=(), roof_points=None):
    """Return what was found, with a canopy of some height over some shapes, and points on a roof."""
    tops = np.full(GRID.shape, np.nan)
    for shape, height in plant:
        tops[GRID.inside(shape)] = height
    x, y, height = roof_points or (np.zeros(0),) * 3
    flags = np.ones(len(x), dtype=bool)
    returns = Returns(x, y, height, np.ones(len(x), dtype=np.uint8), flags, ~flags)
    canopy = Canopy(GRID, np.zeros(GRID.shape), height, flags, ~flags, tops, tops)
    return SurveyFeatures(
        grid=GRID, ground=np.zeros(GRID.shape), has_ground_points=np.ones(GRID.shape, dtype=bool), canopy=canopy, returns=returns,
        trees=tuple(trees), buildings=tuple(buildings), rows=tuple(rows), lone=0, by_filter=False,
    )  # fmt: skip


def tree(name, x, y, wide=6.0):
    return Tree(id=name, outline=Point(x, y).buffer(wide / 2), trunk=Point(x, y), height=7.0, crown_base=1.0)


def asked(survey, *, leafy=True, **drawn):
    done = match_features(survey, bare_yard(box(0, 0, 40, 40), **drawn), leafy=leafy)
    return {one.id: one for one in done.proposals}, done.unseen


def figures(proposal):
    return {one.key: (one.value, one.spread) for one in proposal.figures}


def test_a_crown_goes_to_the_tree_it_shares_most_ground_with():
    survey = found(trees=[crown(10, 10, height=8), crown(15, 10, height=11)])
    told, unseen = asked(survey, trees=(tree("a", 11, 10), tree("b", 14.5, 10)))
    assert figures(told["a"])["height"] == (8, 0.6)
    assert figures(told["b"])["height"] == (11, 0.6)
    assert unseen == ()
    assert all(one.drawn and one.kind == "tree" for one in told.values())


def test_each_crown_goes_to_one_tree_alone_and_the_other_is_unseen():
    told, unseen = asked(found(trees=[crown(10, 10)]), trees=(tree("far", 12, 10), tree("near", 10.4, 10)))
    assert set(told) == {"near"}
    assert unseen == ("far",)


@pytest.mark.parametrize(("away", "shared"), [(2.35, True), (2.45, False)])
def test_crowns_are_one_that_share_a_quarter_of_their_ground(away, shared):
    """Of two squares 4 m wide: 1.65 of 6.35 m, or 1.55 of 6.45 m; neither stands in the other."""
    drawn = Tree(id="a", outline=box(8 + away, 8, 12 + away, 12), trunk=Point(13.5, 10), height=7, crown_base=1)
    told, _ = asked(found(trees=[crown(10, 10, shape=box(8, 8, 12, 12))]), trees=(drawn,))
    assert set(told) == ({"a"} if shared else {"tree-1"})


def test_a_tree_drawn_small_stands_in_its_crown():
    told, _ = asked(found(trees=[crown(10, 10, 8.0)]), trees=(tree("sapling", 12, 10, 1.0),))
    assert set(told) == {"sapling"}
    wide = figures(told["sapling"])["crown_diameter"]
    assert wide == pytest.approx((8.0, 1.0), abs=0.03)
    # and a crown that is found small, in one that is drawn wide
    told, _ = asked(found(trees=[crown(12, 10, 2.0)]), trees=(tree("wide", 10, 10, 8.0),))
    assert set(told) == {"wide"}


@pytest.mark.parametrize(("tall", "seen"), [(1.05, True), (0.95, False)])
def test_a_drawn_tree_is_as_high_as_what_stands_in_it_from_1_m_on(tall, seen):
    told, unseen = asked(found(plant=[(Point(10, 10).buffer(1), tall)]), trees=(tree("a", 10, 10, 4),))
    if seen:
        assert figures(told["a"]) == {"height": pytest.approx((tall, 0.5))}
    assert unseen == (() if seen else ("a",))


def test_a_group_is_no_single_tree():
    """What stands in the drawn crown tells its height then, a tenth of it off, half a metre at least."""
    own = tree("a", 10, 10)
    survey = found(trees=[crown(10, 10, group=True)], plant=[(Point(10, 10).buffer(2), 8.0)])
    told, _ = asked(survey, trees=(own,))
    assert figures(told["a"]) == {"height": (8.0, pytest.approx(0.8))}
    assert told["a"].points == GRID.inside(Point(10, 10).buffer(2)).sum()
    low = found(plant=[(Point(10, 10).buffer(2), 3.0)])
    assert figures(asked(low, trees=(own,))[0]["a"]) == {"height": (3.0, 0.5)}
    for plant in ([(Point(10, 10).buffer(2), 0.9)], []):
        assert asked(found(plant=plant), trees=(own,)) == ({}, ("a",))


def test_what_a_crown_lets_through():
    """By Beer and Lambert: 0.3 through 5 m is 0.3 ** (6 / 5) through 6 m, and so are its ends."""
    told, _ = asked(found(trees=[crown(10, 10)]))
    got = figures(told["tree-1"])
    spread = (0.4**1.2 - 0.2**1.2) / 2
    assert got["transmittance_leafy"] == pytest.approx((0.3**1.2, spread))
    assert got["transmittance_path"] == (6.0, 0.0)
    assert "transmittance_bare" in figures(asked(found(trees=[crown(10, 10)]), leafy=False)[0]["tree-1"])
    for survey in (found(trees=[crown(10, 10, through=None)]), found(trees=[crown(10, 10, through=0.02, depth=1.0)])):
        assert "transmittance_leafy" not in figures(asked(survey)[0]["tree-1"])  # none, or less than a thousandth
    assert "transmittance_leafy" not in figures(asked(found(trees=[crown(10, 10)]), leafy=None)[0]["tree-1"])


def test_no_crown_lets_all_or_nothing_through():
    """From 0.02 to 0.95, the ends as well; a crown of 0.3 m is taken to be half a metre deep."""
    thin = figures(asked(found(trees=[crown(10, 10, through=0.99, depth=6.0)]))[0]["tree-1"])
    assert thin["transmittance_leafy"] == pytest.approx((0.95, (0.95 - 0.85) / 2))
    dense = figures(asked(found(trees=[crown(10, 10, through=0.0, depth=6.0)]))[0]["tree-1"])
    assert dense["transmittance_leafy"] == pytest.approx((0.02, 0.02))  # no more off than it is
    flat = figures(asked(found(trees=[crown(10, 10, through=0.9, depth=0.3)]))[0]["tree-1"])
    assert flat["transmittance_leafy"][0] == pytest.approx(0.9**12)


def test_where_a_crown_begins():
    """Never above eight tenths of the height, nor farther off than it is high."""
    assert figures(asked(found(trees=[crown(10, 10)]))[0]["tree-1"])["crown_base"] == (2.0, 0.9)
    high = figures(asked(found(trees=[crown(10, 10, base=8.0)]))[0]["tree-1"])
    assert high["crown_base"] == pytest.approx((7.2, 0.9))
    low = figures(asked(found(trees=[crown(10, 10, base=0.6)]))[0]["tree-1"])
    assert low["crown_base"] == (0.6, 0.6)
    assert "crown_base" not in figures(asked(found(trees=[crown(10, 10, base=None)]))[0]["tree-1"])


def test_a_new_tree_brings_its_outline_and_says_what_it_is():
    told, _ = asked(found(trees=[crown(10, 10, group=True)]), trees=(tree("tree-1", 30, 30),))
    new = told["tree-2"]  # an id that is free
    assert not new.drawn
    assert new.shape.equals(Point(10, 10).buffer(3))
    assert (new.points, new.trees, new.ground_share, new.pulses) == (250, 3, 0.3, 80)
    assert "crown_diameter" not in figures(new)


@pytest.mark.parametrize(("away", "is_new"), [(1.0, False), (2.5, True)])
def test_what_lies_on_drawn_plants_is_no_new_tree(away, is_new):
    """More than half of a group's ground lies on the drawn crown 1 m off, less than half of it 2.5 m off."""
    square = box(8, 8, 12, 12)
    drawn = Tree(id="a", outline=affinity.translate(square, away), trunk=Point(10 + away, 10), height=7, crown_base=1)
    told, _ = asked(found(trees=[crown(10, 10, shape=square, group=True)]), trees=(drawn,))
    assert ("tree-1" in told) == is_new


def test_a_crown_over_a_drawn_hedge_is_the_hedge():
    """A metre around it counts: of a crown 4 m wide over the end of a hedge 2.2 m wide with its metre, most does."""
    shape = box(8, 8, 12, 12)
    hedge = Hedge(id="h", outline=box(0, 9.2, 20, 10.4), height=1.0)
    assert "tree-1" not in asked(found(trees=[crown(10, 10, shape=shape)]), hedges=(hedge,))[0]
    narrow = Hedge(id="h", outline=box(0, 7, 20, 8.5), height=1.0)
    assert "tree-1" in asked(found(trees=[crown(10, 10, shape=shape)]), hedges=(narrow,))[0]


def row(kind, line, height=1.8):
    return LowRow(kind, LineString(line), 0.7, height, 0.2, 130)


def test_rows_that_are_new_and_rows_that_are_drawn():
    drawn = Fence(id="f", line=LineString([(0, 5), (20, 5)]), height=1.0)
    survey = found(rows=[row("fence", [(0, 5.8), (20, 5.8)]), row("hedge", [(5, 5), (5, 15)], 2.2)])
    told, unseen = asked(survey, fences=(drawn,))
    assert set(told) == {"hedge-1"}  # the other lies along the fence, within a metre
    assert unseen == ("f",)
    new = told["hedge-1"]
    assert (new.kind, new.drawn, new.points) == ("hedge", False, 130)
    assert figures(new) == {"height": (2.2, 0.2), "width": (0.7, 0.0)}
    apart = asked(found(rows=[row("fence", [(0, 6.3), (20, 6.3)])]), fences=(drawn,))[0]
    assert figures(apart["fence-1"]) == {"height": (1.8, 0.2), "thickness": (0.7, 0.0)}
    # half of it may lie along the fence and the metre around its end at 20 m
    for end, is_new in ((27.9, False), (28.1, True)):
        assert ("fence-1" in asked(found(rows=[row("fence", [(14, 5), (end, 5)])]), fences=(drawn,))[0]) == is_new


def test_a_drawn_row_is_as_high_as_what_stands_on_it():
    """Three quarters of its cells lie below; half of the way from the middle to the ninth tenth is its spread."""
    hedge = Hedge(id="h", outline=box(0, 5, 20, 6), height=1.0)
    tops = [(box(k, 5, k + 1, 6), 1.0 + 0.1 * k) for k in range(20)]
    told, _ = asked(found(plant=tops), hedges=(hedge,))
    cells = np.repeat([1.0 + 0.1 * k for k in range(20)], 4)
    half, height, high = np.quantile(cells, [0.5, 0.75, 0.9])
    assert figures(told["h"])["height"] == pytest.approx((height, (high - half) / 2), abs=0.03)
    assert (told["h"].kind, told["h"].drawn) == ("hedge", True)
    even = asked(found(plant=[(box(0, 5, 20, 6), 1.5)]), hedges=(hedge,))[0]["h"]
    assert figures(even)["height"] == (1.5, 0.15)
    assert even.shape.equals(hedge.outline)


def test_grass_and_crowns_are_no_row():
    fence = Fence(id="f", line=LineString([(0, 5), (20, 5)]), height=1.0)
    around = box(0, 4, 20, 6)
    for height, seen in ((0.25, False), (0.35, True), (7.9, True), (8.1, False)):
        told, unseen = asked(found(plant=[(around, height)]), fences=(fence,))
        assert (figures(told["f"])["height"][0] == height) if seen else unseen == ("f",)
    # three cells tell nothing, four do
    for cells, seen in ((3, False), (4, True)):
        told, _ = asked(found(plant=[(box(2, 5.01, 2 + cells / 2 - 0.01, 5.49), 1.5)]), fences=(fence,))
        assert ("f" in told) == seen


def test_roofs_of_drawn_buildings():
    x, y = (each.ravel() for each in np.meshgrid(np.arange(5.2, 15, 0.4), np.arange(10.2, 16, 0.4)))
    points = (x, y, 7.0 - np.abs(y - 13.0))
    house, pergola = Building(id="house", outline=box(5, 10, 15, 16), height=3.0), box(5, 10, 15, 16)
    others = (
        Building(id="deck", outline=pergola, height=3.0, base=1.0),
        Building(id="glass", outline=pergola, height=3.0, transmittance=0.5),
        Building(id="gone", outline=box(25, 25, 30, 30), height=3.0),
    )
    told, unseen = asked(found(roof_points=points), buildings=(house, *others))
    assert set(told) == {"house"}
    assert unseen == ("gone",)
    got = figures(told["house"])
    assert got["height"] == pytest.approx((7.0, 0.1), abs=0.01)
    assert got["eaves"] == pytest.approx((4.0, 0.1), abs=0.01)
    assert got["ridge_heading"] == (90.0, 0.0)
    assert told["house"].points == np.sum((x > 5.3) & (x < 14.7) & (y > 10.3) & (y < 15.7))


def test_a_new_building_brings_its_figures():
    outline = box(5, 10, 15, 16)
    flat = FoundBuilding(outline, Roof(3.0, None, None, 4.0, 77, 3.1))
    gabled = FoundBuilding(outline, Roof(7.0, 0.5, 30.0, 0.8, 78, 6.0))
    told, _ = asked(found(buildings=[flat, gabled]))
    assert figures(told["building-1"]) == {"height": (3.0, 3.0)}  # no more off than it is high
    assert figures(told["building-2"]) == {"height": (7.0, 0.8), "eaves": (0.5, 0.5), "ridge_heading": (30.0, 0.0)}
    assert [one.dimension for one in told["building-2"].figures] == ["length", "length", "angle"]
    assert told["building-1"].shape.equals(outline)
    assert not told["building-1"].drawn
    assert told["building-1"].points == 77
