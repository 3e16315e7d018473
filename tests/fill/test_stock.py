"""Who serves which layer: piles in their order, beds by priority, the rest bought."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.buying_programme import SHORT, tolerated
from siteplan.fill.fill_results import Layer
from siteplan.fill.recipe import volume_needs
from siteplan.fill.stock import layer_supplies, take_stock
from siteplan.land.site import Stock


def layer(bed, order, material, volume):
    return Layer(
        bed=bed, order=order, material=material, bottom=0, top=1, volume=volume, mass=volume * 1000, settled=1
    )


def served(layers, stock, **options):
    uses = take_stock(volume_needs(layers), stock)
    return [(one.bed, one.order, one.at, round(one.volume, 9)) for one in layer_supplies(layers, uses, **options)]


def test_piles_serve_beds_in_turn():
    layers = [layer("a", 0, "topsoil", 1.0), layer("b", 0, "topsoil", 1.0)]
    stock = [Stock(material="topsoil", volume=1.5, at="drive")]
    assert served(layers, stock) == [("a", 0, "drive", 1.0), ("b", 0, "drive", 0.5), ("b", 0, "", 0.5)]
    assert served(layers, stock, priority=["b"]) == [
        ("a", 0, "drive", 0.5), ("a", 0, "", 0.5), ("b", 0, "drive", 1.0),
    ]  # fmt: skip


def test_a_bed_is_served_bottom_up():
    layers = [layer("a", 1, "topsoil", 1.0), layer("a", 0, "topsoil", 1.0)]
    stock = [Stock(material="topsoil", volume=1.0, at="drive")]
    assert served(layers, stock) == [("a", 1, "", 1.0), ("a", 0, "drive", 1.0)]


def test_several_piles_serve_one_layer():
    stock = [Stock(material="topsoil", volume=0.25, at=at) for at in ("drive", "shed")]
    assert served([layer("a", 0, "topsoil", 1.0)], stock) == [
        ("a", 0, "drive", 0.25), ("a", 0, "shed", 0.25), ("a", 0, "", 0.5),
    ]  # fmt: skip


def test_what_is_not_bought_for_want_of_room_does_not_come():
    layers = [layer("a", 0, "topsoil", 1.0), layer("a", 1, "compost", 1.0), layer("b", 0, "topsoil", 1.0)]
    stock = [Stock(material="topsoil", volume=1.5, at="drive")]
    uses = take_stock(volume_needs(layers), stock)
    found = [(one.bed, one.at, one.volume) for one in layer_supplies(layers, uses, not_coming=["topsoil", "compost"])]
    assert found == [("a", "drive", 1.0), ("b", "drive", 0.5)]


def test_a_centilitre_is_not_carried_alone():
    stock = [Stock(material="topsoil", volume=1.0 - SHORT / 2, at="drive")]
    assert [at for _, _, at, _ in served([layer("a", 0, "topsoil", 1.0)], stock)] == ["drive"]


def test_a_thousandth_is_not_fetched_from_elsewhere_but_more_is():
    nearly = [Stock(material="topsoil", volume=0.9995, at="drive")]
    assert served([layer("a", 0, "topsoil", 1.0)], nearly) == [("a", 0, "drive", 1.0)]
    less = [Stock(material="topsoil", volume=0.9985, at="drive")]
    assert served([layer("a", 0, "topsoil", 1.0)], less) == [("a", 0, "drive", 0.9985), ("a", 0, "", 0.0015)]


def test_no_layers_no_supplies():
    assert layer_supplies((), take_stock({}, [Stock(material="topsoil", volume=1.0, at="drive")])) == ()


names = st.sampled_from(["topsoil", "compost"])


@settings(deadline=None, max_examples=50)
@given(
    wanted=st.lists(st.tuples(st.sampled_from("abc"), names, st.floats(0.01, 2)), min_size=1, max_size=8),
    there=st.lists(st.tuples(names, st.floats(0.01, 3)), max_size=5),
)
def test_every_layer_is_filled_and_no_pile_gives_more_than_it_has(wanted, there):
    layers = [layer(bed, order, name, volume) for order, (bed, name, volume) in enumerate(wanted)]
    stock = [Stock(material=name, volume=volume, at=f"pile {index}") for index, (name, volume) in enumerate(there)]
    uses = take_stock(volume_needs(layers), stock)
    supplies = layer_supplies(layers, uses)
    for one in layers:
        parts = [supply for supply in supplies if (supply.bed, supply.order) == (one.bed, one.order)]
        assert sum(part.volume for part in parts) == pytest.approx(one.volume, abs=1e-12)
        assert sum(part.mass for part in parts) == pytest.approx(one.mass, abs=1e-9)
    places: dict[tuple[str, str], float] = {}
    for one in supplies:
        places[one.at, one.material] = places.get((one.at, one.material), 0.0) + one.volume
    needs = volume_needs(layers)
    for use in uses:  # a centilitre a layer, or what may be lacking, is counted for a pile
        allowed = SHORT * len(layers) + tolerated(needs.get(use.material, 0.0))
        assert places.get((use.at, use.material), 0.0) == pytest.approx(use.volume, abs=allowed)
