"""Places as people type and paste them, and what can be read in two ways."""

from __future__ import annotations

import re

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from siteplan.land.whereabouts import LONGEST, read_whereabouts

MINUTE = 1 / 60
HERE = (41 + 21 * MINUTE + 7 / 3600, -(92 + 12 * MINUTE + 14 / 3600))  # by hand: 41.351944..., -92.203888...


@pytest.mark.parametrize("text", [
    "41.352, -92.204", "41.352 -92.204", "41.352,-92.204", "41.352; -92.204", "41.352/-92.204", "41.352\t-92.204",
    "(41.352, -92.204)", "41.352°, -92.204°", "41.352 N 92.204 W", "N41.352 W92.204", "92.204W, 41.352N",
    "-92.204, 41.352", "41,352 -92,204", "41,352, -92,204", "41,352,-92,204", "41,352;-92,204", "41,352N 92,204W",
    "lat 41.352 lon -92.204", "Latitude: 41.352; Longitude: -92.204", "lon=-92.204 lat=41.352",
    "geo:41.352,-92.204", "GEO:41.352,-92.204,280;crs=wgs84;u=35", "41.352−92.204", "４１.352, -９２.204",
    "41.352\u00a0N,\u00a092.204\u200b\u00a0W", "North 41.352 West 92.204", "+41.352-092.204/", "٤١.٣٥٢, -٩٢.٢٠٤",
])  # fmt: skip
def test_decimals(text):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == (41.352, -92.204)


@pytest.mark.parametrize("text", [
    "41°21'07\"N 92°12'14\"W", "41°21′07″N, 92°12′14″W", "41° 21’ 07” N 92° 12’ 14” W", "41º21'7''N 92º12'14''W",
    "41 21 07 N 92 12 14 W", "N 41 21 7, W 92 12 14", "41 21 7 -92 12 14", "41-21-07N 092-12-14W", "+412107-0921214/",
    "41:21:07 -92:12:14", "41d 21m 7s N 92d 12m 14s W", "41 deg 21 min 7 sec N, 92 deg 12 min 14 sec W",
    "lat 41°21'7\" lon -92°12'14\"",
])  # fmt: skip
def test_degrees_minutes_and_seconds(text):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == pytest.approx(HERE, abs=1e-9)  # nine decimals are kept
    assert found.step_m == pytest.approx(30.9, abs=0.1)  # a second along the meridian: 111.32 km / 3600


@pytest.mark.parametrize("text", [
    "41°21'N 92°12'W", "41°21'N, 92°12'W", "N 41 21 W 92 12", "41 21 -92 12", "+4121-09212/", "41°21.0'N 92°12.0'W",
    "41°21,0'N 92°12,0'W", "41 21 N 92 12 W",
])  # fmt: skip
def test_degrees_and_minutes(text):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == (41.35, -92.2)


def test_the_south_and_the_east():
    found = read_whereabouts("33°51'54''S 151°12'34''E")
    assert (found.latitude, found.longitude) == pytest.approx((-33.865, 151.209444444), abs=1e-9)
    assert read_whereabouts("S 0.5 E 0.25").latitude == -0.5


def test_how_latitude_and_longitude_were_told_apart():
    assert read_whereabouts("9°E 48°N").order == "written"
    assert read_whereabouts("41.352, -92.204").order == "range"  # nothing lies at a latitude of -92
    assert read_whereabouts("48.5, 9.05").order == "assumed"
    assert read_whereabouts("48.5 N, 9.05").order == "written"  # the other is what is left


def test_the_last_digit_says_how_well_the_place_is_known():
    # a degree of latitude is 111.32 km; one of longitude at 60 degrees half of that
    assert read_whereabouts("60.12, 9.1").step_m == pytest.approx(111_320 * 0.1 * 0.498, rel=1e-2)
    assert read_whereabouts("60.1, 9.12").step_m == pytest.approx(11_132)


DEGREE = 111_320.0  # m of latitude, by definition of step_m
WEST_AT_41_35 = DEGREE * 0.750687  # cos 41.35 degrees


