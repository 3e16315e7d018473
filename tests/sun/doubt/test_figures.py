"""Which figures are uncertain, how they are spread, and what stands for other values of them: by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.land.features import Building, Fence, Hedge, MonthDay, Tree
from siteplan.land.grid import Grid
from siteplan.land.spread import Spread
from siteplan.land.terrain import Terrain
from siteplan.sun.doubt.figures import (
    Figure,
    _moved,
    figures_of,
    leaf_calendars,
    leaf_day,
    prisms_with_values,
    triangular,
)
from siteplan.sun.obstacles.prisms import Prism


@pytest.fixture(scope="module")
def bare(tiny_yard):
    nothing = dict.fromkeys(("buildings", "trees", "hedges", "fences", "gates", "beds"), ())
    return replace(tiny_yard, **nothing, terrain=None, skyline=None)


def figure(name="height", value=10.0, low=8.0, high=14.0, **given):
    return Figure(**{"owner": "a", "kind": "tree", "name": name, "value": value, "low": low, "high": high, "how": "given"}
                  | given)  # fmt: skip


TREE = Tree(id="t", outline=Point(0, -5).buffer(2.0, quad_segs=64), trunk=Point(0, -5), height=8.0, crown_base=2.0,
            leaf_out=MonthDay(4, 10), leaf_fall=MonthDay(10, 27), transmittance_path=None)  # fmt: skip
HOUSE = Building(id="b", outline=box(-4, -9, 4, -3), height=6.0)


@pytest.mark.parametrize(("low", "peak", "high", "share", "value"), [
    # sides of a triangle: the area left of x is (x - low)2 / (whole (peak - low)), right of it the same from high
    (0.0, 1.0, 4.0, 0.0, 0.0), (0.0, 1.0, 4.0, 0.0625, 0.5), (0.0, 1.0, 4.0, 0.25, 1.0), (0.0, 1.0, 4.0, 1 - 1 / 12, 3.0),
    (0.0, 1.0, 4.0, 1.0, 4.0), (2.0, 2.0, 3.0, 0.75, 2.5), (1.0, 3.0, 3.0, 0.25, 2.0), (2.0, 2.0, 2.0, 0.3, 2.0),
    (3.0, 2.0, 1.0, 0.3, 2.0),
])  # fmt: skip
def test_quantiles_of_a_triangle(low, peak, high, share, value):
    assert triangular(np.array([share]), low, peak, high) == pytest.approx([value])


def test_the_share_below_the_given_value():
    assert figure().share_below == pytest.approx(1 / 3)
    assert figure(low=10.0, high=10.0).share_below == 0.5
    light = figure(value=0.1, low=0.01, high=1.0, by_ratio=True)
    assert light.share_below == pytest.approx(0.5)
    assert light.quantile(np.array([0.0, 0.125, 0.5, 1.0])) == pytest.approx([0.01, 10**-1.5, 0.1, 1.0])
    dark = figure(value=0.05, low=0.0, high=0.05, by_ratio=True)  # a thousandth is as good as dark
    assert dark.quantile(np.array([0.0, 1.0])) == pytest.approx([0.001, 0.05])


def of(site, *spreads, **features):
    ((group, feature),) = features.items()
    return figures_of(replace(site, **{group: (replace(feature, spreads=spreads),)}))


@pytest.mark.parametrize(("feature", "spread", "names", "value", "by_ratio"), [
    ({"buildings": HOUSE}, "height", ("height",), 6.0, False),
    ({"buildings": HOUSE}, "position", ("position_east", "position_north"), 0.0, False),
    ({"buildings": HOUSE}, "transmittance", ("transmittance",), 0.0, False),
    ({"buildings": HOUSE}, "eaves", (), None, False),  # a house without
    ({"trees": TREE}, "crown_base", ("crown_base",), 2.0, False),
    ({"trees": TREE}, "crown_diameter", ("crown_diameter",), 4.0, False),
    ({"trees": TREE}, "transmittance_leafy", ("transmittance_leafy",), 0.05, True),
    ({"trees": TREE}, "transmittance_bare", ("transmittance_bare",), 0.45, True),
    ({"trees": TREE}, "leaf_out", ("leaf_out",), 100.0, False),  # 10 April of a common year
    ({"trees": TREE}, "leaf_fall", ("leaf_fall",), 300.0, False),
    ({"trees": TREE}, "trunk_diameter", (), None, False),
    ({"hedges": Hedge(id="h", outline=box(0, 0, 4, 1), height=2.0)}, "transmittance", ("transmittance",), 0.1, True),
    ({"fences": Fence(id="f", line=LineString([(0, 0), (4, 0)]), height=2.0, transmittance=0.5)}, "transmittance",
     ("transmittance",), 0.5, False),
])  # fmt: skip
def test_the_figures_of_a_feature(bare, feature, spread, names, value, by_ratio):
    found = of(bare, Spread(of=spread, below=0.0, above=0.25, how="laser"), **feature)
    assert tuple(one.name for one in found) == names
    (kind, owner), *_ = ((type(one).__name__.lower(), one.id) for one in feature.values())
    for one in found:
        assert one.value == pytest.approx(value, rel=1e-3)
        assert (one.low, one.high) == (one.value, one.value + 0.25)
        assert (one.by_ratio, one.how, one.kind, one.owner) == (by_ratio, "laser", kind, owner)


def test_figures_of_some_features_alone(bare):
    wide, none = Spread(of="height", below=0.5, above=0.0), Spread(of="height", below=0.0, above=0.0)
    houses = (
        replace(HOUSE, spreads=(wide,)),
        replace(HOUSE, id="c", spreads=(wide,)),
        replace(HOUSE, id="d", spreads=(none,)),
    )
    site = replace(bare, buildings=houses, trees=(replace(TREE, spreads=(wide,)),))
    assert [one.owner for one in figures_of(site)] == ["b", "c", "t"]
    assert [one.owner for one in figures_of(site, frozenset({"c", "d"}))] == ["c"]
    assert figures_of(site)[0].low == 5.5


def stands(site, feature, **values):
    (prism, *more) = prisms_with_values(site, feature, values)
    assert not [one for one in more if one.part == prism.part]
    return prism


@pytest.mark.parametrize(("values", "bottom", "top"), [
    ({}, 2.0, 8.0),
    ({"height": 9.0}, 2.0, 9.0),
    ({"crown_base": 3.0}, 3.0, 8.0),
    ({"crown_base": -1.0}, 0.0, 8.0),
    ({"crown_base": 7.94}, 7.94, 8.0),
    ({"crown_base": 7.96}, 7.95, 8.0),  # five centimetres are kept
    ({"crown_base": 8.5}, 7.95, 8.0),
    ({"height": 2.0}, 1.95, 2.0),  # lower than where its crown began
    ({"height": 2.01}, 2.0, 2.01),
    ({"height": 0.06}, 0.03, 0.06),
])  # fmt: skip
def test_a_crown_ends_above_where_it_begins(bare, values, bottom, top):
    crown = stands(bare, TREE, **values)
    assert (crown.bottom, crown.top) == pytest.approx((bottom, top))


@pytest.mark.parametrize(("base", "values", "bottom", "top"), [
    (0.0, {"height": 5.0}, 0.0, 5.0), (2.0, {"base": 3.0}, 3.0, 6.0), (2.0, {"base": 7.0}, 5.95, 6.0), (2.0, {"height": 1.5}, 1.45, 1.5),
])  # fmt: skip
def test_a_roof_ends_above_where_it_begins(bare, base, values, bottom, top):
    body = stands(bare, replace(HOUSE, base=base), **values)
    assert (body.bottom, body.top) == pytest.approx((bottom, top))


@pytest.mark.parametrize(("values", "walls", "ridge"), [
    ({"eaves": 5.0}, 5.0, 6.0), ({"eaves": 6.5}, 6.0, 6.0), ({"height": 3.0}, 3.0, 3.0), ({"height": 7.0}, 4.0, 7.0),
    ({"eaves": 0.5}, 1.0, 6.0),  # a house that stands on posts of a metre
])  # fmt: skip
def test_eaves_lie_between_the_base_and_the_ridge(bare, values, walls, ridge):
    prisms = prisms_with_values(bare, replace(HOUSE, eaves=4.0, base=1.0), values)
    assert max(one.top for one in prisms) == pytest.approx(ridge)
    roofs = [(one.top_plane or (0.0, 0.0, one.top), one.outline.exterior.coords) for one in prisms]
    lowest = min(a * x + b * y + c for (a, b, c), corners in roofs for x, y in corners)
    assert lowest == pytest.approx(walls)


@pytest.mark.parametrize(("value", "kept"), [(-0.2, 0.0), (0.0, 0.0), (0.3, 0.3), (1.0, 1.0), (1.4, 1.0)])
def test_a_share_of_light_is_a_share(bare, value, kept):
    crown = stands(bare, TREE, transmittance_leafy=value, transmittance_bare=1 - value)
    assert (crown.transmittance_leafy, crown.transmittance_bare) == pytest.approx((kept, 1 - kept))


@pytest.mark.parametrize(("diameter", "wide"), [(6.0, 6.0), (2.0, 2.0), (0.1, 0.2), (-1.0, 0.2)])
def test_a_crown_of_another_width_lets_through_as_much_on_the_same_way(bare, diameter, wide):
    """Scaled about the trunk, to a twentieth at least; its share held for the 4 m that are drawn."""
    crown = stands(bare, replace(TREE, trunk=Point(1, -5)), crown_diameter=diameter)
    west, south, east, north = crown.outline.bounds
    assert (east - west, north - south) == pytest.approx((wide, wide), rel=1e-3)
    assert (west + east) / 2 == pytest.approx(
        1 - wide / 4, abs=1e-3
    )  # the middle was a quarter of its width west of the trunk
    assert crown.transmittance_path == pytest.approx(4.0, rel=1e-3)
    assert stands(bare, replace(TREE, transmittance_path=5.0), crown_diameter=6.0).transmittance_path == 5.0


def test_leaves_come_and_fall_on_other_days(bare):
    crown = stands(bare, TREE, leaf_out=121.0)
    assert (crown.leaf_out, crown.leaf_fall) == (121, 300)
    crown = stands(bare, TREE, leaf_fall=280.0)
    assert (crown.leaf_out, crown.leaf_fall) == (100, 281)
    evergreen = replace(TREE, foliage="evergreen", leaf_out=None, leaf_fall=None)
    crown = stands(bare, evergreen, leaf_out=121.0)
    assert (crown.leaf_out, crown.leaf_fall) == (None, None)


def test_what_is_moved_takes_its_slope_along(bare):
    grid = Grid(west=-40, north=40, cell=1, rows=80, columns=80)
    x, y = np.meshgrid(grid.x, grid.y)
    site = replace(bare, terrain=Terrain(grid, 0.1 * x - 0.05 * y))
    here = prisms_with_values(site, replace(HOUSE, eaves=4.0), {})
    there = prisms_with_values(site, replace(HOUSE, eaves=4.0), {"position_east": 1.5, "position_north": -2.0})
    north = prisms_with_values(site, replace(HOUSE, eaves=4.0), {"position_north": -2.0})
    assert any(one.top_plane is not None for one in here)
    for one, other, third in zip(here, there, north, strict=True):
        assert (one.bottom, one.top, one.part) == (other.bottom, other.top, other.part)
        assert other.outline.equals_exact(type(one.outline)(
            [(px + 1.5, py - 2.0) for px, py in one.outline.exterior.coords]), 1e-9)  # fmt: skip
        if one.top_plane is not None:
            (a, b, c), (d, e, f) = one.top_plane, other.top_plane
            assert d * 3.5 + e * -4.0 + f == pytest.approx(a * 2.0 + b * -2.0 + c)
            d, e, f = third.top_plane
            assert d * 2.0 + e * -4.0 + f == pytest.approx(a * 2.0 + b * -2.0 + c)


@pytest.mark.parametrize(("day", "rounded"), [
    (1, 1), (3, 1), (3.4, 1), (3.6, 6), (6, 6), (100, 101), (118, 116), (118.6, 121), (363, 361), (364, 1), (366, 1), (0, 1),
    (-3, 361), (371, 6),
])  # fmt: skip
def test_leaf_dates_go_by_five_days(day, rounded):
    assert leaf_day(day) == rounded


def prism(owner, out, fall):
    return Prism(outline=box(0, 0, 1, 1), bottom=0, top=1, owner=owner, leaf_out=out, leaf_fall=fall)


@pytest.mark.parametrize(("figures", "prisms", "calendars"), [
    ((), (), ((1, 1),)),
    ((), (prism("x", 90, 280), prism("y", 90, 280), prism("z", None, None)), ((1, 1), (90, 280))),
    # from 100 to 110: 101, 106, 111; from 299 to 303: 301
    ((figure("leaf_out", 105.0, 100.0, 110.0), figure("leaf_fall", 300.0, 299.0, 303.0)), (),
     ((101, 301), (106, 301), (111, 301))),
    # from 93.5 to 108.5, of which a day in the middle between two dates may go to either
    ((figure("leaf_out", 101.0, 93.5, 108.5),), (), ((91, 1), (96, 1), (101, 1), (106, 1), (111, 1))),
    ((figure("leaf_out", 105.0, 105.0, 105.0),), (prism("a", 90, 280), prism("b", 80, 270)), ((80, 270), (106, 1))),
    ((figure("leaf_fall", 300.0, 296.0, 304.0),), (), ((1, 296), (1, 301), (1, 306))),
    ((figure("height"),), (prism("a", 90, 280),), ((1, 1), (90, 280))),
])  # fmt: skip
def test_the_calendars_of_all_draws(figures, prisms, calendars):
    assert leaf_calendars(figures, prisms) == calendars


@pytest.mark.parametrize(
    ("east", "north", "level"), [(1.5, 0.0, 4.7), (0.0, -2.0, 4.4), (1.5, -2.0, 4.1), (-1.5, 2.0, 5.9)]
)
def test_a_slope_that_is_moved(east, north, level):
    """It rises by 0.2 to the east and falls by 0.3 to the north: where x and y are 0 it was 5 m high."""
    roof = Prism(outline=box(0, 0, 1, 1), bottom=0, top=6, owner="x", top_plane=(0.2, -0.3, 5.0))
    moved = _moved(roof, east, north)
    assert moved.top_plane == pytest.approx((0.2, -0.3, level))
    assert moved.outline.bounds == (east, north, 1 + east, 1 + north)
