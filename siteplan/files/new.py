"""How does a new site start?

With the files of the template, in a folder of their own. It leaves out what they say.
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
        Where something lies there already.
    """
    return write_new(Path(folder), new_files())


def new_drawing(folder: str | Path) -> Path:
    """Start a site that is yet to be drawn, in a folder that must be new or empty, and return the folder.

    Nothing of an example is in it: place, frost dates, prices and features are still to be said.

    Raises
    ------
    InputError
        Where something lies there already.
    """
    return write_new(Path(folder), drawing_files())
