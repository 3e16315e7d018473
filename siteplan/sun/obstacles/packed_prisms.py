"""How do prisms lie in memory, ready for the compiled loops?

Flat arrays: corners of convex pieces for the lookup, all sides for the exact test, bodies with what they let through.
It leaves out the sky.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.sun.obstacles.convex_pieces import convex_rings
from siteplan.sun.obstacles.outline_repair import sound_prisms
from siteplan.sun.obstacles.prisms import Prism

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

ROUND = 0.03  # m; what differs less from a circle is looked up as one: no crown is known better
ROUND_SIDES = 8


class Pieces(NamedTuple):
    """Prisms, piece by piece; pieces of one body stand together.

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
    slanted, opaque : ndarray of bool, shape (pieces,)
        Whether the top is not level; whether it never lets anything through.
    body : ndarray of int, shape (pieces,)
        Which body it belongs to.
    centre_x, centre_y, radius : ndarray, shape (pieces,)
        A circle around it. [m]
    round : ndarray, shape (pieces,)
        Radius of the circle of the same area where the outline is nearly one and the top level, else 0. [m]
    """

    start: Integers
    x: Floats
    y: Floats
    bottom: Floats
    top: Floats
    plane: Floats
    slanted: Flags
    opaque: Flags
    body: Integers
    centre_x: Floats
    centre_y: Floats
    radius: Floats
    round: Floats


class Body(NamedTuple):
    """What is counted once: part of a feature, and what it lets through."""

    owner: str
    part: str
    leafy: float
    bare: float
    leaf_out: int | None
    leaf_fall: int | None

    @property
    def calendar(self) -> tuple[int, int] | None:
        """First and last day in leaf, or None where it makes no difference."""
        if self.leaf_out is None or self.leaf_fall is None or self.leafy == self.bare:
            return None
        return self.leaf_out, self.leaf_fall


def body_of(prism: Prism) -> Body:
    """Return the body that a prism belongs to."""
    return Body(
        prism.owner,
        prism.part,
        prism.transmittance_leafy,
        prism.transmittance_bare,
        prism.leaf_out,
        prism.leaf_fall,
    )


def lets_through(bodies: Sequence[Body], day: int) -> Floats:
    """Return the share of direct sun that each body lets through on a day of the year, shape (bodies,).

    Examples
    --------
    >>> oak, wall = Body("oak", "crown", 0.2, 0.6, 120, 300), Body("wall", "body", 0.0, 0.0, None, None)
    >>> lets_through([oak, wall], 119), lets_through([oak, wall], 120)
    (array([0.6, 0. ]), array([0.2, 0. ]))
    """
    leafy = {calendar: in_leaf(calendar, day) for calendar in {body.calendar for body in bodies}}
    return np.array([body.leafy if leafy[body.calendar] else body.bare for body in bodies], dtype=np.float64)


def in_leaf(calendar: tuple[int, int] | None, day: int) -> bool:
    """Return whether a day lies in a leaf calendar; always where there is none."""
    if calendar is None:
        return True
    out, fall = calendar
    return out <= day <= fall if out <= fall else day >= out or day <= fall


def calendars_of(bodies: Sequence[Body]) -> tuple[tuple[int, int], ...]:
    """Return the leaf calendars of bodies, each once."""
    return tuple(sorted({body.calendar for body in bodies if body.calendar is not None}))


def pack(prisms: Sequence[Prism]) -> tuple[Pieces, tuple[Body, ...]]:
    """Return prisms as flat arrays of convex pieces, and their bodies; unsound outlines are mended first."""
    prisms = sound_prisms(prisms)
    order: dict[Body, int] = {}
    numbers = [order.setdefault(body_of(prism), len(order)) for prism in prisms]
    rings: list[Floats] = []
    whose: list[Prism] = []
    body: list[int] = []
    for number in np.argsort(numbers, kind="stable"):
        prism = prisms[number]
        for ring in convex_rings(prism.outline):
            rings.append(ring)
            whose.append(prism)
            body.append(numbers[number])
    corners = np.concatenate([*rings, np.empty((0, 2))])
    sizes = np.array([len(ring) for ring in rings], dtype=np.int64)
    start = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    circles = np.array([_circle(ring) for ring in rings]).reshape(-1, 3)
    centre = circles[:, :2]
    away = np.hypot(*(corners - np.repeat(centre, sizes, axis=0)).T)
    plane = [prism.top_plane or (0.0, 0.0, prism.top) for prism in whose]
    pieces = Pieces(
        start=start,
        x=np.ascontiguousarray(corners[:, 0]),
        y=np.ascontiguousarray(corners[:, 1]),
        bottom=np.array([prism.bottom for prism in whose], dtype=np.float64),
        top=np.array([prism.top for prism in whose], dtype=np.float64),
        plane=np.array(plane, dtype=np.float64).reshape(-1, 3),
        slanted=np.array([prism.top_plane is not None for prism in whose], dtype=np.bool_),
        opaque=np.array([_never_lets_through(body_of(prism)) for prism in whose], dtype=np.bool_),
        body=np.array(body, dtype=np.int64),
        centre_x=np.ascontiguousarray(centre[:, 0]),
        centre_y=np.ascontiguousarray(centre[:, 1]),
        radius=np.maximum.reduceat(away, start[:-1]) if rings else np.empty(0),
        round=np.array([0.0 if p.top_plane else r for p, r in zip(whose, circles[:, 2], strict=True)]),
    )
    return pieces, tuple(order)


def _circle(ring: Floats) -> tuple[float, float, float]:
    """Return the middle of a convex ring, and the radius of its circle; 0 where it is not nearly round. [m]

    Examples
    --------
    >>> from shapely import Point
    >>> disc = Point(3.0, 4.0).buffer(2.0)
    >>> [round(float(value), 2) for value in _circle(shapely.get_coordinates(disc)[-1:0:-1])]
    [3.0, 4.0, 2.0]
    >>> _circle(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [0.0, 1.0]]))[2]
    0.0
    """
    x, y = (ring.min(axis=0) + ring.max(axis=0)) / 2
    if len(ring) < ROUND_SIDES:
        return float(x), float(y), 0.0
    follow = np.roll(ring, -1, axis=0)
    cross = ring[:, 0] * follow[:, 1] - follow[:, 0] * ring[:, 1]
    area = cross.sum() / 2
    x, y = ((ring + follow) * cross[:, None]).sum(axis=0) / (6 * area)
    radius = np.sqrt(area / np.pi)
    reach = np.hypot(*(np.concatenate([ring, (ring + follow) / 2]) - [x, y]).T)
    return float(x), float(y), float(radius) if np.abs(reach - radius).max() <= ROUND else 0.0


def _never_lets_through(body: Body) -> bool:
    return body.leafy == 0 and (body.calendar is None or body.bare == 0)


def joined(
    one: tuple[Pieces, tuple[Body, ...]], other: tuple[Pieces, tuple[Body, ...]]
) -> tuple[Pieces, tuple[Body, ...]]:
    """Return the pieces and bodies of two packs as one."""
    (first, bodies), (second, more) = one, other
    fields = {name: np.concatenate([getattr(first, name), getattr(second, name)]) for name in Pieces._fields}
    fields["start"] = np.concatenate([first.start, second.start[1:] + first.start[-1]])
    fields["body"] = np.concatenate([first.body, second.body + len(bodies)])
    return Pieces(**fields), bodies + more


class Solids(NamedTuple):
    """Prisms with all their sides, holes included, for the exact test.

    Attributes
    ----------
    start : ndarray of int, shape (prisms + 1,)
        Where each prism's sides begin.
    sides : ndarray, shape (sides, 4)
        x and y of both ends. [m]
    bottom, top : ndarray, shape (prisms,)
        Lowest and highest point. [m]
    plane : ndarray, shape (prisms, 3)
        East slope, north slope and constant of the top.
    body : ndarray of int, shape (prisms,)
        Ascending.
    circle : ndarray, shape (prisms, 3)
        x, y and radius of a circle around it. [m]
    """

    start: Integers
    sides: Floats
    bottom: Floats
    top: Floats
    plane: Floats
    body: Integers
    circle: Floats


def solids(prisms: Sequence[Prism]) -> tuple[Solids, tuple[Body, ...]]:
    """Return prisms as flat arrays of sides, and their bodies; unsound outlines are mended first."""
    prisms = sound_prisms(prisms)
    order: dict[Body, int] = {}
    numbers = np.array([order.setdefault(body_of(prism), len(order)) for prism in prisms], dtype=np.int64)
    placed = [prisms[number] for number in np.argsort(numbers, kind="stable")]
    sides = [_sides(prism) for prism in placed]
    circles = []
    for prism in placed:
        west, south, east, north = prism.outline.bounds
        circles.append(((west + east) / 2, (south + north) / 2, np.hypot(east - west, north - south) / 2))
    packed = Solids(
        start=np.concatenate([[0], np.cumsum([len(side) for side in sides])]).astype(np.int64),
        sides=np.concatenate([*sides, np.empty((0, 4))]),
        bottom=np.array([prism.bottom for prism in placed], dtype=np.float64),
        top=np.array([prism.top for prism in placed], dtype=np.float64),
        plane=np.array([p.top_plane or (0.0, 0.0, p.top) for p in placed], dtype=np.float64).reshape(-1, 3),
        body=np.sort(numbers),
        circle=np.array(circles, dtype=np.float64).reshape(-1, 3),
    )
    return packed, tuple(order)


def _sides(prism: Prism) -> Floats:
    rings = [prism.outline.exterior, *prism.outline.interiors]
    corners = [shapely.get_coordinates(ring) for ring in rings]
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in corners])
