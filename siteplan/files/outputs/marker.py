"""Which files of an output folder did siteplan write, and are they unchanged?

Every output folder has a hidden file, the marker. It lists each file with its size and SHA-256. While files are being
replaced it also lists the new ones, so that the next run can finish a run that was interrupted.
Files are replaced in output_folder.py.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from siteplan.files.outputs.moving import sync

MARKER = ".siteplan"
#: prefix of the name of the hidden folder in which new files are first written
STAGE = ".siteplan-"
_ABOUT = (
    "Written by siteplan. When it plans again it replaces or removes only the files listed here, and only where they "
    "are still as it wrote them. Everything else in this folder stays."
)
_MOST_BYTES = 1_000_000  # a longer file is no marker
_OPEN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


@dataclass(frozen=True)
class Content:
    """The size and the hash of a file, as the marker lists them.

    Attributes
    ----------
    size : int
        [bytes]
    sha256 : str
        64 hexadecimal digits; FIPS 180-4.
    """

    size: int
    sha256: str


@dataclass(frozen=True)
class Coming:
    """A replacement of files that has begun.

    Attributes
    ----------
    stage : str
        Name of the hidden folder, within the output folder, that holds the new files.
    files : mapping of str to Content
        The new files.
    removed : tuple of str
        Earlier files that are removed and have no new version.
    """

    stage: str
    files: Mapping[str, Content]
    removed: tuple[str, ...]


@dataclass(frozen=True)
class Marker:
    """What siteplan wrote to an output folder, and what it is about to write."""

    files: Mapping[str, Content] = field(default_factory=dict)
    coming: Coming | None = None


def content(path: Path) -> Content | None:
    """Return a file's size and hash; None for a link, a folder, a pipe, or a file that is missing or unreadable.

    Examples
    --------
    >>> content(Path("nowhere")) is None
    True
    """
    try:
        with os.fdopen(os.open(path, _OPEN), "rb") as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode) or path.is_symlink():
                return None
            digest = hashlib.file_digest(file, "sha256")
            return Content(file.tell(), digest.hexdigest())
    except OSError:
        return None


def read_marker(folder: Path) -> Marker | None:
    """Return a folder's marker, or None if it has none.

    A marker that lists nothing (earlier versions of siteplan wrote such) or that cannot be read counts as empty. Then
    no file in the folder counts as written by siteplan.
    """
    path = folder / MARKER
    if not path.is_file() or path.is_symlink():
        return None
    try:
        if path.stat().st_size > _MOST_BYTES:
            return Marker()
        document = json.loads(path.read_text(encoding="utf-8"))
        return Marker(_files(document["files"]), _coming(document.get("coming")))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return Marker()


def write_marker(path: Path, marker: Marker) -> None:
    """Write a marker to a file, and wait until it is on the disk."""
    document = {"about": _ABOUT, "files": _as_json(marker.files)}
    if marker.coming is not None:
        document["coming"] = {
            "stage": marker.coming.stage,
            "files": _as_json(marker.coming.files),
            "gone": list(marker.coming.removed),
        }
    path.write_text(json.dumps(document, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    sync(path)


def _as_json(files: Mapping[str, Content]) -> dict[str, dict[str, int | str]]:
    return {name: asdict(entry) for name, entry in sorted(files.items())}


def _files(document: Mapping[str, Any]) -> dict[str, Content]:
    return {_name(name): Content(int(entry["size"]), str(entry["sha256"])) for name, entry in document.items()}


def _coming(document: Mapping[str, Any] | None) -> Coming | None:
    if document is None:
        return None
    stage = str(document["stage"])
    if os.path.basename(stage) != stage or not stage.startswith(STAGE):  # noqa: PTH119  # Path drops a last slash
        raise ValueError("the stage lies elsewhere")
    return Coming(stage, _files(document["files"]), tuple(_name(name) for name in document["gone"]))


def _name(name: str) -> str:
    """Return a plain file name; raise ValueError for one that leads to another folder."""
    if not name or name.startswith(MARKER) or name in {".", ".."} or set(name) & set("/\\:\0"):
        raise ValueError(f"{name!r} is no name of an output file")
    return name
