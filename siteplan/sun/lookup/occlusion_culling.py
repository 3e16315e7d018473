"""Which pieces of obstacles are visible from a block of points, and which are hidden behind nearer ones?

Occlusion culling, from the nearest piece outwards. Viewpoints are placed around the block, half a metre apart; for
distant walls, two degrees apart as seen from the wall. Each opaque piece raises the horizon of every viewpoint. A
piece that does not rise above the lowest of these horizons is hidden from the whole block. A gap that is narrower
than the spacing of the viewpoints may be missed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled, compiled_fused, inlined
from siteplan.sun.lookup.horizon import TOUCH, corner_arrays, raise_horizon, walls_of
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

APART = 0.5  # m; spacing of the viewpoints around a block
FARTHER = 30.0  # m of distance for each metre of spacing: two degrees
OFF = 8.0  # radii; from farther away, the circle around a piece is taken in place of its corners
_walls_of, _corner_arrays = compiled(walls_of), compiled(corner_arrays)

ROUNDING = 1e-4  # relative error allowed for slopes in single precision, so that no piece hides itself
AT_ONCE = 32  # pieces tested before the horizons are raised again


def visible_pieces(
    points: Floats, near: Integers, pieces: Pieces, table: SkyTable, highest: Singles, low: Singles
) -> Integers:
    """Return those of the near pieces that are visible from the block, in their order.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        A block of points near each other. [m]
    near : ndarray of int, shape (m,)
        Numbers of the pieces to choose from.
    pieces : Pieces
        All obstacles.
    table : SkyTable
        Whose bins of azimuth are used.
    highest : ndarray of float32, shape (bins,)
        Slope of the highest sun in each bin of azimuth.
    low : ndarray of float32, shape (bins,)
        Slope of a horizon that all the points have at least; raised in place.
    """
    low_corner, high_corner = points.min(axis=0), points.max(axis=0)
    box = np.array([*low_corner[:2], *high_corner[:2], low_corner[2], high_corner[2]])
    gap = np.empty(len(near))
    _gaps(pieces, near, box, gap)
    visible = np.zeros(len(near), np.bool_)
    _keep(box, near, np.argsort(gap), gap, pieces, table, highest, low, visible)
    return near[visible]


@compiled
def _keep(
    box: Floats, near: Integers, order: Integers, gap: Floats, pieces: Pieces, table: SkyTable, highest: Singles,
    low: Singles, visible: NDArray[np.bool_],
) -> None:  # fmt: skip
    """Set in `visible` which pieces are visible; `order` lists them from the nearest to the farthest.

    `box` is the block's west, south, east and north edge, lowest and highest point.
    """
    east, north, bins = table.toward[0], table.toward[1], len(low)
    spacing = APART
    viewpoints = _around(box, spacing)
    horizon = np.zeros((len(viewpoints), bins), np.float32)
    hiding = np.empty(AT_ONCE, np.int64)
    for begin in range(0, len(near), AT_ONCE):
        wider = max(APART, gap[order[begin]] / FARTHER)
        if wider > 1.5 * spacing:
            spacing = wider
            viewpoints = _around(box, spacing)
            horizon = np.zeros((len(viewpoints), bins), np.float32)
        batch = order[begin : begin + AT_ONCE]
        count = _test_batch(pieces, near, batch, box, gap, table.first, low, highest, visible, hiding)
        if count > 0:
            walls = _walls_of(pieces, hiding[:count])
            corners = _corner_arrays(len(walls.x))
            for k in range(len(viewpoints)):
                raise_horizon(viewpoints[k], walls, table.first, east, north, corners, horizon[k])
            _raise_lowest(horizon, low)
    # second test of all pieces against the final horizon. The sun's height is ignored: no piece is then hidden by
    # a piece that it hides itself
    endless = np.full(bins, np.inf, np.float32)
    for n in range(len(near)):
        visible[n] = visible[n] and not _is_hidden(pieces, near[n], box, gap[n], table.first, low, endless)


@inlined
def _test_batch(
    pieces: Pieces, near: Integers, batch: Integers, box: Floats, gap: Floats, first: float, low: Singles,
    highest: Singles, visible: NDArray[np.bool_], hiding: Integers,
) -> int:  # fmt: skip
    """Set which pieces of a batch are visible, and `hiding` to those that may hide others; return how many may."""
    count = 0
    for n in batch:
        piece = near[n]
        visible[n] = not _is_hidden(pieces, piece, box, gap[n], first, low, highest)
        stands = pieces.opaque[piece] and pieces.bottom[piece] - box[4] <= TOUCH
        if visible[n] and stands and _beside(pieces, piece, box):
            hiding[count] = piece
            count += 1
    return count


@compiled
def _around(box: Floats, spacing: float) -> Floats:
    """Return viewpoints around the top of a box, shape (n, 3). [m]"""
    columns = int(np.ceil((box[2] - box[0]) / spacing)) + 1
    rows = max(int(np.ceil((box[3] - box[1]) / spacing)) - 1, 0)  # between the corners
    points = np.empty((2 * (columns + rows), 3))
    for k in range(len(points)):
        n, side = k // 2, k % 2
        if n < columns:
            points[k, 0] = box[0] + (box[2] - box[0]) * n / max(columns - 1, 1)
            points[k, 1] = box[1 + 2 * side]
        else:
            points[k, 0] = box[2 * side]
            points[k, 1] = box[1] + (box[3] - box[1]) * (n - columns + 1) / (rows + 1)
        points[k, 2] = box[5]
    return points


@compiled_fused
def _raise_lowest(horizon: Singles, low: Singles) -> None:
    """Raise `low` to the lowest of the viewpoints' horizons, shape (viewpoints, bins)."""
    for b in range(len(low)):
        lowest = horizon[0, b]
        for k in range(1, len(horizon)):
            lowest = min(lowest, horizon[k, b])
        low[b] = max(low[b], lowest)


