"""Layers, spreads, weather, walls and points of a survey: what each record lets through, and what it answers."""

from __future__ import annotations

import dataclasses
import datetime as dt
import re

import numpy as np
import pytest
from shapely import box

from siteplan.land.alike import MOST, MOST_IN_DOCUMENT, first_of_each_kind, gist
from siteplan.land.constants import Albedo, Crop, Crown, Material, RollingSurface
from siteplan.land.layers import (
    COARSE,
    LOW_LAYERS,
    USUAL_LAYERS,
    LayerSpec,
    NamedRecipe,
    Recipe,
    shares_faults,
)
from siteplan.land.nested import Ring, Several
from siteplan.land.record import fields_of
from siteplan.land.returns import IGNORED, Flight, Returns, concatenated
from siteplan.land.spread import Measured, Spread, split_spread, spread_days, spread_size
from siteplan.land.tiers import Tier
from siteplan.land.units import length_unit
from siteplan.land.walls import COMMON_LENGTHS, PIECES, PieceOffer, WallSettings
from siteplan.land.weather import Air, Weather


def layer(share, **given):
    return LayerSpec(**{"material": "m", "fraction": share} | given)


@pytest.mark.parametrize(("layers", "words"), [
    ([layer(0.333), layer(0.333), layer(0.333)], ""),  # a thousandth short
    ([layer(0.3329), layer(0.333), layer(0.333)], "layers: the fractions 0.3329 + 0.333 + 0.333 sum to 0.9989, must sum to 1"),
    ([layer(0.5), layer(0.5009)], ""),
    ([layer(0.5), layer(0.5011)], "layers: the fractions 0.5 + 0.5011 sum to 1.0011, must sum to 1"),
    ([layer(0.4), layer(None, thickness=0.1)], ""),
    ([layer(1.0), layer(None, thickness=0.1)], ""),
    ([layer(0.6), layer(0.5), layer(None, thickness=0.1)],
     "layers: the fractions 0.6 + 0.5 sum to 1.1, must sum to at most 1 beside a thickness"),
    ([layer(None, thickness=0.1)], ""),
    ([], ""),
])  # fmt: skip
def test_the_shares_of_layers(layers, words):
    assert [*shares_faults(layers)] == ([words] if words else [])
    for make in (lambda: Recipe(layers=tuple(layers)), lambda: NamedRecipe(name="n", layers=tuple(layers))):
        if words:
            with pytest.raises(ValueError, match=re.escape(words)):
                make()
        else:
            assert make().layers == tuple(layers)


@pytest.mark.parametrize(("height", "first", "count"), [
    (0.2, "topsoil", 3), (0.4489, "topsoil", 3), (0.449, COARSE, 4), (0.4572, COARSE, 4), (1.0, COARSE, 4),
])  # fmt: skip
def test_a_low_bed_has_no_coarse_base(height, first, count):
    layers = Recipe().layers_at(height)
    assert (layers[0].material, len(layers)) == (first, count)
    own = (layer(1.0),)
    assert Recipe(layers=own).layers_at(height) == own


def test_the_usual_layers():
    """Three eighths coarse, as much topsoil, then compost and castings; without the first, in the same proportion."""
    assert {one.material: one.fraction for one in USUAL_LAYERS} == {
        "coarse organic": 0.375, "topsoil": 0.375, "compost": 0.2083, "worm castings": 0.0417,
    }  # fmt: skip
    rest = 1 - 0.375
    for low, usual in zip(LOW_LAYERS, USUAL_LAYERS[1:], strict=True):
        assert low.material == usual.material
        assert low.fraction == pytest.approx(usual.fraction / rest, abs=1e-4)


def test_a_blend_is_shared_out():
    assert LayerSpec(material="own", fraction=1.0, mix=(("a", 1.0), ("b", 3.0))).parts == (("a", 0.25), ("b", 0.75))
    assert LayerSpec(material="own", fraction=1.0).parts == (("own", 1.0),)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Post(Measured):
    height: float
    count: int = 1


