"""How high do the pieces that reach down to the ground stand around a point?

All corners are laid around the point at once, then each side that faces it is drawn: over its directions the slope to
its edge is linear in the direction. It leaves out what floats or lets light through.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

TOUCH = 1e-6  # m; what rises less than this above a point, or hangs less above it, does not
TINY = np.float32(1e-30)


class Walls(NamedTuple):
    """Pieces that hide all from their top downwards, ring by ring.

    Attributes
    ----------
    start : ndarray of int, shape (walls + 1,)
        Where each ring begins; its first corner stands at its end again.
    x, y, top : ndarray, shape (corners,)
        Of the corners, counterclockwise. [m]
    plane : ndarray, shape (walls, 3)
        East slope, north slope and constant of the top.
    slanted : ndarray of bool, shape (walls,)
        Whether the top is not level.
    """

    start: Integers
    x: Floats
    y: Floats
    top: Floats
    plane: Floats
    slanted: Flags


class Around(NamedTuple):
    """Room for walls as seen from a point.

    Attributes
    ----------
    east, north, rise : ndarray of float32, shape (corners,)
        From the point to each corner. [m]
    turn : ndarray of float32, shape (corners,)
        Twice the area between the point and the side that begins there: below 0 where rays enter by it. [m2]
    to_east, to_north : ndarray of float32, shape (corners,)
        The slope towards a direction is its product with these.
    first : ndarray of int32, shape (corners,)
        First bin whose middle lies clockwise of each corner.
    """

    east: Singles
    north: Singles
    rise: Singles
    turn: Singles
    to_east: Singles
    to_north: Singles
    first: NDArray[np.int32]


@compiled_fused
def walls_of(pieces: Pieces, chosen: Integers) -> Walls:
    """Return the chosen pieces as walls."""
    count = len(chosen)
    start = np.zeros(count + 1, np.int64)
    for n in range(count):
        start[n + 1] = start[n] + pieces.start[chosen[n] + 1] - pieces.start[chosen[n]] + 1
    x, y, top = np.empty(start[-1]), np.empty(start[-1]), np.empty(start[-1])
    plane, slanted = np.empty((count, 3)), np.empty(count, np.bool_)
    for n in range(count):
        piece = chosen[n]
        begin, sides = pieces.start[piece], pieces.start[piece + 1] - pieces.start[piece]
        for part in range(3):
            plane[n, part] = pieces.plane[piece, part]
        slanted[n] = pieces.slanted[piece]
        for k in range(sides + 1):
            corner = begin + k % sides
            x[start[n] + k], y[start[n] + k] = pieces.x[corner], pieces.y[corner]
            top[start[n] + k] = plane[n, 0] * pieces.x[corner] + plane[n, 1] * pieces.y[corner] + plane[n, 2]
    return Walls(start, x, y, top, plane, slanted)


@compiled_fused
def room_around(count: int) -> Around:
    """Return room for so many corners."""
    return Around(
        np.zeros(count, np.float32), np.zeros(count, np.float32), np.zeros(count, np.float32),
        np.zeros(count, np.float32), np.zeros(count, np.float32), np.zeros(count, np.float32),
        np.zeros(count, np.int32),
    )  # fmt: skip


@compiled_fused
def draw_walls(
    point: Floats, walls: Walls, first: float, east: Singles, north: Singles, around: Around, horizon: Singles
) -> bool:
    """Raise the horizon over all walls; return whether the point lies inside one.

    Parameters
    ----------
    point : ndarray, shape (3,)
        [m]
    first : float
        Azimuth at which bin 0 begins. [degrees]
    east, north : ndarray of float32, shape (bins,)
        Of the direction of each bin's middle.
    horizon : ndarray of float32, shape (bins,)
        The slope up to what hides the sky; raised in place.
    """
    _lay_around(point, walls, np.float32(first * (AROUND / 360.0)), around)
    for wall in range(len(walls.slanted)):
        slanted, inside = walls.slanted[wall], True
        for k in range(walls.start[wall], walls.start[wall + 1] - 1):
            turn = around.turn[k]
            inside = inside and turn >= 0
            if (turn < 0 or (slanted and turn > 0)) and max(around.rise[k], around.rise[k + 1]) > TOUCH:
                begin, end = around.first[k], around.first[k + 1]
                if turn > 0:
                    begin, end = end, begin
                _raise(horizon, east, north, around.to_east[k], around.to_north[k], begin, end)
        if inside:
            plane = walls.plane
            if plane[wall, 0] * point[0] + plane[wall, 1] * point[1] + plane[wall, 2] - point[2] > TOUCH:
                return True
    return False


@compiled_fused
def _lay_around(point: Floats, walls: Walls, first: np.float32, around: Around) -> None:
    """Lay all corners around a point, and find each side's slope."""
    corners = len(walls.x)
    for k in range(corners):
        around.east[k] = walls.x[k] - point[0]
    for k in range(corners):
        around.north[k] = walls.y[k] - point[1]
    for k in range(corners):
        around.rise[k] = walls.top[k] - point[2]
    for k in range(corners):
        around.first[k] = np.int32(bearing(around.east[k], around.north[k], first) + np.float32(0.5))
    for k in range(corners - 1):
        around.turn[k] = around.east[k] * around.north[k + 1] - around.north[k] * around.east[k + 1]
    for k in range(corners - 1):
        rise = around.rise[k] * around.north[k + 1] - around.rise[k + 1] * around.north[k]
        around.to_east[k] = rise / around.turn[k]
    for k in range(corners - 1):
        rise = around.rise[k + 1] * around.east[k] - around.rise[k] * around.east[k + 1]
        around.to_north[k] = rise / around.turn[k]


