"""How does a new site start?

With the files of `template.py`, in a folder of its own.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.outputs.writable import write_new
from siteplan.files.template import drawing_files, new_files


def new_site(folder: str | Path) -> Path:
    """Start a site in a folder, which must be new or empty, and return the folder.

    Raises
    ------
    InputError
        If the folder holds files already.
    """
    return write_new(Path(folder), new_files())


def new_drawing(folder: str | Path) -> Path:
    """Start a site for the drawing page, in a folder that must be new or empty, and return the folder.

    It contains no example values: place, frost dates, prices and features are still to be given.

    Raises
    ------
    InputError
        If the folder holds files already.
    """
    return write_new(Path(folder), drawing_files())
