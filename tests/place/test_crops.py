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
from siteplan.place.crops.crop_fit import season_months, suiting_crops

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
