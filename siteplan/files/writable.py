"""May a folder be written to?

A new site goes to a folder that is new or empty, so that nothing of anybody's is overwritten.
It leaves out output folders, which are replaced whole.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.land.errors import Fault, InputError


def empty_folder(folder: Path) -> Path:
    """Return the folder, made where it is missing; InputError where something is in it."""
    name = folder.name or str(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        taken = next(folder.iterdir(), None)
    except FileExistsError as error:
        raise InputError([Fault(name, "", "is a file; choose another name")]) from error
    except OSError as error:
        raise InputError([Fault(name, "", f"cannot be written: {error.strerror}")]) from error
    if taken is not None:
        raise InputError([Fault(name, "", f"is not empty (it holds {taken.name!r}); choose another folder")])
    return folder
