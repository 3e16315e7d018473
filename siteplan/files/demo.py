"""What does a finished site look like?

The invented property that travels with the package.
It leaves out planning it.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from siteplan.files.constant_tables import data_folder
from siteplan.files.reader import read_site
from siteplan.files.writable import empty_folder
from siteplan.land.site import Site


def demo_site() -> Site:
    """Return the demo property.

    Examples
    --------
    >>> demo_site().units
    'imperial'
    """
    return read_site(data_folder() / "demo")


def write_demo(folder: str | Path) -> Path:
    """Write the demo's files to a folder, which must be new or empty, and return it.

    Raises
    ------
    InputError
        Where something lies there already.
    """
    target = empty_folder(Path(folder))
    for source in sorted((data_folder() / "demo").iterdir()):
        if source.is_file():
            shutil.copyfile(source, target / source.name)
    return target
