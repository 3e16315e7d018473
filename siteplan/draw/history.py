"""Which states did a property have, step by step?

A hidden folder in the site's folder keeps the last states: a list of the steps, and each version of each file once,
by its hash. `property_files` writes the site's own files.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath, PureWindowsPath

from siteplan.files.drawing.vector import DRAWN_HERE
from siteplan.files.outputs.replacing import write_over
from siteplan.files.site_toml.settings import FILE as SETTINGS_FILE
from siteplan.land.values import LONGEST_TEXT

FOLDER = ".siteplan-history"
MOST_STEPS = 200  # that can be undone
MOST_BYTES = 100_000_000  # of all stored states, compressed; the present one is always kept
LARGEST = 50_000_000  # bytes of one file
_LIST = "steps.json"
_ABOUT = "Written by siteplan draw: the last states of this property, for undo and redo."
_HASH = re.compile("[0-9a-f]{64}")
_LONGEST_LIST = 10_000_000  # bytes


@dataclass(frozen=True)
class Step:
    """One step, and the files after it.

    Attributes
    ----------
    says : str
        What was done, as ``moved maple``.
    time : str
        ISO 8601, in UTC.
    files : mapping of str to str
        Hash of each file by its name.
    """

    says: str
    time: str
    files: Mapping[str, str]


@dataclass
class History:
    """The steps of one property.

    Attributes
    ----------
    folder : Path
        Where they are stored.
    steps : list of Step
        The first is the property as it was opened.
    position : int
        Index of the present step.
    writing : (mapping, mapping) or None
        Hashes of the files before and after a change that has begun; None once it is done.
    """

    folder: Path
    steps: list[Step] = field(default_factory=list)
    position: int = 0
    writing: tuple[Mapping[str, str], Mapping[str, str]] | None = None

    @classmethod
    def of(cls, site: Path) -> History:
        """Return the history of a site's folder; empty if there is none that can be read."""
        folder = site / FOLDER
        path = folder / _LIST
        if path.is_symlink() or not path.is_file() or path.stat().st_size > _LONGEST_LIST:
            return cls(folder)
        try:
            document = json.loads(path.read_bytes())
            steps = [Step(str(step["says"]), str(step["time"]), dict(step["files"])) for step in document["steps"]]
            pair = document["writing"]
            writing = None if pair is None else (dict(pair[0]), dict(pair[1]))
            _require_ours([*(step.files for step in steps), *(writing or ())], site)
            return cls(folder, steps, range(len(steps))[document["position"]], writing)
        except (ValueError, KeyError, TypeError, IndexError, RecursionError):
            return cls(folder)

    @property
    def now(self) -> Mapping[str, str]:
        """The hash of each file at the present step."""
        return self.steps[self.position].files

    @property
    def undo(self) -> str | None:
        """The words of the step that undo would take back; None if there is none."""
        return self.steps[self.position].says if self.position > 0 else None

    @property
    def redo(self) -> str | None:
        """The words of the step that redo would repeat; None if there is none."""
        return self.steps[self.position + 1].says if self.position + 1 < len(self.steps) else None

    def add(self, says: str, files: Mapping[str, str]) -> None:
        """Add a step after the present one; steps that were undone can no longer be redone."""
        words = " ".join(says.split())[:LONGEST_TEXT]
        step = Step(words, datetime.now(tz=UTC).isoformat(timespec="seconds"), dict(files))
        self.steps = [*self.steps[: self.position + 1], step]
        self.position = len(self.steps) - 1

    def keep(self, content: bytes) -> str:
        """Keep a version of a file, and return its hash."""
        name = hash_of(content)
        path = self._path(name)
        if not path.is_file():
            self._write(path, zlib.compress(content), lasting=False)  # the list, written next, is lasting
        return name

    def content(self, name: str) -> bytes | None:
        """Return a version of a file by its hash; None if it is missing or damaged."""
        try:
            unpacked = zlib.decompressobj().decompress(self._path(name).read_bytes(), LARGEST + 1)
        except (OSError, zlib.error):
            return None
        return unpacked if hash_of(unpacked) == name else None

    def save(self, *, lasting: bool = True) -> None:
        """Write the list of steps without the oldest beyond the limits, and remove versions that no step needs.

        Parameters
        ----------
        lasting : bool
            Whether to wait until it is safely on the disk. If not, a power cut may bring back the list before.
        """
        self._forget(max(0, len(self.steps) - 1 - MOST_STEPS))
        with os.scandir(self.folder) as entries:
            versions = [entry for entry in entries if entry.name.endswith(".z") and _HASH.fullmatch(entry.name[:-2])]
            sizes = {entry.name[:-2]: entry.stat(follow_symlinks=False).st_size for entry in versions}
        while self.position > 0 and sum(sizes.get(name, 0) for name in self._needed()) > MOST_BYTES:
            self._forget(1)
        steps = [{"says": step.says, "time": step.time, "files": dict(step.files)} for step in self.steps]
        writing = None if self.writing is None else [dict(files) for files in self.writing]
        document = {"about": _ABOUT, "position": self.position, "steps": steps, "writing": writing}
        self._write(self.folder / _LIST, json.dumps(document, ensure_ascii=False).encode(), lasting=lasting)
        for name in sizes.keys() - self._needed():
            self._path(name).unlink(missing_ok=True)

    def _forget(self, count: int) -> None:
        """Drop the oldest steps, but never the present one."""
        count = min(count, self.position)
        self.steps, self.position = self.steps[count:], self.position - count

    def _needed(self) -> set[str]:
        """Return the hashes of all versions that a step, or a change that has begun, refers to."""
        of_steps = {name for step in self.steps for name in step.files.values()}
        return of_steps.union(*(files.values() for files in self.writing or ()))

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.z"

    def _write(self, path: Path, content: bytes, *, lasting: bool) -> None:
        if path.is_symlink():  # not made by siteplan; it would lead elsewhere
            path.unlink()
        write_over(path, content, lasting=lasting)


def hash_of(content: bytes) -> str:
    """Return the SHA-256 of a file's content, 64 hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def is_within(name: str, folder: Path) -> bool:
    r"""Return whether a name leads to a place within a folder, on any system, after following links.

    Examples
    --------
    >>> names = ("features.geojson", "variants/a.json", "../a.json", "/etc/a.json", "C:a.json", "\\a.json")
    >>> [is_within(name, Path()) for name in names]
    [True, True, False, False, False, False]
    """
    for path in (PurePosixPath(name), PureWindowsPath(name)):
        if path.anchor or path.drive or ".." in path.parts or not path.parts:
            return False
    return (folder / name).resolve().is_relative_to(folder.resolve())


def _require_ours(listed: list[Mapping[str, str]], site: Path) -> None:
    """Raise ValueError if a list of steps names a file that siteplan would not have written."""
    names = {name for files in listed for name in files}
    hashes = {sha for files in listed for sha in files.values()}
    known_names = all(name == SETTINGS_FILE or name.lower().endswith(DRAWN_HERE) for name in names)
    known_hashes = all(map(_HASH.fullmatch, hashes))
    if not known_names or not known_hashes or not all(is_within(name, site) for name in names):
        raise ValueError(names)
