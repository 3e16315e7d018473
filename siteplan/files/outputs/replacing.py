"""How does a new version of somebody's own file take its place?

The new one is written whole beside it and synced, then changes places with it in one step; whatever fails before that
leaves the old one as it was. It leaves out what the file says.
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
    """Yield a copy of a file, of the same name; when the block ends without an error it takes the file's place.

    Parameters
    ----------
    path : Path
        Of a file that is there. Where it is a link, what it points to is replaced.

    Raises
    ------
    InputError
        Where the disk refuses, or where another program has changed the file in the meantime.
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
