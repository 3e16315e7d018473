"""Where on earth does a drawing lie? Sizes, systems, plans and usual slips, by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest
import shapely
from pyproj import CRS
from shapely import LineString, Point, Polygon, box

from siteplan.files.drawing.locating import (
    _across_the_date_line,
    _barren,
    _centred,
    _in_degrees,
    _in_frame,
    _in_its_country,
    _is_lonlat,
    _km_across,
    _near,
    _of_a_size,
    _on_earth,
    _on_land,
    _plan_in_degrees,
    _readings,
    drawn_frame,
    located,
)
from siteplan.files.drawing.naming import NamedFeature
from siteplan.files.drawing.vector import Drawing
from siteplan.files.remarks import Remarks
from siteplan.files.site_toml.settings import Origin
from siteplan.land.frame import DrawnFrame, LocalFrame

from .rasters import TO_UTM

UTM = CRS("EPSG:32632")
LOCAL = CRS('LOCAL_CS["a garden", UNIT["metre", 1]]')


def named(*kinds):
    return tuple(NamedFeature(id=f"n{at}", kind=kind, properties={}, shape=None) for at, kind in enumerate(kinds))


def settings(*, origin=None, timezone=None, currency="USD", units="metric"):
    return SimpleNamespace(
        origin=origin, has_origin=origin is not None, timezone=timezone, currency=currency, units=units
    )


def drawing(crs=None, *, geographic=True):
    return Drawing("d.gpkg", (), crs=crs, geographic_by_default=geographic)


def said(remarks):
    return [str(one) for one in remarks.faults] + [f"{one.code}: {one.text}" for one in remarks.cautions]


def test_how_wide_a_shape_is():
    """A degree of latitude is 111.2 km; at 60 degrees one of longitude is half as long."""
    assert _km_across(box(0, 59.95, 0.4, 60.05)) == pytest.approx(22.24)
    assert _km_across(box(0, 59.8, 0.1, 60.2)) == pytest.approx(44.48)
    assert _km_across(box(-1.5, -0.5, 1.5, 0.5)) == pytest.approx(333.6)
    assert _km_across(box(20, -60.05, 20.4, -59.95)) == pytest.approx(22.24)


TALL = 1 / 111.2  # degrees of latitude to a kilometre


def sized(*lengths):
    """Return which of lines so many km long are kept, and what is said."""
    remarks = Remarks()
    lines = {at: LineString([(8, 45), (8, 45 + km * TALL)]) for at, km in enumerate(lengths)}
    return [*_of_a_size(lines, named(*["fence"] * len(lengths)), "d.gpkg", remarks)], said(remarks)


def test_a_shape_of_more_than_50_km_has_a_wrong_corner():
    assert sized(49.9, 0.1) == ([0, 1], [])
    wrong = "is 51 km across, must be at most 50 km; one of its coordinates is wrong"
    assert sized(0.1, 51.0, 0.1) == ([0, 2], [f'd.gpkg: fence "n1": {wrong}'])
    assert sized(51.0, 0.0, 0.0) == ([1, 2], [f'd.gpkg: fence "n0": {wrong}'])  # points say nothing about a size
    kept, told = sized(51.0, 51.0, 0.1, 0.1)
    assert kept == [2, 3]
    assert len(told) == 2


@pytest.mark.parametrize("lengths", [(51.0, 66.0, 0.1), (51.0, 66.0, 0.0, 0.0), (66.0, 51.0), (51.0, 900.0, 0.1)])
def test_where_most_shapes_are_too_wide_it_is_a_plan(lengths):
    assert sized(*lengths) == (
        [],
        [
            (
                f"d.gpkg: reaches over {max(lengths):.0f} km when read as longitude and latitude; if this is a measured plan, give [origin] "
                "in site.toml"
            )
        ],
    )


def test_a_property_on_the_date_line_goes_on_beyond_180_degrees():
    west, east = box(179.9, -17, 179.95, -16.9), box(-179.95, -17, -179.9, -16.9)
    moved = _across_the_date_line({0: west, 4: east})
    assert moved[0].bounds == pytest.approx((179.9, -17, 179.95, -16.9))
    assert moved[4].bounds == pytest.approx((180.05, -17, 180.1, -16.9))
    both_sides_of_greenwich = {0: box(-0.1, 51, 0.1, 51.1)}
    assert _across_the_date_line(both_sides_of_greenwich) == both_sides_of_greenwich


def test_the_frame_lies_at_the_middle_in_metres():
    frame = _centred(box(8.0, 45.0, 8.02, 45.01))
    assert (frame.longitude, frame.latitude) == pytest.approx((8.01, 45.005), abs=1e-5)
    middle = frame.to_local(box(8.0, 45.0, 8.02, 45.01)).centroid
    assert (middle.x, middle.y) == pytest.approx((0, 0), abs=1e-3)
    over = _centred(box(179.99, -17, 180.03, -16.99))
    assert over.longitude == pytest.approx(-179.99, abs=1e-6)
    assert _centred(box(-100.02, 40, -100, 40.02)).longitude == pytest.approx(-100.01, abs=1e-6)


@pytest.mark.parametrize(("shape", "inside"), [
    (box(-180, -90, 180, 90), True), (box(-180.1, 0, 1, 1), False), (box(0, 0, 180.1, 1), False),
    (box(0, -90.1, 1, 1), False), (box(0, 0, 1, 90.1), False), (Point(8, 45), True),
    (Point(math.inf, 45), False), (Point(8, -math.inf), False),
])  # fmt: skip
def test_what_longitudes_and_latitudes_are(shape, inside):
    assert _is_lonlat(shape) == inside


@pytest.mark.parametrize(("shapes", "crs", "words"), [
    ([(100, 95)], None, ('fence "n0": has longitude 100 and latitude 95, must be within 180 and 90 degrees; if this is '
     "a measured plan, give [origin] in site.toml")),
    ([(8, 45), (45, 181), (45, 190)], None, 'fence "n1": has longitude 45 and latitude 181 (so has 1 more), must be'),
    ([(45, 100)], None, 'fence "n0": has latitude 100; longitude and latitude are swapped: longitude comes first'),
    ([(-90, -180), (0, 91), (0, 91)], None, "has latitude -180 (so has 2 more); longitude and latitude are swapped"),
    ([(90.5, 100)], None, "has longitude 90.5 and latitude 100, must"),
    ([(181, 45)], None, "has longitude 181 and latitude 45, must"),
    ([(8, 95)], UTM, 'fence "n0": does not lie in the area of WGS 84 / UTM zone 32N; is that its coordinate system?'),
    ([(8, 95), (8, 96)], UTM, "does not lie in the area of WGS 84 / UTM zone 32N (so has 1 more); is"),
])  # fmt: skip
def test_coordinates_of_no_place_on_earth(shapes, crs, words):
    remarks = Remarks()
    degrees = dict(enumerate(map(Point, shapes)))
    kinds = named(*["fence"] * len(shapes))
    assert not _on_earth(degrees, kinds, drawing(crs), settings(), remarks)
    (told,) = said(remarks)
    assert told.startswith("d.gpkg: ")
    assert words in told


def test_a_plan_beyond_the_earth_is_not_told_of_a_system_it_does_not_use():
    remarks = Remarks()
    plan = settings(origin=Origin(latitude=45, longitude=8))
    assert not _on_earth({0: Point(8, 95)}, named("bed"), drawing(UTM), plan, remarks)
    assert said(remarks)[0].startswith('d.gpkg: bed "n0": has latitude 95; longitude and latitude are swapped')
    assert _on_earth({0: Point(8, 45)}, named("bed"), drawing(UTM), plan, Remarks())


def test_coordinates_that_are_degrees_stay():
    shapes = {0: Point(8, 45)}
    for crs in (None, CRS("EPSG:4326"), CRS("OGC:CRS84")):
        remarks = Remarks()
        assert _in_degrees(shapes, drawing(crs), settings(), remarks) == shapes
        assert said(remarks) == []


def test_another_system_is_converted():
    remarks = Remarks()
    found = _in_degrees({3: Point(*TO_UTM.transform(8.0, 45.0))}, drawing(UTM), settings(), remarks)
    assert (found[3].x, found[3].y) == pytest.approx((8, 45), abs=1e-8)
    assert said(remarks) == [
        "converted: d.gpkg is in WGS 84 / UTM zone 32N; it was converted to longitude and latitude."
    ]


@pytest.mark.parametrize("crs", [None, LOCAL])
def test_a_file_that_does_not_say_where_it_lies(crs):
    remarks = Remarks()
    assert _in_degrees({0: Point(8, 45)}, drawing(crs, geographic=False), settings(), remarks) is None
    assert said(remarks) == [
        "d.gpkg: does not say in which coordinate system it is; save it in one, or give [origin] if it is a measured plan"
    ]
    plan = settings(origin=Origin(latitude=45, longitude=8))
    remarks = Remarks()
    assert _in_degrees({0: box(0, 0, 9, 9)}, drawing(crs, geographic=False), plan, remarks)
    assert said(remarks) == []


def test_a_plan_in_a_system_is_taken_as_a_plan():
    remarks = Remarks()
    plan = settings(origin=Origin(latitude=45, longitude=8))
    found = _in_degrees({0: LineString([(0, 0), (0, 100)])}, drawing(UTM), plan, remarks)
    assert found[0].bounds == pytest.approx((8, 45, 8, 45.0009), abs=1e-5)
    assert said(remarks) == [
        "origin-over-crs: d.gpkg says that it is in WGS 84 / UTM zone 32N; with [origin] it is taken as a plan."
    ]
    faulty = SimpleNamespace(**vars(plan) | {"origin": None})  # a fault of [origin] was told before
    assert _in_degrees({0: Point(0, 0)}, drawing(), faulty, Remarks()) is None


def planned(shape, **more):
    remarks = Remarks()
    found = _plan_in_degrees({0: shape}, Origin(latitude=45, longitude=8, **more), "d.gpkg", remarks)
    return found and found[0], said(remarks)


def test_a_plan_is_laid_at_its_origin_and_turned():
    shape, told = planned(LineString([(0, 0), (0, 100)]), bearing=90.0, unit="ft")
    assert told == []
    east = LocalFrame(longitude=8, latitude=45).to_lonlat(Point(30.48, 0))
    assert shapely.get_coordinates(shape) == pytest.approx(
        shapely.get_coordinates(LineString([(8, 45), east])), abs=1e-9
    )


def test_how_far_a_plan_may_reach():
    assert planned(LineString([(0, 0), (9999, 0)]))[1] == []
    far = "from the plan's zero point; is it a plan in the unit that [origin] says?"
    assert planned(LineString([(0, 0), (0, -11_000)])) == (None, [f"d.gpkg: reaches 11 km {far}"])
    assert planned(LineString([(0, 0), (10_001, 0)])) == (None, [f"d.gpkg: reaches 10 km {far}"])


def test_how_small_a_plan_may_be():
    assert planned(LineString([(3, 4), (4.01, 4)]))[1] == []
    assert planned(box(3, 4, 3.5, 5.01))[1] == []
    assert planned(box(8.0, 45.0, 8.9, 45.99)) == (None, [
        ("d.gpkg: is a plan of less than a metre; if its coordinates are longitude and latitude, leave [origin] out of "
        "site.toml, else give its unit there")
    ])  # fmt: skip


def test_the_coordinates_of_a_drawing():
    feet = Origin(latitude=45, longitude=8, bearing=30, unit="ft")
    assert drawn_frame(drawing(UTM), settings(origin=feet)) == DrawnFrame(
        (8, 45), bearing=30, metres_per_unit=0.3048, unit="ft"
    )
    for crs in (None, CRS("EPSG:4326"), CRS("OGC:CRS84")):
        assert drawn_frame(drawing(crs), settings()) == DrawnFrame()
    assert drawn_frame(drawing(UTM), settings()) == DrawnFrame(crs=UTM, unit="metre")
    york = CRS("EPSG:2263")
    assert drawn_frame(drawing(york), settings()) == DrawnFrame(crs=york, unit="US survey foot")
    etrs = CRS("EPSG:4258")
    assert drawn_frame(drawing(etrs), settings()) == DrawnFrame(crs=etrs, unit="degrees")


def test_a_shape_that_crosses_itself_only_in_metres():
    """A parallel of 8 km bends by 1.2 m: a corner 0.1 m north of its middle lies south of the straight line."""
    frame = LocalFrame(longitude=8.05, latitude=45)
    armed = Polygon([(8, 44.95), (8.1, 44.95), (8.1, 45), (8, 45), (8, 45.00001), (8.05, 45.000001), (8, 45.001),
                     (7.99, 45.001), (7.99, 44.95)])  # fmt: skip
    halved = Polygon([(8, 45), (8.1, 45), (8.1, 45.05), (8.05, 45.000001), (8, 45.05)])
    for shape in (armed, halved):
        assert shape.is_valid
        assert not frame.to_local(shape).is_valid
    remarks = Remarks()
    shapes = {0: armed, 1: Point(8.05, 45), 2: halved}
    local = _in_frame(shapes, frame, named("surface", "tap", "bed"), "d.gpkg", remarks)
    assert list(local) == [0, 1]
    assert local[0].is_valid
    assert local[0].area == pytest.approx(frame.to_local(armed).area, rel=1e-3)
    assert (local[1].x, local[1].y) == pytest.approx((0, 0), abs=1e-6)
    (told,) = said(remarks)
    assert told.startswith('d.gpkg: bed "n2": its outline crosses itself')


HOME = LocalFrame(longitude=8.0, latitude=45.0)
YARD = box(-10, -10, 10, 10)


def nearby(local, degrees=None):
    remarks = Remarks()
    shapes = {0: YARD, 1: local}
    _near(shapes, {1: degrees or HOME.to_lonlat(local)}, named("boundary", "elm"), YARD, HOME, "d.gpkg", remarks)
    return 1 in shapes, said(remarks)


def test_how_far_off_a_feature_may_lie():
    assert nearby(Point(5009, 0)) == (True, [])
    assert nearby(Point(0, -5011)) == (False, [
        'd.gpkg: elm "n1": lies 5 km from the boundary, must be within 5 km; is it drawn in the right place?'
    ])  # fmt: skip
    assert nearby(Point(math.inf, math.inf), Point(-172, -45)) == (False, [
        'd.gpkg: elm "n1": lies half the world from the boundary, must be within 5 km; is it drawn in the right place?'
    ])  # fmt: skip


def test_a_feature_whose_coordinates_are_swapped():
    swapped = Point(45.001, 8.001)
    kept, (told,) = nearby(HOME.to_local(swapped), swapped)
    assert not kept
    assert told.endswith("must be within 5 km; longitude and latitude are swapped: longitude comes first")
    off = Point(45.1, 8.1)  # 13 km off even so
    assert nearby(HOME.to_local(off), off)[1][0].endswith("is it drawn in the right place?")


@pytest.mark.parametrize("latitude", [88.99, -88.99, 89.01, -89.01])
def test_no_garden_lies_at_a_pole(latitude):
    remarks = Remarks()
    shapes = {0: box(8, latitude - 1e-4, 8.001, latitude + 1e-4)}
    zone = settings(timezone="Etc/GMT-1")
    found = located(shapes, named("boundary"), drawing(), zone, remarks)
    told = [one for one in said(remarks) if "equator" in one]
    if abs(latitude) < 89:
        assert found.frame.latitude == pytest.approx(latitude, abs=1e-4)
        assert told == []
    else:
        assert found is None
        assert told == [f"d.gpkg: lies at latitude {latitude}, must be within 89 of the equator"]


def test_the_frame_is_centred_on_the_boundary_else_on_the_middle_of_all():
    lot, tap = box(8, 45, 8.001, 45.001), Point(8.01, 45.01)
    found = located({0: tap, 1: lot}, named("tap", "boundary"), drawing(), settings(), Remarks())
    assert (found.frame.longitude, found.frame.latitude) == pytest.approx((8.0005, 45.0005), abs=1e-6)
    found = located({0: tap, 1: lot}, named("tap", "surface"), drawing(), settings(), Remarks())
    assert (found.frame.longitude, found.frame.latitude) == pytest.approx((8.00525, 45.00525), abs=1e-5)
    assert found.drawn == DrawnFrame()


@pytest.mark.parametrize(("zone", "words"), [
    ("Etc/GMT+2", "at sea"), ("", "at sea"), ("Antarctica/Vostok", "in Antarctica"), ("Europe/Rome", ""),
])  # fmt: skip
def test_where_nobody_gardens(zone, words):
    assert _barren(zone) == words


SWAPPED = "are longitude and latitude swapped? Longitude comes first in a drawing"


@pytest.mark.parametrize(("longitude", "latitude", "readings"), [
    (8.0, 45.0, [(45.0, 8.0, SWAPPED), (-8.0, 45.0, "has longitude lost its sign? West is negative"),
                 (8.0, -45.0, "has latitude lost its sign? South is negative")]),
    (-90.0, -45.0, [(-45.0, -90.0, SWAPPED), (90.0, -45.0, "has longitude a minus too many? East is positive"),
                    (-90.0, 45.0, "has latitude a minus too many? North is positive")]),
    (90.5, 0.0, [(-90.5, 0.0, "has longitude lost its sign? West is negative"),
                 (90.5, 0.0, "has latitude lost its sign? South is negative")]),
    (0.0, 51.0, [(51.0, 0.0, SWAPPED), (0.0, 51.0, "has longitude lost its sign? West is negative"),
                 (0.0, -51.0, "has latitude lost its sign? South is negative")]),
])  # fmt: skip
def test_usual_slips(longitude, latitude, readings):
    assert list(_readings(LocalFrame(longitude=longitude, latitude=latitude))) == readings


def on_land(longitude, latitude, **more):
    remarks = Remarks()
    _on_land(LocalFrame(longitude=longitude, latitude=latitude), settings(**more), remarks, "d.gpkg")
    assert remarks.misplaced == bool(remarks.faults)
    return said(remarks)


ORIGIN = Origin(latitude=45, longitude=8)


@pytest.mark.parametrize(("place", "more", "words"), [
    ((12.5, 41.9), {"timezone": "Europe/Rome"}, []),
    ((12.5, 41.9), {}, []),
    ((12.5, 41.9), {"timezone": "Europe/Paris"}, []),  # the same clocks
    ((-12.5, 41.9), {"timezone": "Europe/Rome"}, [
        ("d.gpkg: lies at longitude -12.50, latitude 41.90, which is outside Europe/Rome; has longitude a minus too many? "
        "East is positive")]),
    ((41.9, 12.5), {"timezone": "Europe/Rome", "origin": ORIGIN}, [
        f"site.toml: [origin]: lies at longitude 41.90, latitude 12.50, which is outside Europe/Rome; {SWAPPED}"]),
    ((-150, -40), {}, []),  # no slip explains it
    ((-88.6, -42.6), {}, [
        ("d.gpkg: lies at longitude -88.60, latitude -42.60, which is at sea; has latitude a minus too many? North is "
        "positive. If it is right, give timezone in site.toml")]),
    ((12.5, 41.9), {"timezone": "America/Denver"}, [
        "timezone-elsewhere: The property lies in Europe/Rome, and site.toml gives America/Denver, whose clocks differ."]),
    ((-30.0, 40.0), {"timezone": "America/Denver"}, [
        ("timezone-elsewhere: The property lies in Etc/GMT+2 (at sea), and site.toml gives America/Denver, whose clocks "
        "differ.")]),
])  # fmt: skip
def test_a_property_at_sea_or_outside_its_zone(place, more, words):
    assert on_land(*place, **more) == words


@pytest.mark.parametrize(("place", "here", "currency", "units", "words"), [
    ((92.204, 41.352), "Asia/Shanghai", "USD", "imperial", [
        ("another-country: The property lies in China (Asia/Shanghai), and its prices are in USD. Has longitude lost its "
        "sign? West is negative. It would then lie in United States.")]),
    ((92.204, 41.352), "Asia/Shanghai", "USD", "metric", []),  # the currency by default
    ((92.204, 41.352), "Asia/Shanghai", "CNY", "imperial", []),
    ((92.204, 41.352), "Asia/Shanghai", "BRL", "metric", []),  # no slip leads there
    ((9.2, 45.5), "", "USD", "imperial", []),
    ((28.0, 26.2), "Africa/Cairo", "ZAR", "metric", [
        ("another-country: The property lies in Egypt (Africa/Cairo), and its prices are in ZAR. Has latitude lost its "
        "sign? South is negative. It would then lie in South Africa.")]),
])  # fmt: skip
def test_a_property_in_a_country_with_other_money(place, here, currency, units, words):
    remarks = Remarks()
    frame = LocalFrame(longitude=place[0], latitude=place[1])
    _in_its_country(frame, here, settings(currency=currency, units=units), remarks)
    assert said(remarks) == words
