"""Which outlines are unsound, and how are they mended?

All outlines are checked at once. The few that repeat a corner, cross themselves or have hardly any area are mended.
It leaves out what a mended outline was meant to be: what is narrower than a micrometre is dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.land.outline import SAME_POINT, SPECK, solid_parts
from siteplan.sun.obstacles.convex_pieces import CONVEX
from siteplan.sun.obstacles.prisms import Prism


def sound_prisms(prisms: Sequence[Prism]) -> list[Prism]:
    """Return prisms whose outlines are valid, with corners apart; specks and what is as thin as paint are left out.

    Examples
    --------
    >>> from shapely import Polygon, box
    >>> doubled = Polygon([(0, 0), (0, 0), (2, 0), (2, 1), (0, 1)])
    >>> outlines = [box(0, 0, 2, 1), doubled, box(0, 0, 1e-9, 1e-9)]
    >>> found = sound_prisms([Prism(outline=outline, bottom=0, top=1, owner="a") for outline in outlines])
    >>> [len(prism.outline.exterior.coords) for prism in found]
    [5, 5]
    """
    outlines = np.array([prism.outline for prism in prisms], dtype=object)
    doubtful = _doubtful(outlines)
    if not doubtful.any():
        return list(prisms)
    found: list[Prism] = []
    for prism, mend in zip(prisms, doubtful, strict=True):
        if not mend:
            found.append(prism)
            continue
        with np.errstate(all="ignore"):  # corners 1e-200 m apart set the flags of the processor, and are joined
            snapped = shapely.set_precision(shapely.make_valid(prism.outline), SAME_POINT)
        found += [replace(prism, outline=part) for part in solid_parts(snapped)]
    return found


def _doubtful(outlines: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Return which outlines must be mended."""
    area, around = shapely.area(outlines), shapely.length(outlines)
    doubtful = ~shapely.is_valid(outlines) | (area < np.maximum(SPECK, around * SAME_POINT))
    corners, whose = shapely.get_coordinates(outlines, return_index=True)
    step = np.abs(np.diff(corners, axis=0)).max(axis=1, initial=0.0)
    doubtful[whose[1:][(step < SAME_POINT) & (whose[1:] == whose[:-1])]] = True
    # a convex outline as wide as its corners are apart is sound; of any other, corners may lie near any side
    hull = shapely.convex_hull(outlines)
    convex = (area >= shapely.area(hull) * (1 - CONVEX)) & (around <= shapely.length(hull) * (1 + CONVEX))
    bent = np.flatnonzero(~doubtful & ~convex)
    if len(bent):
        doubtful[bent] = shapely.minimum_clearance(outlines[bent]) < SAME_POINT
    return np.asarray(doubtful)