@compiled_fused
def _spread(box: Floats) -> float:
    """Return the radius of the circle around a box. [m]"""
    return float(np.hypot(box[2] - box[0], box[3] - box[1]) / 2)


@compiled_fused
def _gaps(pieces: Pieces, near: Integers, box: Floats, gap: Floats) -> None:
    """Set the gap of each near piece, see `_gap`. [m]"""
    for n in range(len(near)):
        gap[n] = _gap(pieces, near[n], box)


@compiled_fused
def _gap(pieces: Pieces, piece: int, box: Floats) -> float:
    """Return a lower bound of the distance from a piece to a box; 0 or less where they may overlap. [m]"""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    start, stop = pieces.start[piece], pieces.start[piece + 1]
    distance = np.hypot(pieces.centre_x[piece] - x, pieces.centre_y[piece] - y)
    if distance > OFF * pieces.radius[piece]:
        return float(distance - pieces.radius[piece] - _spread(box))
    least_distance, inside = np.inf, True
    for k in range(start, stop):
        next_corner = k + 1 if k + 1 < stop else start
        ax, ay = pieces.x[k] - x, pieces.y[k] - y
        sx, sy = pieces.x[next_corner] - pieces.x[k], pieces.y[next_corner] - pieces.y[k]
        inside = inside and ax * sy - ay * sx >= 0
        square = sx * sx + sy * sy
        share = min(max(-(ax * sx + ay * sy) / square, 0.0), 1.0) if square > 0 else 0.0
        least_distance = min(least_distance, np.hypot(ax + share * sx, ay + share * sy))
    return 0.0 if inside else least_distance - _spread(box)


@compiled_fused
def _beside(pieces: Pieces, piece: int, box: Floats) -> bool:
    """Return whether all of a piece lies on one side of a box."""
    start, stop = pieces.start[piece], pieces.start[piece + 1]
    east, west, north, south = True, True, True, True
    for k in range(start, stop):
        east, west = east and pieces.x[k] > box[2], west and pieces.x[k] < box[0]
        north, south = north and pieces.y[k] > box[3], south and pieces.y[k] < box[1]
    return east or west or north or south


@compiled_fused
def _is_hidden(
    pieces: Pieces, piece: int, box: Floats, gap: float, first: float, low: Singles, highest: Singles
) -> bool:
    """Return whether a piece is hidden from a whole box.

    It is hidden if, in every bin of azimuth that it covers, its top is below `low` or the highest sun is.
    """
    if gap <= 0:
        return False
    slope = (pieces.top[piece] - box[4]) / gap * (1 + ROUNDING)
    x, y, spread = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2, _spread(box)
    middle, begin, end = _directions(pieces, piece, x, y, spread)
    scale = AROUND / (2 * np.pi)
    origin = middle * scale - first * (AROUND / 360.0)
    for n in range(int(np.floor(origin + begin * scale)), int(np.ceil(origin + end * scale)) + 1):
        b = n % AROUND
        if b < len(low) and low[b] < min(slope, highest[b]):
            return False
    return True


@compiled_fused
def _directions(pieces: Pieces, piece: int, x: float, y: float, spread: float) -> tuple[float, float, float]:
    """Return the azimuths that a piece covers, as seen from anywhere in a circle of radius `spread` around (x, y).

    A middle azimuth, and both ends relative to it: the first at most 0, the second at least 0. [rad]
    """
    east, north = pieces.centre_x[piece] - x, pieces.centre_y[piece] - y
    distance = np.hypot(east, north)
    if distance > OFF * pieces.radius[piece] and distance > pieces.radius[piece] + spread:
        half = np.arcsin((pieces.radius[piece] + spread) / distance)
        return np.arctan2(east, north), -half, half
    start, stop = pieces.start[piece], pieces.start[piece + 1]
    middle = np.arctan2(pieces.x[start] - x, pieces.y[start] - y)
    begin, end = 0.0, 0.0
    for k in range(start, stop):
        east, north = pieces.x[k] - x, pieces.y[k] - y
        offset = (np.arctan2(east, north) - middle + np.pi) % (2 * np.pi) - np.pi
        spread_angle = np.arcsin(min(1.0, spread / np.hypot(east, north)))
        begin, end = min(begin, offset - spread_angle), max(end, offset + spread_angle)
    return middle, begin, end
