"""How is text from a site's files escaped, so that a page never runs it as code?

All such text goes through this module. Each character that HTML, a script or a template engine could read as a
command becomes an HTML entity, or in script data a JSON escape. Numbers are written by the callers.
"""

from __future__ import annotations

import html
import json
import re
from typing import Any

from markupsafe import Markup

LONGEST = 400  # characters of one name or reason that a page shows

_ENTITIES = {
    ord("{"): "&#123;",
    ord("}"): "&#125;",
    ord("`"): "&#96;",
    ord("\\"): "&#92;",
    0x2028: "&#8232;",
    0x2029: "&#8233;",
}
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_OVERRIDES = re.compile("[\u202a-\u202e\u2066-\u2069]")
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
_IN_SCRIPT = {ord(char): f"\\u{ord(char):04x}" for char in "{}<>&'`\u2028\u2029"}


def plain_text(value: object, *, longest: int = LONGEST) -> str:
    r"""Return text without control characters, unpaired surrogates and direction overrides, shortened to a length.

    Examples
    --------
    >>> plain_text("north\x00bed"), plain_text("abcdef", longest=4)
    ('north\ufffdbed', 'abc…')
    """
    text = _OVERRIDES.sub("", _UNPRINTABLE.sub("\ufffd", str(value)))
    return text if len(text) <= longest else text[: longest - 1] + "…"


def page_text(value: object, *, longest: int = LONGEST) -> Markup:
    r"""Return text escaped as HTML, so that a page shows exactly that text anywhere.

    Text that is escaped already (Markup) is returned unchanged; None becomes empty text.

    Examples
    --------
    >>> print(page_text("<img src=x onerror=alert(1)>"))
    &lt;img src=x onerror=alert(1)&gt;
    >>> print(page_text("{{7*7}}"))
    &#123;&#123;7*7&#125;&#125;
    >>> print(page_text(page_text("a & b")))
    a &amp; b
    """
    if isinstance(value, Markup):
        return value
    if value is None:
        return Markup("")
    escaped = html.escape(plain_text(value, longest=longest), quote=True)
    return Markup(escaped.translate(_ENTITIES))  # noqa: S704  # escaped here


def script_data(value: Any) -> Markup:
    r"""Return data as JSON that is safe inside a script element and inside a template.

    Examples
    --------
    >>> print(script_data({"id": "</script>{{7*7}}"}))
    {"id":"\u003c/script\u003e\u007b\u007b7*7\u007d\u007d"}

    Raises
    ------
    ValueError
        If a number is not finite; use None instead.
    """
    text = json.dumps(_cleaned(value), allow_nan=False, separators=(",", ":"))
    return Markup(_STRING.sub(lambda match: match[0].translate(_IN_SCRIPT), text))  # noqa: S704  # escaped here


def _cleaned(value: Any) -> Any:
    """Return data with all strings made plain text; packed maps are not shortened."""
    if isinstance(value, PackedText):
        return str(value)
    if isinstance(value, str):
        return plain_text(value)
    if isinstance(value, dict):
        return {plain_text(key): _cleaned(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_cleaned(part) for part in value]
    return value


class PackedText(str):
    """Text made by the program itself, such as base64; it is not shortened."""

    __slots__ = ()


def sentence(value: object) -> str:
    """Return text as a sentence, with a capital letter and a full stop.

    Examples
    --------
    >>> sentence("no heading that fits is better"), sentence("It is."), sentence("")
    ('No heading that fits is better.', 'It is.', '')
    """
    words = str(value).strip()
    if not words:
        return ""
    return words[0].upper() + words[1:] + ("" if words[-1] in ".!?" else ".")
