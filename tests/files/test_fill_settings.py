"""What limits a purchase, how beds are watered, what is in the soil, which bed is full: read, ranged and refused."""

from __future__ import annotations

import datetime as dt
import math
import re

import pytest

from siteplan import read_site
from siteplan.files.new import new_site
from siteplan.files.reader import check_site

GALLON = 3.785411784e-3  # m3, by definition


def test_all_of_it_is_read(yard):
    yard.toml += (
        '[fill]\nstorage = "4 yd^3"\nbag_handling = "0.50 EUR"\n'
        '[water]\nflow = "5 gal/min"\nweekly = "1 in"\nefficiency = "85 %"\n'
        "[soil]\nlead = 150\nmanure_on = 2026-03-01\n"
    )
    yard.features["north"]["properties"]["filled"] = True
    site = read_site(yard.write())
    assert site.fill.storage == pytest.approx(4 * 0.764554857984)  # m3 in a cubic yard, by definition
    assert site.fill.bag_handling == 0.5
    assert site.water.flow == pytest.approx(5 * GALLON * 60)
    assert (site.water.weekly, site.water.efficiency) == (0.0254, 0.85)
    assert (site.soil.lead, site.soil.manure_on) == (150.0, dt.date(2026, 3, 1))
    assert [bed.id for bed in site.beds if bed.filled] == ["north"]


def test_what_is_not_said_limits_nothing(yard):
    site = read_site(yard.write())
    assert (site.fill.storage, site.fill.bag_handling) == (math.inf, 0.0)
    assert (site.water.flow, site.water.weekly, site.water.efficiency) == (None, 0.0254, 1.0)
    assert (site.soil.lead, site.soil.manure_on) == (None, None)
    assert not any(bed.filled for bed in site.beds)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[fill]\nstorage = "4 yd"\n', ["[fill]", "storage", "'4 yd' is a length, not a volume"]),
        ("[fill]\nstorage = 0\n", ["[fill]", "storage is 0 m3, must be above 0"]),
        ("[fill]\nstorge = 1\n", ["[fill]", "'storge' is not known", "did you mean 'storage'?"]),
        ("[fill]\nbag_handling = -1\n", ["[fill]", "bag_handling is -1, must be a plain number"]),
        ('[fill]\nbag_handling = "0.50 USD"\n', ["bag_handling", "in USD, but the site's currency is EUR"]),
        ('[fill]\nbag_handling = "9 EUR / m3"\n', ["bag_handling", "for one bag, not for a volume"]),
        ("[fill]\nbag_handling = 1e8\n", ["bag_handling is 100,000,000", "at most 1,000,000, for one bag"]),
        ("[water]\nflow = 12\n", ["[water]", "flow is 12 m3/h, must be", "at most 6", 'as in "9 L/min"']),
        ("[water]\nflow = 0\n", ["[water]", "flow is 0 m3/h, must be above 0"]),
        ('[water]\nflow = "9 L"\n', ["[water]", "flow", "'9 L' is a volume, not a rate"]),
        ("[water]\nweekly = 25\n", ["[water]", "weekly is 25 m", 'give the unit, as in "18 in"']),
        ("[water]\nefficiency = 0\n", ["[water]", "efficiency is 0, must be above 0"]),
        ("[water]\nfow = 1\n", ["[water]", "'fow' is not known", "did you mean 'flow'?"]),
        ("[soil]\nlead = -5\n", ["[soil]", "lead is -5", "ppm"]),
        ('[soil]\nlead = "much"\n', ["[soil]", "lead: 'much'", "ppm", "soil test"]),
        ("[soil]\nlead = true\n", ["[soil]", "lead: True is not a concentration"]),
        ("[soil]\nlead = nan\n", ["[soil]", "lead: nan is not finite"]),
        ('[soil]\nmanure_on = "03-01"\n', ["[soil]", "manure_on is '03-01'", "such as 2026-03-01"]),
        ("[soil]\nmanure_on = 5\n", ["[soil]", "manure_on is 5", "year, month, day"]),
        ("[soil]\nmanure_on = 0026-03-01\n", ["[soil]", "manure_on is", "such as 2026-03-01"]),
        ("[soil]\nmanure = 2026-03-01\n", ["[soil]", "'manure' is not known", "did you mean 'manure_on'?"]),
    ],
)
def test_one_fault_one_line(yard, text, words):
    yard.toml += text
    lines = yard.faults()
    assert len([line for line in lines if all(word in line for word in words)]) == 1, lines
    assert len(lines) == 1


