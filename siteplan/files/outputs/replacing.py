"""How is one of the gardener's files replaced by a new version?

The new version is written completely beside it and synced, then the two are exchanged in one step. If anything fails
before that, the old file stays as it was.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from siteplan.files.outputs.moving import sync
from siteplan.land.errors import Fault, InputError


@contextmanager
def new_version(path: Path) -> Iterator[Path]:
    """Yield a copy of a file, with the same name; if the block ends without an error, the copy replaces the file.

    Parameters
    ----------
    path : Path
        Path of an existing file. If it is a link, the file that it points to is replaced.

    Raises
    ------
    InputError
        If the disk cannot be written to, or if another program has changed the file in the meantime.
    """
    real = path.resolve()
    try:
        before = real.read_bytes()
        with tempfile.TemporaryDirectory(prefix=".siteplan-", dir=real.parent) as folder:
            copy = Path(folder) / path.name
            shutil.copyfile(real, copy)
            yield copy
            shutil.copymode(real, copy)
            sync(copy)
            if real.read_bytes() != before:
                raise InputError([Fault(path.name, "", "another program has just changed it; run this once more")])
            copy.replace(real)
            sync(real.parent)
    except OSError as error:
        text = f"cannot be written ({error.strerror}); it is as it was"
        raise InputError([Fault(path.name, "", text)]) from error


def write_over(path: Path, content: bytes, *, lasting: bool = True) -> None:
    """Write a file whole: first beside its place and synced, then moved there in one step.

    Parameters
    ----------
    path : Path
        May be missing. If it is a link, the file that it points to is replaced.
    content : bytes
    lasting : bool
        Whether to wait until the disk has the new name too. Without, a power cut may bring back the file before.

    Raises
    ------
    OSError
        If it cannot be written; the file is as it was.
    """
    real = path.resolve()
    fresh = waiting_version(path)
    fresh.unlink(missing_ok=True)  # what a killed process left there, or a link that would lead elsewhere
    try:
        with fresh.open("xb") as file:
            file.write(content)
        if real.exists():
            shutil.copymode(real, fresh)
        sync(fresh)
        fresh.replace(real)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    if lasting:
        sync(real.parent)


def waiting_version(path: Path) -> Path:
    """Return where `write_over` puts a new version of a file for a moment; a killed process leaves it there."""
    real = path.resolve()
    return real.with_name(f".siteplan-new-{hashlib.sha256(real.name.encode()).hexdigest()[:16]}")
