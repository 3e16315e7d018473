"""What a result of the fill holds where nothing more is told."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from siteplan.fill.bed_results import BedFill
from siteplan.fill.buying_programme import Deal
from siteplan.fill.fill_results import Layer, PurchaseLine


def test_a_layer_is_no_base_no_blend_and_goes_in_at_once():
    layer = Layer(bed="a", order=0, material="soil", bottom=0.0, top=0.2, volume=1.0, mass=1000.0, settled=0.18)
    assert (layer.blend, layer.base, layer.lifts, layer.tier, layer.frame) == ("", False, 1, 1, 1)


def test_a_purchase_is_of_nothing_yet():
    line = PurchaseLine(material="soil", kind="none", count=0, volume=1.0, cost=None)
    assert (line.name, line.size, line.mass_each, line.deliveries, line.parts, line.why) == (
        "",
        0.0,
        0.0,
        0,
        (),
        None,
    )


def test_a_deal_has_no_fees_and_no_limit():
    deal = Deal(size=0.04, price=4.0, parts={"soil": 1.0})
    assert (deal.delivered, deal.minimum, deal.fee, deal.handling) == (False, 0.0, 0.0, 0.0)
    assert math.isinf(deal.capacity)


@pytest.mark.parametrize(("areas", "area"), [((20.0, 12.0), 32.0), ((5.0,), 5.0), ((), 7.0), ((0.0,), 7.0)])
def test_the_open_soil_is_that_of_all_ledges_or_of_the_bed(areas, area):
    tiers = tuple(SimpleNamespace(area=one) for one in areas)
    assert BedFill.planting_area.fget(SimpleNamespace(tiers=tiers, area=7.0)) == area