def test_all_faults_at_once(yard):
    yard.toml += (
        '[fill]\nstorage = "2 kg"\nbag_handling = -1\n[water]\nflow = 99\n[soil]\nlead = "x"\nmanure_on = 1\n'
    )
    assert len(yard.faults()) == 5


def test_a_flag_that_is_none(yard):
    yard.features["north"]["properties"]["filled"] = "half"
    (line,) = yard.faults()
    assert "filled is 'half', must be true or false" in line


def test_full_and_still_to_be_placed_is_a_fault(yard):
    yard.features["north"]["properties"] |= {"filled": True, "proposed": True}
    (line,) = yard.faults()
    assert 'bed "north": is filled and proposed' in line


def test_a_store_in_litres_gets_a_word(yard):
    yard.toml += "[fill]\nstorage = 4\n"
    assert any("storage is 4; a plain number is litres" in one.text for one in check_site(yard.write()).cautions)


def test_the_template_is_sound_with_every_comment_taken_away(tmp_path):
    folder = new_site(tmp_path / "mine")
    settings = folder / "site.toml"
    text = settings.read_text(encoding="utf-8")
    shown = re.sub(
        r"(?m)^# (\[(?:water|soil)\]|(?:storage|bag_handling|flow|weekly|efficiency|lead|manure_on) =)", r"\1", text
    )
    settings.write_text(shown, encoding="utf-8")
    checked = check_site(folder)
    assert checked.faults == ()
    assert checked.site is not None
    assert checked.site.water.flow == pytest.approx(0.72)  # m3/h
    assert checked.site.soil.lead == 60
    assert checked.site.fill.storage == 4


def test_every_figure_of_a_material_can_be_changed(yard):
    yard.toml += '[[material]]\nname = "compost"\ncarbon_nitrogen = 15\ntouches = "below"\n'
    compost = read_site(yard.write()).materials["compost"]
    assert (compost.carbon_nitrogen, compost.touches) == (15, "below")


def test_what_a_material_may_touch_is_a_word_of_a_list(yard):
    yard.toml += '[[material]]\nname = "compost"\ntouches = "root"\n'
    (line,) = yard.faults()
    assert "touches 'root' is not known; did you mean 'roots'?" in line


@pytest.mark.parametrize("given", ["Tomato, lettuce", ["tomato", "lettuce", "tomato"]])
def test_crops_are_named_in_a_text_or_a_list(yard, given):
    yard.features["north"]["properties"]["crops"] = given
    site = read_site(yard.write())
    assert site.bed("north").crops == ("tomato", "lettuce")
    assert site.crops["tomato"].bed_depth == pytest.approx(18 * 0.0254)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("tomatoe", ["'tomatoe' is not known", "did you mean 'tomato'?"]),
        (7, ["crops is 7, must be names with commas"]),
    ],
)
def test_crops_that_are_none(yard, given, words):
    yard.features["north"]["properties"]["crops"] = given
    (line,) = yard.faults()
    assert all(word in line for word in ['bed "north"', *words])


@pytest.mark.parametrize(
    ("table", "where"),
    [
        ('[[offer]]\nloose = "1 yd^3"\nprice = 40\nmix = ', "[[offer]] 5 mix"),
        ('[[recipe]]\nname = "deep"\nlayers = [{{ fraction = 1.0, mix = {} }}]\n', "[[recipe]] 1 layer 1 mix"),
    ],
)
def test_a_blend_with_a_fault_and_without_a_name_is_one_line(yard, table, where):
    mix = "{ topsoil = 0.5, compst = 0.5 }"
    yard.toml += table.format(mix) if "{}" in table else table + mix + "\n"
    assert yard.faults() == [f"site.toml: {where}: 'compst' is not known; did you mean 'compost'?"]
