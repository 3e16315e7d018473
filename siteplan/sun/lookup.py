"""How much of the year's sun does each point see?

A piece hides, in each direction, the rays between two slopes; over the directions of one of its sides a slope is
linear in the direction, so that drawing a side costs two products a bin. It leaves out choosing the pieces.

Scratch arrays go by these names:

ring : float64, shape (4, sides + 1)
    A piece as seen from a point: its corners' east and north, its top above the point there, and twice the area
    between the point and the side that begins there: above 0 where rays leave by it, below 0 where they enter. The
    first corner is repeated at the end. [m, m, m, m2]
first : int64, shape (sides + 1,)
    First bin whose middle lies clockwise of each corner.
slopes : float32, shape (2, bins)
    Of the ray to the piece's bottom where it leaves, and to its top where it enters.
size, veils : int64, shape (bins,), and float32, shape (bins, room, 3)
    What floats or lets some light through, by direction: how many, and low slope, high slope and body of each.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.compiled import compiled
from siteplan.sun.pieces import Pieces
from siteplan.sun.sky import AROUND, LEVELS, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

TOUCH = 1e-6  # m; what rises less than this above a point, or hangs less above it, does not
STEEP = 1e9  # the slope that stands for straight up


@compiled
def light_left(
    points: Floats,
    near: Integers,
    pieces: Pieces,
    table: SkyTable,
    share: Singles,
    floor: Singles,
    room: int,
    left: Singles,
) -> int:
    """Fill `left` with the hours that each point sees, shape (n, columns); return the most veils in one direction.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [m]
    near : ndarray of int, shape (m,)
        The pieces that may matter to these points, ascending.
    pieces, table
        What stands, and the sky.
    share : ndarray of float32, shape (bodies, columns)
        Of the sun that each body takes in each spell.
    floor : ndarray of float32, shape (1 or n, bins)
        Slope of the horizon behind everything.
    room : int
        For how many veils there is room in each direction; where more are met the answer is void.
    """
    bins, columns = table.toward.shape[1], table.below.shape[2]
    sides = 3
    for piece in near:
        sides = max(sides, pieces.start[piece + 1] - pieces.start[piece])
    ring, first = np.empty((4, sides + 1)), np.empty(sides + 1, np.int64)
    horizon, slopes = np.empty(bins, np.float32), np.zeros((2, bins), np.float32)
    size, veils = np.empty(bins, np.int64), np.empty((bins, room, 3), np.float32)
    total, taken = np.zeros(columns, np.float32), np.empty(columns, np.float32)
    for b in range(bins):
        for column in range(columns):
            total[column] += table.below[b, -1, column]
    most = 0
    for i in range(len(points)):
        horizon[:] = floor[min(i, len(floor) - 1)]
        size[:] = 0
        left[i] = 0
        if _draw(points[i], near, pieces, table, ring, first, horizon, slopes, size, veils):
            continue
        left[i] = total
        most = max(most, size.max())
        if most <= room:
            _take_away(table.below, table.lowest, share, horizon, size, veils, taken, left[i])
    return most


@compiled
def _draw(
    point: Floats, near: Integers, pieces: Pieces, table: SkyTable, ring: Floats, first: Integers,
    horizon: Singles, slopes: Singles, size: Integers, veils: Singles,
) -> bool:  # fmt: skip
    """Draw all near pieces into the horizon and the veils; return whether the point lies inside something opaque."""
    for piece in near:
        if pieces.top[piece] - point[2] <= TOUCH:
            continue
        plane, start = pieces.plane[piece], pieces.start[piece]
        sides = pieces.start[piece + 1] - start
        _lay_around(point, pieces.x, pieces.y, plane, start, sides, table.first, ring, first)
        bottom = pieces.bottom[piece] - point[2]
        if bottom > TOUCH or not pieces.opaque[piece]:
            _hang_veil(ring, first, sides, bottom, pieces.body[piece], table.toward, slopes, size, veils)
        else:
            inside = _raise_horizon(ring, first, sides, pieces.slanted[piece], table.toward, horizon)
            if inside and plane[0] * point[0] + plane[1] * point[1] + plane[2] - point[2] > TOUCH:
                return True
    return False


@compiled
def _lay_around(
    point: Floats,
    x: Floats,
    y: Floats,
    plane: Floats,
    start: int,
    sides: int,
    north: float,
    ring: Floats,
    first: Integers,
) -> None:
    """Lay a piece around a point."""
    for k in range(sides):
        ring[0, k] = x[start + k] - point[0]
        ring[1, k] = y[start + k] - point[1]
        ring[2, k] = plane[0] * x[start + k] + plane[1] * y[start + k] + plane[2] - point[2]
        first[k] = int(np.ceil(bearing(ring[0, k], ring[1, k], north) - 0.5))
    for row in range(3):
        ring[row, sides] = ring[row, 0]
    first[sides] = first[0]
    for k in range(sides):
        ring[3, k] = ring[0, k] * ring[1, k + 1] - ring[1, k] * ring[0, k + 1]
    ring[3, sides] = ring[3, 0]


@compiled
def bearing(east: float, north: float, first: float) -> float:
    """Return the azimuth of a direction in bins from `first` degrees, at least 0 and at most AROUND.

    Arc tangent by a polynomial, to 0.0002 bins: C. Hastings, Approximations for digital computers, 1955 (memory).
    """
    across, along = abs(east), abs(north)
    longer = max(across, along)
    ratio = min(across, along) / longer if longer > 0 else 0.0
    s = ratio * ratio
    angle = 0.05265332 - s * 0.01172120
    angle = ratio * (0.99997726 + s * (-0.33262347 + s * (0.19354346 + s * (-0.11643287 + s * angle))))
    angle = 0.5 * np.pi - angle if across > along else angle
    angle = np.pi - angle if north < 0 else angle
    angle = -angle if east < 0 else angle
    turned = angle * (AROUND / (2 * np.pi)) - first * (AROUND / 360.0)
    turned = turned + AROUND if turned < 0 else turned
    return turned + AROUND if turned < 0 else turned


@compiled
def _span(begin: int, end: int) -> int:
    """Return how many bins lie clockwise from one corner to the next; 0 where rounding has turned a side over."""
    span = end - begin
    if span < 0:
        span += AROUND
    return span if span <= AROUND // 2 + 1 else 0


@compiled
def _raise(
    slopes: Singles, toward: Singles, ring: Floats, first: Integers, k: int, at: float, at_next: float, keep: float
) -> None:
    """Raise the slopes over side k to an edge at given heights over its two ends; first multiply them by `keep`.

    With a and b the ends seen from the point and p, q the heights there, the slope towards a direction d is
    (p (d x b) + q (a x d)) / (a x b).
    """
    turn = ring[3, k]
    east = np.float32((at * ring[1, k + 1] - at_next * ring[1, k]) / turn)
    north = np.float32((at_next * ring[0, k] - at * ring[0, k + 1]) / turn)
    begin, end = (first[k], first[k + 1]) if turn < 0 else (first[k + 1], first[k])
    end = begin + _span(begin, end)
    kept = np.float32(keep)
    bins = len(slopes)
    for b in range(begin, min(end, bins)):
        slopes[b] = max(kept * slopes[b], east * toward[0, b] + north * toward[1, b])
    for b in range(min(end - AROUND, bins)):
        slopes[b] = max(kept * slopes[b], east * toward[0, b] + north * toward[1, b])


@compiled
def _raise_horizon(
    ring: Floats, first: Integers, sides: int, slanted: np.bool_, toward: Singles, horizon: Singles
) -> bool:
    """Raise the horizon over a piece that reaches down to the point; return whether the point is in its outline."""
    inside = True
    for k in range(sides):
        turn, at, at_next = ring[3, k], ring[2, k], ring[2, k + 1]
        inside = inside and turn >= 0
        if turn != 0 and (turn < 0 or slanted) and max(at, at_next) > 0:
            _raise(horizon, toward, ring, first, k, at, at_next, 1.0)
    return inside


@compiled
def _hang_veil(
    ring: Floats, first: Integers, sides: int, bottom: float, body: int, toward: Singles, slopes: Singles,
    size: Integers, veils: Singles,
) -> None:  # fmt: skip
    """Hang a piece that floats, or lets some light through, into every direction in which it stands."""
    leave, enter = slopes[0], slopes[1]
    bottom = bottom if bottom > TOUCH else 0.0
    begin, span, inside = 0, 0, True
    for k in range(sides):
        if ring[3, k] > 0:
            _raise(leave, toward, ring, first, k, bottom, bottom, 0.0)
            _raise(enter, toward, ring, first, k, ring[2, k], ring[2, k + 1], 0.0)
            span += _span(first[k + 1], first[k])
            if ring[3, k + 1] <= 0:
                begin = first[k + 1]
    for k in range(sides):
        if ring[3, k] < 0:
            inside = False
            _raise(enter, toward, ring, first, k, ring[2, k], ring[2, k + 1], 1.0)
    for n in range(begin, begin + min(span, AROUND)):
        b = n if n < AROUND else n - AROUND
        if b < len(leave):
            _add(size, veils, b, leave[b], np.float32(STEEP) if inside else enter[b], np.float32(body))


@compiled
def _add(size: Integers, veils: Singles, b: int, low: np.float32, high: np.float32, body: np.float32) -> None:
    """Add a veil in one direction, or widen the last one there if both belong to one body and overlap."""
    slot = size[b]
    room = veils.shape[1]
    if 0 < slot <= room:
        last = slot - 1
        if veils[b, last, 2] == body and low <= veils[b, last, 1] and veils[b, last, 0] <= high:
            veils[b, last, 0] = min(veils[b, last, 0], low)
            veils[b, last, 1] = max(veils[b, last, 1], high)
            return
    if slot < room:
        veils[b, slot, 0], veils[b, slot, 1], veils[b, slot, 2] = low, high, body
    size[b] += 1


@compiled
def _take_away(
    below: Singles, lowest: Singles, share: Singles, horizon: Singles, size: Integers, veils: Singles,
    taken: Singles, left: Singles,
) -> None:  # fmt: skip
    """Take away, direction by direction, what the horizon and the veils hide."""
    levels = below.shape[1]
    for b in range(len(horizon)):
        ground = _level(horizon[b], levels)
        if ground > lowest[b]:
            _take_below(below, b, ground, left)
        ground = max(ground, lowest[b])
        count = 0
        for slot in range(size[b]):
            bottom, top = max(_level(veils[b, slot, 0], levels), ground), _level(veils[b, slot, 1], levels)
            if top > bottom:
                veils[b, count, 0], veils[b, count, 1], veils[b, count, 2] = bottom, top, veils[b, slot, 2]
                count += 1
        if count == 1:
            _take_between(below, b, veils[b, 0, 0], veils[b, 0, 1], share, int(veils[b, 0, 2]), left)
        elif count > 1:
            _take_overlapping(below, b, share, veils, count, taken, left)
    for column in range(len(left)):
        left[column] = max(left[column], np.float32(0))


@compiled
def _level(slope: float, levels: int) -> float:
    """Return the level of a slope as `sky.level` does, kept within the table."""
    return min(LEVELS * slope / (1 + slope), levels - 1.0) if slope > 0 else 0.0


@compiled
def _take_below(below: Singles, b: int, level: float, left: Singles) -> None:
    """Take away what the sun spends below a level in one direction."""
    step = min(int(level), below.shape[1] - 2)
    part = np.float32(level - step)
    rest = np.float32(1) - part
    for column in range(below.shape[2]):
        left[column] -= rest * below[b, step, column] + part * below[b, step + 1, column]


@compiled
def _take_between(below: Singles, b: int, low: float, high: float, share: Singles, body: int, left: Singles) -> None:
    """Take away a body's share of what the sun spends between two levels in one direction."""
    step, other = min(int(low), below.shape[1] - 2), min(int(high), below.shape[1] - 2)
    part, other_part = np.float32(low - step), np.float32(high - other)
    rest, other_rest = np.float32(1) - part, np.float32(1) - other_part
    for column in range(below.shape[2]):
        upto_low = rest * below[b, step, column] + part * below[b, step + 1, column]
        upto_high = other_rest * below[b, other, column] + other_part * below[b, other + 1, column]
        left[column] -= share[body, column] * (upto_high - upto_low)


