"""How are settings of a site.toml changed without changing its comments and its order?

An existing key gets its new value in its line; a commented-out line of the template is used for its key; any other
key is added to its table by tomlkit. The result is parsed again and must equal what was wanted. The callers check
whether the values are sound.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Mapping
from datetime import date
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Item

from siteplan.files.site_toml.settings import FILE, TABLES, TOP
from siteplan.land.errors import Fault, InputError
from siteplan.land.record import fields_of
from siteplan.land.values import nearest, shown

_MARK = "\ufeff"  # the byte order mark
_HEADER = re.compile(r"(?:[ \t]*|(?P<off>#[ \t]*))\[[ \t]*(?P<name>[A-Za-z0-9_-]+)[ \t]*\][ \t]*(#.*)?")
_KEY = re.compile(r"[ \t]*(?P<off>#[ \t]*)?(?P<name>[A-Za-z0-9_-]+)[ \t]*=")
Value = str | int | float | bool | date | list[Any]


def setting_keys() -> tuple[str, ...]:
    """Return the path of every key of site.toml outside lists of tables, such as ``name`` and ``sun.need``.

    Examples
    --------
    >>> "units" in setting_keys(), "origin.latitude" in setting_keys(), "stock.at" in setting_keys()
    (True, True, False)
    """
    inside: list[str] = []
    for table, records in TABLES.items():
        inside += [f"{table}.{key}" for record in records for key in fields_of(record)]
    return (*TOP, *inside)


def edited_settings(text: str, changes: Mapping[str, Value | None]) -> str:
    r"""Return the text of a site.toml with some keys set, or left out.

    Parameters
    ----------
    text : str
        Sound TOML, with or without a byte order mark.
    changes : mapping of str to value or None
        By the path of the key, as ``name`` or ``sun.need``. None removes the key: its line is commented out if a
        comment follows the value, else deleted.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If a key is not known, or cannot be set in this text without changing anything else.

    Examples
    --------
    >>> print(edited_settings('[sun]\n# need = "6 h"   # of direct sun\nyear = 2026\n', {"sun.need": "5 h"}))
    [sun]
    need = "5 h"     # of direct sun
    year = 2026
    """
    keys = setting_keys()
    if unknown := [key for key in changes if key not in keys]:
        raise InputError([Fault(FILE, key, _unknown(key, keys)) for key in unknown])
    mark = _MARK if text.startswith(_MARK) else ""
    plain = text.removeprefix(_MARK)
    newline = "\r\n" if "\r\n" in plain and not re.search(r"(?<!\r)\n", plain) else "\n"
    plain = plain.replace("\r\n", "\n") if newline == "\r\n" else plain
    for key, value in changes.items():
        plain = _edited(plain, key, value)
    return mark + (plain.replace("\n", newline) if newline == "\r\n" else plain)


def with_settings(values: Mapping[str, object], changes: Mapping[str, Value | None]) -> dict[str, object]:
    """Return the values of a site.toml with some keys set or removed; a table that is no table is left as it is.

    Examples
    --------
    >>> with_settings({"sun": {"need": 6}, "name": "a"}, {"sun.need": None, "units": "metric"})
    {'sun': {}, 'name': 'a', 'units': 'metric'}
    """
    changed: dict[str, Any] = copy.deepcopy(dict(values))
    for path, value in changes.items():
        table, _, key = path.rpartition(".")
        in_table = changed.setdefault(table, {}) if table and value is not None else changed.get(table, {})
        container = in_table if table else changed
        if not isinstance(container, dict):
            continue
        if value is None:
            container.pop(key, None)
        else:
            container[key] = value
    return changed


def _unknown(key: str, keys: tuple[str, ...]) -> str:
    hint = nearest(key, keys)
    return "is not known" + (f"; did you mean {hint!r}?" if hint else "; README.md lists the keys of site.toml")


def _edited(text: str, path: str, value: Value | None) -> str:
    """Return the text with one key set or removed, by the first of two ways that changes nothing else."""
    before = tomllib.loads(text)
    table, _, key = path.rpartition(".")
    if table and not isinstance(before.get(table, {}), dict):
        trouble = f"is {shown(before[table])}, must be a table that starts with the line [{table}]"
        raise InputError([Fault(FILE, table, f"{trouble}; mend it in a text editor")])
    wanted_values = with_settings(before, {path: value})
    if _same(before, wanted_values):
        return text
    for edit in (_in_its_line, _in_its_table):
        try:
            changed = edit(text, path, value)
            if changed is not None and _same(tomllib.loads(changed), wanted_values):
                return changed
        except (TOMLKitError, tomllib.TOMLDecodeError, KeyError, TypeError, ValueError):
            continue
    raise InputError([Fault(FILE, path, f"{key} cannot be changed as it is written; change it in a text editor")])


def _same(first: object, second: object) -> bool:
    """Return whether two TOML values are equal; 1, 1.0 and true are different, NaN equals NaN."""
    if isinstance(first, dict) and isinstance(second, dict):
        return first.keys() == second.keys() and all(_same(value, second[key]) for key, value in first.items())
    if isinstance(first, list) and isinstance(second, list):
        return len(first) == len(second) and all(map(_same, first, second))
    return repr(first) == repr(second)


def _in_its_line(text: str, path: str, value: Value | None) -> str | None:
    """Return the text with the line of a key changed; None if it has no line. Line and table may be commented out."""
    lines = text.split("\n")
    table, _, key = path.rpartition(".")
    position = _line_of(lines, table, key)
    if position is None:
        return None
    header, index, comment_sign = position
    if value is None:
        if comment_sign:
            return None
        lines[index : index + 1] = _commented_out(lines[index])
        return "\n".join(lines)
    lines[index] = _with_value(lines[index], comment_sign, value)
    if header is not None and (match := _HEADER.match(lines[header])) and match["off"]:
        lines[header] = _on_line(lines[header], match["off"])
    return "\n".join(lines)


def _line_of(lines: list[str], table: str, key: str) -> tuple[int | None, int, str] | None:
    """Return the line of a table's header, that of a key in it, and the comment sign in front of the key.

    A line that is not commented out is preferred.
    """
    header, in_table, commented = None, not table, None
    for index, line in enumerate(lines):
        if match := _HEADER.fullmatch(line.rstrip()):
            header, in_table = index, match["name"] == table
        elif line.strip().startswith(("[", "# [[", "#[[")):
            in_table = False
        elif in_table and (match := _KEY.match(line)) and match["name"] == key:
            if not match["off"]:
                return header, index, ""
            commented = commented or (header, index, match["off"])
    return commented


def _with_value(line: str, comment_sign: str, value: Value) -> str:
    """Return the line of a key with another value, with its comment in the same column."""
    document = tomlkit.parse(line.replace(comment_sign, "", 1) if comment_sign else line)
    (key,) = document
    old: Any = document.item(key)
    new = _item(value)
    new.trivia.indent, new.trivia.comment, new.trivia.trail = old.trivia.indent, old.trivia.comment, ""
    added_length = len(new.as_string()) - len(old.as_string()) - len(comment_sign)
    new.trivia.comment_ws = _moved(old.trivia.comment_ws, added_length)
    document[key] = new
    return document.as_string().rstrip("\n")


def _on_line(line: str, comment_sign: str) -> str:
    """Return a line without the comment sign in front of it, with its own comment in the same column."""
    uncommented = line.removeprefix(comment_sign)
    code, sign, comment = uncommented.partition("#")
    if not sign:
        return uncommented
    spaces = code[len(code.rstrip()) :]
    return code.rstrip() + _moved(spaces, -len(comment_sign)) + sign + comment


def _commented_out(line: str) -> list[str]:
    """Return what remains of the line of a removed key: the line commented out if it has a comment, else nothing."""
    document = tomlkit.parse(line)
    (key,) = document
    old: Any = document.item(key)
    if not old.trivia.comment:
        return []
    old.trivia.comment_ws = _moved(old.trivia.comment_ws, 2)
    return [f"# {document.as_string()}"]


def _moved(spaces: str, added_length: int) -> str:
    """Return the spaces before a comment so that it keeps its column if the text before it gets longer."""
    return spaces if not spaces or spaces.strip(" ") else " " * max(1, len(spaces) - added_length)


def _in_its_table(text: str, path: str, value: Value | None) -> str:
    """Return the text with a key set or removed by tomlkit; a missing table is added at the end."""
    document = tomlkit.parse(text)
    table, _, key = path.rpartition(".")
    if value is None:
        container: Any = document[table] if table else document
        del container[key]
    elif not table:
        document[key] = _item(value)
    elif table in document:
        container = document[table]
        container[key] = _item(value)
    else:
        new_table = tomlkit.table()
        new_table.add(key, _item(value))
        gap = "\n" if text.endswith("\n") else "\n\n"
        if not text or text.endswith("\n\n"):
            gap = ""
        return f"{text}{gap}[{table}]\n{new_table.as_string()}"
    return document.as_string()


def _item(value: Value) -> Item:
    """Return a value for tomlkit; tables in a list become inline tables, each on its own line."""
    if not isinstance(value, list):
        return tomlkit.item(value)
    array = tomlkit.array()
    for entry in value:
        if isinstance(entry, dict):
            table = tomlkit.inline_table()
            table.update(entry)
            array.append(table)
        else:
            array.append(entry)
    return array.multiline(any(isinstance(entry, dict) for entry in value))
