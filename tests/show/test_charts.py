"""Charts say what they show: to the eye by height and place, to a screen reader in a sentence."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from shapely import box

from siteplan import InputError
from siteplan.fill.fill_results import Layer
from siteplan.land.grid import grid_over
from siteplan.land.outline import COMPASS
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift, Shifts
from siteplan.place.limits.limits import Limit
from siteplan.place.merit.tradeoff import Choice
from siteplan.show.charts.bars import half_hours, light_bars, month_bars
from siteplan.show.charts.colours import scale_colours, scale_steps
from siteplan.show.charts.roses import heading_rose, shifts_rose, trade_chart
from siteplan.show.charts.sections import layer_cut, route_profile, spread
from siteplan.sun.light.daily_light import Light

SVG = "{http://www.w3.org/2000/svg}"


def parsed(chart):
    """Return the chart's elements; ElementTree refuses what is not well-formed. All words lie within the picture."""
    root = ET.fromstring(str(chart).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))  # noqa: S314
    _, _, width, height = map(float, root.get("viewBox").split())
    for word in root.iter(f"{SVG}text"):
        assert 0 <= float(word.get("x", 0)) <= width, word.text
        assert 0 < float(word.get("y", 1)) <= height, word.text
    return root


def test_bars_are_as_high_as_the_hours():
    months = [0.0, 3.0, 6.0, 12.0, 12.0, 12.0, 12.0, 12.0, 9.0, 6.0, 3.0, float("nan")]
    root = parsed(month_bars(months, need=6.0, top=12.0))
    heights = [float(bar.get("height")) for bar in root.iter(f"{SVG}rect")]
    assert heights[2] / heights[3] == pytest.approx(0.5, abs=0.01)  # drawn to a tenth of a unit of 64
    assert "March 6.0 h" in root.get("aria-label")
    assert "December —" in root.get("aria-label")


def test_the_need_is_drawn_where_it_is():
    root = parsed(month_bars([6.0] * 12, need=6.0, top=12.0))
    bar = next(root.iter(f"{SVG}rect"))
    line = next(path for path in root.iter(f"{SVG}path") if path.get("class") == "need")
    assert float(re.search(r"M0 ([\d.]+)", line.get("d"))[1]) == pytest.approx(float(bar.get("y")), abs=0.1)


def test_half_hours_lit_stand_at_their_hour():
    lit = np.zeros((12, 48))
    lit[5, 16:20] = 1.0  # June, 8 to 10 o'clock
    lit[0, 40] = 0.5
    root = parsed(half_hours(lit, clock="Europe/Rome"))
    fields = sum(path.get("d").count("M") for path in root.iter(f"{SVG}path") if path.get("class") == "lit")
    assert fields == 5
    assert "June 2.0 h" in root.get("aria-label")


def test_light_is_stacked_and_open_ground_is_marked():
    there = Light(np.full(13, 4.0), np.full(13, 2.0), np.full(13, 9.0))
    here = Light(np.full(13, 2.0), np.full(13, 1.0), np.full(13, 5.0))
    root = parsed(light_bars(here, there, days="on clear days"))
    bars = list(root.iter(f"{SVG}rect"))
    from_sun, from_sky = (
        [bar for bar in bars if bar.get("class") == f"bar {kind}"] for kind in ("from-sun", "from-sky")
    )
    assert len(from_sun) == len(from_sky) == 12
    sun, sky = (float(one[0].get("height")) for one in (from_sun, from_sky))
    assert sun == pytest.approx(2 * sky, abs=0.2)  # drawn to a tenth
    level = next(float(re.search(r"M\S+ ([\d.]+)h", mark.get("d"))[1]) for mark in root.iter(f"{SVG}path"))
    base = float(from_sky[0].get("y")) + sky
    assert (base - level) == pytest.approx(2 * (sun + sky), abs=0.3)  # half of open ground's light
    # 3 and 6 kWh/m2 at 7.265 mol each
    assert "January 22 of 44" in root.get("aria-label")
    assert "on clear days" in root.get("aria-label")
    assert [text.text for text in root.iter(f"{SVG}text")].count("3.0") == 12