@compiled_fused
def bearing(east: np.float32, north: np.float32, first: np.float32) -> np.float32:
    """Return the azimuth of a direction in bins from bin `first`, at least 0 and at most AROUND.

    Arc tangent by a polynomial, to 0.0002 bins: C. Hastings, Approximations for digital computers, 1955 (memory).
    Single precision throughout and no branch, so that the processor takes eight corners at once.
    """
    across, along = abs(east), abs(north)
    longer = max(across, along)
    ratio = min(across, along) / max(longer, TINY)
    s = ratio * ratio
    angle = np.float32(0.05265332) - s * np.float32(0.01172120)
    angle = np.float32(0.19354346) + s * (np.float32(-0.11643287) + s * angle)
    angle = ratio * (np.float32(0.99997726) + s * (np.float32(-0.33262347) + s * angle))
    angle = np.float32(0.5 * np.pi) - angle if across > along else angle
    angle = np.float32(np.pi) - angle if north < 0 else angle
    angle = -angle if east < 0 else angle
    turned = angle * np.float32(AROUND / (2 * np.pi)) - first
    turned = turned + np.float32(AROUND) if turned < 0 else turned
    return turned + np.float32(AROUND) if turned < 0 else turned


@compiled_fused
def span(begin: int, end: int) -> int:
    """Return how many bins lie clockwise from one corner to the next; 0 where rounding has turned a side over."""
    bins = end - begin
    if bins < 0:
        bins += AROUND
    return bins if bins <= AROUND // 2 + 1 else 0


@compiled_fused
def _raise(
    slopes: Singles, east: Singles, north: Singles, to_east: np.float32, to_north: np.float32, begin: int, end: int
) -> None:
    """Raise the slopes from bin `begin` to before bin `end`, clockwise, to an edge.

    With a and b the ends of a side seen from the point and p, q the heights there, the slope towards a direction d is
    (p (d x b) + q (a x d)) / (a x b).
    """
    end = begin + span(begin, end)
    for part in range(2):  # of the circle, where it runs on past bin 0
        for b in range(max(begin - part * AROUND, 0), min(end - part * AROUND, len(slopes))):
            slopes[b] = max(slopes[b], to_east * east[b] + to_north * north[b])
