"""Ids that look the same are refused, by the letter that nobody sees."""

from __future__ import annotations

import pytest

#: what the second bed is called beside "north bed", and what must be said of it
ALIKE = {
    "zero width": ("north\u200b bed", "U+200B (ZERO WIDTH SPACE) as letter 6 of the second"),
    "joiner": ("no\u200drth bed", "U+200D (ZERO WIDTH JOINER) as letter 3 of the second"),
    "bidi": ("\u202enorth bed\u202c", "U+202E (RIGHT-TO-LEFT OVERRIDE) as letter 1, U+202C"),
    "soft hyphen": ("nor\u00adth bed", "U+00AD (SOFT HYPHEN) as letter 4 of the second"),
    "no-break space": ("north\u00a0bed", "U+00A0 (NO-BREAK SPACE) as letter 6 of the second"),
    "byte order mark": ("\ufeffnorth bed", "U+FEFF (ZERO WIDTH NO-BREAK SPACE) as letter 1"),
    "variation selector": ("north\ufe0f bed", "U+FE0F (VARIATION SELECTOR-16) as letter 6"),
    "filler": ("north\u3164 bed", "U+3164 (HANGUL FILLER) as letter 6"),
    "control": ("north\x07 bed", "U+0007 as letter 6 of the second"),
    "space at the end": ("north bed ", "spaces at an end, or several in a row"),
    "two spaces": ("north  bed", "spaces at an end, or several in a row"),
    "tab": ("north\tbed", "U+0009 as letter 6 of the second"),
}


def beds(yard, one, other):
    for old, new in (("north", one), ("south", other)):
        yard.features[old]["id"] = new
    return yard.faults()


@pytest.mark.parametrize("sort", ALIKE)
def test_ids_that_look_the_same_are_refused_by_the_letter(yard, sort):
    other, words = ALIKE[sort]
    faults = beds(yard, "north bed", other)
    assert len(faults) == 1
    assert "its id looks the same in features 15 and 16; they differ by " in faults[0]
    assert words in faults[0].replace(" of the second, ", ", ")
    assert all(letter.isprintable() for letter in faults[0])


def test_the_letter_may_be_in_the_first(yard):
    assert "U+200B (ZERO WIDTH SPACE) as letter 6 of the first" in beds(yard, "north\u200b", "north")[0]


def test_accents_apart_from_their_letters_look_the_same(yard):
    (fault,) = beds(yard, "Gr\u00fcn", "Gru\u0308n")
    assert "accents that are written apart from their letters in the second, U+0308 (COMBINING DIAERESIS)" in fault


def test_an_id_that_nobody_sees_is_refused(yard):
    yard.features["north"]["id"] = "\u200b\u2060"
    (fault,) = yard.faults()
    assert fault.startswith(
        "features.geojson: feature 15: id holds no letter that is seen: U+200B (ZERO WIDTH SPACE)"
    )
    assert fault.endswith("U+2060 (WORD JOINER) as letter 2; write it anew, or leave it out")


@pytest.mark.parametrize("other", ["North", "n\u043erth", "north-", "nor th", "north1"])
def test_what_can_be_told_apart_is_taken(yard, other):  # a Cyrillic o as well: scripts are not compared
    assert beds(yard, "north", other) == []


def test_a_single_id_may_hold_what_it_likes(yard):
    assert beds(yard, "\u06a9\u062a\u0627\u0628\u200c\u0647\u0627", "south") == []  # Persian wants the non-joiner


def test_a_pile_that_looks_like_the_stocks_is_named_by_the_letter(yard):
    yard.change('at = "heap"', 'at = "he\u00adap"')
    (fault,) = yard.faults()
    assert "one looks the same and differs by U+00AD (SOFT HYPHEN) as letter 3 of the second; write it anew" in fault
