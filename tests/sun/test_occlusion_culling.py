"""Which pieces stand behind others: distances against shapely's, and small scenes by hand."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from siteplan.land.outline import rectangle
from siteplan.sun.light.sky_view import dome
from siteplan.sun.lookup import occlusion_culling
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.day_periods import leaf_periods, month_periods
from siteplan.sun.path.sky_table import sky

from ..skies import declination_path
from .by_clipping import even_sky


@pytest.mark.parametrize("seed", range(40))
def test_a_gap_is_never_more_than_the_distance(seed):
    # a block of points anywhere, a thing anywhere and of any shape: from so far that only its circle counts to within
    random = np.random.default_rng(seed)
    west, south = random.uniform(-30, 30, 2)
    block = box(west, south, west + random.uniform(0, 4), south + random.uniform(0, 4))
    away, towards = random.choice([0.5, 3.0, 8.0, 60.0]), random.uniform(0, 2 * np.pi)
    thing = rectangle(
        west + away * np.sin(towards), south + away * np.cos(towards), length=float(random.uniform(0.5, 6)),
        width=float(random.uniform(0.1, 3)), heading=float(random.uniform(0, 180)),
    )  # fmt: skip
    pieces, _ = pack([Prism(outline=thing, bottom=0, top=2, owner="thing")])
    gap = np.empty(1)
    occlusion_culling._gaps(pieces, np.array([0]), np.array([*block.bounds, 0.0, 0.5]), gap)
    middle, half = block.centroid, np.hypot(block.bounds[2] - west, block.bounds[3] - south) / 2
    assert gap[0] <= thing.distance(block) + 1e-6
    if thing.covers(middle):
        assert gap[0] == 0
        return
    exact = thing.distance(middle) - half  # the block counts as the circle around it
    around = shapely.minimum_bounding_radius(thing)
    if thing.centroid.distance(middle) > 8 * around + 1e-6:  # the thing counts as the circle around it
        assert gap[0] == pytest.approx(thing.centroid.distance(middle) - around - half, abs=1e-6)
        assert exact - 2 * around <= gap[0]
    else:
        assert gap[0] == pytest.approx(exact, abs=1e-6)


@pytest.fixture(params=["dome", "sun"])
def seen(request):
    """Return the owners of what is seen from a block of 1 m by 1 m: in the whole sky, or before the sun in the north."""
    path = declination_path(-45.0, -10.0)  # from 256 degrees through the north to 104
    season = np.ones(1, dtype=bool)
    whole = dome([leaf_periods(path, season=season)])
    return partial(seen_in, whole if request.param == "dome" else sky(path, month_periods(path, season=season)))


def seen_in(everywhere, *prisms, corner=(100.0, -50.0)):
    points = np.array([[corner[0] + x, corner[1] + y, 0.0] for x in (0.0, 1.0) for y in (0.0, 1.0)])
    placed = [
        Prism(
            outline=shapely.affinity.translate(one.outline, *corner), bottom=one.bottom, top=one.top, owner=one.owner,
            transmittance_leafy=one.transmittance_leafy,
        )
        for one in prisms
    ]  # fmt: skip
    pieces, bodies = pack(placed)
    low = np.zeros_like(everywhere.lowest)
    near = np.arange(len(pieces.top))
    kept = occlusion_culling.visible_pieces(points, near, pieces, everywhere.table, everywhere.highest, low)
    return {bodies[pieces.body[k]].owner for k in kept}


def thing(owner, outline, top, *, through=0.0, bottom=0.0):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through)


WALL = thing("wall", box(-40, 6, 41, 6.2), 3.0)  # seen from 5 m and from 6 m off: slopes of 0.6 and 0.5


def test_viewpoints_around_a_block_stand_no_farther_apart_than_asked():
    # by hand: 1.3 m are three stretches of at most 0.5 m, 0.9 m are two
    around = occlusion_culling._around(np.array([0.0, 0.0, 1.3, 0.9, 0.0, 0.4]), 0.5)
    assert sorted(around[around[:, 1] == 0.0, 0]) == pytest.approx([0, 1.3 / 3, 2.6 / 3, 1.3])
    assert sorted(around[around[:, 0] == 0.0, 1]) == pytest.approx([0, 0.45, 0.9])


@pytest.mark.parametrize(
    ("top", "shows"),
    [
        (3.0, False),  # 13 m off from the nearer points: as high as 3 / 13 = 0.23
        (6.2, False),  # 0.485 as seen from the circle around them, 12.8 m off: below the wall from wherever
        (7.5, True),  # 0.58 from the nearer points, 0.54 from the farther: over the wall, which there is at 0.5
        (20.0, True),
    ],
)
def test_a_shed_behind_a_long_wall(seen, top, shows):
    shed = thing("shed", box(0.2, 14, 0.8, 17), top)
    assert ("shed" in seen(WALL, shed)) is shows
    assert "wall" in seen(WALL, shed)
    assert "shed" in seen(shed)


def test_what_lets_light_through_or_floats_hides_nothing(seen):
    shed = thing("shed", box(-2, 14, 2, 17), 3.0)
    hedge = thing("hedge", box(-40, 6, 41, 6.2), 3.0, through=0.3)
    deck = thing("deck", box(-40, 6, 41, 6.2), 3.0, bottom=0.5)
    assert seen(hedge, shed) == {"hedge", "shed"}
    assert seen(deck, shed) == {"deck", "shed"}


def test_a_short_wall_hides_no_more_than_is_behind_it(seen):
    # 4 m of wall: seen from the block's corners 1 m apart, what stands 14 m off at its ends shows past it
    short = thing("wall", box(-1.5, 6, 2.5, 6.2), 3.0)
    behind, beside = thing("behind", box(0.2, 14, 0.8, 15), 2.0), thing("beside", box(8, 14, 9, 15), 2.0)
    assert seen(short, behind, beside) == {"wall", "beside"}


def test_walls_hide_one_after_the_other_and_in_any_order(seen):
    # the second wall is lower than the first as seen from here (5 m of 19, against 3 of 6 and 0.87 of that at its
    # ends, 30 degrees aside); the third stands over both, but hides a part of the first alone
    second, third = thing("second", box(-9, 20, 10, 20.2), 5.0), thing("third", box(-5, 30, 6, 30.2), 30.0)
    for order in ((WALL, second, third), (third, second, WALL)):
        assert seen(*order) == {"wall", "third"}


def test_what_stands_higher_behind_hides_what_is_lower_before_it(seen):
    # whatever the near wall hides, the far one hides too
    near, far = thing("near", box(-2, 6, 3, 6.2), 3.0), thing("far", box(-900, 30, 901, 30.2), 30.0)
    assert seen(near, far) == {"far"}


def test_what_stands_around_the_points_is_kept(seen):
    # a wall through the block, and a ring about it: no line is drawn outside of which all of them lie
    through = thing("through", box(-5, 0.4, 6, 0.6), 1.0)
    assert seen(through, WALL) == {"through", "wall"}
    assert seen(thing("tower", Point(0.5, 0.5).buffer(0.2), 9.0), WALL) == {"tower", "wall"}


def test_many_walls_around_hide_all_that_is_lower_behind():
    # 40 posts of wall close the circle at 10 m, more than are drawn at a time; a second circle of them stands at 25 m
    def circle(name, away, top):
        return [
            thing(
                f"{name} {k}",
                rectangle(
                    0.5 + away * np.sin(np.radians(9 * k)), 0.5 + away * np.cos(np.radians(9 * k)),
                    length=away * 0.2, width=0.2, heading=(9 * k + 90) % 180,
                ),
                top,
            )
            for k in range(40)
        ]  # fmt: skip

    seen = partial(seen_in, dome([leaf_periods(declination_path(45.0, 10.0), season=np.ones(1, dtype=bool))]))
    inner, outer, high = circle("inner", 10, 4.0), circle("outer", 25, 4.0), circle("high", 25, 16.0)
    assert seen(*inner, *outer) == {one.owner for one in inner}
    assert seen(*inner, *high) == {one.owner for one in high}  # what the inner ones hide, the high ones hide too


BLOCK = np.array([0.0, 0.0, 3.0, 4.0, 0.5, 1.0])  # west, south, east, north; lowest and highest: a circle of 2.5 m
SQUARE = box(-1, -1, 1, 1)  # in a circle of the root of 2


def at(east, north, outline=SQUARE, *, top=3.0):
    """Return one piece around a place as seen from the block's middle, (1.5, 2)."""
    moved = shapely.affinity.translate(outline, 1.5 + east, 2 + north)
    return pack([Prism(outline=moved, bottom=0, top=top, owner="it")])[0]


