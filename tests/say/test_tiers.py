"""What is said of beds in tiers, from figures made up. By hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import box

from siteplan.fill.bed_results import TierFill
from siteplan.land.features import Bed
from siteplan.place.crops.crop_fit import CropFit
from siteplan.say.tiers import (
    area_text,
    build_steps,
    frame_lines,
    push_sentences,
    tier_crops,
    tier_sentences,
    tier_sun_rows,
)
from siteplan.sun.bed_sun import TierSun


def shelf(name="shelf", wall=0.05, **upper):
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, **({"inset": 0.5} | upper)))
    return Bed(id=name, outline=box(0, 0, 3, 2), wall_thickness=wall, tiers=tiers)


def plain(name="plain"):
    return Bed(id=name, outline=box(5, 0, 7, 1), height=0.3)


def fill_of(tier, *, soil=0.2, settled=0.26, wall=None, height=0.3):
    return TierFill(
        tier=tier, height=height, top=0.3, area=1.0, soil_depth=soil, settled_depth=settled, volume=1.0, mass_wet=1.0,
        wall_height=height if wall is None else wall, wall_pressure=1.0, wall_thrust=980.665, brace_spacing=1.2,
    )  # fmt: skip


def sun_of(tier, hours):
    months = np.arange(12) + hours
    return TierSun(tier, months, hours, hours - 1, "full sun")


def plan(*beds, fills=(), suns=(), units="metric"):
    reports = tuple(SimpleNamespace(bed=bed, sun=SimpleNamespace(tiers=tiers)) for bed, tiers in suns)
    fill = SimpleNamespace(beds=tuple(SimpleNamespace(bed=name, tiers=tiers) for name, tiers in fills))
    return SimpleNamespace(site=SimpleNamespace(units=units, beds=beds), beds=reports, fill=fill)


def test_rows_of_the_sun_have_as_many_cells_as_their_table():
    report = SimpleNamespace(bed=shelf(), sun=SimpleNamespace(tiers=(sun_of(1, 6.0), sun_of(2, 7.26))))
    assert tier_sun_rows(report, cells=8) == [
        ["- tier 1", "6.0", "5.0", "10.0", "17.0", "full sun", "", ""],  # May is the fifth month
        ["- tier 2", "7.3", "6.3", "11.3", "18.3", "full sun", "", ""],
    ]
    assert tier_sun_rows(SimpleNamespace(bed=plain(), sun=report.sun), cells=8) == []


def test_each_tier_has_its_frame_its_soil_and_its_sun():
    one = shelf()
    # within the lower walls 2.9 by 1.9 m, less the upper frame of 2 by 1 m: 3.51 m2; within the upper 1.9 by 0.9: 1.71
    found = plan(
        one, fills=[("other", (fill_of(1, soil=9.0),)), ("shelf", (fill_of(1), fill_of(2, soil=0.5)))],
        suns=[(plain(), ()), (one, (sun_of(1, 6.0), sun_of(2, 7.0)))],
    )  # fmt: skip
    assert tier_sentences(found, one) == [
        (
            "tier 1: frame of 3.00 m × 2.00 m × 30 cm, rim 30 cm high; 3.51 m² of open soil, 20 cm deep above the coarse base; "
            "6.0 h of sun a day in the season, 5.0 h at its darkest spot (full sun)"
        ),
        (
            "tier 2: frame of 2.00 m × 1.00 m × 20 cm, rim 50 cm high; 1.71 m² of open soil, 50 cm deep; "
            "7.0 h of sun a day in the season, 6.0 h at its darkest spot (full sun)"
        ),
    ]
    assert tier_sentences(plan(one), one)[0].endswith("rim 30 cm high; 3.51 m² of open soil")
    assert tier_sentences(found, plain()) == []
    flush = shelf(inset=0.0)
    assert "no soil lies open" in tier_sentences(plan(flush, fills=[("shelf", (fill_of(1),))]), flush)[0]


@pytest.mark.parametrize(("soil", "above"), [(0.3, False), (0.296, False), (0.2948, True), (0.294, True)])
def test_soil_that_is_as_deep_as_its_frame_has_no_base_below(soil, above):
    one = shelf()
    first = tier_sentences(plan(one, fills=[("shelf", (fill_of(1, soil=soil),))]), one)[0]
    assert ("above the coarse base" in first) is above


def test_the_push_on_each_frame():
    # 980.665 N are the weight of 100 kg at 9.80665 m/s2
    one = shelf()
    found = plan(one, fills=[("shelf", (fill_of(1, wall=0.5), fill_of(2, wall=0.2, height=0.2)))])
    push = "wet fill pushes as hard as the weight of 100 kg on each metre of wall"
    assert push_sentences(found, one) == [
        f"walls of frame 1: {push}, with the frame above near behind them; boards are commonly braced every 1.20 m",
        f"walls of frame 2: {push}; boards are commonly braced every 1.20 m",
    ]
    assert push_sentences(found, plain("shelf")) == []
    bare = shelf(wall=0.0)
    assert push_sentences(plan(bare, fills=[("shelf", (fill_of(1),))]), bare) == []
    assert push_sentences(plan(one), one) == []


def test_the_steps_of_building():
    one = shelf()
    found = plan(one, fills=[("shelf", (fill_of(1, settled=0.26), fill_of(2)))])
    first, second, third, last = build_steps(found, one)
    assert first.startswith("Frame 1: set it out by the tapes, level and brace it")
    assert second == (
        "Fill frame 1 to its rim, under its ledge and in the middle together. Wet it and tread it firm where frame 2 "
        "will stand."
    )
    assert third.startswith(
        "Frame 2: set it in by 50 cm from every side of frame 1, level it and fasten its corners. Soil sinks by about "
        "4 cm in the first year, and the frame with it"
    )
    assert last == "Fill frame 2 to its rim."
    assert build_steps(found, plain()) == []
    for settled in (0.3, 0.0):  # it does not sink, or nobody knows
        assert "Soil sinks, and" in build_steps(plan(one, fills=[("shelf", (fill_of(1, settled=settled),))]), one)[2]
    assert "Soil sinks, and" in build_steps(plan(one), one)[2]


def test_where_the_next_frame_stands():
    flush, own = shelf(inset=0.0), shelf(outline=box(1, 0.5, 2, 1.5), inset=0.0)
    assert "Frame 2: set it flush on frame 1 and tie the two together, level" in build_steps(plan(flush), flush)[2]
    assert "Frame 2: set it on its corners as taped from those of frame 1, level" in build_steps(plan(own), own)[2]


def test_lines_name_their_bed_and_end_without_a_full_stop():
    one = shelf()
    lines = frame_lines(plan(plain(), one, fills=[("shelf", (fill_of(1), fill_of(2)))]))
    assert len(lines) == 6
    assert all(line.startswith("shelf: ") and not line.endswith(".") for line in lines)
    assert frame_lines(plan(replace(one, filled=True))) == []  # it stands, and is full


def test_crops_of_each_tier_or_of_the_bed():
    pea, bean = (
        CropFit(crop=name, suits=True, light="enough", months=(4, 5), deeper=0.0) for name in ("pea", "bean")
    )
    tiers = SimpleNamespace(bed=shelf(), crops=(pea,), tier_crops=((1, (pea,)), (2, (bean,))))
    assert tier_crops(tiers, "metric") == [
        "Tier 1: crops that suit it: pea (Apr to May)", "Tier 2: crops that suit it: bean (Apr to May)",
    ]  # fmt: skip
    assert tier_crops(SimpleNamespace(bed=plain(), crops=(pea,), tier_crops=()), "metric") == [
        "Crops that suit it: pea (Apr to May)"
    ]


def test_an_area_of_soil():
    # a square foot is 0.09290304 m2
    assert area_text(2.787, "imperial") == "30 ft²"
    assert area_text(0.004, "metric") == "0.00 m²"


def test_each_frame_stands_on_the_one_below():
    tiers = (Bed.Tier(height=0.3), Bed.Tier(height=0.2, inset=0.2), Bed.Tier(height=0.2, inset=0.3))
    one = Bed(id="tall", outline=box(0, 0, 3, 2), tiers=tiers)
    steps = build_steps(plan(one, fills=[("tall", (fill_of(1, settled=0.25), fill_of(2, settled=0.47)))]), one)
    assert [step.partition(",")[0] for step in steps] == [
        "Frame 1: set it out by the tapes", "Fill frame 1 to its rim", "Frame 2: set it in by 20 cm from every side of frame 1",
        "Fill frame 2 to its rim", "Frame 3: set it in by 30 cm from every side of frame 2", "Fill frame 3 to its rim.",
    ]  # fmt: skip
    # 30 cm less 25 cm, and 50 cm less 47 cm
    assert "Soil sinks by about 5 cm in the first year" in steps[2]
    assert "Soil sinks by about 3 cm in the first year" in steps[4]
