"""What forbids the ground, and what would help if nothing fits?

For each kind of limit, the share of spots that it forbids, and that it alone forbids. If nothing fits, smaller beds
are tried. Whether a limit may be dropped is for the gardener to decide, or the law.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from siteplan.land.document import Hidden, Named
from siteplan.land.findings import Finding, finding
from siteplan.place.limits.limits import REACH, Limit
from siteplan.place.search.footprint_scan import Scan

#: kind of limit of a spot that the barrow does not reach
NO_WAY = "no way in"


@dataclass(frozen=True, kw_only=True)
class RuledOut:
    """How much one kind of limit forbids.

    Attributes
    ----------
    kind : str
        Kind of a `Limit`, or ``no way in`` for the barrow.
    largest : Limit or None
        The limit of this kind that forbids most ground; None for ``no way in``.
    features : tuple of str
        Ids of the features that cause it, the largest first.
    share : float
        Share of the property's ground that is forbidden. [0 to 1]
    spots, alone : float
        Share of all spots (cell and heading) that it forbids, and that it alone forbids: these would be free without
        it. [0 to 1]
    """

    kind: Annotated[str, Named("name")]
    largest: Hidden[Limit | None]
    features: tuple[str, ...]
    share: Annotated[float, Named("ground_share")]
    spots: Annotated[float, Named("spots_share")]
    alone: Annotated[float, Named("spots_alone_share")]


def ruled_out(
    all_limits: Sequence[Limit],
    scan: Scan,
    kinds: Sequence[str],
    inside: NDArray[np.bool_],
    reach: NDArray[np.bool_],
) -> tuple[RuledOut, ...]:
    """Return what each kind of limit forbids, the one that forbids the most spots first.

    Parameters
    ----------
    all_limits : sequence of Limit
    scan : Scan
    kinds : sequence of str
        Kind of limit of each bit in the scan.
    inside : ndarray of bool, shape (rows, columns)
        Cells of the property.
    reach : ndarray of bool, shape (rows, columns)
        Cells that the barrow reaches.
    """
    cells, scanned = max(int(inside.sum()), 1), max(scan.scanned, 1)
    results = []
    for bit, kind in enumerate(kinds):
        limits_of_kind = [limit for limit in all_limits if limit.kind == kind]
        limits_of_kind.sort(key=lambda limit: -int((limit.part[1] & inside[limit.part[0]]).sum()))
        mask = ~reach if kind == NO_WAY else _union(limits_of_kind, inside.shape)
        results.append(
            RuledOut(
                kind=kind,
                largest=limits_of_kind[0] if limits_of_kind else None,
                features=tuple(limit.feature for limit in limits_of_kind if limit.feature),
                share=float((mask & inside).sum() / cells),
                spots=float(scan.blocked[bit] / scanned),
                alone=float(scan.alone[bit] / scanned),
            )
        )
    return tuple(sorted(results, key=lambda result: (-result.spots, -result.share, result.kind)))


def _union(all_limits: Sequence[Limit], shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Return the cells that any of the limits forbids."""
    forbidden = np.zeros(shape, dtype=np.bool_)
    for limit in all_limits:
        window, cells = limit.part
        forbidden[window] |= cells
    return forbidden


def nothing_fits(
    parts: Sequence[RuledOut], *, length: float, width: float, fits: Callable[[float, float], bool]
) -> Iterator[Finding]:
    """Yield the findings if no spot is free.

    Parameters
    ----------
    parts : sequence of RuledOut
        The kind that forbids most spots first.
    length, width : float
        Of the requested bed. [m]
    fits : callable
        Takes another length and width [m]; returns whether such a bed fits anywhere.

    Yields
    ------
    Finding
        ``nothing-fits`` (the bed's size). ``most-in-the-way`` and ``next-in-the-way`` (a RuledOut each).
        ``would-open``, the single change that opens most spots (a RuledOut), or ``no-single-change``.
        ``smaller-fits`` (its size).
    """
    yield finding("nothing-fits", length=length, width=width)
    most_forbidding = [part for part in parts if part.spots > 0][:2]
    for part, code in zip(most_forbidding, ("most-in-the-way", "next-in-the-way"), strict=False):
        yield finding(code, part=part)
    most_opening = max(parts, key=lambda part: part.alone, default=None)
    if most_opening is not None:
        yield finding("would-open", part=most_opening) if most_opening.alone > 0 else finding("no-single-change")
    for smaller in _smaller(length, width):
        if fits(*smaller):
            yield finding("smaller-fits", length=smaller[0], width=smaller[1])
            return


def _smaller(length: float, width: float) -> list[tuple[float, float]]:
    """Return smaller sizes to try, the largest first; the narrow ones may stand against a wall."""
    narrow = min(width, REACH)
    sizes = {(share * length, side) for share in (1.0, 0.75, 0.5) for side in (width, narrow)}
    sizes -= {(length, width)}
    return sorted(((max(size), min(size)) for size in sizes), key=lambda size: -size[0] * size[1])
