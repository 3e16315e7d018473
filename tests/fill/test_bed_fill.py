"""What one bed comes to: water for fresh fill and for a week, and its lining."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from siteplan.fill.bed_fill import moistening_water, watering
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import fill_layers
from siteplan.land.features import Surface


def test_moistening_by_hand(tiny_yard):
    layers = fill_layers(tiny_yard.beds[:1], tiny_yard.recipe, tiny_yard.materials)
    coarse, soil, compost = (layer.volume for layer in layers)
    # 10, 15 and 25 % of the volume can be held; half of it is there already
    wanted = (0.10 * coarse + 0.15 * soil + 0.25 * compost) / 2
    assert sum(moistening_water(layer, tiny_yard.materials) for layer in layers) == pytest.approx(wanted)


def test_drip_and_sprinkler_lose_some():
    assert watering(10, depth=0.02) == pytest.approx(0.2)
    assert watering(10, depth=0.02, efficiency=0.8) == pytest.approx(0.25)


def test_no_lining_where_there_is_paving(tiny_yard):
    lined = replace(tiny_yard, recipe=replace(tiny_yard.recipe, lining="cardboard"))
    lawn = plan_fill(lined).beds[0]
    assert lawn.lining_area == lawn.area
    patio = Surface(id="patio", outline=box(-6, -5, 6, 5), surface="paved")
    assert plan_fill(replace(lined, surfaces=(patio,))).beds[0].lining_area == 0


@pytest.mark.parametrize("efficiency", [0, 1.1])
def test_an_efficiency_that_cannot_be_is_refused(efficiency):
    with pytest.raises(ValueError, match="must be"):
        watering(1, efficiency=efficiency)
