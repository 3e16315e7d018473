"""Do the cautions of this site come first, and are those of any site folded under one line?"""

from __future__ import annotations

from siteplan.land.findings import Caution
from siteplan.say.cautions import ANYWHERE, PHRASES, by_weight, everywhere_sentence
from siteplan.show.terminal import _cautions
from siteplan.show.terminal_layout import print_table

FOUND = (
    Caution("call-before-digging", "", "Before you dig, have pipes marked."),
    Caution("converted", "", "features.geojson was converted."),
    Caution("lead-test", "", "Have the soil tested for lead. It may hurt children."),
    Caution("heavy-push", "north", "Pushing takes a push as hard as lifting 20 kg."),
)


def test_the_order_of_weight():
    assert [one.code for one in by_weight(FOUND)] == ["heavy-push", "converted", "call-before-digging", "lead-test"]


def test_codes_are_those_of_phrases():
    assert set(ANYWHERE) <= set(PHRASES)


def test_what_holds_anywhere_is_one_line(capsys):
    _cautions(FOUND, brief=True)
    lines = capsys.readouterr().out.strip().splitlines()
    assert lines == [
        "Mind:",
        "- north: Pushing takes a push as hard as lifting 20 kg.",
        "- features.geojson was converted.",
        "- As on every site, mind buried pipes and cables before you dig and lead in the",
        "  soil. The work sheet (siteplan plan) says how.",
    ]
    assert everywhere_sentence(FOUND[1:2]) == ""


def test_in_full_where_nothing_is_folded(capsys):
    _cautions(FOUND)
    assert "Have the soil tested for lead. It may hurt children." in capsys.readouterr().out


def test_a_table_never_cuts_a_number(capsys):
    words = "a long name of a material that wraps over several lines of the table"
    print_table("Too wide", ["what", "much", "more"], [[words, "1,234,567.89", "9,876,543.21 EUR"]] * 2)
    out = capsys.readouterr().out
    assert out.count("1,234,567.89") == 2
    assert out.count("9,876,543.21 EUR") == 2


def test_a_table_never_cuts_a_head_nor_breaks_a_short_word(capsys):
    heads = ["bed", "first figure", "second figure", "third figure", "fourth figure", "fifth figure", "light"]
    print_table("Wide", heads, [["a-long-name-of-a-bed", *["1.0"] * 5, "full sun"]])
    out = capsys.readouterr().out
    assert all(out.count(word) for head in heads for word in head.split())
    assert out.count("figure") == 5
    assert "full sun" in out


def test_a_table_without_rows_is_not_printed(capsys):
    print_table("Empty", ["run", "day"], [])
    assert capsys.readouterr().out == ""
