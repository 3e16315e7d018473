"""Words about places, headings, shifts and crops: by hand."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from shapely import box

from siteplan.land.grid import grid_over
from siteplan.place.crops.crop_fit import CropFit
from siteplan.place.headings.headings import Headings
from siteplan.place.headings.shifts import Shift, Shifts
from siteplan.place.limits.limits import Limit, limits
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.say.place_limits import limit_text
from siteplan.say.place_reasons import choice_texts, counting_sentence, why
from siteplan.say.placing import (
    crop_sentences,
    heading_sentence,
    proof_sentence,
    shifts_line,
    trade_rows,
    unfit_sentence,
)

SQUARE = box(0, 0, 1, 1)


def fit(crop, months, deeper=0.0):
    suits = deeper == 0 and len(months) > 1
    return CropFit(crop=crop, suits=suits, light="enough", months=months, deeper=deeper)


def barred(kind, feature, **more):
    return Limit(kind=kind, feature=feature, ground=SQUARE, bare=SQUARE, grid=grid_over(SQUARE, 1), **more)


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
    four = np.ones(4)
    headings = Headings(
        bed="b", heading=four, season_h=four, worst_h=four, month_h=four, score=four, current=0, best=0,
        obstacle=(None, barred("gate", "g"), barred("building", "b"), barred("building", "b")),
    )  # fmt: skip
    assert unfit_sentence(headings, "metric") == (
        "3 of 4 headings do not fit: most often it would stand on building b"
    )
    assert unfit_sentence(dataclasses.replace(headings, obstacle=(None,) * 4), "metric") == ""


def test_a_bed_in_the_way_of_turning_is_told_with_what_moving_both_would_bring():
    hours = np.array([6.0, 6.9, 6.4])
    headings = Headings(
        bed="b", heading=np.array([0.0, 45.0, 90.0]), season_h=hours, worst_h=hours, month_h=np.ones((3, 12)),
        score=hours * 10, current=0, best=0, obstacle=(None, barred("bed", "herb-bed"), barred("bed", "herb-bed")),
    )  # fmt: skip
    assert heading_sentence(headings) == (
        "it cannot be turned here: no other heading fits; were herb-bed moved as well, 45° (northeast to southwest) "
        "would bring 0.9 h more sun a day"
    )
    even = dataclasses.replace(headings, season_h=np.full(3, 6.0), score=np.full(3, 60.0))
    assert heading_sentence(even).endswith(
        "; were herb-bed moved as well, none of the headings that it bars would bring more"
    )
    other = dataclasses.replace(headings, obstacle=(None, barred("building", "shed"), barred("building", "shed")))
    assert heading_sentence(other) == "it cannot be turned here: no other heading fits"


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        (barred("boundary", "", margin=0.3048), "be outside the boundary or within 1 ft of it"),
        (barred("boundary", ""), "be outside the boundary"),
        (barred("fence", "f", margin=0.6096, cause="setback"), "stand on fence f or within 2 ft of it (setback)"),
        (barred("surface", "p", cause="steps"), "lie on steps (p)"),
        (barred("surface", "p", cause="paved"), "lie on paved ground (p)"),
        (barred("keepout", "k", cause="walk", margin=0.3048), "lie on k (walk) or within 1 ft of it"),
        (barred("roots", "oak", cause="stem"), "lie on the roots of oak (12 stem diameters, at most 49 ft)"),
        (barred("roots", "oak", cause="crown"), "lie on the roots of oak (under its crown)"),
        (barred("bed", "b", margin=0.6096), "overlap bed b or leave less than 2 ft beside it"),
        (barred("pile", "{0}", margin=1.0), "lie on pile {0} or in the way to it"),
    ],
)
def test_limits_are_said_with_their_figures(limit, said):
    assert limit_text(limit, "imperial") == said


def test_every_limit_of_a_cluttered_yard_has_words(drawn_site, made_up_maps):
    said = [limit_text(limit, "metric") for limit in limits(drawn_site, made_up_maps.grid)]
    assert len(said) == len(set(said)) > 10


def test_steps_are_told_in_turn_and_a_second_step_is_not_among_them():
    def step(point, gain, distance, limit=None):
        return Shift(direction=point, distance=distance, outline=SQUARE, gain_h=gain, worst_gain_h=0, obstacle=limit)

    steps = (step("north", 0.5, 1.0), step("east", -1.0, 1.0, barred("door", "d")))
    shifts = Shifts(bed="b", steps=steps, further=step("north", 0.9, 2.0))
    assert shifts_line(shifts, "metric") == (
        "A step of 1.0 m, hours more a day: N +0.5, (E -1.0) (in brackets: does not fit)"
    )


def test_the_proof_is_told(drawn_plan):
    places = dataclasses.replace(drawn_plan.places, computed=12, gap=0.01, search_gap=0.0, plenty=8.0)
    said = proof_sentence(places)
    assert "For 12 of them the sun was computed exactly" in said
    assert "at most 0.08 h more sun a day to each bed" in said
    assert proof_sentence(dataclasses.replace(places, places=())) == ""


def other(season, worst, counting, **more):
    figures = {"rank": 0, "east": 0.0, "north": 6.0, "more_minutes": 0.0, "more_water_m": 0.0, "more_door_m": 0.0}
    return OtherSpot(season_sun_h=season, worst_cell_sun_h=worst, sun_h=counting, **{**figures, **more})


def reasons(found, **figures):
    place = dataclasses.replace(found.places[0], **figures)
    return why(place, found, "metric")


def test_sun_beyond_plenty_is_not_called_less(drawn_plan):
    # 9.3 h and 9.0 h here, 10.0 h there: all above 8 h, so that neither is better
    found = drawn_plan.places
    here = {"season_sun_h": 9.3, "worst_cell_sun_h": 9.0, "sun_h": 8.0}
    said = reasons(found, **here, longest=other(10.0, 8.3, 8.0), first=other(9.9, 8.2, 8.0))
    assert "other spots that fit have more sun, up to 10.0 h, but both are above 8 h, where more adds nothing" in said
    assert "as much useful sun as the first choice (both above 8 h)" in said
    assert "no other spot that fits has more sun" in reasons(found, **here)


def test_a_longer_mean_with_a_darker_worst_cell_is_told(drawn_plan):
    # 7.0 h all over count 7.0 h; 7.6 h with 6.0 h in the worst cell count 6.8 h
    here = {"season_sun_h": 7.0, "worst_cell_sun_h": 7.0, "sun_h": 7.0}
    said = reasons(drawn_plan.places, **here, longest=other(7.6, 6.0, 6.8))
    assert "no other spot that fits has more useful sun: one has 7.6 h, but 6.0 h at its darkest spot" in said


def test_what_is_given_up_is_told_with_the_other_spots_figures(drawn_plan):
    here = {"season_sun_h": 6.5, "worst_cell_sun_h": 6.0, "sun_h": 6.25}
    best = other(7.5, 7.0, 7.25, more_minutes=12.0, more_water_m=5.0)
    assert (
        "has 1.0 h less useful sun than the sunniest spot, 6 m to the north (7.5 h, 7.0 h at its darkest spot), "
        "and saves 12 min of wheeling and 5 m of hose" in reasons(drawn_plan.places, **here, sunniest=best)
    )


@pytest.mark.parametrize(
    ("piles", "start"),
    [
        ((), "where a lorry can tip, since no pile is drawn"),
        (("kerb",), "kerb"),
        (("kerb", "drive"), "the nearer of kerb and drive"),
        (("a", "b", "c"), "the nearest of a, b and c"),
    ],
)
def test_wheeling_says_from_where_it_is_counted(drawn_plan, piles, start):
    said = reasons(dataclasses.replace(drawn_plan.places, loads_from=piles))
    assert f"46 min of wheeling to fill it, about 20 trips with the barrow from {start}" in said


def test_the_trade_off_names_places_by_their_number_and_others_by_a_letter(drawn_plan):
    def choice(rank, season, counting, minutes, first=False):
        return Choice(
            rank=rank, outline=SQUARE, x=0, y=0, heading=0, sun_h=counting, season_sun_h=season,
            worst_cell_sun_h=season - 0.5, minutes=minutes, water_m=float("nan"), first=first,
        )  # fmt: skip

    chosen = (choice(0, 9.9, 8.0, 12.0), choice(1, 9.2, 8.0, 9.0, first=True), choice(0, 7.0, 6.75, 3.0))
    found = dataclasses.replace(drawn_plan.places, trade_off=chosen)
    assert [row[:5] for row in trade_rows(found, "metric")] == [
        ["A", "9.9", "9.4", "12 min", "—"],
        ["1", "9.2", "8.7", "9 min", "—"],
        ["B", "7.0", "6.5", "3 min", "—"],
    ]
    assert choice_texts(found, "metric") == [
        "as sunny (both above 8 h), 3 min more wheeling",
        "the first choice",
        "1.2 h less sun, 6 min less wheeling",
    ]
    assert counting_sentence(found) == (
        "Spots are compared by their useful sun, which is counted up to 8 h a day since more adds nothing: "
        "50 % by the darkest spot of a bed, 50 % by its mean"
    )