def test_light_of_a_polar_night_is_nothing():
    dark = np.append(np.zeros(12), 1.0)
    root = parsed(light_bars(Light(dark, dark, dark), Light(dark, dark, dark), days="on clear days"))
    assert {float(bar.get("height")) for bar in root.iter(f"{SVG}rect")} == {0.0}


def test_a_bed_that_is_never_lit_has_a_chart_as_well():
    root = parsed(half_hours(np.zeros((12, 48)), clock="UTC"))
    assert "December 0.0 h" in root.get("aria-label")


def test_headings_that_do_not_fit_are_hollow(drawn_plan):
    headings = drawn_plan.beds[0].headings
    root = parsed(heading_rose(headings, now=90.0))
    kinds = [dot.get("class") for dot in root.iter(f"{SVG}circle")]
    assert kinds.count("not") == 2 * int((~headings.fits).sum())  # a bed has two ends
    assert kinds.count("fits") == 2 * int(headings.fits.sum())
    assert f"{int((~headings.fits).sum())} of {len(headings.heading)} headings do not fit" in root.get("aria-label")


def test_layers_are_cut_to_scale_and_named():
    layers = [
        Layer(bed="b", order=0, material="logs", bottom=0.0, top=0.3, volume=1, mass=1, settled=0.2),
        Layer(bed="b", order=1, material="<soil>", bottom=0.3, top=0.4, volume=1, mass=1, settled=0.1),
    ]
    root = parsed(layer_cut(layers, {"logs": "coarse"}, "metric"))
    heights = [float(layer.get("height")) for layer in root.iter(f"{SVG}rect")]
    assert heights[0] / heights[1] == pytest.approx(3, abs=0.02)
    assert [text.text for text in root.iter(f"{SVG}text") if text.get("class") == "what"] == ["logs", "<soil>"]


@pytest.mark.parametrize(("height", "end"), [
    ([0.0, 0.5, 1.0], "1.00 m higher than it starts."), ([1.0, 0.2, 0.5], "50 cm lower than it starts."),
    ([1.0, 2.0, 0.996], "as high as it starts."), ([1.0, 2.0, 1.0], "as high as it starts."),
])  # fmt: skip
def test_a_profile_says_how_it_ends(height, end):
    root = parsed(route_profile([0.0, 10.0, 20.0], height, "metric"))
    assert root.get("aria-label") == f"Ground along the way: it ends {end}"


@pytest.mark.parametrize("top", [1, 4, 8, 13, 24])
def test_scale_marks_are_true(top):
    assert all(share * top == pytest.approx(float(label)) for share, label in scale_steps(top))


def test_a_heading_stands_where_its_ends_point():
    hours = np.full(36, 5.0)
    hours[18] = 7.0  # 90 degrees: its ends point east and west
    headings = Headings(
        bed="b", heading=np.arange(0, 180, 5.0), season_h=hours, worst_h=hours, month_h=np.zeros((36, 12)),
        score=hours, obstacle=(None,) * 36, current=0, best=18,
    )  # fmt: skip
    root = parsed(heading_rose(headings, now=0.0))
    dots = [(float(d.get("cx")), float(d.get("cy"))) for d in root.iter(f"{SVG}circle") if d.get("class") == "fits"]
    assert max(x for x, _ in dots) - 95 == pytest.approx(72, abs=0.1)  # the outer ring is 7 h
    assert 95 - min(y for _, y in dots) == pytest.approx(26, abs=0.1)  # north: the inner ring is 5 h


def test_steps_that_do_not_fit_stand_in_brackets():
    square = box(0, 0, 1, 1)
    shed = Limit(kind="building", feature="<b>", ground=square, bare=square, grid=grid_over(square, 1))
    steps = tuple(
        Shift(direction=point, distance=1.0, outline=square, gain_h=gain, worst_gain_h=0.0, obstacle=limit)
        for point, gain, limit in (("north", 0.5, None), ("east", -0.25, shed))
    )
    root = parsed(shifts_rose(Shifts(bed="b", steps=steps)))
    assert [one.text for one in root.iter(f"{SVG}text") if one.get("class") == "gain"] == ["+0.5", "(-0.2)"]
    assert "east -0.2 h, does not fit" in root.get("aria-label")
    drawn = [path.get("d") for path in root.iter(f"{SVG}path") if "step" in path.get("class", "")]
    ends = [tuple(map(float, re.findall(r"[-\d.]+", path))) for path in drawn]
    lengths = [math.hypot(u - x, v - y) for x, y, u, v in ends]
    assert lengths[0] / lengths[1] == pytest.approx(2, rel=0.01)  # as the gains
    outward = [math.hypot(u - 95, v - 95) > math.hypot(x - 95, y - 95) for x, y, u, v in ends]
    assert outward == [True, True]


