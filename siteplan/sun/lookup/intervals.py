"""Which elevations do floating obstacles, screens and leaves cover, direction by direction around a point?

In one direction a convex piece covers one interval of elevations: from the slope to its bottom, where a ray leaves
it, up to the slope to its top, where the ray enters it. Round pieces are treated as circles, others side by side.
For leaves, the distances at which rays enter and leave are recorded instead. Intervals below the horizon are skipped.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused, inlined
from siteplan.sun.lookup.horizon import TOUCH, bearing, span
from siteplan.sun.lookup.leaves import LeafLight, add_path, attenuate
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND, LEVELS, SPAN, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STEEP = np.float32(1e9)  # the slope that stands for straight up
LEAVE, ENTER = 0, 1  # rows of `View.edge`


class View(NamedTuple):
    """Obstacles as seen from a point: a horizon and intervals above it for each direction; and work arrays.

    Attributes
    ----------
    east, north : ndarray of float32, shape (bins,)
        Components of the direction to each bin's middle.
    first : float
        Azimuth at which bin 0 begins. [degrees]
    horizon : ndarray of float32, shape (bins,)
        Slope (rise over run) below which the sky is hidden.
    highest : ndarray of float32, shape (bins,)
        Slope above which the sky's table is empty.
    size : ndarray of int, shape (bins,)
        How many intervals there are in each direction.
    interval : ndarray of float32, shape (bins, capacity, 3)
        Low slope, high slope and body of each.
    edge : ndarray of float32, shape (2, bins)
        Work array: slope to a piece's bottom where rays leave, and to its top where they enter.
    ring : ndarray, shape (4, sides + 1)
        Work array for a piece's corners: east, north, top there, and each side's turn.
    corner : ndarray of int, shape (sides + 1,)
        Work array: first bin whose middle lies clockwise of each corner.
    """

    east: Singles
    north: Singles
    first: float
    horizon: Singles
    highest: Singles
    size: Integers
    interval: Singles
    edge: Singles
    ring: Floats
    corner: Integers


def empty_view(table: SkyTable, highest: Singles, *, capacity: int, sides: int) -> View:
    """Return an empty view.

    Parameters
    ----------
    table : SkyTable
        Gives the directions.
    highest : ndarray of float32, shape (bins,)
        As in `View`.
    capacity : int
        Most intervals in one direction.
    sides : int
        Most sides of a piece.
    """
    bins = table.toward.shape[1]
    east, north = table.toward
    return View(
        east, north, table.first, np.empty(bins, dtype=np.float32), highest, np.zeros(bins, dtype=np.int64),
        np.empty((bins, capacity, 3), dtype=np.float32), np.empty((2, bins), dtype=np.float32),
        np.empty((4, sides + 1)), np.empty(sides + 1, dtype=np.int64),
    )  # fmt: skip


@compiled_fused
def add_pieces(point: Floats, pieces: Pieces, chosen: Integers, view: View, leaves: LeafLight) -> bool:
    """Add intervals and leaves of the chosen pieces; return whether the point lies inside something opaque."""
    body, span_count, count = int(np.int64(-1)), int(np.int64(0)), len(chosen)
    for k in range(count + 1):  # the extra turn attenuates by the last body
        if span_count > 0 and (k == count or pieces.body[chosen[k]] != body):
            attenuate(leaves, body, span_count)
            span_count = 0
        if k == count:
            break
        piece = chosen[k]
        top, bottom = pieces.top[piece] - point[2], pieces.bottom[piece] - point[2]
        if top <= TOUCH:
            continue
        body, bottom = pieces.body[piece], bottom if bottom > TOUCH else 0.0
        edge_at = 1.0 if pieces.leaves[piece] else bottom  # 1 m over the leaving edge: its slope is 1 / distance
        if pieces.round[piece] > 0:
            begin, end, inside = _circle_extent(point, pieces, piece, view)
        else:
            begin, end, inside = _cut_polygon(point, pieces, piece, edge_at, view)
        if inside:
            plane = pieces.plane
            if plane[piece, 0] * point[0] + plane[piece, 1] * point[1] + plane[piece, 2] - point[2] <= TOUCH:
                inside = 0  # above a slanted top that rises higher elsewhere
            elif pieces.opaque[piece] and bottom == 0.0:
                return True
        span_count = _add_piece(point, pieces, piece, begin, end, inside, bottom, top, view, leaves, span_count)
    return False


@inlined
def _add_piece(
    point: Floats, pieces: Pieces, piece: int, begin: int, end: int, inside: int, bottom: float, top: float,
    view: View, leaves: LeafLight, span_count: int,
) -> int:  # fmt: skip
    """Add what a piece covers from bin `begin` to before `end`; return in how many spans its body has leaves."""
    for turn in range(-1, 2):  # a piece that runs past bin 0, or before it, is added in two parts
        start, stop = max(begin + turn * AROUND, 0), min(end + turn * AROUND, len(view.east))
        if start < stop:
            if pieces.round[piece] > 0:
                _cut_circle(point, pieces, piece, 1.0 if pieces.leaves[piece] else bottom, start, stop, view)
            if pieces.leaves[piece]:
                span_count = _add_leaves(view, leaves, start, stop, inside, bottom, top, span_count)
            else:
                _add(view, start, stop, inside, pieces.body[piece], pieces.opaque[piece])
    return span_count


@inlined
def _add_leaves(
    view: View, leaves: LeafLight, begin: int, end: int, inside: int, bottom: float, top: float, span_count: int
) -> int:
    """Add the path through a piece of leaves in each span of bins; return in how many spans its body is seen.

    The slope to an edge is linear in the direction, so that the slope of a span is the mean of its bins' slopes.
    """
    full, levels = np.float32(1), np.float32(LEVELS)
    for number in range(begin // SPAN, (end + SPAN - 1) // SPAN):
        entering_slopes, leaving_slopes, hit_bins = np.float32(0), np.float32(0), np.float32(0)
        horizon, highest = STEEP, np.float32(0)
        for b in range(max(SPAN * number, begin), min(SPAN * (number + 1), end)):
            if inside or view.edge[ENTER, b] > 0:
                entering_slopes += view.edge[ENTER, b]
                leaving_slopes += view.edge[LEAVE, b]
                hit_bins += full
                horizon, highest = min(horizon, view.horizon[b]), max(highest, view.highest[b])
        if hit_bins == 0:
            continue
        near = np.float32(0) if inside else np.float32(top) * hit_bins / entering_slopes
        far = hit_bins / leaving_slopes
        if far > near:
            horizon_level, end_level = levels - levels / (full + horizon), levels - levels / (full + highest)
            bins = min(SPAN, len(view.east) - SPAN * number)  # an odd number of bins leaves one to the last span
            share, low, high = hit_bins / np.float32(bins), np.float32(bottom), np.float32(top)
            span_count = add_path(leaves, number, near, far, low, high, horizon_level, end_level, share, span_count)
    return span_count


@inlined
def _circle_extent(point: Floats, pieces: Pieces, piece: int, view: View) -> tuple[int, int, int]:
    """Return the first bin in which a round piece is seen, the bin after the last, and 1 if the point is inside."""
    east = np.float32(pieces.centre_x[piece] - point[0])
    north = np.float32(pieces.centre_y[piece] - point[1])
    radius, distance = np.float32(pieces.round[piece]), np.sqrt(east * east + north * north)
    if distance <= radius:
        return 0, AROUND, 1
    middle = bearing(east, north, np.float32(view.first * (AROUND / 360.0)))
    half = np.arcsin(radius / distance) * (AROUND / (2 * np.pi))
    return int(np.floor(middle - half)), int(np.ceil(middle + half)) + 1, 0


@inlined
def _cut_circle(point: Floats, pieces: Pieces, piece: int, bottom: float, begin: int, end: int, view: View) -> None:
    """Set the slopes where rays leave and enter a circle; -1 for entering marks directions that miss it."""
    east = np.float32(pieces.centre_x[piece] - point[0])
    north = np.float32(pieces.centre_y[piece] - point[1])
    radius = np.float32(pieces.round[piece])
    low, high, square = np.float32(bottom), np.float32(pieces.top[piece] - point[2]), radius * radius
    for b in range(begin, end):
        offset = east * view.north[b] - north * view.east[b]
        along = east * view.east[b] + north * view.north[b]
        half_square = square - offset * offset
        half_chord = np.sqrt(max(half_square, np.float32(0)))
        view.edge[LEAVE, b] = low / (along + half_chord)
        view.edge[ENTER, b] = high / (along - half_chord) if half_square > 0 else np.float32(-1)


@inlined
def _cut_polygon(point: Floats, pieces: Pieces, piece: int, bottom: float, view: View) -> tuple[int, int, int]:
    """Set the slopes where rays leave and enter a piece; return what `_circle_extent` does.

    First the far sides, by which rays leave, set the slopes to bottom and top. Then the near sides, by which rays
    enter, raise the slopes to the top. Both are needed: the far edge of a slanted top may appear higher.
    """
    ring, corner = view.ring, view.corner
    sides = _see_ring(point, pieces, piece, view.first, ring, corner)
    begin, bins, inside = 0, 0, int(sides > 0)
    for near in range(2):
        for k in range(sides):
            turn = ring[3, k]
            if turn == 0 or (turn < 0) != (near == 1):
                continue
            if near == 0:
                bins += span(corner[k + 1], corner[k])
                begin = corner[k + 1] if ring[3, k + 1] <= 0 else begin
            else:
                inside = 0
            for row in range(near, 2):
                at, at_next = (bottom, bottom) if row == LEAVE else (ring[2, k], ring[2, k + 1])
                _draw_side(view.edge[row], view, k, at, at_next)
    return begin, begin + min(bins, AROUND), inside


@inlined
def _see_ring(point: Floats, pieces: Pieces, piece: int, first: float, ring: Floats, corner: Integers) -> int:
    """Set a piece's corners as seen from a point, the top there, and each side's turn; return how many sides."""
    start = pieces.start[piece]
    sides = int(pieces.start[piece + 1] - start)
    east_slope, north_slope, level = pieces.plane[piece, 0], pieces.plane[piece, 1], pieces.plane[piece, 2]
    turned = np.float32(first * (AROUND / 360.0))
    for k in range(sides):
        x, y = pieces.x[start + k], pieces.y[start + k]
        ring[0, k], ring[1, k] = x - point[0], y - point[1]
        ring[2, k] = east_slope * x + north_slope * y + level - point[2]
        corner[k] = int(bearing(np.float32(ring[0, k]), np.float32(ring[1, k]), turned) + np.float32(0.5))
    for row in range(3):
        ring[row, sides] = ring[row, 0]
    corner[sides] = corner[0]
    for k in range(sides):
        ring[3, k] = ring[0, k] * ring[1, k + 1] - ring[1, k] * ring[0, k + 1]
    ring[3, sides] = ring[3, 0]
    return sides


@compiled_fused
def _draw_side(slopes: Singles, view: View, k: int, at: float, at_next: float) -> None:
    """Set the slopes to an edge at given heights over the ends of side k; a near side only raises them.

    Same formula as in `horizon._see_corners`.
    """
    ring, turn = view.ring, view.ring[3, k]
    to_east = np.float32((at * ring[1, k + 1] - at_next * ring[1, k]) / turn)
    to_north = np.float32((at_next * ring[0, k] - at * ring[0, k + 1]) / turn)
    begin, end = (view.corner[k], view.corner[k + 1]) if turn < 0 else (view.corner[k + 1], view.corner[k])
    end = begin + span(begin, end)
    zero = np.float32(0)
    for part in range(2):  # a side that runs past bin 0 is drawn in two parts
        for b in range(max(begin - part * AROUND, 0), min(end - part * AROUND, len(slopes))):
            slopes[b] = max(slopes[b] if turn < 0 else zero, to_east * view.east[b] + to_north * view.north[b])


@inlined
def _add(view: View, begin: int, end: int, inside: int, body: int, opaque: np.bool_) -> None:
    """Add a piece's interval in each direction where it is seen.

    It is merged with the last interval there if both belong to one body and overlap. An opaque piece that begins
    below the horizon raises the horizon instead. Beyond the capacity intervals are only counted.
    """
    size, interval, horizon, highest = view.size, view.interval, view.horizon, view.highest
    capacity = interval.shape[1]
    body_number = np.float32(body)
    for b in range(begin, end):
        low, high = view.edge[LEAVE, b], STEEP if inside else view.edge[ENTER, b]
        if high <= horizon[b] or low >= highest[b]:
            continue
        if opaque and low <= horizon[b]:
            horizon[b] = high
            continue
        slot = size[b]
        if 0 < slot <= capacity:
            k = slot - 1
            if interval[b, k, 2] == body_number and low <= interval[b, k, 1] and interval[b, k, 0] <= high:
                interval[b, k, 0], interval[b, k, 1] = min(interval[b, k, 0], low), max(interval[b, k, 1], high)
                continue
        if slot < capacity:
            interval[b, slot, 0], interval[b, slot, 1], interval[b, slot, 2] = low, high, body_number
        size[b] = slot + 1
