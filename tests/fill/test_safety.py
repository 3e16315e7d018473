"""Manure and lead at their bounds."""

from __future__ import annotations

import datetime as dt

import pytest

from siteplan.fill.safety import earliest_harvest, lead_class


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
