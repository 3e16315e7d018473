"""Could the bed lie square to what stands near, for next to nothing?

People set a bed along the nearest wall, fence or boundary; a near-tie goes to the spot that does.
It leaves out beds already there.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.place.headings.alignment import Edges, turn_between
from siteplan.place.search.candidates import Indices
from siteplan.place.search.refinement import Scored, Search, promised, spread

#: h a day; less than this is not worth a bed that stands askew
TIE = 0.05
#: m; how far the middle may move to come square, and how far away an edge still counts as near
MOVE, NEAR = 0.6, 8.0
#: degrees
SQUARE = 0.6
#: how many spots are asked
ASKED = 6


def square_to(found: Edges, x: float, y: float, heading: float) -> str | None:
    """Return what a bed lies square to: the owner of the nearest edge, where it is near and along or across the bed.

    Examples
    --------
    >>> wall = Edges(("fence x",), shapely.linestrings([[[0.0, 0], [0, 9]]]), np.array([0.0]), np.array([9.0]))
    >>> square_to(wall, 2, 4, 90), square_to(wall, 2, 4, 45), square_to(wall, 20, 4, 90)
    ('fence x', None, None)
    """
    nearest = found.nearest(x, y)
    if nearest is None or shapely.distance(found.lines[nearest], shapely.Point(x, y)) > NEAR:
        return None
    square = turn_between(float(found.heading[nearest]), heading, period=90.0) <= SQUARE
    return found.owner[nearest] if square else None


def squared(search: Search, best: Scored, found: Edges, usable: Callable[[Indices], NDArray[np.bool_]]) -> Scored:
    """Return a spot beside `best` that lies square to the nearest edge and gives up less than a tie; else `best`."""
    spots = search.spots
    x, y = float(spots.x[best.index]), float(spots.y[best.index])
    nearest = found.nearest(x, y)
    if nearest is None or square_to(found, x, y, float(spots.heading[best.index])) is not None:
        return best
    if shapely.distance(found.lines[nearest], shapely.Point(x, y)) > NEAR:
        return best
    near = np.flatnonzero(np.hypot(spots.x - x, spots.y - y) <= MOVE)
    turn = np.abs(spots.heading[near] - found.heading[nearest]) % 90
    near = near[np.minimum(turn, 90 - turn) <= SQUARE]
    near = near[usable(near)]
    near = near[search.fit(near)]
    if not len(near):
        return best
    near = near[np.argsort(-promised(search, near), kind="stable")]
    for index in spread(spots, near, ASKED, apart=0.3):
        search.ask(index)
    asked = [search.tried[index] for index in near.tolist() if index in search.tried and search.keeps_way(index)]
    winner = max(asked, key=lambda one: (one.merit, -one.index), default=best)
    return winner if winner.merit >= best.merit - TIE / spots.plenty else best
