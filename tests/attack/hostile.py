"""What is put where something sound stood, and how a tree with it is written as TOML or JSON."""

from __future__ import annotations

import json
from random import Random
from typing import Any

#: texts that have gone wrong elsewhere: invisible, steering, markup, templates, paths, formulas, numbers that are none
TEXTS = (
    "", " ", "\x00", "\x1b[2J\x1b]0;x\x07", "a\u200bb", "\u202etxt.exe", "\u00adsoft", "\u00a0", "e\u0301", "\ufeff",
    "\ud800", "\U0001f331", "<script>alert(1)</script>", "{{7*7}}", "{% raw %}", "${7*7}", "%s%n%d", "{0.__class__}",
    "=cmd|' /C calc'!A0", "'; DROP TABLE beds; --", "../../../etc/passwd", "/dev/zero", "/dev/stdin", "C:\\nul", "con",
    "~", ".", "..", "a/b", "a" * 300, "ä" * 70_000, "1e400 m", "-1e-400 m", "1/0 ft", "nan m", "inf", "1 " + "m^9" * 9,
    "9" * 400, "0x10", "1,5 m", "1_000", "１２ m", "4 ft 2", "2 kg", "999999 ly", "1 m ** 99999999", "12 parsec^-9",
    "http://example.org/a.geojson", "/vsicurl/http://127.0.0.1:9/a.gpkg", "/vsizip/a.zip", "null", "true", "\n\n",
)  # fmt: skip
NUMBERS = (
    0, -0.0, -1, 1, 7, 1e-320, 1e-12, 1e9, 1e15, 1e17, 1e300, -1e300, 1.7976931348623157e308, float("nan"),
    float("inf"), float("-inf"), 2**31, 2**53 + 1, 2**63, -(2**63) - 1, 10**30, 10**400, 90, 180, 181, 360, 1e5,
)  # fmt: skip


class Raw(str):
    """Text that is written into the file as it is."""

    __slots__ = ()


class Again(str):
    """A key that may stand in a dict beside its equal."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return self is other

    def __hash__(self) -> int:
        return id(self)


RAWS = (
    Raw("0x" + "f" * 6000), Raw("9" * 6000), Raw("[" * 3000 + "]" * 3000), Raw('{"a":' * 2000 + "1" + "}" * 2000),
    Raw("1e999999999"), Raw("-"), Raw("NaN"), Raw("Infinity"), Raw("nan"), Raw("1979-05-27T07:32:00"), Raw("07:32:00"),
    Raw("1979-05-27"), Raw('"""'), Raw("{"), Raw("'"), Raw("0o" + "7" * 5000), Raw("1" * 4400 + ".5"),
)  # fmt: skip


def hostile_number(random: Random) -> float:
    return random.choice(NUMBERS)


def hostile_value(random: Random) -> Any:
    """Return a number, a text, a list, a table, or something that no writer would write."""
    sort = random.random()
    if sort < 0.4:
        return hostile_number(random)
    if sort < 0.75:
        return random.choice(TEXTS)
    if sort < 0.9:
        return random.choice(RAWS)
    return random.choice(([], {}, [None], [[]], {"": ""}, {"a": {"b": []}}, True, [0] * 1000, None))


def as_json(value: Any) -> str:
    """Return a tree as JSON, with what is raw as it is."""
    if isinstance(value, Raw):
        return str(value)
    if isinstance(value, dict):
        return "{" + ",".join(f"{json.dumps(str(key))}:{as_json(held)}" for key, held in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(as_json, value)) + "]"
    return _number(value) if isinstance(value, int | float) else json.dumps(value, ensure_ascii=False)


def as_toml(tree: dict[str, Any]) -> str:
    """Return a tree as TOML, one line for each key at the top, its tables within the line."""
    return "\n".join(f"{_text(key)} = {_toml(value)}" for key, value in tree.items() if value is not None) + "\n"


def _toml(value: Any) -> str:
    if isinstance(value, Raw):
        return str(value)
    if isinstance(value, dict):
        held = {key: one for key, one in value.items() if one is not None}
        return "{ " + ", ".join(f"{_text(key)} = {_toml(one)}" for key, one in held.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(one) for one in value if one is not None) + "]"
    if isinstance(value, str):
        return _text(value)
    return _number(value).lower().replace("infinity", "inf")


def _text(value: str) -> str:
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def _number(value: Any) -> str:
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**4000:
        return hex(value)
    return json.dumps(value) if isinstance(value, int | float) else str(value)
