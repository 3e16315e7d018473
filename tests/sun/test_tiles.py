"""Points by tiles: which share a tile, and that each gets what it gets alone."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from siteplan.sun.lookup.sky_lookup import light_by_step, surroundings, visible_sums
from siteplan.sun.lookup.tiles import Scene, _blocks, _region, _regions, steps_by_tile, sums_by_tile, within_reach
from siteplan.sun.obstacles.bodies import Attenuation
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.sky_table import Steps

from .by_clipping import even_sky, middles

FIRST, BINS, LEVELS = 359.0, 4, 60


def blocks(points, side):
    return [sorted(block.tolist()) for block in _blocks(np.asarray(points, dtype=float), side)]


def test_few_points_are_cut_into_squares_from_their_own_corner_on():
    points = [[10.5, 20.2, 0], [13.4, 20.2, 0], [13.6, 20.2, 0], [10.5, 23.3, 9], [16.6, 26.3, 0], [10.6, 23.1, 0]]
    # from (10.5, 20.2) on in steps of 3 m: columns 0 0 1 0 2 0, rows 0 0 0 1 2 0
    assert blocks(points, 3.0) == [[0, 1, 5], [2], [3], [4]]
    assert blocks(points, 100.0) == [[0, 1, 2, 3, 4, 5]]
    assert blocks([[5.0, 5.0, 0.0]], 3.0) == [[0]]
    assert blocks(np.empty((0, 3)), 3.0) == []
    diagonal = [[0.0, 0.0, 0], [3.5, 3.5, 0], [0.5, 3.5, 0], [3.5, 0.5, 0]]
    assert sorted(blocks(diagonal, 3.0)) == [[0], [1], [2], [3]]


def test_many_points_are_cut_at_multiples_of_the_side():
    # 250 points are few and 251 are many: from x = 1 to 4, cut at 3
    line = np.column_stack([np.linspace(1.0, 3.99, 250), np.full((250, 2), 0.5)])
    assert blocks(line, 3.0) == [list(range(250))]
    more = np.vstack([line, [[-0.1, 0.5, 0.5]]])
    west, middle, east = blocks(more, 3.0)
    assert west == [250]
    assert middle == np.flatnonzero(line[:, 0] < 3).tolist()
    assert east == np.flatnonzero(line[:, 0] >= 3).tolist()


def test_regions_are_squares_of_24_metres():
    corners = ((0.0, 0.0), (23.9, 0.1), (24.1, -0.1), (-0.1, 47.9), (-24.1, 48.1))
    assert [_region(np.array(one)) for one in corners] == [(0, 0), (0, 0), (1, -1), (-1, 1), (-2, 2)]


def thing(outline, top, owner, *, bottom=0.0, through=0.0):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through)


def scene_of(*prisms, standing=None, ground=0.0):
    """Return a scene with a horizon of the ground that rises with the first point's x, in each direction alike."""
    pieces, bodies = pack(prisms)
    opacity = np.array([[1 - one.leafy] * 8 for one in bodies], dtype=np.float32).reshape(len(bodies), 8)
    attenuation = Attenuation(opacity, np.zeros((len(bodies), 1), np.float32), np.zeros(8, np.int64))
    numbers = np.arange(len(pieces.top)) if standing is None else np.array(standing, dtype=np.int64)

    def slopes(points, azimuth):
        assert azimuth == pytest.approx(middles(FIRST, BINS) % 360, abs=1e-3)
        return np.repeat((ground * points[:, :1]), len(azimuth), axis=1).astype(np.float32)

    return Scene(pieces, numbers, even_sky(FIRST, BINS, LEVELS, np.arange(1.0, 9.0)), attenuation, slopes)


def alone(scene, point):
    """Return what a point sees of all that stands."""
    sky, point = scene.sky, point[None]
    around = surroundings(point, scene.standing, scene.pieces, scene.ground(point, sky.azimuth))
    return visible_sums(point, around, sky, scene.attenuation)[0]


YARD = (
    thing(box(-1, 6, 0.2, 7), 0.5, "kerb"), thing(box(3, 8, 4, 9), 1.0, "fence", through=0.5),
    thing(box(9, 2, 9.2, 3), 0.4, "wall"), thing(box(0.3, 5, 5, 5.1), 0.9, "deck", bottom=0.5),
)  # fmt: skip


