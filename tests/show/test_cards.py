"""What the cards of the map say, by hand."""

from __future__ import annotations

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString, box

from siteplan.fill.fill_results import Layer
from siteplan.show.map import cards


def test_bounds_are_told_to_the_centimetre():
    assert cards.bounds_of(box(0.1234, -1.0051, 2.005001, 3.999)) == [0.12, -1.01, 2.01, 4.0]


@pytest.mark.parametrize(("hours", "enough"), [(5.94, False), (5.96, True), (6.0, True)])
def test_a_bed_has_enough_sun_from_its_need_on(drawn_plan, hours, enough):
    report = drawn_plan.beds[0]
    report = replace(report, sun=replace(report.sun, season_sun_h=hours))
    card = cards.bed_cards(replace(drawn_plan, beds=(report,)))[0]
    assert (card["sun"]["need"], card["sun"]["enough"]) == ("6.0 h", enough)


def test_only_what_was_asked_is_on_a_bed_s_card(drawn_plan):
    asked = cards.bed_cards(drawn_plan)[0]
    assert asked["headings"]["sentence"]
    assert asked["light"]["season"].endswith(" mol/m² a day")
    report = replace(drawn_plan.beds[0], headings=None, light=None)
    card = cards.bed_cards(replace(drawn_plan, beds=(report,)))[0]
    assert (card.get("headings"), card["light"], card["move"]) == (None, None, "")
    bare = cards.bed_cards(replace(drawn_plan, beds=()))[0]
    assert (bare["sun"], bare["crops"]) == (None, [])


def test_a_bed_s_layers_and_loads_are_added_up(drawn_plan):
    """Two layers of 100 lb and of a cubic yard each; another bed's are left out."""
    one = Layer(
        bed="north bed", order=0, material="soil", bottom=0, top=0.2, volume=0.764555, mass=45.359237, settled=0.1
    )
    fill = replace(drawn_plan.fill, layers=(one, replace(one, order=1), replace(one, bed="west bed")))
    load = next(load for load in drawn_plan.haul.loads if load.bed == "north bed")
    loads = (
        replace(load, trips=3, from_id=""), replace(load, trips=4, from_id="bins"), replace(load, trips=9, bed="west bed"),
    )  # fmt: skip
    card = cards.bed_cards(replace(drawn_plan, fill=fill, haul=replace(drawn_plan.haul, loads=loads)))[0]
    assert (card["mass"], card["volume"], card["trips"]) == ("200 lb", "2.00 yd³", 7)
    assert [(row["from"], row["trips"]) for row in card["loads"]] == [("delivery", 3), ("bins", 4)]
    empty = cards.bed_cards(replace(drawn_plan, fill=None, haul=None))[0]
    assert (empty["mass"], empty["volume"], empty["loads"], empty["trips"]) == ("", "", [], 0)


def test_a_place_s_corners_by_two_tapes(drawn_plan):
    card = cards.place_cards(drawn_plan)[0]
    assert [row["number"] for row in card["corners"]] == [1, 2, 3, 4]
    assert all({"a", "b", "side"} <= row.keys() for row in card["corners"])
    assert card["unit"] == ""  # no plan was measured
    assert len(card["tapes"]) == 3


def test_a_place_s_corners_where_there_is_nothing_to_tape_from(drawn_plan, monkeypatch):
    monkeypatch.setattr(cards, "set_out", lambda *_: None)
    card = cards.place_cards(drawn_plan)[0]
    assert (card["corners"], card["tapes"]) == ([], ())


def test_a_place_has_its_months_where_they_are_known(drawn_plan):
    first, second, *_ = drawn_plan.places.places
    known = replace(first, month_sun_h=np.full(12, 5.0))
    unknown = replace(second, month_sun_h=None)
    found = cards.place_cards(replace(drawn_plan, places=replace(drawn_plan.places, places=(known, unknown))))
    assert "January 5.0 h" in found[0]["chart"]
    assert found[1]["chart"] is None


def test_a_pile_is_shown_with_a_metre_and_a_half_around_it(drawn_plan):
    bins, apron = cards.pile_cards(drawn_plan)
    assert (bins["key"], bins["find"], bins["drop"]) == ("pile-0", [7.3, -6.0, 11.9, -1.7], False)
    assert (apron["key"], apron["find"], apron["drop"]) == ("pile-1", [3.5, -13.0, 9.5, -7.5], True)


def profile(length, height_at):
    line = LineString([(0, 3), (length, 3)])
    plan = SimpleNamespace(site=SimpleNamespace(terrain=SimpleNamespace(height_at=height_at), units="metric"))
    return cards._profile(plan, SimpleNamespace(line=line, length_m=length))


def test_a_profile_runs_from_end_to_end():
    """A ramp of a tenth: 59 m rise 5.9 m; the heights are read every metre."""
    drawn = profile(59.0, lambda x, _: x / 10)
    assert "5.90 m from low to high" in drawn
    points = re.search('d="M4 58.0L([^"]+)V', drawn)[1].split("L")
    assert len(points) == 60
    assert (points[0], points[-1]) == ("4.0 52.0", "284.0 12.0")
    assert profile(0.5, lambda x, _: x / 10) is not None  # a short way has one too


def test_a_profile_wants_two_heights():
    assert profile(59.0, lambda x, _: np.where(x < 1.5, x, np.nan)) is not None  # at 0 and 1 m
    assert profile(59.0, lambda x, _: np.where(x < 0.5, x, np.nan)) is None
