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
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.record import fields_of
from siteplan.land.site import (
    Barrow,
    FillSettings,
    HaulSettings,
    Labour,
    Offer,
    PlaceSettings,
    Season,
    SoilSettings,
    Stock,
    SunSettings,
)
from siteplan.land.spread import Spread
from siteplan.land.terrain import Terrain
from siteplan.land.values import nearest

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
        (lambda: SunSettings(year=2026, step=0.001), "step is 0.001 h, must be at least 30 s and at most 1 h"),
        (lambda: SunSettings(year=2026, need=9, plenty=8), r"need is 9 h, more than plenty \(8 h\)"),
        (lambda: Barrow(volume=0), "volume is 0 m3"),
        (lambda: Labour(people=0), "people is 0, must be a whole number from 1 to 100"),
        (lambda: Labour(people=1.5), "people is 1.5, must be a whole number"),
        (lambda: Labour(hours_per_day="4 h"), "hours_per_day is '4 h', must be a number"),
        (lambda: HaulSettings(wet="often"), "wet is 'often', must be true or false"),
        (lambda: PlaceSettings(length=-1), "length is -1 m, must be at least 0.1 and at most 100 m"),
        (lambda: PlaceSettings(wall_setback=-0.1), "wall_setback is -0.1 m, must be at least 0"),
        (lambda: PlaceSettings(weight_door=-1), "weight_door is -1, must be at least 0"),
        (lambda: PlaceSettings(count=0), "count is 0, must be a whole number from 1 to 50"),
        (lambda: Stock(material="topsoil", volume=-1, at="heap"), "volume is -1 m3, must be above 0"),
        (lambda: Offer(material="topsoil", price=-4, bag=0.04), "price is -4, must be a plain number such as 5.50"),
        (lambda: Offer(material="topsoil", price=4, bag=-0.04), "bag is -0.04 m3"),
        (lambda: Offer(material="topsoil", price=4), "has neither bag nor loose; give one of them"),
        (lambda: Offer(material="topsoil", price=4, bag=0.04, loose=1), "has both bag and loose; give one of them"),
        (lambda: Offer(material="topsoil", price=4, loose=1, per_delivery=0.5), "per_delivery is 0.5 m3, less than"),
        (lambda: Offer(material="topsoil", price=4, loose=1, payload=500), "give fetch"),
        (lambda: LayerSpec(material="topsoil", fraction=-0.5), "fraction is -0.5, must be above 0 and at most 1"),
        (lambda: LayerSpec(material="topsoil", thickness=-0.5), "thickness is -0.5 m, must be above 0"),
        (lambda: LayerSpec(material="", fraction=1), "material is empty"),
        (lambda: Recipe(layers=(LayerSpec(material="topsoil", fraction=0.9),)), "sum to 0.9, must sum to 1"),
        (lambda: FillSettings(storage=0), "storage is 0 m3, must be above 0"),
        (lambda: SoilSettings(lead=-1), "lead is -1 ppm, must be at least 0"),
        (lambda: MonthDay(13, 1), "month is 13, must be a whole number from 1 to 12"),
        (lambda: MonthDay(2, 30), "February has no day 30"),
        (lambda: Keepout(id="k", outline=SQUARE, reason=""), "reason is empty"),
    ],
)
def test_records_refuse_what_cannot_be(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def test_a_record_names_all_its_faults_at_once():
    with pytest.raises(ValueError, match="height is -1 m") as caught:
        Building(id="b", outline=SQUARE, height=-1, base=-2, transmittance=7)
    assert [line.split()[0] for line in str(caught.value).splitlines()] == ["height", "base", "transmittance"]


def test_every_default_may_be_said():
    for record in (PlaceSettings, HaulSettings, Barrow, Labour, FillSettings, Recipe, SoilSettings):
        assert record(**{name: field.default for name, field in fields_of(record).items()}) == record()


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
    with pytest.raises(ValueError, match="currency is 'euro', must be the three capital letters"):
        dataclasses.replace(tiny_yard, currency="euro")
    with pytest.raises(ValueError, match="units 'feet'"):
        dataclasses.replace(tiny_yard, units="feet")


def test_errors_carry_all_their_faults_in_one_line_each():
    faults = [Fault("site.toml", "[sun]", "cell is\n 0 m"), Fault("", "", "--length is 0")]
    error = InputError(iter(faults))
    assert error.faults == tuple(faults)
    assert str(error) == "site.toml: [sun]: cell is 0 m\n--length is 0"
    assert isinstance(error, SitePlanError)
    assert issubclass(MissingExtraError, SitePlanError)


def test_the_nearest_known_word():
    assert nearest("Crown-Base", ["crown_base", "height"]) == "crown_base"
    assert nearest("", ["height"]) is None
    assert nearest("x" * 100_000, ["height"]) is None


@pytest.mark.parametrize(
    ("below", "above", "sound"),
    [(0, 0.5, True), (0.5, 0, True), (4, 0, True), (4.1, 0, False), (-0.1, 0, False), (0, -0.1, False)],
)
def test_a_spread_lies_between_nothing_and_its_value(below, above, sound):
    def fence():
        return Fence(
            id="f",
            line=LineString([(0, 0), (1, 0)]),
            height=4.0,
            spreads=(Spread(of="height", below=below, above=above),),
        )

    if sound:
        assert fence().spreads[0].below == below
    else:
        with pytest.raises(ValueError, match="height has a spread of"):
            fence()


@pytest.mark.parametrize(("record", "field", "low", "high"), [  # common practice, no source
    (Building, "height", 0.3, 15), (Tree, "height", 1, 35), (Tree, "trunk_diameter", 0.01, 1.5), (Hedge, "height", 0.3, 6),
    (Fence, "height", 0.3, 3), (Fence, "thickness", 0.01, 0.6), (Gate, "width", 0.4, 6), (Tap, "hose_length", 3, 100),
    (Bed, "height", 0.1, 1.2), (Bed, "wall_thickness", 0, 0.3), (Bed, "trellis_height", 0.1, 4), (Bed, "crop_height", 0.1, 4),
    (Barrow, "volume", 0.03, 0.6), (Barrow, "load", 20, 500), (Barrow, "width", 0.3, 1.3), (PlaceSettings, "length", 0.5, 15),
    (PlaceSettings, "height", 0.1, 1.2), (Offer, "bag", 0.005, 2), (Offer, "loose", 0.005, 100),
    (FillSettings, "storage", 0.1, 1000),
])  # fmt: skip
def test_what_is_unusual(record, field, low, high):
    rule = fields_of(record)[field].rule
    usual = [rule.is_usual(value) for value in (low * 0.99 - 1e-9, low * 1.001, high * 0.999, high * 1.01)]
    assert usual == [False, True, True, False]