@pytest.mark.parametrize(("below", "above", "sound"), [
    (0.0, 0.0, True), (2.0, 5.0, True), (2.001, 0.0, False), (-0.001, 0.0, False), (0.0, -0.001, False),
    (0.0, np.inf, False), (np.nan, 0.0, False),
])  # fmt: skip
def test_a_spread_is_no_larger_than_its_value(below, above, sound):
    spread = Spread(of="height", below=below, above=above)
    assert spread.how == "given"
    if sound:
        assert Post(height=2.0, spreads=(spread,)).measured == "typed"
    else:
        with pytest.raises(
            ValueError, match=r"height has a spread of .* below and .* above, must be at least 0, and"
        ):
            Post(height=2.0, spreads=(spread,))


def test_the_spread_of_a_day_or_a_place_has_no_value_beside_it():
    assert Post(height=2.0, spreads=(Spread(of="position", below=5.0, above=5.0),)).position_spread is None
    assert Post(height=2.0, spreads=(Spread(of="count", below=5.0, above=5.0),)).height_from == ""


@pytest.mark.parametrize(("text", "value", "spread"), [
    ("24 ft+-2 ft", "24 ft", "2 ft"), ("24 ft +/- 2 ft", "24 ft", "2 ft"), ("24 ft ±10%", "24 ft", "10%"),
    ("24 ft + - 2 ft", "24 ft", "2 ft"), ("24 ft +-", "24 ft", "?"), ("24 ft ± ", "24 ft", "?"), ("24-2", "24-2", ""),
    (24.0, 24.0, ""), (None, None, ""),
])  # fmt: skip
def test_a_value_and_its_spread(text, value, spread):
    assert split_spread(text) == (value, spread)


FEET = length_unit("ft")


@pytest.mark.parametrize(("text", "value", "number", "dimension", "size"), [
    ("", "24 ft", 7.3152, "length", None),
    ("2 ft", "24 ft", 7.3152, "length", 0.6096),
    ("10 %", "24 ft", 7.3152, "length", 0.73152),
    ("100 %", "24 ft", 7.3152, "length", 7.3152),
    ("24 ft", "24 ft", 7.3152, "length", 7.3152),
    ("0 ft", "24 ft", 7.3152, "length", 0.0),
    ("2", "24", 7.3152, "length", 0.6096),  # both in the drawing's feet
    ("2", 24, 7.3152, "length", 0.6096),
    ("5 %", "20 %", 0.2, "fraction", 0.05),  # of a share, points
    ("0.05", "0.2", 0.2, "fraction", 0.05),
    ("5", "20", 20.0, "mass", 5.0),
    ("10 %", "20", 20.0, "mass", 2.0),
])  # fmt: skip
def test_how_large_a_spread_is(text, value, number, dimension, size):
    found = spread_size(text, value, number, dimension, plain=FEET)
    assert found == (size if size is None else pytest.approx(size, rel=1e-12))
    assert found is None or found <= number


@pytest.mark.parametrize(("text", "value", "words"), [
    ("2", "24 ft", "the spread of 2 has no unit; give one, such as +- 2 ft, or +- 10 %"),
    ("-2 ft", "24 ft", "the spread of -2 ft is below 0"),
    ("-1 %", "24 ft", "the spread of -1 % is below 0"),
    ("24.001 ft", "24 ft", "the spread of 24.001 ft is more than the value, 24 ft; say how far off it may be"),
    ("101 %", "24 ft", "the spread of 101 % is more than the value, 24 ft"),
    ("9 kg", "24 ft", "'9 kg' is a mass, not a length"),
])  # fmt: skip
def test_what_is_no_spread(text, value, words):
    with pytest.raises(ValueError, match=re.escape(words)):
        spread_size(text, value, 7.3152, "length", plain=FEET)


@pytest.mark.parametrize(("text", "days"), [
    ("", None), ("0 days", 0.0), ("1 day", 1.0), ("7d", 7.0), ("2.5 days", 2.5), ("60 days", 60.0),
])  # fmt: skip
def test_a_spread_of_days(text, days):
    assert spread_days(text) == days


@pytest.mark.parametrize("text", ["60.5 days", "61 d", "7", "a week", "-3 days", "3 months"])
def test_what_is_no_spread_of_days(text):
    with pytest.raises(ValueError, match=r"must be days, at most 60, such as \+- 10 days"):
        spread_days(text)


