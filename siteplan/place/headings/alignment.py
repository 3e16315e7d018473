"""Which way do the straight edges on a property run?

The edges of buildings, fences, hedges and the boundary: people like a bed to be square to them. Edges of beds do not
count, since beds may move.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.land.site import Site

Floats = NDArray[np.float64]
#: kind and id of the feature that an edge belongs to
Owner = tuple[str, str]

#: m; shorter edges are ignored: they are notches or pieces of a curve
SHORTEST = 1.5
#: largest distance of an edge that counts as near [m], and largest turn from it at which a bed counts as square
#: [degrees]
NEAR, SQUARE = 8.0, 0.6


@dataclass(frozen=True, eq=False)
class Edges:
    """The straight edges on and around a property.

    Attributes
    ----------
    owner : tuple of (str, str)
        Kind and id of the feature of each edge, as ``("fence", "x")``; the id of the boundary is empty.
    lines : ndarray of LineString, shape (n,)
        The edges. [m]
    heading : ndarray, shape (n,)
        Direction of each edge, 0 to 180. [degrees]
    length : ndarray, shape (n,)
        [m]
    """

    owner: tuple[Owner, ...]
    lines: NDArray[np.object_]
    heading: Floats
    length: Floats

    def nearest(self, x: float, y: float, *, within: float) -> int | None:
        """Return the number of the edge nearest to a point, of equally near ones the first; None if none is near.

        Parameters
        ----------
        x, y : float
            The point. [m]
        within : float
            Largest distance of an edge. [m]
        """
        distances = np.asarray(shapely.distance(self.lines, shapely.Point(x, y)))
        if not len(distances) or distances.min() > within:
            return None
        return int(np.argmin(np.round(distances, 6)))


def edges(site: Site) -> Edges:
    """Return the edges on and near a property that a bed may be square to."""
    near = site.boundary.buffer(5.0)
    features: list[tuple[Owner, BaseGeometry]] = [(("boundary", ""), site.boundary)]
    features += [(("building", feature.id), feature.outline) for feature in site.buildings]
    features += [(("fence", feature.id), feature.line) for feature in site.fences]
    features += [(("hedge", feature.id), feature.outline) for feature in site.hedges]
    owners: list[Owner] = []
    pieces: list[NDArray[np.float64]] = []
    for owner, shape in features:
        if not shape.intersects(near):
            continue
        for part in shapely.get_parts(shapely.simplify(shape, 0.05)):
            line = part.exterior if part.geom_type == "Polygon" else part
            corners = shapely.get_coordinates(line)
            pairs = np.stack([corners[:-1], corners[1:]], axis=1)
            owners += [owner] * len(pairs)
            pieces.append(pairs)
    ends = np.concatenate(pieces)
    direction = ends[:, 1] - ends[:, 0]
    length = np.hypot(direction[:, 0], direction[:, 1])
    heading = np.round(np.degrees(np.arctan2(direction[:, 0], direction[:, 1])) % 180, 2) % 180
    long_edges = np.flatnonzero(length >= SHORTEST)
    return Edges(
        owner=tuple(owners[k] for k in long_edges),
        lines=np.asarray(shapely.linestrings(ends[long_edges])),
        heading=heading[long_edges],
        length=length[long_edges],
    )


def headings_to_try(edges: Edges, *, step: float = 5.0, most: int = 12) -> Floats:
    """Return the headings to try: every `step` degrees, and along and across the longest edges.

    Parameters
    ----------
    edges : Edges
    step : float
        [degrees]
    most : int
        Most directions of edges to add.

    Returns
    -------
    ndarray, shape (k,)
        Ascending, 0 <= heading < 180. [degrees]

    Examples
    --------
    >>> wall = Edges((("fence", "x"),), shapely.linestrings([[[0.0, 0], [3, 4]]]), np.array([36.87]), np.array([5.0]))
    >>> tried = headings_to_try(wall, step=45)
    >>> tried.tolist()
    [0.0, 36.87, 45.0, 90.0, 126.87, 135.0]
    """
    headings = [float(value) for value in np.arange(0, 180, step)]
    square = edges.heading % 90
    weight: dict[float, float] = {}
    for direction, length in zip(square.tolist(), edges.length.tolist(), strict=True):
        near = (other for other in weight if turn_between(other, direction, period=90) < 0.5)
        key = next(near, direction)
        weight[key] = weight.get(key, 0.0) + length
    for direction in sorted(weight, key=lambda key: (-weight[key], key))[:most]:
        for heading in (direction, direction + 90):
            if min(turn_between(heading, other) for other in headings) > 0.1:
                headings.append(round(heading, 6))
    return np.array(sorted(headings))


def square_to(edges: Edges, x: float, y: float, heading: float) -> Owner | None:
    """Return the owner of the nearest edge if it is near and a bed is square to it; else None.

    Parameters
    ----------
    edges : Edges
    x, y : float
        Middle of the bed. [m]
    heading : float
        Of its long side. [degrees]

    Examples
    --------
    >>> wall = Edges((("fence", "x"),), shapely.linestrings([[[0.0, 0], [0, 9]]]), np.array([0.0]), np.array([9.0]))
    >>> square_to(wall, 2, 4, 90), square_to(wall, 2, 4, 45), square_to(wall, 20, 4, 90)
    (('fence', 'x'), None, None)
    """
    nearest = edges.nearest(x, y, within=NEAR)
    if nearest is None:
        return None
    is_square = turn_between(float(edges.heading[nearest]), heading, period=90.0) <= SQUARE
    return edges.owner[nearest] if is_square else None


def turn_between(first: float, second: float, *, period: float = 180.0) -> float:
    """Return the smaller angle between two directions that repeat after `period`. [degrees]

    Examples
    --------
    >>> turn_between(175, 5), turn_between(40, 60)
    (10.0, 20.0)
    """
    turn = abs(first - second) % period
    return float(min(turn, period - turn))
