"""How is a page laid out?

Jinja's templates of this folder; whatever they print goes through the door of `siteplan.say.safe_text`.
"""

from __future__ import annotations

from functools import cache

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
