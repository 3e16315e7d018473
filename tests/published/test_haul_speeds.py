"""Walking, pushing and spending energy against the tables they come from."""

from __future__ import annotations

import math

import pytest
from shapely import LineString

from siteplan.fill.results import Supply
from siteplan.haul.loads.loads import supply_load
from siteplan.haul.loads.work_rates import (
    BARROW_MASS,
    EMPTY_SPEED,
    GRAVITY,
    KEEP_FILTER_MEN,
    KEEP_FILTER_WOMEN,
    MET_WHEELBARROW,
    START_FILTER_MEN,
    START_FILTER_WOMEN,
    TIP_MINUTES,
    empty_slope_factor,
    energy,
    loaded_slope_factor,
    push_force,
    rolling_force,
    shovel_met,
    slope_force,
    walking_speed,
)
from siteplan.haul.results import Route
from siteplan.land.site import Barrow


@pytest.mark.parametrize(
    ("degrees", "speed"),
    [(-10, 3.86), (-5, 5.26), (0, 5.04), (1, 4.74), (5, 3.71), (10, 2.72), (15, 1.97), (20, 1.41)],
)
def test_tobler_table(degrees, speed):
    # Tobler 1993, Three presentations on geographical analysis and modeling, NCGIA 93-1, sample table (seen)
    assert walking_speed(math.tan(math.radians(degrees))) == pytest.approx(speed, abs=0.01)  # two decimals printed


def test_tobler_is_fastest_on_a_slight_descent():
    # Tobler 1993: 6 km/h at a gradient of -0.05 (-2.86 degrees) (seen)
    assert walking_speed(-0.05) == 6.0
    assert walking_speed(math.tan(math.radians(-2.86))) == pytest.approx(6.00, abs=0.005)  # two decimals printed
    assert all(walking_speed(s / 1000) < 6.0 for s in range(-300, 301) if s != -50)


@pytest.mark.parametrize("gradient", [-0.3, -0.05, 0.0, 0.02, 0.1, 0.5])
def test_the_empty_barrow_follows_toblers_shape(gradient):
    expected = walking_speed(0) / walking_speed(gradient)
    assert empty_slope_factor(gradient) == pytest.approx(expected, rel=1e-12)  # the same formula, rounded otherwise


@pytest.mark.parametrize(("load", "kgf"), [(200, 4), (400, 8)])
def test_rolling_on_a_good_floor(load, kgf):
    # HSE, Pushing and pulling loads; INDG143 p. 9: at least 2 % of the load on a level, good floor (seen)
    assert rolling_force(load, 0.02) / GRAVITY == pytest.approx(kgf, rel=1e-12)  # exact but for rounding


def test_four_hundred_kilograms_up_one_in_twelve():
    # HSE INDG143 p. 9: over 30 kgf even in ideal conditions (seen); 400 sin(atan(1/12)) = 33.2 (calculated)
    slope = slope_force(400, 1 / 12) / GRAVITY
    whole = push_force(400, rolling=0.02, gradient=1 / 12) / GRAVITY
    assert slope > 30
    assert slope == pytest.approx(33.2, abs=0.05)  # one decimal
    assert whole == pytest.approx(41.2, abs=0.3)  # the parts are rounded, and rolling is 0.3 % less across the slope


@pytest.mark.parametrize(("degrees", "percent"), [(1, 1.7), (10, 17), (15, 26)])
def test_share_of_the_weight_on_a_slope(degrees, percent):
    # a transport trade column on HSE's figures (seen)
    share = slope_force(1.0, math.tan(math.radians(degrees))) / GRAVITY
    assert 100 * share == pytest.approx(percent, abs=0.5)  # whole percents printed


def test_five_degrees_are_not_ten_percent():
    # the same column rounds 5 degrees to "10 %"; exact is sin 5 = 8.7 %
    assert slope_force(1.0, math.tan(math.radians(5))) / GRAVITY == pytest.approx(0.0872, abs=5e-5)  # four decimals


def test_guideline_values():
    # HSE L23 filter as on www.hse.gov.uk/msd/pushpull/assessment.htm (seen): 20 and 15 kgf to start, 10 and 7 to keep
    found = [value / GRAVITY for value in (START_FILTER_MEN, START_FILTER_WOMEN, KEEP_FILTER_MEN, KEEP_FILTER_WOMEN)]
    assert found == pytest.approx([20, 15, 10, 7], rel=1e-12)


