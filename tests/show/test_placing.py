"""Words about places, headings, moves and crops: by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
from shapely import box

from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Move, Moves
from siteplan.say.placing import crop_sentences, moves_sentence, proof_sentence, trade_rows, unfit_sentence


def fit(crop, months, deeper=0.0):
    suits = deeper == 0 and len(months) > 1
    return CropFit(crop=crop, suits=suits, light="enough", months=months, deeper=deeper)


def test_crops_are_told_by_month_depth_and_light():
    said = crop_sentences(
        [fit("pea", (4, 5)), fit("kale", (4, 5)), fit("bean", (6, 7), 0.1), fit("tomato", ())], "metric"
    )
    assert said == [
        "Crops that suit it: pea, kale (Apr to May)",
        "These would suit it too: bean with 10 cm more soil",
        "Too little sun for tomato",
    ]
    assert crop_sentences([fit("tomato", ())], "metric")[0] == "No crop of the table suits it as it is"
    assert crop_sentences([], "metric") == []


def test_headings_that_do_not_fit_are_counted_with_the_commonest_reason():
    obstacle = (None, "block gate g", "stand on building b", "stand on building b")
    four = np.ones(4)
    headings = Headings(
        bed="b", heading=four, season_h=four, worst_h=four, month_h=four, evenness=four, score=four,
        fits=four > 2, obstacle=obstacle, current=0, best_heading=0.0, orientation_score=100.0, sentence="",
    )  # fmt: skip
    assert unfit_sentence(headings) == "3 of 4 headings do not fit: most often it would stand on building b"
    assert unfit_sentence(dataclasses.replace(headings, obstacle=(None,) * 4)) == ""


def test_steps_are_told_in_turn_and_a_second_step_is_not_among_them():
    def step(point, gain, distance, why=None):
        return Move(
            direction=point, distance=distance, outline=box(0, 0, 1, 1), gain_h=gain, worst_gain_h=0, obstacle=why
        )

    moves = Moves(bed="b", moves=(step("north", 0.5, 1.0), step("east", -1.0, 1.0, "x"), step("north", 0.9, 2.0)),
                  best=None, sentence="")  # fmt: skip
    assert moves_sentence(moves, "metric") == (
        "A step of 1.0 m, hours more a day: N +0.5, (E -1.0) (in brackets: does not fit)"
    )


def test_the_proof_and_the_trade_off_are_told(drawn_plan):
    places = dataclasses.replace(drawn_plan.places, tried=12, gap=0.01, search_gap=0.0, plenty=8.0)
    said = proof_sentence(places)
    assert "12 asked of the exact sun" in said
    if len(places.places) > 1:
        assert "at most 0.08 h more a day a bed" in said
    assert proof_sentence(dataclasses.replace(places, places=())) == ""
    assert len(trade_rows(places, "metric")) == len(places.trade_off)
