"""A bed's light in words, with another figure in each month and for each kind of light. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.say import lighting as said
from siteplan.sun.light.daily_light import BedLight, Light

MONTHS = np.arange(13.0)  # the thirteenth is the season


def light(direct, diffuse=0.0, bright=0.0, reflected=0.0):
    return Light(MONTHS + direct, MONTHS + diffuse, MONTHS + bright, reflected_kwh_m2=MONTHS + reflected)


CLEAR, TYPICAL = light(100, 200, 300, 400), light(1, 2, 3, 4)
BED = BedLight("bed", MONTHS / 100, CLEAR, light(1000), TYPICAL, light(40, 40, 0, 0))


def test_each_column_has_its_month_or_the_season():
    named = dict(zip(said.light_columns(), said.light_values(BED), strict=True))
    assert named["season_sky_share"] == 0.12
    clear = [named[f"season_clear_{kind}_kwh_m2_per_day"] for kind in ("direct", "diffuse", "reflected")]
    assert clear == [112.0, 212.0, 412.0]
    typical = [named[f"season_typical_{kind}_kwh_m2_per_day"] for kind in ("direct", "diffuse", "reflected")]
    assert typical == [13.0, 14.0, 16.0]
    # 7.265 mol for each kWh; 700 kWh in January, 736 in the season, of a typical year 7 and 43
    assert named["jan_clear_dli_mol_m2_per_day"] == pytest.approx(700 * 7.265)
    assert named["dec_clear_dli_mol_m2_per_day"] == pytest.approx(733 * 7.265)
    assert named["season_clear_dli_mol_m2_per_day"] == pytest.approx(736 * 7.265)
    assert named["jan_typical_dli_mol_m2_per_day"] == pytest.approx(7 * 7.265)
    assert named["season_typical_dli_mol_m2_per_day"] == pytest.approx(43 * 7.265)
    assert [named[f"{span}_typical_bright_sun_h"] for span in ("jan", "dec", "season")] == [3.0, 14.0, 15.0]


def plan(*lights, weather=None):
    beds = tuple(SimpleNamespace(bed=SimpleNamespace(id=f"bed {n}"), light=one) for n, one in enumerate(lights))
    return SimpleNamespace(beds=beds, site=SimpleNamespace(weather=weather and SimpleNamespace(file=weather)))


def test_the_facts_of_a_card_are_those_of_the_season():
    """43 kWh of the 116 on open ground (52 direct, 52 from the sky and 12 reflected) are 37 %."""
    assert said.light_facts(BED) == [
        ("Share of the sky seen", "12 %"), ("Share of open ground's light", "37 %"),
        ("Light in a typical year", "43.0 kWh/m² a day"), ("Direct light alone in a typical year", "13.0 kWh/m² a day"),
        ("Light for plants in a typical year", "312 mol/m² a day"), ("Bright sunshine in a typical year", "15.0 h a day"),
    ]  # fmt: skip


def test_a_row_of_the_terminal():
    assert said.light_rows(plan(None, BED)) == [["bed 1", "12 %", "43.0", "13.0", "15.0", "312", "37 %"]]
    assert said.light_sentences(plan(BED, None)) == ["bed 0: bright sunshine in a typical year 15.0 h a day"]


def test_a_line_of_the_sheet():
    assert said.sheet_line(BED).startswith(
        "312 mol/m² of light a day (43.0 kWh/m²), 37 % of open ground, 12 % of the sky seen; plenty for"
    )


def test_light_of_one_bed_is_enough_to_be_told():
    words = "A rough guide, from crops under glass: leafy greens and herbs 12 to 17, fruiting crops 20 to 30 mol/m² a day."
    assert said.sheet_words(plan(None, BED)) == (
        "Below each bed its light for plants in the season on clear days (clouds are left out; they take their share). "
        + words
    )
    assert said.sheet_words(plan(BED, None, weather="w.epw")) == (
        f"Below each bed its light for plants in the season in a typical year, clouds counted. {words}"
    )
    assert said.sheet_words(plan(None)) == ""
    first, *groups = said.light_sources(plan(None, BED))
    assert first == (
        "Light: clear days by Ineichen and Perez (2002), the sky equally bright everywhere, light reflected once by walls; "
        "7.265 mol for each kWh: Faust and Logan (2018), seen."
    )
    assert [one.partition(":")[0] for one in groups] == [
        "Light for leafy greens and herbs",
        "Light for fruiting crops",
    ]
    assert said.light_sources(plan(BED, weather="w.epw"))[0].startswith("Light: the typical year of w.epw, the sky")
    assert said.light_sources(plan(None)) == []


@pytest.mark.parametrize(("mol", "text"), [
    (11.4, "too little for leafy greens and herbs and for fruiting crops"),
    (12.0, "enough for leafy greens and herbs, too little for fruiting crops"),
    (17.0, "plenty for leafy greens and herbs, too little for fruiting crops"),
    (20.0, "plenty for leafy greens and herbs, enough for fruiting crops"),
    (30.0, "plenty for leafy greens and herbs and for fruiting crops"),
])  # fmt: skip
def test_for_whom_light_is_enough(mol, text):
    assert said.light_suits(mol) == text
