"""What comes from the page and goes to it: which values can be written, which corners stay, what the map shows."""

from __future__ import annotations

import json
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box

from siteplan.draw.live_bed import BESIDE, BedAt, LiveSite, figures
from siteplan.draw.page_features import feature_fault, plain, rounded, to_file, to_page
from siteplan.draw.plane import Plane, plane_of
from siteplan.draw.sun_map import SunMap
from siteplan.draw.sun_picture import picture_view
from siteplan.files.drawing.vector import RawFeature
from siteplan.land.features import Bed
from siteplan.land.grid import Grid, grid_over
from siteplan.show.charts.colours import png_address, sun_picture
from siteplan.sun.sun_maps import SunMaps
from tests.place.conftest import bare_yard

FEET = Plane(metres_per_unit=0.3048, place=(45.0, 8.0))


def fault(properties=None, geometry=None, **more):
    feature = {"type": "Feature", "id": "a", "properties": properties or {}, "geometry": geometry} | more
    found = feature_fault(feature)
    return "" if found is None else found.text


def nested(depth, wrap):
    value = 1
    for _ in range(depth):
        value = wrap(value)
    return {"x": value}


@pytest.mark.parametrize("wrap", [lambda value: [value], lambda value: {"k": value}, lambda value: [1, {"k": value}]])
def test_properties_may_be_nested_eighteen_deep(wrap):
    """Twenty levels with the feature's own list and its table of properties around them."""
    deep = 9 if isinstance(wrap(0), list) and len(wrap(0)) == 2 else 18
    assert fault(nested(deep, wrap)) == ""
    assert "nested more than 20 deep" in fault(nested(deep + 1, wrap))


@pytest.mark.parametrize(("value", "said"), [
    (float("inf"), "holds inf"), ([1, float("nan")], "holds nan"), ({"\ud800": 1}, "half of a letter"),
    ({"a": ["x\udfff"]}, "half of a letter"), ("\ud7ff\ue000", ""), ([True, None, "ok", 1.5], ""),
])  # fmt: skip
def test_which_values_can_be_written(value, said):
    got = fault({"x": value})
    assert said in got
    assert bool(got) == bool(said)


@pytest.mark.parametrize(("geometry", "sound"), [
    (None, True),
    ({"type": "Point", "coordinates": [1, 2.5]}, True),
    ({"type": "Point", "coordinates": [1]}, False),
    ({"type": "Point", "coordinates": [1, 2, 3]}, False),
    ({"type": "Point", "coordinates": [1, True]}, False),
    ({"type": "Point", "coordinates": [1, -9.9e8]}, True),
    ({"type": "Point", "coordinates": [1, 1e9]}, False),
    ({"type": "Point", "coordinates": [1, -1e9]}, False),
    ({"type": "LineString", "coordinates": [[1, 2], [3, 4]]}, True),
    ({"type": "LineString", "coordinates": [[1, 2], 3]}, False),
    ({"type": "LineString", "coordinates": []}, False),
    ({"type": "Polygon", "coordinates": [[[1, 2], [3, 4], [5, 6]]]}, True),
    ({"type": "Polygon", "coordinates": [[1, 2], [3, 4]]}, False),
    ({"type": "MultiPoint", "coordinates": [[1, 2], [3, 4]]}, True),
    ({"type": "MultiPoint", "coordinates": [1, 2]}, False),
    ({"type": "MultiPoint", "coordinates": [[[1, 2]]]}, False),
    ({"type": "MultiLineString", "coordinates": [[[1, 2], [3, 4]]]}, True),
    ({"type": "MultiLineString", "coordinates": [[1, 2], [3, 4]]}, False),
    ({"type": "MultiLineString", "coordinates": [[[[1, 2]]]]}, False),
    ({"type": "MultiPolygon", "coordinates": [[[[1, 2]], []]]}, False),
    ({"type": "MultiPolygon", "coordinates": [[[[1, 2]]]]}, True),
    ({"type": "LineString", "coordinates": [[1, 2]] * 100_000}, True),
    ({"type": "LineString", "coordinates": [[1, 2]] * 100_001}, False),
])  # fmt: skip
def test_which_geometries_can_be_written(geometry, sound):
    assert (fault(geometry=geometry) == "") == sound


@pytest.mark.parametrize(("name", "sound"), [("a", True), ("", False), (" ", False), (5, False), (None, False)])
def test_a_feature_has_an_id(name, sound):
    assert (fault(id=name) == "") == sound
    assert "must have properties and a geometry" in feature_fault({"type": "Feature", "id": "a"}).text


