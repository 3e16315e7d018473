"""The shadow of a stick: where it points, how fast it turns, and how much that is worth."""

from __future__ import annotations

import datetime as dt
import itertools
import math

import ephem
import pytest

from siteplan.sun.shadows import _state, stick_shadow


def seconds(*moment: int) -> float:
    return dt.datetime(*moment, tzinfo=dt.UTC).timestamp()


@pytest.mark.parametrize(("latitude", "longitude", "moment"), [
    (41.35, -92.2, (2026, 6, 21, 20, 30)), (41.35, -92.2, (2026, 12, 21, 16, 0)), (-33.9, 18.4, (2026, 1, 15, 9, 0)),
    (60.2, 24.9, (2026, 6, 21, 18, 0)), (1.3, 103.8, (2026, 3, 20, 2, 0)),
])  # fmt: skip
def test_it_points_away_from_the_sun_of_another_almanac(latitude, longitude, moment):
    here = ephem.Observer()
    here.lat, here.lon, here.pressure = math.radians(latitude), math.radians(longitude), 1010
    here.date = dt.datetime(*moment, tzinfo=dt.UTC).strftime("%Y/%m/%d %H:%M:%S")
    sun = ephem.Sun(here)
    found = stick_shadow(latitude, longitude, seconds(*moment))
    assert found.azimuth == pytest.approx((math.degrees(sun.az) + 180) % 360, abs=0.05)
    assert found.elevation == pytest.approx(math.degrees(sun.alt), abs=0.1)  # their refraction differs


@pytest.mark.parametrize("hour", [15, 17, 19, 21])
def test_how_fast_it_turns_by_spherical_astronomy(hour):
    # dA/dt = 15 degrees an hour * (sin(latitude) - cos(latitude) cos(A) tan(e)), A of the sun from north (J. Meeus, Astronomical
    # Algorithms, chapter 13, differentiated); the sun's own motion and refraction are left out: 1 %
    latitude = 41.35
    found = stick_shadow(latitude, -92.2, seconds(2026, 6, 21, hour, 0))
    phi, azimuth, height = (math.radians(one) for one in (latitude, found.azimuth + 180, found.elevation))
    rate = 0.25 * (math.sin(phi) - math.cos(phi) * math.cos(azimuth) * math.tan(height))
    assert found.turn_rate == pytest.approx(rate, rel=0.01)
    assert found.rise_rate == pytest.approx(0.25 * math.cos(phi) * math.sin(azimuth), rel=0.01)


def test_the_doubt_by_hand():
    found = stick_shadow(41.35, -92.2, seconds(2026, 6, 21, 20, 30), clock_off=120.0, lean=2.0)
    by_lean = math.degrees(math.atan(math.tan(math.radians(2)) * math.tan(math.radians(found.elevation))))
    assert found.doubt == pytest.approx(math.sqrt((2 * found.turn_rate) ** 2 + by_lean**2 + 0.5**2))


def test_a_low_a_high_and_no_sun():
    assert stick_shadow(41.35, -92.2, seconds(2026, 6, 21, 10, 55)).state == "low"  # twenty minutes after its rise
    assert stick_shadow(10.0, 0.0, seconds(2026, 4, 16, 12, 0)).state == "high"
    assert stick_shadow(41.35, -92.2, seconds(2026, 6, 21, 6, 0)).state == "down"
    # between the tropics the sun crosses the zenith, and a shadow says nothing
    assert stick_shadow(10.02, 0.0, seconds(2026, 4, 16, 11, 59, 50)).doubt > 20


def test_a_shadow_that_turns_through_north():
    # north of the tropics the shadow points north at noon: neither 0 nor 360 breaks the turning
    turning = [stick_shadow(51.48, 0.0, seconds(2026, 6, 21, 12, minute)).turn_rate for minute in range(6)]
    assert max(turning) - min(turning) < 0.02
    # south of them it turns the other way about
    assert stick_shadow(-33.9, 18.4, seconds(2026, 6, 21, 10, 50)).turn_rate < 0


def test_the_doubt_where_nothing_is_said():
    """A minute of the clock, a degree of lean, and half a degree of the line that is laid."""
    moment = seconds(2026, 6, 21, 20, 30)
    found = stick_shadow(41.35, -92.2, moment)
    assert found == stick_shadow(41.35, -92.2, moment, clock_off=60.0, lean=1.0)
    upright = stick_shadow(41.35, -92.2, moment, lean=0.0)
    assert upright.doubt == pytest.approx(math.hypot(upright.turn_rate, 0.5))
    assert stick_shadow(41.35, -92.2, moment, clock_off=0.0, lean=0.0).doubt == pytest.approx(0.5)


@pytest.mark.parametrize(("elevation", "state"), [
    (-1.0, "down"), (0.0, "down"), (0.1, "low"), (4.9, "low"), (5.0, "sound"), (75.0, "sound"), (75.1, "high"),
])  # fmt: skip
def test_where_a_shadow_is_a_poor_pointer(elevation, state):
    assert _state(elevation) == state


def test_a_sun_that_passes_north_turns_evenly():
    """South of the tropics its azimuth falls through 0 to 360 at noon, in one of these minutes."""
    found = [stick_shadow(-33.9, 18.4, seconds(2026, 6, 21, 10, minute)) for minute in range(40, 58)]
    azimuth = [shadow.azimuth for shadow in found]
    assert (azimuth[0] - 180) * (azimuth[-1] - 180) < 0  # it points south on the way
    turning = [shadow.turn_rate for shadow in found]
    assert max(turning) < -0.2
    assert max(turning) - min(turning) < 0.02
    assert [shadow.turn_rate for shadow in found[:-1]] == pytest.approx(
        [later - sooner for sooner, later in itertools.pairwise(azimuth)], abs=0.01
    )
