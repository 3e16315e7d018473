"""Are the records checked when they are made, and do they answer what they are asked?"""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from siteplan.land.constants import Material
from siteplan.land.errors import Fault, InputError, MissingExtraError, SitePlanError
from siteplan.land.features import (
    Bed,
    Building,
    Fence,
    Gate,
    Hedge,
    Keepout,
    Level,
    MonthDay,
    Pile,
    Surface,
    Tap,
    Tree,
    day_of_a_year,
)
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
    WaterSettings,
)
from siteplan.land.spread import Spread
from siteplan.land.terrain import Terrain
from siteplan.land.values import Whole, nearest

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


@pytest.mark.parametrize(("given", "words"), [
    ({"bag": 0.04, "per_delivery": 0.04}, ""), ({"bag": 0.04, "per_delivery": 0.0399}, "per_delivery is 0.0399 m3, less than one bag (0.04 m3)"),
    ({"loose": 0.5, "fetch": 0.5}, ""), ({"loose": 0.5, "fetch": 0.499}, "fetch is 0.499 m3, less than one loose (0.5 m3)"),
    ({"loose": 0.5, "fetch": 0.5, "payload": 100.0}, ""), ({"loose": 0.5, "payload": 100.0}, "payload is what one own trip carries; give fetch"),
    ({"loose": 0.5, "mix": (("a", 0.5), ("b", 0.5000005))}, ""),
    ({"loose": 0.5, "mix": (("a", 0.5), ("b", 0.50001))}, "mix: the shares sum to 1.00001, must sum to 1"),
])  # fmt: skip
def test_what_an_offer_may_be(given, words):
    if words:
        with pytest.raises(ValueError, match=re.escape(words)):
            Offer(material="topsoil", price=4, **given)
    else:
        offer = Offer(material="topsoil", price=4, **given)
        assert offer.size == given.get("bag", given.get("loose"))


@pytest.mark.parametrize(("record", "given", "sound"), [
    (SunSettings, {"year": 2026, "need": 8.0, "plenty": 8.0}, True), (SunSettings, {"year": 2026, "need": 8.1, "plenty": 8.0}, False),
    (Building, {"height": 3, "base": 2.9}, True), (Building, {"height": 3, "base": 1, "eaves": 1}, True),
    (Building, {"height": 3, "base": 1, "eaves": 3}, True), (Building, {"height": 3, "eaves": 3.1}, False),
    (Bed, {"height": 0.4, "crop_height": 0.5}, True), (Bed, {"height": 0.4, "crop_height": 0.4}, False),
    (Bed, {"height": 0.4, "trellis_height": 0.41}, True), (Bed, {"height": 0.4, "rows": "along"}, False),
    (Bed, {"height": 0.4, "rows": "along", "crop_height": 1.0}, True),
])  # fmt: skip
def test_what_may_stand_together(record, given, sound):
    shape = {} if record is SunSettings else {"id": "x", "outline": SQUARE}
    if sound:
        record(**shape, **given)
    else:
        with pytest.raises(ValueError, match=r"need is|eaves is|crop_height|rows shade"):
            record(**shape, **given)


def test_the_days_of_a_season():
    season = Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(9, 28))
    assert [season.holds(day, 2026) for day in (129, 130, 271, 272)] == [False, True, True, False]
    south = Season(last_frost=MonthDay(9, 28), first_frost=MonthDay(5, 10))
    assert [south.holds(day, 2026) for day in (130, 131, 270, 271, 365, 1)] == [True, False, False, True, True, True]
    one = Season(last_frost=MonthDay(5, 10), first_frost=MonthDay(5, 10))
    assert [one.holds(day, 2026) for day in (129, 130, 131)] == [False, True, False]


def test_a_site_in_a_line(tiny_yard):
    assert not dataclasses.replace(tiny_yard, frame=dataclasses.replace(tiny_yard.frame, latitude=0.0)).southern
    south = dataclasses.replace(tiny_yard, frame=dataclasses.replace(tiny_yard.frame, latitude=-0.1))
    assert south.southern
    assert "latitude -0.1000, longitude 8.0000" in repr(south)
    assert day_of_a_year(2, 29) == MonthDay(2, 29)
    assert day_of_a_year(2, 30) is None