@pytest.mark.parametrize(("text", "latitude", "longitude", "step", "order"), [
    # whole degrees, with a comma that is none of a decimal
    ("41,92", 41.0, 92.0, DEGREE, "range"),
    ("41,92 E", 41.0, 92.0, DEGREE, "written"),
    ("41,352 92", 41.352, 92.0, DEGREE * 0.750664, "range"),
    ("10,5 20", 10.5, 20.0, DEGREE * 0.983255, "assumed"),
    ("41,5 N 9,25 E", 41.5, 9.25, DEGREE / 10, "written"),
    # decimal commas between decimal commas: three digits in either are none of minutes
    ("41,352,92,204", 41.352, 92.204, DEGREE / 1000, "range"),
    ("41,35,92,204", 41.35, 92.204, DEGREE / 100, "range"),
    ("41,352,92,20", 41.352, 92.2, DEGREE / 100 * 0.750664, "range"),
    # numbers alone: two, four or six
    ("41 21 92 12", 41.35, 92.2, DEGREE / 60, "range"),
    ("41 21 7.5 92 12 14", 41 + 21 / 60 + 7.5 / 3600, 92 + 12 / 60 + 14 / 3600, DEGREE / 3600 * 0.750665, "range"),
    ("41 21 -92", 41.35, -92.0, WEST_AT_41_35, "range"),
    ("41° 92°", 41.0, 92.0, DEGREE, "range"),
    ("41° 21' 7\" 92° 12'", 41 + 21 / 60 + 7 / 3600, 92.2, DEGREE / 60 * 0.750666, "range"),  # five numbers, two degrees
    ("41°21 N 92°12 W", 41.35, -92.2, DEGREE / 60, "written"),
    ("41 59 59.9 N 92 12 0 W", 41 + 59 / 60 + 59.9 / 3600, -92.2, DEGREE / 3600 * 0.743145, "written"),
    # names and letters in front or behind, of one or of both
    ("41 lat 92 lon", 41.0, 92.0, DEGREE, "written"),
    ("lat 41 92", 41.0, 92.0, DEGREE, "written"),
    ("lat 41 N, lon 92 W", 41.0, -92.0, DEGREE, "written"),
    ("41 N lat, 92", 41.0, 92.0, DEGREE, "written"),
    ("lon 92, 41", 41.0, 92.0, DEGREE, "written"),
    ("92, lat 41", 41.0, 92.0, DEGREE, "written"),
    # one string of ISO 6709: south and west have a minus, a height behind is left out, its comma too
    ("-33-070/", -33.0, -70.0, DEGREE, "written"),
    ("-3330+07030/", -33.5, 70.5, DEGREE / 60, "written"),
    ("+41.35-092.2+15.5/", 41.35, -92.2, DEGREE / 10 * 0.750687, "written"),
    ("+41,35-092,2+15,5/", 41.35, -92.2, DEGREE / 10 * 0.750687, "written"),
    # a comma between decimals is none of a decimal
    ("41.352,92.204", 41.352, 92.204, DEGREE / 1000, "range"),
    # the ends of the range, and what only a longitude can be
    ("90, 90", 90.0, 90.0, DEGREE, "assumed"),
    ("90, 91", 90.0, 91.0, DEGREE, "range"),
    ("91, 90", 90.0, 91.0, DEGREE, "range"),
    ("-90, -180", -90.0, -180.0, DEGREE, "range"),
    ("91, 9", 9.0, 91.0, DEGREE, "range"),
    ("0, 0", 0.0, 0.0, DEGREE, "assumed"),
    # the finer of two last digits, told to a millimetre and a billionth of a degree
    ("48.123456, 9.1", 48.123456, 9.1, DEGREE / 10 * 0.667527, "assumed"),
    ("48.12345678912, 9.1234567891", 48.123456789, 9.123456789, 0.0, "assumed"),
    ("0.0000001, 0.0000001", 1e-7, 1e-7, 0.011, "assumed"),
])  # fmt: skip
def test_each_form_by_hand(text, latitude, longitude, step, order):
    found = read_whereabouts(text)
    assert (found.latitude, found.longitude) == pytest.approx((latitude, longitude), abs=5.1e-10)
    assert (found.latitude, found.longitude) == (round(found.latitude, 9), round(found.longitude, 9))
    assert found.step_m == pytest.approx(step, rel=2e-6, abs=5e-4)
    assert found.step_m == round(found.step_m, 3)
    assert found.order == order


def test_zero_has_no_sign():
    found = read_whereabouts("-0.0, -0.0")
    assert (str(found.latitude), str(found.longitude)) == ("0.0", "0.0")


def test_a_text_of_two_hundred_characters_is_read():
    assert read_whereabouts(f"41.352,{' ' * (LONGEST - 14)}-92.204").latitude == 41.352
    assert LONGEST == 200


