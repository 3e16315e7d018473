"""Where are our own scripts and styles?

In the package's folder of assets, read once. It leaves out those of libraries.
"""

from __future__ import annotations

from functools import cache
from importlib import resources


@cache
def own_asset(*names: str) -> str:
    """Return our own scripts or styles, one after the other."""
    folder = resources.files("siteplan.show") / "assets"
    joint = "\n" if names[0].endswith(".css") else "\n;\n"
    return joint.join((folder / name).read_text(encoding="utf-8") for name in names)
