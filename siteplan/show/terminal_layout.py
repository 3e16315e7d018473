"""How are a table and a paragraph laid out on the terminal?

At most 80 columns wide; no number and no column head is cut.
"""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence

from siteplan.land.values import printable

_WIDTH = 80
MOST = 40  # rows of a table
_SHORT = 10  # letters; a column of shorter cells, as "full sun", is not broken over lines


def print_table(
    title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], *, words: Collection[str] = ()
) -> None:
    """Print a table of at most 80 columns, if it has rows; columns of numbers are right-aligned, but not `words`."""
    if not rows:
        return
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(title=Text(title), title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)
    longest = [max(len(row[column]) for row in rows) for column in range(len(heads))]
    numeric = [head not in words and all(_numeric(row[column]) for row in rows) for column, head in enumerate(heads)]
    fixed = [number or length <= _SHORT for number, length in zip(numeric, longest, strict=True)]
    shown_heads = list(heads)
    if _least_width(heads, longest, fixed) > _WIDTH:  # heads are broken rather than cut
        shown_heads = [
            head.replace(" ", "\n") if unbroken else head for head, unbroken in zip(heads, fixed, strict=True)
        ]
    if _least_width(shown_heads, longest, fixed) > _WIDTH:  # and then cells of several words
        fixed = [unbroken and not any(" " in row[column] for row in rows) for column, unbroken in enumerate(fixed)]
    for head, number, unbroken in zip(shown_heads, numeric, fixed, strict=True):
        table.add_column(head, justify="right" if number else "left", overflow="fold", no_wrap=unbroken)
    for row in rows[:MOST]:
        table.add_row(
            *(Text(printable(cell, 120 if head in words else 60)) for head, cell in zip(heads, row, strict=True))
        )
    console = Console(highlight=False)
    console = Console(highlight=False, width=min(console.width, _WIDTH))
    with console.capture() as capture:
        console.print(table)
    print(capture.get(), end="")
    if len(rows) > MOST:
        say(f"{len(rows) - MOST} more rows stand in the files that are written.")


def _least_width(heads: Sequence[str], longest: Sequence[int], fixed: Sequence[bool]) -> int:
    """Return how wide a table is at least, if the `fixed` columns hold their longest cells and lines of heads."""
    return sum(
        3 + (max(length, *map(len, head.split("\n"))) if unbroken else _SHORT)
        for head, length, unbroken in zip(heads, longest, fixed, strict=True)
    )


def _numeric(text: str) -> bool:
    """Return whether a cell starts with a digit, or is empty."""
    return not text or text[0].isdigit()


def say(text: str, *, indent: str = "", whole: bool = False) -> None:
    """Print a paragraph wrapped at 80 columns, with later lines indented; if whole, no word is broken."""
    lines = textwrap.wrap(
        text, _WIDTH, subsequent_indent=indent, break_long_words=not whole, break_on_hyphens=not whole
    )
    print("\n".join(lines))
