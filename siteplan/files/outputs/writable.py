"""How are the files of a new site written?

To a folder that is new or empty. A file is written only if there is none of its name, so that nothing is overwritten.
Output folders are written by output_folder.py.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path

from siteplan.files.outputs.moving import sync
from siteplan.land.errors import Fault, InputError


def write_new(folder: Path, files: Mapping[str, bytes], *, over_itself: bool = False) -> Path:
    """Write the files of a new site, all or none, and return the folder.

    Parameters
    ----------
    folder : Path
        Created if it is missing; must be empty.
    files : mapping of str to bytes
        Content of each file, by name.
    over_itself : bool
        Whether the folder may already hold these same files, and others beside them. All these stay untouched; only
        missing files are written.

    Raises
    ------
    InputError
        If something is there already, one of the files has been changed, or the disk cannot be written to.
    """
    name = folder.name or str(folder)
    created: list[Path] = []
    try:
        missing = _missing(folder, name, files, over_itself=over_itself)
        created += [path for path in (folder, *folder.parents) if not path.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        for file in missing:
            with (folder / file).open("xb") as new:
                created.insert(0, folder / file)
                new.write(files[file])
            sync(folder / file)
    except FileExistsError as error:
        _unmake(created)
        raise InputError([Fault(name, "", "has just got files from elsewhere; choose another name")]) from error
    except OSError as error:
        _unmake(created)
        raise InputError([Fault(name, "", f"cannot be written: {error.strerror}")]) from error
    except BaseException:
        _unmake(created)
        raise
    return folder


def _missing(folder: Path, name: str, files: Mapping[str, bytes], *, over_itself: bool) -> list[str]:
    """Return the files that are to be written, or raise if the folder is not free for them."""
    if not os.path.lexists(folder):
        return list(files)
    if not folder.is_dir():
        raise InputError([Fault(name, "", "is a file; choose another name")])
    names = sorted(path.name for path in folder.iterdir())
    already_there = [file for file in files if file in names]
    if names and not (over_itself and already_there):
        raise InputError([Fault(name, "", f"is not empty (it holds {names[0]!r}); choose another folder")])
    changed = [file for file in already_there if (folder / file).read_bytes() != files[file]]
    if changed:
        text = f"holds {' and '.join(changed)} with changes of yours; plan it with: siteplan plan {folder}"
        raise InputError([Fault(name, "", f"{text}, or choose another folder for the demo")])
    return [file for file in files if file not in already_there]


def _unmake(created: list[Path]) -> None:
    """Remove the files and folders that were made, innermost first; a folder that holds anything else stays."""
    for path in created:
        with contextlib.suppress(OSError):
            if path.is_dir():
                path.rmdir()
            else:
                path.unlink()
