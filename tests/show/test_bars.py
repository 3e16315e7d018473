"""Where the parts of the bar charts stand, in the units of the picture, by hand."""

from __future__ import annotations

import re

import numpy as np
import pytest

from siteplan.show.charts.bars import half_hours, light_bars, month_bars
from siteplan.show.charts.colours import scale_colours
from siteplan.sun.light.daily_light import Light


def rects(chart, kind):
    found = re.findall(
        rf'<rect class="{kind}" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', str(chart)
    )
    return [tuple(map(float, one)) for one in found]


def texts(chart, kind):
    """Return the texts of one class (None: of those without one) with their places."""
    marked = "" if kind is None else f'class="{kind}" '
    found = re.findall(rf'<text {marked}x="([\d.]+)" y="([\d.]+)">([^<]*)<', str(chart))
    return [(float(x), float(y), text) for x, y, text in found]


def size(chart):
    return re.search(r'viewBox="([^"]+)"', str(chart))[1]


HOURS = [10.0, 5.0, 0.0, float("nan"), 12.0, *[2.5] * 7]


def test_the_bars_of_the_sun_stand_on_their_base():
    """Bars of 19 stand 24 apart from 4 on, over a base at 84; the whole scale is 64 tall, and nothing is a line of 0.6."""
    chart = month_bars(HOURS, need=5.0, top=10.0)
    assert size(chart) == "0 0 291 98"  # 4 on either side of 12 x 24 - 5
    found = rects(chart, "bar")
    assert found[:4] == [
        (4.0, 20.0, 19.0, 64.0), (28.0, 52.0, 19.0, 32.0), (52.0, 83.4, 19.0, 0.6), (76.0, 83.4, 19.0, 0.6),
    ]  # fmt: skip
    assert found[11] == (268.0, 68.0, 19.0, 16.0)
    assert texts(chart, "name") == [(13.5 + 24 * n, 95.0, letter) for n, letter in enumerate("JFMAMJJASOND")]
    assert texts(chart, "value")[:4] == [
        (13.5, 17.0, "10.0"), (37.5, 49.0, "5.0"), (61.5, 80.4, "0.0"), (85.5, 80.4, "0.0")
    ]  # fmt: skip
    assert '<path class="need" d="M0 52.0H292"/><path class="base" d="M0 84.0H292"/>' in chart


def test_a_bar_has_the_colour_of_its_hours_and_beyond_the_scale_the_last():
    """Of 256 colours: all of the scale is the last, half of it number 128, a quarter number 64, nothing the first."""
    fills = re.findall(r'fill="rgb\((\d+),(\d+),(\d+)\)"', str(month_bars(HOURS, need=5.0, top=10.0)))
    colours = scale_colours()
    for fill, number in zip(fills[:6], (255, 128, 0, 0, 255, 64), strict=True):
        assert list(map(int, fill)) == colours[number].tolist()


def test_a_line_of_need_stays_within_the_scale():
    for need, level in ((0.0, "84.0"), (2.5, "68.0"), (10.0, "20.0"), (11.0, "20.0")):
        assert f'<path class="need" d="M0 {level}H292"/>' in month_bars(HOURS, need=need, top=10.0)


def test_the_bars_of_the_sun_are_told_in_words():
    assert (
        'aria-label="Sun a day by month: January 10.0 h, February 5.0 h, March 0.0 h, April —, May 12.0 h, '
        "June 2.5 h, July 2.5 h, August 2.5 h, September 2.5 h, October 2.5 h, November 2.5 h, December 2.5 h. "
        'Needed: 5.0 h."'
    ) in month_bars(HOURS, need=5.0, top=10.0)


def light(direct, diffuse, reflected):
    return Light(np.full(13, direct), np.full(13, diffuse), np.zeros(13), np.full(13, reflected))


def test_the_bars_of_light_are_stacked_on_their_base():
    """Bars of 18 stand 22 apart from 27 on, over a base at 62; the most light, that of open ground, is 56 tall.

    The bed gets half of the 8 kWh/m2 of open ground: 28. Half of it, 1 from the sky and 1 from walls, is the lower part.
    4 kWh/m2 are 29 mol/m2 at 7.265 mol each.
    """
    chart = light_bars(light(2.0, 1.0, 1.0), light(6.0, 1.0, 1.0), days="on clear days")
    assert size(chart) == "0 0 291 100"
    assert rects(chart, "bar from-sun") == [(27.0 + 22 * n, 34.0, 18.0, 14.0) for n in range(12)]
    assert rects(chart, "bar from-sky") == [(27.0 + 22 * n, 48.0, 18.0, 14.0) for n in range(12)]
    dashes = re.findall(r'class="open" d="M([\d.]+) ([\d.]+)h20"', str(chart))
    assert [tuple(map(float, one)) for one in dashes] == [(26.0 + 22 * n, 6.0) for n in range(12)]
    assert texts(chart, "name") == [(36.0 + 22 * n, 73.0, letter) for n, letter in enumerate("JFMAMJJASOND")]
    assert texts(chart, None) == [(36.0 + 22 * n, 85.0, "29") for n in range(12)]
    assert texts(chart, "value") == [(36.0 + 22 * n, 96.0, "4.0") for n in range(12)]
    assert texts(chart, "side value") == [(21.0, 85.0, "mol"), (21.0, 96.0, "kWh")]
    assert '<path class="base" d="M23 62.0H291"/>' in chart
    assert "open ground, mol/m² a day: January 29 of 58, February 29 of 58, " in chart


