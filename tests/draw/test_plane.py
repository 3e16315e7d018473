"""Metres of the page, coordinates of the file and the frame of the site, there and back; by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from pyproj import CRS, Transformer
from shapely import Point, box

from siteplan.draw.plane import Plane, plane_of
from siteplan.draw.site_plane import from_site, to_site
from siteplan.land.frame import DrawnFrame, LocalFrame
from tests.place.conftest import bare_yard

HOME = LocalFrame(longitude=8.0, latitude=45.0)
FEET = Plane(metres_per_unit=0.3048, place=(45.0, 8.0), bearing=90.0)
UTM = CRS("EPSG:32632")
X, Y = Transformer.from_crs("EPSG:4326", UTM, always_xy=True).transform(8.0, 45.0)


def test_a_plan_in_feet():
    assert FEET.from_file(Point(10, -20)) == Point(3.048, -6.096)
    assert FEET.to_file(np.array([[3.048, -6.096], [-1e-9, 1.0]])).tolist() == [[10, -20], [0, 3.281]]
    assert math.copysign(1, FEET.to_file(np.array([[-1e-9, 0.0]]))[0, 0]) == 1  # never written as -0


def test_degrees_are_written_to_a_millimetre():
    plane = Plane(frame=HOME, drawn=DrawnFrame(), place=(45.0, 8.0))
    there = plane.from_file(Point(8.0, 45.001))
    assert (there.x, there.y) == pytest.approx((0, 111.13), abs=0.02)  # a thousandth of a degree of latitude
    assert plane.to_file(np.array([[there.x, there.y]])).tolist() == [[8.0, 45.001]]
    assert plane.to_file(np.array([[0.001, 0.0]]))[0, 0] == pytest.approx(8 + 0.001 / 78_847, abs=6e-10)


def test_metres_of_a_map_are_written_to_a_millimetre():
    plane = Plane(frame=HOME, drawn=DrawnFrame(crs=UTM, unit="metre"))
    here = plane.from_file(Point(X, Y))
    assert (here.x, here.y) == pytest.approx((0, 0), abs=1e-6)
    (written,) = plane.to_file(np.array([[0.0, 0.0]])).tolist()
    assert written == [round(X, 3), round(Y, 3)]


def drawn(*features, origin=None, crs=None):
    """Return what the files of a property say."""
    settings = SimpleNamespace(origin=origin, has_origin=origin is not None)
    rows = [SimpleNamespace(shape=shape, properties={"kind": kind}) for kind, shape in features]
    drawing = SimpleNamespace(features=rows, crs=crs)
    return SimpleNamespace(settings=settings, drawing=drawing, unit=SimpleNamespace(metres=0.5))


def test_the_plane_of_a_plan():
    origin = SimpleNamespace(latitude=45.0, longitude=8.0, bearing=30.0)
    assert plane_of(drawn(origin=origin), None) == Plane(0.5, place=(45.0, 8.0), bearing=30.0)
    faulty = drawn()
    faulty.settings.has_origin = True
    assert plane_of(faulty, None) == Plane(0.5)
    for missing in ("settings", "drawing"):
        read = drawn(("tap", Point(8, 45)))
        setattr(read, missing, None)
        assert plane_of(read, None).frame is None


def test_the_plane_about_the_boundary_else_about_all():
    lot, tap = ("boundary", box(8, 45, 8.002, 45.002)), ("tap", Point(9, 46))
    assert plane_of(drawn(tap, lot), None).place == pytest.approx((45.001, 8.001))
    plane = plane_of(drawn(tap, ("tree", Point(8, 45)), ("bed", None)), None)
    assert plane.place == pytest.approx((45.5, 8.5))
    assert plane.frame == LocalFrame(longitude=8.5, latitude=45.5)
    assert plane_of(drawn(("tap", Point(500, 45))), None) == Plane()  # on no map of the earth
    assert plane_of(drawn(("bed", None)), None) == Plane()
    odd = drawn(tap)
    odd.drawing.features[0].properties = None
    assert plane_of(odd, None).place == pytest.approx((46, 9))


def test_the_plane_stays_while_the_property_is_open():
    first = plane_of(drawn(("boundary", box(8, 45, 8.002, 45.002))), None)
    moved = drawn(("boundary", box(8.001, 45, 8.003, 45.002)))
    assert plane_of(moved, first) is first
    assert plane_of(moved, None).place == pytest.approx((45.001, 8.002))
    other = plane_of(drawn(("boundary", box(X, Y, X + 9, Y + 9)), crs=UTM), first)
    assert other is not first
    assert other.drawn == DrawnFrame(crs=UTM, unit="metre")
    assert other.place == pytest.approx((45.00004, 8.00006), abs=1e-5)
    assert plane_of(moved, FEET).place == pytest.approx((45.001, 8.002))  # from a plan to degrees


def test_the_page_and_the_frame_of_the_site():
    """A plan whose +y axis points east: ten metres up on the page lie ten metres east of its zero point."""
    site = bare_yard()
    there = to_site(Point(2, 10), FEET, site)
    assert (there.x, there.y) == pytest.approx((10, -2), abs=1e-6)
    back = from_site(there, FEET, site)
    assert (back.x, back.y) == pytest.approx((2, 10), abs=1e-6)
    with pytest.raises(ValueError, match="nobody has said where the plan lies"):
        to_site(Point(0, 0), Plane(), site)
    far = Plane(frame=LocalFrame(longitude=8.0, latitude=45.001))
    there = to_site(Point(3, 0), far, site)
    assert (there.x, there.y) == pytest.approx((3, 111.13), abs=0.02)
    back = from_site(there, far, site)
    assert (back.x, back.y) == pytest.approx((3, 0), abs=1e-6)


def test_a_plan_without_a_unit_is_in_metres():
    assert Plane().from_file(Point(3, -4)) == Point(3, -4)
    assert Plane().to_file(np.array([[3.0, -4.0]])).tolist() == [[3, -4]]


def test_degrees_are_never_written_as_minus_nothing():
    plane = Plane(frame=LocalFrame(longitude=0.0, latitude=0.0), drawn=DrawnFrame())
    written = plane.to_file(np.array([[-1e-6, -1e-6]]))[0]
    assert written.tolist() == [0, 0]
    assert [math.copysign(1, one) for one in written] == [1, 1]