@pytest.mark.parametrize(("record", "figures"), [  # what counts where nothing is said, and both ends of the range
    (Building, {
        "height": (..., "above", 0, 500), "base": (0, "from", 0, 500), "transmittance": (0, "from", 0, 1),
        "eaves": (None, "from", 0, 500), "ridge_heading": (None, "from", -360, 360),
    }),
    (Tree, {
        "height": (..., "above", 0, 500), "crown_base": (..., "from", 0, 500),
        "transmittance_leafy": (0.05, "from", 0, 1), "transmittance_bare": (0.45, "from", 0, 1),
        "transmittance_path": (6, "above", 0, 60), "trunk_diameter": (None, "above", 0, 15),
    }),
    (Hedge, {
        "height": (..., "above", 0, 500), "transmittance": (0.1, "from", 0, 1),
        "transmittance_path": (1, "above", 0, 60),
    }),
    (Fence, {
        "height": (..., "above", 0, 500), "thickness": (0.04, "above", 0, 10), "transmittance": (0, "from", 0, 1),
        "base": (0, "from", 0, 500),
    }),
    (Gate, {
        "width": (..., "above", 0, 50),
    }),
    (Tap, {
        "hose_length": (None, "above", 0, 1000),
    }),
    (Bed, {
        "height": (math.nan, "above", 0, 3), "wall_thickness": (0.0381, "from", 0, 1),
        "trellis_height": (None, "above", 0, 10), "crop_height": (None, "above", 0, 10),
        "need": (None, "from", 0, 16), "row_spacing": (0.6, "from", 0.1, 10),
    }),
    (Keepout, {
        "setback": (0, "from", 0, 100),
    }),
    (Level, {
        "elevation": (..., "from", -1000, 9000),
    }),
    (SunSettings, {
        "cell": (0.25, "from", 0.05, 20), "step": (1 / 6, "from", 1 / 120, 1), "year": (..., "from", 1950, 2100),
        "need": (6, "above", 0, 16), "plenty": (8, "above", 0, 24),
    }),
    (Barrow, {
        "volume": (0.085, "from", 0.005, 2), "load": (80, "from", 1, 1000), "width": (0.65, "from", 0.1, 3),
        "clearance": (0.1, "from", 0, 1), "max_grade": (0.125, "above", 0, 1), "mass": (18, "above", 0, 300),
        "count": (1, "from", 1, 20),
    }),
    (Labour, {
        "people": (1, "from", 1, 100), "hours_per_day": (4, "above", 0, 16), "body_mass": (80, "from", 20, 300),
    }),
    (HaulSettings, {
        "loaded_speed": (3 / 3.6, "from", 0.1, 3), "empty_speed": (4.5 / 3.6, "from", 0.1, 3),
        "tip_time": (0.75 / 60, "from", 0, 0.5), "bag_time": (1 / 60, "from", 0, 0.5),
        "shovel_pace": (1, "from", 0.1, 10), "rest": (1 / 6, "from", 0, 0.75), "lorry_width": (2.5, "from", 1, 4),
        "heap_angle": (35, "from", 10, 60), "delivery_day": (1, "from", 1, 365),
        "board_price": (None, "from", 0, 1000000), "board_length": (None, "from", 0.3, 10),
    }),
    (FillSettings, {
        "storage": (math.inf, "above", 0, math.inf), "bag_handling": (0, "from", 0, 1000000),
    }),
    (WaterSettings, {
        "flow": (None, "above", 0, 6), "weekly": (0.0254, "above", 0, 0.2), "efficiency": (1, "above", 0, 1),
    }),
    (SoilSettings, {
        "lead": (None, "from", 0, 100000),
    }),
    (Stock, {
        "volume": (..., "above", 0, 1000), "each_year": (0, "from", 0, 1000),
    }),
    (Offer, {
        "price": (..., "from", 0, 1000000000.0), "bag": (None, "from", 0.0005, 2),
        "loose": (None, "from", 0.001, 100), "minimum": (0, "from", 0, 1000),
        "delivery": (0, "from", 0, 1000000000.0), "per_delivery": (None, "above", 0, 1000),
        "fetch": (None, "above", 0, 100), "payload": (None, "above", 0, 50000),
    }),
    (PlaceSettings, {
        "length": (2.4384, "from", 0.1, 100), "width": (1.2192, "from", 0.1, 100),
        "height": (0.4572, "above", 0, 3), "count": (3, "from", 1, 50), "wall_setback": (0.6, "from", 0, 20),
        "boundary_setback": (0.3, "from", 0, 20), "aisle": (0.61, "from", 0, 10),
        "barrow_aisle": (0.91, "from", 0, 10), "max_slope": (0.15, "above", 0, 1),
        "weight_worst": (0.5, "from", 0, 1), "weight_wheeling": (0.5, "from", 0, 100),
        "weight_water": (0.01, "from", 0, 100), "weight_beyond_hose": (0.02, "from", 0, 100),
        "weight_door": (0.005, "from", 0, 100), "weight_levelling": (0.5, "from", 0, 100),
    }),
])  # fmt: skip
def test_figures_where_nothing_is_said_and_their_ranges(record, figures):
    fields = fields_of(record)
    for name, (default, begins, low, high) in figures.items():
        field = fields[name]
        if default is ...:
            assert field.required
        else:
            assert field.default == default or (field.default != field.default and default != default)  # noqa: PLR0124
        step = 1 if isinstance(field.rule, Whole) else 1e-6
        assert bool(field.fault(low)) is (begins == "above" and field.default != low), name
        assert field.fault(low - step), name
        assert not field.fault(low + step), name
        if high < math.inf:
            assert not field.fault(high), name
            assert field.fault(high + (1 if high > 1e6 else step)), name


@pytest.mark.parametrize(("record", "flags"), [
    (HaulSettings, ("wet", "off_lawn", "tip_anywhere")), (PlaceSettings, ("accessible",)), (Bed, ("proposed", "filled")),
    (Pile, ("drop",)),
])  # fmt: skip
def test_what_is_not_said_is_not_so(record, flags):
    assert [fields_of(record)[name].default for name in flags] == [False] * len(flags)
    assert {name for name, one in fields_of(record).items() if one.default is True} == set()
