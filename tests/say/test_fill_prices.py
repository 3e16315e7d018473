"""What is said about the prices of the fill: each kind of total, saving, lack and bag. By hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from siteplan.files.constant_tables import read_materials
from siteplan.fill.fill_results import Alternative, BreakEven, PurchaseLine
from siteplan.fill.purchase import buy
from siteplan.land.findings import finding
from siteplan.land.site import Offer, Stock
from siteplan.say.figures import plural
from siteplan.say.fill_prices import _size_text, break_even_sentences, but_text, offer_text, price_sentences, why_text

BOUGHT = PurchaseLine(material="topsoil", kind="bag", count=2, volume=0.08, cost=10.0, size=0.04)


def lacking(material, code="no-offer", **figures):
    return PurchaseLine(
        material=material, kind="none", count=0, volume=1.0, cost=None, why=finding(code, material, **figures)
    )


def plan_with(price, *purchase, alternatives=(), layers=("a layer",)):
    lacks = tuple(line.material for line in purchase if line.why is not None)
    fill = SimpleNamespace(
        price=price, purchase=purchase, alternatives=alternatives, layers=layers, lacking=lacks, break_evens=(), supplies=()
    )  # fmt: skip
    return SimpleNamespace(fill=fill, site=SimpleNamespace(currency="EUR", units="metric"))


def alternative(name="all bagged", cost=100.0, saving=None, lacks=(), only=False):
    return Alternative(name=name, total_cost=cost, lacking=lacks, only_this_way=only, saving=saving)


def said(*alternatives):
    """Return what is said after the total, of a plan for 1,234.50 EUR."""
    total, *rest = price_sentences(plan_with(1234.5, BOUGHT, alternatives=alternatives))
    assert total == "Total 1,234.50 EUR."
    return rest


def test_the_total_in_each_case():
    assert said() == []
    assert price_sentences(plan_with(0.0)) == ["Nothing to buy: all of it is on hand."]
    assert price_sentences(plan_with(None, lacking("compost"))) == ["No total: nobody offers compost."]
    assert price_sentences(plan_with(12.0, BOUGHT, lacking("compost"))) == [
        "Total 12.00 EUR for the rest, but nobody offers compost."
    ]


def test_nothing_is_said_where_nothing_is_filled():
    assert price_sentences(plan_with(12.0, BOUGHT, layers=())) == []
    assert price_sentences(SimpleNamespace(fill=None, site=SimpleNamespace(currency="EUR"))) == []


def test_savings_are_told_only_of_what_has_a_price_and_is_bought():
    other = (alternative(saving=5.0),)
    assert len(price_sentences(plan_with(12.0, BOUGHT, alternatives=other))) == 2
    assert len(price_sentences(plan_with(None, lacking("compost"), alternatives=other))) == 1
    assert len(price_sentences(plan_with(0.0, alternatives=other))) == 1


def test_materials_are_grouped_by_what_they_lack():
    room = {"room": 1.0, "wanted": 2.05}
    plan = plan_with(
        None, lacking("compost"), lacking("topsoil", "no-room", **room), lacking("bark"), lacking("sand", "no-fit", room=1.0)
    )  # fmt: skip
    assert price_sentences(plan) == [
        (
            "No total: nobody offers compost and bark; topsoil: only 1.00 m³ can be stored, not 2.05 m³; sand: no offer "
            "fits into the 1.00 m³ that can be stored."
        )
    ]


def test_savings_are_told_in_one_sentence():
    assert said(alternative(saving=2000.5), alternative("no coarse layer", saving=3.0)) == [
        "Buying it this way saves 2,000.50 EUR against all bagged and 3.00 EUR against soil in place of the coarse base."
    ]


@pytest.mark.parametrize(("saving", "sentence"), [
    (0.006, "Buying it this way saves 0.01 EUR against all bagged."), (0.004, "All bagged it would cost the same."),
    (0.005, "All bagged it would cost the same."), (0.0, "All bagged it would cost the same."),
    (-0.004, "All bagged it would cost the same."), (-0.005, "All bagged it would cost the same."),
    (0.0052, "Buying it this way saves 0.01 EUR against all bagged."), (-0.0052, "All bagged it would cost 0.01 EUR less."),
    (-0.006, "All bagged it would cost 0.01 EUR less."), (-1234.5, "All bagged it would cost 1,234.50 EUR less."),
    (None, "All bagged it would cost 100.00 EUR."),
])  # fmt: skip
def test_a_saving_counts_from_half_a_cent_on(saving, sentence):
    assert said(alternative(saving=saving)) == [sentence]


def test_what_an_alternative_lacks_stands_in_brackets():
    without = " (without bark and sand, which cannot be had)"
    lacks = ("bark", "sand")
    assert said(alternative(lacks=lacks)) == [f"All bagged it would cost 100.00 EUR{without}."]
    assert said(alternative(lacks=lacks, saving=-2.0)) == [f"All bagged it would cost 2.00 EUR less{without}."]
    assert said(alternative(lacks=lacks, saving=0.0)) == [f"All bagged it would cost the same{without}."]


def test_soil_in_place_of_the_base_has_words_of_its_own():
    assert said(alternative("no coarse layer", saving=-2.0)) == [
        "With soil in place of the coarse base it would cost 2.00 EUR less."
    ]
    assert said(alternative("no coarse layer", cost=None, lacks=("soil",), only=True)) == [
        "Soil in place of the coarse base is not possible: no offer has soil."
    ]


@pytest.mark.parametrize(("name", "only", "sentence"), [
    ("all bagged", True, "All bagged is not possible: no offer has soil in bags."),
    ("all loose", True, "All loose is not possible: no offer has soil loose."),
    ("all loose", False, "All loose is not possible: no offer has soil."),
])  # fmt: skip
def test_what_cannot_be_bought_in_one_way(name, only, sentence):
    assert said(alternative(name, cost=None, lacks=("soil",), only=only)) == [sentence]


def test_what_is_offered_but_does_not_fit_into_the_storage():
    no_room = Alternative(name="all loose", total_cost=None, lacking=("soil",), only_this_way=True, too_much=True)
    assert said(no_room) == ["All loose is not possible: it does not fit into the storage."]


def test_nothing_is_lacking():
    assert but_text(alternative()) == ""
    assert why_text(BOUGHT, "metric") == ""
    assert why_text(lacking("compost"), "metric") == "nobody offers it"


@pytest.mark.parametrize(("volume", "metric", "imperial"), [
    (0.04, "40 L", "1.413 ft³"), (0.0285, "28.5 L", "1.006 ft³"),  # a cubic foot is 28.316847 L
    (0.199, "199 L", "7.028 ft³"), (0.2, "0.2 m³", "0.2616 yd³"), (1.0, "1 m³", "1.308 yd³"),  # a yard, 764.554858 L
])  # fmt: skip
def test_sizes_from_a_fifth_of_a_cubic_metre_are_loads(volume, metric, imperial):
    assert (_size_text(volume, "metric"), _size_text(volume, "imperial")) == (metric, imperial)


def test_offers_in_words():
    def told(kind, name=""):
        line = PurchaseLine(material="soil", kind=kind, count=1, volume=0.5, cost=9.0, size=0.5, name=name)
        return offer_text(line, "metric")

    assert [told(kind) for kind in ("none", "bag", "loose", "fetch")] == [
        "", "bag of 0.5 m³", "0.5 m³ loose, delivered", "0.5 m³ loose, fetched",
    ]  # fmt: skip
    assert told("bag", "yard") == "yard: bag of 0.5 m³"


def broken_even(bags, *volumes, bag=0.05, name="topsoil"):
    """Return the sentence on topsoil in bags of 50 L, of which some must be bought, some lies there, and some is sand."""
    supplies = [SimpleNamespace(material=name, at="", volume=one) for one in volumes]
    supplies += [
        SimpleNamespace(material=name, at="heap", volume=7.0), SimpleNamespace(material="sand", at="", volume=7.0),
    ]  # fmt: skip
    fill = SimpleNamespace(break_evens=(BreakEven(material=name, bag=bag, bags=bags),), supplies=supplies)
    return break_even_sentences(SimpleNamespace(fill=fill, site=SimpleNamespace(units="metric")))


@pytest.mark.parametrize(("bags", "sentence"), [
    (None, "Topsoil is cheaper by the bag of 50 L, however much it is (here it takes 3 bags)."),
    (1, "Topsoil is always cheaper loose than by the bag (here it takes 3 bags)."),
    (2, "Topsoil is cheaper loose from 2 bags of 50 L on (here it takes 3 bags)."),
    (1500, "Topsoil is cheaper loose from 1,500 bags of 50 L on (here it takes 3 bags)."),
])  # fmt: skip
def test_from_how_many_bags_on_loose_is_cheaper(bags, sentence):
    """60 L and 50 L are 110 L: two bags and a fifth, so three."""
    assert broken_even(bags, 0.06, 0.05) == [sentence]


@pytest.mark.parametrize(("volume", "bags"), [(0.1, 2), (0.107, 2), (0.108, 3), (0.12, 3), (0.001, 1)])
def test_as_many_bags_are_told_as_are_bought(volume, bags):
    """Beside 7 m3 on hand a thousandth of all is 7.1 L: 107 L want two bags of 50 L, and 108 L want three."""
    (told,) = broken_even(1, volume)
    assert told == f"Topsoil is always cheaper loose than by the bag (here it takes {plural(bags, 'bag')})."
    stock, offer = Stock(material="topsoil", volume=7.0, at="heap"), Offer(material="topsoil", price=4, bag=0.05)
    bought = buy({"topsoil": 7.0 + volume}, [stock], [offer], materials=read_materials()).lines
    assert [line.count for line in bought] == ([bags] if volume > 0.01 else [])


def test_a_name_keeps_its_letters():
    words = "Bob's NPK mix is always cheaper loose than by the bag (here it takes 1 bag)."
    assert broken_even(1, 0.01, name="bob's NPK mix") == [words]


def test_bags_are_compared_only_for_what_must_be_bought():
    assert broken_even(2) == []
    assert broken_even(2, 0.001) == ["Topsoil is cheaper loose from 2 bags of 50 L on (here it takes 1 bag)."]
    assert break_even_sentences(SimpleNamespace(fill=None, site=SimpleNamespace(units="metric"))) == []