def test_choices_lie_between_sun_and_wheeling(drawn_plan):
    made = [
        Choice(rank=int(first), outline=box(0, 0, 1, 1), x=0, y=0, heading=0, sun_h=min(hours, 8.0), season_sun_h=hours,
               worst_cell_sun_h=hours, minutes=minutes, water_m=1.0, first=first)
        for hours, minutes, first in ((9.0, 10.0, True), (7.0, 5.0, False))
    ]  # fmt: skip
    root = parsed(trade_chart(replace(drawn_plan.places, trade_off=tuple(made)), "metric"))
    (full,) = [dot for dot in root.iter(f"{SVG}circle") if dot.get("class") == "fits"]
    (other,) = [dot for dot in root.iter(f"{SVG}circle") if dot.get("class") == "not"]
    assert float(full.get("cx")) > float(other.get("cx"))
    assert float(full.get("cy")) < float(other.get("cy"))  # more sun stands higher
    assert root.get("aria-label").endswith("1: the first choice; A: 1.0 h less sun, 5 min less wheeling.")


def test_a_bed_has_its_charts_alone_and_in_the_card(drawn_plan):
    bed = drawn_plan.beds[0].bed.id
    charts = drawn_plan.charts(bed)
    assert {"months", "headings", "layers"} <= set(charts)
    for chart in charts.values():
        root = ET.fromstring(chart.svg)  # noqa: S314  # it is a file of its own, with its namespace
        assert root.get("aria-label")
        style = next(root.iter(f"{SVG}style")).text
        assert all(f"{ink}:" in style for ink in re.findall(r"var\((--\w+)\)", style))  # no ink is left to the page
        shown = chart._repr_html_()
        assert shown.startswith("<img ")
        assert f'alt="{chart.words}"' in shown
        assert repr(chart).startswith(f"<Chart: {root.get('aria-label')[:20]}")
        assert len(repr(chart)) < 80
        assert "<style" not in shown  # which would reach the rest of a notebook
    with pytest.raises(InputError, match="bed_id: there is no bed"):
        drawn_plan.charts("no such bed")


def test_a_bed_that_was_not_asked_has_no_charts(drawn_plan):
    assert replace(drawn_plan, beds=(), fill=None).charts(drawn_plan.beds[0].bed.id) == {}


def test_half_hours_are_read_off_at_every_third_hour():
    lit = np.zeros((12, 48))
    lit[5, 13:41] = 1.0  # from half past 6 to half past 8 in the evening: drawn from 6 to 21 o'clock
    root = parsed(half_hours(lit, clock="UTC"))
    hours = {one.text: float(one.get("x")) for one in root.iter(f"{SVG}text") if one.text.isdigit()}
    assert list(hours) == ["6", "9", "12", "15", "18", "21"]
    night = next(root.iter(f"{SVG}rect"))
    left, wide = float(night.get("x")), float(night.get("width"))
    assert list(hours.values()) == pytest.approx([left + wide * share / 5 for share in range(6)], abs=0.06)
    (path,) = [one.get("d") for one in root.iter(f"{SVG}path") if one.get("class") == "lit"]
    starts = [float(x) for x in re.findall(r"M([\d.]+) ", path)]
    assert min(starts) == pytest.approx(left + wide / 30, abs=0.01)  # half past 6: the second of 30 half hours


