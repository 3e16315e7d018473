"""Manure, compost and lead at their bounds."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.fill.hygiene import earliest_harvest, hot_composted, lead_class


def test_harvest_runs_over_a_leap_day():
    assert str(earliest_harvest(np.datetime64("2028-02-01"), touches_soil=False)) == "2028-05-01"
    assert str(earliest_harvest(np.datetime64("2027-02-01"), touches_soil=False)) == "2027-05-02"


@pytest.mark.parametrize(
    ("log", "passes"),
    [
        ({"days": 3, "enclosed": True, "temperature": 55.0}, True),
        ({"days": 3, "enclosed": True, "temperature": 54.0}, False),
        ({"days": 3, "enclosed": True, "temperature": 78.0}, False),
        ({"days": 2.5, "enclosed": True}, False),
        ({"days": 14, "turns": 9}, False),
        ({"days": 15, "turns": 5, "temperature": 77.0}, True),
    ],
)
def test_hot_for_long_enough(log, passes):
    assert hot_composted(**log) is passes


def test_lead_at_its_bounds():
    assert [lead_class(ppm) for ppm in (0, 100, 100.1, 200, 200.1, 400, 400.1)] == [
        "background", "background", "caution", "caution", "above screening", "above screening", "no food",
    ]  # fmt: skip


@pytest.mark.parametrize("ppm", [-1.0, float("nan")])
def test_lead_that_cannot_be_is_refused(ppm):
    with pytest.raises(ValueError, match="must be at least 0"):
        lead_class(ppm)