def test_the_directions_of_a_far_piece_are_those_of_its_circle():
    # 20 m off is more than 8 radii; the block's circle of 2.5 m makes the piece's as much wider
    for azimuth in (0.0, 40.0, 170.0, 250.0):
        east, north = 20 * np.sin(np.radians(azimuth)), 20 * np.cos(np.radians(azimuth))
        middle, begin, end = occlusion_culling._directions(at(east, north), 0, 1.5, 2.0, 2.5)
        half = np.degrees(np.arcsin((np.sqrt(2) + 2.5) / 20))
        assert np.degrees([middle, begin, end]) % 360 == pytest.approx([azimuth, 360 - half, half])


def test_the_directions_of_a_near_piece_are_those_of_its_corners():
    # 10 m to the north: corners at 9 m and 11 m; the nearer are atan(1 / 9) aside, and asin(2.5 / root of 82) more
    for turn in (0.0, 90.0, 180.0, 270.0):
        east, north = 10 * np.sin(np.radians(turn)), 10 * np.cos(np.radians(turn))
        middle, begin, end = occlusion_culling._directions(at(east, north), 0, 1.5, 2.0, 2.5)
        half = np.degrees(np.arctan(1 / 9) + np.arcsin(2.5 / np.sqrt(82)))
        west, east_end = np.degrees(middle + begin), np.degrees(middle + end)
        assert (west - turn + 180) % 360 - 180 == pytest.approx(-half)
        assert (east_end - turn + 180) % 360 - 180 == pytest.approx(half)
    # a corner within the circle of the block may be seen anywhere to either side of it
    middle, begin, end = occlusion_culling._directions(at(0.0, 3.0), 0, 1.5, 2.0, 2.5)
    assert end - begin >= np.pi


