"""The words of a new bed on the command line: lengths, sizes, months and places, and what is refused."""

from __future__ import annotations

import argparse
import shlex
from dataclasses import replace

import pytest

from siteplan.bed_arguments import new_bed_and_ids, new_bed_words, place_numbers
from siteplan.land.errors import InputError
from siteplan.land.units import length_unit


def asked(site, ask=("place",), **words):
    return new_bed_and_ids(argparse.Namespace(**words), site, ask)


def refused(site, ask=("place",), **words):
    with pytest.raises(InputError) as found:
        asked(site, ask, **words)
    return [(fault.file, fault.where, fault.text) for fault in found.value.faults]


@pytest.mark.parametrize(("text", "found"), [
    ("1", [1]), ("1,3", [1, 3]), (" 3 , 1 ", [3, 1]), ("2,2,1", [2, 1]), ("0", None), ("-1", None), ("1,", None),
    ("", None), ("one", None), ("1.5", None), ("\u0663", None), ("12", [12]),
])  # fmt: skip
def test_places_are_whole_numbers_from_one_each_once(text, found):
    assert place_numbers(text) == found


def test_what_is_not_said_is_not_asked(tiny_yard):
    assert asked(tiny_yard) == ({}, None)
    assert asked(tiny_yard, ("sun",), bed="new bed") == ({}, {"new bed"})
    assert asked(tiny_yard, length=None, width=None, count=None, size=None, months=None, shape=None) == ({}, None)


def test_lengths_have_their_unit_or_that_of_the_drawing(tiny_yard):
    # 1 ft is 0.3048 m, 1 in 0.0254 m (international yard and pound agreement, 1959)
    feet = asked(tiny_yard, length="8 ft", width="48 in")[0]
    assert feet == pytest.approx({"length": 2.4384, "width": 1.2192}, abs=1e-12)
    assert asked(tiny_yard, length="2.4", width="120 cm")[0] == {"length": 2.4, "width": 1.2}
    assert asked(tiny_yard, count=3)[0] == {"count": 3}
    drawn_in_feet = replace(tiny_yard, drawing_unit=length_unit("ft"))
    assert asked(drawn_in_feet, length="8", size=None)[0] == pytest.approx({"length": 2.4384}, abs=1e-12)


@pytest.mark.parametrize(("text", "size"), [
    ("8 ft x 4 ft", (2.4384, 1.2192)), ("8 x 4 ft", (2.4384, 1.2192)), ("2.4X1.2", (2.4, 1.2)),
    ("2.4 m \u00d7 120 cm", (2.4, 1.2)), ("24 x 12 ells", None), (".5 x 1 m", (0.5, 1.0)),
    # 4 ft 6 in is 54 in of 0.0254 m: 1.3716 m; 8 ft is 2.4384 m; 4 1/2 ft is 1.3716 m
    ("8 x 4 ft 6 in", (2.4384, 1.3716)), ("8 x 4'6\"", (2.4384, 1.3716)), ("8 x 4 1/2 ft.", (2.4384, 1.3716)),
    ("8 ft 6 in x 4'", (2.5908, 1.2192)), ('96 x 48 "', (2.4384, 1.2192)),
])  # fmt: skip
def test_a_size_is_two_lengths_and_a_unit_said_last_holds_for_both(tiny_yard, text, size):
    if size is None:
        assert [where for _, where, _ in refused(tiny_yard, size=[text])] == ["--size", "--size"]
    else:
        assert asked(tiny_yard, size=[text])[0] == {"sizes": [pytest.approx(size, abs=1e-12)]}


@pytest.mark.parametrize("text", ["8 ft x 4", "8' x 4", "96 in x 4.5"])
def test_a_unit_of_the_first_side_alone_is_refused(tiny_yard, text):
    # the drawing is in metres: 4 would be 4 m, where 4 ft is meant
    (fault,) = refused(tiny_yard, size=[text])
    assert fault == (
        "", "--size", f'{text!r} has a unit on its first side alone; give it on both, as in "8 ft x 4 ft"',
    )  # fmt: skip


