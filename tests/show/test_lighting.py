"""Is a bed's light said everywhere with its unit, and plainly with clouds or without?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rasterio

from siteplan.files.outputs.output import plain
from siteplan.land.weather import Weather
from siteplan.say.lighting import (
    LIGHT_HEADS,
    cloud_sentence,
    guide_sentence,
    light_columns,
    light_facts,
    light_rows,
    light_sentences,
    light_sources,
    light_title,
    light_values,
    sheet_line,
    sheet_words,
)
from siteplan.show.map.cards import bed_cards
from siteplan.show.tables.document import light_document, weather_document
from siteplan.show.writing import write_answers
from siteplan.sun.light.daily_light import BedLight, Light

CLEAR = Light(np.full(13, 4.0), np.full(13, 1.0), np.full(13, 7.0))
TYPICAL = Light(np.full(13, 2.5), np.full(13, 1.5), np.full(13, 4.9))
YEARS = {"clear": CLEAR, "typical": TYPICAL}
OPEN = Light(np.full(13, 4.0), np.full(13, 4.0), np.full(13, 8.0))
SHARE = np.full(13, 0.67)


@pytest.fixture
def cloudless(drawn_plan):
    light = BedLight("north bed", SHARE, CLEAR, OPEN)
    return replace(drawn_plan, beds=(replace(drawn_plan.beds[0], light=light),))


@pytest.fixture
def cloudy(drawn_plan):
    dark = np.zeros(8760)
    weather = Weather(
        total=dark, direct=dark, diffuse=dark, middle=0.5, latitude=40.0, longitude=-105.0, elevation=None,
        name="Larkspur Field", file="weather.epw",
    )  # fmt: skip
    light = BedLight("north bed", SHARE, CLEAR, OPEN, TYPICAL, OPEN)
    site = replace(drawn_plan.site, weather=weather)
    return replace(drawn_plan, site=site, beds=(replace(drawn_plan.beds[0], light=light),))


def test_document_holds_months_and_season_with_units(cloudy):
    held = plain(light_document(cloudy.beds[0].light, cloudy.site))
    assert held["season_sky_share"] == 0.67
    typical = held["typical_year"]
    assert typical["season_direct_kwh_m2_per_day"] == 2.5
    assert typical["season_bright_sun_h"] == 4.9
    assert typical["month_dli_mol_m2_per_day"] == pytest.approx([7.265 * 4.0] * 12)
    assert held["season_share_of_open_ground"] == 0.5
    assert held["clouds_counted"] is True
    assert len(held["month_sky_share"]) == 12


def test_without_a_weather_file_it_says_plainly_that_clouds_are_left_out(cloudless):
    assert light_document(cloudless.beds[0].light, cloudless.site)["typical_year"] is None
    assert cloud_sentence(cloudless).startswith("Clouds are left out")
    assert "clear" in light_title(cloudless)
    assert light_sentences(cloudless) == []
    assert weather_document(cloudless)["typical_year"] is None
    facts = dict(light_facts(cloudless.beds[0].light))
    assert facts["Light for plants on clear days"] == "36 mol/m² a day"
    assert not any("typical" in name for name in facts)


def test_with_one_it_says_what_to_expect(cloudy):
    assert light_sentences(cloudy) == ["north bed: bright sunshine in a typical year 4.9 h a day"]
    assert "weather.epw" in cloud_sentence(cloudy)
    assert "typical year" in light_title(cloudy)
    station = weather_document(cloudy)
    assert station["typical_year"]["name"] == "Larkspur Field"
    assert "same from all directions" in station["method"]
    assert dict(light_facts(cloudy.beds[0].light))["Bright sunshine in a typical year"] == "4.9 h a day"


def test_rows_fit_their_heads(cloudy, cloudless):
    assert light_rows(cloudy) == [["north bed", "67 %", "4.0", "2.5", "4.9", "29", "50 %"]]
    assert all(len(row) == len(LIGHT_HEADS) for row in light_rows(cloudless))


def test_table_has_a_value_for_each_column(cloudy, cloudless):
    for light in (None, cloudy.beds[0].light, cloudless.beds[0].light):
        assert len(light_values(light)) == len(light_columns())
    named = dict(zip(light_columns(), light_values(cloudy.beds[0].light), strict=True))
    assert named["season_typical_bright_sun_h"] == 4.9
    assert named["jul_typical_dli_mol_m2_per_day"] == pytest.approx(29.06)
    assert named["season_clear_diffuse_kwh_m2_per_day"] == 1.0


def test_document_holds_each_kind_of_light_by_month_and_season(cloudy):
    quantities = (
        "direct_kwh_m2_per_day", "diffuse_kwh_m2_per_day", "reflected_kwh_m2_per_day", "bright_sun_h",
        "dli_mol_m2_per_day",
    )  # fmt: skip
    by_walls = {year: replace(light, reflected_kwh_m2=np.full(13, 0.25)) for year, light in YEARS.items()}
    light = replace(cloudy.beds[0].light, **by_walls)
    held = light_document(light, cloudy.site)
    named = dict(zip(light_columns(), light_values(light), strict=True))
    assert named["season_clear_reflected_kwh_m2_per_day"] == named["season_typical_reflected_kwh_m2_per_day"] == 0.25
    for year in ("clear_days", "typical_year"):
        assert set(held[year]) == {f"{span}_{quantity}" for span in ("month", "season") for quantity in quantities}
        assert len(held[year]["month_reflected_kwh_m2_per_day"]) == 12
        assert held[year]["season_reflected_kwh_m2_per_day"] == 0.25


def test_what_was_not_asked_is_not_said(drawn_plan):
    assert light_document(None, drawn_plan.site) is None
    assert light_facts(None) == []
    unasked = replace(drawn_plan, beds=tuple(replace(report, light=None) for report in drawn_plan.beds))
    assert light_rows(unasked) == []
    assert sheet_words(unasked) == ""
    assert light_sources(unasked) == []
    assert all(card["light"] is None for card in bed_cards(unasked))


def test_the_guide_says_for_whom_it_is_enough_and_how_rough_it_is(cloudy, cloudless):
    # 5 and 4 kWh/m2 at 7.265 mol each: 36 and 29 mol/m2 a day
    clear, typical = guide_sentence(cloudless.beds[0].light), guide_sentence(cloudy.beds[0].light)
    assert clear.startswith("On clear days plenty for leafy greens and herbs and for fruiting crops.")
    assert typical.startswith("In a typical year plenty for leafy greens and herbs, enough for fruiting crops.")
    for said in (clear, typical):
        assert "rough guide" in said
        assert "12 to 17" in said
        assert "20 to 30" in said


def test_a_line_on_the_sheet_holds_light_share_and_sky(cloudy, cloudless):
    assert sheet_line(cloudy.beds[0].light).startswith(
        "29 mol/m² of light a day (4.0 kWh/m²), 50 % of open ground, 67 % of the sky seen; plenty for leafy greens"
    )
    assert "clouds are left out" in sheet_words(cloudless)
    assert "typical year, clouds counted" in sheet_words(cloudy)
    assert any("weather.epw" in source for source in light_sources(cloudy))
    assert all("seen" in source for source in light_sources(cloudless))


def test_document_says_which_crops_have_light_enough(cloudy):
    groups = plain(light_document(cloudy.beds[0].light, cloudy.site))["season_crop_groups"]
    assert [(group["group"], group["light"]) for group in groups] == [
        ("leafy greens and herbs", "plenty"),
        ("fruiting crops", "enough"),
    ]
    assert groups[1]["least_dli_mol_m2_per_day"] == 20.0
    assert all(group["source"] for group in groups)


def test_a_card_has_the_months(cloudy):
    light = bed_cards(cloudy)[0]["light"]
    assert light["days"] == "in a typical year"
    assert light["season"] == "29 mol/m² a day"
    assert "July 29 of 58" in light["chart"]  # 8 kWh/m2 on open ground


def test_maps_of_light_are_written_with_what_they_mean(drawn_plan, tmp_path):
    write_answers(drawn_plan, tmp_path / "out", command="sun")
    with rasterio.open(tmp_path / "out" / "light.tif") as raster:
        assert raster.count == 6
        assert raster.descriptions[0] == "Share of the sky seen, 0 to 1"
        assert "reflected" in raster.descriptions[3]
        assert "clear" in raster.descriptions[5]
        assert "mol/m2 per day" in raster.descriptions[5]
        share = raster.read(1)
    assert np.nanmax(share) == 0.5
    assert np.isnan(share).any()
    write_answers(replace(drawn_plan, light_maps=None), tmp_path / "none", command="sun")
    assert not (tmp_path / "none" / "light.tif").exists()
