"""Stock first, then the offers: words, accounts and what is lacking."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill import purchase
from siteplan.fill.buying_programme import SHORT, tolerated
from siteplan.fill.stock import take_stock
from siteplan.land.constants import Material
from siteplan.land.site import Offer, Stock
from siteplan.say.fill_prices import offer_text, why_text

YARD = 0.764554857984  # m3, by definition
DENSITIES = {"topsoil": 1250, "compost": 700, "coarse organic": 200, "sand": 1600, "bark": 250, "a": 1000}  # kg/m3
TABLE = {
    name: Material(
        name=name, kind="mineral", density=density, density_wet=1.25 * density, settling_first=0.1, settling_later=0.03,
        shovel_rate=0.5,
    )
    for name, density in DENSITIES.items()
}  # fmt: skip


def buy(needs, stock, offers, *, materials=TABLE, **options):
    return purchase.buy(needs, stock, offers, materials=materials, **options)


def heap(material, volume, at="heap"):
    return Stock(material=material, volume=volume, at=at)


def test_stock_is_used_first_and_in_its_order():
    stock = [heap("topsoil", 0.4, "far"), heap("sand", 1.0), heap("topsoil", 0.4, "near")]
    bought = buy({"topsoil": 0.6}, stock, [Offer(material="topsoil", price=1, bag=0.1)])
    assert [(use.at, round(use.volume, 9), round(use.left, 9)) for use in bought.on_hand] == [
        ("far", 0.4, 0.0), ("heap", 0.0, 1.0), ("near", 0.2, 0.2),
    ]  # fmt: skip
    assert bought.lines == ()
    assert bought.cost == 0
    assert [(rest.material, rest.at, round(rest.volume, 9)) for rest in bought.left_over] == [
        ("sand", "heap", 1.0), ("topsoil", "near", 0.2),
    ]  # fmt: skip


def test_what_the_stock_lacks_is_bought():
    bought = buy({"topsoil": 0.6}, [heap("topsoil", 0.35)], [Offer(material="topsoil", price=4, bag=0.1)])
    (line,) = bought.lines
    assert (line.kind, line.count, line.cost, line.deliveries) == ("bag", 3, 12.0, 0)
    assert line.volume == pytest.approx(0.3)
    assert [(rest.at, round(rest.volume, 9)) for rest in bought.left_over] == [("", 0.05)]


def test_a_thousandth_may_be_lacking_and_no_more():
    bags = [Offer(material="topsoil", price=4, bag=0.1)]
    assert buy({"topsoil": 1.0009}, [], bags).lines[0].count == 10
    assert buy({"topsoil": 1.0011}, [], bags).lines[0].count == 11
    assert buy({"topsoil": 1.0009}, [heap("topsoil", 1.0)], bags).lines == ()
    assert buy({"topsoil": 1.0011}, [heap("topsoil", 1.0)], bags).lines[0].count == 1


def test_what_nobody_offers_is_named_and_the_rest_is_bought():
    bought = buy({"coarse organic": 0.2, "topsoil": 0.2}, [], [Offer(material="topsoil", price=4, bag=0.1)])
    assert bought.missing == ("coarse organic",)
    assert why_text(bought.lines[-1], "metric") == "nobody offers it"
    lack = bought.lines[-1]
    assert (lack.material, lack.kind, lack.count, lack.volume, lack.cost) == ("coarse organic", "none", 0, 0.2, None)
    assert bought.cost == 8.0


def test_too_little_storage_is_said():
    offers = [Offer(material="topsoil", price=40, loose=0.5, minimum=1.0)]
    bought = buy({"topsoil": 0.6}, [], offers, storage=0.8)
    assert why_text(bought.lines[0], "metric") == "no offer fits into the 0.80 m³ that can be stored"
    assert bought.cost == 0
    assert buy({"topsoil": 0.6}, [], offers, storage=1.0).cost == 80


def test_a_blend_counts_for_its_parts():
    blend = Offer(material="garden blend", price=60, loose=1.0, mix=(("topsoil", 0.7), ("compost", 0.3)))
    bought = buy({"topsoil": 0.7, "compost": 0.25}, [], [blend, Offer(material="topsoil", price=9, bag=0.1)])
    (line,) = bought.lines
    assert line.material == "garden blend"
    assert dict(line.parts) == pytest.approx({"topsoil": 0.7, "compost": 0.3})
    assert [(rest.material, round(rest.volume, 9)) for rest in bought.left_over] == [("compost", 0.05)]


def test_a_blend_that_does_not_sum_is_refused():
    with pytest.raises(ValueError, match=r"the shares sum to 1\.1, must sum to 1"):
        buy({"topsoil": 1.0}, [], [Offer(material="b", price=1, loose=1.0, mix=(("topsoil", 0.7), ("compost", 0.4)))])


def test_own_trips_are_bound_by_volume_and_by_payload(tiny_yard):
    # wet topsoil at 1560 kg/m3 and 780 kg a trip: half a cubic metre, where the load bed would hold a whole one
    trip = Offer(material="topsoil", price=10, loose=0.25, fetch=1.0, payload=780.0, delivery=12.0)
    (line,) = buy({"topsoil": 1.4}, [], [trip], materials=tiny_yard.materials).lines
    assert (line.kind, line.count, line.deliveries, line.cost) == ("fetch", 6, 3, 6 * 10 + 3 * 12)
    # light material is bound by the volume
    trip = Offer(material="coarse organic", price=10, loose=0.25, fetch=1.0, payload=780.0, delivery=12.0)
    (line,) = buy({"coarse organic": 1.4}, [], [trip], materials=tiny_yard.materials).lines
    assert line.deliveries == 2


def test_bags_brought_on_a_pallet_pay_their_delivery():
    pallet = Offer(material="topsoil", price=100, bag=0.7, delivery=30, per_delivery=1.4)
    (line,) = buy({"topsoil": 2.0}, [], [pallet]).lines
    assert (line.kind, line.count, line.deliveries, line.cost) == ("bag", 3, 2, 360.0)


@pytest.mark.parametrize(
    ("limits", "trips"),
    [
        ({"fetch": 0.12}, 13),  # two bags of 50 L at a time, and the last one alone
        ({"per_delivery": 0.12}, 13),
        ({"fetch": 0.15}, 9),  # three fit exactly
        ({"fetch": 1.0, "payload": 100.0}, 25),  # a wet bag is 0.05 x 1.25 x 1250 = 78 kg: one at a time
        ({"fetch": 1.0, "payload": 156.25}, 13),  # two wet bags exactly
    ],
)
def test_bags_are_brought_whole(limits, trips):
    offer = Offer(material="topsoil", price=5, bag=0.05, delivery=20, **limits)
    (line,) = buy({"topsoil": 1.25}, [], [offer]).lines
    assert (line.count, line.deliveries, line.cost) == (25, trips, 25 * 5 + trips * 20)


def test_a_trip_that_carries_no_bag_is_refused():
    offer = Offer(material="topsoil", price=5, bag=0.05, fetch=1.0, payload=78.0)
    with pytest.raises(ValueError, match=r"a deal of 0\.05 m3 brought 0 m3 at a time"):
        buy({"topsoil": 1.25}, [], [offer])


def test_an_offer_that_is_neither_is_refused():
    with pytest.raises(ValueError, match="neither bag nor loose"):
        buy({"topsoil": 1.0}, [], [Offer(material="topsoil", price=1)])


@pytest.mark.parametrize(
    ("offer", "units", "words"),
    [
        (Offer(material="a", price=1, bag=0.04), "metric", "bag of 40 L"),
        (Offer(material="a", price=1, bag=1.0), "metric", "bag of 1 m³"),
        (Offer(material="a", price=1, bag=1.5 * YARD / 27), "imperial", "bag of 1.5 ft³"),
        (Offer(material="a", price=1, loose=YARD / 2), "imperial", "0.5 yd³ loose, delivered"),
        (Offer(material="a", price=1, loose=YARD, fetch=1), "imperial", "1 yd³ loose, fetched"),
        (Offer(material="a", price=1, bag=0.04, name="corner shop"), "metric", "corner shop: bag of 40 L"),
    ],
)
def test_offers_in_words(offer, units, words):
    (line,) = buy({"a": 0.5}, [], [offer]).lines
    assert offer_text(line, units) == words


@pytest.mark.parametrize(
    ("offer", "mass"),
    [
        (Offer(material="topsoil", price=4, bag=0.05), 62.5),  # 50 L at 1250 kg/m3
        (Offer(material="topsoil", price=40, loose=0.5), 625.0),
        (Offer(material="mix", price=5, bag=0.05, mix=(("topsoil", 0.6), ("compost", 0.4))), 51.5),  # 30 L + 20 L
    ],
)
def test_a_bag_weighs_its_whole_content(offer, mass):
    # 60 L of need are two bags of 50 L: each weighs what is in it, not half of the need
    line = buy({"topsoil": 0.06}, [], [offer]).lines[0]
    assert line.mass_each == pytest.approx(mass)


def test_a_payload_counts_whether_the_material_is_known_or_not():
    trip = Offer(material="rubble", price=1, loose=0.5, fetch=1.0, payload=500)
    with pytest.raises(ValueError, match="not in the table"):
        buy({"rubble": 1.0}, [], [trip])


materials = st.sampled_from(["topsoil", "compost", "sand", "bark"])
volumes = st.floats(0.01, 3)
sold = st.one_of(
    st.builds(Offer, material=materials, price=st.floats(0, 30), bag=st.sampled_from([0.02, 0.04, 0.1])),
    st.builds(
        Offer, material=materials, price=st.floats(0, 60), loose=st.sampled_from([0.25, 0.5]),
        minimum=st.sampled_from([0.0, 1.0]), delivery=st.floats(0, 90), per_delivery=st.sampled_from([None, 1.0]),
    ),
)  # fmt: skip


@settings(deadline=None, max_examples=40)
@given(
    needs=st.dictionaries(materials, volumes, max_size=4),
    stock=st.lists(st.builds(heap, materials, volumes), max_size=4),
    offers=st.lists(sold, max_size=5),
)
def test_accounts_balance(needs, stock, offers):
    bought = buy(needs, stock, offers)
    for name in {*needs, *(piece.material for piece in stock)}:
        taken = sum(use.volume for use in bought.on_hand if use.material == name)
        came = sum(volume for line in bought.lines for part, volume in line.parts if part == name)
        lack = sum(line.volume for line in bought.lines if line.kind == "none" and line.material == name)
        over = sum(rest.volume for rest in bought.left_over if rest.material == name and rest.at == "")
        need = needs.get(name, 0.0)
        # a thousandth of the need may be lacking, and a centilitre left over counts as nothing
        assert taken + came + lack - over == pytest.approx(need, abs=tolerated(need) + SHORT)
    for piece, use in zip(stock, bought.on_hand, strict=True):
        assert use.volume + use.left == pytest.approx(piece.volume, abs=1e-12)
        assert use.volume >= 0
        assert use.left >= 0
    assert bought.cost == pytest.approx(sum(line.cost or 0 for line in bought.lines), abs=1e-9)
    assert all((line.cost is None) == (line.kind == "none") for line in bought.lines)
    assert set(bought.missing) == {line.material for line in bought.lines if line.kind == "none"}


def test_arguments_are_left_alone():
    needs, stock = {"topsoil": 0.6}, [heap("topsoil", 0.4)]
    take_stock(needs, stock)
    buy(needs, stock, [Offer(material="topsoil", price=4, bag=0.1)])
    assert needs == {"topsoil": 0.6}
    assert stock == [heap("topsoil", 0.4)]


def test_what_is_given_away_costs_nothing():
    soil = Material(
        name="topsoil", kind="mineral", density=1000, density_wet=1250, settling_first=0.1, settling_later=0.03,
        shovel_rate=0.5,
    )  # fmt: skip
    found = purchase.buy(
        {"topsoil": 1.0}, [], [Offer(material="topsoil", price=0.0, loose=0.5)], materials={"topsoil": soil}
    )
    assert [line.cost for line in found.lines] == [0.0]
    assert found.cost == 0.0