def weather(**given):
    hours = {key: np.zeros(8760) for key in ("total", "direct", "diffuse")}
    place = {"middle": 0.5, "latitude": 1.0, "longitude": 2.0, "elevation": None, "name": "n", "file": "f"}
    return Weather(**hours | place | given)


def test_a_year_of_radiation():
    assert weather().total.shape == (8760,)
    low = np.zeros(8760)
    low[5] = -0.1
    gap = np.zeros(8760)
    gap[5] = np.nan
    for key in ("total", "direct", "diffuse"):
        with pytest.raises(ValueError, match=rf"{key} has the shape \(8784,\), must be \(8760,\)"):
            weather(**{key: np.zeros(8784)})
        for wrong in (low, gap):
            with pytest.raises(ValueError, match=f"{key} must be finite and at least 0 W/m2"):
                weather(**{key: wrong})


def test_the_air_over_a_place():
    assert Air(turbidity=np.ones(366), altitude=0.0).altitude == 0
    thin = np.ones(366)
    thin[100] = 0.99
    for wrong in (np.ones(365), thin, np.full(366, np.nan)):
        with pytest.raises(ValueError, match="turbidity must be 366 values of at least 1"):
            Air(turbidity=wrong, altitude=0.0)


def test_walls_by_default():
    """A saw cut of 3 mm, a joint of 10 mm; boards of 8, 10, 12 and 16 ft or 2.4 to 4.8 m."""
    walls = WallSettings()
    assert (walls.kind, walls.kerf, walls.joint, walls.board_lengths, walls.board_widths) == (
        "timber",
        0.003,
        0.01,
        (),
        (),
    )
    assert COMMON_LENGTHS["imperial"] == pytest.approx((2.4384, 3.048, 3.6576, 4.8768))
    assert COMMON_LENGTHS["metric"] == (2.4, 3.0, 3.6, 4.8)
    assert PIECES == ("board", "post", "screws", "block")
    for one in ({"block_length": 0.44}, {"block_height": 0.215}):
        with pytest.raises(ValueError, match="give both block_length and block_height, or neither"):
            WallSettings(**one)
    assert WallSettings(block_length=0.44, block_height=0.215).block_height == 0.215


@pytest.mark.parametrize(("material", "given", "words"), [
    ("board", {"length": 2.4, "width": 0.2}, ()),
    ("board", {"length": 2.4}, ("width is missing; a board is sold by it",)),
    ("board", {}, ("length is missing; a board is sold by it", "width is missing; a board is sold by it")),
    ("post", {"length": 2.4}, ()),
    ("post", {}, ("length is missing; a post is sold by it",)),
    ("post", {"length": 2.4, "width": 0.1}, ("width says nothing of post; leave it out",)),
    ("screws", {"pieces": 100}, ()),
    ("screws", {"length": 0.1}, ("length says nothing of screws; leave it out",)),
    ("block", {"width": 0.1}, ("width says nothing of block; leave it out",)),
])  # fmt: skip
def test_what_is_sold_by_the_piece(material, given, words):
    if not words:
        offer = PieceOffer(material=material, price=1.0, **given)
        assert (offer.pieces, offer.name) == (given.get("pieces", 1), "")
        return
    with pytest.raises(ValueError, match=r"leave it out|missing") as caught:
        PieceOffer(material=material, price=1.0, **given)
    assert str(caught.value).splitlines() == [*words]


