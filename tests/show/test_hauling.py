"""The hauling in words: the order of work, the plan beside others, advice, and the strip."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from shapely import Point

from siteplan.fill.fill_results import PurchaseLine
from siteplan.haul.haul_results import BoardsChoice, CrewChoice, Delivery, HaulSummary, Heap, Run, Unreached
from siteplan.haul.routes.obstruction import Obstacle
from siteplan.say.hauling import (
    advice_lines,
    comparison_rows,
    heap_text,
    order_notes,
    order_rows,
    unreached_lines,
    work_text,
)
from siteplan.show.charts.day_strip import day_strip

RUNS = (
    Run(1, 1, "north bed", "topsoil", "heap", 4, 0.0, 50.0),
    Run(2, 1, "a <b> bed", "topsoil", "drop", 3, 50.0, 75.7, delivered=True, mixed=True, gates=("side",)),
    Run(3, 2, "north bed", "compost", "drop", 2, 0.0, 20.0, delivered=True),
)


@pytest.fixture
def planned(drawn_plan):
    haul = replace(
        drawn_plan.haul,
        order=RUNS,
        deliveries=(Delivery("topsoil", 0.6, 1, 2),),
        comparison=(
            HaulSummary("none", "", 165.0, 34, 643.0, 2.0, 98.0665, 2700.0, 0),
            HaulSummary("shut", "side", 90.0, 12, 100.0, 0.0, float("nan"), 900.0, 3),
        ),
        crew=CrewChoice(together=100.0, side_by_side=70.0),
        boards=(BoardsChoice("heap", "north bed", 6.0, 3, 36.0, 127.0, 63.0),),
    )
    return replace(drawn_plan, haul=haul)


def test_the_order_is_said_run_by_run(planned):
    rows = order_rows(planned)
    assert [row[0] for row in rows] == ["1", "2", "3"]
    assert rows[1] == ["2", "1", "0:50", "a <b> bed", "topsoil *", "drop", "3", "1 h 16 min"]
    notes = order_notes(planned)
    assert "topsoil must be there before run 2 on day 1" in notes[0]
    assert notes[1] == "Run 2 goes through side."
    assert notes[2].startswith("* This layer comes from several places")


def test_what_cannot_get_to_its_bed_is_not_told_as_delivered(planned):
    # all 1.0 m3 that is bought is told; with 0.3 m3 for a bed without a way the other 0.7 m3
    line = PurchaseLine(material="topsoil", kind="loose", count=2, volume=1.0, cost=60.0, parts=(("topsoil", 1.0),))
    bought = replace(planned.fill, purchase=(line,))
    metric = replace(planned, site=replace(planned.site, units="metric"), fill=bought)
    assert order_notes(metric)[0].startswith("1.00 m³ of topsoil must ")
    wall = Obstacle("fence", "wall")
    shut = Unreached("far", "topsoil", "drop", delivered=True, volume=0.3, mass=300.0, trips=4, obstacle=wall)
    less = replace(metric, haul=replace(metric.haul, unreached=(shut,)))
    assert order_notes(less)[0].startswith("0.70 m³ of topsoil must ")


def test_the_plan_is_set_beside_others(planned):
    rows = comparison_rows(planned)
    assert rows[0][:3] == ["as planned", "2 h 45 min", "34"]
    assert rows[1][1] == "3 trips without a way"
    assert rows[1][5] == "—"
    assert comparison_rows(planned)[0][3:] == ["2,110 ft", "6 ft 6 1/2 in", "22 lb"]


def test_what_cannot_get_there_is_said_with_what_would_open_a_way(planned):
    shut = Obstacle("gate", "wicket", 0.35)
    those = tuple(
        Unreached("north bed", name, "drop", delivered=True, volume=0.3, mass=300.0, trips=4, obstacle=shut)
        for name in ("topsoil", "compost")
    )
    metric = replace(planned, site=replace(planned.site, units="metric"), haul=replace(planned.haul, unreached=those))
    (line,) = unreached_lines(metric)
    assert "of topsoil and " in line
    assert ' (8 trips) cannot get to north bed: gate "wicket" is 35 cm too narrow' in line
    assert unreached_lines(planned) == []


def test_the_work_is_said_without_and_with_rests(planned):
    one = replace(planned.haul.loads[0], trips=1)
    haul = replace(planned.haul, loads=(one,), total_minutes=50.0, order=(replace(RUNS[0], minutes=60.0),))
    assert work_text(haul) == "1 trip with the barrow, 50 min without rests, 1 h with rests"


def test_advice_tells_of_a_second_barrow_and_of_boards(planned):
    metric = replace(planned, site=replace(planned.site, units="metric"))
    barrow, boards = advice_lines(metric)
    assert "1 h 10 min instead of 1 h 40 min" in barrow
    assert "3 boards of 2.40 m for" in boards
    assert "13 kg to 6 kg" in boards
    slow = replace(planned, haul=replace(planned.haul, crew=CrewChoice(100.0, 100.0), boards=()))
    two = replace(slow, site=replace(slow.site, labour=replace(slow.site.labour, people=2)))
    assert advice_lines(two) == ["A second barrow saves no time here: loading takes longer than pushing."]
    alone = replace(slow, site=replace(slow.site, labour=replace(slow.site.labour, people=1)))
    assert advice_lines(alone) == []


def test_nothing_asked_is_nothing_said(drawn_plan):
    bare = replace(drawn_plan, haul=None)
    assert (order_rows(bare), order_notes(bare), comparison_rows(bare), advice_lines(bare)) == ([], [], [], [])
    assert day_strip(bare) == ""


def test_the_strip_has_a_bar_a_run_as_long_as_it_takes(planned):
    strip = str(day_strip(planned))
    wide = [float(width) for width in re.findall(r'class="run[^"]*" x="[\d.]+" y="[\d.]+" width="([\d.]+)"', strip)]
    assert len(wide) == 3
    assert (wide[0] + 0.6) / (wide[1] + 0.6) == pytest.approx(50 / 75.7, rel=0.01)  # a tenth of a unit is printed
    assert strip.count("run late") == 2
    assert "Day 2" in strip
    assert "<b>" not in strip


def test_a_ridge_is_said_to_be_one():
    ridge = Heap("topsoil", 1.0, Point(0, 0), 0.6, 0.42, 3.34, 90.0)
    assert heap_text(ridge, "metric") == "topsoil 1.00 m³, a ridge 1.20 m wide and 4.54 m long"
    cone = Heap("topsoil", 1.0, Point(0, 0), 1.11, 0.78)
    assert heap_text(cone, "metric") == "topsoil 1.00 m³, a heap 2.22 m across"


def test_bars_of_the_strip_stand_under_their_hours(planned):
    strip = str(day_strip(planned))
    hours = [float(x) for x in re.findall(r'class="hour" x="([\d.]+)"', strip)]
    labels = [int(label) for label in re.findall(r">(\d+) h<", strip)]
    first_day = labels.index(0, 1)
    longest = planned.site.labour.hours_per_day * 60
    assert labels[:first_day] == list(range(int(longest // 60) + 1))
    hour = hours[1] - hours[0]
    assert hours[0] == pytest.approx(118)  # right of the names of the beds
    assert hours[0] + longest / 60 * hour == pytest.approx(640 - 8, abs=0.5)  # the day fills the strip
    bars = re.findall(r'<rect class="run[^"]*" x="([\d.]+)" y="([\d.]+)"', strip)
    for (x, _), run in zip(bars, (RUNS[0], RUNS[1], RUNS[2]), strict=True):
        assert float(x) == pytest.approx(hours[0] + run.start / 60 * hour, abs=0.1)
    assert float(bars[1][1]) - float(bars[0][1]) == pytest.approx(15)  # a lane each
    assert [float(y) for y in re.findall(r'class="lane" x="38" y="([\d.]+)"', strip)] == pytest.approx(
        [float(y) + 9 for _, y in bars]
    )
    assert re.findall(r'class="number"[^>]*>(\d)<', strip) == ["1", "2", "3"]


def test_a_run_too_short_for_its_number_has_none(planned):
    short = replace(planned, haul=replace(planned.haul, order=(replace(RUNS[0], minutes=0.1), RUNS[1])))
    assert re.findall(r'class="number"[^>]*>(\d)<', str(day_strip(short))) == ["2"]
    assert 'width="0.8"' in str(day_strip(short))  # but can be seen
