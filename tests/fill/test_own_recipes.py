"""Each bed its own recipe: by name, by its layers, by its height; a coarse base of whatever is on hand; lifts."""

from __future__ import annotations

from dataclasses import replace

import pytest

from siteplan.files.constant_tables import read_materials
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import fill_layers, layers_of, root_layers, soil_depth, volume_needs
from siteplan.fill.settling import top_blend
from siteplan.fill.stock import base_parts
from siteplan.land.features import Bed
from siteplan.land.layers import LOW_LAYERS, USUAL_LAYERS, LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import Stock

MATERIALS = read_materials()
INCH = 0.0254
SOIL_ONLY = (LayerSpec(material="topsoil", fraction=1.0),)


def bed(name="a", height=0.4, **given):
    outline = rectangle(0, 3, length=2.0, width=1.0, heading=90)  # 2 m2
    return Bed(id=name, outline=outline, height=height, wall_thickness=0, **given)


def stock(material, volume):
    return Stock(material=material, volume=volume, at="heap")


def test_a_bed_has_its_own_layers_or_those_of_the_property():
    recipe = Recipe(layers=(LayerSpec(material="compost", fraction=1.0),))
    layers = fill_layers([bed("a"), bed("b", layers=SOIL_ONLY)], recipe, MATERIALS)
    assert [(layer.bed, layer.material) for layer in layers] == [("a", "compost"), ("b", "topsoil")]


def test_a_low_bed_has_no_coarse_base():
    # 12 in is below 18 in; 45 cm and 18 in are not
    assert layers_of(bed(height=12 * INCH), Recipe(), 12 * INCH) == LOW_LAYERS
    assert (
        layers_of(bed(height=0.45), Recipe(), 0.45)
        == layers_of(bed(height=18 * INCH), Recipe(), 18 * INCH)
        == USUAL_LAYERS
    )
    # 2 m2 x 0.3 m = 0.6 m3: 60 % topsoil 0.36, a third compost 0.2, a fifteenth castings 0.04
    needs = volume_needs(fill_layers([bed(height=0.3)], Recipe(), MATERIALS))
    assert needs == pytest.approx({"topsoil": 0.36, "compost": 0.2, "worm castings": 0.04}, abs=1e-3)


def test_layers_that_are_given_hold_for_low_beds_too():
    given = (LayerSpec(material="coarse organic", fraction=0.5), LayerSpec(material="topsoil", fraction=0.5))
    assert layers_of(bed(height=0.2), Recipe(layers=given), 0.2) == given


def test_fractions_of_a_bed_sum_to_one():
    with pytest.raises(ValueError, match="must sum to 1"):
        bed(layers=(LayerSpec(material="topsoil", fraction=0.4),))


def test_what_is_on_hand_makes_up_the_base():
    # wanted 1.0 m3; logs 0.2, branches 0.3, leaves 0.1: 0.4 m3 are still to be found as coarse organic
    heaps = [stock("logs", 0.2), stock("branches", 0.3), stock("leaves", 0.1), stock("topsoil", 5)]
    parts = base_parts({"coarse organic": 1.0, "topsoil": 1.0}, heaps, MATERIALS)
    # what sinks least lies lowest: logs 5 %, branches 15, coarse organic 16, leaves 55
    assert [name for name, _ in parts] == ["logs", "branches", "coarse organic", "leaves"]
    assert dict(parts) == pytest.approx({"logs": 0.2, "branches": 0.3, "coarse organic": 0.4, "leaves": 0.1})


def test_the_stock_is_used_in_its_order_and_no_more_than_is_wanted():
    heaps = [stock("coarse organic", 0.6), stock("straw", 0.3), stock("logs", 9)]
    parts = base_parts({"coarse organic": 1.0}, heaps, MATERIALS)
    assert dict(parts) == pytest.approx({"coarse organic": 0.6, "straw": 0.3, "logs": 0.1})


def test_what_a_layer_wants_for_itself_is_not_in_the_base():
    # 0.5 m3 of leaves lie there, 0.3 are a layer of their own
    parts = base_parts({"coarse organic": 1.0, "leaves": 0.3}, [stock("leaves", 0.5)], MATERIALS)
    assert dict(parts) == pytest.approx({"leaves": 0.2, "coarse organic": 0.8})


