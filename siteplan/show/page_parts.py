"""Which templates, scripts and styles is a page made of?

siteplan's own ones. Every value that a Jinja template prints is escaped by `siteplan.say.safe_text`.
It leaves out the scripts and styles of libraries.
"""

from __future__ import annotations

from functools import cache
from importlib import resources

import jinja2

from siteplan.say.safe_text import page_text, sentence


@cache
def templates() -> jinja2.Environment:
    """Return the package's templates; every value that they print is escaped by `siteplan.say.safe_text`."""
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
    """Return scripts or styles of siteplan, joined in the order given."""
    folder = resources.files("siteplan.show") / "assets"
    joint = "\n" if names[0].endswith(".css") else "\n;\n"
    return joint.join((folder / name).read_text(encoding="utf-8") for name in names)