def test_the_ground_along_a_way_is_drawn_to_scale():
    # 1 m on 40 units; 2 cm as if 5 cm were 40 units, so that a ripple is no hill; 1 m in 5 km no more than 20 times as steep
    for rise, length, tall in ((1.0, 20.0, 40.0), (0.02, 5.0, 16.0), (1.0, 5000.0, 280 / 5000 * 20)):
        root = parsed(route_profile([0.0, length / 2, length], [0.0, rise / 2, rise], "metric"))
        path = next(one.get("d") for one in root.iter(f"{SVG}path") if one.get("class") == "ground")
        points = [tuple(map(float, spot.split())) for spot in re.findall(r"L([\d.]+ [\d.]+)", path)]
        assert [x for x, _ in points] == pytest.approx([4, 144, 284])
        assert [52 - y for _, y in points] == pytest.approx([0, tall / 2, tall], abs=0.06)


def words(root, kind):
    """Return the words of one kind with their places."""
    found = [one for one in root.iter(f"{SVG}text") if one.get("class") == kind]
    return {one.text: (float(one.get("x")), float(one.get("y"))) for one in found}


@pytest.mark.parametrize(("hours", "minutes", "high", "low", "most"), [
    ((9.0, 7.0), (10.0, 5.0), 9, 7, 10),
    ((8.2, 6.9), (11.0, math.inf), 9, 6, 15),  # the next whole hours, and five minutes; no way is no time
    ((5.0, 5.0), (2.0, 0.0), 5, 4, 5),  # one hour and five minutes at least
])  # fmt: skip
def test_choices_stand_where_the_axes_say(drawn_plan, hours, minutes, high, low, most):
    made = tuple(
        Choice(rank=n, outline=box(0, 0, 1, 1), x=0, y=0, heading=0, sun_h=hour, season_sun_h=hour,
               worst_cell_sun_h=hour, minutes=minute, water_m=1.0, first=n == 0)
        for n, (hour, minute) in enumerate(zip(hours, minutes, strict=True))
    )  # fmt: skip
    root = parsed(trade_chart(replace(drawn_plan.places, trade_off=made), "metric"))
    side, names = words(root, "side"), words(root, "name")
    assert list(side) == [f"{low} h", f"{high} h"]
    assert {"0", f"{most / 2:g}", f"{most} min"} <= set(names)
    left, right = names["0"][0], names[f"{most} min"][0]
    assert names[f"{most / 2:g}"][0] == pytest.approx((left + right) / 2)
    bottom, top = (side[f"{level} h"][1] - 3 for level in (low, high))  # a word stands 3 below its line
    axes = next(one.get("d") for one in root.iter(f"{SVG}path") if one.get("class") == "base")
    assert axes == f"M{left} {top}V{bottom}H{right}"
    dots = [(float(one.get("cx")), float(one.get("cy"))) for one in root.iter(f"{SVG}circle")]
    for (x, y), hour, minute in zip(dots, hours, minutes, strict=True):
        assert x == pytest.approx(left + (0 if math.isinf(minute) else minute) / most * (right - left), abs=0.06)
        assert y == pytest.approx(bottom - (hour - low) / (high - low) * (bottom - top), abs=0.06)


def test_bars_of_the_sun_stand_over_their_months_with_their_figures():
    months = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 0.0]
    root = parsed(month_bars(months, need=4.0, top=10.0))
    bars = [{key: float(bar.get(key)) for key in ("x", "y", "width", "height")} for bar in root.iter(f"{SVG}rect")]
    assert np.diff([bar["x"] for bar in bars]) == pytest.approx(24)
    assert [bar["y"] + bar["height"] for bar in bars] == pytest.approx([bars[0]["y"] + bars[0]["height"]] * 12)
    full = bars[9]["height"]
    for bar, hours in zip(bars[:11], months, strict=False):
        assert bar["height"] == pytest.approx(full * hours / 10, abs=0.06)
    assert 0 < bars[11]["height"] < 1  # nothing is a thin line
    letters = [one for one in root.iter(f"{SVG}text") if one.get("class") == "name"]
    assert "".join(one.text for one in letters) == "JFMAMJJASOND"
    figures = [one for one in root.iter(f"{SVG}text") if one.get("class") == "value"]
    assert [one.text for one in figures] == [f"{hours:.1f}" for hours in months]
    for bar, letter, figure in zip(bars, letters, figures, strict=True):
        assert float(letter.get("x")) == float(figure.get("x")) == pytest.approx(bar["x"] + bar["width"] / 2)
        assert float(figure.get("y")) == pytest.approx(bar["y"] - 3, abs=0.11)
    # the colours are those of the map's scale
    colours = scale_colours()
    for bar, hours in zip(root.iter(f"{SVG}rect"), months, strict=True):
        at = min(255, round(hours / 10 * 255))
        assert bar.get("fill") == "rgb({},{},{})".format(*colours[at].tolist())
    need = next(one.get("d") for one in root.iter(f"{SVG}path") if one.get("class") == "need")
    assert float(need.split("H")[0].split()[1]) == pytest.approx(bars[3]["y"], abs=0.06)
    high = parsed(month_bars(months, need=12.0, top=10.0))  # more than the scale has: at its end
    need = next(one.get("d") for one in high.iter(f"{SVG}path") if one.get("class") == "need")
    assert float(need.split("H")[0].split()[1]) == pytest.approx(bars[9]["y"], abs=0.06)


