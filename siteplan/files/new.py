"""How does a new site start?

With the files of the template, in a folder of their own. It leaves out what they say.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.outputs.writable import write_new
from siteplan.files.template import new_files


def new_site(folder: str | Path) -> Path:
    """Start a site in a folder, which must be new or empty, and return the folder.

    Raises
    ------
    InputError
        Where something lies there already.
    """
    return write_new(Path(folder), new_files())
