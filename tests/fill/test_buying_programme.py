"""The buying programme against exhaustive enumeration, by hand and by law."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.buying_programme import SHORT, Deal, _groups, cheapest

NAMES = ("topsoil", "compost", "sand")


def bag(name, size, price, **more):
    return Deal(size=size, price=price, parts={name: 1.0}, **more)


def lorry(name, size, price, **more):
    return Deal(size=size, price=price, parts={name: 1.0}, delivered=True, **more)


def covers(needs, deals, counts, storage=math.inf):
    """Return whether counts cover the needs within minimums and storage; deliveries follow from the counts."""
    for name, need in needs.items():
        brought = sum(deal.size * count * deal.parts.get(name, 0) for deal, count in zip(deals, counts, strict=True))
        if brought < need - SHORT:
            return False
    for deal, count in zip(deals, counts, strict=True):
        if count and count * deal.size < deal.minimum - SHORT:
            return False
    return sum(deal.size * count for deal, count in zip(deals, counts, strict=True)) <= storage + SHORT


def price(deals, counts):
    """Return the bill, reckoned apart from the programme."""
    bill = 0.0
    for deal, count in zip(deals, counts, strict=True):
        lorries = (
            math.ceil(count * deal.size / deal.capacity - 1e-9) if math.isfinite(deal.capacity) else min(count, 1)
        )
        bill += count * deal.price + (lorries * deal.fee if deal.delivered else 0.0)
    return bill


def enumerated(needs, deals, storage=math.inf):
    """Return the least cost over every combination of counts; None where none covers the needs."""
    ranges = []
    for deal in deals:
        most = max(math.ceil(needs[name] / (deal.size * share)) for name, share in deal.parts.items())
        ranges.append(range(max(most, math.ceil(deal.minimum / deal.size)) + 1))
    costs = [price(deals, counts) for counts in itertools.product(*ranges) if covers(needs, deals, counts, storage)]
    return min(costs, default=None)


def random_case(seed):
    """Return one small case: two or three materials, up to five deals, with minimums, fees and blends."""
    chance = np.random.default_rng(seed)
    names = NAMES[: chance.integers(1, 4)]
    needs = {name: float(chance.uniform(0.05, 1.0)) for name in names}
    deals = []
    for _ in range(chance.integers(1, 5)):
        name = str(chance.choice(names))
        if chance.random() < 0.45:
            deals.append(bag(name, float(chance.choice([0.15, 0.2, 0.25])), float(chance.integers(2, 12))))
            continue
        parts = {name: 1.0}
        if len(names) > 1 and chance.random() < 0.4:
            parts = {names[0]: 0.6, names[1]: 0.4}
        deals.append(
            Deal(
                size=float(chance.choice([0.25, 0.5])),
                price=float(chance.integers(3, 20)),
                parts=parts,
                delivered=True,
                minimum=float(chance.choice([0.0, 0.5, 1.0])),
                fee=float(chance.choice([0.0, 5.0, 20.0])),
                capacity=float(chance.choice([0.5, 1.0, math.inf])),
            )
        )
    return needs, deals, float(chance.choice([math.inf, math.inf, 2.0]))


@pytest.mark.parametrize("seed", range(50))
def test_the_programme_equals_enumeration(seed):
    needs, deals, storage = random_case(seed)
    counts = cheapest(needs, deals, storage=storage)
    best = enumerated(needs, deals, storage)
    if best is None:
        assert counts is None
        return
    assert counts is not None
    assert covers(needs, deals, counts, storage)
    assert price(deals, counts) == pytest.approx(best, abs=1e-6)  # the solver's own gap in money


def test_the_random_cases_are_of_all_sorts():
    cases = [random_case(seed) for seed in range(50)]
    answers = [enumerated(*case) for case in cases]
    assert 5 < sum(answer is None for answer in answers) < 35
    assert sum(any(len(deal.parts) > 1 for deal in deals) for _, deals, _ in cases) > 5
    assert sum(math.isfinite(storage) for _, _, storage in cases) > 5


def test_delivery_is_paid_for_each_lorry():
    # 2.5 m3 in lorries of 1 m3: three of them
    deals = [lorry("topsoil", 0.5, 20, fee=30, capacity=1.0)]
    counts = cheapest({"topsoil": 2.5}, deals)
    assert counts == (5,)
    assert deals[0].deliveries(5) == 3
    assert deals[0].cost(5) == 5 * 20 + 3 * 30


def test_a_minimum_is_kept_or_shunned():
    heap = lorry("topsoil", 0.5, 10, minimum=2.0)
    assert cheapest({"topsoil": 0.6}, [heap]) == (4,)
    assert cheapest({"topsoil": 0.6}, [heap, bag("topsoil", 0.1, 5)]) == (0, 6)  # 30 in bags against 40


def test_bags_top_up_a_lorry():
    # 1.1 m3: two steps at 20, 10 for delivery, two bags at 3.50: 57; three steps come to 70, 22 bags to 77
    deals = [lorry("topsoil", 0.5, 20, fee=10), bag("topsoil", 0.05, 3.5)]
    assert cheapest({"topsoil": 1.1}, deals) == (2, 2)


def test_rounding_up_is_over_the_whole_job():
    assert cheapest({"topsoil": 3 * 0.35}, [bag("topsoil", 0.1, 4)]) == (11,)  # not three times four


def test_what_fits_to_a_centilitre_is_not_bought_twice():
    assert cheapest({"topsoil": 0.1 * 3}, [bag("topsoil", 0.1, 4)]) == (3,)  # 0.30000000000000004 m3
    assert cheapest({"topsoil": 0.3 + 2e-5}, [bag("topsoil", 0.1, 4)]) == (4,)


def test_a_blend_serves_two_needs():
    blend = Deal(size=1.0, price=50, parts={"topsoil": 0.6, "compost": 0.4}, delivered=True)
    deals = [blend, bag("topsoil", 0.1, 10), bag("compost", 0.1, 10)]
    assert cheapest({"topsoil": 0.6, "compost": 0.4}, deals) == (1, 0, 0)
    assert cheapest({"topsoil": 0.6, "compost": 0.5}, deals) == (1, 0, 1)
    assert cheapest({"topsoil": 0.2}, deals) == (0, 2, 0)


def test_storage_bounds_what_is_bought():
    cheap = lorry("topsoil", 1.0, 10)
    assert cheapest({"topsoil": 0.3}, [cheap, bag("topsoil", 0.1, 8)]) == (1, 0)
    assert cheapest({"topsoil": 0.3}, [cheap, bag("topsoil", 0.1, 8)], storage=0.5) == (0, 3)
    assert cheapest({"topsoil": 0.6}, [cheap], storage=0.5) is None


def test_handling_tells_in_the_choice_but_not_in_the_bill():
    small, big = bag("compost", 0.025, 2.0, handling=0.5), bag("compost", 0.05, 4.2, handling=0.5)
    assert cheapest({"compost": 0.1}, [small, big]) == (0, 2)
    assert big.cost(2) == 8.4
    assert cheapest({"compost": 0.1}, [bag("compost", 0.025, 2.0), bag("compost", 0.05, 4.2)]) == (4, 0)


def test_ties_go_to_fewer_deliveries_then_less_left_over_then_fewer_pieces_then_the_first():
    assert cheapest({"sand": 1.0}, [lorry("sand", 1, 10), bag("sand", 1, 10)]) == (0, 1)
    assert cheapest({"sand": 1.0}, [bag("sand", 1.5, 10), bag("sand", 1, 10)]) == (0, 1)
    assert cheapest({"sand": 1.0}, [bag("sand", 0.5, 5), bag("sand", 1, 10)]) == (0, 1)
    assert cheapest({"sand": 1.0}, [bag("sand", 1, 10), bag("sand", 1, 10)]) == (1, 0)


def test_nothing_wanted_is_nothing_bought():
    assert cheapest({}, []) == ()
    assert cheapest({"sand": 0.0}, [bag("sand", 1, 10)]) == (0,)
    assert cheapest({"sand": 1.0}, []) is None


@pytest.mark.parametrize("faulty", [{"size": 0}, {"price": -1}, {"fee": -1}, {"minimum": -1}, {"capacity": 0}])
def test_a_deal_that_cannot_be_is_refused(faulty):
    with pytest.raises(ValueError, match="must be"):
        Deal(**({"size": 1.0, "price": 1.0, "parts": {"sand": 1.0}} | faulty))


offers = st.lists(
    st.tuples(st.sampled_from([0.02, 0.04, 0.25, 0.5]), st.integers(1, 60), st.sampled_from([0, 20, 60])),
    min_size=1,
    max_size=4,
)


@settings(deadline=None, max_examples=25)
@given(need=st.floats(0.05, 4), given=offers, more=st.floats(0.01, 1))
def test_more_is_never_cheaper_and_another_offer_never_dearer(need, given, more):
    deals = [
        Deal(size=size, price=cost, parts={"sand": 1.0}, delivered=fee > 0, fee=fee) for size, cost, fee in given
    ]

    def least(wanted, among):
        counts = cheapest({"sand": wanted}, among, break_ties=False)
        return price(among, counts)

    assert least(need + more, deals) >= least(need, deals) - 1e-6
    assert least(need, [*deals, bag("sand", 0.1, 7)]) <= least(need, deals) + 1e-6


def test_a_blend_of_three_binds_all_three_together():
    deals = [
        Deal(size=1, price=1, parts={"a": 0.2, "b": 0.3, "c": 0.5}), Deal(size=1, price=1, parts={"d": 1.0}),
        Deal(size=1, price=1, parts={"c": 1.0}), Deal(size=1, price=1, parts={"none": 1.0}),
    ]  # fmt: skip
    assert _groups({"a": 1.0, "b": 2.0, "c": 3.0, "d": 4.0, "e": 5.0}, deals) == [
        ({"a": 1.0, "b": 2.0, "c": 3.0}, [0, 2]), ({"d": 4.0}, [1]), ({"e": 5.0}, []),
    ]  # fmt: skip
    chained = [Deal(size=1, price=1, parts={one: 0.5, other: 0.5}) for one, other in ("ab", "cd", "bc")]
    assert _groups(dict.fromkeys("abcd", 1.0), chained) == [(dict.fromkeys("abcd", 1.0), [0, 1, 2])]


def test_what_is_carried_home_has_no_delivery_and_what_is_brought_at_least_one():
    carried, brought = (
        Deal(size=0.5, price=10, parts={"a": 1.0}, delivered=way, fee=20, capacity=1.0) for way in (False, True)
    )
    assert [carried.deliveries(count) for count in (0, 1, 9)] == [0, 0, 0]
    assert [brought.deliveries(count) for count in (0, 1, 2, 3, 4, 5)] == [0, 1, 1, 2, 2, 3]
    assert (carried.cost(3), brought.cost(3), brought.cost(0)) == (30.0, 70.0, 0.0)


def test_as_many_pieces_as_the_scarcest_part_wants_and_no_fewer_than_the_minimum():
    mix = Deal(size=0.5, price=1, parts={"a": 0.25, "b": 0.75}, delivered=True, minimum=1.0)
    assert [mix.fewest(volume) for volume in (0.0, SHORT, 2 * SHORT, 1.0, 1.0 + SHORT, 1.0 + 3 * SHORT)] == [
        0,
        0,
        2,
        2,
        2,
        3,
    ]
    assert mix.most({"a": 1.0, "b": 0.3}) == 8
    assert mix.most({"b": 3.0}) == 8