@compiled
def _take_overlapping(
    below: Singles, b: int, share: Singles, veils: Singles, count: int, taken: Singles, left: Singles
) -> None:
    """Take away what several veils hide: between two of their ends the light of all bodies there multiplies."""
    at = _next_end(veils, b, count, np.float32(-1))
    upto = _next_end(veils, b, count, at)
    while upto < np.float32(STEEP):
        met, last = 0, -1
        for slot in range(count):
            body = int(veils[b, slot, 2])
            if veils[b, slot, 0] < upto <= veils[b, slot, 1] and body != last:
                if met == 1:
                    taken[:] = share[last]
                if met >= 1:
                    for column in range(len(taken)):
                        taken[column] += (np.float32(1) - taken[column]) * share[body, column]
                met, last = met + 1, body
        if met == 1:
            _take_between(below, b, float(at), float(upto), share, last, left)
        elif met > 1:
            _take_between(below, b, float(at), float(upto), taken.reshape(1, -1), 0, left)
        at, upto = upto, _next_end(veils, b, count, upto)


@compiled
def _next_end(veils: Singles, b: int, count: int, at: np.float32) -> np.float32:
    """Return the next level above `at` where a veil begins or ends, STEEP where there is none."""
    upto = np.float32(STEEP)
    for slot in range(count):
        low, high = veils[b, slot, 0], veils[b, slot, 1]
        upto = low if at < low < upto else upto
        upto = high if at < high < upto else upto
    return upto