def test_each_point_gets_what_it_gets_alone_and_progress_runs_to_one():
    scene = scene_of(*YARD, ground=0.01)
    x, y = (axis.ravel() for axis in np.meshgrid([0.1, 2.5, 3.3, 9.1], [0.0, 1.1, -7.0]))
    points, told = np.column_stack([x, y, np.zeros(12)]), []
    sums = sums_by_tile(scene, points, told.append)
    for point, row in zip(points, sums, strict=True):
        assert row == pytest.approx(alone(scene, point), abs=0.1)  # what is negligible may be left out
    # tiles from (0.1, -7): columns 0 0 1 3, rows 2 2 0: tiles of 2, 1, 1 points in the south, of 4, 2, 2 in the north
    assert told == pytest.approx([2 / 12, 3 / 12, 4 / 12, 8 / 12, 10 / 12, 1.0])
    assert np.array_equal(sums_by_tile(scene, points, None), sums)
    left_out = scene_of(*YARD, standing=[0, 2])
    assert sums_by_tile(left_out, points, None)[2] == pytest.approx(alone(left_out, points[2]), abs=0.1)


def test_steps_are_summed_over_all_points_in_their_own_order():
    scene = scene_of(*YARD, ground=0.01)
    points = np.array([[0.1, 0.0, 0.0], [3.3, 0.0, 0.0], [3.4, 0.2, 0.1], [9.1, -4.0, 0.0]])
    steps = Steps(
        np.array([3, 0, 1, 2, 0]), np.array([0.1, 0.2, 0.02, 0.07, 0.05], np.float32), np.array([0, 7, 3, 1, 2])
    )
    each = np.zeros(5)
    for point in points:
        around = surroundings(point[None], scene.standing, scene.pieces, scene.ground(point[None], scene.sky.azimuth))
        each += light_by_step(point[None], around, scene.sky.table, steps, scene.attenuation)
    assert steps_by_tile(scene, points, steps) == pytest.approx(each)
    assert len(set(each)) > 3
    backwards = Steps(*(one[::-1].copy() for one in steps))
    assert steps_by_tile(scene, points, backwards) == pytest.approx(each[::-1])


def test_within_reach_are_the_tiles_in_which_a_piece_can_hide_something():
    scene = scene_of(*YARD)
    # the kerb stands to the north within 2 degrees of the first two points, in one tile, and not of the others
    points = np.array([[-0.5, 0.0, 0.0], [1.5, 2.0, 0.0], [9.1, 0.0, 0.0], [-0.5, 9.0, 0.0], [-0.5, 0.0, 40.0]])
    reached = within_reach(scene, points, np.array([0]))
    assert reached.tolist() == [True, True, False, False, True]  # the last shares the first one's tile
    assert not within_reach(scene, points[4:], np.array([0])).any()
    assert not within_reach(scene, points, np.empty(0, np.int64)).any()


CROWD = (
    thing(box(-40, 6, 41, 6.2), 3.0, "wall"),
    *(thing(box(k / 9 + 0.013, 9, k / 9 + 0.063, 9.1), 1.0, str(k)) for k in range(100)),
)


def test_many_pieces_are_culled_behind_others_where_many_points_share_a_tile():
    crowded = scene_of(*CROWD)
    assert crowded.crowded
    assert not scene_of(*CROWD[:100]).crowded
    points = np.column_stack([np.linspace(0.0, 2.5, 8), np.zeros((8, 2))])
    sums = sums_by_tile(crowded, points, None)
    assert sums == pytest.approx(np.array([alone(crowded, points[0])] * 8), abs=0.1)  # they see the wall alone
    lone = sums_by_tile(crowded, points[:7], None)
    assert lone == pytest.approx(sums[:7], abs=0.1)


def test_each_region_of_a_crowd_keeps_what_its_tiles_may_see():
    crowded = scene_of(*CROWD)
    points = np.array([[1.0, 1.0, 0.0], [2.0, 2.0, 0.0], [1.0, 8.03, 0.0], [1.0, -25.0, 0.0], [30.0, 30.0, 0.0]])
    many = np.vstack([points, np.tile([[1.5, 1.5, 0.0]], (250, 1))])
    regions = _regions(crowded, many)
    assert set(regions) == {(0, 0), (0, -2), (1, 1)}
    wall = int(np.argmax(crowded.pieces.top))
    assert wall in regions[0, -2]
    assert len(regions[0, -2]) == 1  # from the south all posts stand behind the wall
    assert len(regions[0, 0]) > 1  # from the north of the wall some do not
    assert len(regions[1, 1]) == 0  # north of all
