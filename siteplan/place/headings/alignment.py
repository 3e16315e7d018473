"""Which way do things lie around here?

The edges of buildings, fences, hedges and the boundary, since people set a bed square to what stands near.
It leaves out beds: they may move.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site

Floats = NDArray[np.float64]

#: m; shorter edges are notches, or pieces of a curve
SHORTEST = 1.5


@dataclass(frozen=True, eq=False)
class Edges:
    """The straight edges on and around a property.

    Attributes
    ----------
    owner : tuple of str
        What each belongs to, as ``fence x``; ``the boundary``.
    lines : ndarray of LineString, shape (n,)
    heading : ndarray, shape (n,)
        0 to 180. [degrees]
    length : ndarray, shape (n,)
        [m]
    """

    owner: tuple[str, ...]
    lines: NDArray[np.object_]
    heading: Floats
    length: Floats

    def nearest(self, x: float, y: float) -> int | None:
        """Return which edge is nearest to a point; None where there are no edges.

        Of two equally near ones, the first.
        """
        if not len(self.lines):
            return None
        return int(np.argmin(np.round(shapely.distance(self.lines, shapely.Point(x, y)), 6)))


def edges(site: Site) -> Edges:
    """Return the edges that a bed may be set square to, those near the property alone."""
    near = site.boundary.buffer(5.0)
    things: list[tuple[str, BaseGeometry]] = [("the boundary", site.boundary)]
    things += [(f"building {one.id}", one.outline) for one in site.buildings]
    things += [(f"fence {one.id}", one.line) for one in site.fences]
    things += [(f"hedge {one.id}", one.outline) for one in site.hedges]
    owners: list[str] = []
    pieces: list[NDArray[np.float64]] = []
    for owner, shape in things:
        if not shape.intersects(near):
            continue
        for part in shapely.get_parts(shapely.simplify(shape, 0.05)):
            line = part.exterior if part.geom_type == "Polygon" else part
            corners = shapely.get_coordinates(line)
            pairs = np.stack([corners[:-1], corners[1:]], axis=1)
            owners += [owner] * len(pairs)
            pieces.append(pairs)
    ends = np.concatenate(pieces)
    run = ends[:, 1] - ends[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    heading = np.round(np.degrees(np.arctan2(run[:, 0], run[:, 1])) % 180, 2) % 180
    long = np.flatnonzero(length >= SHORTEST)
    return Edges(
        owner=tuple(owners[k] for k in long),
        lines=np.asarray(shapely.linestrings(ends[long])),
        heading=heading[long],
        length=length[long],
    )


def headings_to_try(found: Edges, *, step: float = 5.0, most: int = 12) -> Floats:
    """Return the headings that are worth a look: every `step` degrees, and along and across the longest edges.

    Parameters
    ----------
    found : Edges
    step : float
        [degrees]
    most : int
        How many edges' directions to add, at the most.

    Returns
    -------
    ndarray, shape (k,)
        Rising, 0 <= heading < 180. [degrees]

    Examples
    --------
    >>> wall = Edges(("fence x",), shapely.linestrings([[[0.0, 0], [3, 4]]]), np.array([36.87]), np.array([5.0]))
    >>> tried = headings_to_try(wall, step=45)
    >>> tried.tolist()
    [0.0, 36.87, 45.0, 90.0, 126.87, 135.0]
    """
    headings = [float(value) for value in np.arange(0, 180, step)]
    square = found.heading % 90
    weight: dict[float, float] = {}
    for direction, length in zip(square, found.length, strict=True):
        near = next((one for one in weight if turn_between(one, float(direction), period=90) < 0.5), None)
        key = float(direction) if near is None else near
        weight[key] = weight.get(key, 0.0) + float(length)
    for direction in sorted(weight, key=lambda one: (-weight[one], one))[:most]:
        for heading in (direction, direction + 90):
            if min(turn_between(heading, one) for one in headings) > 0.1:
                headings.append(round(heading, 6))
    return np.array(sorted(headings))


def turn_between(one: float, other: float, *, period: float = 180.0) -> float:
    """Return the smaller turn between two directions of an axis. [degrees]

    Examples
    --------
    >>> turn_between(175, 5), turn_between(40, 60)
    (10.0, 20.0)
    """
    turn = abs(one - other) % period
    return float(min(turn, period - turn))
