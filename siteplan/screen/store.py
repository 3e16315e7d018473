"""Where are finished lots stored, so that a crash loses none?

In a file in the output folder. Each finished lot is a line of JSON, which is on the disk before the next lot is
stored. If a lot has several lines, the last one counts; an incomplete last line is ignored. `writing` writes the
result files.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from siteplan.files.outputs.moving import held
from siteplan.land.errors import Fault, InputError
from siteplan.screen.rows import ENDED

#: siteplan's own files in an output folder begin like this
NAME = ".siteplan-rows.jsonl"
_LOCK = ".siteplan-screening"


@dataclass(frozen=True)
class Known:
    """What is known of a lot.

    Attributes
    ----------
    key : str
        Hash of all that may change its answer.
    stamp : str
        Hash of all files that the lot was read from.
    row : dict
    folder : str
        Hash of the lot when its whole plan was written; empty if it was not.
    plan : str
        Name of the folder with its whole plan, which stays the same if lots are added; empty if none was written.
    """

    key: str
    stamp: str
    row: dict[str, Any]
    folder: str = ""
    plan: str = ""


class Store:
    """The lots that are done, by their ids."""

    def __init__(self, out: Path) -> None:
        self.path = out / NAME
        self.known: dict[str, Known] = {}
        for line in self._lines():
            with contextlib.suppress(ValueError, TypeError, KeyError):
                fields = json.loads(line)
                written = fields.get("folder", ""), fields.get("plan", "")
                self.known[str(fields["lot"])] = Known(fields["key"], fields["stamp"], dict(fields["row"]), *written)

    def finished(self, lot: str, stamp: str) -> bool:
        """Return whether a lot can be skipped: it is finished, and no file that it was read from has changed."""
        known = self.known.get(lot)
        return known is not None and known.stamp == stamp and known.row.get("status") != ENDED

    def key(self, lot: str) -> str:
        """Return the hash of a lot that was finished; empty for any other."""
        known = self.known.get(lot)
        return "" if known is None or known.row.get("status") == ENDED else known.key

    def add(self, lot: str, known: Known) -> None:
        """Store what is known of a lot, on the disk.

        Raises
        ------
        InputError
            If the disk is full, or cannot be written to.
        """
        self.known[lot] = known
        with _as_fault(self.path), self.path.open("ab") as file:
            file.write(_line(lot, known))
            file.flush()
            os.fsync(file.fileno())

    def tidy(self, lots: Iterable[str]) -> None:
        """Keep one line for each lot that still exists."""
        new_file = self.path.with_name(f"{NAME}.new")
        with _as_fault(self.path):
            new_file.write_bytes(b"".join(_line(lot, self.known[lot]) for lot in lots if lot in self.known))
            new_file.replace(self.path)

    def _lines(self) -> Iterator[bytes]:
        with contextlib.suppress(FileNotFoundError), self.path.open("rb") as file:
            for line in file:
                if line.endswith(b"\n"):
                    yield line
            if file.tell() and not line.endswith(b"\n"):  # cut off by a crash: the next entry begins a new line
                with self.path.open("ab") as appended:
                    appended.write(b"\n")


def _line(lot: str, known: Known) -> bytes:
    written = {"folder": known.folder, "plan": known.plan}
    fields = {"lot": lot, "key": known.key, "stamp": known.stamp, **written, "row": known.row}
    return json.dumps(fields, allow_nan=False).encode() + b"\n"


@contextmanager
def opened(out: Path) -> Iterator[Store]:
    """Open the store of an output folder, for one run at a time.

    Raises
    ------
    InputError
        If another run works there, or the folder cannot be written to.
    """
    with _as_fault(out):
        (out / _LOCK).mkdir(parents=True, exist_ok=True)
        with held(out / _LOCK, wait=False) as alone:
            if not alone:
                raise InputError([Fault(out.name, "", "another run of siteplan screen works there; wait for it")])
            try:
                yield Store(out)
            finally:
                with contextlib.suppress(OSError):
                    (out / _LOCK).rmdir()


@contextmanager
def _as_fault(path: Path) -> Iterator[None]:
    """Turn an error of the disk into an InputError."""
    try:
        yield
    except OSError as error:
        if error.errno not in {errno.ENOSPC, errno.EDQUOT, errno.EACCES, errno.EPERM, errno.EROFS}:
            raise
        text = f"cannot be written: {error.strerror}; make room, and run the same again: it goes on where it stopped"
        raise InputError([Fault(path.name, "", text)]) from error