def raw(shape, **properties):
    return RawFeature(number=1, own_id="a", properties=properties, shape=shape)


def test_a_feature_of_the_file_in_the_pages_metres():
    """100 ft are 30.48 m; the page is told tenths of a millimetre."""
    page = to_page(raw(Point(100, 1.23456789), height="6 ft", odd=float("nan")), "a", FEET)
    assert page["geometry"] == {"type": "Point", "coordinates": [30.48, 0.3763]}
    assert page["properties"] == {"height": "6 ft", "odd": None}
    assert to_page(raw(None), "a", FEET)["geometry"] is None
    assert to_page(raw(Polygon()), "a", FEET)["geometry"] is None
    assert rounded({"type": "Point", "coordinates": (-0.00001, 2)}) == {"type": "Point", "coordinates": [0.0, 2.0]}


def test_a_corner_less_than_half_a_millimetre_off_stays():
    """Its height stays with it; one that was moved keeps the height of what it was nearest to."""
    line = LineString([(1.000123, 2, 7), (5, 6, 8)])
    before = raw(line)
    moved = to_page(before, "a", Plane())
    moved["geometry"]["coordinates"][1] = [5.0004, 6]
    assert to_file(moved, before, Plane())["geometry"]["coordinates"] == [[1.000123, 2, 7], [5, 6, 8]]
    moved["geometry"]["coordinates"][1] = [5.0006, 6]
    assert to_file(moved, before, Plane())["geometry"]["coordinates"] == [[1.000123, 2, 7], [5.001, 6, 8]]
    moved["geometry"]["coordinates"][0] = [1.0006, 2.0002]  # 0.477 mm and 0.2 mm are 0.517 mm
    assert to_file(moved, before, Plane())["geometry"]["coordinates"][0] == [1.001, 2, 7]
    assert "geometry" not in to_file(to_page(before, "a", Plane()), before, Plane())


def test_nothing_is_shown_as_minus_nothing():
    assert json.dumps(rounded({"type": "Point", "coordinates": (-0.00001, -1)})["coordinates"]) == "[0.0, -1.0]"
    tiers = [{"height": 0.3}, {"height": 0.2, "outline": [[-0.00001, 1], [2, -0.00001], [2, 2]]}]
    page = to_page(raw(Point(0, 0), tiers=tiers), "a", Plane())
    assert json.dumps(page["properties"]["tiers"][1]["outline"]) == "[[0, 1], [2, 0], [2, 2]]"
    assert page["properties"]["tiers"][0] == {"height": 0.3}


def test_values_as_json_has_them():
    assert plain({1: (np.float64(2.5), "half \ud800", float("inf"))}) == {"1": [2.5, "half ?", None]}


def test_the_middle_of_a_drawing_must_lie_on_earth():
    from siteplan.draw.plane import _middle
    from siteplan.land.frame import DrawnFrame

    assert _middle([Point(8, 45), Point(10, 47)], DrawnFrame()) == (9.0, 46.0)
    for point, on_earth in (((180, 89), True), ((-180, -89), True), ((180.1, 0), False), ((0, 89.1), False),
                            ((-180.1, 0), False), ((0, -89.1), False)):  # fmt: skip
        assert (_middle([Point(point)], DrawnFrame()) is not None) == on_earth
    assert _middle([], DrawnFrame()) is None
    assert plane_of(SimpleNamespace(settings=None, drawing=None, unit=SimpleNamespace(metres=0.5)), None) == Plane(
        0.5
    )


HOURS = np.array([[1.0, 2.0, 3.0, 4.0], [5.0, np.nan, 7.0, 7.6]])


def shown(bearing, month=12, *, whole=True):
    site = bare_yard(box(-2, -1, 2, 1), cell=1.0)
    months = np.stack([HOURS * share for share in np.linspace(0.1, 1.3, 12)])
    maps = SunMaps(grid_over(site.boundary, 1.0), months, HOURS)
    found = SunMap("v", site, maps, whole, None)
    return picture_view(found, Plane(place=(45.0, 8.0), bearing=bearing), month)


