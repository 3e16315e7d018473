"""What comes loose and what in bags, of one material."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.fill_results import PurchaseLine, Supply
from siteplan.haul.delivery.packaging import delivered_parts, delivered_volumes, loose_volumes, tipped_volumes


def need(bed, volume, at=""):
    return Supply(bed=bed, material="compost", at=at, volume=volume, mass=volume * 700)


def line(kind, count, volume):
    return PurchaseLine(
        material="compost", kind=kind, count=count, volume=volume, cost=1.0, mass_each=volume / count * 700
    )


def volumes_of(part):
    return None if part.bags is None else tuple(bag.volume for bag in part.bags)


def test_loose_is_used_first_and_bags_fill_up():
    parts = delivered_parts([need("a", 0.8), need("b", 0.5)], [line("loose", 1, 1.0), line("bag", 10, 0.4)])
    assert [(part.supply.bed, volumes_of(part)) for part in parts] == [
        ("a", None),
        ("b", None),
        ("b", pytest.approx((0.04,) * 8)),
    ]
    assert [part.supply.volume for part in parts] == pytest.approx([0.8, 0.2, 0.3])
    assert [part.supply.mass for part in parts] == pytest.approx([560, 140, 210])
    assert loose_volumes(parts) == {"compost": pytest.approx(1.0)}
    assert delivered_volumes(parts) == {"compost": pytest.approx(1.3)}


def test_a_pile_stays_as_it_is():
    parts = delivered_parts([need("a", 0.8, at="heap")], [line("bag", 10, 0.4)])
    assert [(part.supply.volume, part.bags) for part in parts] == [(0.8, None)]


def test_a_heap_is_what_the_lorry_brings():
    # two steps of half a cubic yard, 0.765 m3, come for the 0.63 m3 that the beds take: that lies in the heap
    bought = [line("loose", 2, 0.765)]
    parts = delivered_parts([need("a", 0.33), need("b", 0.30)], bought)
    assert tipped_volumes(parts, bought) == {"compost": pytest.approx(0.765)}
    # what cannot get to its bed is not tipped
    assert tipped_volumes(parts[:1], bought, parts[1:]) == {"compost": pytest.approx(0.765 - 0.30)}
    assert tipped_volumes((), bought, parts) == {}
    assert tipped_volumes(parts, ()) == {"compost": pytest.approx(0.63)}  # as needed where nothing is known


def test_nothing_bought_lies_loose():
    assert [part.bags for part in delivered_parts([need("a", 0.8)], [])] == [None]


def test_the_largest_bags_are_opened_first_and_their_rest_goes_on():
    # bags of 0.06, 0.06 and 0.03 m3: the first bed takes 0.07 of two large ones; the second needs 0.07, of which 0.05
    # are left in the second bag, and opens the small one
    parts = delivered_parts([need("a", 0.07), need("b", 0.07)], [line("bag", 1, 0.03), line("bag", 2, 0.12)])
    assert [volumes_of(part) for part in parts] == [pytest.approx((0.06, 0.06)), pytest.approx((0.03,))]


def test_a_bag_of_a_blend_is_told_and_weighed_as_such():
    # 60 L of topsoil and 40 L of compost in bags of 50 L, each of 0.6 x 62.5 + 0.4 x 35 = 51.5 kg
    bought = [
        PurchaseLine(
            material="raised bed mix", kind="bag", count=2, volume=0.1, cost=10.0, size=0.05, mass_each=51.5,
            parts=(("topsoil", 0.06), ("compost", 0.04)),
        )
    ]  # fmt: skip
    soil = Supply(bed="a", material="topsoil", at="", volume=0.06, mass=75.0)
    (part,) = delivered_parts([soil], bought)
    assert [(bag.volume, bag.mass, bag.name) for bag in part.bags] == [(0.05, 51.5, "raised bed mix")] * 2


def test_what_the_purchase_lacks_opens_no_bag_again():
    # ten bags of 0.1 m3 are bought for 1.0009 m3, since a thousandth may be lacking; what comes after them is not loose
    parts = delivered_parts([need("a", 1.0006), need("b", 0.0003)], [line("bag", 10, 1.0)])
    assert [volumes_of(part) for part in parts] == [pytest.approx((0.1,) * 10), ()]
    assert loose_volumes(parts) == {}


@settings(deadline=None, max_examples=40)
@given(volumes=st.lists(st.floats(0.001, 0.5), min_size=1, max_size=6), bag=st.floats(0.01, 0.08))
def test_no_more_bags_are_carried_than_bought(volumes, bag):
    bought = math.ceil(sum(volumes) / bag)
    parts = delivered_parts(
        [need(f"bed {k}", one) for k, one in enumerate(volumes)], [line("bag", bought, bought * bag)]
    )
    carried = sum(len(part.bags) for part in parts)
    assert carried == pytest.approx(bought, abs=1 if (sum(volumes) / bag) % 1 < 1e-3 else 0)  # a spoonful opens none
    assert carried <= bought


@settings(deadline=None, max_examples=50)
@given(
    volumes=st.lists(st.floats(0.01, 2), min_size=1, max_size=6),
    loose=st.floats(0.01, 5),
    bags=st.integers(1, 40),
)
def test_parts_are_the_whole(volumes, loose, bags):
    needs = [need(f"bed {k}", volume) for k, volume in enumerate(volumes)]
    parts = delivered_parts(needs, [line("loose", 1, loose), line("bag", bags, bags * 0.04)])
    for one in needs:
        of_it = [part.supply for part in parts if part.supply.bed == one.bed]
        assert sum(part.volume for part in of_it) == pytest.approx(one.volume)
        assert sum(part.mass for part in of_it) == pytest.approx(one.mass)
    assert loose_volumes(parts).get("compost", 0.0) == pytest.approx(min(loose, sum(volumes)))
