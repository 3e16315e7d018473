"""Where does a crown end, when are two one, when is one a group? By hand, on simple bodies in half-metre cells."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Point, affinity, box

from siteplan.heights.trees import DIP_SHARE, _is_group, _pieces, _tops, find_crowns, sound_canopy
from siteplan.land.grid import Grid

GRID = Grid(west=50.0, north=40.0, cell=0.5, rows=80, columns=100)
X, Y = np.meshgrid(GRID.x, GRID.y)


def seen(*heights):
    """Return the canopy of several bodies: what is higher than 2 m of the highest."""
    top = np.maximum.reduce(heights)
    return np.where(top >= 2.0, top, np.nan)


def dome(x, y, tall, wide):
    """Return an ellipsoid's upper half that begins at 2 m."""
    share = 1 - (np.hypot(X - x, Y - y) / (wide / 2)) ** 2
    return np.where(share > 0, 2 + (tall - 2) * np.sqrt(np.maximum(share, 0)), 0)


def block(shape, tall):
    return np.where(GRID.inside(shape), tall, 0)


def test_a_dome_is_one_tree():
    (tree,) = find_crowns(seen(dome(70, 22, 9.0, 6.0)), GRID)
    own = Point(70, 22).buffer(3)
    assert tree.top == pytest.approx(9.0, abs=0.15)
    assert tree.outline.area == pytest.approx(own.area, rel=0.06)
    assert tree.outline.symmetric_difference(own).area < 0.1 * own.area
    assert (tree.tops, tree.group) == (1, False)
    there = np.zeros(GRID.shape, dtype=bool)
    there.ravel()[tree.cells] = True
    assert np.mean(there == (np.hypot(X - 70, Y - 22) < 3)) > 0.998


def test_two_apart_are_two_and_the_higher_comes_first():
    low, high = find_crowns(seen(dome(60, 22, 6.0, 4.0), dome(80, 22, 9.0, 5.0)), GRID)[::-1]
    assert (low.top, high.top) == pytest.approx((6.0, 9.0), abs=0.15)
    assert low.outline.centroid.distance(Point(60, 22)) < 0.1
    assert high.outline.centroid.distance(Point(80, 22)) < 0.1


@pytest.mark.parametrize("turned", [False, True])
def test_two_that_touch_are_parted_where_the_canopy_dips(turned):
    second = (70, 28) if turned else (76, 22)
    found = find_crowns(seen(dome(70, 22, 9.0, 6.6), dome(*second, 8.0, 6.6)), GRID)
    assert [round(one.top) for one in found] == [9, 8]
    for one, centre in zip(found, ((70, 22), second), strict=True):
        assert one.outline.centroid.distance(Point(centre)) < 0.3
        assert one.outline.area == pytest.approx(np.pi * 3.3**2, rel=0.15)


def test_a_bump_within_the_window_of_a_crown_is_no_tree():
    """Of 8 m a crown is 2.51503 + 0.00901 * 64 = 3.09 m wide: a bump 1.5 m off is its own, whatever the dip."""
    cone = np.maximum(9 - 2.0 * np.hypot(X - 70, Y - 22), 8 - 2.0 * np.hypot(X - 71.5, Y - 22))
    assert len(find_crowns(seen(cone), GRID)) == 1
    cone = np.maximum(9 - 2.0 * np.hypot(X - 70, Y - 22), 8 - 2.0 * np.hypot(X - 75, Y - 22))
    assert len(find_crowns(seen(cone), GRID)) == 2


def ridge_with_dip(deep):
    """Return a body with two tops, 10 m high and 6 m from each other, between which it falls by so much."""
    share = np.clip((X - 67) / 6, 0, 1)
    along = 10 - deep * np.sin(np.pi * share)
    away = np.hypot(X - np.clip(X, 67, 73), Y - 22)
    return np.where(away < 4, along - 0.5 * away, 0)


def test_a_shallow_dip_parts_no_tree():
    """Less than 8 % of the lower top, 0.8 m of 10, is a bump of one crown (the smoothing takes a little of it)."""
    assert len(find_crowns(seen(ridge_with_dip(0.10 * 10 * DIP_SHARE / 0.2)), GRID)) == 1
    assert len(find_crowns(seen(ridge_with_dip(2.0)), GRID)) == 2


