"""How much of the year's sun does each point see?

Every piece hides, in each direction, the rays between two slopes; over the directions of one side of the piece a slope
is linear in the direction, so that drawing a side costs two products a bin. It leaves out choosing the pieces.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.sun.compiled import compiled
from siteplan.sun.pieces import Pieces
from siteplan.sun.sky import AROUND, COLUMNS, LEVELS, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

TOUCH = 1e-6  # m; what rises less than this above a point, or hangs less above it, does not
STEEP = 1e9  # the slope that stands for straight up


class Veils(NamedTuple):
    """What floats or lets some light through, by direction: slopes from `low` to `high` are behind body `whose`.

    Attributes
    ----------
    count : ndarray of int, shape (bins,)
        How many veils hang in each direction; those above `room` are counted and not kept.
    low, high, whose : ndarray, shape (bins, room)
        Slopes, and the number of the body.
    """

    count: Integers
    low: Singles
    high: Singles
    whose: Integers


@compiled
def light_left(
    points: Floats,
    near: Integers,
    pieces: Pieces,
    table: SkyTable,
    through: Singles,
    steady: NDArray[np.bool_],
    floor: Singles,
    room: int,
    left: Singles,
) -> int:
    """Fill `left` with the hours that each point sees, shape (n, 16); return the most veils met in one direction.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [m]
    near : ndarray of int, shape (m,)
        The pieces that may matter to these points, ascending.
    pieces, table
        What stands, and the sky.
    through : ndarray of float32, shape (1 + periods, bodies)
        What each body lets through; the first row holds for steady bodies.
    steady : ndarray of bool, shape (bodies,)
        Which bodies let the same through all year.
    floor : ndarray of float32, shape (1 or n, bins)
        Slope of the horizon behind everything.
    room : int
        For how many veils there is room in each direction; where more are met the answer is void.
    """
    bins = len(table.east)
    horizon, leave, enter = np.empty(bins, np.float32), np.empty(bins, np.float32), np.empty(bins, np.float32)
    slopes = np.empty((2, bins, room), np.float32)
    veils = Veils(np.empty(bins, np.int64), slopes[0], slopes[1], np.empty((bins, room), np.int64))
    sides = 3
    for piece in near:
        sides = max(sides, pieces.start[piece + 1] - pieces.start[piece])
    ring, first = np.empty((sides + 1, 3)), np.empty(sides + 1, np.int64)
    total = np.zeros(COLUMNS, np.float32)
    for b in range(bins):
        total += table.below[0, b, -1]
    most = 0
    for i in range(len(points)):
        horizon[:] = floor[min(i, len(floor) - 1)]
        veils.count[:] = 0
        left[i] = 0
        if _draw(points[i], near, pieces, table, ring, first, horizon, veils, leave, enter):
            continue
        left[i] = total
        most = max(most, veils.count.max())
        if most <= room:
            _take_away(table, through, steady, horizon, veils, left[i])
    return most


@compiled
def _draw(
    point: Floats, near: Integers, pieces: Pieces, table: SkyTable, ring: Floats, first: Integers,
    horizon: Singles, veils: Veils, leave: Singles, enter: Singles,
) -> bool:  # fmt: skip
    """Draw all near pieces into the horizon and the veils; return whether the point lies inside something opaque."""
    for piece in near:
        if pieces.top[piece] - point[2] <= TOUCH:
            continue
        sides = _lay_around(point, pieces, piece, table.first, ring, first)
        bottom = pieces.bottom[piece] - point[2]
        if bottom > TOUCH or not pieces.opaque[piece]:
            _hang_veil(ring, first, sides, bottom, pieces.body[piece], table, veils, leave, enter)
        elif _raise_horizon(ring, first, sides, pieces.slanted[piece], table, horizon):
            slope_east, slope_north, level = pieces.plane[piece]
            if slope_east * point[0] + slope_north * point[1] + level - point[2] > TOUCH:
                return True
    return False


@compiled
def _lay_around(
    point: Floats, pieces: Pieces, piece: int, first_azimuth: float, ring: Floats, first: Integers
) -> int:
    """Lay a piece's corners around a point: east, north, top above it, first bin past each; return their number."""
    start = pieces.start[piece]
    sides = pieces.start[piece + 1] - start
    slope_east, slope_north, level = pieces.plane[piece]
    for k in range(sides):
        x, y = pieces.x[start + k], pieces.y[start + k]
        ring[k, 0] = x - point[0]
        ring[k, 1] = y - point[1]
        ring[k, 2] = slope_east * x + slope_north * y + level - point[2]
        first[k] = int(np.ceil(bearing(ring[k, 0], ring[k, 1], first_azimuth) - 0.5))
    ring[sides] = ring[0]
    first[sides] = first[0]
    return int(sides)


