"""Maps come out of the page as they went in, to a hundredth of an hour."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from siteplan.show.map.packing import STEP_H, packed_hours, packed_steps, unpacked_hours

HOURS = st.floats(0, 24) | st.just(np.nan)


@given(arrays(float, array_shapes(min_dims=3, max_dims=3, max_side=6), elements=HOURS))
@settings(deadline=None, max_examples=30)
def test_there_and_back(hours):
    back = unpacked_hours(packed_hours(hours), hours.shape)
    # rounding to a hundredth is off by half of one at the most
    assert back == pytest.approx(hours, abs=STEP_H / 2 + 1e-9, nan_ok=True)


@pytest.mark.parametrize("step", [0.1, 0.002])
def test_any_figure_in_its_own_steps(step):
    values = np.array([[[0.0, 7 * step, np.nan, 300 * step]]])
    assert unpacked_hours(packed_steps(values, step), values.shape, step=step) == pytest.approx(values, nan_ok=True)


def test_smooth_maps_are_small():
    x, y = np.meshgrid(np.arange(400), np.arange(400))
    hours = 6 + 5 * np.sin(x / 60) * np.cos(y / 80)
    packed = packed_hours(np.stack([hours] * 13))
    # an unpacked 16-bit copy would be 5.5 MB in base64
    assert len(packed) < 1_200_000
