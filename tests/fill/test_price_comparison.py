"""From how many bags on loose material is cheaper, by hand and against brute force."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.price_comparison import MOST_BAGS, alternatives, break_evens
from siteplan.fill.purchase import buy
from siteplan.land.constants import Material
from siteplan.land.site import Offer

SOIL = Material(
    name="topsoil", kind="mineral", density=1000, density_wet=1250, settling_first=0.1, settling_later=0.03,
    shovel_rate=0.5,
)  # fmt: skip
TABLE = {"topsoil": SOIL}


def bags_from(*offers):
    (found,) = break_evens([Offer(material="topsoil", **one) for one in offers], TABLE)
    return found.bags


def test_of_the_yard(tiny_yard):
    # bags of 40 L at 4; loose by half a cubic metre at 40, with 50 for each delivery of at most 5 m3. 165 bags are
    # 6.6 m3 and 660; loose that is 7 m3 in two deliveries, 14 x 40 + 2 x 50 = 660 as well. 166 bags cost 664, and so on
    # up: 176 bags (704) want half a cubic metre more (700), 251 bags (1004) a third delivery (990)
    (found,) = break_evens(tiny_yard.offers, tiny_yard.materials)
    assert (found.material, found.bag, found.bags) == ("topsoil", 0.04, 166)
    assert found.volume == pytest.approx(6.64)


def test_by_hand():
    bag = {"price": 2, "bag": 0.1}
    # the whole minimum of 5 m3 and the delivery are 70: as much as 35 bags; from 36 bags on, up to 50, it is that too;
    # beyond, each m3 at 10 is half the price of ten bags
    assert bags_from(bag, {"price": 10, "loose": 1, "delivery": 20, "minimum": 5}) == 36
    # steps of a bag's size: 20 / (20 - 10) = 2 m3, 20 bags, where both cost 40
    assert bags_from(bag, {"price": 1, "loose": 0.1, "delivery": 20}) == 21
    assert bags_from(bag, {"price": 1, "loose": 0.1, "delivery": 0.0}) == 1
    # each cubic metre comes alone, for 10 and a delivery of 8: 9 m3 are 162, as much as 81 bags; 82 to 90 bags are dearer,
    # 91 bags (182) want a tenth (180); below, 72 bags are 144 as 8 m3 are, and 73 bags (146) want a ninth
    assert bags_from(bag, {"price": 10, "loose": 1, "delivery": 8, "per_delivery": 1}) == 82
    # an own trip takes 1 m3, and of wet soil at 1250 kg/m3 with a payload of 500 kg but 0.4 m3: at 6 a trip that is
    # 15 a m3, and 10 for the soil, more than the bags' 20. Without that limit it is 6 and 10 a m3: 16 against 20
    own = {"price": 1, "loose": 0.1, "fetch": 1.0, "delivery": 6}
    assert bags_from(bag, own | {"payload": 500}) is None
    assert bags_from(bag, own) == 13  # 12 bags are 24, and 12 and two trips too; a third trip for 21: 39 against 42
    assert bags_from(bag, {"price": 20, "loose": 1, "delivery": 20}) is None
    # where one is cheaper from so many bags on that nobody carries them, it is by the bag
    assert bags_from(bag, {"price": 19.99, "loose": 1, "delivery": 20_000}) is None


def test_what_is_offered_may_not_fit_into_the_storage(tiny_yard):
    """0.9 m3: nine bags fit into 1 m3, but two loads of 0.7 m3 do not; compost is not offered in one way."""
    offers = (Offer(material="topsoil", price=2, bag=0.1), Offer(material="topsoil", price=1, loose=0.7),
              Offer(material="compost", price=2, bag=0.1))  # fmt: skip
    site = replace(tiny_yard, offers=offers, stock=(), beds=(), fill=replace(tiny_yard.fill, storage=1.0))

    def all_loose(needs):
        plan = buy(needs, (), offers, materials=site.materials, storage=1.0)
        assert plan.missing == ()
        bagged, loose = alternatives(site, needs, plan)
        assert bagged.total_cost is not None
        return loose.total_cost, loose.lacking, loose.too_much

    assert all_loose({"topsoil": 0.9}) == (None, ("topsoil",), True)
    assert all_loose({"topsoil": 0.5, "compost": 0.1}) == (None, ("compost",), False)


def test_what_is_sold_one_way_alone_has_none():
    assert break_evens([Offer(material="topsoil", price=2, bag=0.1)], TABLE) == ()
    blend = Offer(material="mix", price=2, loose=0.1, mix=(("topsoil", 1.0),))
    assert break_evens([Offer(material="topsoil", price=2, bag=0.1), blend], TABLE) == ()


def naive_cost(offer, litres):
    """Return what so many litres cost by one offer, adding bags or steps and trips one by one."""
    size = round((offer["bag"] if "bag" in offer else offer["loose"]) * 1000)
    count = 0
    while count * size < litres - litres / 1000 - 0.01 or count * size < offer.get("minimum", 0.0) * 1000 - 0.01:
        count += 1
    limits = [offer[key] * 1000 for key in ("per_delivery", "fetch") if offer.get(key)]
    if offer.get("payload"):
        limits.append(offer["payload"] / 1.25)  # litres of wet soil at 1250 kg/m3
    brought = "loose" in offer or limits or offer.get("delivery") or offer.get("minimum")
    trips, carried = (1 if brought and count else 0), min(limits, default=math.inf)
    while trips and trips * carried < count * size - 1e-6:
        trips += 1
    return count * offer["price"] + trips * offer.get("delivery", 0.0)


SIZES = st.sampled_from([0.02, 0.04, 0.05])
BAG = st.fixed_dictionaries({"price": st.integers(2, 8), "bag": SIZES})
PALLET = st.fixed_dictionaries(
    {"price": st.integers(2, 8), "bag": SIZES, "delivery": st.integers(0, 30), "per_delivery": st.just(0.4)}
)
LORRY = st.fixed_dictionaries(
    {
        "price": st.integers(2, 40), "loose": st.sampled_from([0.1, 0.25, 0.5]), "delivery": st.integers(0, 60),
        "minimum": st.sampled_from([0.0, 0.5, 1.0]), "per_delivery": st.sampled_from([None, 0.5, 1.5]),
    }
)  # fmt: skip
TRIP = st.fixed_dictionaries(
    {
        "price": st.integers(2, 40), "loose": st.sampled_from([0.1, 0.25]), "delivery": st.integers(0, 20),
        "fetch": st.sampled_from([0.5, 1.0]), "payload": st.sampled_from([None, 400.0, 750.0]),
    }
)  # fmt: skip


@settings(deadline=None, max_examples=30)
@given(
    bags=st.lists(st.one_of(BAG, PALLET), min_size=1, max_size=2),
    loose=st.lists(st.one_of(LORRY, TRIP), min_size=1, max_size=2),
)
def test_against_brute_force(bags, loose):
    # every count of bags up to 500, each volume priced by adding bags, steps and trips one by one
    most = 500
    (found,) = break_evens([Offer(material="topsoil", **one) for one in (*bags, *loose)], TABLE)
    litres = round(found.bag * 1000)
    assert found.bag == min(bags, key=lambda one: one["price"] / one["bag"])["bag"]
    cheaper = [
        min(naive_cost(one, count * litres) for one in loose)
        < min(naive_cost(one, count * litres) for one in bags) - 1e-9
        for count in range(1, most + 1)
    ]
    last = max((count for count, so in enumerate(cheaper, start=1) if not so), default=0)
    if found.bags is None:
        assert last > most - 200, "bags stay cheaper, again and again"
    elif found.bags <= most:
        assert found.bags == last + 1
    else:
        assert found.bags <= MOST_BAGS
        assert not all(cheaper)


@pytest.mark.parametrize("count", [20, 21])
def test_the_bill_turns_at_that_count(count):
    found = bags_from({"price": 2, "bag": 0.1}, {"price": 1, "loose": 0.1, "delivery": 20})
    assert (count >= found) is (20 + count < 2 * count)