def test_wheeled_cost_at_and_below_the_critical_slope():
    # Herzog 2016, quoted in the manual of an R package: 1 + (s / s_crit)^2, s_crit 10 % (seen second-hand)
    assert loaded_slope_factor(0.10, critical=0.10) == 2.0
    assert loaded_slope_factor(0.05, critical=0.10) == 1.25
    assert loaded_slope_factor(-0.10) == loaded_slope_factor(0.10)


def test_energy_of_wheeling_and_shovelling():
    # Compendium of Physical Activities, 2011 code 08255 (5.5 MET) and 2024 shovelling 10 to 15 lb/min (6.5 MET) (seen)
    assert energy(MET_WHEELBARROW, 1.0, body_mass=80) == 440
    assert energy(shovel_met(12 * 0.45359237), 0.5, body_mass=80) == 260


@pytest.mark.parametrize(("pounds", "met"), [(9.9, 5.0), (10.0, 6.5), (15.0, 6.5), (16.5, 8.8), (64.0, 8.8)])
def test_shovelling_classes(pounds, met):
    # 2024 Adult Compendium: below 10 lb/min 5.0; 10 to 15 lb/min 6.5; above 16 lb/min 8.8 (seen second-hand)
    assert shovel_met(pounds * 0.45359237) == met


def test_defaults_lie_within_common_practice():
    # common practice, no source: empty barrow 4 to 5 km/h, tipping 0.5 to 1 min, a one-wheeled barrow 12 to 25 kg
    assert 4.0 <= EMPTY_SPEED * 3.6 <= 5.0
    assert 0.5 <= TIP_MINUTES <= 1.0
    assert 12 <= BARROW_MASS <= 25


def carried(body, load, speed, grade, terrain=1.0):
    """Return the power of walking with a load on the back. [W] Pandolf et al. 1977, J. Appl. Physiol. 43:577."""
    whole = body + load
    return 1.5 * body + 2.0 * whole * (load / body) ** 2 + terrain * whole * (1.5 * speed**2 + 0.35 * speed * grade)


def test_energy_is_not_that_of_a_load_on_the_back():
    # Pandolf et al. 1977 (seen second-hand): 70 kg, 20 kg, 1.34 m/s, level, 362.1 W; without load 293.5 W (calculated).
    # Downhill the equation falls below zero, for which it is not valid, nor is it for a barrow. The Compendium's
    # 5.5 MET for a wheelbarrow does not depend on the slope but through the time that it takes.
    assert carried(70, 20, 1.34, 0) == pytest.approx(362.1, abs=0.1)  # one decimal printed
    assert carried(70, 0, 1.34, 0) == pytest.approx(293.5, abs=0.1)
    # the same by an explainer (seen second-hand): 180 lb and 30 lb at 3.5 mph need about 410 kcal/h; 477.6 W calculated
    power = carried(180 * 0.45359237, 30 * 0.45359237, 3.5 * 0.44704, 0)
    assert power == pytest.approx(477.6, rel=0.01)  # "about"
    assert power * 3600 / 4184 == pytest.approx(410, rel=0.01)
    assert carried(70, 80, 0.83, -30) < 0
    need = Supply(bed="bed", material="soil", at="heap", volume=0.06, mass=75.0)
    line = LineString([(0, 0), (0, 50)])
    spent = []
    for rise in (5.0, 0.0):
        route = Route("heap", "bed", line, 50.0, rise, 60.0, 40.0, line.reverse())
        load = supply_load(need, from_id="heap", barrow=Barrow(), people=1, material=None, route=route)
        spent.append(load.energy_kcal)
    assert spent[0] == spent[1]
    wheeled = 5.5 * 80 * (100 / 3600 + 0.75 / 60)  # out and back in 100 s, tipped in 0.75 min
    shovelled = 8.8 * 80 * 0.06 / 0.5  # 75 kg in 7.2 min are 23 lb/min: the uppermost class
    assert spent[0] == pytest.approx(wheeled + shovelled, rel=1e-9)  # exact but for rounding
