"""The plan's bearing from a line whose bearing is known."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point

from siteplan.land.declination import Declination
from siteplan.land.frame import plan_to_local
from siteplan.land.north import direction_on_plan, full_circle, north_by_compass, north_by_line

ANGLES = st.floats(-360, 360)


@settings(max_examples=100, deadline=None, database=None)
@given(ANGLES, ANGLES)
def test_the_line_points_to_its_bearing_once_the_plan_is_turned(azimuth, on_plan):
    found = north_by_line(azimuth, on_plan=on_plan, doubt=0.0)
    tip = Point(10 * math.sin(math.radians(on_plan)), 10 * math.cos(math.radians(on_plan)))
    there = plan_to_local(tip, bearing=found.bearing, metres_per_unit=1.0)
    assert 0 <= found.bearing < 360
    assert there.x == pytest.approx(10 * math.sin(math.radians(azimuth)), abs=1e-9)
    assert there.y == pytest.approx(10 * math.cos(math.radians(azimuth)), abs=1e-9)


def test_an_eastern_declination_adds_to_the_reading():
    # by hand: a needle 15 degrees east of north; a wall read as 30 magnetic is 45 true; on the plan it goes right (90)
    found = north_by_compass(30.0, on_plan=90.0, magnetic=Declination(15.0, 0.3, "sound", 2026.0), reading_doubt=0.4)
    assert found.bearing == pytest.approx(315.0)
    assert found.doubt == pytest.approx(0.5)  # 3, 4, 5


def test_directions_on_the_plan():
    assert direction_on_plan((2, 2), (2, 1)) == 180
    assert direction_on_plan((0, 0), (3, 3)) == pytest.approx(45)
    assert 0 <= direction_on_plan((0, 0), (-1e-18, 1)) < 360
    assert full_circle(720.0) == 0.0
