"""The fill in words: every caution, what is lacking, and what comes."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import pytest
from shapely import box

from siteplan.fill.fill_plan import plan_fill
from siteplan.land.findings import finding
from siteplan.land.site import FillSettings, Offer
from siteplan.plan import plan_site
from siteplan.say.cautions import PHRASES, in_words
from siteplan.say.fill_cautions import OF_BEDS
from siteplan.say.fill_cautions import PHRASES as OF_THE_FILL
from siteplan.say.filling import fill_rows
from siteplan.say.hauling import order_notes
from siteplan.say.topping_up import top_up_rows

#: figures for whatever a phrase of the fill may ask
FIGURES = {
    "depth": 0.45, "share": 0.6, "soil": 0.15, "least": 0.2, "good": 0.3, "material": "straw {x}", "carbon": 70.0,
    "wanted": (("tomato", 0.45),), "long": 2.44, "count": 2, "step": 0.9, "below": 0.2, "high": 0.46, "thrust": 948.0, "deep": 0.46,
    "fall": 0.24, "more": 0.05, "volume": 0.9, "why": "no-room", "room": 1.0, "touching": dt.date(2026, 6, 29),
    "clear": dt.date(2026, 5, 30), "hot_from": 55.0, "hot_to": 77.0, "vessel_days": 3, "windrow_days": 15, "turns": 5,
    "bag": "topsoil", "mass": 62.5, "for_two": True, "lead": 250.0, "lead_class": "above screening", "screening": 200.0,
    "no_food": 400.0, "worked_in": dt.date(2026, 3, 1), "touching_days": 120, "clear_days": 90, "caution": "Heavy {y}.",
}  # fmt: skip


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("code", list(OF_THE_FILL))
def test_every_caution_is_said_aloud(code, units):
    figures = FIGURES | ({"wanted": 2.05} if code == "no-offer" else {})
    (caution,) = in_words([finding(code, "", **figures)], units)
    text = caution.text.replace("{x}", "").replace("{y}", "")  # braces of a name stay as they are
    assert PHRASES[code] is OF_THE_FILL[code]
    assert re.match("[A-Z0-9]", text)
    assert text.endswith(".")
    assert not set("{}") & set(text)
    wrong = r"\d\s?(?:cm|kg|L|kN)\b" if units == "imperial" else r"\d\s?(?:in|lb|ft)\b"
    assert not re.search(wrong, text), text


def test_a_reason_is_given_for_each_kind_of_lack():
    words = {"no-offer": "nobody offers it", "no-room": "only 1.00 m³ can be stored", "no-fit": "no offer fits"}
    for why, expected in words.items():
        found = finding("no-offer", material="soil", volume=0.9, why=why, room=1.0, wanted=2.05)
        assert expected in in_words([found], "metric")[0].text


def test_beds_with_the_same_finding_are_named_in_one_caution():
    same = [
        finding("shallow-soil", bed, soil=soil, least=0.2, good=0.3) for bed, soil in (("a", 0.15), ("b", 0.1501))
    ]
    other = finding("shallow-soil", "c", soil=0.1, least=0.2, good=0.3)
    assert "shallow-soil" in OF_BEDS
    first, second = in_words([*same, other], "metric")
    assert (first.feature, first.text[:12]) == ("", "Beds a, b: O")
    assert (second.feature, second.text[:10]) == ("c", "Only 10 cm")


def test_all_that_is_bought_must_have_come(tiny_yard):
    # compost 0.47 m3 in ten bags of 50 L: half a cubic metre comes
    plan = plan_site(tiny_yard, ask=["fill", "haul"])
    assert plan.fill.bought["compost"] == pytest.approx(0.5)
    assert any(note.startswith("0.50 m³ of compost must be there") for note in order_notes(plan))


def test_what_there_is_no_room_for_is_not_told_as_delivered(tiny_yard):
    # storage for 1 m3 where 2.05 m3 are to buy: nothing is bought, the heap of 0.3 m3 of topsoil is all that moves
    plan = plan_site(replace(tiny_yard, fill=FillSettings(storage=1.0)), ask=["fill", "haul"])
    comes = {row["material"]: row["comes"] for row in fill_rows(plan, "north bed")}
    assert re.fullmatch(r"\d+ barrows from heap, the rest not bought", comes["topsoil"])
    assert comes["compost"] == comes["coarse organic"] == "not bought"
    assert sum(load.volume for load in plan.haul.loads) == pytest.approx(0.3)
    assert order_notes(plan) == []
    assert not plan.haul.drop


def test_what_nobody_offers_is_still_to_be_found(tiny_yard):
    offers = tuple(offer for offer in tiny_yard.offers if offer.material != "coarse organic")
    plan = plan_site(replace(tiny_yard, offers=offers), ask=["fill"])
    comes = {row["material"]: row["comes"] for row in fill_rows(plan, "north bed")}
    assert comes["coarse organic"].endswith("barrows, still to be found")
    assert "bags" in comes["compost"]


def test_top_ups_say_what_is_left_over(tiny_yard):
    # ten bags of compost leave 30 L, and the first year wants more than that
    plan = plan_site(tiny_yard, ask=["fill"])
    first = top_up_rows(plan)[0]["with"]
    assert re.search(r"\d+ L compost \(30 L on hand\)", first)
    there = replace(tiny_yard, stock=(replace(tiny_yard.stock[0], volume=9.0),), recipe=tiny_yard.recipe)
    assert re.search(r"L topsoil \(on hand\)", top_up_rows(plan_site(there, ask=["fill"]))[0]["with"])


def test_a_heavy_bag_is_told_with_its_whole_content(tiny_yard):
    # 50 L at 1250 kg/m3 are 62.5 kg, told as 62: a lift for two, however little of the last bag is wanted
    bag = Offer(material="topsoil", price=3, bag=0.05)
    site = replace(
        tiny_yard, offers=(bag,), beds=(replace(tiny_yard.beds[0], outline=box(0, 0, 1, 0.5), height=0.3),)
    )
    plan = plan_fill(replace(site, stock=()))
    (caution,) = [one for one in in_words(plan.findings, "metric") if one.code == "heavy-lifting"]
    assert "A bag of topsoil weighs about 62 kg" in caution.text
    assert "two people" in caution.text
