"""Do settings change in a site.toml, and do its comments, its order and all else stay?"""

from __future__ import annotations

import difflib
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.files.site_toml.editing import edited_settings, setting_keys, with_settings
from siteplan.files.template import site_toml
from siteplan.land.errors import InputError

YARD = """\
# our yard, measured in May
name = "Sparrow Court"   # of the street
units = 'metric'
[origin]
latitude = 45.00                # by the gate
longitude = 8

# frost
[season]  # asked the neighbours
last_frost = "04-15"
first_frost="10-20"
# [water]
# flow = "12 L/min"             # of the tap
[[stock]]
material = "topsoil"
volume = "0.5 m^3"
at = "heap"
"""


def changed_lines(before: str, after: str) -> list[str]:
    """Return the lines that went, then those that came, but for empty ones, which tomlkit adds as it likes."""
    lines = [line for line in difflib.ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-" and line[2:]]
    return sorted(lines, key=lambda line: line[0] == "+")


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        ({"origin.latitude": 41.352}, ["- latitude = 45.00                # by the gate", "+ latitude = 41.352               # by the gate"]),
        ({"name": "Ours"}, ['- name = "Sparrow Court"   # of the street', '+ name = "Ours"            # of the street']),
        ({"season.first_frost": "11-01"}, ['- first_frost="10-20"', '+ first_frost="11-01"']),
        ({"season.first_frost": None}, ['- first_frost="10-20"']),
        ({"name": None}, ['- name = "Sparrow Court"   # of the street', '+ # name = "Sparrow Court" # of the street']),
        ({"origin.longitude": 8.0}, ["- longitude = 8", "+ longitude = 8.0"]),
        ({"water.flow": "9 L/min"}, ["- # [water]", '- # flow = "12 L/min"             # of the tap', "+ [water]", '+ flow = "9 L/min"                # of the tap']),
        ({"sun.need": "5 h"}, ["+ [sun]", '+ need = "5 h"']),
        ({"currency": "EUR"}, ['+ currency = "EUR"']),
        ({"origin.bearing": 12.5}, ["+ bearing = 12.5"]),
        ({"units": "metric", "origin.latitude": 45.0, "sun.need": None}, []),
    ],
)  # fmt: skip
def test_a_key_changes_in_its_place(changes, lines):
    after = edited_settings(YARD, changes)
    assert changed_lines(YARD, after) == lines
    assert tomllib.loads(after) == with_settings(tomllib.loads(YARD), changes)


@pytest.mark.parametrize("key", setting_keys())
def test_every_key_of_the_template_has_its_place_there(key):
    # a key is changed on its own line: set, left out, and set again, nothing but that line differs
    text = site_toml()
    values = {"fill.layers": [{"material": "topsoil", "fraction": 1.0}], "walls.board_lengths": ["3 m"]}
    value = values.get(key, "x")
    once = edited_settings(text, {key: value})
    gone = edited_settings(once, {key: None})
    again = edited_settings(gone, {key: value})
    assert tomllib.loads(once) == with_settings(tomllib.loads(text), {key: value})
    table, _, name = key.rpartition(".")
    present = tomllib.loads(gone).get(table, {}) if table else tomllib.loads(gone)
    assert name not in present
    assert again == once
    if key != "fill.layers":  # its lines are several
        lines = changed_lines(text, once)
        assert len(text.splitlines()) == len(once.splitlines())
        assert all(name in line or f"[{table}]" in line for line in lines)


def test_windows_lines_and_a_byte_order_mark_stay():
    before = "\ufeff" + YARD.replace("\n", "\r\n")
    after = edited_settings(before, {"origin.latitude": 41.5, "sun.need": 5, "water.flow": "9 L/min", "name": None})
    assert after.startswith("\ufeff")
    assert after.count("\r\n") == after.count("\n")
    assert edited_settings(before, {}) == before


def test_what_only_looks_like_a_key_is_left_alone():
    text = 'name = """\n[sun]\n# need = "6 h"\n[season]"""\n[sun]\nyear = 2026\n'
    after = edited_settings(text, {"sun.need": 5})
    assert after == text + "need = 5\n"


@pytest.mark.parametrize(
    ("text", "after"),
    [
        ("origin = {latitude = 4, longitude = 5} # here\n", "origin = {latitude = 6.5, longitude = 5} # here\n"),
        (
            "origin.latitude = 4 # here\norigin.longitude = 5\n",
            "origin.latitude = 6.5 # here\norigin.longitude = 5\n",
        ),
        ('"origin"."latitude" = 4\n', '"origin"."latitude" = 6.5\n'),
        ("  [ origin ]\n  latitude=4\n", "  [ origin ]\n  latitude=6.5\n"),
        ("", "[origin]\nlatitude = 6.5\n"),
        ("[[stock]]\nat = 'heap'", "[[stock]]\nat = 'heap'\n\n[origin]\nlatitude = 6.5\n"),
        ("[sun]\nneed = 4\n[sun.more]\nx = 1\n", "[sun]\nneed = 4\n[sun.more]\nx = 1\n\n[origin]\nlatitude = 6.5\n"),
    ],
)
def test_tables_in_other_writing_are_changed_too(text, after):
    assert edited_settings(text, {"origin.latitude": 6.5}) == after


def test_what_cannot_be_changed_is_told():
    for text, changes, said in (
        (YARD, {"sun.neeed": 5}, "sun.neeed: is not known; did you mean 'sun.need'"),
        (YARD, {"stock.at": "x"}, "stock.at: is not known"),
        (
            "origin = 5\n",
            {"origin.latitude": 6},
            r"origin: is 5, must be a table that starts with the line \[origin\]",
        ),
    ):
        with pytest.raises(InputError, match=said):
            edited_settings(text, changes)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
VALUES: st.SearchStrategy[Any] = st.one_of(
    TEXTS,
    st.booleans(),
    st.integers(-(10**6), 10**6),
    st.floats(allow_nan=False, allow_infinity=False),
    st.lists(TEXTS, max_size=3),
)
LAYOUTS = {
    "template": site_toml(),
    "yard": YARD,
    "windows": YARD.replace("\n", "\r\n"),
    "marked": "\ufeff" + YARD,
    "tight": YARD.replace(" = ", "="),
    "wide": YARD.replace("=", "\t =  ").replace("\n[", "\n  ["),
    "no end": YARD.rstrip("\n"),
    "bare": "",
    "braces": "origin = { latitude = 4, longitude = 5 }\nsun = {}\n",
    "dotted": "origin.latitude = 4\nsun.need = 5\nsun.year = 2026\n",
}  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(LAYOUTS)), st.dictionaries(st.sampled_from(setting_keys()), st.none() | VALUES, max_size=4)
)
def test_what_is_wanted_is_said_and_every_comment_stays(layout, changes):
    before = LAYOUTS[layout]
    after = edited_settings(before, changes)
    told = tomllib.loads(after.removeprefix("\ufeff"))
    wanted = with_settings(tomllib.loads(before.removeprefix("\ufeff")), changes)
    for path in changes:  # a table that nothing is left in may be there, or not
        table = path.partition(".")[0] if "." in path else ""
        for one in (told, wanted):
            if table and one.get(table) == {}:
                del one[table]
    assert told == wanted
    for line in before.splitlines():
        _, sign, comment = line.partition("# ")
        if sign and "=" not in comment and "[" not in comment:
            assert comment in after
    assert edited_settings(after, {}) == after
