"""What is said about turning a place that was found into a bed?

The next step if no bed is drawn yet, and what was written after a place became a bed.
The reasons for a place are in `siteplan.say.place_reasons`.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.land.features import Bed
from siteplan.land.outline import smallest_rectangle
from siteplan.land.units import System, length_text
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.records import Answers


def next_step(plan: Answers, folder: str = "") -> str:
    """Return what to do next if places were found and no bed is drawn; empty if a bed is drawn.

    Parameters
    ----------
    plan : Answers
    folder : str
        The site's folder, as given on the command line; if empty, a placeholder is used.
    """
    if plan.site.beds or plan.places is None or not plan.places.places:
        return ""
    name = plain_text(shlex.quote(folder)) if folder else "SITE"
    note = "" if folder else " (SITE is the name of your folder)"
    return (
        "No bed is drawn yet, so there is nothing to fill and nothing to wheel. "
        f"To make place 1 a bed: siteplan place --adopt 1 {name}. Then plan it: siteplan plan {name}{note}."
    )


def adopted_sentences(file: str, beds: Sequence[Bed], folder: str, units: System) -> list[str]:
    r"""Return what was written after places became beds.

    Parameters
    ----------
    file : str
        Name of the file that the beds were written to.
    beds : sequence of Bed
        The beds, with their names in that file.
    folder : str
        The site's folder, as given on the command line.
    units : str

    Examples
    --------
    >>> from siteplan.land.outline import rectangle
    >>> bed = Bed(id="bed-2", outline=rectangle(0, 0, length=2.4, width=1.2, heading=0), height=0.45)
    >>> print(*adopted_sentences("features.geojson", [bed], "my-yard", "metric"), sep="\n")
    Written to features.geojson: bed-2, 2.40 m x 1.20 m, 45 cm high, proposed.
    The rest of the file is as it was. Plan it: siteplan plan my-yard.
    """
    lines = []
    for bed in beds:
        long, wide, _ = smallest_rectangle(bed.outline)
        size = f"{length_text(long, units)} x {length_text(wide, units)}, {length_text(bed.height, units)} high"
        lines.append(f"Written to {plain_text(file)}: {plain_text(bed.id)}, {size}, proposed.")
    beds_word = "it" if len(beds) == 1 else "them"
    again = plain_text(shlex.quote(folder))
    return [*lines, f"The rest of the file is as it was. Plan {beds_word}: siteplan plan {again}."]
