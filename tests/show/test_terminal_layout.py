"""How wide a table is, which columns are numbers, how many rows are printed, and how a paragraph is broken. By hand."""

from __future__ import annotations

import pytest

from siteplan.show.terminal_layout import MOST, _least_width, _numeric, print_table, say


@pytest.mark.parametrize(("heads", "longest", "fixed", "wide"), [
    (["a"], [5], [True], 8), (["a long head"], [5], [True], 14), (["a\nlong\nhead"], [3], [True], 7), (["a"], [50], [False], 13),
    (["a", "bc d"], [5, 30], [True, False], 21), ([], [], [], 0),
])  # fmt: skip
def test_how_wide_a_table_is_at_least(heads, longest, fixed, wide):
    """Three columns beside each cell, and ten letters of what may be broken."""
    assert _least_width(heads, longest, fixed) == wide


@pytest.mark.parametrize(
    ("text", "number"), [("", True), ("1,234", True), ("3 h", True), ("-1", False), ("—", False), ("h3", False)]
)
def test_what_is_a_number(text, number):
    assert _numeric(text) is number


def printed(capsys, *args, **options):
    print_table(*args, **options)
    return [line.rstrip() for line in capsys.readouterr().out.splitlines()]


def test_numbers_stand_to_the_right_and_words_to_the_left(capsys):
    assert printed(capsys, "Some", ["bed", "hours", "run"], [["north", "1.5", "12"], ["s", "12.5", "3"]], words={"run"}) == [
        "Some",
        "",
        " bed     hours   run",
        " ───────────────────",
        " north     1.5   12",
        " s        12.5   3",
        "",
    ]  # fmt: skip


def test_one_cell_that_is_no_number_makes_words_of_a_column(capsys):
    assert printed(capsys, "", ["hours"], [["1.5"], ["none"]])[-3:] == [" 1.5", " none", ""]


@pytest.mark.parametrize(("rows", "more"), [(40, None), (41, "1 more rows stand in the files that are written.")])
def test_forty_rows_are_printed(capsys, rows, more):
    assert MOST == 40
    lines = printed(capsys, "Many", ["n"], [[str(n)] for n in range(rows)])
    assert sum(line.strip().isdigit() for line in lines) == 40
    assert [line for line in lines if "more rows" in line] == ([more] if more else [])


@pytest.mark.parametrize(("head", "letters"), [("other", 60), ("words", 120)])
def test_a_cell_is_cut_at_sixty_letters_or_at_120_of_words(capsys, head, letters):
    lines = printed(capsys, "", [head, "n"], [["x" * 200, "1"]], words={"words"})
    assert sum(line.count("x") for line in lines) == letters - 3
    assert sum(line.count("...") for line in lines) == 1


@pytest.mark.parametrize(("first", "broken"), [("first abcde", False), ("first abcdef", True)])
def test_heads_are_broken_only_where_a_table_would_be_too_wide(capsys, first, broken):
    """Six heads of 8 letters and 3 beside them are 66 columns; 11 and 3 more are 80."""
    lines = printed(capsys, "Wide", [first, *[f"head no{n}" for n in range(6)]], [["1.0"] * 7])
    assert lines[2].split() == (
        ["first", *["head"] * 6] if broken else [*first.split(), *" ".join(f"head no{n}" for n in range(6)).split()]
    )
    assert lines[-2].split() == ["1.0"] * 7


def test_a_paragraph_is_80_columns_wide(capsys):
    say("a" * 40 + " " + "b" * 39 + " c", indent="  ")
    assert capsys.readouterr().out == "a" * 40 + " " + "b" * 39 + "\n  c\n"
    say("x" * 81)
    assert capsys.readouterr().out == "x" * 80 + "\nx\n"
    say("x" * 81, whole=True)
    assert capsys.readouterr().out == "x" * 81 + "\n"
    say("y" * 70 + " one-word-of-some", whole=True)
    assert capsys.readouterr().out == "y" * 70 + "\none-word-of-some\n"
    say("y" * 70 + " one-word-of-some")
    assert capsys.readouterr().out == "y" * 70 + " one-word-\nof-some\n"
