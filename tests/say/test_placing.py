"""Months, crops, headings, steps and the proof in words, around all their bounds. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift, Shifts
from siteplan.place.merit.tradeoff import Choice
from siteplan.say import placing as said


@pytest.mark.parametrize(("months", "text"), [
    (range(1, 13), "all year"), (range(1, 12), "Jan to Nov"), ((12, 1), "Dec to Jan"), ((2, 1, 12), "Dec to Feb"), ((1,), "Jan"),
    ((12,), "Dec"), ((1, 3, 5, 6), "Jan, Mar, May to Jun"), ((1, 2, 12, 6), "Jun, Dec to Feb"), ((11, 12), "Nov to Dec"),
])  # fmt: skip
def test_months_as_ranges(months, text):
    assert said.months_text(tuple(months)) == text


def fit(crop, months=(4, 5), *, suits=True, deeper=0.0, ground=0.0):
    return CropFit(crop=crop, suits=suits, light="enough", months=months, deeper=deeper, ground=ground)


def test_crops_by_months_by_depth_and_by_light():
    fits = [
        fit("pea"), fit("bean", (6, 7)), fit("kale"), fit("leek", deeper=0.2, suits=False), fit("beet", deeper=0.1, suits=False),
        fit("chard", deeper=0.2, suits=False), fit("tomato", (7,), suits=False), fit("melon", (), suits=False, ground=0.15),
    ]  # fmt: skip
    assert said.crop_sentences(iter(fits), "metric") == [
        "Crops that suit it: pea, kale (Apr to May); bean (Jun to Jul)",
        "These would suit it too: beet with 10 cm more soil; leek, chard with 20 cm more soil",
        "Too little sun for tomato, melon",
        "Roots are counted on to use 15 cm of the ground below (common practice)",
    ]
    assert said.crop_sentences([fit("pea")], "metric") == ["Crops that suit it: pea (Apr to May)"]
    assert said.crop_sentences([], "metric") == []
    grounds = [fit("pea", ground=0.1), fit("bean", ground=0.3), fit("kale", ground=0.2)]
    assert said.crop_sentences(grounds, "metric")[-1].startswith("Roots are counted on to use 30 cm of the ground")


def proof(**more):
    figures = {
        "places": (1, 2),
        "scanned": 1234,
        "free": 5678,
        "computed": 9012,
        "gap": 0.0,
        "search_gap": 0.0,
        "plenty": 8.0,
    }
    return said.proof_sentence(SimpleNamespace(**figures | more))


START = (
    "1,234 spots were compared on the maps, of which 5,678 are free. For 9,012 of them the sun was computed exactly"
)


@pytest.mark.parametrize(("figures", "rest"), [
    # hours are shares of 8 h: 0.000625 is 0.005 h, 0.0125 is 0.1 h
    ({"gap": 0.000625}, "; another choice among these could bring at most 0.01 h more sun a day to each bed. By estimate, none of the others brings more"),
    ({"gap": 0.00066}, "; another choice among these could bring at most 0.01 h more sun a day to each bed. By estimate, none of the others brings more"),
    ({"gap": 0.00062}, "; another choice among these brings no more sun. By estimate, none of the others brings more"),
    ({"gap": 0.0125}, "; another choice among these could bring at most 0.1 h more sun a day to each bed. By estimate, none of the others brings more"),
    ({"gap": 0.0124}, "; another choice among these could bring at most 0.10 h more sun a day to each bed. By estimate, none of the others brings more"),
    ({"gap": 0.013}, "; another choice among these could bring at most 0.1 h more sun a day to each bed. By estimate, none of the others brings more"),
    ({"gap": -0.5}, "; another choice among these brings no more sun. By estimate, none of the others brings more"),
    ({"places": (1,), "search_gap": 0.000625}, ". By estimate, none of the others brings more than 0.01 h more"),
    ({"places": (1,), "search_gap": 0.00066}, ". By estimate, none of the others brings more than 0.01 h more"),
    ({"places": (1,), "search_gap": 0.00062}, ". By estimate, none of the others brings more"),
    ({"places": (1,), "search_gap": 0.25}, ". By estimate, none of the others brings more than 2.0 h more"),
])  # fmt: skip
def test_how_sure_it_is_that_no_choice_is_better(figures, rest):
    assert proof(**figures) == START + rest


def test_nothing_is_proven_where_nothing_was_found_or_computed():
    assert proof(places=()) == proof(computed=0) == ""


def test_a_row_of_the_trade_off():
    def choice(rank, minutes, water, first=False):
        return Choice(rank=rank, outline=None, x=0, y=0, heading=0, sun_h=6.0, season_sun_h=6.24, worst_cell_sun_h=5.16,
                      minutes=minutes, water_m=water, first=first)  # fmt: skip

    nan = float("nan")
    found = SimpleNamespace(plenty=8.0, trade_off=(choice(1, 75.0, 12.0, first=True), choice(0, nan, nan)))
    assert said.trade_rows(found, "metric") == [
        ["1", "6.2", "5.2", "1 h 15 min", "12 m", "the first choice"],
        ["A", "6.2", "5.2", "—", "—", "as sunny"],
    ]
    assert len(said.TRADE_HEADS) == 6


def headings(season, barred=None, *, best=0, current=0, worst=None, score=None, **more):
    """Return headings 45 degrees apart; `barred` has the kind and the name of what is in the way of some."""
    hours, barred = np.array(season, dtype=float), barred or {}
    limits = [
        SimpleNamespace(kind=barred[k][0], feature=barred[k][1]) if k in barred else None for k in range(len(hours))
    ]
    return Headings(
        bed="b", heading=np.arange(len(hours)) * 45.0, season_h=hours, month_h=np.ones((len(hours), 12)),
        worst_h=np.full(len(hours), 5.0) if worst is None else np.array(worst, dtype=float),
        score=hours * 10 if score is None else np.array(score, dtype=float), obstacle=tuple(limits), current=current, best=best, **more,
    )  # fmt: skip


SAME = "turning it makes no difference here"


@pytest.mark.parametrize(("given", "text"), [
    (headings([6.0, 5.91]), f"{SAME} (0.1 h at most)"), (headings([0.2, 0.101]), f"{SAME} (0.1 h at most)"),
    (headings([0.1, 0.0]), "no heading that fits is better; the worst would cost it 0.1 h a day"),
    (headings([6.0, 5.91, 6.05]), "no heading that fits is better; the worst would cost it 0.1 h a day"),
    (headings([6.25, 6.0]), "no heading that fits is better; the worst would cost it 0.2 h a day"),
    (headings([6.0, 6.5, 9.9], {2: ("tree", "t")}, best=0), "turning it makes no difference here (0.5 h at most)"),
    (headings([6.5, 6.0, 1.0], {2: ("tree", "t")}), "no heading that fits is better; the worst would cost it 0.5 h a day"),
    (headings([5.0, 6.0, 7.5], best=2, current=1), "turned to 90° (east to west) it gets 1.5 h more sun a day over the season"),
    (headings([5.0, 7.5, 7.0], best=2, current=1), "turned to 90° (east to west) it gets 0.5 h less sun a day over the season"),
    (headings([7.0, 7.0], best=1), "turned to 45° (northeast to southwest) it gets 0.0 h more sun a day over the season"),
    (headings([7.0, 7.0], best=1, worst=[0.0, 0.05]),
     "turned to 45° (northeast to southwest) it gets 0.0 h more sun a day over the season, and 0.1 h more at its darkest spot"),
    (headings([7.0, 7.0], best=1, worst=[0.0, 0.049]), "turned to 45° (northeast to southwest) it gets 0.0 h more sun a day over the season"),
    (headings([7.0, 7.0], {0: ("tree", "t"), 1: ("tree", "t")}), "no heading fits here, not even its own: the spot itself is at fault"),
    (headings([0.0, 7.0], {0: ("tree", "t"), 1: ("tree", "t")}),
     "no heading fits here, not even its own: the spot itself is at fault; no sun to speak of reaches it either, so that there is no score"),
    (headings([0.0, 0.0]), "no sun to speak of reaches it at any heading that fits: turning it cannot help, and there is no score"),
    (headings([7.0, 7.0], {0: ("tree", "t")}, current=1), "it cannot be turned here: no other heading fits"),
])  # fmt: skip
def test_what_turning_a_bed_brings(given, text):
    assert said.heading_sentence(given) == text


@pytest.mark.parametrize(("season", "score", "text"), [
    # the better score of the two that a bed bars, then the hours; the tree's heading is not among them
    ([6.0, 6.5, 7.0, 9.0], [60, 80, 70, 90], "; were <x> moved as well, 45° (northeast to southwest) would bring 0.5 h more sun a day"),
    ([6.0, 6.5, 7.0, 9.0], [60, 80, 80, 90], "; were <x> moved as well, 90° (east to west) would bring 1.0 h more sun a day"),
    ([0.05, 0.1, 0.0, 9.0], [0, 1, 0, 90], "; were <x> moved as well, 45° (northeast to southwest) would bring 0.1 h more sun a day"),
    ([6.0, 6.04, 5.0, 9.0], [60, 80, 70, 90], "; were <x> moved as well, none of the headings that it bars would bring more"),
])  # fmt: skip
def test_a_bed_that_bars_headings(season, score, text):
    given = headings(season, {1: ("bed", "<x>"), 2: ("bed", "<x>"), 3: ("tree", "t")}, score=score)
    assert said._beside(given) == text


def test_only_a_bed_is_told_as_one_to_be_moved():
    assert said._beside(headings([6.0, 9.0], {1: ("tree", "t")})) == ""
    assert said._beside(headings([0.0, 0.01], {1: ("bed", "x")})) == ""


@pytest.mark.parametrize(("gain", "rows", "text"), [
    (None, None, ""), (0.05, "along", "; rows across would bring 0.1 h more sun between them"),
    (-0.05, "across", "; rows along would bring 0.1 h less sun between them"),
    (0.052, "along", "; rows across would bring 0.1 h more sun between them"),
    (0.049, "across", "; rows along would bring no more between them"),
])  # fmt: skip
def test_rows_in_the_other_direction(gain, rows, text):
    assert said._rows(headings([6.0, 6.0], rows_gain_h=gain, rows=rows)) == text


def test_the_score_of_a_heading():
    assert said.score_text(SimpleNamespace(orientation_score=None)) == "—"
    assert said.score_text(SimpleNamespace(orientation_score=87.6)) == "88"


def shift(point, gain, distance=1.0, obstacle=None):
    return Shift(direction=point, distance=distance, outline=None, gain_h=gain, worst_gain_h=0.0, obstacle=obstacle)


@pytest.mark.parametrize(("blocked", "text"), [
    ((None, None), "moving it 1 m brings no more sun in any direction"), (("x", None), "moving it 1 m brings no more sun in any direction"),
    ((None, "x"), "moving it 1 m brings no more sun in any direction"), (("x", "x"), "it cannot be moved 1 m in any direction"),
])  # fmt: skip
def test_steps_that_bring_nothing(blocked, text):
    steps = tuple(shift(point, 0.0, obstacle=one) for point, one in zip(("north", "east"), blocked, strict=True))
    assert said.shift_sentence(Shifts(bed="b", steps=steps), "metric") == text


def test_the_best_step_is_told_with_its_own_length():
    steps = shift("north", 0.5), shift("east", 0.1)
    best = Shifts(bed="b", steps=steps, best=shift("southwest", 0.46, distance=2.0))
    assert said.shift_sentence(best, "metric") == "moving it 2 m southwest gives 0.5 h more sun a day"
    assert said.shift_sentence(Shifts(bed="b", steps=(shift("north", 0.0, 0.5),)), "metric") == (
        "moving it 0.5 m brings no more sun in any direction"
    )


def test_all_steps_in_a_line():
    points = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")
    steps = tuple(shift(point, gain / 4) for gain, point in enumerate(points, start=-3))
    assert said.shifts_line(Shifts(bed="b", steps=steps), "metric") == (
        "A step of 1.0 m, hours more a day: N -0.8, NE -0.5, E -0.2, SE 0.0, S +0.2, SW +0.5, W +0.8, NW +1.0"
    )
    barred = shift("north", 0.5), shift("east", -1.0, obstacle="x")
    assert said.shift_rows(Shifts(bed="b", steps=barred)) == [("N", "+0.5", True), ("E", "-1.0", False)]


@pytest.mark.parametrize(
    ("hours", "text"), [(0.04, "0.0"), (-0.04, "0.0"), (0.06, "+0.1"), (-0.06, "-0.1"), (0.0, "0.0")]
)
def test_a_gain_has_its_sign(hours, text):
    assert said.gain_text(hours) == text
