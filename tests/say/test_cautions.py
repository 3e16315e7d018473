"""Cautions in words: braces, ground that falls, manure, pushes and heaps, and what holds on every site. By hand."""

from __future__ import annotations

import pytest

from siteplan.land.findings import Caution
from siteplan.say.cautions import MOST, PHRASES, everywhere_sentence, listed_cautions
from siteplan.say.phrases import fill_phrase, listed


def said(code, units="metric", **figures):
    return fill_phrase(PHRASES[code], figures, units)


@pytest.mark.parametrize(("words", "most", "text"), [
    (["a", "b", "c"], 0, "a, b and c"), (["a", "b", "c"], 3, "a, b and c"), (["a", "b", "c", "d"], 3, "a, b, c and 1 more"),
    (["a", "b", "c", "d"], 0, "a, b, c and d"), ((), 0, ""),
])  # fmt: skip
def test_words_in_a_list(words, most, text):
    assert listed(words, most=most) == text


@pytest.mark.parametrize(("count", "text"), [
    (0, "At this length a brace between its ends is not common."),
    (1, "Common for boards here is one brace across, at the middle of the long sides, from post to post."),
    (2, "Common for boards here are 2 braces across, about 90 cm apart, from post to post."),
])  # fmt: skip
def test_braces_by_their_number(count, text):
    assert (
        said("wall-span", long=2.4, count=count, step=0.9) == f"Walls longer than 2.40 m bulge. {text} Ask a builder."
    )
    assert said("wall-bracing", high=0.6, thrust=980.665, count=count, step=0.9) == (
        "Walls over 60 cm high need bracing: wet fill pushes as hard as the weight of 100 kg on each metre of wall. "
        f"{text} Ask a builder, and the local code."
    )


@pytest.mark.parametrize(("more", "note"), [
    (0.05, " On this ground it would hold 5% more."), (-0.05, " On this ground it would hold 5% less."), (0.0, ""), (1.5, " On this ground it would hold 150% more."),
])  # fmt: skip
def test_ground_that_falls_holds_more_or_less(more, note):
    text = said("uneven-ground", fall=0.24, more=more)
    assert text.startswith("The ground falls by 24 cm across the bed.")
    assert text.endswith(f"with its height at the middle.{note}")


def test_weights_and_heat_in_the_gardener_s_units():
    assert "about 500 kg on each square metre for each 30 cm of depth: never" in said("ground-load")
    assert "about 100 lb on each square foot for each foot of depth: never" in said("ground-load", "imperial")
    manure = {
        "hot_from": 55.0,
        "hot_to": 77.0,
        "vessel_days": 3,
        "windrow_days": 15,
        "turns": 5,
        "touching": 120,
        "clear": 90,
    }
    assert "held at 55 to 77 °C for 3 days in a closed vessel" in said("composted-manure", **manure)
    assert "held at 131 to 170 °F for 3 days in a closed vessel" in said("composted-manure", "imperial", **manure)


@pytest.mark.parametrize(("below", "carbon"), [(0.0, 0.0), (0.2, 70.0)])
def test_roots_and_nitrogen_with_what_is_known(below, carbon):
    roots = " and roots are counted on to use 20 cm of the ground below (common practice)" if below else ""
    assert said("crop-depth", below=below, soil=0.15, wanted=(("tomato", 0.45),)) == (
        f"15 cm of soil lie above the coarse base{roots}, less than these want: tomato (45 cm). Less coarse material, a higher "
        "bed, or crops with shallower roots."
    )
    ratio = " (straw: about 70 parts of carbon to one of nitrogen)" if carbon else ""
    assert f"while it decays{ratio}, worst when mixed" in said("nitrogen", carbon=carbon, material="straw")


@pytest.mark.parametrize(("bag", "for_two", "end"), [
    ("", False, "stop at chest pain or dizziness."),
    ("soil", True, "dizziness. A bag of soil weighs about 25 kg, more when wet: a lift for two people."),
    ("soil", False, "dizziness. A bag of soil weighs about 25 kg, more when wet: a lift for some alone, not for all."),
])  # fmt: skip
def test_lifting(bag, for_two, end):
    assert said("heavy-lifting", bag=bag, for_two=for_two, mass=25.0).endswith(end)


def push(peak, anybody):
    """Return what is said of a push of 30 kg that starts at twice as much; 9.80665 N are a kilogram's weight."""
    one = 9.80665
    figures = {"keep": 30 * one, "women": 15 * one, "men": 20 * one, "women_start": 25 * one, "men_start": 35 * one}
    return said("heavy-push", mass=60.0, material="soil", source="heap", peak=peak * one, anybody=anybody, **figures)


def test_a_push_and_its_hardest_spot():
    begin = 'Pushing 60 kg of soil from "heap" takes a push as hard as lifting 30 kg'
    end = ". Take smaller loads, lay boards, or go two together."
    women = ". That is above the guideline for women: 15 kg to keep moving and 25 kg to start; for men it is 20 kg and 35 kg"
    anybody = ". That is above the guideline for anybody: 20 kg for men and 15 kg for women to keep moving, 35 kg and 25 kg to start"
    assert push(30, anybody=False) == begin + women + end
    assert push(40, anybody=True) == f"{begin}, and 40 kg at the hardest spot{anybody}{end}"


def test_heaps_that_do_not_fit():
    end = ", clear of roots, beds and ways. Have them delivered one after the other, or make more room."
    assert said("heap-too-big", materials=("soil",), widest=2.2) == (
        f"Not all heaps fit here at once: soil needs a round of 2.20 m{end}"
    )
    assert said("heap-too-big", materials=("soil", "bark"), widest=2.2) == (
        f"Not all heaps fit here at once: soil and bark need rounds of up to 2.20 m{end}"
    )


def test_where_a_lorry_is_taken_to_tip():
    assert said("no-drop", hard=False, width=2.5, reach=3.0) == (
        "No pile says where a delivery may be tipped (drop = true), and no hard ground as wide as a lorry (2.50 m) reaches an "
        "open edge of the property. So it is assumed to be tipped here."
    )
    hard = said("no-drop", hard=True, width=2.5, reach=3.0)
    lorry = said("lorry", width=2.5, reach=3.0)
    assert hard == f"No pile says where a delivery may be tipped (drop = true). {lorry}"
    assert lorry.startswith(
        "A lorry 2.50 m wide is assumed to come from the edge of the property and to tip within 3.00 m of here."
    )


def test_bags_by_their_names():
    text = said("heavy-bag", bags=(("soil", 25.0), ("sand", 40.0)), men=25.0, women=16.0, ground=10.0)
    assert text.startswith("Bags weigh about soil 25 kg, sand 40 kg, more when wet. The guideline")


def test_what_holds_on_every_site_is_told_once():
    cautions = [Caution(code, "", "x") for code in ("lead-test", "no-soil", "heavy-lifting", "lead-test", "handling")]
    assert everywhere_sentence(cautions) == (
        "As on every site, mind lead in the soil, lifting and handling of materials. The work sheet (siteplan plan) says how."
    )
    assert everywhere_sentence([Caution("no-soil", "", "x")]) == ""


def test_of_many_that_are_alike_the_first_are_told():
    many = [Caution("no-soil", f"bed {number}", "It is so.") for number in range(MOST + 3)]
    shown = listed_cautions(many)
    assert [one.feature for one in shown] == [*(f"bed {number}" for number in range(MOST)), ""]
    assert shown[-1].text == "3 more of this kind: It is so."