def test_the_more_soil_is_lit_the_lighter_the_field():
    """Seven steps of the scale, each up to its seventh."""
    lit = np.zeros((12, 48))
    lit[3, 20:28] = [0.01, 1 / 7, 1 / 7 + 0.01, 0.5, 0.99, 1.0, 0.0, 0.0]
    root = parsed(half_hours(lit, clock="UTC"))
    shown = [one for one in root.iter(f"{SVG}path") if one.get("class") == "lit"]
    colours = scale_colours(8)
    fields = {
        one.get("style"): [tuple(map(float, at)) for at in re.findall(r"M([\d.]+) ([\d.]+)", one.get("d"))]
        for one in shown
    }
    assert {style: len(at) for style, at in fields.items()} == {
        "fill:rgb({},{},{})".format(*colours[step].tolist()): count
        for step, count in ((1, 2), (2, 1), (4, 1), (7, 2))
    }
    assert {y for at in fields.values() for _, y in at} == {4 + 3 * 8}  # the fourth row
    xs = sorted(x for at in fields.values() for x, _ in at)
    assert xs == pytest.approx([14 + 264 / 6 * slot for slot in range(6)], abs=0.01)  # drawn from 10 to 13 o'clock


def test_shifts_point_where_they_go_and_are_as_long_as_they_gain():
    square = box(0, 0, 1, 1)
    gains = {"north": 0.5, "northeast": -0.25, "east": 0.1, "south": 0.05, "west": -0.5}
    steps = tuple(
        Shift(direction=point, distance=1.0, outline=square, gain_h=gain, worst_gain_h=0.0, obstacle=None)
        for point, gain in gains.items()
    )
    root = parsed(shifts_rose(Shifts(bed="b", steps=steps)))
    lines = [one for one in root.iter(f"{SVG}path") if one.get("class", "").startswith("step")]
    for line, (point, gain) in zip(lines, gains.items(), strict=True):
        x, y, u, v = map(float, re.findall(r"[-\d.]+", line.get("d")))
        assert line.get("class") == f"step {'more' if gain > 0 else 'less'}"
        assert math.degrees(math.atan2(u - 95, 95 - v)) % 360 == pytest.approx(COMPASS[point], abs=0.3)
        assert math.hypot(u - x, v - y) == pytest.approx(abs(gain) / 0.5 * 34, abs=0.15)
        assert math.hypot(x - 95, y - 95) == pytest.approx(26, abs=0.1)
    names = [one for one in root.iter(f"{SVG}text") if one.get("class") == "gain"]
    for name, point in zip(names, gains, strict=True):
        x, y = float(name.get("x")) - 95, 95 - (float(name.get("y")) - 3.5)
        assert math.degrees(math.atan2(x, y)) % 360 == pytest.approx(COMPASS[point], abs=0.3)