@pytest.mark.parametrize(("text", "told"), [
    ("1 2 3 4 5", "is not two numbers"),
    ("1 2 3 4 5 6 7 8", "is not two numbers"),
    ("41 21 7 92° 12", "is not two numbers"),
    ("1,20,30,5", "can be decimals or minutes"),
    ("7s N 92d W", "is no latitude and longitude"),
    ("41 N N, 92", "is no latitude and longitude"),
    ("lat lat 41, 92", "is no latitude and longitude"),
    ("41 5 5 5 N 92 W", "is no latitude and longitude"),
    ("41°° N 92 W", "is no latitude and longitude"),
    ("N, 92 W", "is no latitude and longitude"),
    ("41 N 5, 92 W", "is no latitude and longitude"),
    ("41 5 60 N 92 W", "60 seconds cannot be, must be below 60"),
    ("41 60 N 92 W", "60 minutes cannot be, must be below 60"),
    ("41 N 92 lat", "has two of latitude"),
    ("lon 41 lon 92", "has two of longitude"),
    ("-41 5 N, 92 W", "has a minus and the letter N"),
    ("90.1 N, 9 E", "latitude is 90.1 degrees, must be from -90 to 90"),
    ("9 N, 180.1 W", "longitude is -180.1 degrees, must be from -180 to 180"),
    ("41,21,92,12", "can be decimals or minutes"),
    ("48.5 O 9.05", "'O' is east in German and west in French and Spanish"),
    ("41.352 N -92.204 W", "has a minus and the letter W"),
    ("41.352 N, 92.204 N", "has two of latitude"),
    ("15T 566000 4578000", "is in UTM"),
    ("UTM 15 N 566000 4578000", "is in UTM"),
    ("86HJ9Q2W+5G", "is a plus code"),
    ("15TWG6600078000", "military grid"),
    ("https://x.example/@41.3,-92.2", "is a link; paste only the two numbers"),
    ("41.352", "is not two numbers"),
    ("1 2 3", "is not two numbers"),
    ("41.352, -92.204, 210", "has 3 parts"),
    ("41 61 N 92 12 W", "61 minutes cannot be, must be below 60"),
    ("+416107-0921214/", "61 minutes cannot be"),
    ("95, 100", "latitude is 95 degrees, must be from -90 to 90"),
    ("41.352, 192.204", "longitude is 192.204 degrees, must be from -180 to 180"),
    ("geo:95,10", "latitude is 95 degrees"),
    ("geo:41.3,-92.2;crs=nad27", "is in 'nad27', must be in wgs84"),
    ("41.5 30 N 92.5 W", "a fraction before the last number"),
    ("41 -21 N 92 12 W", "a sign within a coordinate"),
    ("lat 41 E lon 92", "has a latitude with the letter E"),
    ("1e5, 3", "is no latitude and longitude"),
    ("nan, inf", "'nan' in 'nan, inf' is not understood"),
    ("a town", "'a' in 'a town' is not understood"),
    ("41'21\" N, 92'12\" W", "is no latitude and longitude"),
    ("", "nothing was written"),
    (" ,;", "nothing was written"),
    ("4" * 201, "201 characters long"),
])  # fmt: skip
def test_what_is_refused_and_what_to_write(text, told):
    with pytest.raises(ValueError, match=re.escape(told)):
        read_whereabouts(text)


@settings(max_examples=200, deadline=None, database=None)
@given(st.floats(-90, 90), st.floats(-180, 180), st.sampled_from(["d", "dm", "dms"]), st.booleans())
def test_what_is_written_is_read_back(latitude, longitude, form, letters):
    written = []
    for angle, letter in ((latitude, "NS"), (longitude, "EW")):
        size, text = round(abs(angle), 5), ""
        if form == "d":
            text = f"{size:.5f}"
        elif form == "dm":
            minutes = round(size * 60, 4)
            text = f"{minutes // 60:.0f}°{minutes % 60:.4f}'"
        else:
            seconds = round(size * 3600, 2)
            text = f"{seconds // 3600:.0f}°{seconds % 3600 // 60:.0f}'{seconds % 60:.2f}\""
        written.append(f"{text}{letter[angle < 0]}" if letters else f"{'-' if angle < 0 else ''}{text}")
    if any("60.00" in one or "'60" in one or "°60" in one for one in written):
        return  # rounding wrote 60 minutes or seconds, which nobody reads off a map
    found = read_whereabouts(", ".join(written))
    if found.order != "range" or abs(latitude) <= 90 < abs(longitude):
        assert found.latitude == pytest.approx(latitude, abs=1.5e-5)  # five decimals, or hundredths of a second
        assert found.longitude == pytest.approx(longitude, abs=1.5e-5)


@settings(max_examples=400, deadline=None, database=None)
@given(st.one_of(st.text(max_size=60), st.text(alphabet="0123456789.,-+°'\" NSEWOo:;/()geo\u2032", max_size=LONGEST)))
@example("°" * LONGEST)
@example("1" * LONGEST)
@example("1,1" * 60)
@example("-" * LONGEST)
def test_any_text_is_a_place_or_refused_in_words(text):
    try:
        found = read_whereabouts(text)
    except ValueError:
        return
    assert -90 <= found.latitude <= 90
    assert -180 <= found.longitude <= 180
    assert found.step_m > 0