def test_several_sizes_keep_their_order(tiny_yard):
    assert asked(tiny_yard, size=["2 x 1 m", "1 x 1 m"])[0] == {"sizes": [(2.0, 1.0), (1.0, 1.0)]}
    (fault,) = refused(tiny_yard, size=["2 x 1 m", "2 m"])
    assert fault == ("", "--size", "'2 m' is no size, must be as \"8 ft x 4 ft\"")
    assert refused(tiny_yard, size=["1 x 1 x 1 m"])[0][2].startswith("'1 x 1 x 1 m' is no size")
    long = "1" * 60
    assert refused(tiny_yard, size=[long])[0][2].startswith(f"'{long[:40]}' is no size")


@pytest.mark.parametrize(("text", "months"), [
    ("4-6", [4, 5, 6]), ("3,4,10", [3, 4, 10]), ("11-2", [1, 2, 11, 12]), ("5", [5]), ("5-5", [5]), ("1-12", list(range(1, 13))),
    (" 6 - 7 , 6", [6, 7]), ("12", [12]), ("6-5", list(range(1, 13))),
])  # fmt: skip
def test_months_are_spans_that_may_run_over_the_new_year(tiny_yard, text, months):
    assert asked(tiny_yard, months=text)[0] == {"months": months}


@pytest.mark.parametrize("text", ["0", "13", "4-", "-4", "May", "4-13", "", "4,,5", "1-2-3", "\u0664"])
def test_what_is_no_month_is_refused(tiny_yard, text):
    (fault,) = refused(tiny_yard, months=text)
    assert fault == ("", "--months", f'{text!r} are no months, must be as "4-6" or "3,4,10"')


def test_all_that_is_wrong_comes_at_once_under_the_options_names(tiny_yard):
    found = refused(
        tiny_yard, length="far", width="4 ft", count=0, months="13", bed="nobody", adopt="first", variant="north"
    )
    assert [where for _, where, _ in found] == [
        "--length", "--months", "--bed", "--bed", "--count", "--adopt", "--adopt",
    ]  # fmt: skip
    assert found[-2][2].startswith("writes into the property, but the places are those of a variant")
    assert found[-1][2] == '\'first\' are no places, must be as "1" or "1,3"'
    assert refused(tiny_yard, size=["200 m x 1 m"])[0][:2] == ("", "--size")


def test_places_may_be_adopted_but_not_from_a_variant(tiny_yard):
    assert asked(tiny_yard, adopt="1,3", variant=None) == ({}, None)
    assert asked(tiny_yard, adopt=None, variant="north") == ({}, None)
    assert [text.split(",")[0] for _, _, text in refused(tiny_yard, adopt="1", variant="north")] == [
        "writes into the property"
    ]


def test_limits_are_said_in_feet_where_the_site_is(tiny_yard):
    # a side is at most 100 m: 328 ft
    ((_, _, metric),) = refused(tiny_yard, length="101 m")
    assert metric == "it is 101 m, must be at least 0.1 and at most 100 m"
    ((_, _, imperial),) = refused(replace(tiny_yard, units="imperial"), length="101 m")
    assert "328 ft" in imperial
    assert "331" in imperial


def test_the_outline_of_a_bed_is_read_from_its_file(tiny_yard, tmp_path):
    ring = [[0, 0], [2.4, 0], [2.4, 1], [1, 1], [1, 2], [0, 2], [0, 0]]
    file = tmp_path / "ell.geojson"
    file.write_text(f'{{"type": "Polygon", "coordinates": [{ring}]}}')
    assert asked(tiny_yard, shape=str(file))[0]["shape"].area == pytest.approx(3.4)  # 2.4 by 1 and 1 by 1
    ((file_name, where, _),) = refused(tiny_yard, shape=str(tmp_path / "none.geojson"))
    assert "none.geojson" in file_name + where


def test_the_options_of_a_new_bed_are_written_as_they_were_given():
    given = argparse.Namespace(
        site="yard",
        length="8 ft",
        width="4'",
        count=2,
        size=["4 ft x 4 ft", "2x1"],
        shape=None,
        months="4-5",
        out="o",
    )
    words = new_bed_words(given)
    # of quotes round 4' the shell leaves 4' itself
    assert words == """--length '8 ft' --width '4'"'"'' --count 2 --size '4 ft x 4 ft' --size 2x1 --months 4-5"""
    assert shlex.split(words)[1:4] == ["8 ft", "--width", "4'"]
    assert new_bed_words(argparse.Namespace(shape="an ell.json")) == "--shape 'an ell.json'"
    assert new_bed_words(argparse.Namespace(site="yard")) == ""
