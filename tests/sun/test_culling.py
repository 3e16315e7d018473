"""Which pieces matter to points, by hand: a sky of ten bins to the north that holds an hour in each of its levels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point, box

from siteplan.sun.lookup.culling import pieces_that_matter
from siteplan.sun.obstacles.packed_prisms import pack
from siteplan.sun.obstacles.prisms import Prism

from .by_clipping import even_sky

FIRST, BINS, LEVELS = 355.0, 20, 100  # from 355 to 365 degrees, up to level 99: a slope of 0.347


def mattering(*prisms, negligible, points=((0.0, 0.0, 0.0),), among=None, first=FIRST):
    sky = even_sky(first, BINS, LEVELS, np.ones(8))
    pieces, _ = pack(prisms)
    chosen = np.arange(len(pieces.top)) if among is None else np.array(among, dtype=np.int64)
    return pieces_that_matter(np.array(points), pieces, sky, chosen, negligible).tolist()


def post(away, top, *, azimuth=0.0, radius=0.2, bottom=0.0):
    """Return a square post whose corners lie `radius` from its middle."""
    x, y = away * math.sin(math.radians(azimuth)), away * math.cos(math.radians(azimuth))
    return Prism(outline=Point(x, y).buffer(radius, quad_segs=1), bottom=bottom, top=top, owner=f"{x} {y}")


def bound(away, top, *, azimuth=0.0, radius=0.2, first=FIRST):
    """Return the hours below a post's top, seen as its circle: its bins' weights times the level of its top."""
    slope = top / (away - radius)
    level = min(math.ceil(384 * slope / (1 + slope)), LEVELS - 1)
    middle, half = (azimuth - first) % 360, math.degrees(math.asin(radius / away))
    bins = range(math.floor(2 * (middle - half)), math.ceil(2 * (middle + half)))
    return level * sum(1 + b % 720 % 3 for b in bins if b % 720 < BINS)


# whole bins about the middle; beside the sky's arc; partly in it; over north, where the arc begins at 0
PLACES = [
    {"away": 20.0, "top": 2.0}, {"away": 20.0, "top": 2.0, "azimuth": 3.1}, {"away": 20.0, "top": 2.0, "azimuth": 357.3},
    {"away": 20.0, "top": 9.0}, {"away": 5.0, "top": 0.5, "radius": 0.3}, {"away": 20.0, "top": 2.0, "azimuth": 5.0},
    {"away": 20.0, "top": 2.0, "azimuth": 355.1}, {"away": 20.0, "top": 2.0, "azimuth": 0.1, "first": 0.0},
    {"away": 20.0, "top": 2.0, "azimuth": 359.9, "first": 0.0}, {"away": 3.0, "top": 0.3, "radius": 2.0},
]  # fmt: skip


@pytest.mark.parametrize("place", PLACES)
def test_a_post_matters_from_the_hours_below_its_top_on(place):
    first = place.get("first", FIRST)
    hours = bound(**place)
    assert hours > 0
    standing = post(**{name: value for name, value in place.items() if name != "first"})
    assert mattering(standing, negligible=hours - 0.5, first=first) == [0]
    assert mattering(standing, negligible=hours + 0.5, first=first) == []
    assert mattering(standing, negligible=hours, first=first) == []  # as much as may be dropped is dropped


def test_what_hides_seven_seconds_a_day_is_negligible():
    pieces, _ = pack([post(20.0, 2.0)])
    for hours, kept in ((0.0021, [0]), (0.0019, [])):
        sky = even_sky(FIRST, BINS, LEVELS, np.full(8, hours / bound(20.0, 2.0)))
        assert pieces_that_matter(np.zeros((1, 3)), pieces, sky, np.array([0])).tolist() == kept


@pytest.mark.parametrize("azimuth", [10.0, 90.0, 180.0, 270.0, 350.0])
def test_what_stands_where_the_sun_never_is_does_not_matter(azimuth):
    assert mattering(post(20.0, 9.0, azimuth=azimuth), negligible=0.0) == []


def test_the_least_are_dropped_as_long_as_together_they_are_negligible():
    posts = [post(20.0, top, azimuth=azimuth) for top, azimuth in ((1.5, 0.0), (0.5, 2.0), (3.0, 358.0), (1.0, 4.0))]
    hours = [bound(20.0, top, azimuth=azimuth) for top, azimuth in ((1.5, 0.0), (0.5, 2.0), (3.0, 358.0), (1.0, 4.0))]
    order = np.argsort(hours).tolist()
    for count in range(5):
        dropped, kept = order[:count], order[count:]
        spare = sum(hours[k] for k in dropped) + 0.5 * (hours[kept[0]] if kept else 1)
        assert mattering(*posts, negligible=spare) == sorted(kept)
    assert mattering(*posts, negligible=0.1, among=[1, 3]) == [1, 3]
    assert mattering(*posts, negligible=hours[1] + 0.5, among=[1, 3]) == [3]


def test_what_points_may_stand_in_matters_if_it_rises_above_the_lowest():
    house = Prism(outline=box(-2, -2, 2, 2), bottom=0, top=3.0, owner="house")
    assert mattering(house, negligible=1e9) == [0]
    assert mattering(house, negligible=0.0, points=((0.0, 0.0, 3.0),)) == []
    assert mattering(house, negligible=1e9, points=((0.0, 0.0, 3.0), (0.0, 0.0, 2.9))) == [0]
    # the circle about it has a radius of 2.83 m: 5 m to the south points 4 m apart reach to within it, 1 m apart not
    assert mattering(house, negligible=1e9, points=((-2.5, -5.0, 0.0), (2.5, -5.0, 0.0))) == [0]
    assert mattering(house, negligible=1e9, points=((-0.5, -5.0, 0.0), (0.5, -5.0, 0.0))) == []
    assert mattering(house, negligible=1e9, points=((0.0, -7.5, 0.0), (0.0, -2.5, 0.0))) == [0]


def test_points_apart_see_a_piece_in_more_directions_and_nearer():
    # points 6 m apart, 3 m from their middle: as if the post's circle were 3 m wider
    hours = bound(20.0, 1.0, radius=3.2)
    for ends in (
        ((-3.0, 0.0, 0.0), (3.0, 0.0, 0.0)),
        ((0.0, -3.0, 0.0), (0.0, 3.0, 0.0)),
        ((0.0, -3.0, 0.5), (0.0, 3.0, 0.0)),
    ):
        assert mattering(post(20.0, 1.0), negligible=hours - 0.5, points=ends) == [0]
        assert mattering(post(20.0, 1.0), negligible=hours + 0.5, points=ends) == []
    assert mattering(post(20.0, 1.0), negligible=0.0, points=((0.0, 0.0, 1.0), (0.0, 1.0, 2.0))) == []