def test_a_narrow_piece_joins_the_higher_one_beside_it():
    """A spur of 10 m, 3 m2 wide, 5 m off: narrower than 0.8 of the ground of its window, 7 m2, however deep the dip."""
    spur = np.where(np.hypot(X - 75, Y - 22) < 1.0, 10.0, 0)
    bridge = np.where((np.abs(Y - 22) < 0.8) & (X > 71) & (X < 75), 8.0, 0)
    assert len(find_crowns(seen(dome(70, 22, 14.0, 8.0), spur, bridge), GRID)) == 1
    wide = dome(76.5, 22, 10.0, 5.0)  # 20 m2
    assert len(find_crowns(seen(dome(70, 22, 14.0, 8.0), wide), GRID)) == 2


def test_a_crown_lower_than_a_fifth_of_its_top_is_something_else():
    """A shrub of 2.1 m about the foot of a tree of 14 m (a fifth is 2.8 m) is none of its crown."""
    foot = block(box(66, 18, 74, 26), 2.1)
    (tree,) = find_crowns(seen(dome(70, 22, 14.0, 5.0), foot), GRID)
    assert tree.outline.area == pytest.approx(np.pi * 2.5**2, rel=0.1)
    higher = block(box(66, 18, 74, 26), 3.2)
    (tree,) = find_crowns(seen(dome(70, 22, 14.0, 5.0), higher), GRID)
    assert tree.outline.area == pytest.approx(64, rel=0.05)


@pytest.mark.parametrize(("wide", "tall", "group"), [(8.0, 4.0, False), (9.2, 4.0, True), (9.2, 6.0, False)])
def test_a_crown_too_wide_for_its_height_is_a_group(wide, tall, group):
    """Wider than 4 m and 1.1 of its height: 8.4 m of 4 m, 10.6 m of 6 m."""
    (one,) = find_crowns(seen(dome(70, 22, tall, wide)), GRID)
    assert one.group is group
    assert one.tops == (2 if group else 1)  # one top stands out, and a group has two at least


@pytest.mark.parametrize(
    ("wide", "top", "group"), [(8.3, 4.0, False), (8.5, 4.0, True), (14.9, 10.0, False), (15.1, 10.0, True)]
)
def test_the_widest_crown_of_its_height(wide, top, group):
    """4 m and 1.1 of the height: 8.4 m of 4 m, 15 m of 10 m."""
    assert _is_group(Point(0, 0).buffer(wide / 2, quad_segs=64), top) is group


@pytest.mark.parametrize(
    ("side", "long", "group"), [(3.4, 1.0, False), (3.4, 1.75, True), (3.4, 1.65, False), (2.4, 2.0, False)]
)
def test_the_longest_crown_of_its_width(side, long, group):
    """1.7 times, from 4 m on: 2.4 m by 4.8 m are as large as a round of 3.8 m."""
    assert _is_group(box(0, 0, side, side * long), 10.0) is group


@pytest.mark.parametrize(("tall", "apart", "tops"), [
    (25.0, 3.0, 1),  # a crown of 25 m is 2.515 + 0.009 x 625 = 8.1 m wide: 3 m off is within it
    (25.0, 6.0, 2),
    (6.0, 3.0, 2),  # one of 6 m 2.8 m
])  # fmt: skip
def test_the_tops_of_a_group_are_the_highest_within_the_window_of_their_height(tall, apart, tops):
    canopy = np.maximum(tall - np.hypot(X - 70, Y - 22), tall - 0.5 - np.hypot(X - 70 - apart, Y - 22))
    assert _tops(np.where(canopy > 0, canopy, -np.inf), GRID.cell) == tops


@pytest.mark.parametrize("off", [0.25, 0.0])  # each top in one cell, or in four that are as high
@pytest.mark.parametrize("count", [2, 3, 4])
def test_a_group_has_as_many_tops_as_stand_out(count, off):
    domes = [dome(56 + off + 7 * k, 22 + off, 8.0, 6.6) for k in range(count)]
    hedge = block(box(54, 20, 58 + 7 * (count - 1), 24), 7.6)  # so high between them that they are not told apart
    (group,) = find_crowns(seen(*domes, hedge), GRID)
    assert group.group
    assert group.tops == count


@pytest.mark.parametrize(("shape", "group"), [
    (box(65, 20, 71, 24), False),  # 1.5 times as long as wide
    (box(65, 20, 72.5, 24), True),  # 1.9 times
    (box(65, 20, 68, 21.5), False),  # 2 times, but as small as one tree
    (box(64, 18, 72, 20.5) | box(64, 18, 66.5, 26), True),  # an angle: 0.68 of its hull
    (box(64, 18, 72, 22) | box(64, 18, 68, 26), False),  # 0.86
])  # fmt: skip
def test_a_long_or_ragged_crown_is_a_group(shape, group):
    (one,) = find_crowns(seen(block(shape, 12.0)), GRID)
    assert one.group is group
    assert one.outline.symmetric_difference(shape).area < 0.12 * shape.area


