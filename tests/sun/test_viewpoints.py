"""From how many viewpoints pieces are culled, and which pieces are drawn as walls: by hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, box

from siteplan.sun.lookup import occlusion_culling
from siteplan.sun.lookup.sky_lookup import _most_sides, surroundings
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism

from .by_clipping import even_sky


def thing(outline, bottom, top, owner, through=0.0):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through)


def test_viewpoints_all_round_a_block(plain_loops):
    found = occlusion_culling._around(np.array([1.0, 2.0, 2.2, 3.5, 0.0, 0.4]), 0.5)
    # 1.2 m are three stretches of 0.4 m along the south and the north; 1.5 m three of 0.5 m between them
    expected = {(1 + 0.4 * n, y) for n in range(4) for y in (2, 3.5)} | {(x, y) for x in (1, 2.2) for y in (2.5, 3.0)}
    assert {tuple(np.round(one, 9)) for one in found[:, :2].tolist()} == {tuple(np.round(one, 9)) for one in expected}
    assert len(found) == 12
    assert found[:, 2].tolist() == [0.4] * 12
    point = occlusion_culling._around(np.array([1.0, 2.0, 1.0, 2.0, 0.0, 0.4]), 0.5)
    assert point.tolist() == [[1.0, 2.0, 0.4]] * 2


def test_the_lowest_horizon_may_be_the_first_or_the_last(plain_loops):
    low = np.zeros(3, dtype=np.float32)
    rows = np.float32([[0.25, 0.5, 0.75], [0.5, 0.75, 0.5], [0.75, 0.25, 0.625]])
    occlusion_culling._raise_lowest(rows, low)
    assert low.tolist() == [0.25, 0.25, 0.5]


@pytest.mark.parametrize(("away", "spacings"), [
    (22.4, [0.5]),  # three quarters of a metre would do: no more than half as much again
    (22.7, [0.5, 22.7 / 30]), (60.0, [0.5, 2.0]),
])  # fmt: skip
def test_far_pieces_are_culled_from_fewer_viewpoints(plain_loops, monkeypatch, away, spacings):
    asked = []
    around = occlusion_culling._around
    monkeypatch.setattr(occlusion_culling, "_around", lambda block, far: asked.append(far) or around(block, far))
    # the block's circle is half a metre; 32 posts 1.5 m off and then one a little over `away`, 0.1 m thick
    x, y = 0.6 * np.cos(np.arange(4) * np.pi / 2), 0.6 * np.sin(np.arange(4) * np.pi / 2)
    points = np.column_stack([0.5 * x / 0.6, 0.5 * y / 0.6, np.zeros(4)])
    half = float(np.hypot(0.5, 0.5))
    angle = np.radians(np.linspace(-25, 25, 32))
    posts = [thing(Point(2 * np.sin(a), 2 * np.cos(a)).buffer(0.02, quad_segs=2), 0, 3, f"{a}") for a in angle]
    wall = thing(box(-30, away + half, 30, away + half + 0.1), 0, 9, "wall")
    pieces, _ = pack([*posts, wall])
    sky = even_sky(330.0, 120, 100, np.ones(8))
    low, near = np.zeros(120, dtype=np.float32), np.arange(33)
    kept = occlusion_culling.visible_pieces(points, near, pieces, sky.table, sky.highest, low)
    assert kept.tolist() == list(range(33))
    assert asked == pytest.approx(spacings)


def test_opaque_pieces_with_corners_that_stand_on_the_ground_are_walls():
    prisms = [
        thing(box(0, 5, 1, 6), -1.0, 2.0, "wall"), thing(box(2, 5, 3, 6), 0.0, 2.0, "glass", 0.5),
        thing(Point(5, 5).buffer(0.5), 0.0, 2.0, "post"), thing(box(6, 5, 7, 6), 0.2, 2.0, "deck"),
        thing(box(8, 5, 9, 6), 0.1, 2.0, "step"), thing(box(0, 9, 9, 10), 0.0, 3.0, "not near"),
    ]  # fmt: skip
    pieces, _ = pack(prisms)
    points = np.array([[0.0, 0.0, 0.7], [1.0, 0.0, 0.1]])  # the lower one counts: 0.1 m
    ground = np.zeros((1, 4), dtype=np.float32)
    found = surroundings(points, np.arange(5), pieces, ground)
    assert found.not_walls.tolist() == [1, 2, 3]
    assert found.walls.start.tolist() == [0, 5, 10]
    assert found.walls.top.tolist() == [2.0] * 10
    assert sorted(set(found.walls.x.tolist())) == [0, 1, 8, 9]
    assert len(found.corners.east) == 10
    assert found.pieces is pieces
    assert found.ground.tolist() == [[0.0] * 4]
    assert _most_sides(found) == len(prisms[2].outline.exterior.coords) - 1
    assert _most_sides(found._replace(not_walls=np.array([1, 3]))) == 4
    assert _most_sides(found._replace(not_walls=np.array([], dtype=np.int64))) == 3
