"""Crops: the table holds together, and suits a bed by light, month and depth."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.files.constant_tables import read_crops
from siteplan.land.constants import Crop
from siteplan.land.features import MonthDay
from siteplan.land.site import Season
from siteplan.place.crops.crop_fit import CropFit, season_months, suiting_crops
from siteplan.place.crops.crop_light import LIGHT_NEEDS, light_verdict

NORTH = Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(9, 28))
LETTUCE = Crop(
    name="lettuce",
    light_least=3.5,
    light_good=6,
    bed_depth=0.2,
    root_depth_low=0.45,
    root_depth_high=0.45,
    season="cool",
)


def test_every_row_names_its_sources_with_their_flag():
    crops = read_crops().values()
    assert len({crop.name for crop in crops}) == len(crops) >= 20
    for crop in crops:
        assert crop.source.count("seen") >= 1
        assert "common practice, no source" in crop.source


def test_published_light_and_depth():
    # extension lists, seen second-hand: fruiting crops 6 to 8 h, leafy greens from 3 to 4 h, roots and peas from 4 to 5 h;
    # bed depths of 8, 12 and 18 in over usable ground; roots by the UC list: tomato 18 to 48 in
    crops = read_crops()
    assert (crops["tomato"].light_least, crops["tomato"].light_good) == (6, 8)
    assert 3 <= crops["lettuce"].light_least <= 4
    assert 4 <= crops["carrot"].light_least <= 5
    assert crops["tomato"].bed_depth == pytest.approx(18 * 0.0254)
    assert crops["tomato"].root_depth_high == pytest.approx(48 * 0.0254)
    assert {round(crop.bed_depth / 0.0254) for crop in crops.values()} == {8, 12, 18}


def test_light_by_month_decides():
    sun = np.array([1, 2, 3, 3.5, 4, 5, 5, 4, 3, 3.4, 1, 1], dtype=float)
    fit = suiting_crops([LETTUCE], month_sun_h=sun, depth=0.3, season=NORTH)[0]
    assert fit.months == (4, 5, 6, 7, 8)  # April and October count for a cool crop; October has too little
    assert fit.light == "enough"
    assert fit.suits


def test_one_month_alone_is_no_season():
    sun = np.zeros(12)
    sun[5] = 8
    assert not suiting_crops([LETTUCE], month_sun_h=sun, depth=0.3, season=NORTH)[0].suits


def test_what_would_fit_if_the_bed_were_deeper():
    shallow = suiting_crops([LETTUCE], month_sun_h=np.full(12, 7.0), depth=0.15, season=NORTH)[0]
    assert not shallow.suits
    assert shallow.deeper == pytest.approx(0.05)
    paved = suiting_crops([LETTUCE], month_sun_h=np.full(12, 7.0), depth=0.2, season=NORTH, on_paving=True)[0]
    assert paved.deeper == pytest.approx(6 * 0.0254)


def test_the_season_turns_round_in_the_south():
    south = Season(last_frost=MonthDay(10, 15), first_frost=MonthDay(4, 20))
    assert season_months(south) == (10, 11, 12, 1, 2, 3, 4)
    assert season_months(south, cool=True) == (9, 10, 11, 12, 1, 2, 3, 4, 5)


@settings(deadline=None, max_examples=25)
@given(st.lists(st.floats(0, 14), min_size=12, max_size=12), st.floats(0.1, 0.6))
def test_more_light_and_depth_never_take_a_crop_away(sun, depth):
    crops = read_crops().values()
    before = {fit.crop for fit in suiting_crops(crops, month_sun_h=sun, depth=depth, season=NORTH) if fit.suits}
    brighter = [hours + 1 for hours in sun]
    after = {
        fit.crop for fit in suiting_crops(crops, month_sun_h=brighter, depth=depth + 0.1, season=NORTH) if fit.suits
    }
    assert before <= after


def test_a_crop_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="light_good"):
        dataclasses.replace(LETTUCE, light_good=2)


def test_where_no_frost_comes_every_month_is_in_season():
    always = Season(last_frost=MonthDay(1, 1), first_frost=MonthDay(12, 31))
    for cool in (False, True):
        assert season_months(always, cool=cool) == tuple(range(1, 13))


@pytest.mark.parametrize(("last", "first", "warm", "cool"), [
    ((5, 10), (9, 28), (5, 6, 7, 8, 9), (4, 5, 6, 7, 8, 9, 10)),
    ((5, 15), (9, 15), (5, 6, 7, 8, 9), (4, 5, 6, 7, 8, 9, 10)),  # the middle of a month counts
    ((5, 16), (9, 14), (6, 7, 8), (5, 6, 7, 8, 9)),
    ((12, 10), (1, 20), (12, 1), (11, 12, 1, 2)),
    ((1, 20), (12, 10), (2, 3, 4, 5, 6, 7, 8, 9, 10, 11), tuple(range(1, 13))),
    ((1, 20), (12, 20), tuple(range(2, 13)), (1, *range(2, 13))),
    ((6, 16), (7, 14), (), ()),  # no middle of a month lies between the frosts
    ((7, 1), (7, 31), (7,), (6, 7, 8)),
])  # fmt: skip
def test_the_months_between_the_frosts(last, first, warm, cool):
    season = Season(last_frost=MonthDay(*last), first_frost=MonthDay(*first))
    assert season_months(season) == warm
    assert season_months(season, cool=True) == cool


@pytest.mark.parametrize(("hours", "light", "months"), [
    (6.0, "good", 7), (5.9, "enough", 7), (3.5, "enough", 7), (3.4, "too little", 0),
])  # fmt: skip
def test_enough_light_and_good_light(hours, light, months):
    (fit,) = suiting_crops([LETTUCE], month_sun_h=np.full(12, hours), depth=0.3, season=NORTH)
    assert (fit.light, len(fit.months), fit.suits) == (light, months, months > 0)


def test_without_a_season_nothing_is_light_enough():
    never = Season(last_frost=MonthDay(6, 16), first_frost=MonthDay(7, 14))
    (fit,) = suiting_crops([LETTUCE], month_sun_h=np.full(12, 14.0), depth=0.3, season=never)
    assert (fit.light, fit.months, fit.suits) == ("too little", (), False)


@pytest.mark.parametrize(("depth", "ground", "paved", "deeper"), [
    (0.2, 0.0, False, 0.0), (0.19996, 0.0, False, 0.0), (0.1999, 0.0, False, 0.0001), (0.1, 0.1, False, 0.0),
    (0.1, 0.05, False, 0.05), (0.35, 0.0, True, 0.0024), (0.3524, 0.0, True, 0.0),
])  # fmt: skip
def test_how_much_deeper_a_bed_would_have_to_be(depth, ground, paved, deeper):
    (fit,) = suiting_crops(
        [LETTUCE], month_sun_h=np.full(12, 7.0), depth=depth, season=NORTH, on_paving=paved, ground=ground
    )
    assert fit.deeper == pytest.approx(deeper)
    assert fit.suits is (deeper == 0)
    assert fit.ground == ground


def test_crops_that_suit_come_first_then_the_shallowest_then_the_longest():
    def crop(name, depth, least=3.5, season="cool"):
        return dataclasses.replace(
            LETTUCE, name=name, bed_depth=depth, light_least=least, light_good=9, season=season
        )

    crops = [
        crop("deep", 0.5),
        crop("short", 0.2, season="warm"),
        crop("deeper", 0.6),
        crop("long", 0.2),
        crop("dark", 0.2, 8),
    ]
    fits = suiting_crops(crops, month_sun_h=np.full(12, 7.0), depth=0.3, season=NORTH)
    assert [fit.crop for fit in fits] == ["long", "short", "dark", "deep", "deeper"]


@pytest.mark.parametrize(("months", "lit"), [
    ((), False), ((5,), False), ((5, 7), False), ((5, 6), True), ((12, 1), True), ((1, 12), True), ((11, 1), False), ((4, 7, 8), True),
])  # fmt: skip
def test_two_successive_months_make_a_season(months, lit):
    assert CropFit(crop="x", suits=False, light="enough", months=months, deeper=0.0).lit is lit


@pytest.mark.parametrize(("light", "greens", "fruit"), [
    (11.4, "too little", "too little"), (11.6, "enough", "too little"), (16.4, "enough", "too little"),
    (16.6, "plenty", "too little"), (19.4, "plenty", "too little"), (19.6, "plenty", "enough"), (29.4, "plenty", "enough"),
    (29.6, "plenty", "plenty"),
])  # fmt: skip
def test_light_for_groups_of_crops(light, greens, fruit):
    """12 to 17 mol/m2 a day for leafy greens, 20 to 30 for tomato and the like: their sources stand in the table."""
    assert [light_verdict(light, need) for need in LIGHT_NEEDS] == [greens, fruit]
