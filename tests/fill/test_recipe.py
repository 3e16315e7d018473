"""Layers and inside volumes, by hand and by law."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from siteplan.fill.recipe import adds_up, fill_layers, inside, thicknesses, volume_needs, without_coarse
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle


def bed(outline=None, **values):
    return Bed(id="a", outline=outline or box(0, 0, 2, 1), **({"height": 0.4, "wall_thickness": 0.05} | values))


def spec(material, fraction=None, thickness=None):
    return LayerSpec(material=material, fraction=fraction, thickness=thickness)


def test_inside_of_a_rectangle_loses_two_walls_each_way():
    assert inside(bed()).area == pytest.approx(1.9 * 0.9, abs=1e-12)  # (2 - 2 x 0.05)(1 - 2 x 0.05)


def test_inside_of_an_ell_keeps_its_corners_sharp():
    # 3 x 3 less 2 x 2 in one corner; walls of 0.1: 2.8 x 2.8 less 2 x 2 (the notch moves inward by 0.1 both ways)
    ell = Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)])
    assert inside(bed(ell, wall_thickness=0.1)).area == pytest.approx(0.8 * 2.8 + 2.0 * 0.8, abs=1e-12)


def test_inside_of_a_triangle_is_a_smaller_one_alike():
    # legs 3 and 4, inradius 1; walls of 0.25 leave inradius 0.75, so the area shrinks by 0.75 squared
    triangle = Polygon([(0, 0), (4, 0), (0, 3)])
    assert inside(bed(triangle, wall_thickness=0.25)).area == pytest.approx(6 * 0.75**2, abs=1e-12)


def test_a_waist_that_is_walled_shut_leaves_two_parts():
    waisted = shapely.union_all([box(0, 0, 1, 1), box(1, 0.4, 2, 0.6), box(2, 0, 3, 1)])
    parts = inside(bed(waisted, wall_thickness=0.1))
    assert parts.geom_type == "MultiPolygon"
    assert parts.area == pytest.approx(2 * 0.8 * 0.8, abs=1e-9)


def test_walls_may_leave_nothing():
    assert inside(bed(wall_thickness=0.5)).is_empty
    assert inside(bed(wall_thickness=0)).area == 2


def test_thicknesses_by_hand():
    assert thicknesses([spec("a", 0.25), spec("b", 0.75)], 0.4) == pytest.approx((0.1, 0.3))
    assert thicknesses([spec("a", thickness=0.1), spec("b", 0.5), spec("c", 0.25)], 0.4) == pytest.approx(
        (0.1, 0.2, 0.1)
    )
    # only thicknesses, half of what is wanted: all are doubled
    assert thicknesses([spec("a", thickness=0.05), spec("b", thickness=0.15)], 0.4) == pytest.approx((0.1, 0.3))
    # more than fits: wanted 0.4 and half of 0.4, squeezed alike
    assert thicknesses([spec("a", thickness=0.4), spec("b", 0.5)], 0.4) == pytest.approx((0.8 / 3, 0.4 / 3))


@pytest.mark.parametrize(
    ("layers", "text"),
    [
        (list, "no layers"),
        (lambda: [spec("a")], "neither fraction nor thickness"),
        (lambda: [spec("a", 0.5, 0.1)], "both fraction and thickness"),
        (lambda: [spec("a", 0.0)], "above 0"),
        (lambda: [spec("a", thickness=-0.1)], "above 0"),
        (lambda: [spec("a", math.nan)], "above 0"),
    ],
)
def test_a_recipe_that_says_nothing_is_refused(layers, text):
    with pytest.raises(ValueError, match=text):
        thicknesses(layers(), 0.4)


def test_adds_up():
    assert adds_up([spec("a", thickness=0.1), spec("b", 0.75)], 0.4)
    assert adds_up([spec("a", thickness=0.1), spec("b", 1.0)], 0.4)
    assert not adds_up([spec("a", thickness=0.1), spec("b", 0.5)], 0.4)
    assert not adds_up([spec("a", thickness=0.5), spec("b", 1.0)], 0.4)


def test_layers_by_hand(tiny_yard):
    layers = fill_layers([bed(wall_thickness=0)], tiny_yard.recipe, tiny_yard.materials)
    assert [layer.material for layer in layers] == ["coarse organic", "topsoil", "compost"]
    assert [layer.order for layer in layers] == [0, 1, 2]
    assert [layer.bottom for layer in layers] == pytest.approx([0, 0.16, 0.32])
    assert [layer.top for layer in layers] == pytest.approx([0.16, 0.32, 0.40])
    assert [layer.volume for layer in layers] == pytest.approx([0.32, 0.32, 0.16])  # 2 m2 x thickness
    assert [layer.mass for layer in layers] == pytest.approx([60, 400, 112])  # x 187.5, 1250, 700
    assert [layer.mass_wet for layer in layers] == pytest.approx([83.2, 499.2, 156.8])  # x 260, 1560, 980
    assert [layer.settled for layer in layers] == pytest.approx([0.1344, 0.144, 0.064])  # less 16, 10, 20 %


def test_beds_without_an_inside_get_no_layers(tiny_yard):
    assert fill_layers([bed(wall_thickness=0.5)], tiny_yard.recipe, tiny_yard.materials) == ()
    assert fill_layers([], tiny_yard.recipe, tiny_yard.materials) == ()


def test_an_unknown_material_names_the_nearest(tiny_yard):
    with pytest.raises(ValueError, match="did you mean 'compost'"):
        fill_layers([bed()], Recipe(layers=(spec("compots", 1.0),)), tiny_yard.materials)
    with pytest.raises(ValueError, match="add it to the materials"):
        fill_layers([bed()], Recipe(layers=(spec("zzz", 1.0),)), tiny_yard.materials)


def test_without_coarse_keeps_the_measures(tiny_yard):
    plain = without_coarse(tiny_yard.recipe.layers, tiny_yard.materials)
    assert [(layer.material, layer.fraction) for layer in plain] == [
        ("topsoil", 0.4), ("topsoil", 0.4), ("compost", 0.2),
    ]  # fmt: skip


def test_the_parts_of_a_blend_are_stacked(tiny_yard):
    upper = LayerSpec(material="upper mix", thickness=0.3, mix=(("topsoil", 2), ("compost", 1)))
    recipe = Recipe(layers=(spec("coarse organic", thickness=0.1), upper))
    layers = fill_layers([bed(wall_thickness=0)], recipe, tiny_yard.materials)
    assert [(layer.order, layer.material, layer.blend) for layer in layers] == [
        (0, "coarse organic", ""), (1, "topsoil", "upper mix"), (2, "compost", "upper mix"),
    ]  # fmt: skip
    assert [layer.volume for layer in layers] == pytest.approx([0.2, 0.4, 0.2])
    assert [layer.top for layer in layers] == pytest.approx([0.1, 0.3, 0.4])


def test_a_blend_without_coarse_parts(tiny_yard):
    base = LayerSpec(material="base", fraction=1.0, mix=(("coarse organic", 1), ("compost", 1)))
    (plain,) = without_coarse((base,), tiny_yard.materials)
    assert plain.mix == (("topsoil", 1), ("compost", 1))


def test_a_blend_that_says_nothing_is_refused():
    with pytest.raises(ValueError, match="share of topsoil is 0, must be above 0"):
        LayerSpec(material="mix", fraction=1.0, mix=(("topsoil", 0), ("compost", 0)))


measure = st.floats(0.01, 1.0)


def adding_up(layers):
    """Return layers whose fractions sum to 1, as those of a recipe do."""
    total = math.fsum(layer.fraction or 0 for layer in layers)
    return tuple(
        layer if layer.fraction is None else replace(layer, fraction=layer.fraction / total) for layer in layers
    )


layer_specs = st.lists(
    st.one_of(
        measure.map(lambda value: spec("topsoil", fraction=value)),
        measure.map(lambda value: spec("compost", thickness=value)),
        measure.map(lambda value: LayerSpec(material="m", fraction=value, mix=(("topsoil", value), ("compost", 1)))),
    ),
    min_size=1,
    max_size=8,
)


@settings(deadline=None, max_examples=60)
@given(
    layers=layer_specs,
    length=st.floats(0.5, 12),
    width=st.floats(0.4, 2),
    heading=st.floats(0, 180),
    height=st.floats(0.05, 3),
    wall=st.floats(0, 0.15),
)
def test_layers_sum_to_the_inside_volume(tiny_yard, layers, length, width, heading, height, wall):
    outline = rectangle(3, -4, length=length, width=width, heading=heading)
    one = bed(outline, height=height, wall_thickness=wall)
    found = fill_layers([one], Recipe(layers=adding_up(layers)), tiny_yard.materials)
    volume = inside(one).area * height
    assert sum(layer.volume for layer in found) == pytest.approx(volume, abs=1e-9)  # floats sum to that
    assert sum(volume_needs(found).values()) == pytest.approx(volume, abs=1e-9)
    assert found[0].bottom == 0
    assert found[-1].top == pytest.approx(height, abs=1e-9)
    assert all(low.top == high.bottom for low, high in itertools.pairwise(found))
    assert inside(one).area <= outline.area


def test_a_recipe_that_adds_up_exactly_does():
    halves = [LayerSpec(material="topsoil", fraction=0.5), LayerSpec(material="compost", fraction=0.5)]
    chips = LayerSpec(material="coarse organic", thickness=0.1)
    assert adds_up(halves, 0.5, within=0.0)
    assert adds_up([chips, *halves], 0.5, within=0.0)  # they share the rest
    assert not adds_up([chips, *halves], 0.1, within=0.0)  # nothing is left to share
    # two thousandths of the depth may lack
    for fraction, enough in ((0.4981, True), (0.4979, False), (0.5019, True), (0.5021, False)):
        assert adds_up([halves[0], LayerSpec(material="compost", fraction=fraction)], 0.5) is enough
