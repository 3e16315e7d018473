"""Nothing fits: what stands in the way, and what would help?

The kinds of limit counted over all spots, what each alone forbids, and smaller beds tried.
It leaves out whether a limit may be given up: that is the gardener's, and sometimes the law's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from siteplan.land.units import System, length_text
from siteplan.place.limits.limits import REACH, Limit
from siteplan.place.reasons.words import listed
from siteplan.place.search.footprint_scan import Scan
from siteplan.place.search.results import RuledOut

NO_WAY = "no way in"
#: what the bed would no longer have to do, by kind of limit
_WITHOUT = {
    "boundary": "a smaller setback from the boundary",
    "building": "less room to the buildings",
    "fence": "less room to the fences",
    "hedge": "less room to the hedges",
    "surface": "giving up paved or gravelled ground",
    "keepout": "giving up a keepout",
    "roots": "a bed over tree roots, which harms the tree",
    "bed": "moving a bed that is there",
    "gate": "less room at the gate",
    "door": "less room at the door",
    "tap": "less room at the tap",
    "pile": "moving a pile",
    "slope": "levelling steeper ground",
    NO_WAY: "a way in for the barrow",
}


def ruled_out(
    limited: Sequence[Limit], found: Scan, names: Sequence[str], inside: NDArray[np.bool_], reach: NDArray[np.bool_]
) -> tuple[RuledOut, ...]:
    """Return what each kind of limit forbids, the one that forbids the most spots first.

    Parameters
    ----------
    limited : sequence of Limit
    found : Scan
    names : sequence of str
        Kind of each bit.
    inside : ndarray of bool, shape (rows, columns)
        The property.
    reach : ndarray of bool, shape (rows, columns)
        Where the barrow gets.
    """
    cells, asked = max(int(inside.sum()), 1), max(found.asked, 1)
    parts = []
    for bit, name in enumerate(names):
        own = [limit for limit in limited if limit.name == name]
        own.sort(key=lambda limit: -int((limit.mask & inside).sum()))
        mask = ~reach if name == NO_WAY else np.any([limit.mask for limit in own], axis=0)
        reason = "be out of the barrow's reach" if name == NO_WAY else own[0].reason
        parts.append(
            RuledOut(
                name=name,
                reason=reason,
                features=tuple(limit.feature for limit in own if limit.feature),
                share=float((mask & inside).sum() / cells),
                spots=float(found.blocked[bit] / asked),
                alone=float(found.alone[bit] / asked),
            )
        )
    return tuple(sorted(parts, key=lambda part: (-part.spots, -part.share, part.name)))


def nothing_fits(
    parts: Sequence[RuledOut],
    *,
    length: float,
    width: float,
    units: System,
    fits: Callable[[float, float], bool],
) -> tuple[str, ...]:
    """Return what to say where no spot is free.

    Parameters
    ----------
    parts : sequence of RuledOut
        The most forbidding first.
    length, width : float
        Of the bed that was asked for. [m]
    units : str
    fits : callable
        Whether a bed of another length and width fits anywhere.
    """
    size = f"{length_text(length, units)} by {length_text(width, units)}"
    said = [f"no bed of {size} fits anywhere on this property"]
    worst = [part for part in parts if part.spots > 0][:2]
    for part, lead in zip(worst, ("most often", "next"), strict=False):
        causes = f" ({listed(part.features)})" if part.features else ""
        said.append(f"what stands in the way {lead}: at {part.spots:.0%} of all spots it would {part.reason}{causes}")
    opens = max(parts, key=lambda part: part.alone, default=None)
    if opens is not None and opens.alone > 0:
        change = _WITHOUT.get(opens.name, opens.name)
        said.append(f"the one change that would open the most ground: {change} ({opens.alone:.0%} of all spots)")
    elif parts:
        said.append("no single change would do: every spot is forbidden by more than one thing")
    smaller = next((wish for wish in _smaller(length, width) if fits(*wish)), None)
    if smaller is not None:
        said.append(f"a bed of {length_text(smaller[0], units)} by {length_text(smaller[1], units)} would fit")
    return tuple(said)


def _smaller(length: float, width: float) -> list[tuple[float, float]]:
    """Return smaller sizes, the largest first; a narrow one may stand against a wall."""
    narrow = min(width, REACH)
    sizes = {(share * length, wide) for share in (1.0, 0.75, 0.5) for wide in (width, narrow)} - {(length, width)}
    return sorted(((max(size), min(size)) for size in sizes), key=lambda size: -size[0] * size[1])
