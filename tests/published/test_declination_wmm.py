"""The declination at the places and days for which NOAA publishes it.

NOAA and BGS (2024), WMM2025 test values: the twelve of the technical report (``WMM2025_TEST_VALUES.txt``) and nine
of the hundred that come with the coefficients (``WMM2025_TestValues.txt`` in ``WMM2025COF.zip``). Flag: seen
second-hand, as other projects' tests quote them; pygeomag 1.1.0 ships none. Printed to 0.01 degrees.
"""

from __future__ import annotations

import math

import pytest

from siteplan.land.declination import declination

REPORT = [  # decimal year, height km, latitude, longitude, X nT, Y nT, declination degrees
    (2025.0, 0.0, 80.0, 0.0, 6521.6, 145.9, 1.28),
    (2025.0, 0.0, 0.0, 120.0, 39677.8, -109.6, -0.16),
    (2025.0, 0.0, -80.0, 240.0, 6117.5, 15751.9, 68.78),
    (2025.0, 100.0, 80.0, 0.0, 6216.0, 92.4, 0.85),
    (2025.0, 100.0, 0.0, 120.0, 37688.6, -96.2, -0.15),
    (2025.0, 100.0, -80.0, 240.0, 5907.6, 14780.3, 68.21),
    (2027.5, 0.0, 80.0, 0.0, 6500.8, 294.5, 2.59),
    (2027.5, 0.0, 0.0, 120.0, 39701.6, -167.4, -0.24),
    (2027.5, 0.0, -80.0, 240.0, 6200.7, 15730.3, 68.49),
    (2027.5, 100.0, 80.0, 0.0, 6196.7, 233.8, 2.16),
    (2027.5, 100.0, 0.0, 120.0, 37711.5, -148.7, -0.23),
    (2027.5, 100.0, -80.0, 240.0, 5984.0, 14760.1, 67.93),
]
FILE = [
    (2025.0, 28.0, 89.0, -121.0, -255.388723, -1482.460628, -99.77),
    (2025.0, 65.0, 43.0, 93.0, 24299.852822, 210.517066, 0.50),
    (2025.0, 51.0, -33.0, 109.0, 21737.778822, -2090.274098, -5.49),
    (2025.5, 6.0, -36.0, -137.0, 23781.930678, 8786.698927, 20.28),
    (2025.5, 8.0, -66.0, 17.0, 15201.438652, -9925.501123, -33.14),
    (2026.0, 74.0, -57.0, 3.0, 13268.119649, -5498.179626, -22.51),
    (2026.0, 62.0, -14.0, 99.0, 33437.82863, -835.919473, -1.43),
    (2026.5, 14.0, 0.0, 80.0, 39431.415992, -2133.456168, -3.10),
    (2027.0, 37.0, -66.0, -5.0, 16390.771268, -5079.626554, -17.22),
]


@pytest.mark.parametrize(("year", "height", "latitude", "longitude", "north", "east", "printed"), REPORT + FILE)
def test_declination_and_its_error(year, height, latitude, longitude, north, east, printed):
    found = declination(latitude, longitude, year=year, altitude=height * 1000)
    assert found.east == pytest.approx(printed, abs=0.0051)  # two decimals are printed
    # the error model of the report, section 3.4, with the published level field: sqrt(0.26^2 + (5417 / H)^2)
    assert found.error == pytest.approx(math.hypot(0.26, 5417 / math.hypot(north, east)), abs=1e-3)


def test_a_kilometre_up_changes_little():
    for year, _, latitude, longitude, *_ in REPORT:
        low, high = (declination(latitude, longitude, year=year, altitude=one).east for one in (0.0, 1000.0))
        assert abs(high - low) < 0.01
