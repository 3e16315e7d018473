"""What tops beds up in later years, in words. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.fill.fill_results import LeftOver, TopUp, TopUpYear
from siteplan.say.topping_up import bed_top_up_line, bed_top_up_lines, left_over_rows, top_up_rows


def plan(top_ups=(), years=(), left_over=(), units="metric", filled=(False, True)):
    beds = tuple(SimpleNamespace(id=name, filled=full) for name, full in zip(("north", "south"), filled, strict=True))
    fill = SimpleNamespace(top_ups=top_ups, top_up_years=years, left_over=left_over)
    return SimpleNamespace(site=SimpleNamespace(units=units, beds=beds), fill=fill)


TOP_UPS = (
    TopUp(bed="north", year=1, drop=0.06, volumes=(("compost", 0.1),)),
    TopUp(bed="south", year=1, drop=0.09, volumes=(("compost", 0.3), ("topsoil", 0.2))),
    TopUp(bed="north", year=2, drop=0.02, volumes=(("compost", 0.04),)),
    TopUp(bed="south", year=2, drop=0.01, volumes=()),
)


def year(number=1, *, there=(), cost=12.5, lacking=(), volumes=(("compost", 0.3),)):
    return TopUpYear(year=number, volumes=volumes, left_over=there, cost=cost, lacking=lacking)


def test_nothing_asked_is_nothing_said():
    bare = SimpleNamespace(site=plan().site, fill=None)
    assert (top_up_rows(bare), left_over_rows(bare), bed_top_up_line(bare, "north")) == ([], [], "")
    assert bed_top_up_lines(bare) == []


def test_a_year_tells_how_far_beds_sink_at_most_and_what_it_takes():
    rows = top_up_rows(plan(TOP_UPS, (year(), year(2, volumes=(("compost", 0.04),)))))
    assert rows == [
        {"year": "1", "drop": "9 cm", "with": "300 L compost", "cost": "12.50"},
        {"year": "2", "drop": "2 cm", "with": "40 L compost", "cost": "12.50"},
    ]
    several = top_up_rows(plan(TOP_UPS, (year(volumes=(("compost", 0.3), ("topsoil", 0.6))),)))
    assert several[0]["with"] == "0.30 m³ compost, 0.60 m³ topsoil"  # one unit for all


@pytest.mark.parametrize(("there", "said"), [
    (0.0, "300 L compost"), (0.0004, "300 L compost"), (0.0006, "300 L compost (1 L on hand)"), (0.12, "300 L compost (120 L on hand)"),
    (0.29, "300 L compost (290 L on hand)"), (0.3, "300 L compost (on hand)"), (0.299_995, "300 L compost (on hand)"),
    (0.4, "300 L compost (on hand)"),
])  # fmt: skip
def test_what_is_on_hand_is_told(there, said):
    assert top_up_rows(plan(TOP_UPS, (year(there=(("compost", there),)),)))[0]["with"] == said
    assert top_up_rows(plan(TOP_UPS, (year(there=(("topsoil", 9.0),)),)))[0]["with"] == "300 L compost"


@pytest.mark.parametrize(("cost", "lacking", "said"), [
    (None, ("compost",), "no offer"), (0.0, (), "0.00"), (1234.5, (), "1,234.50"), (3.0, ("topsoil", "bark"), "3.00, no offer of topsoil and bark"),
])  # fmt: skip
def test_a_year_without_an_offer_has_no_cost(cost, lacking, said):
    assert top_up_rows(plan(TOP_UPS, (year(cost=cost, lacking=lacking),)))[0]["cost"] == said


def test_each_bed_by_itself():
    found = plan(TOP_UPS)
    assert bed_top_up_line(found, "north") == (
        "autumn 1: it has sunk 6 cm, bring 100 L compost; autumn 2: it has sunk 2 cm, bring 40 L compost"
    )
    south = "autumn 1: it has sunk 9 cm, bring 300 L compost, 200 L topsoil"
    assert bed_top_up_line(found, "south") == south
    assert bed_top_up_line(found, "east") == ""
    # of a bed's volumes all have one unit, whatever other beds take
    large = (TopUp(bed="north", year=1, drop=0.1, volumes=(("compost", 0.6), ("topsoil", 0.1))), TOP_UPS[1])
    assert bed_top_up_line(plan(large), "north").endswith("bring 0.60 m³ compost, 0.10 m³ topsoil")
    assert bed_top_up_line(plan(large), "south") == south


def test_full_beds_and_the_others():
    found = plan(TOP_UPS)
    north, south = (f"{name}: {bed_top_up_line(found, name)}" for name in ("north", "south"))
    assert bed_top_up_lines(found) == [north, south]
    assert bed_top_up_lines(found, full=True) == [south]
    assert bed_top_up_lines(found, full=False) == [north]
    assert bed_top_up_lines(plan(TOP_UPS[:1])) == ["north: autumn 1: it has sunk 6 cm, bring 100 L compost"]


def test_what_is_left_over():
    rest = (LeftOver(material="topsoil", at="heap", volume=0.2), LeftOver(material="compost", at="", volume=0.05))
    assert left_over_rows(plan(left_over=rest)) == [
        {"material": "topsoil", "at": "heap", "volume": "200 L"},
        {"material": "compost", "at": "of what is bought", "volume": "50 L"},
    ]
    assert (
        left_over_rows(plan(left_over=(*rest, LeftOver(material="bark", at="heap", volume=2.0))))[0]["volume"]
        == "0.20 m³"
    )
