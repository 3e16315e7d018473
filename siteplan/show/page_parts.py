"""What is a page made of?

Our own scripts and styles, and Jinja's templates: what these print passes the door of `siteplan.say.safe_text`.
It leaves out the assets of libraries.
"""

from __future__ import annotations

from functools import cache
from importlib import resources

import jinja2

from siteplan.say.safe_text import page_text, sentence


@cache
def templates() -> jinja2.Environment:
    """Return the package's templates: every value that they print goes through the door."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("siteplan.show", "templates"),
        autoescape=True,
        finalize=page_text,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["sentence"] = sentence
    return environment


@cache
def own_asset(*names: str) -> str:
    """Return our own scripts or styles, one after the other."""
    folder = resources.files("siteplan.show") / "assets"
    joint = "\n" if names[0].endswith(".css") else "\n;\n"
    return joint.join((folder / name).read_text(encoding="utf-8") for name in names)
