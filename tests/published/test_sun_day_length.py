"""The length of every day of a year, from polar night to midnight sun.

Against pvlib's solar position (NREL SPA, Reda and Andreas 2004): rise and set are where its apparent elevation of the
sun's centre passes the horizon. Its own rise and set are those of the upper limb, some minutes longer a day, and are
checked where they are good to seconds: up to 60 degrees of latitude.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import declination_spencer71, spa_python, sun_rise_set_transit_spa

from siteplan.sun.path import sun_path

SECOND = 1 / 3600
LIMB, CENTRE = (
    -0.8333,
    -0.5722,
)  # degrees; true height of the centre when upper limb and centre are seen on the horizon


def up_each_day(latitude, longitude):
    """Return how long the sun's centre is up on each day of 2026, from a look a minute and straight lines. [h]"""
    times = pd.date_range("2026-01-01", "2027-01-01", freq="min", tz="UTC")
    up = spa_python(times, latitude, longitude)["apparent_elevation"].to_numpy()
    low, high = np.minimum(up[:-1], up[1:]), np.maximum(up[:-1], up[1:])
    return np.clip(high / np.maximum(high - low, 1e-12), 0, 1).reshape(365, 1440).sum(axis=1) / 60


@pytest.mark.slow
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


@pytest.mark.parametrize("latitude", range(-60, 61, 20))
def test_every_day_lasts_from_pvlibs_rise_to_its_set_but_for_half_a_disc(latitude):
    path = sun_path(latitude, 0.0, year=2026, timezone="UTC")
    noons = pd.date_range("2026-01-01 12:00", "2026-12-31 12:00", freq="D", tz="UTC")
    theirs = sun_rise_set_transit_spa(noons, latitude, 0.0)
    length = (theirs["sunset"] - theirs["sunrise"]).dt.total_seconds().to_numpy() / 3600
    # the centre comes up later and goes down sooner than the limb: geometry, with Spencer's declination of the day
    declination = np.degrees(declination_spencer71(np.arange(1, 366)))
    between = 2 * (half_day(latitude, declination, LIMB) - half_day(latitude, declination, CENTRE))
    assert between.min() > 120 * SECOND
    assert np.abs(path.day_length - (length - between)).max() <= 10 * SECOND


def half_day(latitude, declination, height):
    """Return how long after noon the sun sinks to a height. [h]"""
    phi, delta = np.radians(latitude), np.radians(declination)
    cosine = (np.sin(np.radians(height)) - np.sin(phi) * np.sin(delta)) / (np.cos(phi) * np.cos(delta))
    return np.degrees(np.arccos(cosine)) / 15
