"""Which sentences describe the picture under the drawing: what was done to it, and where it lies?

Faults of a picture are worded by the module that reads it.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.land.units import System, length_text

_DONE = {
    "turned": "It was turned as the camera was held.",
    "shrunk": "It was made smaller, to 4,096 pixels on its longer side.",
    "first-frame": "It moves; its first frame is kept.",
    "named-otherwise": "Its name says another sort of picture than it is; that does not matter.",
    "place-removed": "The place where it was taken stood in the file: it was taken out.",
}
KEPT = "It was written anew in the site's folder, without the day, the place and the camera that photos carry."


def picture_sentences(notes: Iterable[str]) -> list[str]:
    """Return what was done to a picture, by the codes of `Picture.notes`.

    Examples
    --------
    >>> picture_sentences(["shrunk"])[0]
    'It was made smaller, to 4,096 pixels on its longer side.'
    """
    return [*(_DONE[note] for note in notes), KEPT]


def lying_sentence(pins: int, *, places: str, pixel: float, units: System) -> str:
    """Return where a picture lies, and how large its pixels are.

    Parameters
    ----------
    pins : int
        Number of its points whose place is known.
    places : str
        ``degrees`` where the file itself says where it lies, else ``drawing``.
    pixel : float
        Side of one of its pixels on the ground; 0 if unknown. [m]

    Examples
    --------
    >>> lying_sentence(4, places="drawing", pixel=0.008, units="metric")
    'It is straightened by 4 corners; a pixel is 8 mm.'
    >>> lying_sentence(0, places="drawing", pixel=0.0, units="metric")
    'It has no place yet: scale it by two points, or straighten it by four corners.'
    """
    if places == "degrees" and not pixel:
        return "It knows where on earth it lies: say where the property lies, and it finds its place."
    if not pins:
        return "It has no place yet: scale it by two points, or straighten it by four corners."
    size = length_text(pixel, units) if pixel >= 0.001 else "below a millimetre"
    if places == "degrees":
        lies = "It lies where its file says"
    else:
        lies = f"It is straightened by {pins} corners" if pins > 2 else f"It is scaled by {pins} points"
    return f"{lies}; a pixel is {size}."
