"""The lookup in skies of a few bins that hold the sun time evenly: what points see, against rays that are clipped."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon, box

from siteplan.sun.lookup.sky_lookup import light_by_step, surroundings, visible_sums
from siteplan.sun.obstacles.bodies import Attenuation
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.sky_table import LEVELS, Steps

from .by_clipping import even_sky, middles, rays_over, shares_let_through, summed

FIRST, BINS, TOP = 357.0, 10, 320  # bins from 357 to 362 degrees, up to level 319: a slope of 4.9
LEAF_STATES = np.array([1.0, 0.5, 0.0])  # extinction, as a share of that in leaf
STATE = np.array([0, 0, 1, 0, 1, 1, 2, 1, 0, 1, 0, 1, 0, 1, 1, 2])  # of the leaves, by column
WEIGHT = 1.0 + np.arange(16)  # hours in a level, column by column: two strips of eight


def thing(outline, bottom, top, owner, through=0.0, **more):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through, **more)


def attenuation_of(bodies):
    """Return what screens and leaves let through: in the first strip of columns as they say, in the second the square.

    Leaves change by every other column, and in the last of all there are none.
    """
    share = np.array([body.leafy for body in bodies]).reshape(-1, 1)
    leaves = np.array([body.is_leaves for body in bodies], dtype=bool).reshape(-1, 1)
    path = np.array([body.transmittance_path or 1.0 for body in bodies]).reshape(-1, 1)
    power = np.where(np.arange(16) < 8, 1.0, 2.0)
    opacity = np.where(leaves, 0.0, 1 - share**power)
    extinction = np.where(leaves, -np.log(np.maximum(share, 1e-12)) / path * LEAF_STATES, 0.0)
    return Attenuation(opacity.astype(np.float32), extinction.astype(np.float32), STATE)


def expected_sums(point, prisms, ground=0.0, *, lowest=0):
    """Return what a point sees in each column."""
    ways = [(1.0, 0), (1.0, 1), (1.0, 2), (2.0, 0), (2.0, 1), (2.0, 2)]  # of screens, and leaf state
    throughs = [
        {
            (one.owner, one.part): one.transmittance_leafy
            ** (LEAF_STATES[state] if one.transmittance_path else power)
            for one in reversed(prisms)
        }
        for power, state in ways
    ]
    azimuth, slope = rays_over(FIRST, BINS, TOP, lowest=lowest)
    lights = shares_let_through(point, prisms, azimuth, slope, throughs)
    sums = [summed(np.where(slope < np.asarray(ground).reshape(-1, 1), 0.0, light)) for light in lights]
    return [sums[ways.index((1.0 if k < 8 else 2.0, STATE[k]))] for k in range(16)]


def around(points, prisms, ground=None):
    pieces, bodies = pack(prisms)
    rows = np.zeros((1, BINS), np.float32) if ground is None else np.asarray(ground, np.float32)
    return surroundings(points, np.arange(len(pieces.top)), pieces, rows), attenuation_of(bodies)


HOUSE = thing(box(-0.6, 8, 0.1, 11), 0, 4, "house")
SCENES = {
    "nothing": (),
    "a wall": (HOUSE,),
    "a wall all across": (thing(box(-30, 6, 30, 7), 0, 2.5, "wall"),),
    "a wall over which the sun does not rise": (thing(box(-30, 1, 30, 7), 0, 50.0, "wall"),),
    "one behind the other": (HOUSE, thing(box(-0.2, 14, 1.5, 15), 0, 7, "tower")),
    "a roof that rises to the north": (thing(box(-0.7, 7, 0.2, 12), 0, 6, "shed", top_plane=(0.0, 0.5, 0.0)),),
    "a roof that falls to the north": (thing(box(-0.7, 7, 0.2, 12), 0, 6, "shed", top_plane=(0.0, -0.5, 9.5)),),
    "a roof that rises steeply, above the eaves": (
        thing(box(-0.7, 7, 0.2, 12), 0, 14, "shed", top_plane=(0.1, 2.0, -10.02)),
    ),
    "a deck": (thing(box(-0.5, 5, 0.3, 9), 2.4, 2.7, "deck"),),
    "a deck above the point": (thing(box(-1, -1, 1, 4), 2.4, 2.7, "deck", 0.5),),
    "a fence": (thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),),
    "a slanted fence": (
        thing(Polygon([(-0.6, 5), (0.5, 6), (0.45, 6.1), (-0.65, 5.1)]), 0.3, 2.0, "fence", 0.25),
    ),
    "a fence before a fence": (
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),
        thing(box(-0.2, 7, 0.5, 7.1), 1.0, 5.0, "net", 0.25),
    ),
    "two panels of one fence, one behind the other": (
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),
        thing(box(-0.2, 7, 0.5, 7.1), 1.0, 5.0, "fence", 0.5),
    ),
    "panels of one fence apart": (
        thing(box(-0.5, 5, 0.3, 5.1), 0.5, 1.0, "fence", 0.5),
        thing(box(-0.5, 5, 0.3, 5.1), 2.0, 3.0, "fence", 0.5),
        thing(box(-0.4, 4, 0.3, 4.1), 0.9, 2.1, "net", 0.25),
    ),
    "three one behind the other, and a house": (
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),
        thing(box(-0.2, 7, 0.5, 7.1), 1.0, 5.0, "net", 0.25),
        thing(box(-0.4, 9, 0.1, 9.5), 2.0, 9.0, "sail", 0.75),
        HOUSE,
    ),
    "a house before a fence": (
        thing(box(-0.4, 4, 0.1, 4.5), 0, 1.0, "house"),
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),
    ),
    "a house behind a fence": (
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "fence", 0.5),
        thing(box(-0.4, 7, 0.1, 7.5), 0, 1.0, "house"),
    ),
    "a deck that begins below the house's top": (
        thing(box(-0.5, 5, 0.3, 5.1), 0, 2.0, "house"),
        thing(box(-0.4, 8, 0.1, 8.5), 2.0, 6.0, "deck"),
    ),
    "what lies below the point": (thing(box(-0.5, 5, 0.3, 9), -2.0, 0.0, "pit"),),
}  # fmt: skip
POINTS = np.array([[0.15, 0.5, 0.4], [-0.1, -3.0, 0.1]])


@pytest.mark.parametrize("name", SCENES)
def test_sums_are_those_of_clipped_rays(name):
    scene, attenuation = around(POINTS, SCENES[name])
    found = visible_sums(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)
    for point, row in zip(POINTS, found, strict=True):
        # of 6061: rays are taken to tenths of a level, and each bin has a few edges
        assert row / WEIGHT == pytest.approx(expected_sums(point, SCENES[name]), abs=1.5)


def leaves(outline, bottom, top, owner="crown", share=0.3):
    return thing(outline, bottom, top, owner, share, transmittance_path=2.0)


# how near the lookup comes, of 6061 hours: it looks once at each cell of the sky, of a degree by six levels
CROWNS = {
    "a layer all over": (0.5, leaves(box(-1e4, -1e4, 1e4, 1e4), 3.0, 3.5)),
    "a box": (6, leaves(box(-3, 4, 3, 7), 1.0, 5.0)),
    "a small crown": (16, leaves(Point(0, 9).buffer(0.5), 1.0, 5.0)),
    "a tapering crown": (25, *(leaves(Point(0, 9).buffer(0.7 - 0.2 * k), 1.0 + k, 2.0 + k) for k in range(3))),
    "two crowns": (7, leaves(box(-3, 4, 3, 7), 1.0, 5.0), leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6)),
    "a crown above": (3, leaves(Point(0, 0).buffer(5), 1.0, 3.0)),
    "a crown about": (0.5, leaves(Point(0, 0).buffer(5), -1.0, 3.0)),
    "a crown behind a wall": (
        1.5, thing(box(-3, 4, 3, 7), 0.0, 2.0, "wall"), leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6),
    ),
    "a crown behind half a wall": (
        4, thing(box(-3, 4, 0.1, 7), 0.0, 2.0, "wall"), leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6),
    ),
    "a crown behind a fence": (
        2, thing(box(-3, 4, 3, 7), 0.0, 2.0, "fence", 0.5), leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6),
    ),
    "a crown behind a deck and a net, in part of the bins": (
        4, thing(box(-3, 4, 0.1, 7), 0.5, 2.0, "deck"), thing(box(-0.1, 4, 2, 4.1), 1.5, 3.0, "net", 0.5),
        leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6),
    ),
    "a layer, and a fence below it": (
        1, thing(box(-3, 4, 0.1, 7), 0.0, 2.0, "fence", 0.5), leaves(box(-1e4, -1e4, 1e4, 1e4), 3.0, 3.5),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CROWNS)
def test_sums_through_leaves_are_those_of_clipped_rays(name):
    within, *prisms = CROWNS[name]
    scene, attenuation = around(POINTS, prisms)
    found = visible_sums(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)
    for point, row in zip(POINTS, found, strict=True):
        assert row / WEIGHT == pytest.approx(expected_sums(point, prisms), abs=within)


def test_the_last_bin_of_an_odd_number_is_as_dark_as_the_others():
    # leaves all over, the same in each direction: three bins hold 1, 2 and 3 times the hours, two the first of these
    layer = (leaves(box(-1e4, -1e4, 1e4, 1e4), 3.0, 3.5),)
    pieces, bodies = pack(layer)
    sums = {}
    for bins in (2, 3):
        scene = surroundings(POINTS[:1], np.arange(1), pieces, np.zeros((1, bins), np.float32))
        (row,) = visible_sums(POINTS[:1], scene, even_sky(0.0, bins, TOP, WEIGHT), attenuation_of(bodies))
        sums[bins] = row / WEIGHT
    assert sums[3] / 6 == pytest.approx(sums[2] / 3, rel=1e-5)


def test_ground_hides_below_its_horizon_one_for_each_point_or_one_for_all():
    prisms = (*SCENES["a fence"], leaves(box(-3, 8, 3, 9), 1.0, 9.0, "other", 0.6))
    ground = np.array([np.linspace(0.05, 0.3, BINS), np.full(BINS, 0.31)])
    for rows in (ground, ground[:1]):
        scene, attenuation = around(POINTS, prisms, rows)
        found = visible_sums(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)
        for k, point in enumerate(POINTS):
            expected = expected_sums(point, prisms, rows[min(k, len(rows) - 1)])
            assert found[k] / WEIGHT == pytest.approx(
                expected, abs=4
            )  # a cell that the horizon cuts counts its middle
        light = light_by_step(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT).table, STEPS, attenuation)
        below = np.array([STEPS.slope < rows[min(k, len(rows) - 1)][STEPS.bin] for k in (0, 1)])
        assert (light[below.all(axis=0)] == 0).all()
        assert (light[~below.all(axis=0)] > 0).all()


def test_where_the_sun_never_stands_nothing_is_hidden():
    # the table begins at level 30, a slope of 30 / 354: a wall of 0.4 m in 6 m is lower, one of 1 m is higher
    sky = even_sky(FIRST, BINS, TOP, WEIGHT, lowest=30)
    for prisms in (
        SCENES["nothing"], (thing(box(-30, 6, 30, 7), 0, 0.4, "kerb"),), (thing(box(-30, 6, 30, 7), 0, 1.0, "wall"),),
        (thing(box(-30, 6, 30, 7), 0, 1.0, "fence", 0.5),), (leaves(box(-30, 6, 30, 7), 0.2, 1.0),),
    ):  # fmt: skip
        scene, attenuation = around(POINTS[:1], prisms)
        (found,) = visible_sums(POINTS[:1], scene, sky, attenuation)
        expected = expected_sums(POINTS[0], prisms, lowest=30)
        assert found / WEIGHT == pytest.approx(expected, abs=6)  # of 5491
    assert found[6] / WEIGHT[6] == pytest.approx(19 * 289)  # by hand: 10 bins hold 19 times 319 - 30 levels


def test_within_something_opaque_it_is_dark_and_on_top_of_it_not():
    gable = thing(
        box(-2, -2, 2, 2), 0, 4.0, "house", top_plane=(0.0, 0.5, 3.0)
    )  # 2 m high in the south, 4 in the north
    post = thing(Point(0, 0).buffer(0.5), 0, 2.0, "post")
    points = np.array([[0.0, 0, 2.9], [0, 0, 3.1], [0, 1, 3.1], [0, -1.9, 0.1]])
    scene, attenuation = around(points, (gable,))
    lit = visible_sums(points, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)[:, 0] > 0
    assert lit.tolist() == [False, True, False, False]
    assert light_by_step(points, scene, even_sky(FIRST, BINS, TOP, WEIGHT).table, STEPS, attenuation).max() == 1
    points = np.array([[0.0, 0, 1.9], [0, 0, 2.0], [0.4, 0.2, 1.0], [0.4, 0.4, 1.0]])
    scene, attenuation = around(points, (post,))
    lit = visible_sums(points, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)[:, 0] > 0
    assert lit.tolist() == [False, True, False, True]


def test_within_what_floats_for_lower_points_of_the_tile_it_is_dark_too():
    # from 0.5 m up; above (0.4, 1) its top is at 0.1 * 0.4 + 0.5 * 1 + 3 = 3.54 m
    house = thing(box(-2, -2, 2, 2), 0.5, 4.2, "house", top_plane=(0.1, 0.5, 3.0))
    points = np.array([[0.0, -9.0, 0.0], [0.4, 1.0, 3.5], [0.4, 1.0, 3.6], [0.4, 1.0, 0.6], [0.4, -1.0, 2.6]])
    scene, attenuation = around(points, (house,))
    lit = visible_sums(points, scene, even_sky(FIRST, BINS, TOP, WEIGHT), attenuation)[:, 0] > 0
    assert lit.tolist() == [True, False, True, False, True]


def test_above_a_slanted_sail_the_sky_is_open_over_its_higher_edge():
    # half the light gets through; the point lies 0.1 m above it, its northern edge 1 m on is 0.4 m higher than the point
    sail = thing(box(-2, -2, 2, 2), 0.5, 4.2, "sail", 0.5, top_plane=(0.0, 0.5, 3.0))
    point = np.array([[0.0, 1.0, 3.6]])
    (found,) = visible_sums(point, *around_and(even_sky(FIRST, BINS, TOP, WEIGHT), point, (sail,)))
    slope = 0.4 / (1 / np.cos(np.radians(middles(FIRST, BINS))))
    hidden = ((1 + np.arange(BINS) % 3) * 0.5 * LEVELS * slope / (1 + slope)).sum()
    assert found[0] == pytest.approx(19 * 319 - hidden, abs=0.05)


def test_a_round_post_and_a_round_sail():
    # circles by hand, due north: half as wide as asin(0.12 / 8) = 0.859 degrees, from 359.14 to 0.86, so the bins'
    # middles 359.25, 359.75, 0.25 and 0.75 are hit, at the way d cos a - sqrt(r2 - d2 sin2 a) to the near side
    disc, aside = Point(0, 8).buffer(0.12, quad_segs=64), np.radians([-0.75, -0.25, 0.25, 0.75])
    chord = np.sqrt(0.12**2 - (8 * np.sin(aside)) ** 2)
    near, far = 8 * np.cos(aside) - chord, 8 * np.cos(aside) + chord
    weight = np.array([2, 3, 1, 2])  # of bins 4 to 7
    sky = even_sky(FIRST, BINS, TOP, WEIGHT)
    for bottom, low in ((0.0, 0.0), (1.5, LEVELS * 1.5 / (1.5 + far))):
        scene, attenuation = around(np.zeros((1, 3)), (thing(disc, bottom, 4.0, "sail"),))
        (found,) = visible_sums(np.zeros((1, 3)), scene, sky, attenuation)
        hidden = (weight * (LEVELS * 4 / (4 + near) - low)).sum()
        assert found[0] == pytest.approx(19 * 319 - hidden, abs=0.2)  # 256 sides, single precision
    over = thing(
        Point(0.5, 1).buffer(4, quad_segs=64), 1.5, 4.0, "sail"
    )  # hides all that is higher than its far edge
    (found,) = visible_sums(np.zeros((1, 3)), *around_and(sky, np.zeros((1, 3)), (over,)))
    azimuth = np.radians(middles(FIRST, BINS))
    east, north = np.sin(azimuth), np.cos(azimuth)
    far = 0.5 * east + north + np.sqrt(16 - (0.5 * north - east) ** 2)
    seen = ((1 + np.arange(BINS) % 3) * LEVELS * 1.5 / (1.5 + far)).sum()
    assert found[0] == pytest.approx(seen, abs=0.2)


def around_and(sky, points, prisms):
    scene, attenuation = around(points, prisms)
    return scene, sky, attenuation


def test_more_in_one_direction_than_there_is_room_for():
    # 20 slats of a body each, none over another; beside them nothing: each takes its share of its own stripe of sky
    slats = tuple(thing(box(-0.2, 5, 0.1, 5.02), 0.2 * k + 0.1, 0.2 * k + 0.2, f"slat {k}", 0.5) for k in range(20))
    scene, attenuation = around(POINTS[:1], slats)
    sky = even_sky(FIRST, BINS, TOP, WEIGHT)
    (found,) = visible_sums(POINTS[:1], scene, sky, attenuation)
    assert found / WEIGHT == pytest.approx(expected_sums(POINTS[0], slats), abs=4)  # 20 slats, two edges each
    light = light_by_step(POINTS[:1], scene, sky.table, STEPS, attenuation)
    assert light == pytest.approx(at_steps(POINTS[0], slats), abs=1e-6)


# steps between the edges of bins and levels, in columns of either strip
STEPS = Steps(
    np.repeat(np.arange(BINS), 12),
    np.tile(np.float32([0.011, 0.043, 0.087, 0.137, 0.211, 0.283, 0.357, 0.451, 0.577, 0.811, 1.37, 3.9]), BINS),
    np.tile([0, 8, 3, 9], 3 * BINS),
)


def at_steps(point, prisms):
    """Return the light at STEPS: in the middle of their bins; all their columns are of the first leaf state or the next."""
    own = {(one.owner, one.part): one.transmittance_leafy for one in reversed(prisms)}
    square = {body: share**2 for body, share in own.items()}
    azimuth = middles(FIRST, BINS)[STEPS.bin]
    once, twice = shares_let_through(point, prisms, azimuth, STEPS.slope.astype(float), [own, square])
    return np.where(STEPS.column < 8, once, twice)


@pytest.mark.parametrize("name", SCENES)
def test_light_at_each_step_is_that_of_a_clipped_ray(name):
    scene, attenuation = around(POINTS, SCENES[name])
    light = light_by_step(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT).table, STEPS, attenuation)
    expected = sum(at_steps(point, SCENES[name]) for point in POINTS)
    assert light == pytest.approx(expected, abs=1e-6)


def test_light_at_each_step_through_leaves_is_that_of_its_cell():
    # leaves all over, half a metre thick: the way to the middle of a cell of six levels
    layer = leaves(box(-1e6, -1e6, 1e6, 1e6), 3.0, 3.5)
    scene, attenuation = around(POINTS, (layer,))
    light = light_by_step(POINTS, scene, even_sky(FIRST, BINS, TOP, WEIGHT).table, STEPS, attenuation)
    level = (LEVELS * STEPS.slope / (1 + STEPS.slope)) // 6 * 6 + 3
    way = 0.5 * np.hypot(1, (LEVELS - level) / level)
    dense = LEAF_STATES[STATE[STEPS.column]]
    assert light == pytest.approx(2 * 0.3 ** (dense * way / 2), abs=1e-3)  # two points; the series of the exponential
