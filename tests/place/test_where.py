"""Where a bed lies, in words: by hand."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Point, box

from siteplan.land.features import Bed, Building, Door, Fence, Hedge, Tree
from siteplan.land.outline import rectangle
from siteplan.place.reasons.landmarks import whereabouts
from siteplan.say.place_reasons import where_text


def tree(name, x, y):
    return Tree(id=name, outline=Point(x, y).buffer(1.0), trunk=Point(x, y), height=6, crown_base=2)


SHED = Building(id="shed", outline=box(0, 0, 2, 2), height=2)


def test_from_the_door_and_between_two_things(yard):
    # the bed reaches from x = 5 to 7: 3 m from the door at x = 2 and the shed, 1 m from the maple in the east
    site = yard(buildings=(SHED,), trees=(tree("maple", 9, 1),), doors=(Door(id="back-door", place=Point(2, 1)),))
    bed = rectangle(6, 1, length=2, width=1, heading=90)
    assert where_text(whereabouts(site, bed), "metric") == "3 m east of back-door, between maple and shed"


def test_without_a_door_the_nearest_thing_serves_and_is_not_named_twice(yard):
    site = yard(buildings=(SHED,), trees=(tree("maple", 9, 1),))
    bed = rectangle(4, 1, length=2, width=1, heading=90)
    assert where_text(whereabouts(site, bed), "metric") == "1.0 m east of shed"


def test_of_two_things_equally_far_the_first_by_name_serves(yard):
    bed = rectangle(5, 5, length=2, width=2, heading=0)
    for trees in ((tree("b", 5, 9), tree("a", 5, 1)), (tree("a", 5, 1), tree("b", 5, 9))):
        assert whereabouts(yard(trees=trees), bed).landmark == "a"


def test_things_on_one_side_do_not_enclose(yard):
    site = yard(buildings=(SHED,), trees=(tree("a", 0, 4),), doors=(Door(id="d", place=Point(2, 1)),))
    found = whereabouts(site, rectangle(6, 2, length=2, width=1, heading=90))
    assert found.between == ()
    assert "between" not in where_text(found, "metric")


def test_a_bare_yard_has_no_words(yard):
    assert whereabouts(yard(), box(4, 4, 6, 5)) is None


@pytest.mark.parametrize(("x", "y", "point"), [(1, 7, "north"), (7, 1, "east"), (7, 7, "northeast")])
def test_the_compass_point_is_that_of_the_bed(yard, x, y, point):
    site = yard(doors=(Door(id="d", place=Point(1, 1)),))
    assert f" {point} of d" in where_text(whereabouts(site, rectangle(x, y, length=1, width=1, heading=0)), "metric")


@pytest.mark.parametrize(("apart", "said"), [(0.29, "beside d"), (0.31, "0.3 m east of d")])
def test_within_a_foot_it_lies_beside(yard, apart, said):
    site = yard(doors=(Door(id="d", place=Point(2, 1)),))
    assert where_text(whereabouts(site, rectangle(3 + apart, 1, length=2, width=1, heading=90)), "metric") == said


@pytest.mark.parametrize(("away", "landmark"), [(24.9, "d"), (25.1, "near")])
def test_a_door_farther_than_25_m_is_no_landmark(yard, away, landmark):
    near = Building(id="near", outline=box(0, 3, 1, 4), height=2)
    site = yard(box(-40, 0, 10, 8), buildings=(near,), doors=(Door(id="d", place=Point(2 - away, 0.5)),))
    found = whereabouts(site, box(2, 0, 4, 1))
    assert found.landmark == landmark
    assert found.distance == pytest.approx(24.9 if landmark == "d" else 5**0.5)


@pytest.mark.parametrize(("away", "landmark"), [(14.9, "shed"), (15.1, None)])
def test_a_thing_farther_than_15_m_is_no_landmark(yard, away, landmark):
    site = yard(box(-40, 0, 10, 8), buildings=(Building(id="shed", outline=box(1 - away, 0, 2 - away, 1), height=2),))
    found = whereabouts(site, box(2, 0, 4, 1))
    assert (found and found.landmark) == landmark


def test_the_nearest_door_and_how_far_it_is(yard):
    doors = (Door(id="front", place=Point(1, 8)), Door(id="b", place=Point(2, 4)), Door(id="a", place=Point(8, 4)))
    found = whereabouts(yard(doors=doors), box(4, 3, 6, 5))  # two are 2 m off: the first by name
    assert (found.landmark, found.distance, found.east, found.north) == ("a", 2.0, -3.0, 0.0)
    found = whereabouts(yard(doors=doors[:1]), box(4, 3, 6, 5))
    assert (found.landmark, found.east, found.north) == ("front", 4.0, -4.0)
    assert found.distance == pytest.approx(18**0.5)


@pytest.mark.parametrize(
    ("degrees", "between"), [(129, ()), (131, ("a", "b")), (180, ("a", "b")), (229, ("a", "b")), (231, ())]
)
@pytest.mark.parametrize("start", [10, 200, 340])
def test_two_things_are_opposite_from_130_degrees_on(yard, degrees, between, start):
    def post(name, azimuth, away):
        turn = math.radians(azimuth)
        place = Point(5 + away * math.sin(turn), 4 + away * math.cos(turn))
        return Building(id=name, outline=place.buffer(0.01), height=2)

    site = yard(
        buildings=(post("a", start, 3.0), post("b", start + degrees, 3.5)), doors=(Door(id="d", place=Point(5, 7)),)
    )
    assert whereabouts(site, box(4.5, 3.5, 5.5, 4.5)).between == between


@pytest.mark.parametrize(("features", "landmark"), [
    ({"hedges": (Hedge(id="x", outline=box(0, 3, 1, 5), height=1),)}, "x"),
    ({"fences": (Fence(id="x", line=LineString([(0, 3), (0, 5)]), height=1),)}, "x"),
    ({"beds": (Bed(id="x", outline=box(0, 3, 1, 5), height=0.3),)}, "x"),
    ({"beds": (Bed(id="x", outline=box(0, 3, 1, 5), height=0.3, proposed=True),)}, None),
])  # fmt: skip
def test_what_can_be_seen_on_the_ground(yard, features, landmark):
    found = whereabouts(yard(**features), box(4, 3, 6, 5))
    assert (found and found.landmark) == landmark
