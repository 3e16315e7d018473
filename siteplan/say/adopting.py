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


def next_step(plan: Answers, folder: str = "", options: str = "") -> str:
    """Return what to do next if places were found and no bed is drawn; empty if a bed is drawn.

    Parameters
    ----------
    plan : Answers
    folder : str
        The site's folder, as given on the command line; if empty, a placeholder is used.
    options : str
        Those of the search, as a shell takes them: with others it may find other places.
    """
    if plan.site.beds or plan.places is None or not plan.places.places:
        return ""
    name = plain_text(shlex.quote(folder)) if folder else "SITE"
    note = "" if folder else " (SITE is the name of your folder)"
    start = "No bed is drawn yet, so there is nothing to fill and nothing to wheel."
    if plan.site.variant:
        return (
            f"{start} These places are those of a variant: to make one a bed, first make the variant the property on "
            f"the page of: siteplan draw {name}{note}."
        )
    search = plain_text(" ".join(filter(None, (options, "--adopt 1"))), longest=len(options) + 10)
    return f"{start} To make place 1 a bed: siteplan place {search} {name}. Then plan it: siteplan plan {name}{note}."


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
