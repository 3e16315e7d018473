"""What is said of the fill: marks, bags, water, savings, and the words where nothing is on offer."""

from __future__ import annotations

from dataclasses import replace

import pytest

from siteplan.fill.fill_plan import plan_fill
from siteplan.land.layers import LayerSpec, Recipe
from siteplan.land.site import Offer, Stock, WaterSettings
from siteplan.land.units import length_text
from siteplan.say.fill_prices import break_even_sentences, price_sentences
from siteplan.say.filling import fill_rows, full_sentence, left_over_rows, weekly_line
from siteplan.say.topping_up import top_up_rows
from siteplan.show.sheet.work_sheet import report_html
from siteplan.show.terminal import print_plan


def planned(plan, **changes):
    site = replace(plan.site, **changes)
    return replace(plan, site=site, fill=plan_fill(site), haul=None, maps=None, beds=(), places=None, cautions=())


def said(capsys, plan):
    print_plan(plan, command="fill", written=())
    out = capsys.readouterr().out
    assert max(len(line) for line in out.splitlines()) <= 80
    return " ".join(out.split())


def test_marks_are_rounded_and_the_last_is_the_brim(drawn_plan):
    bed = drawn_plan.site.beds[0]
    rows = fill_rows(drawn_plan, bed.id)
    # 18 in: coarse to two fifths 7.2 in, topsoil to four fifths 14.4 in, both to the half
    assert [row["top"] for row in rows] == ["7 in", "1 ft 2 1/2 in", "1 ft 6 in"]
    metric = planned(drawn_plan, units="metric")
    assert [row["top"] for row in fill_rows(metric, bed.id)] == ["18 cm", "37 cm", "46 cm"]  # to the centimetre


def test_bags_of_all_beds_are_what_is_bought(drawn_plan):
    comes = [row["comes"] for bed in drawn_plan.site.beds for row in fill_rows(drawn_plan, bed.id)]
    assert any(text.endswith("from soil-bins") or "from soil-bins," in text for text in comes)
    bags = 0.0
    for bed in drawn_plan.site.beds:
        for row in fill_rows(drawn_plan, bed.id):
            if row["material"] == "compost":
                whole, *half = row["comes"].removesuffix("s").removesuffix(" bag").split()
                bags += float(whole) + 0.5 * len(half)
    (line,) = [line for line in drawn_plan.fill.purchase if line.material == "compost"]
    assert line.kind == "bag"
    assert bags == pytest.approx(
        line.count, abs=0.25 * len(drawn_plan.site.beds) + 1
    )  # to the half; whole bags bought


def test_parts_of_a_blend_share_its_mark(drawn_plan):
    blend = LayerSpec(material="upper mix", fraction=0.6, mix=(("topsoil", 2), ("compost", 1)))
    recipe = Recipe(layers=(LayerSpec(material="coarse organic", fraction=0.4), blend))
    rows = fill_rows(planned(drawn_plan, recipe=recipe), "north bed")
    assert [row["material"] for row in rows] == ["coarse organic", "topsoil, mixed in", "compost, mixed in"]
    assert rows[1]["top"] == rows[2]["top"] == length_text(0.4572, "imperial")


def test_water_and_hose(drawn_plan):
    plan = planned(drawn_plan, water=WaterSettings(flow=1.0))
    bed = plan.fill.beds[0]
    gallons = bed.area * 0.0254 / 3.785411784e-3
    assert (
        weekly_line(plan, bed) == f"1 in of water a week is {gallons:.0f} gal (4 min of hose)"
    )  # 0.066 m3 at 1 m3/h
    assert "hose" not in weekly_line(drawn_plan, drawn_plan.fill.beds[0])
    metric = planned(drawn_plan, units="metric")
    assert weekly_line(metric, metric.fill.beds[0]).startswith("25 mm of water a week is ")


def test_the_saving_is_the_difference(drawn_plan):
    both = (
        Offer(material="topsoil", price=5.0, bag=0.04),
        Offer(material="topsoil", price=20.0, loose=0.5, delivery=30.0),
    )
    recipe = Recipe(layers=(LayerSpec(material="topsoil", fraction=1.0),))
    plan = planned(drawn_plan, recipe=recipe, offers=both, stock=())
    bagged = next(other for other in plan.fill.alternatives if other.name == "all bagged")
    difference = bagged.total_cost - plan.fill.total_cost
    assert difference > 0
    assert f"Buying it this way saves {difference:,.2f} USD against all bagged." in price_sentences(plan)
    assert "All loose it would cost the same." in price_sentences(plan)
    (sentence,) = break_even_sentences(plan)
    # 14 bags are 70, and two steps of half a cubic metre with the delivery too; 15 bags are 75
    assert "cheaper loose from 15 bags of 1.413 ft³ on" in sentence


def test_on_the_terminal(drawn_plan, capsys):
    out = said(capsys, planned(drawn_plan))
    for words in (
        "What goes in",
        "What to buy",
        "Total ",
        "Settled, weight and water",
        "lb/ft²",
        "gal",
        "each autumn",
    ):
        assert words in out


def test_nothing_on_offer_prints_no_zero(drawn_plan, capsys):
    plan = planned(drawn_plan, offers=())
    out = said(capsys, plan)
    assert "0.00" not in out
    assert "No total: nobody offers coarse organic, topsoil and compost." in out
    assert [row["cost"] for row in top_up_rows(plan)] == ["no offer"] * 3
    sheet = report_html(plan)
    assert "$0.00" not in sheet
    assert "nobody offers coarse organic, topsoil and compost" in sheet


def test_what_lacks_stands_beside_the_total(drawn_plan, capsys):
    offers = tuple(one for one in drawn_plan.site.offers if one.material != "compost")
    out = said(capsys, planned(drawn_plan, offers=offers))
    assert "for the rest, but nobody offers compost." in out


def test_all_on_hand(drawn_plan, capsys):
    stock = tuple(
        Stock(material=name, volume=50.0, at="soil-bins") for name in ("topsoil", "compost", "coarse organic")
    )
    plan = planned(drawn_plan, stock=stock)
    assert price_sentences(plan) == ["Nothing to buy: all of it is on hand."]
    assert {row["at"] for row in left_over_rows(plan)} == {"soil-bins"}
    assert "Nothing to buy" in said(capsys, plan)


def test_a_full_bed_is_said_to_be_full(drawn_plan, capsys):
    beds = (replace(drawn_plan.site.beds[0], filled=True), *drawn_plan.site.beds[1:])
    plan = planned(drawn_plan, beds=beds)
    assert full_sentence(plan) == "north bed is full already: nothing to bring."
    assert "north bed is full already" in said(capsys, plan)
    assert "north bed is full already: nothing to bring." in report_html(plan)  # a name keeps its letters
    every = planned(drawn_plan, beds=tuple(replace(bed, filled=True) for bed in drawn_plan.site.beds))
    assert "north bed, west bed and new bed are full already" in said(capsys, every)


def test_the_sheet_says_how(drawn_plan):
    sheet = report_html(drawn_plan)
    for words in (
        "wrung-out sponge",
        "Mow the grass",
        "with 6 in of overlap",
        "comes as",
        "wet with",
        "Left over",
        "Autumn",
    ):
        assert words in sheet
