"""Did a command take a damaged site well?

It is refused with exit 2, each line naming a file and the thing, nothing written; or it is answered with exit 0 and
figures that can be. Anything else is a find: a traceback, a warning that leaked, words that steer a terminal.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
import os
import socket
import traceback
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from siteplan.cli import main

from .damage import Files, Thing

LONGEST_LINE = 1200  # characters of one fault: more is no line that anyone reads
MOST_LINES = 1000


@dataclass(frozen=True)
class Verdict:
    """What became of one damaged site: `kind` is answered, refused or found; `wrong` says what was found."""

    kind: str
    wrong: str = ""
    said: str = ""


def write(folder: Path, files: Files) -> None:
    """Write a site's files, and what lies there in place of files."""
    folder.mkdir(parents=True)
    for name, content in files.items():
        path = folder / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        elif content.sort != "nothing":
            _put(path, content)


def _put(path: Path, thing: Thing) -> None:
    if thing.sort == "folder":
        path.mkdir()
    elif thing.sort == "pipe":
        os.mkfifo(path)
    elif thing.sort == "socket":
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX) as one:  # a long path is refused
            one.bind(str(path))
    else:
        path.symlink_to(thing.target or path.name)


def judged(folder: Path, command: str, out: Path) -> Verdict:
    """Return what a command made of a site, run in this process."""
    said, faults = io.StringIO(), io.StringIO()
    words = [command, str(folder), "--out", str(out), *(["--json"] if command != "check" else [])]
    with warnings.catch_warnings(record=True) as leaked, contextlib.redirect_stdout(said):
        warnings.simplefilter("always")
        with contextlib.redirect_stderr(faults):
            try:
                code = main(words)
            except BaseException:  # noqa: BLE001  # a traceback of any kind is what is looked for
                return Verdict("found", "traceback", traceback.format_exc())
    told = faults.getvalue()
    wrong = list(_wrong(code, said.getvalue(), told, folder, out))
    wrong += [
        f"leaked warning: {one.category.__name__}: {one.message} ({one.filename}:{one.lineno})" for one in leaked
    ]
    if wrong:
        return Verdict("found", "; ".join(wrong[:3]), told[:2000])
    return Verdict("answered" if code == 0 else "refused", said=told[:500])


def _wrong(code: int, said: str, told: str, folder: Path, out: Path) -> Iterator[str]:
    steering = {letter for letter in said + told if not letter.isprintable()} - {"\n"}
    if steering:
        yield f"characters that no terminal should get: {sorted(map(ascii, steering))}"
    if code == 0:
        if told:
            yield "words on stderr although it went well"
        if said.startswith("{\n"):
            yield from _insane(json.loads(said, parse_constant=lambda name: f"no number: {name}"))
        return
    if code != 2:
        yield f"exit {code}"
    if said:
        yield "words on stdout although it went wrong"
    if out.exists():
        yield "something was written although it was refused"
    yield from _unclear(told.splitlines(), folder)


def _unclear(lines: list[str], folder: Path) -> Iterator[str]:
    names = {folder.name, *(path.name for path in folder.iterdir()), "site.toml", "features.geojson"}
    settings = folder / "site.toml"
    text = (
        settings.read_bytes().decode("utf-8", "replace") if settings.is_file() and not settings.is_symlink() else ""
    )
    if not 0 < len(lines) <= MOST_LINES:
        yield f"{len(lines)} lines of faults"
    for line in lines:
        name, colon, rest = line.partition(": ")
        if not (colon and rest.strip() and (name in names or name in text)):
            yield f"a line that names no file: {line[:200]!r}"
        if len(line) > LONGEST_LINE:
            yield f"a line of {len(line)} characters: {line[:80]!r}"


def _insane(document: Any, path: str = "") -> Iterator[str]:
    """Say which figures of an answer cannot be."""
    if isinstance(document, dict):
        for key, value in document.items():
            yield from _insane(value, f"{path}.{key}")
    elif isinstance(document, list):
        for value in document:
            yield from _insane(value, path)
    elif isinstance(document, str):
        if document.startswith("no number: "):
            yield f"{path} is {document}"
    elif isinstance(document, int | float) and not isinstance(document, bool):
        low, high = _range(path.rpartition(".")[2])
        if not low <= document <= high:
            yield f"{path} is {document}, must be from {low} to {high}"


def _range(key: str) -> tuple[float, float]:
    if key.endswith("sun_h") and "total" not in key:
        return 0, 24.001
    if key.endswith(("_score", "score")):
        return 0, 100
    if key.endswith(("volume_m3", "mass_kg", "area_m2", "length_m", "_cost", "cost", "trips", "minutes")):
        return (0, 1e12) if "saving" not in key else (-1e12, 1e12)
    if key.endswith("_lat"):
        return -90, 90
    if key.endswith("_lon"):
        return -180, 180
    return -math.inf, math.inf
