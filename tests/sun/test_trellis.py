"""The strip of a trellis: the four corners by hand, on every side of a bed that lies askew."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon

from siteplan.land.features import Bed
from siteplan.land.outline import rectangle
from siteplan.sun.obstacles.trellis import trellis_outline

SINE, COSINE = 0.5, math.sqrt(3) / 2  # of 30 degrees


def at(along, across):
    """Return a point of the bed: 4 m long along the azimuth of 30 degrees, 1.6 m wide, with its middle at (10, 20)."""
    return 10 + along * SINE + across * COSINE, 20 + along * COSINE - across * SINE


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize(("latitude", "side", "corners"), [
    (45.0, None, [(2, -0.8), (2, 0.8), (1.95, 0.8), (1.95, -0.8)]),  # the end that looks 30 degrees off north
    (-45.0, None, [(-2, -0.8), (-2, 0.8), (-1.95, 0.8), (-1.95, -0.8)]),
    (45.0, 120.0, [(2, 0.8), (-2, 0.8), (-2, 0.75), (2, 0.75)]),  # 5 cm within the long side in the south-east
    (45.0, 300.0, [(2, -0.8), (-2, -0.8), (-2, -0.75), (2, -0.75)]),
    (45.0, 0.0, [(2, -0.8), (2, 0.8), (1.95, 0.8), (1.95, -0.8)]),
    (45.0, 180.0, [(-2, -0.8), (-2, 0.8), (-1.95, 0.8), (-1.95, -0.8)]),
])  # fmt: skip
def test_a_trellis_stands_just_within_its_side(latitude, side, corners, clockwise):
    outline = rectangle(10, 20, length=4, width=1.6, heading=30)
    if clockwise != (not outline.exterior.is_ccw):
        outline = outline.reverse()
    bed = Bed(id="b", outline=outline, height=0.5, trellis_height=2.0, trellis_side=side)
    expected = Polygon([at(*corner) for corner in corners])
    found = trellis_outline(bed, latitude)
    assert found.area == pytest.approx(expected.area)
    assert found.symmetric_difference(expected).area < 1e-6