def test_the_rings_of_a_rose_are_at_least_an_hour_apart():
    for hours, labels in (
        ((5.04, 6.9), ["6.9 h", "5.0 h"]),
        ((6.5, 6.9), ["6.9 h", "5.9 h"]),
        ((0.2, 0.6), ["0.6 h", "0.0 h"]),
    ):
        season = np.full(36, hours[0])
        season[0] = hours[1]
        headings = Headings(
            bed="b", heading=np.arange(0, 180, 5.0), season_h=season, worst_h=season, month_h=np.zeros((36, 12)),
            score=season, obstacle=(None,) * 36, current=0, best=0,
        )  # fmt: skip
        root = parsed(heading_rose(headings, now=40.0))
        assert list(words(root, "value")) == labels
        high, low = (float(one.split()[0]) for one in labels)
        dots = [one for one in root.iter(f"{SVG}circle") if one.get("class") == "fits"]
        for dot, value in zip(dots, np.repeat(season, 2), strict=True):
            away = math.hypot(float(dot.get("cx")) - 95, float(dot.get("cy")) - 95)
            assert away == pytest.approx(26 + (value - low) / max(high - low, 0.1) * 46, abs=0.1)
        now = next(one.get("d") for one in root.iter(f"{SVG}path") if one.get("class") == "now")
        x, y, u, v = map(float, re.findall(r"[-\d.]+", now))
        assert math.degrees(math.atan2(x - 95, 95 - y)) % 360 == pytest.approx(40, abs=0.1)
        assert (x + u, y + v) == pytest.approx((190, 190), abs=0.11)


def test_marks_of_a_cut_stand_at_the_tops_of_its_layers():
    depths = [0.0, 0.2, 0.5, 1.0]
    layers = [
        Layer(bed="b", order=n, material=f"m{n}", bottom=low, top=high, volume=1, mass=1, settled=0.2)
        for n, (low, high) in enumerate(itertools.pairwise(depths))
    ]
    root = parsed(layer_cut(layers, {"m0": "coarse", "m1": "mineral"}, "metric"))
    bodies = list(root.iter(f"{SVG}rect"))
    assert [one.get("class") for one in bodies] == ["layer logs", "layer grains", "layer crumbs"]
    for body, layer in zip(bodies, layers, strict=True):
        assert float(body.get("y")) == pytest.approx(10 + 118 * (1 - layer.top), abs=0.06)
        assert float(body.get("y")) + float(body.get("height")) == pytest.approx(
            10 + 118 * (1 - layer.bottom), abs=0.11
        )
    marks, names = words(root, "mark"), words(root, "what")
    assert list(marks) == ["20 cm", "50 cm", "1 m"] or len(marks) == 3
    for (_, y), layer in zip(marks.values(), layers, strict=True):
        assert y - 3.5 == pytest.approx(10 + 118 * (1 - layer.top), abs=0.11)
    for (_, y), layer in zip(names.values(), layers, strict=True):
        assert y - 3.5 == pytest.approx(10 + 118 * (1 - (layer.top + layer.bottom) / 2), abs=0.11)


def test_labels_that_lie_too_close_are_spread_evenly():
    assert spread([50.0, 49.0, 48.0], gap=10) == pytest.approx([59.0, 49.0, 39.0], abs=0.6)
    assert spread([50.0, 30.0, 10.0], gap=13) == [50.0, 30.0, 10.0]
    assert spread([20.0, 30.0], gap=10) == pytest.approx([30.0, 20.0], abs=0.1)


def test_a_bed_that_is_never_lit_is_drawn_from_six_to_six():
    root = parsed(half_hours(np.zeros((12, 48)), clock="UTC"))
    assert [one.text for one in root.iter(f"{SVG}text") if one.text.isdigit()] == ["6", "9", "12", "15", "18"]


def test_a_cut_is_as_tall_as_the_bed_is_deep():
    layers = [
        Layer(bed="b", order=n, material=f"m{n}", bottom=low, top=high, volume=1, mass=1, settled=0.2)
        for n, (low, high) in enumerate(((0.0, 0.1), (0.1, 0.4)))
    ]
    root = parsed(layer_cut(layers, {}, "metric"))
    bodies = [(float(one.get("y")), float(one.get("height"))) for one in root.iter(f"{SVG}rect")]
    assert bodies == [pytest.approx((98.5, 29.5)), pytest.approx((10, 88.5))]  # 118 for 0.4 m
    assert [y - 3.5 for _, y in words(root, "what").values()] == pytest.approx([113.25, 54.25], abs=0.11)