@compiled
def bearing(east: float, north: float, first: float) -> float:
    """Return the azimuth of a direction in bins from `first` degrees, at least 0 and at most AROUND.

    Arc tangent by a polynomial, to 0.0002 bins: C. Hastings (1955), Approximations for digital computers (from memory).
    """
    across, along = abs(east), abs(north)
    longer = max(across, along)
    if longer == 0:
        return 0.0
    ratio = min(across, along) / longer
    s = ratio * ratio
    angle = 0.05265332 - s * 0.01172120
    angle = ratio * (0.99997726 + s * (-0.33262347 + s * (0.19354346 + s * (-0.11643287 + s * angle))))
    if across > along:
        angle = 0.5 * np.pi - angle
    if north < 0:
        angle = np.pi - angle
    if east < 0:
        angle = -angle
    turned = angle * (AROUND / (2 * np.pi)) - first * (AROUND / 360.0)
    while turned < 0:
        turned += AROUND
    return turned


@compiled
def _span(begin: int, end: int) -> int:
    """Return how many bins lie clockwise from one corner to the next; 0 where rounding has turned a side over."""
    span = end - begin
    if span < 0:
        span += AROUND
    return span if span <= AROUND // 2 + 1 else 0


@compiled
def _turn(ring: Floats, k: int) -> float:
    """Return twice the area between the point and a side: above 0 where rays leave there, below 0 where they enter."""
    return float(ring[k, 0] * ring[k + 1, 1] - ring[k, 1] * ring[k + 1, 0])


@compiled
def _rise(ring: Floats, k: int, turn: float, at: float, at_next: float) -> tuple[float, float]:
    """Return the slope to an edge over a side as a factor of east and one of north, by its heights at both ends."""
    east = (at * ring[k + 1, 1] - at_next * ring[k, 1]) / turn
    north = (at_next * ring[k, 0] - at * ring[k + 1, 0]) / turn
    return east, north


@compiled
def _raise(slopes: Singles, table: SkyTable, begin: int, span: int, rise: tuple[float, float]) -> None:
    """Raise the slopes over a span of bins to an edge."""
    east, north = np.float32(rise[0]), np.float32(rise[1])
    bins = len(slopes)
    for b in range(begin, min(begin + span, bins)):
        slopes[b] = max(slopes[b], east * table.east[b] + north * table.north[b])
    for b in range(min(begin + span - AROUND, bins)):
        slopes[b] = max(slopes[b], east * table.east[b] + north * table.north[b])


@compiled
def _clear(slopes: Singles, begin: int, span: int) -> None:
    """Lay the slopes over a span of bins flat."""
    bins = len(slopes)
    for b in range(begin, min(begin + span, bins)):
        slopes[b] = 0
    for b in range(min(begin + span - AROUND, bins)):
        slopes[b] = 0


@compiled
def _raise_horizon(
    ring: Floats, first: Integers, sides: int, slanted: np.bool_, table: SkyTable, horizon: Singles
) -> bool:
    """Raise the horizon over a piece that reaches down to the point; return whether the point is in its outline."""
    inside = True
    for k in range(sides):
        turn = _turn(ring, k)
        inside = inside and turn >= 0
        if turn == 0 or (turn > 0 and not slanted) or max(ring[k, 2], ring[k + 1, 2]) <= 0:
            continue
        begin, end = (first[k], first[k + 1]) if turn < 0 else (first[k + 1], first[k])
        _raise(horizon, table, begin, _span(begin, end), _rise(ring, k, turn, ring[k, 2], ring[k + 1, 2]))
    return inside


