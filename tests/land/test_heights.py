"""Heights from an angle, a shadow, a stick; each by its closed form, and how far off they are."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.land.heights import height_by_angle, height_by_shadow, height_by_stick


def test_on_level_ground_by_hand():
    # tan 45 = 1: 20 m + 1.6 m; one degree more: 20 * 1.035530 = 20.7106
    found = height_by_angle(20.0, 45.0, eye=1.6)
    assert found.height == pytest.approx(21.6)
    assert found.high == pytest.approx(22.31, abs=0.005)
    assert found.low == pytest.approx(20.91, abs=0.005)


def test_a_hedge_lower_than_the_eye():
    assert height_by_angle(10.0, -math.degrees(math.atan(0.06)), eye=1.6).height == pytest.approx(1.0)


@settings(max_examples=100, deadline=None, database=None)
@given(st.floats(1, 200), st.floats(0.5, 60), st.floats(-30, 30))
def test_on_a_slope_the_foot_is_seen_too(distance, height, foot):
    # a trunk whose foot lies f above or below the eye's level and whose top h above the foot
    f = distance * math.tan(math.radians(foot))
    angle = math.degrees(math.atan((f + height) / distance))
    found = height_by_angle(distance, angle, foot_angle=foot, eye=99.0)
    assert found.height == pytest.approx(height, rel=1e-9)
    assert found.low <= found.height < found.high


def test_a_degree_below_straight_up_the_height_has_no_upper_end():
    found = height_by_angle(1.0, 89.01, foot_angle=0.0)
    assert found.height == pytest.approx(57.87, abs=0.01)  # tan 89.01 degrees
    assert found.high == math.inf


@settings(max_examples=100, deadline=None, database=None)
@given(st.floats(0.5, 60), st.floats(5, 75), st.floats(0.3, 3))
def test_shadow_and_stick_agree_with_the_triangle(height, elevation, stick):
    slope = math.tan(math.radians(elevation))
    by_sun = height_by_shadow(height / slope, elevation)
    by_stick = height_by_stick(height / slope, stick=stick, stick_shadow=stick / slope)
    for found in (by_sun, by_stick):
        assert found.height == pytest.approx(height, rel=1e-9)
        assert found.low < height < found.high


def test_how_far_off_a_shadow_leaves_a_height():
    # by hand: 10 m of shadow, the sun at 30 degrees (5.774 m): 9.9 tan 29.733 = 5.654, 10.1 tan 30.267 = 5.894
    found = height_by_shadow(10.0, 30.0)
    assert (found.low, found.high) == (pytest.approx(5.654, abs=1e-3), pytest.approx(5.894, abs=1e-3))


def test_the_sun_at_the_rim_of_the_horizon_leaves_numbers():
    assert height_by_shadow(10.0, 0.1).low == 0.0
    assert math.isfinite(height_by_shadow(10.0, 89.95).high)
    assert math.isfinite(height_by_stick(1.0, stick=1.0, stick_shadow=0.001).high)


def test_straight_up_there_is_no_upper_end():
    assert height_by_angle(1.0, 89.0).high == math.inf
    assert height_by_angle(1.0, 88.9).high == pytest.approx(572.957 + 1.6, rel=1e-5)  # tan 89.9 degrees
    assert height_by_angle(1.0, 90.0, off=0.0).height == math.inf


def test_what_lies_below_the_eye_is_no_lower_than_the_ground():
    found = height_by_angle(10.0, -9.0)  # 10 tan 9 = 1.584 m below the eye
    assert found.height == pytest.approx(1.6 - 1.58384, abs=1e-5)
    assert found.low == 0.0
    assert height_by_angle(10.0, 0.0, off=2.0).low == pytest.approx(1.6 - 0.349208, abs=1e-5)


def test_the_ends_of_what_a_shadow_tells():
    # the sun no higher than 89.9 degrees, of which the tangent is 572.957; no shadow shorter than none
    assert height_by_shadow(10.0, 89.95).height == pytest.approx(5729.57, abs=0.01)
    assert height_by_shadow(10.0, 89.95).high == pytest.approx(10.1 * 572.957, abs=0.02)
    assert height_by_shadow(10.0, 45.0).low == pytest.approx(9.9 * 0.990724, abs=1e-4)  # tan 44.733 degrees
    assert height_by_shadow(0.1, 45.0).low == 0.0
    assert height_by_shadow(0.05, 45.0).low == 0.0


def test_the_ends_of_what_a_stick_tells():
    # 2 m: 12 m of shadow beside 3 m; 11.9 m beside 3.01, 12.1 m beside 2.99
    found = height_by_stick(12.0, stick=0.5, stick_shadow=3.0)
    assert (found.height, found.low, found.high) == pytest.approx((2.0, 11.9 * 0.5 / 3.01, 12.1 * 0.5 / 2.99))
    assert height_by_stick(0.05, stick=1.0, stick_shadow=1.0).low == 0.0
    # a shadow of the stick that may be none is taken to be a millimetre
    assert height_by_stick(1.0, stick=1.0, stick_shadow=0.012).high == pytest.approx(1.1 / 0.002)
    assert height_by_stick(1.0, stick=1.0, stick_shadow=0.005).high == pytest.approx(1.1 / 0.001)
