"""Manure and lead at their bounds."""

from __future__ import annotations

import datetime as dt

import pytest

from siteplan.fill.fill_results import PurchaseLine
from siteplan.fill.safety import _lifting, _soil_findings, earliest_harvest, lead_class
from siteplan.land.site import SoilSettings


def test_harvest_runs_over_a_leap_day():
    assert str(earliest_harvest(dt.date(2028, 2, 1), touches_soil=False)) == "2028-05-01"
    assert str(earliest_harvest(dt.date(2027, 2, 1), touches_soil=False)) == "2027-05-02"


def test_lead_at_its_bounds():
    assert [lead_class(ppm) for ppm in (0, 100, 100.1, 200, 200.1, 400, 400.1)] == [
        "background", "background", "caution", "caution", "above screening", "above screening", "no food",
    ]  # fmt: skip


@pytest.mark.parametrize("ppm", [-1.0, float("nan")])
def test_lead_that_cannot_be_is_refused(ppm):
    with pytest.raises(ValueError, match="must be at least 0"):
        lead_class(ppm)


@pytest.mark.parametrize(("masses", "figures"), [
    ((16.0,), {"bag": ""}), ((16.1,), {"bag": "m0", "mass": 16.1, "for_two": False}),
    ((25.0,), {"bag": "m0", "mass": 25.0, "for_two": False}), ((25.1,), {"bag": "m0", "mass": 25.1, "for_two": True}),
    ((17.0, 30.0, 20.0), {"bag": "m1", "mass": 30.0, "for_two": True}), ((), {"bag": ""}),
])  # fmt: skip
def test_the_heaviest_bag_against_the_filters_for_lifting(masses, figures):
    # HSE L23 and INDG143: 16 kg for women, 25 kg for men, held close at elbow height (seen second-hand)
    lines = [
        PurchaseLine(material=f"m{n}", kind="bag", count=1, volume=0.02, cost=1.0, mass_each=mass)
        for n, mass in enumerate(masses)
    ]
    loose = PurchaseLine(material="loose", kind="loose", count=1, volume=1.0, cost=1.0, mass_each=1500.0)
    found = _lifting([*lines, loose])
    assert (found.code, dict(found.figures)) == ("heavy-lifting", figures)


def test_what_a_soil_test_and_its_lack_tell():
    assert [one.code for one in _soil_findings(SoilSettings())] == ["lead-test"]
    lead, dates = _soil_findings(SoilSettings(lead=250.0, manure_on=dt.date(2027, 2, 1)))
    assert dict(lead.figures) == {
        "lead": 250.0,
        "lead_class": "above screening",
        "screening": 200.0,
        "no_food": 400.0,
    }
    assert dict(dates.figures) == {
        "worked_in": dt.date(2027, 2, 1), "touching": dt.date(2027, 6, 1), "clear": dt.date(2027, 5, 2), "touching_days": 120,
        "clear_days": 90,
    }  # fmt: skip