@compiled
def _hang_veil(
    ring: Floats, first: Integers, sides: int, bottom: float, body: int, table: SkyTable,
    veils: Veils, leave: Singles, enter: Singles,
) -> None:  # fmt: skip
    """Hang a piece that floats, or lets some light through, into every direction in which it stands."""
    if bottom <= TOUCH:
        bottom = 0.0
    for k in range(sides):
        _clear(leave, first[k + 1], _span(first[k + 1], first[k]))
        _clear(enter, first[k + 1], _span(first[k + 1], first[k]))
    inside = True
    for k in range(sides):
        turn = _turn(ring, k)
        inside = inside and turn >= 0
        if turn == 0:
            continue
        begin, end = (first[k], first[k + 1]) if turn < 0 else (first[k + 1], first[k])
        span = _span(begin, end)
        _raise(enter, table, begin, span, _rise(ring, k, turn, ring[k, 2], ring[k + 1, 2]))
        if turn > 0:
            _raise(leave, table, begin, span, _rise(ring, k, turn, bottom, bottom))
    for k in range(sides):
        if _turn(ring, k) > 0:
            span = _span(first[k + 1], first[k])
            for n in range(first[k + 1], first[k + 1] + span):
                b = n if n < AROUND else n - AROUND
                if b < len(leave):
                    _add(veils, b, leave[b], np.float32(STEEP) if inside else enter[b], body)


@compiled
def _add(veils: Veils, b: int, low: np.float32, high: np.float32, body: int) -> None:
    """Add a veil in one direction, or widen the last one there if both belong to one body and overlap."""
    slot = veils.count[b]
    room = veils.low.shape[1]
    if 0 < slot <= room:
        last = slot - 1
        if veils.whose[b, last] == body and low <= veils.high[b, last] and veils.low[b, last] <= high:
            veils.low[b, last] = min(veils.low[b, last], low)
            veils.high[b, last] = max(veils.high[b, last], high)
            return
    if slot < room:
        veils.low[b, slot], veils.high[b, slot], veils.whose[b, slot] = low, high, body
    veils.count[b] += 1


@compiled
def _level(slope: float, levels: int) -> float:
    """Return the level of a slope as `sky.level` does, kept within the table."""
    if slope <= 0:
        return 0.0
    return min(LEVELS * slope / (1 + slope), levels - 1.001)


@compiled
def _take(below: Singles, level: float, share: float, left: Singles) -> None:
    """Take away a share of what the sun spends below a level in one direction."""
    step = int(level)
    part = np.float32(share * (level - step))
    rest = np.float32(share) - part
    for column in range(COLUMNS):
        left[column] -= rest * below[step, column] + part * below[step + 1, column]


@compiled
def _take_away(
    table: SkyTable, through: Singles, steady: NDArray[np.bool_], horizon: Singles, veils: Veils, left: Singles
) -> None:
    """Take away, direction by direction, what the horizon and the veils hide."""
    levels = table.below.shape[2]
    for b in range(len(horizon)):
        ground = _level(horizon[b], levels)
        if ground > 0:
            _take(table.below[0, b], ground, 1.0, left)
        low, high, whose = veils.low[b], veils.high[b], veils.whose[b]
        count, changing = 0, False
        for slot in range(veils.count[b]):
            bottom = max(_level(low[slot], levels), ground)
            top = _level(high[slot], levels)
            if top > bottom:
                low[count], high[count], whose[count] = bottom, top, whose[slot]
                changing = changing or not steady[whose[slot]]
                count += 1
        begin, end = (1, len(through)) if changing else (0, 1)
        for period in range(begin, end):
            if count == 1:
                share = 1.0 - through[period, whose[0]]
                _take(table.below[period, b], high[0], share, left)
                _take(table.below[period, b], low[0], -share, left)
            elif count > 1:
                _take_overlapping(table.below[period, b], through[period], count, low, high, whose, left)
    for column in range(COLUMNS):
        left[column] = max(left[column], np.float32(0))


@compiled
def _take_overlapping(
    below: Singles, through: Singles, count: int, low: Singles, high: Singles, whose: Integers, left: Singles
) -> None:
    """Take away what several veils hide: between two of their ends the light of all bodies there multiplies."""
    at = np.float32(-1)
    for _ in range(2 * count):
        upto = np.float32(STEEP)
        for slot in range(count):
            if low[slot] > at:
                upto = min(upto, low[slot])
            if high[slot] > at:
                upto = min(upto, high[slot])
        if upto == np.float32(STEEP):
            return
        light, last = 1.0, -1
        for slot in range(count):
            if low[slot] < upto <= high[slot] and whose[slot] != last:
                last = whose[slot]
                light *= through[last]
        if light < 1:
            _take(below, upto, 1.0 - light, left)
            _take(below, at, light - 1.0, left)
        at = upto
