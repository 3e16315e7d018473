"""What leaves and screens let through on each day, and the slices of crowns: by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import Point, Polygon, box

from siteplan.sun.obstacles.bodies import (
    Body,
    attenuation,
    body_of,
    calendars_of,
    extinctions,
    in_leaf,
    transmittances,
    with_more_bodies,
)
from siteplan.sun.obstacles.crowns import crown_slices
from siteplan.sun.obstacles.prisms import Prism

OAK = Body("oak", "crown", math.exp(-3), math.exp(-0.6), 120, 300, 6.0)  # 0.5 and 0.1 a metre
YEW = Body("yew", "crown", math.exp(-4), math.exp(-4), None, None, 2.0)
FENCE = Body("fence", "body", 0.5, 0.5, None, None)
VINE = Body("vine", "trellis", 0.2, 0.9, 120, 300)
WALL = Body("wall", "body", 0.0, 0.0, None, None)


@pytest.mark.parametrize(("calendar", "days"), [
    ((120, 300), {119: False, 120: True, 300: True, 301: False}),
    ((300, 120), {299: False, 300: True, 366: True, 1: True, 120: True, 121: False}),  # in the south
    ((5, 5), {4: False, 5: True, 6: False}),
    (None, {1: True, 366: True}),
])  # fmt: skip
def test_days_in_leaf(calendar, days):
    assert in_leaf(calendar, np.array([*days])).tolist() == [*days.values()]
    assert [bool(in_leaf(calendar, day)) for day in days] == [*days.values()]


@pytest.mark.parametrize(("body", "calendar", "opaque", "leaves"), [
    (OAK, (120, 300), False, True), (YEW, None, False, True), (FENCE, None, False, False), (VINE, (120, 300), False, False),
    (WALL, None, True, False), (OAK._replace(leafy=0.0), (120, 300), False, True),
    (OAK._replace(leafy=0.0, bare=0.0), None, True, False), (OAK._replace(leafy=0.0, leaf_out=None), None, True, False),
    (OAK._replace(leaf_fall=None), None, False, True), (OAK._replace(bare=0.0), (120, 300), False, True),
])  # fmt: skip
def test_what_a_body_is(body, calendar, opaque, leaves):
    assert (body.calendar, body.always_opaque, body.is_leaves) == (calendar, opaque, leaves)


def test_what_bodies_let_through():
    bodies = [OAK, YEW, FENCE, VINE, WALL]
    days = np.array([119, 120])
    found = transmittances(bodies, days)
    assert found == pytest.approx(np.array([
        [math.exp(-0.6), math.exp(-3)], [math.exp(-4)] * 2, [0.5, 0.5], [0.9, 0.2], [0.0, 0.0],
    ]))  # fmt: skip
    assert transmittances(bodies, 120).tolist() == found[:, 1].tolist()
    taken = extinctions(bodies, days)
    assert taken == pytest.approx(np.array([[0.1, 0.5], [2.0, 2.0], [0, 0], [0, 0], [0, 0]]))
    assert extinctions(bodies, 119).tolist() == taken[:, 0].tolist()
    dark = extinctions([OAK._replace(leafy=0.0)], 200)  # a billionth of a thousandth is as good as nothing
    assert dark == pytest.approx([-math.log(1e-12) / 6])


def test_the_calendars_of_bodies_each_once():
    south = OAK._replace(leaf_out=280, leaf_fall=100)
    assert calendars_of([south, OAK, VINE, FENCE, YEW, OAK]) == ((120, 300), (280, 100))
    assert calendars_of([FENCE]) == ()


def test_columns_share_a_state_of_leaves():
    found = attenuation([OAK, VINE, FENCE], [10, 200, 50, 300], 6)
    assert found.opacity.dtype == found.extinction.dtype == np.float32
    assert found.opacity == pytest.approx(np.array([
        [0, 0, 0, 0, 0, 0], [0.1, 0.8, 0.1, 0.8, 0, 0], [0.5, 0.5, 0.5, 0.5, 0, 0],
    ]))  # fmt: skip
    by_column = found.extinction[:, found.state]
    assert by_column == pytest.approx(np.array([[0.1, 0.5, 0.1, 0.5, 0.5, 0.5], [0] * 6, [0] * 6]))
    assert found.extinction.shape == (3, 2)  # bare, and in leaf; padding is as the last day


def test_further_bodies_split_the_states():
    first = attenuation([OAK, FENCE], [10, 200], 2)
    assert with_more_bodies(first, [], [10, 200]) is first
    plum = OAK._replace(leaf_out=5, leaf_fall=15)
    more = with_more_bodies(first, [plum, WALL], [10, 200])
    whole = attenuation([OAK, FENCE, plum, WALL], [10, 200], 2)
    assert more.opacity.tolist() == whole.opacity.tolist()
    assert more.extinction[:, more.state].tolist() == whole.extinction[:, whole.state].tolist()
    nothing = attenuation([FENCE], [], 2)
    assert (nothing.opacity.tolist(), nothing.extinction.tolist()) == ([[0, 0]], [[0]])
    assert nothing.state.tolist() == [0, 0]


def test_the_body_of_a_prism():
    prism = Prism(
        outline=box(0, 0, 1, 1), bottom=0, top=1, owner="o", part="crown", transmittance_leafy=0.1, transmittance_bare=0.4,
        leaf_out=100, leaf_fall=300, transmittance_path=5.0,
    )  # fmt: skip
    assert body_of(prism) == Body("o", "crown", 0.1, 0.4, 100, 300, 5.0)


@pytest.mark.parametrize(("form", "widths"), [
    # the root of the mean of (1 - u)2 over an eighth: the lowest from 0 to 1/8 is sqrt((1 - (7/8)3) / 3 x 8)
    ("cone", [math.sqrt((((8 - k) / 8) ** 3 - ((7 - k) / 8) ** 3) / 3 * 8) for k in range(8)]),
    # of 1 - (2 u - 1)2 = 4 u - 4 u2: 2 u2 - 4/3 u3
    ("ellipsoid", [math.sqrt((2 * (2 * k + 1) / 64 - 4 / 3 * ((k + 1) ** 3 - k**3) / 512) * 8) for k in range(8)]),
    ("cylinder", [1.0]),
])  # fmt: skip
def test_the_slices_of_a_crown(form, widths):
    slices = list(crown_slices(Point(3, 4).buffer(2.0, quad_segs=32), 2.0, 6.0, form))
    height = 4.0 / len(widths)
    for number, ((ring, low, high), wide) in enumerate(zip(slices, widths, strict=True)):
        assert (low, high) == pytest.approx((2 + number * height, 2 + (number + 1) * height))
        assert math.sqrt(ring.area / math.pi) == pytest.approx(2 * wide, rel=5e-3)  # corners within 2 mm are left out
        assert ring.centroid.distance(Point(3, 4)) < 2e-3
    assert len(slices[0][0].exterior.coords) <= 129


def test_a_crown_keeps_a_corner_of_more_than_two_millimetres():
    for off, corners in ((0.0019, 4), (0.0021, 5)):
        outline = box(0, 0, 2, 2).union(Point(1, 2).buffer(0)).union(
            type(box(0, 0, 1, 1))([(0, 2), (1, 2 + off), (2, 2), (1, 1)])
        )  # fmt: skip
        ((ring, _, _),) = crown_slices(outline, 0.0, 3.0, "cylinder")
        assert len(ring.exterior.coords) - 1 == corners
    speck = box(0, 0, 0.001, 0.001)
    ((ring, _, _),) = crown_slices(speck, 0.0, 3.0, "cylinder")
    assert not ring.is_empty


def test_the_slices_of_a_lopsided_crown_lie_within_it():
    crown = Polygon([(0, 0), (6, 0), (0, 3)])
    lowest, *_ = crown_slices(crown, 0.0, 4.0, "cone")
    assert crown.contains(lowest[0])
    for ring, low, _ in crown_slices(crown, 0.0, 4.0, "ellipsoid"):
        assert ring.centroid.distance(crown.centroid) < 1e-9
        assert crown.contains(ring), low