def test_a_crown_over_a_roof_is_none():
    canopy = seen(dome(60, 22, 6.0, 4.0), dome(80, 22, 9.0, 5.0))
    (left,) = find_crowns(canopy, GRID, roofs=GRID.inside(box(76, 18, 84, 26)))
    assert left.top == pytest.approx(6.0, abs=0.15)
    # beside a roof, with less than half of it over the roof, it stays
    assert len(find_crowns(canopy, GRID, roofs=GRID.inside(box(80.6, 18, 84, 26)))) == 2


@pytest.mark.parametrize(("east", "kept"), [(67.5, True), (68.0, False)])
def test_a_crown_of_which_half_lies_over_a_roof_is_none(east, kept):
    """Of a crown from 65 to 71 m five and six of twelve columns of cells."""
    canopy = seen(block(box(65, 20, 71, 24), 12.0))
    assert len(find_crowns(canopy, GRID, roofs=GRID.inside(box(64, 18, east, 26)))) == kept


def test_no_canopy_no_trees():
    assert find_crowns(np.full(GRID.shape, np.nan), GRID) == []
    assert find_crowns(np.full(GRID.shape, 1.9), GRID) == []


@pytest.mark.parametrize(("shape", "tall", "kept"), [
    (box(60, 20, 61.5, 21.5), 5.0, True),  # 2.25 m2
    (box(60, 20, 61.5, 21), 5.0, False),  # 1.5 m2: a post, or a twig
    (box(60, 20, 70, 20.5), 5.0, False),  # thinner than a crown: a wire
    (box(60, 20, 64, 24), 1.9, False),
    (box(60, 20, 64, 24), 2.0, True),
])  # fmt: skip
def test_what_is_low_or_thin_is_no_canopy(shape, tall, kept):
    found = sound_canopy(np.where(GRID.inside(shape), tall, np.nan), GRID.cell)
    assert np.array_equal(np.isfinite(found), GRID.inside(shape) & kept)
    assert not kept or np.nanmax(found) == tall


def test_a_pit_in_a_canopy_is_as_high_as_what_is_around_it():
    own = GRID.inside(box(60, 20, 64, 24))
    canopy = np.where(own, np.where(X > 62, 7.0, 5.0), np.nan)
    pit = (66, 24)  # 62.0 to 62.5 m east, the lower half west of it
    assert canopy[pit[0] - 33, pit[1]] == 7.0
    holed = canopy.copy()
    holed[33, 24] = np.nan
    found = sound_canopy(holed, GRID.cell)
    assert np.array_equal(np.isfinite(found), own)
    assert found[33, 24] == 7.0
    holed = canopy.copy()
    holed[34, 21] = 0.5  # a point that fell through to a shrub
    assert sound_canopy(holed, GRID.cell)[34, 21] == 5.0


@pytest.mark.parametrize(("east", "north"), [(1, 2), (-1, 2), (2, -1), (-2, -1)])
def test_every_cell_climbs_to_the_top_of_its_hill(east, north):
    """One slope is one piece with its top in the highest corner; outside there is none."""
    slope = 5 + 0.1 * east * np.arange(7)[None, :] - 0.1 * north * np.arange(5)[:, None]
    slope[4, 3] = -np.inf
    piece, top_of = _pieces(slope)
    assert piece[4, 3] == 0
    assert np.unique(piece).tolist() == [0, 1]
    assert top_of == {1: int(np.argmax(slope))}


def test_trees_turn_with_the_property():
    """A law: mirrored, the same crowns stand mirrored."""
    canopy = seen(dome(70, 22, 9.0, 6.6), dome(76, 23, 8.0, 6.0), block(box(85, 25, 93, 31), 6.0))
    here = find_crowns(canopy, GRID)
    there = find_crowns(canopy[:, ::-1], GRID)
    assert [one.top for one in here] == [one.top for one in there]
    middle = (GRID.west + GRID.east) / 2
    for one, other in zip(here, there, strict=True):
        assert one.group == other.group
        mirrored = affinity.scale(other.outline, xfact=-1, origin=(middle, 0))
        assert shapely.symmetric_difference(one.outline, mirrored).area < 0.05 * one.outline.area
