"""Pressure, water, manure, compost and lead against published rules and formulas."""

from __future__ import annotations

import datetime as dt

import pytest

from siteplan.fill.bed_fill import HELD_BY_KIND
from siteplan.fill.earth_pressure import active_coefficient, ground_pressure, wall_load
from siteplan.fill.safety import COMPOSTED, earliest_harvest, lead_class


@pytest.mark.parametrize(("angle", "expected"), [(30, 0.3333), (25, 0.4059), (35, 0.2710), (28, 0.361), (32, 0.307)])
def test_active_pressure(angle, expected):
    # Rankine: (1 - sin phi) / (1 + sin phi), soil-mechanics texts (formula seen, values calculated)
    assert active_coefficient(angle) == pytest.approx(expected, abs=1e-3)  # printed to three or four decimals


def test_thrust_on_a_wall():
    # phi 30 degrees, 1600 kg/m3, 0.6 m, level and drained: 3.14 kPa at the foot, 0.942 kN/m (calculated)
    load = wall_load(0.6, 1600)
    assert load.base_pressure == pytest.approx(3140, rel=0.01)  # printed to three digits
    assert load.thrust == pytest.approx(942, rel=0.01)


def test_a_foot_of_wet_mix_is_about_a_hundred_pounds_a_square_foot():
    # calculated from 1600 kg/m3; 1 lbf/ft2 = 47.88 Pa
    assert ground_pressure(1600 * 0.3048, 1.0) / 47.88 == pytest.approx(100, rel=0.01)  # "about"


def test_water_that_loam_holds():
    # USDA NRCS: 1.5 to 2.1 in for each foot of loam (seen)
    assert 1.5 / 12 <= HELD_BY_KIND["mineral"] <= 2.1 / 12


def test_days_after_raw_manure():
    # 7 CFR 205.203(c)(1): 120 days where the crop touches the soil, else 90 (rule seen second-hand, dates calculated)
    tilled = dt.date(2026, 3, 1)
    assert str(earliest_harvest(tilled, touches_soil=True)) == "2026-06-29"  # lettuce, carrots
    assert str(earliest_harvest(tilled, touches_soil=False)) == "2026-05-30"  # staked tomatoes


def test_compost_logs():
    # 7 CFR 205.203(c)(2): 131 to 170 F for 3 days in a vessel, or 15 days in a windrow turned five times (seen); the
    # rule speaks in degrees Fahrenheit
    assert pytest.approx((131 - 32) / 1.8, abs=0.5) == COMPOSTED["hot_from"]  # whole degrees
    assert pytest.approx((170 - 32) / 1.8, abs=0.5) == COMPOSTED["hot_to"]
    assert (COMPOSTED["vessel_days"], COMPOSTED["windrow_days"], COMPOSTED["turns"]) == (3, 15, 5)


@pytest.mark.parametrize(
    ("ppm", "expected"), [(90, "background"), (150, "caution"), (250, "above screening"), (450, "no food")]
)
def test_lead(ppm, expected):
    # US EPA screening level 200 ppm, October 2025 (seen second-hand); none above 400 ppm, University of Maryland
    # Extension (seen); 400 is no longer the screening level, and the 100 ppm tier of 2024 has been withdrawn
    assert lead_class(ppm) == expected
    assert lead_class(399) == "above screening"
