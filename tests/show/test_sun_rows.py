"""Hours of sun as the work sheet prints them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from siteplan.show.sheet.sun_rows import sun_rows


@pytest.mark.parametrize(("hours", "text"), [
    (6.0, "6.0"), (5.94, "(5.9)"), (5.96, "6.0"), (7.25, "7.2"), (0.0, "(0.0)"), (math.nan, "—"),
])  # fmt: skip
def test_hours_below_what_the_crop_needs_are_in_brackets(drawn_plan, hours, text):
    report = drawn_plan.beds[0]
    sun = replace(report.sun, month_sun_h=np.full(12, hours), season_sun_h=hours, worst_cell_sun_h=hours)
    (row,) = sun_rows(drawn_plan, replace(report, sun=sun))
    assert row["hours"] == [text] * 12
    assert row["season"] == row["worst"] == text
    assert row["need"] == "6"


def test_a_bed_s_own_need_goes_before_that_of_the_site(drawn_plan):
    report = drawn_plan.beds[0]
    sun = replace(report.sun, season_sun_h=4.0)
    (row,) = sun_rows(drawn_plan, replace(report, sun=sun, bed=replace(report.bed, need=3.5)))
    assert (row["need"], row["season"]) == ("3.5", "4.0")
