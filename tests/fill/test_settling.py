"""Settling and top-ups, by hand and by law."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.recipe import fill_layers, inside
from siteplan.fill.settling import loose_volume, settled_volume, top_ups, upper_blend
from siteplan.land.site import LayerSpec, Recipe


@settings(deadline=None, max_examples=50)
@given(settled=st.floats(0, 1e4), loss=st.floats(0, 0.95))
def test_loose_and_settled_are_each_others_inverse(settled, loss):
    assert settled_volume(loose_volume(settled, loss), loss) == pytest.approx(settled, rel=1e-12, abs=1e-12)
    assert loose_volume(settled, loss) >= settled * (1 + loss) * (1 - 1e-12)  # adding the share falls short


@pytest.mark.parametrize("loss", [-0.1, 1.0, 1.5, float("nan")])
def test_a_loss_that_cannot_be_is_refused(loss):
    with pytest.raises(ValueError, match="must be at least 0 and below 1"):
        loose_volume(1.0, loss)
    with pytest.raises(ValueError, match="must be at least 0 and below 1"):
        settled_volume(1.0, loss)


def test_first_drop_is_what_the_layers_lose(tiny_yard):
    layers = fill_layers(tiny_yard.beds[:1], tiny_yard.recipe, tiny_yard.materials)
    first = top_ups(layers, tiny_yard.materials)[0]
    assert first.drop == pytest.approx(0.45 - sum(layer.settled for layer in layers), abs=1e-12)
    assert sum(volume for _, volume in first.volumes) == pytest.approx(
        first.drop * inside(tiny_yard.beds[0]).area, abs=1e-12
    )


def test_top_up_is_the_blend_above_the_coarse_base(tiny_yard):
    layers = fill_layers(tiny_yard.beds[:1], tiny_yard.recipe, tiny_yard.materials)
    assert upper_blend(layers, tiny_yard.materials) == pytest.approx({"topsoil": 2 / 3, "compost": 1 / 3})
    for top_up in top_ups(layers, tiny_yard.materials):
        soil, compost = (volume for _, volume in top_up.volumes)
        assert soil == pytest.approx(2 * compost)


def test_a_bed_of_wood_alone_is_topped_with_wood(tiny_yard):
    recipe = Recipe(layers=(LayerSpec(material="coarse organic", fraction=1.0),))
    layers = fill_layers(tiny_yard.beds[:1], recipe, tiny_yard.materials)
    assert [name for name, _ in top_ups(layers, tiny_yard.materials, years=1)[0].volumes] == ["coarse organic"]


def test_every_bed_and_year_once(tiny_yard):
    layers = fill_layers(tiny_yard.beds, tiny_yard.recipe, tiny_yard.materials)
    found = [(top_up.bed, top_up.year) for top_up in top_ups(layers, tiny_yard.materials)]
    assert found == [(bed.id, year) for bed in tiny_yard.beds for year in (1, 2, 3)]
    assert top_ups((), tiny_yard.materials) == ()


def test_drops_grow_smaller(tiny_yard):
    layers = fill_layers(tiny_yard.beds[:1], tiny_yard.recipe, tiny_yard.materials)
    drops = [top_up.drop for top_up in top_ups(layers, tiny_yard.materials, years=6)]
    assert drops == sorted(drops, reverse=True)
    assert drops[-1] > 0
