"""How is a chart written, so that a page can hold it and everybody can read it?

Plain SVG with a sentence that says the same to a screen reader; told apart by form and words, not by colour alone.
It leaves out what is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from siteplan.say.safe_text import page_text


def picture(width: float, height: float, words: str, parts: Sequence[str], kind: str, *, style: str = "") -> Markup:
    """Return a picture with its sentence.

    Parameters
    ----------
    width, height : float
        In the picture's own units.
    words : str
        What a screen reader says in its place.
    parts : sequence of str
        SVG elements, made of numbers and of text that has passed the door.
    kind : str
        Class by which a style sheet knows it.
    style : str
        Rules that the picture carries itself, where the page's own do not reach it.
    """
    opening = (
        f'<svg class="chart {kind}" viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{page_text(words)}">'
    )
    sheet = f"<style>{style}</style>" if style else ""
    return Markup(opening + sheet + "".join(parts) + "</svg>")  # noqa: S704  # text inside went through the door
