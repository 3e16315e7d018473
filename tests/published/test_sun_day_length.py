"""The length of every day of a year, from polar night to midnight sun.

Against pvlib (NREL SPA, Reda and Andreas 2004): a day lasts from rise to set of the sun's upper limb. Its own function
of rise and set is good to seconds up to 60 degrees of latitude; nearer the poles it is out by minutes where the sun
grazes the horizon, and by hours at 78 degrees (seen), so there its position is looked at minute by minute.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import spa_python, sun_rise_set_transit_spa

from siteplan.sun.path.solar_path import sun_path

SECOND = 1 / 3600
LIMB = -0.8333  # degrees; true height of the centre as the upper limb rises: 16' and 34', USNO's definition (memory)


def up_each_day(latitude, longitude):
    """Return how long any of the sun is up on each day of 2026, from a look a minute and straight lines. [h]"""
    times = pd.date_range("2026-01-01", "2027-01-01", freq="min", tz="UTC")
    up = spa_python(times, latitude, longitude)["elevation"].to_numpy() - LIMB
    low, high = np.minimum(up[:-1], up[1:]), np.maximum(up[:-1], up[1:])
    return np.clip(high / np.maximum(high - low, 1e-12), 0, 1).reshape(365, 1440).sum(axis=1) / 60


@pytest.mark.slow
@pytest.mark.parametrize("latitude", [-78, 52, 65])
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


@pytest.mark.parametrize("latitude", range(-60, 61, 20))
def test_every_day_lasts_from_pvlibs_rise_to_its_set(latitude):
    path = sun_path(latitude, 0.0, year=2026, timezone="UTC")
    noons = pd.date_range("2026-01-01 12:00", "2026-12-31 12:00", freq="D", tz="UTC")
    theirs = sun_rise_set_transit_spa(noons, latitude, 0.0)
    length = (theirs["sunset"] - theirs["sunrise"]).dt.total_seconds().to_numpy() / 3600
    assert np.abs(path.day_length - length).max() <= 10 * SECOND
