"""Water for fresh fill and for a week, by hand and by law."""

from __future__ import annotations

import pytest

from siteplan.fill.recipe import fill_layers
from siteplan.fill.water import hose_hours, moistening_water, watering


def test_moistening_by_hand(tiny_yard):
    layers = fill_layers(tiny_yard.beds[:1], tiny_yard.recipe, tiny_yard.materials)
    coarse, soil, compost = (layer.volume for layer in layers)
    # 10, 15 and 25 % of the volume can be held; half of it is there already
    wanted = (0.10 * coarse + 0.15 * soil + 0.25 * compost) / 2
    assert moistening_water(layers, tiny_yard.materials) == pytest.approx(wanted)
    assert moistening_water(layers, tiny_yard.materials, already=0) == pytest.approx(2 * wanted)
    assert moistening_water((), tiny_yard.materials) == 0


def test_drip_and_sprinkler_lose_some():
    assert watering(10, depth=0.02) == pytest.approx(0.2)
    assert watering(10, depth=0.02, efficiency=0.8) == pytest.approx(0.25)


def test_hose():
    assert hose_hours(0.3, 0.6) == 0.5


@pytest.mark.parametrize(
    "faulty",
    [
        lambda: watering(1, efficiency=0),
        lambda: watering(1, efficiency=1.1),
        lambda: hose_hours(1, 0),
        lambda: moistening_water((), {}, already=2),
    ],
)
def test_what_cannot_be_is_refused(faulty):
    with pytest.raises(ValueError, match="must be"):
        faulty()
