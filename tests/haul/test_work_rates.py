"""Guideline values and rates of work, as their sources print them."""

from __future__ import annotations

import pytest

from siteplan.haul.loads import work_rates as rates
from siteplan.haul.loads.work_rates import energy, shovel_met


def test_filters_of_the_health_and_safety_executive():
    # HSE L23 and INDG143: lifting close at elbow height 25 kg and 16 kg; pushing 20 and 15 kgf to start, 10 and 7 kgf to
    # keep going; a kilogram-force is 9.80665 N (CGPM 1901)
    assert (rates.BAG_FILTER_MEN, rates.BAG_FILTER_WOMEN) == (25.0, 16.0)
    newtons = (rates.START_FILTER_MEN, rates.START_FILTER_WOMEN, rates.KEEP_FILTER_MEN, rates.KEEP_FILTER_WOMEN)
    assert newtons == pytest.approx((196.133, 147.09975, 98.0665, 68.64655))


def test_walking_on_slopes_by_tobler_and_herzog():
    # 6 exp(-3.5 |s + 0.05|) km/h (Tobler 1993); twice the time at a grade of a tenth (Herzog 2016, seen second-hand)
    assert (rates.TOBLER_DECAY, rates.TOBLER_BEST, rates.CRITICAL_GRADE) == (3.5, -0.05, 0.10)


def test_what_is_common_practice():
    assert (rates.SHOVELS_AT_ONE_TRAY, rates.BUCKETS_AT_ONCE) == (2, 2)
    assert (rates.BUCKET_VOLUME, rates.BUCKET_LOAD) == (0.012, 12.0)


@pytest.mark.parametrize(
    ("pounds", "met"), [(0.0, 5.0), (9.99, 5.0), (10.0, 6.5), (15.9, 6.5), (16.0, 8.8), (99.0, 8.8)]
)
def test_shovelling_by_the_compendium(pounds, met):
    # 2024 Adult Compendium of Physical Activities, by pounds a minute (0.45359237 kg)
    assert shovel_met(pounds * 0.45359237 + 1e-12) == met


def test_energy_by_the_compendium():
    assert rates.MET_WHEELBARROW == 5.5  # code 08255
    assert energy(2.0, 3.0, body_mass=70.0) == 420.0
    assert energy(1.0, 1.0) == rates.BODY_MASS
