"""The length of every day of a year, from polar night to midnight sun.

Against pvlib's solar position (NREL SPA, Reda and Andreas 2004): rise and set are where its apparent elevation of the
sun's centre passes the horizon. Its own rise and set are those of the upper limb, some minutes longer a day.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import spa_python

from siteplan.sun.path import sun_path

SECOND = 1 / 3600
pytestmark = pytest.mark.slow


def up_each_day(latitude, longitude):
    """Return how long the sun's centre is up on each day of 2026, from a look a minute and straight lines. [h]"""
    times = pd.date_range("2026-01-01", "2027-01-01", freq="min", tz="UTC")
    up = spa_python(times, latitude, longitude)["apparent_elevation"].to_numpy()
    low, high = np.minimum(up[:-1], up[1:]), np.maximum(up[:-1], up[1:])
    return np.clip(high / np.maximum(high - low, 1e-12), 0, 1).reshape(365, 1440).sum(axis=1) / 60


@pytest.mark.parametrize("latitude", range(-78, 79, 13))
def test_every_day_is_as_long_as_the_sun_is_up(latitude):
    path = sun_path(latitude, 10.0, year=2026, timezone="UTC")
    length = up_each_day(latitude, 10.0)
    off = np.abs(path.day_length - length)
    assert off.max() <= 10 * SECOND, (int(off.argmax()) + 1, off.max() / SECOND)  # ten seconds are asked
    if abs(latitude) == 78:
        assert (length == 0).sum() > 80  # the polar night
        assert (length > 24 - 1e-9).sum() > 80  # the midnight sun
    unshaded = np.bincount(path.day, weights=path.hours, minlength=366)[1:]
    assert np.allclose(unshaded, path.day_length, atol=1e-9)  # the steps miss nothing and count nothing twice
