"""Every prism of a feature, with all that it says: by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, MonthDay, Tree
from siteplan.land.grid import Grid
from siteplan.land.outline import rectangle
from siteplan.land.terrain import Terrain
from siteplan.sun.obstacles.prisms import (
    Prism,
    _cuts,
    _lowest_ground,
    bed_prisms,
    frost_free_days,
    ground_under,
    obstacle_prisms,
    own_shade,
)

NOTHING = {"buildings": (), "trees": (), "hedges": (), "fences": (), "gates": (), "beds": ()}
BOX = Prism(outline=box(0, 0, 1, 1), bottom=0, top=1, owner="it")


@pytest.fixture(scope="module")
def flat(tiny_yard):
    """Return the yard with nothing in it, on a level plane."""
    return replace(tiny_yard, **NOTHING)


@pytest.fixture(scope="module")
def slope(flat):
    """Return the same on ground of 100 m + 0.1 x + 0.02 y, 40 m by 20 m."""
    grid = Grid(west=-20, north=10, cell=1, rows=20, columns=40)
    return replace(flat, terrain=Terrain(grid, 100 + 0.1 * grid.x[None, :] + 0.02 * grid.y[:, None]))


def said(prism):
    """Return all that a prism says but its outline."""
    return (
        (prism.bottom, prism.top), (prism.owner, prism.part), (prism.transmittance_leafy, prism.transmittance_bare),
        (prism.leaf_out, prism.leaf_fall), prism.transmittance_path, prism.top_plane,
    )  # fmt: skip


def same(outline, expected):
    return outline.symmetric_difference(expected).area < 1e-6


def test_a_prism_is_a_solid_that_stands_in_no_leaf():
    assert said(BOX) == ((0, 1), ("it", "body"), (0.0, 0.0), (None, None), None, None)


def test_prisms_follow_the_features_kind_by_kind(tiny_yard):
    hedge = Hedge(id="hedge", outline=box(-6, 4, 0, 5), height=1.5)
    site = replace(tiny_yard, hedges=(hedge,))
    order = list(dict.fromkeys(prism.owner for prism in obstacle_prisms(site)))
    assert order == ["shed", "pear", "hedge", "fence", "north bed", "new bed"]
    left = list(dict.fromkeys(prism.owner for prism in obstacle_prisms(site, without=("fence", "shed"))))
    assert left == ["pear", "hedge", "north bed", "new bed"]


def test_the_ground_under_a_shape(slope, flat):
    assert ground_under(flat, box(3, 4, 5, 6)) == 0.0
    assert ground_under(slope, box(3, 4, 5, 6)) == pytest.approx(100.5)  # its middle is (4, 5): 0.4 m and 0.1 m up
    # beyond an edge: the nearest point of the raster, whose outermost cells reach from centre to edge at one height
    assert ground_under(slope, Point(50, 3)) == pytest.approx(100 + 1.95 + 0.06)
    assert ground_under(slope, Point(-50, 3)) == pytest.approx(100 - 1.95 + 0.06)
    assert ground_under(slope, Point(4, 90)) == pytest.approx(100 + 0.4 + 0.19)
    assert ground_under(slope, Point(4, -90)) == pytest.approx(100 + 0.4 - 0.19)


def test_where_the_nearest_ground_is_not_known_it_is_the_usual_one(flat):
    grid = Grid(west=0, north=3, cell=1, rows=3, columns=3)
    heights = np.array([[np.nan, np.nan, np.nan], [5.0, 7.0, 90.0], [np.nan, np.nan, np.nan]])
    site = replace(flat, terrain=Terrain(grid, heights))
    assert ground_under(site, Point(1.5, 2.9)) == 7.0  # the one in the middle of three, not their mean of 34


def test_an_obstacle_reaches_fifty_metres_below_the_lowest_ground_under_it(slope, flat):
    assert _lowest_ground(flat, box(3, 4, 5, 6), 0.7) == 0.7
    # at its corners 100.38, 100.42, 100.58 and 100.62
    assert _lowest_ground(slope, box(3, 4, 5, 6), 100.5) == pytest.approx(50.38)
    assert _lowest_ground(slope, box(3, 4, 5, 6), 100.2) == pytest.approx(50.2)
    assert _lowest_ground(slope, box(60, 60, 61, 61), 101.0) == pytest.approx(51.0)  # nothing is known there


@pytest.mark.parametrize(("low", "high", "cuts"), [
    (1.0, 5.0, [1, 3, 5]), (1.0, 5.1, [1, 1 + 4.1 / 3, 1 + 8.2 / 3, 5.1]), (-1.0, 0.5, [-1, 0.5]), (3.0, 3.0, [3, 3]),
    (0.0, 4.000001, [0, 2.0000005, 4.000001]),  # rounding makes no third panel
])  # fmt: skip
def test_panels_are_equal_and_at_most_two_metres(low, high, cuts):
    assert _cuts(low, high).tolist() == pytest.approx(cuts)


def test_a_house_with_a_flat_roof(slope, flat):
    house = Building(id="h", outline=box(3, 4, 5, 6), height=4.0, transmittance=0.3)
    (prism,) = obstacle_prisms(replace(flat, buildings=(house,)))
    assert said(prism) == ((0.0, 4.0), ("h", "body"), (0.3, 0.0), (None, None), None, None)
    assert same(prism.outline, house.outline)
    (prism,) = obstacle_prisms(replace(slope, buildings=(house,)))
    assert (prism.bottom, prism.top) == pytest.approx((50.38, 104.5))
    (deck,) = obstacle_prisms(replace(slope, buildings=(replace(house, base=2.5),)))
    assert (deck.bottom, deck.top) == pytest.approx((103.0, 104.5))


def test_the_roof_of_a_gabled_house(slope):
    # ridge along x at y = 4, 3 m from the eaves: the roof falls by 1 m for each metre; the ground is 100 - 0.3 + 0.08
    house = Building(id="h", outline=box(-8, 1, 2, 7), height=7.0, eaves=4.0, transmittance=0.2)
    prisms = obstacle_prisms(replace(slope, buildings=(house,)))
    assert len(prisms) == 2
    for prism in prisms:
        north = prism.outline.centroid.y > 4
        assert same(prism.outline, box(-8, 4, 2, 7) if north else box(-8, 1, 2, 4))
        assert prism.top_plane == pytest.approx((0.0, -1.0, 99.78 + 11) if north else (0.0, 1.0, 99.78 + 3))
        assert prism.bottom == pytest.approx(100 - 0.8 + 0.02 - 50)
        assert prism.top == pytest.approx(106.78)
        assert said(prism)[1:5] == (("h", "body"), (0.2, 0.0), (None, None), None)
    raised = obstacle_prisms(replace(slope, buildings=(replace(house, base=1.0),)))
    assert [prism.bottom for prism in raised] == pytest.approx([100.78] * 2)


def test_a_ridge_lies_halfway_between_the_eaves_along_its_heading(flat):
    # a square on its corner; the ridge runs north-east, the eaves touch the sides that face north-west and south-east
    half = math.sqrt(2)
    outline = rectangle(10, 5, length=2 * half, width=2 * half, heading=45)
    house = Building(id="h", outline=outline, height=5.0, eaves=4.0, ridge_heading=45.0)
    found = {prism.outline.centroid.x > 10: prism for prism in obstacle_prisms(replace(flat, buildings=(house,)))}
    # across the ridge lies (1, -1) / sqrt 2; it falls by 1 m over sqrt 2, so by 0.5 for each metre east or south
    assert found[True].top_plane == pytest.approx((-0.5, 0.5, 5.0 + 0.5 * (10 - 5)))
    assert found[False].top_plane == pytest.approx((0.5, -0.5, 5.0 - 0.5 * (10 - 5)))
    assert same(found[True].outline, Polygon([(10, 3), (12, 5), (10, 7), (8, 5)]).intersection(
        Polygon([(5, 0), (15, 10), (25, 0)])))  # fmt: skip
    assert [prism.top for prism in found.values()] == pytest.approx([5.0, 5.0])


def test_a_house_in_two_parts_has_one_ridge(flat):
    # the parts stand off from the ridge at y = 3: the highest points lie 1 m from it, where the roof has fallen by 0.5
    house = Building(id="h", outline=MultiPolygon([box(0, 0, 10, 2), box(0, 4, 8, 6)]), height=4.0, eaves=2.5)
    south, north = sorted(obstacle_prisms(replace(flat, buildings=(house,))), key=lambda one: one.outline.centroid.y)
    assert same(south.outline, box(0, 0, 10, 2))
    assert same(north.outline, box(0, 4, 8, 6))
    assert south.top_plane == pytest.approx((0.0, 0.5, 2.5))
    assert north.top_plane == pytest.approx((0.0, -0.5, 5.5))
    assert (south.top, north.top) == pytest.approx((3.5, 3.5))
    whole = replace(house, eaves=4.5 - 0.5)
    assert [prism.top_plane for prism in obstacle_prisms(replace(flat, buildings=(whole,)))] == [None, None]


def test_a_tree_is_its_crown_and_then_its_trunk(slope):
    # 0.4 m and 0.1 m up at its trunk; the crown's middle lies elsewhere
    tree = Tree(
        id="t", outline=box(2, 3, 8, 7), trunk=Point(4, 5), height=9.0, crown_base=3.0, trunk_diameter=0.4,
        transmittance_leafy=0.15, transmittance_bare=0.55, leaf_out=MonthDay(4, 10), leaf_fall=MonthDay(11, 1),
        transmittance_path=None,
    )  # fmt: skip
    crown, trunk = obstacle_prisms(replace(slope, trees=(tree,)))
    # 31 + 28 + 31 + 10 and 304 + 1; the mean width is the perimeter over pi
    assert said(crown)[1:4] == (("t", "crown"), (0.15, 0.55), (100, 305))
    assert (crown.bottom, crown.top) == pytest.approx((103.5, 109.5))
    assert crown.transmittance_path == pytest.approx(20 / math.pi)
    assert said(trunk)[1:] == (("t", "trunk"), (0.0, 0.0), (None, None), None, None)
    assert (trunk.bottom, trunk.top) == pytest.approx((100.5, 103.5))
    corners = np.array(trunk.outline.exterior.coords) - (4, 5)
    assert len(corners) == 13
    assert np.hypot(*corners.T) == pytest.approx(0.2)
    (crown,) = obstacle_prisms(replace(slope, trees=(replace(tree, crown_base=0.0, transmittance_path=4.5),)))
    assert (crown.transmittance_path, crown.bottom) == (4.5, pytest.approx(100.5))  # no trunk shows below it
    assert len(obstacle_prisms(replace(slope, trees=(replace(tree, trunk_diameter=None),)))) == 1
    short = replace(tree, crown_base=0.5)  # a trunk half a metre high is one
    assert [prism.part for prism in obstacle_prisms(replace(slope, trees=(short,)))] == ["crown", "trunk"]


def test_the_slices_of_a_tree_stand_on_its_ground(slope):
    tree = Tree(id="t", outline=Point(4, 5).buffer(2), trunk=Point(4, 5), height=9, crown_base=1, crown_form="cone")
    prisms = obstacle_prisms(replace(slope, trees=(tree,)))
    assert [prism.bottom for prism in prisms] == pytest.approx([101.5 + number for number in range(8)])
    assert [prism.top for prism in prisms] == pytest.approx([102.5 + number for number in range(8)])


def test_a_hedge_attenuates_over_its_thickness(flat, slope):
    hedge = Hedge(id="h", outline=box(0, 2, 10, 3), height=1.5, transmittance=0.25)
    (prism,) = obstacle_prisms(replace(flat, hedges=(hedge,)))
    assert said(prism) == ((0.0, 1.5), ("h", "body"), (0.25, 0.0), (None, None), pytest.approx(1.0), None)
    (prism,) = obstacle_prisms(replace(flat, hedges=(replace(hedge, transmittance_path=0.6),)))
    assert prism.transmittance_path == 0.6
    # on a slope, in five panels of 2 m by 1 m, each on the ground at its own middle: x = 1, 3, 5, 7, 9 and y = 2.5
    panels = sorted(obstacle_prisms(replace(slope, hedges=(hedge,))), key=lambda one: one.outline.centroid.x)
    assert len(panels) == 5
    for number, panel in enumerate(panels):
        assert same(panel.outline, box(2 * number, 2, 2 * number + 2, 3))
        assert panel.top == pytest.approx(100 + 0.1 * (2 * number + 1) + 0.05 + 1.5)
        assert panel.bottom == pytest.approx(100 + 0.2 * number + 0.04 - 50)  # at its south-western corner
        assert panel.transmittance_path == pytest.approx(1.0)


def test_a_hedge_that_lies_askew_is_cut_along_its_sides(slope):
    hedge = Hedge(id="h", outline=rectangle(3, 2, length=6, width=4, heading=30), height=1.5)
    panels = obstacle_prisms(replace(slope, hedges=(hedge,)))
    assert len(panels) == 6
    for panel in panels:
        rounded = panel.outline.minimum_rotated_rectangle
        assert panel.outline.area == pytest.approx(4.0)
        assert rounded.area == pytest.approx(4.0)
        assert rounded.length == pytest.approx(8.0)
    along, across = np.array([0.5, math.sqrt(3) / 2]), np.array([math.sqrt(3) / 2, -0.5])
    expected = {tuple(np.round([3, 2] + a * along + b * across, 6)) for a in (-2, 0, 2) for b in (-1, 1)}
    assert {tuple(np.round(panel.outline.centroid.coords[0], 6)) for panel in panels} == expected


def test_a_fence_with_a_gap_below_it(flat, slope):
    fence = Fence(id="f", line=LineString([(0, 0), (6, 0)]), height=1.8, thickness=0.1, transmittance=0.4, base=0.2)
    (prism,) = obstacle_prisms(replace(flat, fences=(fence,)))
    assert said(prism) == ((0.2, 1.8), ("f", "body"), (0.4, 0.0), (None, None), None, None)
    assert same(prism.outline, box(0, -0.05, 6, 0.05))
    # panels of 2 m, each on the ground at the middle of its line
    panels = obstacle_prisms(replace(slope, fences=(fence,)))
    assert [panel.bottom for panel in panels] == pytest.approx([100.3, 100.5, 100.7])
    assert [panel.top for panel in panels] == pytest.approx([101.9, 102.1, 102.3])
    assert all(same(panel.outline, box(2 * n, -0.05, 2 * n + 2, 0.05)) for n, panel in enumerate(panels))
    # one that stands on the ground: 50 m below the lowest corner, 5 cm south of the line
    standing = obstacle_prisms(replace(slope, fences=(replace(fence, base=0.0),)))
    assert [panel.bottom for panel in standing] == pytest.approx([49.999, 50.199, 50.399])
    assert [panel.top for panel in standing] == pytest.approx([101.9, 102.1, 102.3])


def test_a_wall_drawn_as_an_area(flat, slope):
    wall = Fence(id="w", outline=box(0, 2, 4, 3), line=LineString([(0, 2.5), (4, 2.5)]), height=2.0, thickness=1.0)
    (prism,) = obstacle_prisms(replace(flat, fences=(wall,)))
    assert same(prism.outline, box(0, 2, 4, 3))
    assert (prism.bottom, prism.top) == (0.0, 2.0)
    panels = sorted(obstacle_prisms(replace(slope, fences=(wall,))), key=lambda one: one.outline.centroid.x)
    assert [panel.top for panel in panels] == pytest.approx([102.15, 102.35])
    assert [panel.bottom for panel in panels] == pytest.approx([50.04, 50.24])


def test_the_corners_of_a_fence_are_mitred_if_they_are_not_too_sharp(flat):
    def corner(end):
        line = LineString([(0, 0), (4, 0), end])
        (prism,) = obstacle_prisms(replace(flat, fences=(Fence(id="f", line=line, height=1, thickness=0.2),)))
        return prism.outline

    assert max(x for x, _ in corner((4, 4)).exterior.coords) == pytest.approx(4.1)  # a right angle: its corner whole
    assert same(corner((4, 4)), box(0, -0.1, 4.1, 0.1).union(box(3.9, -0.1, 4.1, 4)))
    # at 40 degrees the corner would reach 0.1 / sin 20 = 0.292 m, more than twice the half thickness: it is cut there
    sharp = corner((4 - 4 * math.cos(math.radians(40)), 4 * math.sin(math.radians(40))))
    reach = max(Point(4, 0).distance(Point(x, y)) for x, y in sharp.exterior.coords if x > 4)
    toward = np.array([math.cos(math.radians(20)), -math.sin(math.radians(20))])
    assert max(np.array([x - 4, y]) @ toward for x, y in sharp.exterior.coords) == pytest.approx(0.2, abs=1e-6)
    assert reach < 0.292


def test_a_gate_at_the_end_leaves_no_speck_of_a_fence(flat):
    fence = Fence(id="f", line=LineString([(0, 0), (6, 0)]), height=1.8)
    gate = Gate(id="g", place=Point(1, 0), line=LineString([(5e-7, 0), (2, 0)]), width=2.0)
    (prism,) = obstacle_prisms(replace(flat, fences=(fence,), gates=(gate,)))
    assert prism.outline.bounds[0] == pytest.approx(2.0)


@pytest.fixture(scope="module")
def terraced():
    """Return a bed in two tiers of 0.4 m and 0.3 m, 3 m by 2 m about (4, 5), with a trellis and a crop."""
    tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5))
    return Bed(
        id="b", outline=box(2.5, 4, 5.5, 6), tiers=tiers, wall_thickness=0.04, trellis_height=2.0, crop_height=1.2
    )


def test_all_prisms_of_a_bed_in_tiers(slope, terraced):
    # the ground is 100.5 at its middle and 100.33 at its lowest corner; the frosts are 15 April and 20 October
    low, high, trellis, crop_low, crop_high = bed_prisms(slope, terraced)
    assert frost_free_days(slope) == (105, 293)
    assert said(low)[1:] == said(high)[1:] == (("b", "soil"), (0.0, 0.0), (None, None), None, None)
    assert (low.bottom, low.top) == pytest.approx((50.33, 100.9))
    assert (high.bottom, high.top) == pytest.approx((100.9, 101.2))
    assert same(low.outline, box(2.5, 4, 5.5, 6))
    assert same(high.outline, box(3, 4.5, 5, 5.5))
    assert said(trellis)[1:] == (("b", "trellis"), (0.3, 0.9), (105, 293), None, None)
    assert (trellis.bottom, trellis.top) == pytest.approx((100.9, 102.5))
    assert same(trellis.outline, box(2.5, 5.95, 5.5, 6))
    for crop, soil in ((crop_low, 100.9), (crop_high, 101.2)):
        assert said(crop)[1:] == (("b", "crop"), (0.2, 1.0), (105, 293), 1.2, None)
        assert (crop.bottom, crop.top) == pytest.approx((soil, 101.7))
    assert same(crop_low.outline, box(2.5, 4, 5.5, 6).difference(box(3, 4.5, 5, 5.5)))
    assert same(crop_high.outline, box(3, 4.5, 5, 5.5))


def test_a_tier_is_shaded_by_the_trellis_and_the_frames_above_it(slope, terraced):
    _, high, trellis, *_ = bed_prisms(slope, terraced)
    assert own_shade(slope, terraced) == (trellis,)
    assert own_shade(slope, terraced, tier=1) == (high, trellis)
    assert own_shade(slope, terraced, tier=2) == (trellis,)
    bare = replace(terraced, trellis_height=None, crop_height=None)
    assert [prism.part for prism in bed_prisms(slope, bare)] == ["soil", "soil"]
    assert own_shade(slope, bare) == ()
