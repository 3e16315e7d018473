"""Where in a JSON text does each value stand, and how is a value written so that it looks like its neighbours?

The text is walked by Python's own decoder, value by value, so that what stands between two places can be kept byte by
byte. It leaves out what the values mean. The texts must be sound JSON, as the reader has found them.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any, NamedTuple

_SPACE = " \t\n\r"
_MARK = "\ufeff"  # the byte order mark
_DECODER = json.JSONDecoder()
#: a text in place of a part of another, from where to where
Cut = tuple[int, int, str]


class Span(NamedTuple):
    """From where to where a value stands in a text."""

    start: int
    end: int


class Member(NamedTuple):
    """A key of an object, from where on the key stands and where it ends, and the span of its value."""

    key: str
    start: int
    key_end: int
    value: Span


def past_space(text: str, at: int) -> int:
    """Return the place of the next character that is no space."""
    while text[at] in _SPACE:
        at += 1
    return at


def start_of(text: str) -> int:
    """Return where the value of a whole text begins, behind a byte order mark and spaces."""
    return past_space(text, 1 if text.startswith(_MARK) else 0)


def members(text: str, at: int) -> list[Member]:
    r"""Return the members of an object whose brace stands at a place; a key that stands twice comes twice.

    Examples
    --------
    >>> text = '{"a": 1,\n "b":[2, 3]}'
    >>> [(one.key, text[one.value.start : one.value.end]) for one in members(text, 0)]
    [('a', '1'), ('b', '[2, 3]')]
    """
    found = []
    at = past_space(text, at + 1)
    while text[at] != "}":
        key, key_end = _DECODER.raw_decode(text, at)
        start = past_space(text, past_space(text, key_end) + 1)
        end = _DECODER.raw_decode(text, start)[1]
        found.append(Member(key, at, key_end, Span(start, end)))
        at = past_space(text, end)
        at = past_space(text, at + 1) if text[at] == "," else at
    return found


def items(text: str, at: int) -> list[Span]:
    """Return the values of a list whose bracket stands at a place."""
    spans = []
    at = past_space(text, at + 1)
    while text[at] != "]":
        end = _DECODER.raw_decode(text, at)[1]
        spans.append(Span(at, end))
        at = past_space(text, end)
        at = past_space(text, at + 1) if text[at] == "," else at
    return spans


def last_of(found: list[Member], key: str) -> Member | None:
    """Return the member of a key, of several the last, as readers take it; None where there is none."""
    return next((one for one in reversed(found) if one.key == key), None)


def feature_spans(text: str) -> tuple[int, list[Span]]:
    """Return where the list of features of a FeatureCollection has its bracket, and where each of them stands."""
    listed = last_of(members(text, start_of(text)), "features")
    if listed is None:
        raise ValueError("no list of features")
    return listed.value.start, items(text, listed.value.start)


def with_cuts(text: str, cuts: list[Cut]) -> str:
    """Return a text with some of its parts replaced; they do not overlap."""
    parts, at = [], 0
    for start, end, new in sorted(cuts, key=lambda one: one[:2]):
        parts += [text[at:start], new]
        at = end
    return "".join([*parts, text[at:]])


def like(value: Any, neighbour: str, between: str) -> str:
    """Return a value's text, laid out as another feature: over lines or on one, with spaces or without.

    Parameters
    ----------
    value : JSON value
    neighbour : str
        Text of the other feature.
    between : str
        What stands before it, from the feature before on.
    """
    if "\n" not in neighbour.partition('"coordinates"')[2].rpartition("]")[0]:
        return flat(value, neighbour)
    newline = "\r\n" if "\r\n" in neighbour else "\n"
    inner = neighbour.partition("\n")[2]
    inner = inner[: len(inner) - len(inner.lstrip(" \t"))]
    outer = between.rpartition("\n")[2] if "\n" in between else ""
    step = inner.removeprefix(outer) or "  "
    return json.dumps(value, ensure_ascii=False, indent=step).replace("\n", newline + outer)


def flat(value: Any, neighbour: str) -> str:
    """Return a value's text on one line, with spaces or without, as another text has them."""
    tight = '":' in neighbour and '": ' not in neighbour
    return json.dumps(value, ensure_ascii=False, separators=(",", ":") if tight else None)


@dataclass
class _Gaps:
    """What stands in a list behind its bracket, between two values, and before the closing bracket."""

    first: str
    then: str
    last: str


@dataclass
class Nested:
    """How nested lists of numbers are laid out, learned from one that is there; and its numbers as they are written.

    Attributes
    ----------
    gaps : dict of int to gaps
        By height: 0 is a list of numbers, 1 a list of such.
    written : dict of tuple to list of str
        Digits of each list of numbers.
    """

    gaps: dict[int, _Gaps] = field(default_factory=dict)
    written: dict[tuple[float, ...], list[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, text: str, at: int) -> Nested:
        """Return the layout of the nested lists whose bracket stands at a place."""
        made = cls()
        made._learn(text, at)
        return made

    def _learn(self, text: str, at: int) -> int:
        """Learn from one list and those in it; return its height."""
        spans = items(text, at)
        lists = bool(spans) and text[spans[0].start] == "["
        height = 1 + max(self._learn(text, one.start) for one in spans) if lists else 0
        if spans and height not in self.gaps:
            close = past_space(text, spans[-1].end)
            then = text[spans[0].end : spans[1].start] if len(spans) > 1 else ", "
            self.gaps[height] = _Gaps(text[at + 1 : spans[0].start], then, text[spans[-1].end : close])
        if not lists:
            digits = [text[one.start : one.end] for one in spans]
            self.written[tuple(float(json.loads(one)) for one in digits)] = digits
        return height

    def text(self, value: list[Any]) -> str:
        """Return the text of nested lists; a list of numbers that was there keeps its digits."""
        return self._text(value)[0]

    def _text(self, value: list[Any]) -> tuple[str, int]:
        if value and isinstance(value[0], list):
            made = [self._text(one) for one in value]
            parts, height = [one for one, _ in made], 1 + max(height for _, height in made)
        else:
            parts, height = self.written.get(tuple(map(float, value))) or [number_text(one) for one in value], 0
        tight = 0 in self.gaps and self.gaps[0].then == ","
        gaps = self.gaps.get(height) or _Gaps("", "," if tight else ", ", "")
        return f"[{gaps.first}{gaps.then.join(parts)}{gaps.last}]", height


def number_text(value: float) -> str:
    """Return a number without needless decimals.

    Examples
    --------
    >>> number_text(3.0), number_text(-0.25)
    ('3', '-0.25')
    """
    return json.dumps(int(value) if float(value).is_integer() else value)
