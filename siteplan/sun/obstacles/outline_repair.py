"""Which outlines are invalid, and how are they repaired?

All outlines are checked at once. The few that repeat a corner, cross themselves or have hardly any area are repaired.
Parts narrower than a micrometre are dropped.
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
    """Return prisms with valid outlines whose corners lie apart; parts without noticeable area are dropped.

    Examples
    --------
    >>> from shapely import Polygon, box
    >>> doubled = Polygon([(0, 0), (0, 0), (2, 0), (2, 1), (0, 1)])
    >>> outlines = [box(0, 0, 2, 1), doubled, box(0, 0, 1e-9, 1e-9)]
    >>> sound = sound_prisms([Prism(outline=outline, bottom=0, top=1, owner="a") for outline in outlines])
    >>> [len(prism.outline.exterior.coords) for prism in sound]
    [5, 5]
    """
    outlines = np.array([prism.outline for prism in prisms], dtype=object)
    unsound = _unsound(outlines)
    if not unsound.any():
        return list(prisms)
    sound: list[Prism] = []
    for prism, to_repair in zip(prisms, unsound, strict=True):
        if not to_repair:
            sound.append(prism)
            continue
        with np.errstate(all="ignore"):  # corners 1e-200 m apart raise floating-point flags here; they are merged
            snapped = shapely.set_precision(shapely.make_valid(prism.outline), SAME_POINT)
        sound += [replace(prism, outline=part) for part in solid_parts(snapped)]
    return sound


def _unsound(outlines: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Return which outlines must be repaired, shape (n,)."""
    area, perimeter = shapely.area(outlines), shapely.length(outlines)
    unsound = ~shapely.is_valid(outlines) | (area < np.maximum(SPECK, perimeter * SAME_POINT))
    corners, outline_of = shapely.get_coordinates(outlines, return_index=True)
    step = np.abs(np.diff(corners, axis=0)).max(axis=1, initial=0.0)
    unsound[outline_of[1:][(step < SAME_POINT) & (outline_of[1:] == outline_of[:-1])]] = True
    # a convex outline whose corners lie apart is sound; a corner of any other outline may lie on one of its sides
    hull = shapely.convex_hull(outlines)
    convex = (area >= shapely.area(hull) * (1 - CONVEX)) & (perimeter <= shapely.length(hull) * (1 + CONVEX))
    not_convex = np.flatnonzero(~unsound & ~convex)
    if len(not_convex):
        unsound[not_convex] = shapely.minimum_clearance(outlines[not_convex]) < SAME_POINT
    return np.asarray(unsound)
