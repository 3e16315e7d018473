"""Where is the demo property, and how is it copied?

It is invented, and comes with the package.
"""

from __future__ import annotations

from pathlib import Path

from siteplan.files.constant_tables import data_folder
from siteplan.files.outputs.writable import write_new
from siteplan.files.reader import read_site
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
    """Write the demo's files to a folder and return it.

    The folder must be new, empty, or an earlier demo whose files are unchanged; other files in it stay.

    Raises
    ------
    InputError
        If the folder holds something else, or a file of an earlier demo has been changed.
    """
    sources = [source for source in sorted((data_folder() / "demo").iterdir()) if source.is_file()]
    return write_new(Path(folder), {source.name: source.read_bytes() for source in sources}, over_itself=True)
