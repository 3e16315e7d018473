"""Where the bars of the runs stand on the strip of days, in the units of the picture, by hand."""

from __future__ import annotations

import re
from types import SimpleNamespace

from siteplan.haul.haul_results import Run
from siteplan.show.charts.day_strip import day_strip


def run(number, day, bed, start, minutes, **more):
    return Run(number=number, day=day, bed=bed, material="soil", from_id="pile", trips=2, start=start, minutes=minutes,
               **more)  # fmt: skip


def strip(*runs, hours=4):
    site = SimpleNamespace(labour=SimpleNamespace(hours_per_day=hours))
    return str(day_strip(SimpleNamespace(haul=SimpleNamespace(order=runs), site=site)))


RUNS = (
    run(1, 1, "a", 0, 60), run(2, 1, "b", 60, 3), run(3, 1, "a", 200, 57),
    run(4, 2, "b", 0, 0.5, delivered=True), run(5, 2, "a", 10, 4),
)  # fmt: skip


def test_bars_are_as_long_as_their_runs():
    """The latest ends after 257 minutes. For them 640 - 118 - 8 are left: 2 a minute.

    A bar is 0.6 shorter than its run, so that two do not touch, and 0.8 at least; rows are 15 high, bars 11.
    """
    found = re.findall(
        r'<rect class="([\w ]+)" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="11"/>', strip(*RUNS)
    )
    assert [(kind, *map(float, figures)) for kind, *figures in found] == [
        ("run", 118.0, 6.0, 119.4), ("run", 518.0, 6.0, 113.4), ("run", 238.0, 21.0, 5.4),
        ("run late", 118.0, 52.0, 0.8), ("run", 138.0, 67.0, 7.4),
    ]  # fmt: skip


def test_a_bar_wider_than_7_has_its_number_in_its_middle():
    found = re.findall(r'<text class="number" x="([\d.]+)" y="([\d.]+)">(\d)<', strip(*RUNS))
    assert found == [("177.7", "15.0", "1"), ("574.7", "15.0", "3"), ("141.7", "76.0", "5")]


def test_each_day_has_its_rows_in_the_order_of_its_runs_and_its_hours_below():
    drawn = strip(*RUNS)
    assert re.findall(r'<text class="day" x="0" y="([\d.]+)">(Day \d)<', drawn) == [
        ("15.0", "Day 1"),
        ("61.0", "Day 2"),
    ]
    lanes = re.findall(r'<text class="lane" x="38" y="([\d.]+)">(\w)<', drawn)
    assert lanes == [("15.0", "a"), ("30.0", "b"), ("61.0", "b"), ("76.0", "a")]
    marks = re.findall(
        r'<path class="hour" d="M([\d.]+) ([\d.]+)V([\d.]+)"/><text class="hour" x="([\d.]+)" y="([\d.]+)">(\d) h<',
        drawn,
    )
    # whole hours up to 4 h 17 min, 120 apart
    assert marks == [
        (f"{118 + 120 * hour}.0", top, low, f"{118 + 120 * hour}.0", below, str(hour))
        for top, low, below in (("4.0", "34.0", "43.0"), ("50.0", "80.0", "89.0"))
        for hour in range(5)
    ]
    assert 'viewBox="0 0 640 96"' in drawn


def test_a_short_day_is_drawn_as_long_as_people_work():
    """Of 2 hours with work of 30 minutes the bar takes a quarter: 514 / 4 less 0.6."""
    drawn = strip(run(1, 1, "a", 0, 30), hours=2)
    assert 'width="127.9"' in drawn
    assert re.findall(r">(\d) h<", drawn) == ["0", "1", "2"]


def test_names_of_up_to_16_letters_are_whole():
    drawn = strip(run(1, 1, "sixteen letters.", 0, 30), run(2, 1, "seventeen letters", 0, 30))
    assert ">sixteen letters.<" in drawn
    assert ">seventeen letters<" not in drawn


def test_the_strip_is_told_in_words():
    assert "Runs by day. day 1, 0:00: soil to a, 2 trips; day 1, " in strip(*RUNS)
