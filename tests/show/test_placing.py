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
from siteplan.place.merit.levelling import Levelling
from siteplan.place.merit.sensitivity import Change, Sensitivity
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.place.reasons.landmarks import Whereabouts
from siteplan.say.place_limits import limit_text
from siteplan.say.place_reasons import choice_texts, counting_sentence, steady_sentence, where_text, why
from siteplan.say.placing import (
    crop_sentences,
    heading_sentence,
    proof_sentence,
    shift_sentence,
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
    headings = headings_with([6.0, 6.9, 6.4], obstacle=[None, barred("bed", "herb-bed"), barred("bed", "herb-bed")])
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


def test_differences_that_are_hardly_any_are_not_told(drawn_plan):
    """Five hundredths of an hour, a minute, a metre of hose or way."""
    found, here = drawn_plan.places, {"season_sun_h": 6.5, "worst_cell_sun_h": 6.0, "sun_h": 6.25}
    little = other(7.5, 7.0, 6.29)
    assert not [one for one in reasons(found, **here, sunniest=little) if "sunniest spot" in one]
    more = other(7.5, 7.0, 6.31, north=0.4, more_minutes=0.9, more_water_m=0.9, more_door_m=0.9)
    (said,) = [one for one in reasons(found, **here, sunniest=more) if "sunniest spot" in one]
    assert said == "has 0.1 h less useful sun than the sunniest spot (7.5 h, 7.0 h at its darkest spot)"
    more = other(7.5, 7.0, 6.31, east=-0.6, north=0.0, more_minutes=1.1, more_water_m=1.1, more_door_m=1.1)
    (said,) = [one for one in reasons(found, **here, sunniest=more) if "sunniest spot" in one]
    assert said.startswith("has 0.1 h less useful sun than the sunniest spot, 0.6 m to the west (7.5 h")
    assert said.endswith("and saves 1 min of wheeling, 1.1 m of hose and 1.1 m of the way to the door")
    for longer, told in (
        (6.54, "no other spot that fits has more sun"),
        (6.56, "no other spot that fits has more useful sun"),
    ):
        assert any(one.startswith(told) for one in reasons(found, **here, longest=other(longer, 5.0, 6.0)))
    for counting, told in (
        (6.29, "as much useful sun"),
        (6.31, "0.1 h less useful sun"),
        (6.19, "0.1 h more useful sun"),
    ):
        assert any(one.startswith(told) for one in reasons(found, **here, first=other(6.5, 6.0, counting)))


def test_sun_that_is_too_little_for_the_crops_is_told_as_it_is_printed(drawn_plan):
    found = dataclasses.replace(drawn_plan.places, need=6.0)
    for hours, enough in ((5.94, False), (5.96, True)):
        said = reasons(found, season_sun_h=hours, worst_cell_sun_h=5.0)[0]
        assert ("less than the 6.0 h that its crops want" in said) is not enough
    assert "over April and May" in reasons(dataclasses.replace(found, months=(4, 5)))[0]


def test_where_a_place_lies(drawn_plan):
    def told(**more):
        where = Whereabouts(**{"landmark": "door", "distance": 0.31, "east": 3.0, "north": 3.0} | more)
        return where_text(where, "metric")

    assert told() == "0.3 m northeast of door"
    assert told(distance=0.29) == "beside door"
    assert told(distance=5.0, between=("shed", "maple")) == "5 m northeast of door, between shed and maple"
    assert "it lies beside door" in reasons(
        drawn_plan.places, where=Whereabouts(landmark="door", distance=0.1, east=1.0, north=1.0)
    )


def test_what_the_ground_under_a_place_takes(drawn_plan):
    def told(drop):
        ground = Levelling(drop=drop, slope=0.1, cut=0.25, fill=0.25, lower_board=0.5)
        return [one for one in reasons(drawn_plan.places, levelling=ground) if one.startswith("the ground falls")]

    assert told(0.049) == []
    assert told(0.051)[0].endswith("boards up to 50 cm on the lower side, or 250 L to dig and fill")
    assert told(0.10)[0].endswith("and fill")
    assert told(0.11)[0].endswith("to dig and fill; step it, or cut it in")


def test_the_way_to_water_and_door(drawn_plan):
    found = dataclasses.replace(drawn_plan.places, hose=15.0, walked=True, door_walked=False)
    assert "16 m from the nearest tap on foot, 1.0 m beyond the hose" in reasons(found, water_m=16.0)
    assert "15 m from the nearest tap on foot" in reasons(found, water_m=15.0)
    assert "12 m in a straight line from the door" in reasons(found, door_m=12.0)
    other_way = dataclasses.replace(found, walked=False, door_walked=True)
    assert "15 m from the nearest tap in a straight line" in reasons(other_way, water_m=15.0)
    assert "12 m to walk from the door" in reasons(other_way, door_m=12.0)
    bare = reasons(found, water_m=float("nan"), door_m=float("nan"), minutes=float("nan"), where=None)
    assert not [one for one in bare if "tap" in one or "door" in one or "wheeling" in one]


def test_a_trellis_stands_in_the_north_of_its_bed_north_of_the_equator(drawn_plan):
    found = drawn_plan.places
    bed = dataclasses.replace(found.bed, trellis_height=1.8, trellis_side=None)
    for southern, side in ((False, "north"), (True, "south")):
        said = reasons(dataclasses.replace(found, bed=bed, southern=southern))
        assert any(one.startswith(f"its trellis stands along the {side} side, so that the noon sun") for one in said)
    assert not [
        one
        for one in reasons(dataclasses.replace(found, bed=dataclasses.replace(bed, trellis_side=90.0)))
        if "trellis" in one
    ]


def steady(*changes):
    made = tuple(
        Change(weight=weight, factor=factor, east=east, north=0.0, heading=0.0, loss_h=loss, stays=stays)
        for weight, factor, east, loss, stays in changes
    )
    return steady_sentence(Sensitivity(changes=made), "metric")


def test_whether_the_first_choice_stays_the_best():
    assert steady_sentence(None, "metric") == ""
    assert steady(("water", 2.0, 9.0, 0.3, True)).startswith("the first choice stays the best when any one weight")
    said = steady(
        ("water", 2.0, 9.0, 0.3, False), ("wheeling", 0.5, -7.0, 0.4, False), ("wheeling", 2.0, 5.0, 0.1, False),
        ("door", 2.0, 20.0, 0.9, True),
    )  # fmt: skip
    assert said == (
        "with half the weight on wheeling the best spot lies 7 m to the west; staying costs what is worth 0.4 h of sun "
        "a day; 1 other weight would move it too"
    )
    assert "with twice the weight on water" not in said
    assert steady(("water", 2.0, 9.0, 0.3, False)).startswith("with twice the weight on the way to the water")
    assert "would move it too" not in steady(("water", 2.0, 9.0, 0.3, False))


def headings_with(season, *, obstacle, current=0, best=0, worst=None, **more):
    season = np.array(season, dtype=float)
    return Headings(
        bed="b", heading=np.arange(len(season)) * 45.0, season_h=season,
        worst_h=np.full(len(season), 5.0) if worst is None else np.array(worst, dtype=float), month_h=np.ones((len(season), 12)),
        score=season * 10, current=current, best=best, obstacle=tuple(obstacle), **more,
    )  # fmt: skip


def turning(season, *, fits=None, **more):
    fits = [True] * len(season) if fits is None else fits
    return heading_sentence(
        headings_with(season, obstacle=[None if fit else barred("building", "shed") for fit in fits], **more)
    )


def test_what_turning_brings():
    assert turning([6.0, 6.09]) == "turning it makes no difference here (0.1 h at most)"
    assert turning([6.2, 6.0]) == "no heading that fits is better; the worst would cost it 0.2 h a day"
    assert turning([6.0, 6.11]) == "turning it makes no difference here (0.1 h at most)"
    assert (
        turning([6.0, 6.5], best=1)
        == "turned to 45° (northeast to southwest) it gets 0.5 h more sun a day over the season"
    )
    assert turning([6.0, 5.8], best=1).endswith("it gets 0.2 h less sun a day over the season")
    assert turning([6.0, 6.5], best=1, worst=[5.0, 5.06]).endswith(", and 0.1 h more at its darkest spot")
    assert turning([6.0, 6.5], best=1, worst=[5.0, 5.04]).endswith("over the season")
    assert turning([6.0, 6.5], fits=[False, False]).startswith("no heading fits here, not even its own")
    assert turning([6.0, 6.5], fits=[True, False]) == "it cannot be turned here: no other heading fits"
    assert turning([0.04, 0.0]).startswith("no sun to speak of reaches it")
    assert not turning([0.06, 0.0]).startswith("no sun to speak of")


@pytest.mark.parametrize(("gain", "rows", "said"), [
    (0.2, "along", "; rows across would bring 0.2 h more sun between them"),
    (-0.2, "across", "; rows along would bring 0.2 h less sun between them"),
    (0.04, "along", "; rows across would bring no more between them"), (-0.04, "along", "; rows across would bring no more between them"),
])  # fmt: skip
def test_what_rows_the_other_way_bring(gain, rows, said):
    assert turning([6.2, 6.0], rows_gain_h=gain, rows=rows).endswith(said)


def test_a_bed_in_the_way_counts_from_a_twentieth_of_an_hour_on():
    shut = headings_with([6.0, 6.04, 6.02], obstacle=[None, barred("bed", "herbs"), barred("building", "shed")])
    assert heading_sentence(shut).endswith("none of the headings that it bars would bring more")
    more = dataclasses.replace(shut, season_h=np.array([6.0, 6.06, 9.0]))
    assert heading_sentence(more).endswith("45° (northeast to southwest) would bring 0.1 h more sun a day")


def test_the_proof_in_all_its_parts(drawn_plan):
    def told(**more):
        figures = {"scanned": 1234, "free": 99, "computed": 7, "gap": 0.0, "search_gap": 0.0, "plenty": 8.0}
        return proof_sentence(dataclasses.replace(drawn_plan.places, **{**figures, **more}))

    assert told() == (
        "1,234 spots were compared on the maps, of which 99 are free. For 7 of them the sun was computed exactly; "
        "another choice among these brings no more sun. By estimate, none of the others brings more"
    )
    assert told(computed=0) == ""
    assert "brings no more sun" in told(gap=0.0006)  # 0.0048 h
    assert "could bring at most 0.01 h more sun" in told(gap=0.0007)
    assert "could bring at most 0.1 h more sun" in told(gap=0.0126)
    assert "brings no more sun" in told(gap=-1.0)
    assert told(search_gap=0.0006).endswith("brings more")
    assert told(search_gap=0.0007).endswith("brings more than 0.01 h more")
    single = dataclasses.replace(drawn_plan.places, places=drawn_plan.places.places[:1])
    assert "another choice" not in proof_sentence(dataclasses.replace(single, gap=0.1))


def test_a_step_that_helps_and_one_that_does_not():
    def step(gain, limit=None, distance=1.0):
        return Shift(
            direction="north", distance=distance, outline=SQUARE, gain_h=gain, worst_gain_h=0, obstacle=limit
        )

    assert (
        shift_sentence(Shifts(bed="b", steps=(step(0.5),), best=step(0.5)), "metric")
        == "moving it 1 m north gives 0.5 h more sun a day"
    )
    assert (
        shift_sentence(Shifts(bed="b", steps=(step(0.0),)), "metric")
        == "moving it 1 m brings no more sun in any direction"
    )
    shut = (step(0.5, barred("door", "d")),)
    assert shift_sentence(Shifts(bed="b", steps=shut), "metric") == "it cannot be moved 1 m in any direction"
