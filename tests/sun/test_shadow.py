from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.sun.shadow import profile_angle, shadow_length, shadow_tip


def test_by_hand():
    assert shadow_length(1.0, 45.0) == pytest.approx(1.0)
    assert shadow_length(3.0, 60.0) == pytest.approx(3 / np.sqrt(3))
    assert shadow_tip(1.0, 45.0, 180.0) == pytest.approx((0.0, 1.0), abs=1e-12)  # the sun in the south throws north


def test_arrays_stay_arrays_and_floats_floats():
    assert isinstance(shadow_length(1.0, 45.0), float)
    assert shadow_length(np.array([1.0, 2.0]), np.array([45.0, 45.0])) == pytest.approx([1, 2])
    assert len(shadow_length(np.empty(0), np.empty(0))) == 0


def test_ground_that_rises_shortens_and_ground_that_falls_lengthens():
    assert shadow_length(1.0, 45.0, ground_rise=0.5) < 1 < shadow_length(1.0, 45.0, ground_rise=-0.5)
    assert shadow_length(1.0, 45.0, ground_rise=-1.5) == np.inf


@pytest.mark.parametrize("elevation", [0.0, -3.0, 91.0, float("nan")])
def test_a_sun_below_the_horizon_is_refused(elevation):
    with pytest.raises(ValueError, match="sun_elevation"):
        shadow_length(1.0, elevation)


def test_a_negative_height_is_refused():
    with pytest.raises(ValueError, match="height is -1 m"):
        shadow_length(-1.0, 30.0)


@settings(deadline=None, max_examples=50)
@given(height=st.floats(0, 50), elevation=st.floats(1, 89), more=st.floats(0, 5))
def test_taller_edges_throw_no_shorter_shadows(height, elevation, more):
    assert shadow_length(height + more, elevation) >= shadow_length(height, elevation)


@settings(deadline=None, max_examples=50)
@given(elevation=st.floats(1, 89), aside=st.floats(-89, 89))
def test_the_profile_angle_is_never_below_the_sun(elevation, aside):
    assert profile_angle(elevation, 180 + aside, 180.0) >= elevation - 1e-9
