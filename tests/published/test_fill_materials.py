"""The table of materials against published bulk densities; every figure has its source."""

from __future__ import annotations

import math

import pytest

from siteplan.files.constant_tables import read_materials
from siteplan.land.units import si_value

FLAGS = ("seen", "memory", "common practice, no source", "calculated")


@pytest.mark.parametrize(
    ("pounds_a_yard", "expected"),
    [
        (2400, 1424),  # sand, loose and dry: CalRecycle (seen)
        (2880, 1709),  # sand, damp, 20 % more: CalRecycle (seen)
        (473, 281),  # wood chips, green: Oregon DEQ recovery survey factors (seen)
        (243, 144),  # wood chips, dry: the same (seen)
        (250, 148),  # brush trimmings, loose: US EPA 2016 through ENERGY STAR (seen)
    ],
)
def test_weights_of_a_cubic_yard(pounds_a_yard, expected):
    assert si_value(f"{pounds_a_yard} lb/yd^3", "density") == pytest.approx(expected, abs=1)  # to the kilogram


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("sand", 1424, 1709),  # dry to damp, CalRecycle (seen)
        ("gravel", 1543, 1851),  # dry to wet, CalRecycle (seen)
        (
            "wood chips",
            144,
            356,
        ),  # dry, Oregon DEQ (seen), to chipped brush, Massachusetts factors (seen second-hand)
        ("branches", 148, 297),  # US EPA (seen) to Massachusetts factors (seen second-hand)
        ("topsoil", 1246, 1780),  # loose dry to excavated wet earth, CalRecycle (seen)
        ("compost", 475, 950),  # US Composting Council and National Recycling Coalition (seen second-hand)
        ("leaves", 89, 297),  # loose and dry, collected table, to Oregon DEQ (seen)
        ("cardboard", 62, 64),  # loose corrugated, US EPA 2016 (seen)
        ("straw", 34, 224),  # On-Farm Composting Handbook, NRAES-54, table A.1 (memory)
        ("logs", 360, 700),  # 60 to 70 % of 600 to 1000, USDA Wood Handbook (memory)
        ("peat", 100, 250),  # memory
        ("worm castings", 600, 900),  # memory
        ("garden mix", 900, 1180),  # below saturated, a supplier's measurement (common practice)
    ],
)
def test_moist_densities_lie_within_the_published_ones(name, low, high):
    assert low <= read_materials()[name].density <= high


def test_wet_densities_do_not_pass_what_was_measured():
    table = read_materials()
    assert table["sand"].density_wet == pytest.approx(1424 * 1.3, abs=1)  # +30 % wet, CalRecycle (seen)
    assert table["gravel"].density_wet == pytest.approx(1543 * 1.2, abs=1)  # +20 % wet, CalRecycle (seen)
    assert table["topsoil"].density_wet <= 1780  # excavated wet earth, CalRecycle (seen)
    assert table["leaves"].density_wet == pytest.approx(326, abs=1)  # wet and compacted, collected table (seen)
    assert table["compost"].density_wet <= 1000


def test_coarse_organic_is_three_parts_branches_to_one_of_chips():
    table = read_materials()
    blend, branches, chips = table["coarse organic"], table["branches"], table["wood chips"]
    for figure in ("density", "density_wet", "settling_first", "settling_later"):
        expected = (3 * getattr(branches, figure) + getattr(chips, figure)) / 4
        assert getattr(blend, figure) == pytest.approx(expected, rel=1e-12)  # exact but for floats


@pytest.mark.parametrize("material", read_materials().values(), ids=list(read_materials()))
def test_every_figure_has_a_source_and_a_flag(material):
    said = " ".join(part.strip() for part in material.source.split(";"))
    for figure in ("density", "density_wet", "settling_first", "settling_later", "shovel_rate"):
        assert figure in said
    assert any(flag in said for flag in FLAGS)
    assert "\n" not in material.source
    assert all(
        math.isfinite(value)
        for value in (material.density, material.density_wet, material.settling_first, material.settling_later)
    )


def test_carbon_to_nitrogen():
    # a farming text: straw 60 to 80, leaves 60, cardboard 350, wood chips 400, grass 20; fresh sawdust 500: Missouri
    # Department of Conservation 1994 (seen)
    table = read_materials()
    assert 60 <= table["straw"].carbon_nitrogen <= 80
    expected = {"leaves": 60, "cardboard": 350, "wood chips": 400, "grass clippings": 20, "sawdust": 500}
    assert {name: table[name].carbon_nitrogen for name in expected} == expected
    for material in table.values():
        assert (material.carbon_nitrogen is None) == ("carbon_nitrogen" not in material.source)


def test_first_year_losses_within_what_is_told():
    # common practice, no source: topsoil 10 %, compost 20, castings 15, chips 20, branches 15, logs 5, leaves and
    # straw 50 to 60, cardboard 80 to 100; composting loses 50 to 60 % of volume (an extension news column, 2020)
    table = read_materials()
    expected = {
        "topsoil": 0.10, "compost": 0.20, "worm castings": 0.15, "wood chips": 0.20, "branches": 0.15, "logs": 0.05,
    }  # fmt: skip
    assert {name: table[name].settling_first for name in expected} == expected
    assert all(0.5 <= table[name].settling_first <= 0.6 for name in ("leaves", "straw"))
    assert 0.8 <= table["cardboard"].settling_first < 1


def test_what_may_touch_what():
    # fresh manure: nothing eaten for 90 or 120 days, 7 CFR 205.203(c) (seen second-hand); fresh wood binds nitrogen where
    # it is mixed in, Missouri Department of Conservation 1994 (seen)
    table = read_materials()
    assert {name for name, material in table.items() if material.touches == "nothing"} == {"fresh manure"}
    assert all(table[name].touches == "below" for name in table if table[name].kind == "coarse")
    assert table["cardboard"].touches == "ground"
    assert all("touches:" in material.source for material in table.values())