def test_the_scale_of_light_ends_at_the_most_there_is_and_at_a_mole_at_least():
    """A bed beside white walls may have more than open ground. Of 0.1 kWh/m2, 0.7265 mol, the bars are 40.7 tall."""
    more = light_bars(light(6.0, 1.0, 1.0), light(3.0, 1.0, 0.0), days="")
    assert rects(more, "bar from-sun")[0][1] == 6.0
    assert 'd="M26.0 34.0h20"' in more
    little = light_bars(light(0.05, 0.05, 0.0), light(0.05, 0.05, 0.0), days="")
    assert rects(little, "bar from-sun")[0] == pytest.approx((27.0, 21.3, 18.0, 20.3), abs=0.06)
    assert rects(little, "bar from-sky")[0] == pytest.approx((27.0, 41.7, 18.0, 20.3), abs=0.06)


def lit(month, first, last, share=1.0):
    found = np.zeros((12, 48))
    found[month, first:last] = share
    return found


def test_half_hours_stand_in_rows_of_months_under_a_clock():
    """From 8 to 10 in June: four fields of 264 / 4, in the sixth row of 8 from 4 on."""
    chart = half_hours(lit(5, 16, 20), clock="UTC")
    assert size(chart) == "0 0 286 116"
    assert '<rect class="night" x="14.0" y="4.0" width="264.0" height="96.0"/>' in chart
    fields = "".join(f"M{14 + 66 * n}.00 44h66.00v8h-66.00z" for n in range(4))
    assert f'd="{fields}"/>' in chart
    assert texts(chart, "side") == [(11.0, 11.0 + 8 * n, letter) for n, letter in enumerate("JFMAMJJASOND")]
    assert '<path class="tick" d="M146.0 100.0v3"/><text x="146.0" y="112.0">9</text></svg>' in chart
    assert chart.count('class="tick"') == 1  # of 8, 9 and 10 o'clock every third hour
    assert "by the clocks of UTC. In all: June 2.0 h, December 0.0 h." in chart


@pytest.mark.parametrize(("first", "last", "wide"), [
    (16, 20, 66.0),  # 8:00 to 10:00
    (17, 20, 66.0),  # 8:30 to 10:00: drawn from 8 on
    (16, 19, 66.0),  # 8:00 to 9:30: drawn up to 10
    (17, 19, 66.0),
    (16, 21, 44.0),  # 8:00 to 10:30: drawn up to 11, so six fields
    (0, 48, 5.5),
])  # fmt: skip
def test_half_hours_are_drawn_from_whole_hour_to_whole_hour(first, last, wide):
    chart = half_hours(lit(11, first, last), clock="UTC")
    begin = first // 2 * 2
    starts = re.findall(r"M([\d.]+) 92h([\d.]+)v", str(chart))
    assert [float(one) for _, one in starts] == [wide] * (last - first)
    assert [float(x) for x, _ in starts] == pytest.approx([14 + wide * (n - begin) for n in range(first, last)])
    assert f"December {(last - first) / 2:.1f} h" in chart


def test_a_share_a_hair_above_a_step_or_above_all_is_that_step():
    """Shares are sums of floats: 3 / 7 and all of it may come out a little above."""
    colours = scale_colours(8)
    for share, step in ((3 / 7 + 1e-12, 3), (1 + 1e-6, 7), (2 / 7 + 0.01, 3), (1e-4, 1)):
        assert f"rgb({','.join(map(str, colours[step].tolist()))})" in half_hours(lit(0, 20, 22, share), clock="UTC")


def test_each_month_has_its_own_light_and_the_season_is_not_drawn():
    """Open ground: 8 kWh/m2 in January, 4 in all others, 40 in the season; half of it diffuse. January is 56 tall."""
    months = np.array([8.0, *[4.0] * 11, 40.0])
    there = Light(months / 2, months / 2, np.zeros(13))
    chart = light_bars(there, there, days="")
    assert rects(chart, "bar from-sky")[:2] == [(27.0, 34.0, 18.0, 28.0), (49.0, 48.0, 18.0, 14.0)]
    assert rects(chart, "bar from-sun")[:2] == [(27.0, 6.0, 18.0, 28.0), (49.0, 34.0, 18.0, 14.0)]
    walls = Light(months / 2, np.zeros(13), np.zeros(13), months / 2)  # the same from walls
    assert rects(light_bars(walls, there, days=""), "bar from-sky") == rects(chart, "bar from-sky")


def test_a_bed_that_is_never_lit_has_its_clock_from_6_to_18():
    """Five marks, three hours apart, over the whole width."""
    chart = half_hours(np.zeros((12, 48)), clock="UTC")
    assert texts(chart, None) == [(14.0 + 66 * n, 112.0, hour) for n, hour in enumerate(("6", "9", "12", "15", "18"))]
    assert re.findall(r'class="tick" d="M([\d.]+) 100.0v3"', str(chart)) == [
        "14.0",
        "80.0",
        "146.0",
        "212.0",
        "278.0",
    ]


def test_no_hour_is_marked_beyond_the_last():
    """From 9 to 11 o'clock: 9 at the left end; 12 lies beyond the right one."""
    assert texts(half_hours(lit(5, 18, 22), clock="UTC"), None) == [(14.0, 112.0, "9")]
