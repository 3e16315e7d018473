"""Are the records checked when they are made, and do they answer what they are asked?"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from siteplan.land.constants import Material
from siteplan.land.errors import Fault, InputError, MissingExtraError, SitePlanError
from siteplan.land.features import Bed, Building, Fence, Gate, Hedge, Keepout, MonthDay, Surface, Tap, Tree
from siteplan.land.grid import Grid
from siteplan.land.site import Barrow, Labour, Season, SunSettings
from siteplan.land.terrain import Terrain
from siteplan.land.values import nearest, number_within, one_of

SQUARE = box(0, 0, 1, 1)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Building(id="b", outline=SQUARE, height=0), "height is 0 m, must be above 0"),
        (lambda: Building(id="b", outline=SQUARE, height=501), "at most 500 m"),
        (lambda: Building(id="b", outline=SQUARE, height=3, base=3), "base is 3 m"),
        (lambda: Building(id="b", outline=SQUARE, height=3, base=1, eaves=0.5), "eaves is 0.5 m"),
        (lambda: Building(id="b", outline=SQUARE, height=3, transmittance=1.1), "transmittance is 1.1"),
        (lambda: Tree(id="t", outline=SQUARE, trunk=Point(0, 0), height=3, crown_base=3), "crown_base is 3 m"),
        (lambda: Tree(id="t", outline=SQUARE, trunk=Point(0, 0), height=3, crown_base=1, foliage="x"), "foliage 'x'"),
        (
            lambda: Tree(id="t", outline=SQUARE, trunk=Point(0, 0), height=3, crown_base=1, trunk_diameter=0),
            "trunk_diam",
        ),
        (lambda: Hedge(id="h", outline=SQUARE, height=float("nan")), "height is nan m"),
        (lambda: Fence(id="f", line=LineString([(0, 0), (1, 0)]), height=1, thickness=0), "thickness is 0 m"),
        (lambda: Fence(id="f", line=LineString([(0, 0), (1, 0)]), height=1, base=2), "base is 2 m"),
        (lambda: Surface(id="s", outline=SQUARE, surface="lava"), "surface 'lava' is not known"),
        (lambda: Gate(id="g", place=Point(0, 0), line=LineString([(0, 0), (1, 0)]), width=0), "width is 0 m"),
        (lambda: Tap(id="t", place=Point(0, 0), hose_length=-1), "hose_length is -1 m"),
        (lambda: Bed(id="b", outline=SQUARE, height=3.1), "height is 3.1 m"),
        (lambda: Bed(id="b", outline=SQUARE, height=1, trellis_height=1), "trellis_height is 1 m, must be above"),
        (lambda: Bed(id="b", outline=SQUARE, height=1, need=17), "need is 17 h"),
        (lambda: Keepout(id="k", outline=SQUARE, reason="x", setback=-1), "setback is -1 m"),
        (lambda: SunSettings(year=1900), "year is 1900"),
        (lambda: SunSettings(year=2026, need=9, plenty=8), r"need is 9 h, more than plenty \(8 h\)"),
        (lambda: Barrow(volume=0), "volume is 0 m3"),
        (lambda: Labour(people=0), "people is 0"),
    ],
)
def test_records_refuse_what_cannot_be(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_material_is_no_lighter_when_wet():
    sound = {"kind": "mineral", "settling_first": 0.1, "settling_later": 0.0, "shovel_rate": 0.5}
    with pytest.raises(ValueError, match="density_wet is 900 kg/m3, must be at least 1000"):
        Material(name="m", density=1000, density_wet=900, **sound)


def test_footprint_of_a_fence():
    line = LineString([(0, 0), (10, 0), (10, 5)])
    fence = Fence(id="f", line=line, height=1.8, thickness=0.2)
    # by hand: 10.1 m by 0.2 m with the mitred corner, and 4.9 m by 0.2 m
    assert fence.footprint.area == pytest.approx(3.0)
    assert dataclasses.replace(fence, outline=SQUARE).footprint == SQUARE


@settings(deadline=None, max_examples=50)
@given(st.integers(1, 366), st.integers(1, 366))
def test_season_and_its_reverse_share_only_their_ends(start, end):
    days = [MonthDay(month, day) for month in range(1, 13) for day in range(1, 29)]
    first, second = days[start % len(days)], days[end % len(days)]
    one, other = Season(last_frost=first, first_frost=second), Season(last_frost=second, first_frost=first)
    year = 2026
    ends = {first.day_of_year(year), second.day_of_year(year)}
    for day in range(1, 366):
        both = one.holds(day, year) + other.holds(day, year)
        if first == second:
            assert both == (2 if day in ends else 0)
        else:
            assert both == (2 if day in ends else 1)


def test_month_day_in_a_leap_year():
    assert MonthDay(12, 31).day_of_year(2024) == 366
    assert MonthDay(2, 29).day_of_year(2024) == 60
    assert str(MonthDay(2, 9)) == "02-09"
    assert MonthDay(2, 9) < MonthDay(10, 1)


def test_site_answers(tiny_yard):
    assert not tiny_yard.southern
    assert tiny_yard.bed(tiny_yard.beds[0].id) is tiny_yard.beds[0]
    with pytest.raises(KeyError):
        tiny_yard.bed("nowhere")
    assert [f for f in tiny_yard.features() if isinstance(f, Bed)] == list(tiny_yard.beds)
    assert tiny_yard.ground_at(SQUARE) == 0
    ramp = Terrain(Grid(-10, 10, 1, 20, 20), np.tile(np.arange(20.0), (20, 1)))
    assert dataclasses.replace(tiny_yard, terrain=ramp).ground_at(SQUARE) == pytest.approx(10.0)
    with pytest.raises(ValueError, match="units 'feet'"):
        dataclasses.replace(tiny_yard, units="feet")


def test_errors_carry_all_their_faults_in_one_line_each():
    faults = [Fault("site.toml", "[sun]", "cell is\n 0 m"), Fault("", "", "--length is 0")]
    error = InputError(iter(faults))
    assert error.faults == tuple(faults)
    assert str(error) == "site.toml: [sun]: cell is 0 m\n--length is 0"
    assert isinstance(error, SitePlanError)
    assert issubclass(MissingExtraError, SitePlanError)


def test_checks_say_what_came_and_what_is_allowed():
    assert number_within(0, 0, 1) == 0.0
    with pytest.raises(ValueError, match="share is nan, must be at least 0 and at most 1"):
        number_within(float("nan"), 0, 1, what="share")
    with pytest.raises(ValueError, match=r"kind 'zzz' is not known; \(allowed: a, b\)"):
        one_of("zzz", ["b", "a"], what="kind")
    assert nearest("Crown-Base", ["crown_base", "height"]) == "crown_base"
    assert nearest("", ["height"]) is None
    assert nearest("x" * 100_000, ["height"]) is None
