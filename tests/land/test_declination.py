"""Where and when the magnetic model holds."""

from __future__ import annotations

import subprocess
import sys

import pytest

from siteplan.land.declination import declination


@pytest.mark.parametrize("year", [2024.9, 2030.0, 1990.0, float("nan")])
def test_years_outside_are_refused(year):
    with pytest.raises(ValueError, match="holds from 2025 to the end of 2029"):
        declination(41.0, -92.0, year=year)


def test_near_a_magnetic_pole_a_compass_tells_nothing():
    # the published field at 89 N 121 W is 1,504 nT level, that at 80 N 0 E is 6,523 nT
    assert declination(89.0, -121.0, year=2025.0, altitude=28_000).zone == "blackout"
    assert declination(80.0, 0.0, year=2025.0).zone == "sound"
    assert declination(80.0, -96.0, year=2025.0, altitude=48_000).zone == "caution"  # 2,164 nT
    assert declination(90.0, 0.0, year=2026.0).error <= 180


def test_the_model_is_loaded_when_it_is_asked():
    script = "import sys, siteplan.land.declination; print('pygeomag' in sys.modules)"
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "False"
