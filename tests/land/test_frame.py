"""Does a shape survive the way into the frame and back, and does a plan turn the right way?"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box

from siteplan.land.frame import DrawnFrame, LocalFrame, local_to_plan, plan_to_local


def test_centre_is_zero_east_is_x_and_north_is_y():
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    assert frame.to_local(Point(8, 45)).distance(Point(0, 0)) < 1e-9
    east, north = frame.to_local(Point(8.001, 45)), frame.to_local(Point(8, 45.001))
    # by hand: a degree of longitude at 45 N is 111 320 m * cos 45 on a sphere, of latitude 111 km; the ellipsoid adds 0.3 %
    assert east.x == pytest.approx(78.7, rel=0.005)
    assert north.y == pytest.approx(111.1, rel=0.005)
    assert abs(east.y) < 0.001
    assert abs(north.x) < 1e-9


@settings(deadline=None, max_examples=40)
@given(
    st.floats(-179, 179), st.floats(-80, 80), st.floats(-2000, 2000), st.floats(-2000, 2000),
)  # fmt: skip
def test_there_and_back(longitude, latitude, x, y):
    frame = LocalFrame(longitude=longitude, latitude=latitude)
    shape = box(x, y, x + 10, y + 5)
    back = frame.to_local(frame.to_lonlat(shape))
    assert shapely.hausdorff_distance(shape, back) < 1e-6


def test_empty_shape_stays_empty():
    frame = LocalFrame(longitude=8.0, latitude=45.0)
    assert frame.to_local(Polygon()).is_empty
    assert plan_to_local(Polygon(), bearing=10, metres_per_unit=1).is_empty


@pytest.mark.parametrize(
    ("bearing", "right", "up"),
    # a bearing of 90 lays the plan's +y axis to the east, and so its +x axis to the south; by hand for the rest
    [(0, (1, 0), (0, 1)), (90, (0, -1), (1, 0)), (180, (-1, 0), (0, -1)), (-90, (0, 1), (-1, 0))],
)
def test_axes_of_a_plan(bearing, right, up):
    for drawn, expected in (((1, 0), right), ((0, 1), up)):
        there = plan_to_local(Point(drawn), bearing=bearing, metres_per_unit=0.3048)
        assert np.array(there.coords[0]) == pytest.approx(0.3048 * np.array(expected), abs=1e-12)


@settings(deadline=None, max_examples=40)
@given(st.floats(-360, 360), st.floats(0.01, 10))
def test_a_plan_keeps_its_shape(bearing, unit):
    line = LineString([(0, 0), (3, 4), (10, -2)])
    there = plan_to_local(line, bearing=bearing, metres_per_unit=unit)
    assert there.length == pytest.approx(line.length * unit, rel=1e-9)
    (x, y), *_ = there.coords[1:]
    # the first leg lies atan(3/4) to the right of the plan's up
    heading = math.degrees(math.atan2(x, y))
    assert math.cos(math.radians(heading - bearing - math.degrees(math.atan2(3, 4)))) == pytest.approx(1, abs=1e-9)


def test_argument_is_not_altered():
    shape = box(0, 0, 1, 1)
    before = shape.wkt
    LocalFrame(longitude=8.0, latitude=45.0).to_local(shape)
    plan_to_local(shape, bearing=3, metres_per_unit=2)
    assert shape.wkt == before


def test_a_plan_turned_by_a_bearing_is_turned_back():
    # by hand: +y points 30 degrees east of north, so that 4 m along +y lie 4 sin 30 = 2 m east and 4 cos 30 = 3.4641 m
    # north; from there back to the plan it is (0, 4 m), which is 13.1234 ft
    there = local_to_plan(Point(2.0, 4 * math.cos(math.radians(30))), bearing=30, metres_per_unit=0.3048)
    assert (there.x, there.y) == pytest.approx((0.0, 4 / 0.3048), abs=1e-9)


@settings(deadline=None, max_examples=40)
@given(st.floats(-360, 360), st.sampled_from([1.0, 0.3048, 0.001]), st.floats(-500, 500), st.floats(-500, 500))
def test_there_and_back_through_a_measured_plan(bearing, metres_per_unit, x, y):
    shape = box(x, y, x + 4, y + 2)
    there = plan_to_local(shape, bearing=bearing, metres_per_unit=metres_per_unit)
    back = local_to_plan(there, bearing=bearing, metres_per_unit=metres_per_unit)
    assert shapely.hausdorff_distance(shape, back) < 1e-9


def test_a_drawing_in_a_coordinate_system_gets_its_own_coordinates_back():
    from pyproj import CRS, Transformer

    utm = DrawnFrame(crs=CRS("EPSG:32632"), unit="metre")
    there = utm.from_lonlat(Point(8.0, 45.0))
    known = Transformer.from_crs("EPSG:4326", "EPSG:32632", always_xy=True).transform(8.0, 45.0)  # pyproj's own
    assert (there.x, there.y) == pytest.approx(known, abs=1e-6)
    assert DrawnFrame().from_lonlat(Point(8.0, 45.0)) == Point(8.0, 45.0)
