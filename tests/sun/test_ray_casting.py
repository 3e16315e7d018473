"""Ray casting of a few rays: against clipping, and by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import SunPath
from siteplan.sun.ray_casting import cast_hours, cast_light, solids

from .by_clipping import share_let_through

OPEN = np.zeros((1, 1))


def thing(outline, bottom, top, owner="it", through=0.0, **more):
    return Prism(outline=outline, bottom=bottom, top=top, owner=owner, transmittance_leafy=through, **more)


def suns(azimuth, elevation, *, day=1, month=None):
    """Return a path of given suns, a quarter of an hour each. [degrees]"""
    azimuth, elevation = np.broadcast_arrays(np.asarray(azimuth, float), np.asarray(elevation, float))
    days = np.broadcast_to(np.asarray(day, np.int64), azimuth.shape)
    months = np.ones_like(days) if month is None else np.asarray(month, np.int64)
    day_month = np.ones(int(days.max()), np.int64)
    day_month[days - 1] = months
    hours = np.full(azimuth.shape, 0.25)
    return SunPath(azimuth, elevation, hours, np.cumsum(hours), np.cumsum(hours), days, months, day_month)


def light(point, azimuth, slope, *prisms):
    """Return the light along rays of given slopes."""
    path = suns(azimuth, np.degrees(np.arctan(slope)))
    return cast_light(np.atleast_2d(np.asarray(point, float)), path, prisms, np.zeros((1, len(path.hours))))[0]


LEAVES = {"transmittance_path": 2.0, "part": "crown"}
YARD = (
    thing(box(-3, 4, 3, 9), 0, 3, "house", top_plane=(0.0, 0.3, 0.3)),
    thing(box(-9, -3, -4, 3), 0, 4.5, "barn", top_plane=(-0.5, 0.1, 0.0)),
    thing(box(4, -3, 9, 3), 2.4, 2.7, "deck", 0.4),
    thing(Polygon([(-3, -4), (2, -6), (2.1, -5.8), (-2.9, -3.8)]), 0.3, 1.8, "fence", 0.5),
    thing(Polygon([(2, -6), (5, -5), (5, -4.8), (2.1, -5.8)]), 0.3, 2.8, "fence", 0.5),
    thing(Point(6, 6).buffer(2, quad_segs=3), 2.0, 4.0, "ash", 0.3, **LEAVES),
    thing(Point(6, 6).buffer(1, quad_segs=3), 4.0, 5.0, "ash", 0.3, **LEAVES),
    thing(Point(8, 8).buffer(1, quad_segs=2), -1.0, 7.0, "elm", 0.6, **LEAVES),
)


@pytest.mark.parametrize(
    "point", [(0.1, 0.2, 0.0), (0.1, -4.95, 0.0), (6.1, 0.3, 0.5), (6.2, 5.9, 2.2), (0.2, 5.0, 3.0)]
)
def test_light_is_that_of_clipped_rays(point):
    azimuth, slope = (axis.ravel() for axis in np.meshgrid(np.arange(3.3, 360, 9.0), [0.013, 0.2, 0.55, 1.3, 4.0]))
    expected = share_let_through(point, YARD, azimuth, slope)
    assert light(point, azimuth, slope, *YARD) == pytest.approx(expected, abs=1e-9)
    assert len(set(expected.round(6))) > 4  # rays of many kinds


def test_a_court_is_crossed_in_two_walls_and_its_yard_is_open():
    # by hand: leaves 1 m thick all about a yard of 4 m by 4 m, in which the point stands; and from 3 m south of it
    ring = thing(box(-3, -3, 3, 3).difference(box(-2, -2, 2, 2)), 0.0, 100.0, "ring", 0.3, **LEAVES)
    slant = math.hypot(1, 0.5)
    assert light((0, 0, 0), [0.0, 90.0, 180.0, 270.0], 0.5, ring) == pytest.approx([0.3 ** (slant / 2)] * 4)
    assert light((0, -6, 0), [0.0, 180.0], 0.5, ring) == pytest.approx([0.3 ** (2 * slant / 2), 1.0])
    assert light((0, -2.5, 0), [0.0], 0.5, ring) == pytest.approx([0.3 ** (1.5 * slant / 2)])  # 0.5 m and 1 m
    corner = light((0, 0, 0), [45.0], 0.5, ring)  # through both corners: the way in is longer by the root of 2
    assert corner == pytest.approx([0.3 ** (math.sqrt(2) * slant / 2)])
    # 2 m high: the ray at a slope of 0.5 leaves over the top of the farther wall, 8 m to 9 m off; the nearer is crossed
    low = thing(box(-3, -3, 3, 3).difference(box(-2, -2, 2, 2)), 0.0, 2.0, "ring", 0.3, **LEAVES)
    assert light((0, -6, 0), [0.0], 0.5, low) == pytest.approx([0.3 ** (slant / 2)])
    # a wall whose sides a screen counts once, and an opaque one at all
    wall = thing(box(-3, -3, 3, 3).difference(box(-2, -2, 2, 2)), 0.0, 100.0, "ring", 0.3)
    assert light((0, -6, 0), [0.0], 0.5, wall) == pytest.approx([0.3])


@pytest.mark.parametrize(
    ("bottom", "plane", "slope", "way"),
    [
        (0.0, None, 0.2, 2.0),  # 4 m to 6 m off and 1.5 m high: the ray is at 0.8 m and 1.2 m
        (0.0, None, 0.3, 1.0),  # it leaves by the top, 5 m off
        (0.0, None, 0.375, 0.0),  # at 4 m it is as high as the top
        (0.0, None, 0.4, 0.0),
        (1.0, None, 0.2, 1.0),  # it enters by the bottom, 5 m off
        (1.0, None, 0.15, 0.0),  # below it
        (1.0, None, 0.3, 1.0),
        (1.0, None, 0.26, 5.7692307692 - 4.0),  # 1.5 / 0.26
        (-1.0, None, 0.2, 2.0),
        (0.0, (0.0, 0.5, -1.5), 0.2, 1.0),  # top 0.5 y - 1.5: at 4 m 0.5, at 6 m 1.5; the ray is below it from 5 m on
        (0.0, (0.0, 0.5, -1.5), 0.3, 0.0),  # above it everywhere: 1.8 at 6 m
        (0.0, (0.0, -0.25, 2.5), 0.2, 5.5555555556 - 4.0),  # 2.5 - 0.25 y: the ray crosses it at 2.5 / 0.45
        (0.0, (0.0, 0.2, 0.5), 0.2, 2.0),  # as steep as the ray, half a metre over it
        (0.0, (0.0, 0.2, -0.1), 0.2, 0.0),  # ... or below it
        (
            1.0,
            (0.0, 0.5, -1.5),
            0.22,
            6.0 - 5.3571428571,
        ),  # top from 1.5 / 0.28; the bottom, from 4.545, lies before it
    ],
)
def test_ways_through_a_box_by_hand(bottom, plane, slope, way):
    if plane is None:
        body = thing(box(-1, 4, 1, 6), bottom, 1.5, through=0.3, **LEAVES)
    else:
        body = thing(box(-1, 4, 1, 6), bottom, 1.5, through=0.3, top_plane=plane, **LEAVES)
    assert light((0, 0, 0), [0.0, 180.0], slope, body) == pytest.approx(
        [0.3 ** (way * math.hypot(1, slope) / 2), 1.0], abs=1e-9
    )
    above = light((5, -7, 20), [0.0], slope, body)
    assert above == pytest.approx([1.0])
    moved = thing(box(4, -3, 6, -1), bottom + 20, 21.5, through=0.3, **LEAVES)
    if plane is None:
        assert light((5, -7, 20), [0.0], slope, moved) == pytest.approx([0.3 ** (way * math.hypot(1, slope) / 2)])


def test_screens_of_one_owner_count_once_and_those_of_two_each():
    near, far = box(-1, 2, 1, 2.1), box(-1, 4, 1, 4.1)
    for owners, expected in ((("a", "a"), 0.5), (("a", "b"), 0.25)):
        both = (thing(near, 0, 9, owners[0], 0.5), thing(far, 0, 9, owners[1], 0.5))
        assert light((0, 0, 0), [0.0, 180.0], 0.5, *both) == pytest.approx([expected, 1.0])
    once = (thing(near, 0, 0.5, "a", 0.5), thing(far, 0, 9, "a", 0.5))  # the nearer is too low
    assert light((0, 0, 0), [0.0], 0.5, *once) == pytest.approx([0.5])
    assert light((0, 0, 0), [0.0], 0.5, thing(near, 0, 9, "a", 0.5), thing(far, 0, 9, "wall")) == pytest.approx([0.0])
    assert light((0, 0, 0), [0.0], 0.5, thing(near, 0, 9, "glass", 1.0), thing(far, 0, 9, "b", 0.5)) == [0.5]


def test_the_ground_hides_what_stands_lower_at_each_point_or_at_all():
    path = suns([10.0, 10.0, 200.0], np.degrees(np.arctan([0.2, 0.3, 0.4])))
    points = np.zeros((2, 3))
    each = cast_light(points, path, (), np.array([[0.25, 0.25, 0.5], [0.0, 0.35, 0.4]]))
    assert each.tolist() == [[0, 1, 0], [1, 0, 1]]  # as high as the horizon it is seen
    many = np.zeros((300, 3))  # so many that one core looks at several together
    assert cast_light(many, path, (), np.array([[0.25, 0.25, 0.5]])).tolist() == [[0, 1, 0]] * 300


def test_the_day_tells_what_is_in_leaf():
    # in leaf from day 2 to 3: 0.2 of the light through a screen, else 0.6; leaves of 2 m on a way of 2 m
    hedge = thing(box(-1, 2, 1, 2.5), 0, 50, "hedge", 0.2, transmittance_bare=0.6, leaf_out=2, leaf_fall=3)
    ash = thing(box(-1, 4, 1, 6), 0, 50, "ash", 0.3, transmittance_bare=0.9, leaf_out=3, leaf_fall=3, **LEAVES)
    path = suns([0.0] * 4, [1e-6] * 4, day=[1, 2, 3, 4], month=[1, 1, 2, 2])
    assert cast_light(np.zeros((1, 3)), path, (hedge,), np.zeros((1, 4)))[0] == pytest.approx([0.6, 0.2, 0.2, 0.6])
    expected = np.array([0.6, 0.2, 0.2, 0.6]) * [0.9, 0.9, 0.3, 0.9]
    assert cast_light(np.zeros((1, 3)), path, (ash, hedge), np.zeros((1, 4)))[0] == pytest.approx(expected)
    weight = np.array([[0.25, 1.0], [0.5, 2.0], [0.25, 0.0], [1.0, 3.0]])
    hours = cast_hours(np.zeros((3, 3)), path, (hedge,), np.zeros((3, 4)), weight)
    # months: 0.25 * 0.6 + 0.5 * 0.2, and 0.25 * 0.2 + 1 * 0.6; season: 0.6 + 2 * 0.2 + 3 * 0.6
    assert hours == pytest.approx(np.array([[0.25, 0.65, *[0.0] * 10, 2.8]] * 3))


def test_hours_are_those_of_each_point_whatever_stands_in_between():
    # at the third and last point a wall hides the north, at the second the ground
    path = suns([0.0, 180.0], [20.0, 20.0], month=[1, 1])
    points = np.array([[0.0, -9, 0], [0, -9, 5], [0, 0.5, 0]])
    ground = np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 0.0]])
    hours = cast_hours(points, path, (thing(box(-5, 1, 5, 2), 0, 3),), ground, np.ones((2, 2)))
    assert hours[:, 0].tolist() == [2, 1, 1]
    assert hours[:, 12].tolist() == [2, 1, 1]
    assert cast_light(points, path, (thing(box(-5, 1, 5, 2), 0, 3),), ground).tolist() == [[1, 1], [0, 1], [0, 1]]


def test_within_a_solid_it_is_dark_and_on_top_of_it_not():
    solid = thing(box(-2, -2, 2, 2), 0, 3)
    azimuth = np.array([*np.arange(0.0, 360.0, 30.0), 0.2, 359.8])
    assert light((0.5, 0.5, 2.9), azimuth, 0.3, solid).max() == 0
    assert light((0.5, 0.5, 3.0), azimuth, 0.3, solid).min() == 1
    assert light((2.5, 0.5, 2.9), azimuth, 5.0, solid).min() == 1
    assert light((0.5, 0.5, 0.0), azimuth, 3.0, thing(box(-2, -2, 2, 2), 1.0, 3.0)).max() == 0
    assert light((0.5, 0.5, 0.0), [0.0], 0.6, thing(box(-2, -2, 2, 2), 1.0, 3.0)) == [1]  # out before it is 1 m up
    assert light((0.5, 0.5, 0.0), [0.0], 0.7, thing(box(-2, -2, 2, 2), 1.0, 3.0)) == [0]


@pytest.mark.parametrize("away", [1.0, 30.0, 2000.0])
def test_a_post_is_as_wide_as_it_is_wherever_it_stands(away):
    # a post 0.5 m wide: rays are hidden within atan(0.25 / distance) either side of its middle, due each way
    for heading in (0.0, 0.2, 89.9, 180.0, 270.0, 359.9):
        x, y = away * math.sin(math.radians(heading)), away * math.cos(math.radians(heading))
        post = Point(x, y).buffer(0.25, quad_segs=90)
        half = math.degrees(math.asin(0.25 / away))
        seen = light((0, 0, 0), heading + half * np.array([-1.01, -0.99, 0.0, 0.99, 1.01]), 0.001, thing(post, 0, 9))
        assert seen.tolist() == [1, 0, 0, 0, 1]
        # as high as it is, at its near side and no more at a slope a thousandth above
        top = thing(post, 0, 0.4 * (away - 0.25))
        assert light((0, 0, 0), [heading] * 2, np.array([0.3996, 0.4004]), top).tolist() == [0, 1]


def test_solids_are_laid_out_side_by_side_body_by_body():
    ring = box(0, 0, 6, 4).difference(box(1, 1, 2, 2))
    parts = (
        thing(ring, 0.5, 2.0, "court"), thing(box(10, 0, 13, 4), 0.0, 3.0, "shed", top_plane=(0.1, 0.2, 0.7)),
        thing(box(6, 0, 7, 4), 0.25, 1.0, "court"),
    )  # fmt: skip
    packed, bodies = solids(parts)
    assert [one.owner for one in bodies] == ["court", "shed"]
    assert packed.body.tolist() == [0, 0, 1]
    assert packed.start.tolist() == [0, 8, 12, 16]
    assert packed.bottom.tolist() == [0.5, 0.25, 0.0]
    assert packed.top.tolist() == [2.0, 1.0, 3.0]
    assert packed.plane.tolist() == [[0, 0, 2], [0, 0, 1], [0.1, 0.2, 0.7]]
    # the circle about the box around each: half its diagonal
    expected = np.array([[3, 2, math.hypot(3, 2)], [6.5, 2, math.hypot(0.5, 2)], [11.5, 2, 2.5]])
    assert packed.circle == pytest.approx(expected)
    lengths = np.hypot(packed.sides[:, 2] - packed.sides[:, 0], packed.sides[:, 3] - packed.sides[:, 1])
    assert sorted(lengths[:8]) == [1, 1, 1, 1, 4, 4, 6, 6]
    nothing, nobody = solids(())
    assert (nobody, len(nothing.sides), nothing.start.tolist(), nothing.circle.shape) == ((), 0, [0], (0, 3))


@pytest.mark.parametrize("datum", [-100.0, 300.0])
def test_light_is_the_same_whatever_heights_are_counted_from(datum):
    azimuth, slope = (axis.ravel() for axis in np.meshgrid(np.arange(3.3, 360, 30.0), [0.013, 0.2, 0.55, 1.3]))
    moved = [
        replace(one, bottom=one.bottom + datum, top=one.top + datum,
                top_plane=one.top_plane and (*one.top_plane[:2], one.top_plane[2] + datum))
        for one in YARD
    ]  # fmt: skip
    expected = light((0.1, 0.2, 0.3), azimuth, slope, *YARD)
    assert light((0.1, 0.2, 0.3 + datum), azimuth, slope, *moved) == pytest.approx(expected, abs=1e-6)
    assert expected.min() < 0.9


def test_each_of_many_points_has_its_own_ground():
    path = suns([10.0], np.degrees(np.arctan([0.2])))
    ground = np.where(np.arange(300) % 3 == 2, 0.3, 0.1)[:, None]  # the last one is the higher, not the one before
    assert cast_light(np.zeros((300, 3)), path, (), ground)[:, 0].tolist() == [1, 1, 0] * 100


def test_leaves_that_have_fallen_take_nothing_and_give_nothing():
    crop = thing(box(-1, 2, 1, 2.5), 0, 50, "crop", 0.2, transmittance_bare=1.0, leaf_out=2, leaf_fall=2, **LEAVES)
    path = suns([0.0] * 2, [1e-6] * 2, day=[1, 2])
    found = cast_light(np.zeros((1, 3)), path, (crop,), np.zeros((1, 2)))[0]
    assert found == pytest.approx([1.0, 0.2 ** (0.5 / 2)])
