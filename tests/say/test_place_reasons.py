"""Why a place was chosen: each reason around its bounds, and at them. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.land.findings import finding
from siteplan.place.merit.levelling import Levelling
from siteplan.place.merit.sensitivity import Change, Sensitivity
from siteplan.place.merit.tradeoff import Choice
from siteplan.place.reasons.comparison import OtherSpot
from siteplan.place.reasons.landmarks import Whereabouts
from siteplan.say import place_reasons as said

NAN = float("nan")


def other(counting=0.0, season=0.0, worst=0.0, **more):
    figures = {"rank": 0, "east": 0.0, "north": 0.0, "more_minutes": NAN, "more_water_m": NAN, "more_door_m": NAN}
    return OtherSpot(season_sun_h=season, worst_cell_sun_h=worst, sun_h=counting, **figures | more)


def place(**more):
    figures = {"sun_h": 0.0, "season_sun_h": 0.0, "worst_cell_sun_h": 0.0, "sunniest": None, "longest": None, "first": None,
               "where": None, "square_to": None, "heading": 90.0, "minutes": NAN, "trips": 1, "water_m": NAN, "door_m": NAN}  # fmt: skip
    return SimpleNamespace(**figures | more)


def search(**more):
    figures = {"plenty": 8.0, "need": 6.0, "months": None, "findings": (), "trade_off": (), "loads_from": (), "hose": 15.0,
               "walked": True, "door_walked": True}  # fmt: skip
    return SimpleNamespace(**figures | more)


@pytest.mark.parametrize(("lost", "text"), [
    (0.04, "these beds hardly shade each other; the hours count what little there is"),
    (0.05, "the hours count the shade that these beds throw on each other; bed 2 loses most by it: 0.1 h a day"),
    (1.26, "the hours count the shade that these beds throw on each other; bed 2 loses most by it: 1.3 h a day"),
])  # fmt: skip
def test_how_much_beds_shade_each_other(lost, text):
    assert said.result_sentences(search(findings=(finding("mutual-shade", rank=2, lost=lost),)), "metric") == (text,)


def test_a_sentence_about_one_bed_names_it():
    found = search(findings=(finding("fewer-fit", "herbs", found=1, count=3), finding("way-kept-open")))
    assert said.result_sentences(found, "metric") == (
        "bed herbs: only 1 of the 3 beds asked for fit without overlapping",
        "spots where a bed would cut off the barrow's way to the ground behind it were left out",
    )


def test_what_a_place_has_of_sun():
    one = place(season_sun_h=6.04, worst_cell_sun_h=5.0)
    assert said._sun(one, search(need=6.0)) == "6.0 h of sun a day over the season, 5.0 h at its darkest spot"
    assert said._sun(one, search(need=6.1, months=(1, 12))) == (
        "6.0 h of sun a day over January and December, 5.0 h at its darkest spot; less than the 6.1 h that its crops "
        "want: grow what bears some shade"
    )


def test_from_thirty_centimetres_on_a_place_lies_off_its_landmark():
    where = Whereabouts(landmark="door", distance=0.3, east=0.0, north=-1.0)
    assert said.where_text(where, "metric") == "0.3 m south of door"


@pytest.mark.parametrize(("more", "text"), [
    (0.05, "has 0.1 h less useful sun than the sunniest spot (6.0 h, 5.0 h at its darkest spot)"),
    (0.052, "has 0.1 h less useful sun than the sunniest spot (6.0 h, 5.0 h at its darkest spot)"),
    (0.049, "no other spot that fits has more sun"),
])  # fmt: skip
def test_the_sunniest_spot_counts_from_a_twentieth_of_an_hour_on(more, text):
    assert said._against_sunniest(place(sunniest=other(more, 6.0, 5.0)), search(), "metric") == text


@pytest.mark.parametrize(("season", "longer", "text"), [
    (0.0, 0.049, "no other spot that fits has more sun"),
    (0.0, 0.05, "no other spot that fits has more useful sun: one has 0.1 h, but 5.0 h at its darkest spot"),
    (0.0, 0.052, "no other spot that fits has more useful sun: one has 0.1 h, but 5.0 h at its darkest spot"),
    (7.9, 9.0, "no other spot that fits has more useful sun: one has 9.0 h, but 5.0 h at its darkest spot"),
    (8.0, 9.0, "other spots that fit have more sun, up to 9.0 h, but both are above 8 h, where more adds nothing"),
])  # fmt: skip
def test_a_spot_with_more_hours_counts_in_the_same_way(season, longer, text):
    one = place(season_sun_h=season, longest=other(0.0, longer, 5.0))
    assert said._against_sunniest(one, search(), "metric") == text


@pytest.mark.parametrize(("gain", "text"), [
    (0.05, "0.1 h more useful sun than the first choice"), (-0.05, "0.1 h less useful sun than the first choice"),
    (0.052, "0.1 h more useful sun than the first choice"), (0.049, "as much useful sun as the first choice"),
    (-0.049, "as much useful sun as the first choice"),
])  # fmt: skip
def test_a_place_beside_the_first_choice(gain, text):
    assert said._sun_against_first(place(sun_h=gain), other(), search()) == text


@pytest.mark.parametrize(("one", "two", "plenty", "text"), [
    (8.0, 9.0, 8.0, " (both above 8 h)"), (9.0, 8.0, 8.0, " (both above 8 h)"), (7.9, 9.0, 8.0, ""), (9.0, 7.9, 8.0, ""),
    (9.0, 9.0, 8.0, ""), (0.0, 0.05, 0.0, " (both above 0 h)"), (0.05, 0.0, 0.0, " (both above 0 h)"),
    (0.0, 0.049, 0.0, ""), (9.0, 9.2, 7.25, " (both above 7.2 h)"),
])  # fmt: skip
def test_hours_beyond_plenty_are_all_alike(one, two, plenty, text):
    assert said._both_plenty(place(season_sun_h=one), other(0.0, two), search(plenty=plenty)) == text


@pytest.mark.parametrize(("east", "north", "text"), [
    (0.3, 0.4, ", 0.5 m to the northeast"), (0.0, -0.52, ", 0.5 m to the south"), (0.0, 0.49, ""), (-3.0, 4.0, ", 5 m to the northwest"),
])  # fmt: skip
def test_another_spot_lies_off_from_half_a_metre_on(east, north, text):
    assert said._away(other(east=east, north=north), "metric") == text


@pytest.mark.parametrize(("more", "text"), [
    ({"more_minutes": 1.0}, ", and saves 1 min of wheeling"), ({"more_minutes": 1.05}, ", and saves 1 min of wheeling"),
    ({"more_minutes": 0.99}, ""), ({"more_water_m": 1.0}, ", and saves 1.0 m of hose"), ({"more_water_m": 0.99}, ""),
    ({"more_water_m": 1.05}, ", and saves 1.1 m of hose"), ({"more_door_m": 1.0}, ", and saves 1.0 m of the way to the door"),
    ({"more_door_m": 1.05}, ", and saves 1.1 m of the way to the door"), ({"more_door_m": 0.99}, ""),
    ({"more_minutes": -9.0, "more_water_m": -9.0, "more_door_m": -9.0}, ""),
])  # fmt: skip
def test_what_a_place_saves_counts_from_a_minute_and_a_metre_on(more, text):
    assert said._saved(other(**more), "metric") == text


def test_of_many_piles_three_are_told():
    told = said._wheeling(place(minutes=46.4, trips=20), search(loads_from=("a", "b", "c", "d", "e")))
    assert (
        told == "46 min of wheeling to fill it, about 20 trips with the barrow from the nearest of a, b, c and 2 more"
    )


@pytest.mark.parametrize(("square_to", "text"), [
    (None, ""), (("fence", "back"), ", square to fence back"), (("boundary", ""), ", square to the boundary"),
])  # fmt: skip
def test_a_long_side_and_what_it_lies_square_to(square_to, text):
    assert said._side(place(square_to=square_to)) == f"its long side runs east to west (heading 90°){text}"


@pytest.mark.parametrize(("drop", "text"), [
    (0.05, "the ground falls 5 cm under it: boards up to 50 cm on the lower side, or 250 L to dig and fill"),
    (0.054, "the ground falls 5 cm under it: boards up to 50 cm on the lower side, or 250 L to dig and fill"),
    (0.1, "the ground falls 10 cm under it: boards up to 50 cm on the lower side, or 250 L to dig and fill"),
    (0.105, "the ground falls 10 cm under it: boards up to 50 cm on the lower side, or 250 L to dig and fill; step it, or cut it in"),
])  # fmt: skip
def test_ground_that_falls_from_five_centimetres_on(drop, text):
    ground = Levelling(drop=drop, slope=0.1, cut=0.25, fill=0.25, lower_board=0.5)
    assert said._level(SimpleNamespace(levelling=ground), "metric") == text


@pytest.mark.parametrize(("height", "side", "southern", "text"), [
    (1.8, None, False, "its trellis stands along the north side, so that the noon sun from the south reaches the bed"),
    (1.8, None, True, "its trellis stands along the south side, so that the noon sun from the north reaches the bed"),
    (1.8, 90.0, False, ""), (None, None, False, ""),
])  # fmt: skip
def test_where_a_trellis_stands(height, side, southern, text):
    bed = SimpleNamespace(trellis_height=height, trellis_side=side)
    assert said._trellis(SimpleNamespace(bed=bed, southern=southern)) == text


def choice(rank=0, counting=0.0, season=0.0, minutes=NAN, water=NAN, first=False):
    return Choice(rank=rank, outline=None, x=0, y=0, heading=0, sun_h=counting, season_sun_h=season, worst_cell_sun_h=0.0,
                  minutes=minutes, water_m=water, first=first)  # fmt: skip


@pytest.mark.parametrize(("figures", "text"), [
    ({"counting": 0.05}, "0.1 h more sun"), ({"counting": -0.05}, "0.1 h less sun"), ({"counting": 0.052}, "0.1 h more sun"),
    ({"counting": 0.049}, "as sunny"), ({"season": 9.0}, "as sunny (both above 8 h)"),
    ({"minutes": 1.0}, "as sunny, 1 min more wheeling"), ({"minutes": -1.0}, "as sunny, 1 min less wheeling"),
    ({"minutes": 1.05}, "as sunny, 1 min more wheeling"), ({"minutes": 0.99}, "as sunny"),
    ({"water": 0.5}, "as sunny, 0.5 m more hose"), ({"water": -0.5}, "as sunny, 0.5 m less hose"),
    ({"water": 0.52}, "as sunny, 0.5 m more hose"), ({"water": 0.49}, "as sunny"),
    ({"counting": 2.0, "minutes": 5.0, "water": -3.0}, "2.0 h more sun, 5 min more wheeling, 3 m less hose"),
])  # fmt: skip
def test_a_choice_beside_the_first(figures, text):
    first = choice(1, season=8.0, minutes=40.0, water=16.0, first=True)
    more = {"minutes": figures.get("minutes", 0.0) + 40.0, "water": figures.get("water", 0.0) + 16.0}
    one = choice(2, **{"season": 8.0} | figures | more)
    found = search(trade_off=(one, first))
    assert said.choice_texts(found, "metric") == [text, "the first choice"]
    assert said.choice_labels(found) == ["2", "1"]


def test_without_a_first_choice_nothing_is_compared():
    found = search(trade_off=(choice(), choice()))
    assert said.choice_texts(found, "metric") == ["the first choice", "the first choice"]
    assert said.choice_labels(found) == ["A", "B"]


def test_how_the_darkest_spot_counts():
    assert said.counting_sentence(search(plenty=8.0, weights=SimpleNamespace(worst=0.25))) == (
        "Spots are compared by their useful sun, which is counted up to 8 h a day since more adds nothing: 25 % by the "
        "darkest spot of a bed, 75 % by its mean"
    )


def steady(*changes):
    made = tuple(
        Change(weight=weight, factor=factor, east=east, north=4.0, heading=0.0, loss_h=0.25, stays=False)
        for weight, factor, east in changes
    )
    return said.steady_sentence(Sensitivity(changes=made), "metric")


def test_a_weight_that_would_move_the_first_choice():
    assert steady(("worst", 0.5, -3.0)) == (
        "with half the weight on the darkest spot of a bed the best spot lies 5 m to the northwest; staying costs what "
        "is worth 0.2 h of sun a day"
    )
    assert steady(("beyond_hose", 2.0, 3.0), ("door", 2.0, 0.0), ("levelling", 0.5, 0.0)) == (
        "with twice the weight on what lies beyond the hose the best spot lies 5 m to the northeast; staying costs what "
        "is worth 0.2 h of sun a day; 2 other weights would move it too"
    )


def test_reasons_are_told_with_the_most_important_first():
    found = search(
        bed=SimpleNamespace(trellis_height=1.8, trellis_side=None), southern=False, loads_from=("heap",), walked=False
    )
    ground = Levelling(drop=0.06, slope=0.1, cut=0.25, fill=0.25, lower_board=0.5)
    where = Whereabouts(landmark="shed", distance=0.1, east=0.0, north=1.0)
    one = place(season_sun_h=7.0, worst_cell_sun_h=6.0, sun_h=6.5, first=other(6.5, 7.0, 6.0, more_minutes=2.0), where=where,
                minutes=30.0, trips=12, water_m=16.5, door_m=4.0, levelling=ground, square_to=("fence", "back"))  # fmt: skip
    assert said.why(one, found, "metric") == (
        "7.0 h of sun a day over the season, 6.0 h at its darkest spot",
        "it lies beside shed",
        "no other spot that fits has more sun",
        "as much useful sun as the first choice, and saves 2 min of wheeling",
        "30 min of wheeling to fill it, about 12 trips with the barrow from heap",
        "16 m from the nearest tap in a straight line, 1.5 m beyond the hose",
        "4 m to walk from the door",
        "its long side runs east to west (heading 90°), square to fence back",
        "the ground falls 6 cm under it: boards up to 50 cm on the lower side, or 250 L to dig and fill",
        "its trellis stands along the north side, so that the noon sun from the south reaches the bed",
    )
