"""Do two names look the same, and by which characters do they differ?

By invisible characters, spaces of other widths, and accents written with or apart from their letter. Letters of
different scripts that look alike, such as a Cyrillic and a Latin a, count as different.
"""

from __future__ import annotations

import unicodedata

_UNSEEN = {"Cf", "Cc", "Cs"}  # general categories of Unicode: format, control, surrogate
_SPACES = {"Zs", "Zl", "Zp"}
#: further characters that are invisible: fillers, grapheme joiner, variation selectors (those of Unicode's property
#: Default_Ignorable_Code_Point that are not in the categories above; memory)
_BLANK = {0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x3164, 0xFFA0, *range(0x180B, 0x1810), *range(0xFE00, 0xFE10)}
_MOST_NAMED = 3


def look(name: str) -> str:
    r"""Return the visible form of a name: names that look the same have the same look.

    Examples
    --------
    >>> look("nor\u200bth ") == look("north"), look("Gru\u0308n\u00a0bed") == look("Gr\u00fcn bed")
    (True, True)
    >>> look("North") == look("north")
    False
    """
    if name.isascii() and name.isprintable():
        return " ".join(name.split())
    spaced = "".join(" " if _is_space(letter) else letter for letter in name)
    visible = "".join(letter for letter in spaced if not _is_unseen(letter))
    return " ".join(unicodedata.normalize("NFC", visible).split())


def unseen_difference(name: str, other: str) -> str:
    r"""Return by which characters two names differ that look the same.

    Examples
    --------
    >>> unseen_difference("north", "nor\u200bth")
    'U+200B (ZERO WIDTH SPACE) as letter 4 of the second'
    >>> unseen_difference("gr\u00fcn", "gru\u0308n")
    'accents that are written apart from their letters in the second, U+0308 (COMBINING DIAERESIS)'
    """
    for ordinal, text, compared in (("second", other, name), ("first", name, other)):
        odd = [letter for letter in text if _is_odd(letter)]
        if odd and odd != [letter for letter in compared if _is_odd(letter)]:
            return f"{unseen_letters(text)} of the {ordinal}"
    for ordinal, text, compared in (("second", other, name), ("first", name, other)):
        marks = [letter for letter in text if unicodedata.combining(letter)]
        if len(marks) > sum(map(bool, map(unicodedata.combining, compared))):
            return f"accents that are written apart from their letters in the {ordinal}, {_named(marks[0])}"
    return "spaces at an end, or several in a row"


def unseen_letters(name: str) -> str:
    r"""Return the invisible characters of a name, with their positions.

    Examples
    --------
    >>> unseen_letters("a\u00a0b\u200b")
    'U+00A0 (NO-BREAK SPACE) as letter 2, U+200B (ZERO WIDTH SPACE) as letter 4'
    """
    odd = [at for at, letter in enumerate(name) if _is_odd(letter)]
    listed = ", ".join(f"{_named(name[at])} as letter {at + 1}" for at in odd[:_MOST_NAMED])
    return listed + (f" and {len(odd) - _MOST_NAMED} more" if len(odd) > _MOST_NAMED else "")


def _is_space(letter: str) -> bool:
    return letter.isspace() or unicodedata.category(letter) in _SPACES


def _is_unseen(letter: str) -> bool:
    return unicodedata.category(letter) in _UNSEEN or ord(letter) in _BLANK


def _is_odd(letter: str) -> bool:
    return _is_unseen(letter) or (_is_space(letter) and letter != " ")


def _named(letter: str) -> str:
    name = unicodedata.name(letter, "")
    return f"U+{ord(letter):04X}" + (f" ({name})" if name else "")