@pytest.mark.parametrize(
    ("east", "north", "beside"),
    [
        (0.0, 3.1, True), (0.0, 2.9, False), (0.0, -3.1, True), (0.0, -2.9, False), (2.6, 0.0, True), (2.4, 0.0, False),
        (-2.6, 0.0, True), (-2.4, 0.0, False), (0.0, 0.0, False), (9.0, 9.0, True),
    ],
)  # fmt: skip
def test_a_piece_stands_beside_a_block_if_all_of_it_lies_past_one_edge(east, north, beside):
    assert bool(occlusion_culling._beside(at(east, north), 0, BLOCK)) is beside


@pytest.mark.parametrize(("outline", "beside"), [
    ([(4, 0), (5, 1), (4, 2), (2, 1)], False), ([(2, 1), (4, 0), (5, 1), (4, 2)], False), ([(4, 0), (5, 1), (4, 2), (3.5, 1)], True),
])  # fmt: skip
def test_every_corner_of_a_piece_must_lie_past_the_edge(outline, beside):
    """The block ends at 3 m in the east; shapely's rings start where they are told to."""
    piece = pack([Prism(outline=Polygon(outline), bottom=0, top=3, owner="it")])[0]
    assert bool(occlusion_culling._beside(piece, 0, BLOCK)) is beside


def test_the_lowest_of_the_viewpoints_horizons_raises_that_of_the_block():
    low = np.float32([0.1, 0.5, 0.0])
    occlusion_culling._raise_lowest(np.float32([[0.3, 0.2, 0.4], [0.2, 0.9, 0.0], [0.6, 0.4, 0.1]]), low)
    assert low.tolist() == np.float32([0.2, 0.5, 0.0]).tolist()


def hidden(pieces, gap, low, highest, *, first=350.0):
    return occlusion_culling._is_hidden(pieces, 0, BLOCK, gap, first, np.float32(low), np.float32(highest))


