"""How does a new site start?

With the files of the template, in a folder of their own. It leaves out what they say.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.template import new_files
from siteplan.files.writable import empty_folder


def new_site(folder: str | Path) -> Path:
    """Start a site in a folder, which must be new or empty, and return the folder.

    Raises
    ------
    InputError
        Where something lies there already.
    """
    target = empty_folder(Path(folder))
    for name, content in new_files().items():
        (target / name).write_bytes(content)
    return target
