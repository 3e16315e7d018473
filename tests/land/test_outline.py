"""Do outlines say which way they lie?"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.land.outline import (
    COMPASS,
    corners_of,
    longer_side,
    nearest_compass_point,
    poleward_azimuth,
    rectangle,
    side_facing,
    smallest_rectangle,
    solid_parts,
    thickness,
)


@pytest.mark.parametrize(("azimuth", "word"), [
    (0, "north"), (22.4, "north"), (22.6, "northeast"), (90, "east"), (135, "southeast"), (180, "south"), (225, "southwest"), (270, "west"),
    (315, "northwest"), (337.4, "northwest"), (337.6, "north"), (359.9, "north"), (-90, "west"), (405, "northeast"),
])  # fmt: skip
def test_the_nearest_of_eight_directions(azimuth, word):
    assert nearest_compass_point(azimuth) == word


def test_corners_go_clockwise_from_the_one_behind_on_the_left():
    corners = rectangle(10, 20, length=4, width=2, heading=0).exterior.coords[:-1]
    assert corners == [(9, 18), (9, 22), (11, 22), (11, 18)]
    corners = rectangle(10, 20, length=4, width=2, heading=90).exterior.coords[:-1]
    assert [pytest.approx(corner) for corner in corners] == [(8, 21), (12, 21), (12, 19), (8, 19)]


@settings(deadline=None, max_examples=60)
@given(st.floats(-50, 50), st.floats(-50, 50), st.floats(1.5, 10), st.floats(0.3, 1.4), st.floats(0, 179.9))
def test_rectangle_and_back(x, y, length, width, heading):
    outline = rectangle(x, y, length=length, width=width, heading=heading)
    assert outline.area == pytest.approx(length * width, rel=1e-6)
    assert outline.centroid.distance(Point(x, y)) < 1e-6
    found = smallest_rectangle(outline)
    assert found[:2] == pytest.approx((length, width), abs=1e-6)
    assert abs((found[2] - heading + 90) % 180 - 90) < 1e-4


def test_heading_is_clockwise_from_north():
    north_east = rectangle(0, 0, length=4, width=1, heading=45)
    assert north_east.contains(Point(1.2, 1.2))
    assert not north_east.contains(Point(1.2, -1.2))


def test_square_faces_north():
    assert smallest_rectangle(rectangle(0, 0, length=2, width=2, heading=90)) == pytest.approx((2, 2, 0))


@pytest.mark.parametrize(
    ("azimuth", "middle"), [(0, (0, 1)), (90, (2, 0)), (180, (0, -1)), (270, (-2, 0)), (20, (0, 1)), (340, (0, 1))]
)
def test_side_that_faces(azimuth, middle):
    side = side_facing(rectangle(0, 0, length=4, width=2, heading=90), azimuth)
    assert side.centroid.distance(Point(middle)) < 1e-9


@pytest.mark.parametrize("azimuth", range(0, 360, 5))
def test_a_side_faces_what_lies_within_45_degrees_of_its_normal(azimuth):
    nearest = {0: (0, 1), 1: (2, 0), 2: (0, -1), 3: (-2, 0)}
    quarter = round(azimuth / 90) % 4 if azimuth % 90 != 45 else (0 if azimuth in {45, 315} else 2)  # the long ones
    for outline in (box(-2, -1, 2, 1), rectangle(0, 0, length=4, width=2, heading=90)):
        assert side_facing(outline, azimuth).centroid.distance(Point(nearest[quarter])) < 1e-9


def test_longer_side_wins_a_tie():
    turned = rectangle(0, 0, length=4, width=2, heading=45)
    assert side_facing(turned, 0).length == pytest.approx(4)
    assert side_facing(Polygon([(0, 0), (1, 0), (1, 1), (0, 1)]), 200).length == pytest.approx(1)


def test_nearer_pole():
    assert (poleward_azimuth(45), poleward_azimuth(0), poleward_azimuth(-1)) == (0, 0, 180)


def test_solid_parts_of_clean_shapes_are_those_shapes():
    ring = box(0, 0, 6, 6).difference(box(2, 2, 4, 4))
    assert solid_parts(MultiPolygon([ring, box(8, 0, 9, 1)])) == (ring, box(8, 0, 9, 1))


def test_solid_parts_of_what_is_none_are_none():
    assert solid_parts(Polygon()) == ()
    assert solid_parts(LineString([(0, 0), (1, 1)])) == ()
    assert solid_parts(box(0, 0, 5e-4, 5e-4)) == ()  # a quarter of a square millimetre


def test_solid_parts_of_a_crossed_outline_are_its_two_halves():
    halves = solid_parts(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]))
    assert sorted(half.area for half in halves) == [1.0, 1.0]


def test_compass_points_are_an_eighth_of_a_turn_apart():
    names = ["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"]
    assert {name: 45.0 * number for number, name in enumerate(names)} == COMPASS


@pytest.mark.parametrize(
    ("length", "width", "heading", "found"),
    [
        (4, 2, 0.0, (4, 2, 0)),
        (4, 2, 179.9, (4, 2, 179.9)),
        (4, 2, 180 - 1e-8, (4, 2, 0)),  # a hair short of south is north
        (2, 2, 30.0, (2, 2, 30)),  # of a square's two headings, 30 and 120, the lower
        (2, 2, 120.0, (2, 2, 30)),
        (2.001, 2, 120.0, (2.001, 2, 120)),  # a millimetre longer
    ],
)
def test_the_long_axis_of_a_rectangle(length, width, heading, found):
    known = smallest_rectangle(rectangle(7, -3, length=length, width=width, heading=heading))
    assert known == pytest.approx(found, abs=1e-4)


def test_what_has_no_width_is_as_long_as_it_is():
    assert smallest_rectangle(LineString([(0, 0), (3, 4)])) == (5.0, 0.0, 0.0)
    assert smallest_rectangle(Point(1, 2)) == (0.0, 0.0, 0.0)


CORNERS = [[1.0, 5.0], [4.0, 5.0], [4.0, 2.0], [1.0, 2.0]]  # of a square, from its north-west, clockwise


@pytest.mark.parametrize("start", range(4))
@pytest.mark.parametrize("backwards", [False, True])
def test_corners_go_clockwise_from_the_north_west(start, backwards):
    ring = [*CORNERS[start:], *CORNERS[:start]]
    assert corners_of(Polygon(ring[::-1] if backwards else ring)).tolist() == CORNERS


@pytest.mark.parametrize(("off", "count"), [(0.0, 4), (0.00095, 4), (0.00105, 5)])
def test_a_point_within_a_millimetre_of_a_side_is_no_corner(off, count):
    assert len(corners_of(Polygon([(0, 0), (1, -off), (2, 0), (2, 1), (0, 1)]))) == count


@pytest.mark.parametrize(("area", "count"), [(0.95e-6, 0), (1.05e-6, 1)])
def test_a_part_of_less_than_a_square_millimetre_is_a_speck(area, count):
    speck = box(0, 0, 0.001, area / 0.001)
    assert len(solid_parts(speck)) == count
    whole = box(-1, -1, 1, 1).difference(speck)
    (left,) = solid_parts(whole)
    assert len(left.interiors) == count  # and a hole as small is none


@pytest.mark.parametrize(("apart", "points"), [(0.95e-6, 4), (1.05e-6, 5)])
def test_points_a_thousandth_of_a_millimetre_apart_are_one(apart, points):
    (shape,) = solid_parts(Polygon([(0, 0), (1, 0), (1 + apart, 0.0), (1, 1), (0, 1)]))
    assert len(shape.exterior.coords) - 1 == points


def test_a_hair_short_of_south_is_north():
    """Half a millionth of a degree, as turning and rounding leave it; two millionths are told."""
    for short, heading in ((5e-7, 0.0), (2e-6, 180 - 2e-6)):
        outline = rectangle(0, 0, length=400, width=200, heading=180 - short)
        assert smallest_rectangle(outline)[2] == pytest.approx(heading, abs=1e-7)  # corners in billionths of a metre


@pytest.mark.parametrize(("azimuth", "middle"), [(0, (30, -19)), (90, (32, -20)), (180, (30, -21)), (270, (28, -20))])
def test_the_side_that_faces_of_an_outline_far_from_the_origin(azimuth, middle):
    side = side_facing(rectangle(30, -20, length=4, width=2, heading=90), azimuth)
    assert side.centroid.distance(Point(middle)) < 1e-9


@pytest.mark.parametrize(("band", "thick"), [
    (box(0, 0, 12, 0.8), 0.8), (box(0, 0, 2, 2), 2.0), (box(0, 0, 2, 1.5), 1.5),
    (LineString([(0, 0), (3, 0)]).buffer(0.25, cap_style="flat"), 0.5),
    (Point(0, 0).buffer(1.0, quad_segs=64), 1.5708),  # rounder than any rectangle: a quarter of its way around
])  # fmt: skip
def test_the_thickness_of_a_band(band, thick):
    assert thickness(band) == pytest.approx(thick, abs=1e-3)


@pytest.mark.parametrize(("outline", "length"), [
    (rectangle(7, -3, length=5, width=2, heading=37), 5.0), (box(0, 0, 1e200, 1), 1e200), (box(0, 0, 2e9, 1), 2e9),
    (LineString([(0, 0), (3, 4)]), 5.0),
])  # fmt: skip
def test_the_longer_side(outline, length):
    assert longer_side(outline) == length
