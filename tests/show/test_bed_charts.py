"""Each bed has its own charts, and all share one scale."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from siteplan.fill.fill_results import Layer
from siteplan.land.features import Bed
from siteplan.show.charts.bed_charts import bed_charts, bed_cut, chart_top, charts_alone
from siteplan.sun.light.daily_light import Light


def words(chart):
    return re.search(r'aria-label="([^"]*)"', str(chart))[1]


def layer(bed, material, top, **more):
    return Layer(bed=bed, order=0, material=material, bottom=0.0, top=top, volume=1.0, mass=1.0, settled=0.1, **more)


def test_a_bed_has_its_own_layers_and_months(drawn_plan):
    fill = replace(drawn_plan.fill, layers=(layer("north bed", "straw", 0.4572), layer("west bed", "logs", 0.1524)))
    reports = tuple(
        replace(report, sun=replace(report.sun, month_sun_h=np.full(12, hours)))
        for report, hours in zip(drawn_plan.beds, (5.0, 6.0, 7.0), strict=True)
    )
    plan = replace(drawn_plan, fill=fill, beds=reports)
    north, west, new = (bed_charts(plan, name) for name in ("north bed", "west bed", "new bed"))
    assert words(north["layers"]) == "Layers from the bottom: straw to 1 ft 6 in."
    assert words(west["layers"]) == "Layers from the bottom: logs to 6 in."
    assert "layers" not in new
    for charts, hours in ((north, 5), (west, 6), (new, 7)):
        assert f"January {hours}.0 h" in words(charts["months"])


def test_the_need_of_a_bed_goes_before_that_of_the_site(drawn_plan):
    own = replace(drawn_plan.beds[0], bed=replace(drawn_plan.beds[0].bed, need=3.5))
    plan = replace(drawn_plan, beds=(own, *drawn_plan.beds[1:]))
    assert words(bed_charts(plan, "north bed")["months"]).endswith("Needed: 3.5 h.")
    assert words(bed_charts(plan, "west bed")["months"]).endswith("Needed: 6.0 h.")


def test_only_what_was_computed_is_drawn(drawn_plan):
    assert set(bed_charts(drawn_plan, "north bed")) == {"months", "hours", "light", "headings", "layers"}
    bare = replace(drawn_plan.beds[0], lit=None, light=None, headings=None)
    plan = replace(drawn_plan, beds=(bare,), fill=None)
    assert set(bed_charts(plan, "north bed")) == {"months"}
    assert bed_charts(plan, "west bed") == {}


def test_the_rose_shows_the_bed_s_own_heading(drawn_plan):
    """The north bed runs from east to west: its line ends 77 to the right and to the left of the middle."""
    rose = bed_charts(drawn_plan, "north bed")["headings"]
    assert '<path class="now" d="M172.0 95.0L18.0 95.0"/>' in rose


def test_light_is_compared_with_open_ground_under_the_same_sky(drawn_plan):
    report = drawn_plan.beds[0]
    months = np.full(13, 1.0)
    clouds, clear = Light(months * 2, months, months), Light(months * 4, months, months)
    typical = replace(report.light, typical=clouds, open_typical=clouds, open_clear=clear)
    chart = bed_charts(replace(drawn_plan, beds=(replace(report, light=typical),)), "north bed")["light"]
    assert words(chart).startswith("Light for plants in a typical year by month")
    assert "January 22 of 22" in words(chart)  # 3 kWh/m2 of 7.265 mol
    alone = replace(report.light, open_clear=clear)
    chart = bed_charts(replace(drawn_plan, beds=(replace(report, light=alone),)), "north bed")["light"]
    assert words(chart).startswith("Light for plants on clear days by month")
    assert " of 36," in words(chart)  # 5 kWh/m2


@pytest.mark.parametrize("steps", [False, True])
def test_a_bed_in_tiers_is_cut_through_its_steps(steps):
    tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.2, inset=0.5)) if steps else ()
    bed = Bed(id="a", outline=box(0, 0, 4, 2), height=math.nan if steps else 0.4, tiers=tiers)
    plan = SimpleNamespace(
        fill=SimpleNamespace(layers=[layer("a", "soil", 0.4), layer("b", "sand", 0.4)]),
        site=SimpleNamespace(materials={"soil": SimpleNamespace(kind="mineral")}, units="metric"),
    )
    told = words(bed_cut(plan, bed))
    assert told == f"Layers from the bottom: soil{' (tier 1)' if steps else ''} to 40 cm."
    assert "layer grains" in bed_cut(plan, bed)


def test_all_charts_end_at_the_longest_month_on_the_map(drawn_plan):
    longest = max(float(np.nanmax(drawn_plan.maps.month_h)), float(np.nanmax(drawn_plan.maps.season_h)))
    assert longest < chart_top(drawn_plan) < longest + 1
    beds = tuple(
        replace(one, sun=replace(one.sun, month_sun_h=np.full(12, hours)))
        for one, hours in zip(drawn_plan.beds, (3.0, 4.2, 2.0), strict=True)
    )
    assert chart_top(replace(drawn_plan, beds=beds)) == chart_top(drawn_plan)  # those of the map come first
    assert chart_top(replace(drawn_plan, maps=None, beds=beds)) == 5.0
    assert chart_top(replace(drawn_plan, maps=None, beds=())) == 12.0


def test_a_chart_alone_has_its_style_once(drawn_plan):
    for chart in charts_alone(drawn_plan, "north bed").values():
        assert chart.svg.count("<style>") == chart.svg.count("</style>") == 1
        assert chart.svg.index("<style>") == chart.svg.index(">") + 1
        assert chart.svg.count(' xmlns="') == 1
