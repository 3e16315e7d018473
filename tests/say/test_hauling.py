"""The hauling in sentences: each of them whole, from figures made up. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from shapely import Point

from siteplan.haul.haul_results import BoardsChoice, CrewChoice, Delivery, HaulSummary, Heap, Run, Unreached
from siteplan.haul.routes.obstruction import Obstacle
from siteplan.say.hauling import (
    advice_lines,
    clock_text,
    comparison_name,
    comparison_rows,
    heap_text,
    numbers_text,
    order_notes,
    order_rows,
    unreached_lines,
    work_text,
)


def plan(*, fill=None, units="metric", barrows=1, people=1, board_length=None, **haul):
    figures = {"order": (), "unreached": (), "deliveries": (), "comparison": (), "crew": None, "boards": ()}
    site = SimpleNamespace(
        units=units, currency="EUR", barrow=SimpleNamespace(count=barrows, max_grade=0.125),
        labour=SimpleNamespace(people=people), haul=SimpleNamespace(board_length=board_length),
    )  # fmt: skip
    return SimpleNamespace(site=site, fill=fill, haul=SimpleNamespace(**figures | haul))


@pytest.mark.parametrize(("numbers", "text"), [
    ([7, 3, 2, 1], "1–3, 7"), ([1, 2], "1, 2"), ([2, 4, 5, 6, 7, 9, 10], "2, 4–7, 9, 10"), ([5], "5"), ([10, 12, 11], "10–12"),
])  # fmt: skip
def test_three_numbers_in_a_row_are_a_range(numbers, text):
    assert numbers_text(numbers) == text


@pytest.mark.parametrize(
    ("minutes", "text"), [(59.4, "0:59"), (59.6, "1:00"), (60, "1:00"), (69, "1:09"), (605, "10:05")]
)
def test_the_clock_of_a_day_s_work(minutes, text):
    assert clock_text(minutes) == text


def test_the_work_without_an_order_has_no_rests():
    done = SimpleNamespace(order=(), trips=2, total_minutes=75.0, minutes_with_rests=90.0)
    assert work_text(done) == "2 trips with the barrow, 1 h 15 min without rests"
    done.order = ("a run",)
    assert work_text(done) == "2 trips with the barrow, 1 h 15 min without rests, 1 h 30 min with rests"


def stranded(material, volume, trips, *, delivered=False, bed="far bed", at="heap"):
    obstacle = Obstacle("slope", "")
    return Unreached(bed, material, at, delivered=delivered, volume=volume, mass=1.0, trips=trips, obstacle=obstacle)


def test_loads_on_one_way_are_told_together():
    """600 L are half a cubic metre or more, so that both are in cubic metres; 4 and 3 trips are 7."""
    end = "cannot get to far bed: the ground is steeper than the barrow can be pushed (12 %). It is not counted in the work below."
    asked = plan(unreached=(stranded("topsoil", 0.6, 4), stranded("compost", 0.3, 3)))
    assert unreached_lines(asked) == [f"0.60 m³ of topsoil and 0.30 m³ of compost from heap (7 trips) {end}"]
    asked = plan(unreached=(stranded("topsoil", 0.3, 1, delivered=True),))
    assert unreached_lines(asked) == [f"300 L of topsoil, delivered at heap, (1 trip) {end}"]


def test_each_bed_and_each_place_has_a_line():
    asked = plan(unreached=(
        stranded("a", 0.1, 1), stranded("b", 0.1, 1, bed="other"), stranded("c", 0.1, 1, at="drop"), stranded("d", 0.1, 1),
    ))  # fmt: skip
    assert [line.partition(" (")[0] for line in unreached_lines(asked)] == [
        "100 L of a and 100 L of d from heap", "100 L of b from heap", "100 L of c from drop",
    ]  # fmt: skip
    assert unreached_lines(SimpleNamespace(haul=None)) == []


def test_a_row_of_the_order_of_work():
    runs = (
        Run(1, 1, "bed", "topsoil", "heap", 4, 0.0, 50.0),
        Run(2, 3, "far bed", "compost", "drop", 12, 65.0, 130.0, mixed=True),
    )
    assert order_rows(plan(order=runs)) == [
        ["1", "1", "0:00", "bed", "topsoil", "heap", "4", "50 min"],
        ["2", "3", "1:05", "far bed", "compost *", "drop", "12", "2 h 10 min"],
    ]


def test_deliveries_are_told_as_they_are_bought():
    """Of 1 m3 that is bought 300 L have no way in: 700 L come. Of compost more goes in than was told as bought."""
    shut = (stranded("topsoil", 0.3, 4, delivered=True), stranded("bark", 0.2, 4, delivered=True),
            stranded("compost", 0.1, 1))  # fmt: skip
    asked = plan(
        deliveries=(Delivery("topsoil", 0.6, 1, 2), Delivery("compost", 0.2, 3, 7), Delivery("bark", 0.1, 4, 8)), unreached=shut,
        fill=SimpleNamespace(bought={"topsoil": 1.0, "compost": 0.15}),
    )  # fmt: skip
    assert order_notes(asked) == [
        "0.70 m³ of topsoil must be there before run 2 on day 1.",
        "0.20 m³ of compost must be there before run 7 on day 3.",
        "0.10 m³ of bark must be there before run 8 on day 4.",
    ]
    assert asked.fill.bought == {"topsoil": 1.0, "compost": 0.15}
    small = plan(deliveries=(Delivery("compost", 0.2, 3, 7),))
    assert order_notes(small) == ["200 L of compost must be there before run 7 on day 3."]


def test_gates_are_told_with_their_runs():
    runs = tuple(
        Run(number, 1, "bed", "topsoil", "heap", 4, 0.0, 50.0, gates=gates)
        for number, gates in ((1, ("side", "back")), (2, ()), (3, ("side",)), (4, ("side",)), (5, ("side",)))
    )
    assert order_notes(plan(order=runs)) == ["Runs 1, 3–5 go through side.", "Run 1 goes through back."]


def test_how_alternatives_are_named():
    def named(change, feature=""):
        return comparison_name(HaulSummary(change, feature, 1.0, 1, 1.0, 0.0, 1.0, 1.0, 0))

    assert [named(change, "{x}") for change in ("none", "tipped", "lorry", "shut", "widened")] == [
        'as planned, tipped at "{x}"', 'tipped at "{x}"', 'tipped where a lorry gets to on "{x}"', 'with gate "{x}" shut',
        'with gate "{x}" wide enough',
    ]  # fmt: skip
    assert named("none") == "as planned"


def test_a_row_of_the_comparison():
    """The hardest push as the weight of a mass: 98.0665 N are 10 kg."""
    rows = (
        HaulSummary("none", "", 75.0, 12, 1234.0, 1.5, 98.0665, 9e3, 0),
        HaulSummary("shut", "side", 90.0, 5, 100.0, 0.0, float("inf"), 9e3, 1),
    )
    assert comparison_rows(plan(comparison=rows)) == [
        ["as planned", "1 h 15 min", "12", "1,234 m", "1.50 m", "10 kg"],
        ['with gate "side" shut', "1 trip without a way", "5", "100 m", "0 cm", "—"],
    ]


@pytest.mark.parametrize(("saved", "barrows", "people", "line"), [
    (1.0, 1, 1, "With a second barrow, which is loaded while the first is pushed, it takes 59 min instead of 1 h."),
    (1.0, 2, 2, "One barrow is loaded while the other is pushed. That takes 59 min instead of 1 h with one barrow."),
    (0.9, 1, 2, "A second barrow saves no time here: loading takes longer than pushing."),
    (0.9, 1, 1, None), (0.9, 2, 2, None), (0.9, 2, 1, None),
])  # fmt: skip
def test_a_second_barrow_is_told_from_a_minute_on(saved, barrows, people, line):
    crew = CrewChoice(together=60.0, side_by_side=60.0 - saved)
    assert advice_lines(plan(crew=crew, barrows=barrows, people=people)) == ([line] if line else [])


def test_without_a_crew_nothing_is_said_of_barrows():
    assert advice_lines(plan(people=2)) == []
    assert advice_lines(SimpleNamespace(haul=None, site=None)) == []


def test_boards_are_told_for_the_hardest_way_alone():
    """127 N and 63 N are the weights of 12.95 kg and 6.42 kg."""
    first = BoardsChoice("heap", "bed", 6.0, 3, 36.0, 127.0, 63.0)
    second = BoardsChoice("drop", "bed", 2.0, 1, None, 120.0, 63.0)
    assert advice_lines(plan(boards=(first, second), board_length=2.0)) == [
        (
            "When it is wet, 6.00 m of the way from heap to bed are soft. With 3 boards of 2.00 m for €36.00 there, the "
            "hardest push falls from 13 kg to 6 kg."
        )
    ]
    (line,) = advice_lines(plan(boards=(second,), board_length=2.0))
    assert "With 1 board of 2.00 m there, the hardest push falls from 12 kg" in line


@pytest.mark.parametrize(("length", "text"), [
    (0.0, "soil 1.00 m³, a heap 1.20 m across"), (0.5, "soil 1.00 m³, a ridge 1.20 m wide and 1.70 m long"),
    (2.0, "soil 1.00 m³, a ridge 1.20 m wide and 3.20 m long"),
])  # fmt: skip
def test_a_heap_and_a_ridge(length, text):
    assert heap_text(Heap("soil", 1.0, Point(0, 0), 0.6, 0.42, length, 90.0), "metric") == text
