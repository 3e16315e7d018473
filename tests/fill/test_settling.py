"""Settling and top-ups, by hand and by law."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.fill_results import LeftOver, TopUp
from siteplan.fill.recipe import fill_layers, inside
from siteplan.fill.settling import loose_volume, settled_volume, top_blend, top_up_years, top_ups
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import Offer


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
    assert top_blend(layers, tiny_yard.materials) == pytest.approx({"topsoil": 2 / 3, "compost": 1 / 3})
    for top_up in top_ups(layers, tiny_yard.materials):
        soil, compost = (volume for _, volume in top_up.volumes)
        assert soil == pytest.approx(2 * compost)


def test_wood_and_drainage_never_top_up(tiny_yard):
    # fresh wood on top binds nitrogen where seeds are sown (Missouri Department of Conservation 1994, seen)
    gravel = replace(tiny_yard.materials["topsoil"], name="gravel", touches="below")
    table = {**tiny_yard.materials, "gravel": gravel}

    def topped(*names, table=table):
        specs = tuple(LayerSpec(material=name, fraction=1 / len(names)) for name in names)
        layers = fill_layers(tiny_yard.beds[:1], Recipe(layers=specs), table)
        return top_blend(layers, table)

    assert topped("coarse organic") == {"topsoil": 1.0}
    assert topped("gravel", "coarse organic", "compost") == {"compost": 1.0}
    assert topped("coarse organic", table={"coarse organic": table["coarse organic"]}) == {}


def test_top_ups_draw_on_what_is_left_over_first(tiny_yard):
    # year 1 wants 0.10 m3 of topsoil and 0.05 left over from filling is there: one bag of 0.08 m3 for 4, which leaves
    # 0.03; year 2 wants 0.06: 0.03 of that and one bag more, which leaves 0.05; year 3 wants 0.04: nothing to buy
    sinking = [TopUp(bed="a", year=year, drop=0.1, volumes=(("topsoil", volume),))
               for year, volume in ((1, 0.10), (2, 0.06), (3, 0.04))]  # fmt: skip
    over = [LeftOver(material="topsoil", at="", volume=0.05), LeftOver(material="compost", at="heap", volume=1.0)]
    bag = Offer(material="topsoil", price=4, bag=0.08)
    years = top_up_years(sinking, over, [bag], tiny_yard.materials)
    assert [year.cost for year in years] == [4.0, 4.0, 0.0]
    assert [dict(year.left_over)["topsoil"] for year in years] == pytest.approx([0.05, 0.03, 0.04])
    lean = top_up_years(sinking, over, [], tiny_yard.materials)
    assert [year.cost for year in lean] == [None, None, None]


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