def test_the_map_lies_under_the_property_as_the_plan_is_turned():
    """Four cells by two: north up as they are; up to the east, the picture stands on its western end."""
    upright = shown(0)
    assert upright["bounds"] == [pytest.approx([-2, -1], abs=1e-6), pytest.approx([2, 1], abs=1e-6)]
    assert upright["image"] == png_address(sun_picture(HOURS, top=10))
    assert (upright["state"], upright["version"], upright["month"]) == ("whole", "v", 12)
    eastward = shown(90, whole=False)
    assert eastward["bounds"] == [pytest.approx([-1, -2], abs=1e-6), pytest.approx([1, 2], abs=1e-6)]
    assert eastward["image"] == png_address(sun_picture(np.rot90(HOURS), top=10))
    assert eastward["state"] == "coarse"
    assert shown(180)["image"] == png_address(sun_picture(np.rot90(HOURS, 2), top=10))
    assert shown(0, month=0)["image"] == png_address(sun_picture(HOURS * 0.1, top=10))


def test_pixels_of_a_map_are_as_large_as_its_cells():
    """4 m by 2 m in cells of 2 m: two pixels side by side."""
    site = bare_yard(box(-2, -1, 2, 1), cell=2.0)
    maps = SunMaps(grid_over(site.boundary, 2.0), np.full((12, 1, 2), 7.0), np.array([[1.0, 4.0]]))
    found = picture_view(SunMap("v", site, maps, True, None), Plane(place=(45.0, 8.0)), 12)
    assert found["image"] == png_address(sun_picture([[1.0, 4.0]], top=7))
    assert found["bounds"] == [pytest.approx([-2, -1], abs=1e-6), pytest.approx([2, 1], abs=1e-6)]


def test_around_what_was_swept_the_map_is_clear():
    """7.8 m by 7.8 m in pixels of 2 m, of which the four in the middle lie on known cells; a dark map has a scale up to 1 h."""
    site = bare_yard(box(-3.9, -3.9, 3.9, 3.9), cell=2.0)
    known = np.array([[0.0, 0.25], [0.5, 0.75]])
    maps = SunMaps(Grid(-2, 2, 2.0, 2, 2), np.zeros((12, 2, 2)), known)
    found = picture_view(SunMap("v", site, maps, True, None), Plane(place=(45.0, 8.0)), 12)
    assert found["image"] == png_address(sun_picture(np.pad(known, 1, constant_values=np.nan), top=1))
    assert found["scale"]["top"] == 1
    assert found["bounds"] == [pytest.approx([-3.9, -4.1], abs=1e-6), pytest.approx([4.1, 3.9], abs=1e-6)]


def test_the_scale_of_the_map_goes_up_to_the_next_hour():
    scale = shown(0)["scale"]  # the most of any month is 7.6 * 1.3 = 9.88 h
    assert (scale["top"], scale["need"], scale["plenty"]) == (10, 6.0, 8.0)
    assert len(scale["colours"]) == 16
    assert all(len(one) == 7 and one[0] == "#" for one in scale["colours"])
    assert all(mark["share"] * 10 == pytest.approx(float(mark["label"])) for mark in scale["marks"])


def bed_at(minutes, hours=7.126):
    sun = SimpleNamespace(season_sun_h=hours, worst_cell_sun_h=6.004, month_sun_h=np.full(12, 1.239), sun_score=81.26,
                          light_class="sun")  # fmt: skip
    return figures(BedAt(bed=None, sun=sun, forbidden=None, units="metric", minutes=minutes))


def test_live_figures_as_the_page_shows_them():
    assert bed_at(2.345) == {
        "season_h": 7.13, "worst_h": 6.0, "months": [1.24] * 12, "sun_score": 81.3, "light_class": "sun",
        "forbidden": None, "minutes": 2.3, "no_way": False,
    }  # fmt: skip
    assert (bed_at(None)["minutes"], bed_at(None)["no_way"]) == (None, False)
    assert (bed_at(float("nan"))["minutes"], bed_at(float("nan"))["no_way"]) == (None, True)


def test_the_barrow_is_tipped_beside_the_bed():
    """From the nearest cell within half a metre of it."""
    bed = Bed(id="bed", outline=box(2, 2, 4, 3), height=0.3)
    live = LiveSite("1", bare_yard(beds=(bed,)))
    assert live._minutes_at(bed) is None
    grid = Grid(0, 8, 1.0, 8, 10)
    minutes = np.full(grid.shape, np.nan)
    live._minutes["bed"] = grid, minutes
    assert np.isnan(live._minutes_at(bed))
    minutes[grid.cell_of(6.5, 2.5)] = 1.0  # 2.5 m off
    assert np.isnan(live._minutes_at(bed))
    minutes[grid.cell_of(4.5, 2.5)] = 3.0  # its middle lies half a metre off
    minutes[grid.cell_of(1.5, 2.5)] = 2.5
    assert BESIDE == 0.5
    assert live._minutes_at(bed) == 2.5
