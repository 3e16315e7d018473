"""How high is the horizon that opaque obstacles on the ground make around a point?

First the direction from the point to each corner is computed. Then each side that faces the point is drawn into the
bins of azimuth. The slope to a side's upper edge is linear in the unit vector of the direction, so that a bin costs
two multiplications and an addition. Obstacles that float or let light through are in `intervals` and `leaves`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

TOUCH = 1e-6  # m; heights above a point that are smaller than this count as 0
TINY = np.float32(1e-30)


class Walls(NamedTuple):
    """Opaque pieces that stand on the ground, ring by ring.

    Attributes
    ----------
    start : ndarray of int, shape (walls + 1,)
        Where each ring begins; the first corner is repeated at the ring's end.
    x, y, top : ndarray, shape (corners,)
        Corners, counterclockwise, and the height of the top there. [m]
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


class Corners(NamedTuple):
    """The walls' corners as seen from a point; work arrays that are overwritten for each point.

    Attributes
    ----------
    east, north, rise : ndarray of float32, shape (corners,)
        From the point to each corner. [m]
    turn : ndarray of float32, shape (corners,)
        Twice the signed area of the triangle of the point and the side that begins at the corner: below 0 if rays
        from the point enter the wall by this side. [m2]
    to_east, to_north : ndarray of float32, shape (corners,)
        Their scalar product with a direction is the slope to the side's upper edge in that direction.
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


def walls_of(pieces: Pieces, chosen: Integers) -> Walls:
    """Return the chosen pieces as walls."""
    begin, sides = pieces.start[chosen], pieces.start[chosen + 1] - pieces.start[chosen]
    ends = np.cumsum(sides + 1)
    start = np.append(np.zeros(1, np.int64), ends)
    wall = np.repeat(np.arange(len(chosen)), sides + 1)
    place_in_ring = np.arange(start[-1]) - start[wall]
    corner = begin[wall] + place_in_ring % sides[wall]
    x, y, plane = pieces.x[corner], pieces.y[corner], pieces.plane[chosen]
    top = plane[:, 0][wall] * x + plane[:, 1][wall] * y + plane[:, 2][wall]
    return Walls(start, x, y, top, plane, pieces.slanted[chosen])


def corner_arrays(count: int) -> Corners:
    """Return work arrays for `count` corners."""
    return Corners(
        np.zeros(count, np.float32), np.zeros(count, np.float32), np.zeros(count, np.float32),
        np.zeros(count, np.float32), np.zeros(count, np.float32), np.zeros(count, np.float32),
        np.zeros(count, np.int32),
    )  # fmt: skip


@compiled_fused
def raise_horizon(
    point: Floats, walls: Walls, first: float, east: Singles, north: Singles, corners: Corners, horizon: Singles
) -> bool:
    """Raise a point's horizon to the tops of all walls; return whether the point lies inside one of them.

    Parameters
    ----------
    point : ndarray, shape (3,)
        [m]
    first : float
        Azimuth at which bin 0 begins. [degrees]
    east, north : ndarray of float32, shape (bins,)
        Components of the direction to each bin's middle.
    corners : Corners
        Work arrays.
    horizon : ndarray of float32, shape (bins,)
        Slope (rise over run) below which the sky is hidden; raised in place.
    """
    _see_corners(point, walls, np.float32(first * (AROUND / 360.0)), corners)
    for wall in range(len(walls.slanted)):
        slanted, inside = walls.slanted[wall], True
        for k in range(walls.start[wall], walls.start[wall + 1] - 1):
            turn = corners.turn[k]
            inside = inside and turn >= 0
            if (turn < 0 or (slanted and turn > 0)) and max(corners.rise[k], corners.rise[k + 1]) > TOUCH:
                begin, end = corners.first[k], corners.first[k + 1]
                if turn > 0:
                    begin, end = end, begin
                _draw_side(horizon, east, north, corners.to_east[k], corners.to_north[k], begin, end)
        if inside:
            plane = walls.plane
            if plane[wall, 0] * point[0] + plane[wall, 1] * point[1] + plane[wall, 2] - point[2] > TOUCH:
                return True
    return False


@inlined
def _see_corners(point: Floats, walls: Walls, first: np.float32, corners: Corners) -> None:
    """Set the corners' positions as seen from a point, and the slope of each side.

    With a and b the ends of a side relative to the point, and p and q the heights there, the slope in a direction d
    is (p (d x b) + q (a x d)) / (a x b). There is one loop for each quantity, so that the processor takes eight
    corners at once.
    """
    count = len(walls.x)
    for k in range(count):
        corners.east[k] = walls.x[k] - point[0]
    for k in range(count):
        corners.north[k] = walls.y[k] - point[1]
    for k in range(count):
        corners.rise[k] = walls.top[k] - point[2]
    for k in range(count):
        corners.first[k] = np.int32(bearing(corners.east[k], corners.north[k], first) + np.float32(0.5))
    for k in range(count - 1):
        corners.turn[k] = corners.east[k] * corners.north[k + 1] - corners.north[k] * corners.east[k + 1]
    for k in range(count - 1):
        rise = corners.rise[k] * corners.north[k + 1] - corners.rise[k + 1] * corners.north[k]
        corners.to_east[k] = rise / corners.turn[k]
    for k in range(count - 1):
        rise = corners.rise[k + 1] * corners.east[k] - corners.rise[k] * corners.east[k + 1]
        corners.to_north[k] = rise / corners.turn[k]


@compiled_fused
def bearing(east: np.float32, north: np.float32, first: np.float32) -> np.float32:
    """Return the azimuth of a direction as a number of bins clockwise from `first`, 0 to AROUND.

    Arc tangent by a polynomial, to 0.0002 bins: C. Hastings, Approximations for digital computers, 1955 (memory).
    Single precision without branches, so that the processor takes eight corners at once.
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
    """Return how many bins lie clockwise from one corner to the next; 0 if rounding has swapped the two corners."""
    bins = end - begin
    if bins < 0:
        bins += AROUND
    return bins if bins <= AROUND // 2 + 1 else 0


@compiled_fused
def _draw_side(
    slopes: Singles, east: Singles, north: Singles, to_east: np.float32, to_north: np.float32, begin: int, end: int
) -> None:
    """Raise the slopes to a side's upper edge, clockwise from bin `begin` to before bin `end`."""
    end = begin + span(begin, end)
    for part in range(2):  # a side that runs past bin 0 is drawn in two parts
        for b in range(max(begin - part * AROUND, 0), min(end - part * AROUND, len(slopes))):
            slopes[b] = max(slopes[b], to_east * east[b] + to_north * north[b])
