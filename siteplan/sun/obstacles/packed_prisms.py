"""How are prisms laid out in memory for the compiled loops?

As flat arrays of convex pieces, each with a circle around it; pieces of one body follow each other. Transmittances
are in `bodies`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.obstacles.bodies import Body, body_of
from siteplan.sun.obstacles.convex_pieces import convex_rings
from siteplan.sun.obstacles.outline_repair import sound_prisms
from siteplan.sun.obstacles.prisms import Prism

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

ROUND = 0.03  # m; an outline that differs less than this from a circle is treated as one: no crown is known better
ROUND_SIDES = 8  # least number of sides of an outline that is treated as a circle


class Pieces(NamedTuple):
    """Convex pieces of prisms, as flat arrays; pieces of one body follow each other.

    Attributes
    ----------
    start : ndarray of int, shape (pieces + 1,)
        Where each piece's corners begin.
    x, y : ndarray, shape (corners,)
        Counterclockwise. [m]
    bottom, top : ndarray, shape (pieces,)
        Lowest and highest point. [m]
    plane : ndarray, shape (pieces, 3)
        East slope, north slope and constant of the top.
    slanted, opaque, leaves : ndarray of bool, shape (pieces,)
        Whether the top is not level; whether no light ever gets through; whether it is leaves (see `Body.is_leaves`).
    body : ndarray of int, shape (pieces,)
        Number of the body that it belongs to.
    centre_x, centre_y, radius : ndarray, shape (pieces,)
        A circle around the piece. [m]
    round : ndarray, shape (pieces,)
        For a piece that is nearly a circle and has a level top: radius of the circle of the same area; else 0. [m]
    """

    start: Integers
    x: Floats
    y: Floats
    bottom: Floats
    top: Floats
    plane: Floats
    slanted: Flags
    opaque: Flags
    leaves: Flags
    body: Integers
    centre_x: Floats
    centre_y: Floats
    radius: Floats
    round: Floats


Packed = tuple[Pieces, tuple[Body, ...]]


def pack(prisms: Sequence[Prism]) -> Packed:
    """Return prisms as flat arrays of convex pieces, and their bodies; invalid outlines are repaired first."""
    prisms = sound_prisms(prisms)
    order: dict[Body, int] = {}
    numbers = [order.setdefault(body_of(prism), len(order)) for prism in prisms]
    rings: list[Floats] = []
    prism_of_ring: list[Prism] = []
    body: list[int] = []
    for number in np.argsort(numbers, kind="stable"):
        prism = prisms[number]
        for ring in convex_rings(prism.outline):
            rings.append(ring)
            prism_of_ring.append(prism)
            body.append(numbers[number])
    return _pieces(rings, prism_of_ring, body), tuple(order)


def _pieces(rings: Sequence[Floats], prism_of_ring: Sequence[Prism], body: Sequence[int]) -> Pieces:
    """Return convex rings as flat arrays, with the heights of the prism and the number of the body of each."""
    corners = np.concatenate([*rings, np.empty((0, 2))])
    sizes = np.array([len(ring) for ring in rings], dtype=np.int64)
    start = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    circles = np.array([_circle(ring) for ring in rings]).reshape(-1, 3)
    centre = circles[:, :2]
    distance = np.hypot(*(corners - np.repeat(centre, sizes, axis=0)).T)  # of each corner from its ring's centre
    plane = [prism.top_plane or (0.0, 0.0, prism.top) for prism in prism_of_ring]
    slanted = np.array([prism.top_plane is not None for prism in prism_of_ring], dtype=np.bool_)
    return Pieces(
        start=start,
        x=np.ascontiguousarray(corners[:, 0]),
        y=np.ascontiguousarray(corners[:, 1]),
        bottom=np.array([prism.bottom for prism in prism_of_ring], dtype=np.float64),
        top=np.array([prism.top for prism in prism_of_ring], dtype=np.float64),
        plane=np.array(plane, dtype=np.float64).reshape(-1, 3),
        slanted=slanted,
        opaque=np.array([body_of(prism).always_opaque for prism in prism_of_ring], dtype=np.bool_),
        leaves=np.array([body_of(prism).is_leaves for prism in prism_of_ring], dtype=np.bool_),
        body=np.array(body, dtype=np.int64),
        centre_x=np.ascontiguousarray(centre[:, 0]),
        centre_y=np.ascontiguousarray(centre[:, 1]),
        radius=np.maximum.reduceat(distance, start[:-1]) if rings else np.empty(0),
        round=np.where(slanted, 0.0, circles[:, 2]),
    )


def _circle(ring: Floats) -> tuple[float, float, float]:
    """Return the centre of a convex ring and the radius of the circle of its area, 0 if it is not nearly round. [m]

    Examples
    --------
    >>> from shapely import Point, get_coordinates
    >>> disc = Point(3.0, 4.0).buffer(2.0)
    >>> [round(float(value), 2) for value in _circle(get_coordinates(disc)[-1:0:-1])]
    [3.0, 4.0, 2.0]
    >>> _circle(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]))[2]
    0.0
    """
    x, y = (ring.min(axis=0) + ring.max(axis=0)) / 2
    if len(ring) < ROUND_SIDES:
        return float(x), float(y), 0.0
    next_corner = np.roll(ring, -1, axis=0)
    cross = ring[:, 0] * next_corner[:, 1] - next_corner[:, 0] * ring[:, 1]
    area = cross.sum() / 2
    x, y = ((ring + next_corner) * cross[:, None]).sum(axis=0) / (6 * area)
    radius = np.sqrt(area / np.pi)
    distance = np.hypot(*(np.concatenate([ring, (ring + next_corner) / 2]) - [x, y]).T)
    return float(x), float(y), float(radius) if np.abs(distance - radius).max() <= ROUND else 0.0


def select_bodies(packed: Packed, body_numbers: Integers) -> Packed:
    """Return some bodies with their pieces, as `pack` would return them; their numbers must be ascending."""
    pieces, bodies = packed
    sizes, is_chosen = np.diff(pieces.start), np.isin(pieces.body, body_numbers)
    of_chosen = np.repeat(is_chosen, sizes)
    fields = {name: getattr(pieces, name)[is_chosen] for name in Pieces._fields if name not in {"start", "x", "y"}}
    fields["body"] = np.searchsorted(body_numbers, fields["body"])
    fields |= {"x": pieces.x[of_chosen], "y": pieces.y[of_chosen]}
    fields["start"] = np.concatenate([[0], np.cumsum(sizes[is_chosen])])
    return Pieces(**fields), tuple(bodies[number] for number in body_numbers.tolist())


def join_packed(packs: Sequence[Packed]) -> Packed:
    """Return several packs joined into one, in their order; there must be at least one."""
    if len(packs) == 1:
        return packs[0]
    first_corners = np.cumsum([0, *(len(pieces.x) for pieces, _ in packs)])
    first_bodies = np.cumsum([0, *(len(bodies) for _, bodies in packs)])
    fields = {name: np.concatenate([getattr(pieces, name) for pieces, _ in packs]) for name in Pieces._fields}
    starts = [pieces.start[:-1] + first for (pieces, _), first in zip(packs, first_corners[:-1], strict=True)]
    numbers = [pieces.body + first for (pieces, _), first in zip(packs, first_bodies[:-1], strict=True)]
    fields["start"] = np.concatenate([*starts, first_corners[-1:]])
    fields["body"] = np.concatenate(numbers)
    return Pieces(**fields), tuple(body for _, bodies in packs for body in bodies)
