"""Where in a JSON text is each value, and how is a new value written in the layout of its neighbours?

Python's own decoder walks the text value by value, so that everything between two values can be kept byte by byte.
The text must be sound JSON: the reader has checked it before.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any, NamedTuple

_SPACE = " \t\n\r"
_MARK = "\ufeff"  # the byte order mark
_DECODER = json.JSONDecoder()
#: a replacement in a text: start, end, and the new text between them
Cut = tuple[int, int, str]


class Span(NamedTuple):
    """Start and end of a value in a text."""

    start: int
    end: int


class Member(NamedTuple):
    """A member of a JSON object: its key, where the key starts and ends, and the span of its value."""

    key: str
    start: int
    key_end: int
    value: Span


def past_space(text: str, at: int) -> int:
    """Return the index of the next character that is no white space."""
    while text[at] in _SPACE:
        at += 1
    return at


def start_of(text: str) -> int:
    """Return the index at which the value of a whole text begins, after a byte order mark and white space."""
    return past_space(text, 1 if text.startswith(_MARK) else 0)


def members(text: str, at: int) -> list[Member]:
    r"""Return the members of the object whose opening brace is at index `at`; a repeated key is listed twice.

    Examples
    --------
    >>> text = '{"a": 1,\n "b":[2, 3]}'
    >>> [(member.key, text[member.value.start : member.value.end]) for member in members(text, 0)]
    [('a', '1'), ('b', '[2, 3]')]
    """
    object_members = []
    at = past_space(text, at + 1)
    while text[at] != "}":
        key, key_end = _DECODER.raw_decode(text, at)
        start = past_space(text, past_space(text, key_end) + 1)
        end = _DECODER.raw_decode(text, start)[1]
        object_members.append(Member(key, at, key_end, Span(start, end)))
        at = past_space(text, end)
        at = past_space(text, at + 1) if text[at] == "," else at
    return object_members


def items(text: str, at: int) -> list[Span]:
    """Return the values of the list whose opening bracket is at index `at`."""
    spans = []
    at = past_space(text, at + 1)
    while text[at] != "]":
        end = _DECODER.raw_decode(text, at)[1]
        spans.append(Span(at, end))
        at = past_space(text, end)
        at = past_space(text, at + 1) if text[at] == "," else at
    return spans


def last_of(object_members: list[Member], key: str) -> Member | None:
    """Return the member of a key; the last one if it is repeated, as JSON readers do; None if there is none."""
    return next((member for member in reversed(object_members) if member.key == key), None)


def feature_spans(text: str) -> tuple[int, list[Span]]:
    """Return the index of the opening bracket of a FeatureCollection's features, and the span of each feature."""
    listed = last_of(members(text, start_of(text)), "features")
    if listed is None:
        raise ValueError("no list of features")
    return listed.value.start, items(text, listed.value.start)


def with_cuts(text: str, cuts: list[Cut]) -> str:
    """Return a text with some of its parts replaced; the parts must not overlap."""
    parts, at = [], 0
    for start, end, new in sorted(cuts, key=lambda cut: cut[:2]):
        parts += [text[at:start], new]
        at = end
    return "".join([*parts, text[at:]])


def like(value: Any, neighbour: str, between: str) -> str:
    """Return a value as JSON text in the layout of another feature: its line breaks, indent and spaces.

    Parameters
    ----------
    value : JSON value
    neighbour : str
        Text of the other feature.
    between : str
        The text between it and the feature before it.
    """
    if "\n" not in neighbour.partition('"coordinates"')[2].rpartition("]")[0]:
        return flat(value, neighbour)
    newline = "\r\n" if "\r\n" in neighbour else "\n"
    # one step of indent: that of the feature's second line, less that of its first
    inner = neighbour.partition("\n")[2]
    inner = inner[: len(inner) - len(inner.lstrip(" \t"))]
    outer = between.rpartition("\n")[2] if "\n" in between else ""
    step = inner.removeprefix(outer) or "  "
    return json.dumps(value, ensure_ascii=False, indent=step).replace("\n", newline + outer)


def flat(value: Any, neighbour: str) -> str:
    """Return a value as JSON text on one line, with or without spaces as in another text."""
    tight = '":' in neighbour and '": ' not in neighbour
    return json.dumps(value, ensure_ascii=False, separators=(",", ":") if tight else None)


@dataclass
class _Gaps:
    """The white space in a list: after its opening bracket, between two values, before its closing bracket."""

    first: str
    then: str
    last: str


@dataclass
class Nested:
    """The layout of nested lists of numbers, learned from an existing one, and the digits of its numbers.

    Attributes
    ----------
    gaps : dict of int to gaps
        By level: 0 is a list of numbers, 1 a list of such lists, and so on.
    written : dict of tuple to list of str
        The digits of each list of numbers, so that a point that stays keeps its digits.
    """

    gaps: dict[int, _Gaps] = field(default_factory=dict)
    written: dict[tuple[float, ...], list[str]] = field(default_factory=dict)

    @classmethod
    def of(cls, text: str, at: int) -> Nested:
        """Return the layout of the nested lists whose opening bracket is at index `at`."""
        layout = cls()
        layout._learn(text, at)
        return layout

    def _learn(self, text: str, at: int) -> int:
        """Learn from one list and the lists in it; return its level."""
        spans = items(text, at)
        lists = bool(spans) and text[spans[0].start] == "["
        level = 1 + max(self._learn(text, span.start) for span in spans) if lists else 0
        if spans and level not in self.gaps:
            close = past_space(text, spans[-1].end)
            then = text[spans[0].end : spans[1].start] if len(spans) > 1 else ", "
            self.gaps[level] = _Gaps(text[at + 1 : spans[0].start], then, text[spans[-1].end : close])
        if not lists:
            digits = [text[span.start : span.end] for span in spans]
            self.written[tuple(float(json.loads(number)) for number in digits)] = digits
        return level

    def text(self, value: list[Any]) -> str:
        """Return the text of nested lists; a list of numbers that existed before keeps its digits."""
        return self._text(value)[0]

    def _text(self, value: list[Any]) -> tuple[str, int]:
        """Return the text of a list, and its level."""
        if value and isinstance(value[0], list):
            inner = [self._text(part) for part in value]
            parts, level = [text for text, _ in inner], 1 + max(level for _, level in inner)
        else:
            old_digits = self.written.get(tuple(map(float, value)))
            parts, level = old_digits or [number_text(number) for number in value], 0
        tight = 0 in self.gaps and self.gaps[0].then == ","
        gaps = self.gaps.get(level) or _Gaps("", "," if tight else ", ", "")
        return f"[{gaps.first}{gaps.then.join(parts)}{gaps.last}]", level


def number_text(value: float) -> str:
    """Return a number without needless decimals.

    Examples
    --------
    >>> number_text(3.0), number_text(-0.25)
    ('3', '-0.25')
    """
    return json.dumps(int(value) if float(value).is_integer() else value)