def test_without_a_base_or_its_parts_nothing_changes():
    assert base_parts({"topsoil": 1.0}, [stock("logs", 1)], MATERIALS) == ()
    assert base_parts({"coarse organic": 1.0}, [stock("topsoil", 1), stock("sand", 1)], MATERIALS) == ()


def test_the_parts_of_the_base_are_no_soil():
    recipe = Recipe(layers=(LayerSpec(material="coarse organic", fraction=0.5), *[
        LayerSpec(material="topsoil", fraction=0.5)]))  # fmt: skip
    layers = fill_layers([bed()], recipe, MATERIALS, base=(("logs", 0.5), ("leaves", 0.5)))
    # 2 m2 x 0.4 m: base 0.4 m3, of it logs 0.2 and leaves 0.2
    assert [(layer.material, layer.blend, layer.base) for layer in layers] == [
        ("logs", "coarse organic", True), ("leaves", "coarse organic", True), ("topsoil", "", False),
    ]  # fmt: skip
    assert [layer.volume for layer in layers] == pytest.approx([0.2, 0.2, 0.4])
    assert [layer.mass for layer in layers] == pytest.approx([0.2 * 450, 0.2 * 150, 0.4 * 1250])
    assert [layer.material for layer in root_layers(layers, MATERIALS)] == ["topsoil"]
    assert soil_depth(layers, MATERIALS) == pytest.approx(0.2)
    assert top_blend(layers, MATERIALS) == {"topsoil": 1.0}  # leaves in the base are not put on top


def test_leaves_at_the_bottom_are_base_and_above_soil_are_not():
    leaves, soil = LayerSpec(material="leaves", fraction=0.5), LayerSpec(material="topsoil", fraction=0.5)
    low = fill_layers([bed(layers=(leaves, soil))], Recipe(), MATERIALS)
    high = fill_layers([bed(layers=(soil, leaves))], Recipe(), MATERIALS)
    assert [layer.base for layer in low] == [True, False]
    assert [layer.base for layer in high] == [False, False]


def test_the_whole_plan_takes_the_base_from_the_heaps(tiny_yard):
    site = replace(
        tiny_yard, beds=(bed(height=0.5),), recipe=Recipe(), materials=MATERIALS, offers=(),
        stock=(stock("logs", 0.1), stock("straw", 0.05), stock("topsoil", 0.375)),
    )  # fmt: skip
    plan = plan_fill(site)
    # 1 m3: the base is 0.375, of it logs 0.1 and straw 0.05; 0.225 are to be found
    used = {use.material: (use.volume, use.left) for use in plan.on_hand}
    assert used == {"logs": pytest.approx((0.1, 0)), "straw": pytest.approx((0.05, 0)),
                    "topsoil": pytest.approx((0.375, 0))}  # fmt: skip
    lacking = {line.material: line.volume for line in plan.purchase}
    assert lacking["coarse organic"] == pytest.approx(0.225)
    assert set(lacking) == {"coarse organic", "compost", "worm castings"}


def test_topsoil_goes_in_by_lifts_of_a_hand():
    def lifts(height, *layers):
        return [layer.lifts for layer in fill_layers([bed(height=height, layers=layers)], Recipe(), MATERIALS)]

    # a hand is 4 in: 12 in are 3 lifts, 12.5 in are 4, 4 in are 1; compost goes in at once
    assert lifts(12 * INCH, *SOIL_ONLY) == [3]
    assert lifts(12.5 * INCH, *SOIL_ONLY) == [4]
    assert lifts(4 * INCH, *SOIL_ONLY) == [1]
    assert lifts(12 * INCH, LayerSpec(material="compost", fraction=1.0)) == [1]
    # a blend goes in as one: 12 in, though 9 of them are topsoil
    blend = LayerSpec(material="mix", fraction=1.0, mix=(("topsoil", 0.75), ("compost", 0.25)))
    assert lifts(12 * INCH, blend) == [3, 3]
