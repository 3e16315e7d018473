"""Volumes, bags and settling against worked examples in print."""

from __future__ import annotations

import pytest
from shapely import box

from siteplan.files.constant_tables import read_materials
from siteplan.fill.bed_fill import watering
from siteplan.fill.purchase import buy
from siteplan.fill.recipe import fill_layers, volume_needs
from siteplan.fill.settling import loose_volume, settled_volume
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import Offer
from siteplan.land.units import si_value

FOOT, INCH = 0.3048, 0.0254  # m, by definition
CUBIC_FOOT, CUBIC_YARD = FOOT**3, 27 * FOOT**3


def bed(length, width, height):
    """Return a bed whose inside is the nominal size, as the printed examples take it. [m]"""
    return Bed(id="bed", outline=box(0, 0, length, width), height=height, wall_thickness=0)


def volume(length, width, height):
    recipe = Recipe(layers=(LayerSpec(material="topsoil", fraction=1.0),))
    return sum(volume_needs(fill_layers([bed(length, width, height)], recipe, read_materials())).values())


def bags(need, size):
    (line,) = buy(
        {"topsoil": need}, [], [Offer(material="topsoil", price=5, bag=size)], materials=read_materials()
    ).lines
    return line.count


@pytest.mark.parametrize(("inches", "cubic_feet"), [(6, 16), (8, 21.33), (10, 26.67), (12, 32), (18, 48), (24, 64)])
def test_four_by_eight_feet(inches, cubic_feet):
    # several how-to pages give 16 ft3, 32 ft3 and so on for a 4 ft by 8 ft bed (seen); the rest is arithmetic
    found = volume(8 * FOOT, 4 * FOOT, inches * INCH) / CUBIC_FOOT
    assert found == pytest.approx(cubic_feet, abs=0.01)  # printed to two decimals


def test_four_by_eight_feet_in_yards_and_metres():
    assert volume(8 * FOOT, 4 * FOOT, 12 * INCH) / CUBIC_YARD == pytest.approx(1.185, abs=5e-4)  # three decimals
    assert volume(8 * FOOT, 4 * FOOT, 12 * INCH) == pytest.approx(0.9061, abs=5e-5)  # four decimals
    assert volume(8 * FOOT, 4 * FOOT, 24 * INCH) / CUBIC_YARD == pytest.approx(2.370, abs=5e-4)


def test_two_feet_deep_is_not_just_over_one_yard():
    # a garden page prints "just over 1 cubic yard" for 4 ft x 8 ft x 2 ft (seen): it is wrong by more than half
    assert volume(8 * FOOT, 4 * FOOT, 24 * INCH) / CUBIC_YARD > 2


@pytest.mark.parametrize(("cubic_feet", "count"), [(0.75, 36), (1, 27), (1.5, 18), (2, 14), (3, 9)])
def test_bags_in_a_cubic_yard(cubic_feet, count):
    # trade pages: 36, 27, 18, 13.5 and 9 bags of 0.75, 1, 1.5, 2 and 3 ft3 in a cubic yard (seen); half a bag is a bag
    assert bags(CUBIC_YARD, cubic_feet * CUBIC_FOOT) == count


def test_bags_for_a_foot_of_depth():
    assert bags(volume(8 * FOOT, 4 * FOOT, 12 * INCH), 2 * CUBIC_FOOT) == 16


@pytest.mark.parametrize(("inches", "square_feet"), [(1, 324), (2, 162), (3, 108), (4, 81)])
def test_what_a_cubic_yard_covers(inches, square_feet):
    # several trade pages: 324 ft2 at 1 in, 162 at 2, 108 at 3, 81 at 4 (seen)
    found = volume(square_feet / 9 * FOOT, 9 * FOOT, inches * INCH)
    assert found == pytest.approx(CUBIC_YARD, rel=1e-12)  # exact


def test_two_inches_over_a_thousand_square_feet():
    # an Oregon State University leaflet prints 6 to 7 cubic yards (seen)
    assert 6 < volume(40 * FOOT, 25 * FOOT, 2 * INCH) / CUBIC_YARD < 7


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        ("1 lb/yd^3", "density", 0.593276),
        ("1 lb/ft^3", "density", 16.01846),
        ("1 ft^3", "volume", 0.028316847),
        ("1 yd^3", "volume", 0.764554858),
        ("1 lb", "mass", 0.45359237),
    ],
)
def test_units_by_definition(text, dimension, expected):
    # NIST SP 811 (seen second-hand)
    assert si_value(text, dimension) == pytest.approx(expected, rel=1e-6)  # printed to six digits at least


def test_settling_is_divided_and_not_added():
    # a page on filling beds states that 100 settle to 85 (seen); 100 / 0.85 is arithmetic
    assert settled_volume(100, 0.15) == pytest.approx(85)
    assert loose_volume(100, 0.15) == pytest.approx(117.65, abs=0.01)  # printed to two decimals
    assert loose_volume(100, 0.15) != pytest.approx(115, abs=2)  # what adding 15 % gives
    assert settled_volume(115, 0.15) < 98  # and it would fall short


def test_four_by_eight_by_eighteen_inches_as_the_trade_fills_it():
    # common practice, no source: coarse to three eighths, topsoil to three quarters, then compost and castings;
    # the top quarter is 12 ft3: ten bags of 1 ft3 of compost and two of castings
    recipe = Recipe(
        layers=(
            LayerSpec(material="coarse organic", fraction=0.375),
            LayerSpec(material="topsoil", fraction=0.375),
            LayerSpec(material="compost", fraction=0.2083),
            LayerSpec(material="worm castings", fraction=0.0417),
        )
    )
    layers = fill_layers([bed(8 * FOOT, 4 * FOOT, 18 * INCH)], recipe, read_materials())
    top = sum(layer.volume for layer in layers if layer.bottom >= 0.75 * 18 * INCH - 1e-9)
    assert top / CUBIC_FOOT == pytest.approx(12, abs=1e-6)
    assert 1 / 3 <= layers[0].top / (18 * INCH) <= 1 / 2  # the coarse base takes a third to half
    assert layers[1].top == pytest.approx(0.75 * 18 * INCH)
    offers = [Offer(material=name, price=6, bag=CUBIC_FOOT) for name in ("compost", "worm castings")]
    lines = buy(volume_needs(layers), [], offers, materials=read_materials()).lines
    assert [(line.material, line.count) for line in lines if line.kind == "bag"] == [
        ("compost", 10), ("worm castings", 2),
    ]  # fmt: skip


def test_water_an_inch_deep():
    gallon, imperial_gallon = 3.785411784e-3, 4.54609e-3  # m3, by definition
    # watering pages: 218 US gallons on 350 ft2, 62.3 on 100 ft2, 12.5 imperial on 4 x 6 ft (seen); the last calculated
    assert watering(350 * FOOT**2) / gallon == pytest.approx(218, rel=2e-3)
    assert watering(100 * FOOT**2) / gallon == pytest.approx(62.3, rel=2e-3)
    assert watering(24 * FOOT**2) / imperial_gallon == pytest.approx(12.5, rel=4e-3)  # printed to three digits
    assert watering(32 * FOOT**2) / gallon == pytest.approx(19.95, rel=2e-3)
    assert watering(32 * FOOT**2) * 1000 == pytest.approx(75.5, rel=2e-3)
