"""How is a chart written so that everybody can read it?

As plain SVG, with a sentence that tells a screen reader the same. Shapes and words carry the meaning, never colour
alone. The other modules of this folder draw the charts.
"""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from siteplan.say.safe_text import page_text


def picture(width: float, height: float, words: str, parts: Sequence[str], kind: str, *, style: str = "") -> Markup:
    """Return an SVG picture with a sentence for screen readers.

    Parameters
    ----------
    width, height : float
        In the picture's own units.
    words : str
        The sentence that a screen reader says instead.
    parts : sequence of str
        SVG elements, made of numbers and of text escaped by `siteplan.say.safe_text`.
    kind : str
        CSS class of the picture.
    style : str
        CSS rules written into the picture, for use outside a page that has them.
    """
    opening = (
        f'<svg class="chart {kind}" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{page_text(words)}">'
    )
    sheet = f"<style>{style}</style>" if style else ""
    return Markup(opening + sheet + "".join(parts) + "</svg>")  # noqa: S704  # text inside is escaped
