"""Layers, masses, bags and the choice between bags and loose against worked examples."""

from __future__ import annotations

import pytest
from shapely import box

from siteplan.files.constant_tables import read_materials
from siteplan.fill.price_comparison import break_evens
from siteplan.fill.purchase import buy
from siteplan.fill.recipe import fill_layers, volume_needs
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import Offer

FOOT, INCH = 0.3048, 0.0254  # m, by definition
CUBIC_FOOT, CUBIC_YARD = FOOT**3, 27 * FOOT**3
LAYERS = (("branches", 6), ("wood chips", 2), ("topsoil", 6), ("compost", 3.5), ("worm castings", 0.5))


@pytest.fixture(scope="module")
def layers():
    """Return the layers of a 4 ft by 8 ft bed, its inside taken as nominal, 18 in deep."""
    bed = Bed(id="bed", outline=box(0, 0, 8 * FOOT, 4 * FOOT), height=18 * INCH, wall_thickness=0)
    specs = tuple(LayerSpec(material=name, thickness=inches * INCH) for name, inches in LAYERS)
    return fill_layers([bed], Recipe(layers=specs), read_materials())


def test_a_layer_job(layers):
    # calculated from the moist densities 150, 300, 1250, 700 and 750 kg/m3; printed to four and one decimals
    volumes = [0.4531, 0.1510, 0.4531, 0.2643, 0.0378]
    masses = [68.0, 45.3, 566.3, 185.0, 28.3]
    assert [layer.volume for layer in layers] == pytest.approx(volumes, rel=1e-3, abs=5e-5)
    assert [layer.mass for layer in layers] == pytest.approx(masses, rel=1e-3)
    assert sum(layer.volume for layer in layers) == pytest.approx(1.3592, rel=1e-3)
    assert sum(layer.volume for layer in layers) / CUBIC_YARD == pytest.approx(1.778, rel=1e-3)
    assert sum(layer.mass for layer in layers) == pytest.approx(892.9, rel=1e-3)
    assert layers[-1].top == pytest.approx(18 * INCH)


def test_its_whole_bags(layers):
    # arithmetic: 16.0 ft3 of topsoil in bags of 0.75 ft3 are 21.3, 9.33 ft3 of compost in bags of 1 ft3
    offers = [
        Offer(material="topsoil", price=4, bag=0.75 * CUBIC_FOOT),
        Offer(material="compost", price=6, bag=CUBIC_FOOT),
    ]
    lines = buy(volume_needs(layers), [], offers, materials=read_materials()).lines
    assert [(line.material, line.count) for line in lines if line.kind == "bag"] == [("topsoil", 22), ("compost", 10)]


def by_bag_or_loose(step):
    """Return bags of 1.5 ft3 at 5, and topsoil at 45 a cubic yard with 90 for delivery, in steps of that many yards."""
    bag = Offer(material="topsoil", price=5, bag=1.5 * CUBIC_FOOT)
    return [bag, Offer(material="topsoil", price=45 * step, loose=CUBIC_YARD * step, delivery=90)]


def test_from_where_on_loose_is_cheaper():
    # arithmetic: in fine steps 90 / (27 x 5 / 1.5 - 45) = 2 yd3, 36 bags, where both cost 180; so from the 37th bag on.
    # In whole yards: 45 bags are 2.5 yd3, three yards at 225, as much as the bags; 46 bags at 230 cost more, and so
    # does every larger number: 54 bags at 270 fill the three yards, 55 at 275 want a fourth yard, at 270
    table = read_materials()
    (fine,), (coarse,) = (break_evens(by_bag_or_loose(step), table) for step in (1 / 18, 1))
    assert (fine.bags, coarse.bags) == (37, 46)
    assert fine.volume / CUBIC_YARD == pytest.approx(2, abs=1 / 18 + 1e-9)  # to a bag

    def kinds(yards):
        lines = buy({"topsoil": yards * CUBIC_YARD}, [], by_bag_or_loose(1), materials=table).lines
        return {line.kind for line in lines}

    assert kinds(1.95) == {"bag"}
    assert kinds(3.0) == {"loose"}


def test_at_the_break_even_both_cost_the_same():
    need, table = {"topsoil": 2 * CUBIC_YARD}, read_materials()
    bag, loose = by_bag_or_loose(1)
    assert buy(need, [], [bag], materials=table).cost == buy(need, [], [loose], materials=table).cost == 180


def test_a_pickup_load_fetched():
    # trade pages: a level load bed of 8 x 5.33 x 1.5 ft holds 2.37 yd3 (printed as 2.5), one of 6 x 4.5 x 1.5 ft 1.50
    full, short = 8 * 5.33 * 1.5 * CUBIC_FOOT, 6 * 4.5 * 1.5 * CUBIC_FOOT
    assert full / CUBIC_YARD == pytest.approx(2.5, abs=0.15)  # as the page rounds
    assert short / CUBIC_YARD == pytest.approx(1.50, rel=1e-12)
    chips = Offer(material="wood chips", price=20, loose=CUBIC_YARD / 2, fetch=short, payload=700)
    soil = Offer(material="topsoil", price=20, loose=CUBIC_YARD / 2, fetch=short, payload=700)
    need = 3 * CUBIC_YARD
    bought = buy({"wood chips": need, "topsoil": need}, [], [chips, soil], materials=read_materials())
    trips = {line.material: line.deliveries for line in bought.lines}
    assert trips["wood chips"] == 2  # bound by volume
    assert trips["topsoil"] == 6  # bound by mass: 2.294 m3 at 1562.5 kg/m3 wet are 3584 kg