def test_a_piece_is_hidden_where_the_horizon_is_as_high_in_all_of_its_bins():
    # 20 m to the north and 3 m high, seen from a height of 0.5 m 16 m off: a slope of 2.5 / 16. It covers 11.3 degrees
    # to either side; the sky's 40 bins run from 350 to 10 degrees
    far, slope, endless = at(0.0, 20.0), 2.5 / 16, np.full(40, np.inf)
    assert hidden(far, 16.0, np.full(40, slope * 1.0002), endless)
    assert not hidden(far, 16.0, np.full(40, slope * 1.00005), endless)  # a ten-thousandth is kept for rounding
    assert not hidden(far, 16.0, np.full(40, slope * 0.9998), endless)
    for bin_ in (0, 17, 39):
        low, highest = np.full(40, 1.0), np.full(40, np.inf)
        low[bin_] = 0.1
        assert not hidden(far, 16.0, low, highest)
        highest[bin_] = 0.1  # no sun is higher there
        assert hidden(far, 16.0, low, highest)
    assert hidden(at(0.0, -20.0), 16.0, np.zeros(40), endless)  # where the sky has no bins
    assert not hidden(at(0.0, -20.0), 0.0, np.zeros(40), endless)  # but never what may touch the block
    assert not hidden(at(0.0, -20.0), -1.0, np.zeros(40), endless)
    # 1.3 degrees wide and 60 m off: 3.7 degrees to either side, from 356.3 to 3.7: bins 12 to 27
    narrow = at(0.0, 60.0, box(-0.7, -0.7, 0.7, 0.7))
    half = np.degrees(np.arcsin((0.7 * np.sqrt(2) + 2.5) / 60))
    assert 3.3 < half < 3.4
    for bin_, seen in ((11, False), (12, False), (13, True), (26, True), (28, False)):
        low = np.full(40, 1.0)
        low[bin_] = 0.0
        assert hidden(narrow, 50.0, low, endless) is not seen


def kept_before_the_north(points, *prisms):
    """Return the owners of what is kept, in a sky of 40 bins from 350 to 10 degrees."""
    everywhere = even_sky(350.0, 40, 300, np.ones(8))
    pieces, bodies = pack(prisms)
    low = np.zeros(40, np.float32)
    near = np.arange(len(pieces.top))
    kept = occlusion_culling.visible_pieces(
        np.array(points, dtype=float), near, pieces, everywhere.table, everywhere.highest, low
    )
    return {bodies[pieces.body[k]].owner for k in kept}


def test_one_wall_hides_what_is_lower_from_all_heights_of_a_block():
    # by hand: the wall's top is seen at 3 / 6.2 from the ground, and at 1 / 6 from 2 m up; the shed's at 3 / 13 at most
    shed = thing("shed", box(-1, 13.5, 2, 16), 3.0)
    assert kept_before_the_north([[0, 0, 0], [1, 0, 0]], WALL, shed) == {"wall"}
    assert kept_before_the_north([[0, 0, 0], [1, 0, 2]], WALL, shed) == {"wall", "shed"}
    assert kept_before_the_north([[0, 0, 0.5], [1, 0, 0.5]], WALL, shed) == {"wall"}
    raised = thing("deck", box(-40, 6, 41, 6.2), 3.0, bottom=0.5)  # it stands on the ground of those half a metre up
    assert kept_before_the_north([[0, 0, 0.5], [1, 0, 0.5]], raised, shed) == {"deck"}
    assert kept_before_the_north([[0, 0, 0.4], [1, 0, 0.5]], raised, shed) == {"deck", "shed"}


def test_what_shows_to_one_end_of_a_block_alone_is_kept():
    # the wall ends at x = 3.1: from (6, 0) the northern sky is open, from (0, 0) it is not
    points = [[0.0, 0.0, 0.0], [6.0, 0.0, 0.0], [0.0, 0.4, 0.0]]
    wall, shed = thing("wall", box(-40, 6, 3.1, 6.2), 3.0), thing("shed", box(5.6, 14, 6.6, 15), 2.0)
    assert kept_before_the_north(points, wall, shed) == {"wall", "shed"}


def test_viewpoints_stand_around_a_block_wherever_it_lies():
    around = occlusion_culling._around(np.array([2.0, -7.0, 3.3, -6.1, 0.0, 0.4]), 0.5)
    assert sorted(around[around[:, 1] == -7.0, 0]) == pytest.approx([2, 2 + 1.3 / 3, 2 + 2.6 / 3, 3.3])
    assert sorted(around[around[:, 1] == -6.1, 0]) == pytest.approx([2, 2 + 1.3 / 3, 2 + 2.6 / 3, 3.3])
    assert sorted(around[around[:, 0] == 2.0, 1]) == pytest.approx([-7, -6.55, -6.1])
    assert sorted(around[around[:, 0] == 3.3, 1]) == pytest.approx([-7, -6.55, -6.1])
    assert around.shape == (10, 3)
    assert (around[:, 2] == 0.4).all()
    assert occlusion_culling._around(np.array([2.0, 3.0, 2.0, 3.0, 0.0, 0.4]), 0.5).tolist() == [[2, 3, 0.4]] * 2
