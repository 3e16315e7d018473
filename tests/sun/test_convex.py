from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box, union_all

from siteplan.sun.obstacles.convex_pieces import convex_rings


def turns(ring):
    ahead, after = np.roll(ring, -1, axis=0), np.roll(ring, -2, axis=0)
    one, two = ahead - ring, after - ahead
    return one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]


def test_an_ell_falls_into_two():
    rings = convex_rings(box(0, 0, 4, 4).difference(box(2, 2, 4, 4)))
    assert len(rings) == 2
    assert sum(Polygon(ring).area for ring in rings) == pytest.approx(12)


def test_a_clockwise_outline_comes_out_counterclockwise():
    (ring,) = convex_rings(Polygon([(0, 0), (0, 1), (1, 1), (1, 0)]))
    assert turns(ring).min() > 0


def test_a_ring_of_hedge_is_covered_without_its_middle():
    ring = Point(0, 0).buffer(5).difference(Point(0, 0).buffer(4))
    pieces = union_all([Polygon(piece) for piece in convex_rings(ring)])
    assert pieces.symmetric_difference(ring).area < 1e-9


@settings(deadline=None, max_examples=40)
@given(st.lists(st.floats(0.5, 5), min_size=4, max_size=12))
def test_stars_are_covered_by_convex_pieces_that_do_not_overlap(radii):
    angle = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    star = Polygon(np.column_stack([radii * np.cos(angle), radii * np.sin(angle)]))
    rings = convex_rings(star)
    assert sum(Polygon(ring).area for ring in rings) == pytest.approx(star.area)
    assert union_all([Polygon(ring) for ring in rings]).area == pytest.approx(star.area)
    assert min(turns(ring).min() for ring in rings) >= -1e-9
