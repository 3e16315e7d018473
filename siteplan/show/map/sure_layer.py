"""What does the page say and hold about where the sun is surely enough?

One map over the ground, its key in words, and the text of its box. `assets/sure.js` paints it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from siteplan.say.figures import share_text
from siteplan.show.map.packing import packed_steps
from siteplan.sun.doubt.doubt import HIGH, LOW

if TYPE_CHECKING:
    from siteplan.sun.doubt.sure_map import SureMap


def sure_words(sure: SureMap) -> str:
    """Return what the picture shows."""
    return f"Where {sure.need:g} h of sun a day in the growing season are sure"


def sure_data(sure: SureMap) -> dict[str, Any]:
    """Return the data that the page's script paints from: numbers of draws, on the grid of the sun."""
    return {
        "draws": sure.draws,
        "least": HIGH * sure.draws,
        "most": LOW * sure.draws,
        "need": sure.need,
        "words": sure_words(sure),
        "packed": packed_steps(sure.share[np.newaxis], 1 / sure.draws),
    }


def sure_key(sure: SureMap) -> dict[str, Any]:
    """Return the text of the box and of the key, for the page's template."""
    enough, too_little, unsure = sure.parts() or (0.0, 0.0, 0.0)
    need = f"{sure.need:g} h"
    classes = (
        ("has", f"Sure to get {need}", enough),
        ("unsure", "Not sure", unsure),
        ("not", f"Sure to get less than {need}", too_little),
    )
    return {
        "box": f"Where {need} are sure",
        "classes": [{"kind": kind, "text": text, "share": share_text(share)} for kind, text, share in classes],
        "note": "of the ground in the season. Sure: 9 of 10 trials or more.",
    }
