"""How is a file of the gardener's replaced by a new version?

The new version is written completely beside it and synced, then the two are exchanged in one step. If anything fails
before that, the old file stays as it was. It leaves out what the file holds.
"""

from __future__ import annotations

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
