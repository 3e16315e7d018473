"""Where the parts of the roses and of the chart of sun and work stand, in the units of the picture, by hand."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from siteplan.land.grid import grid_over
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift, Shifts
from siteplan.place.limits.limits import Limit
from siteplan.place.merit.tradeoff import Choice
from siteplan.show.charts.roses import heading_rose, shifts_rose, trade_chart

SQUARE = box(0, 0, 1, 1)
SHED = Limit(kind="building", feature="shed", ground=SQUARE, bare=SQUARE, grid=grid_over(SQUARE, 1))


def headings(hours, *, current=0, best=0, barred=()):
    """Return headings evenly around half a turn with these hours."""
    values = np.array(hours, dtype=float)
    every = 180 / len(values)
    return Headings(
        bed="b", heading=np.arange(len(values)) * every, season_h=values, worst_h=values,
        month_h=np.zeros((len(values), 12)), score=values,
        obstacle=tuple(SHED if number in barred else None for number in range(len(values))), current=current, best=best,
    )  # fmt: skip


def dots(chart):
    found = re.findall(r'<circle class="(fits|not)" cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)"/>', str(chart))
    return [(kind, float(x), float(y), float(r)) for kind, x, y, r in found]


def texts(chart, kind):
    found = re.findall(rf'<text class="{kind}" x="([\d.]+)" y="([\d.]+)">([^<]*)<', str(chart))
    return [(float(x), float(y), text) for x, y, text in found]


def test_a_rose_of_four_headings():
    """A square of 190 with its middle at 95; rings of 26 and 72 for 5 h and 7 h, so 6 h stands at 49."""
    rose = heading_rose(headings([5.0, 6.0, 7.0, 5.0], best=2, barred=(1,)), now=0.0)
    assert 'viewBox="0 0 190 190"' in rose
    rings = re.findall(r'<circle class="ring" cx="95.0" cy="95.0" r="([\d.]+)"/>', str(rose))
    assert rings == ["72.0", "26.0"]
    # letters 13 beyond the outer ring, their feet 3.5 lower
    assert texts(rose, "name") == [(95.0, 13.5, "N"), (180.0, 98.5, "E"), (95.0, 183.5, "S"), (10.0, 98.5, "W")]
    assert '<path class="now" d="M95.0 18.0L95.0 172.0"/>' in rose  # 5 beyond the outer ring, at both ends
    assert '<path class="best" d="M172.0 95.0L18.0 95.0"/>' in rose
    slanted = 49 / math.sqrt(2)
    close = 26 / math.sqrt(2)
    expected = [
        ("fits", 95, 69), ("fits", 95, 121), ("not", 95 + slanted, 95 - slanted), ("not", 95 - slanted, 95 + slanted),
        ("fits", 167, 95), ("fits", 23, 95), ("fits", 95 + close, 95 + close), ("fits", 95 - close, 95 - close),
    ]  # fmt: skip
    for (kind, x, y, r), (other, u, v) in zip(dots(rose), expected, strict=True):
        assert (kind, r) == (other, 2.4)
        assert (x, y) == pytest.approx((u, v), abs=0.051)  # written to a tenth
    # labels lie on the rings to the north-east: 72 and 26 over the root of 2, then 9 to the right and 2 up
    assert texts(rose, "value") == [(154.9, 42.1, "7.0 h"), (122.4, 74.6, "5.0 h")]
    assert 'aria-label="Sun by heading, 5.0 h to 7.0 h a day. ' in rose
    assert rose.count(" 1 of 4 headings do not fit.") == 1


def test_a_rose_where_all_fits_says_nothing_of_it():
    assert "do not fit" not in heading_rose(headings([5.0, 6.0]), now=0.0)


@pytest.mark.parametrize(("hours", "labels"), [
    ((0.1 + 0.2, 0.0), ["0.3 h", "0.0 h"]),  # a float a hair above 0.3
    ((5.0, 1 - 0.9), ["5.0 h", "0.1 h"]),  # and one a hair below 0.1
    ((6.01, 4.09), ["6.1 h", "4.0 h"]),  # outward to the next tenth
    ((6.2, 5.9), ["6.2 h", "5.2 h"]),  # the rings are an hour apart at least
    ((0.0, 0.0), ["0.0 h", "0.0 h"]),
])  # fmt: skip
def test_rings_are_whole_tenths_of_an_hour(hours, labels):
    assert [text for *_, text in texts(heading_rose(headings(hours), now=0.0), "value")] == labels


def test_a_rose_without_sun_has_its_dots_on_the_inner_ring():
    assert dots(heading_rose(headings([0.0, 0.0]), now=0.0))[0] == ("fits", 95.0, 69.0, 2.4)


def shifts(**gains):
    return Shifts(bed="b", steps=tuple(
        Shift(direction=point, distance=1.0, outline=SQUARE, gain_h=gain, worst_gain_h=0.0, obstacle=limit)
        for point, (gain, limit) in gains.items()
    ))  # fmt: skip


def test_a_rose_of_shifts():
    """From a ring of 26 on, the largest gain or loss is 34 long; its figure stands at 76, its foot 3.5 lower."""
    rose = shifts_rose(shifts(north=(0.25, None), south=(-0.5, None), east=(0.0, SHED), west=(0.5, SHED)))
    assert 'viewBox="0 0 190 190"' in rose
    assert '<circle class="ring" cx="95.0" cy="95.0" r="26.0"/>' in rose
    assert re.findall(r'<path class="step ([\w ]+)" d="([^"]+)"/>', str(rose)) == [
        ("more", "M95.0 69.0L95.0 52.0"), ("less", "M95.0 121.0L95.0 155.0"),
        ("less unfit", "M121.0 95.0L121.0 95.0"), ("more unfit", "M69.0 95.0L35.0 95.0"),
    ]  # fmt: skip
    gains = texts(rose, "gain")
    assert [one[:2] for one in gains] == [(95.0, 22.5), (95.0, 174.5), (171.0, 98.5), (19.0, 98.5)]
    assert [one[2] for one in gains][3] == "(+0.5)"
    assert '<text class="name" x="95.0" y="94.0">N</text>' in rose
    assert '<path class="base" d="M95.0 107.0V97.0M92.0 100.0l3 -3 3 3"/>' in rose
    assert "south -0.5 h; east" in rose
    assert "west +0.5 h, does not fit." in rose


def test_gains_of_minutes_are_not_blown_up():
    """The longest stands for 0.1 h at least: 0.05 h is half as long."""
    assert 'd="M95.0 69.0L95.0 52.0"' in shifts_rose(shifts(north=(0.05, None)))


def chosen(plan, *spots):
    return replace(plan.places, trade_off=tuple(
        Choice(rank=int(n == 0), outline=SQUARE, x=0, y=0, heading=0, sun_h=hours, season_sun_h=hours, worst_cell_sun_h=hours,
               minutes=minutes, water_m=1.0, first=n == 0)
        for n, (hours, minutes) in enumerate(spots)
    ))  # fmt: skip


def test_the_chart_of_sun_and_work(drawn_plan):
    """Its axes run from 30 on 236 to the right and from 96 on 82 up; of 7 to 9 h and 10 minutes."""
    chart = trade_chart(chosen(drawn_plan, (9.0, 10.0), (7.0, 5.0)), "metric")
    assert 'viewBox="0 0 292 124"' in chart
    assert '<path class="base" d="M30.0 14.0V96.0H266.0"/>' in chart
    assert texts(chart, "name") == [
        (30.0, 108.0, "0"), (148.0, 108.0, "5"), (266.0, 108.0, "10 min"), (148.0, 119.0, "of wheeling"),
        (275.0, 11.0, "1"), (157.0, 93.0, "A"),
    ]  # fmt: skip
    assert texts(chart, "side") == [(26.0, 99.0, "7 h"), (26.0, 17.0, "9 h")]
    assert dots(chart) == [("fits", 266.0, 14.0, 4.0), ("not", 148.0, 96.0, 4.0)]


def test_the_chart_of_no_choice_has_axes(drawn_plan):
    chart = trade_chart(chosen(drawn_plan), "metric")
    assert [text for *_, text in texts(chart, "side")] == ["0 h", "1 h"]
    assert [text for *_, text in texts(chart, "name")] == ["0", "2.5", "5 min", "of wheeling"]
    assert dots(chart) == []
