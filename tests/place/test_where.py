"""Where a bed lies, in words: by hand."""

from __future__ import annotations

import pytest
from shapely import Point, box

from siteplan.land.features import Building, Door, Tree
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