@pytest.mark.parametrize(("record", "field", "sound", "wrong"), [
    (PieceOffer, "width", (0.0105, 1.0), (0.01, 1.01)), (PieceOffer, "length", (0.001, 20.0), (0.0, 20.1)),
    (PieceOffer, "pieces", (1, 100_000), (0, 100_001)), (PieceOffer, "price", (0.0, 1e9), (-0.01, 1.1e9)),
    (WallSettings, "kerf", (0.0, 0.02), (-0.001, 0.021)), (WallSettings, "joint", (0.0, 0.05), (-0.001, 0.051)),
    (WallSettings, "block_length", (0.021, 3.0), (0.02, 3.01)), (WallSettings, "block_height", (0.021, 1.0), (0.02, 1.01)),
    (WallSettings, "board_widths", ((0.0105, 1.0),), ((0.01,), (1.01,))),
    (WallSettings, "board_lengths", ((0.001, 20.0),), ((0.0,), (20.1,))),
    (LayerSpec, "fraction", (0.001, 1.0), (0.0, 1.01)), (LayerSpec, "thickness", (0.001, 3.0), (0.0, 3.01)),
    (Post, "position_spread", (0.0, 20.0), (-0.01, 20.1)), (Tier, "inset", (0.0, 50.0), (-0.01, 50.1)),
    (Tier, "height", (0.001, 3.0), (0.0, 3.01)),
    (Material, "density", (0.1, 3000), (0, 3001)), (Material, "density_wet", (0.1, 3000), (0, 3001)),
    (Material, "settling_first", (0, 0.99), (-0.01, 1.0)), (Material, "settling_later", (0, 0.99), (-0.01, 1.0)),
    (Material, "shovel_rate", (0.01, 20), (0, 20.1)), (Material, "carbon_nitrogen", (1, 2000), (0.9, 2001)),
    (RollingSurface, "rolling", (0.01, 1), (0, 1.01)), (RollingSurface, "pace", (0.01, 1), (0, 1.01)),
    (Crop, "light_least", (0, 16), (-0.1, 16.1)), (Crop, "bed_depth", (0.01, 2), (0, 2.01)),
    (Crop, "root_depth_high", (0.01, 5), (0, 5.01)), (Crown, "transmittance_leafy", (0.01, 1), (0, 1.01)),
    (Albedo, "albedo", (0.01, 1), (0, 1.01)),
])  # fmt: skip
def test_the_ends_of_each_range(record, field, sound, wrong):
    rule = fields_of(record)[field]
    assert [rule.fault(value) for value in sound] == [""] * len(sound)
    assert all(rule.fault(value).startswith(f"{field} is ") for value in wrong)


def test_points_of_a_survey():
    """Classes of the ASPRS standard: 0 and 1 none, 2 ground, 6 building, 7 and 18 noise, 8 key points."""
    kinds = np.array([0, 1, 2, 6, 7, 8, 18], dtype=np.uint8)
    every = np.arange(7)
    some = Returns(every + 0.1, every + 0.2, every + 0.3, kinds, every > 2, every > 4)
    assert some.as_unclassified().kind.tolist() == [1, 1, 1, 1, 7, 1, 18]
    assert some.as_unclassified().kind.dtype == np.uint8
    assert some.as_unclassified().z.tolist() == some.z.tolist()
    chosen = some.subset(every > 4)
    assert [getattr(chosen, name).tolist() for name in ("x", "y", "z", "kind", "last", "several")] == [
        [5.1, 6.1], [5.2, 6.2], [5.3, 6.3], [8, 18], [True, True], [True, True],
    ]  # fmt: skip
    assert len(chosen) == 2
    again = concatenated([some.subset(every <= 4), chosen])
    assert all(np.array_equal(getattr(again, name), getattr(some, name)) for name in vars(some))
    assert len(concatenated([])) == 0
    assert set(IGNORED) == {10, 11, 13, 14, 15, 16, 17, 26}
    assert (Flight().by_pulses, Flight(first=dt.date(2020, 1, 1)).source) == (False, "laser")


def test_messages_of_one_kind():
    assert gist("'a' is -1.5 m, \"b\" is +2,000.5") == "_ is _ m, _ is _"
    words = [f"a{number}" for number in range(13)] + ["b1"]
    told = first_of_each_kind(words, lambda word: word[0], lambda word, count: f"{count} more from {word}")
    assert told == [*words[:10], "3 more from a10", "b1"]
    assert first_of_each_kind(words[:11], lambda word: word[0], "{}{}".format) == words[:11]  # one is no less
    assert (MOST, MOST_IN_DOCUMENT) == (10, 100)


def test_values_that_hold_others():
    assert Ring().fault(box(0, 0, 1, 1), "x") == ""
    assert Ring().fault([[0, 0]], "x") == "x is [[0, 0]], must be a polygon"
    tiers = Several(Tier, "tier", "[...]")
    assert tiers.span == "a list of tiers"
    assert tiers.fault((Tier(height=0.2),), "x") == ""
    assert tiers.fault((), "x") == ""
    assert tiers.fault([Tier(height=0.2)], "x").endswith("must be a tuple of Tier")
    assert tiers.fault((Tier(height=0.2), 1), "x").endswith("must be a tuple of Tier")
