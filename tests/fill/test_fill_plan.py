"""The whole plan: its accounts, its alternatives, and what it says when something is lacking."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.fill.buying_programme import SHORT, tolerated
from siteplan.fill.fill_plan import plan_fill
from siteplan.fill.recipe import inside
from siteplan.land.features import Bed
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.outline import rectangle
from siteplan.land.site import FillSettings, Offer, Stock
from siteplan.say.cautions import in_words
from siteplan.say.fill_prices import but_text


def balance(site, plan):
    """Assert that volumes, masses and money add up over beds, piles, offers and left-overs."""
    volume = sum(inside(bed).area * bed.height for bed in site.beds)
    assert sum(layer.volume for layer in plan.layers) == pytest.approx(volume, abs=1e-9)
    no_room = {line.material: line.volume for line in plan.purchase if line.why and line.why.code != "no-offer"}
    here = volume - sum(no_room.values())  # what there is no room for is not bought, and does not come
    allowed = SHORT * len(plan.layers) + 1e-9
    assert sum(one.volume for one in plan.supplies) == pytest.approx(here, abs=allowed)
    assert {one.material for one in plan.supplies if not one.at}.isdisjoint(no_room)
    mass = sum(layer.volume * site.materials[layer.material].density for layer in plan.layers)
    lacks = sum(lack * site.materials[name].density for name, lack in no_room.items())
    assert sum(one.mass for one in plan.supplies) == pytest.approx(mass - lacks, rel=1e-9, abs=2000 * allowed)
    assert sum(bed.mass for bed in plan.beds) == pytest.approx(mass, rel=1e-9)
    for name in {layer.material for layer in plan.layers}:
        bought = sum(part for line in plan.purchase for material, part in line.parts if material == name)
        lacking = sum(line.volume for line in plan.purchase if line.kind == "none" and line.material == name)
        lacking -= no_room.get(name, 0.0)
        over = sum(rest.volume for rest in plan.left_over if rest.material == name and rest.at == "")
        carried = sum(one.volume for one in plan.supplies if one.material == name and one.at == "")
        need = sum(layer.volume for layer in plan.layers if layer.material == name)
        # a thousandth of the need may be lacking, and a centilitre a layer counts as nothing
        allowed = tolerated(need) + SHORT * (len(plan.layers) + 2)
        assert bought + lacking - over == pytest.approx(carried, abs=allowed)
    for piece, use in zip(site.stock, plan.on_hand, strict=True):
        assert use.volume + use.left == pytest.approx(piece.volume, abs=1e-12)
    assert plan.total_cost == pytest.approx(sum(line.cost or 0.0 for line in plan.purchase), abs=1e-9)
    for other in plan.alternatives:
        if other.total_cost is None:
            assert other.lacking
        elif other.name != "no coarse layer":  # fewer offers are never cheaper
            assert other.total_cost >= plan.total_cost - 1e-6


def test_the_yard_by_hand(tiny_yard):
    plan = plan_fill(tiny_yard)
    balance(tiny_yard, plan)
    # twice (2.4 - 0.0762)(1.2 - 0.0762) = 5.2230 m2; topsoil 0.4 x 0.45 m of it less the heap of 0.3: 0.6401 m3
    # in 40 L bags 16 at 4, for a thousandth may be lacking; coarse 0.9401 m3: two steps at 20 and 30 delivery; compost 0.4701 m3: ten bags at 6
    assert [(line.material, line.kind, line.count, line.cost) for line in plan.purchase] == [
        ("topsoil", "bag", 16, 64.0), ("compost", "bag", 10, 60.0), ("coarse organic", "loose", 2, 70.0),
    ]  # fmt: skip
    assert plan.total_cost == 194.0
    assert plan.complete
    assert {other.name: other.total_cost for other in plan.alternatives} == {
        "all bagged": None,
        "all loose": None,
        "no coarse layer": 220.0,  # topsoil 1.5802 m3: 1.5 m3 loose at 120 + 50 is dearer than 40 bags at 160
    }
    assert [but_text(other) for other in plan.alternatives[:2]] == [
        "is not possible: no offer has coarse organic in bags", "is not possible: no offer has compost loose",
    ]  # fmt: skip


def test_other_ways_are_bought_by_the_same_rule(tiny_yard):
    """40 bags of topsoil at 4 and 3 of trouble each are more than 1.5 m3 at 120 and 50 and two bags: 178, and compost 60."""
    plan = plan_fill(replace(tiny_yard, fill=replace(tiny_yard.fill, bag_handling=3.0)))
    assert {other.name: other.total_cost for other in plan.alternatives}["no coarse layer"] == 238.0


def test_what_nobody_offers_is_a_caution_and_the_rest_is_planned(tiny_yard):
    site = replace(tiny_yard, offers=tuple(offer for offer in tiny_yard.offers if offer.material != "coarse organic"))
    plan = plan_fill(site)
    balance(site, plan)
    assert not plan.complete
    assert plan.total_cost == 124.0
    (caution,) = [one for one in in_words(plan.findings, site.units) if one.code == "no-offer"]
    assert "0.94 m³ of coarse organic" in caution.text
    others = {other.name: other for other in plan.alternatives}
    assert others["all bagged"].total_cost == 124.0
    assert others["all bagged"].lacking == ("coarse organic",)
    assert others["no coarse layer"].total_cost == 220.0  # and this one fills the beds


def test_no_offers_at_all(tiny_yard):
    plan = plan_fill(replace(tiny_yard, offers=()))
    assert plan.total_cost == 0
    assert {line.material for line in plan.purchase} == {"topsoil", "compost", "coarse organic"}
    assert sum(one.code == "no-offer" for one in plan.findings) == 3


def test_a_site_without_beds(tiny_yard):
    plan = plan_fill(replace(tiny_yard, beds=()))
    assert plan.layers == plan.supplies == plan.purchase == plan.beds == ()
    assert plan.total_cost == 0
    assert [(rest.at, rest.volume) for rest in plan.left_over] == [("heap", 0.3)]


def test_proposed_beds_count(tiny_yard):
    assert {layer.bed for layer in plan_fill(tiny_yard).layers} == {"north bed", "new bed"}


def test_priority_moves_the_stock_but_not_the_bill(tiny_yard):
    first, other = plan_fill(tiny_yard), plan_fill(tiny_yard, priority=["new bed"])
    assert first.total_cost == other.total_cost
    assert {one.bed for one in first.supplies if one.at == "heap"} == {"north bed"}
    assert {one.bed for one in other.supplies if one.at == "heap"} == {"new bed"}


def test_a_recipe_without_coarse_has_no_such_alternative(tiny_yard):
    plain = Recipe(layers=(LayerSpec(material="topsoil", fraction=1.0),))
    names = [other.name for other in plan_fill(replace(tiny_yard, recipe=plain)).alternatives]
    assert names == ["all bagged", "all loose"]


def test_beds_in_numbers(tiny_yard):
    plan = plan_fill(tiny_yard)
    one = plan.beds[0]
    assert (one.bed, one.depth, one.lining_area) == ("north bed", 0.45, one.area)
    assert one.volume == pytest.approx(one.area * 0.45)
    assert one.ground_pressure == pytest.approx(one.mass_wet * 9.80665 / one.area)
    assert one.settled_depth == pytest.approx(0.45 * (0.4 * 0.84 + 0.4 * 0.9 + 0.2 * 0.8))
    assert one.volume_over_ground == pytest.approx(one.volume)
    assert one.weekly_water == pytest.approx(one.area * 0.0254)


def test_top_ups_are_priced_year_by_year(tiny_yard):
    plan = plan_fill(tiny_yard)
    assert [year.year for year in plan.top_up_years] == [1, 2, 3]
    for year in plan.top_up_years:
        wanted = sum(volume for one in plan.top_ups if one.year == year.year for _, volume in one.volumes)
        assert sum(volume for _, volume in year.volumes) == pytest.approx(wanted)
        assert year.cost is not None
    lean = plan_fill(replace(tiny_yard, offers=()))
    assert [year.cost for year in lean.top_up_years] == [None, None, None]


beds = st.lists(
    st.tuples(st.floats(0.6, 6), st.floats(0.5, 2), st.floats(0.1, 0.9), st.sampled_from([0.0, 0.0381, 0.3])),
    min_size=1,
    max_size=4,
)
stock = st.lists(st.tuples(st.sampled_from(["topsoil", "compost", "coarse organic"]), st.floats(0.01, 4)), max_size=4)


@settings(deadline=None, max_examples=25)
@given(sizes=beds, there=stock, storage=st.sampled_from([float("inf"), 3.0]), left_out=st.integers(0, 4))
def test_every_plan_adds_up(tiny_yard, sizes, there, storage, left_out):
    site = replace(
        tiny_yard,
        beds=tuple(
            Bed(
                id=f"bed {index}",
                outline=rectangle(0, 5 * index, length=length, width=width, heading=15 * index),
                height=height,
                wall_thickness=wall,
            )
            for index, (length, width, height, wall) in enumerate(sizes)
        ),
        stock=tuple(Stock(material=name, volume=volume, at="heap") for name, volume in there),
        offers=tuple(offer for index, offer in enumerate(tiny_yard.offers) if index != left_out),
    )
    balance(site, plan_fill(replace(site, fill=FillSettings(storage=storage))))


def test_the_same_site_gives_the_same_plan(tiny_yard):
    assert plan_fill(tiny_yard) == plan_fill(tiny_yard)


def test_a_blend_in_the_plan(tiny_yard):
    blend = Offer(material="garden blend", price=5.0, loose=0.5, mix=(("topsoil", 0.6), ("compost", 0.4)))
    site = replace(tiny_yard, offers=(*tiny_yard.offers, blend))
    plan = plan_fill(site)
    balance(site, plan)
    assert plan.total_cost < 194
    assert "garden blend" in {line.material for line in plan.purchase}
