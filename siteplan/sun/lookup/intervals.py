"""What floats, or lets some light through, in each direction around a point?

Between the ray to its bottom where it leaves a piece and that to its top where it enters; round pieces as circles.
It leaves out what the horizon hides anyway.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.compiled import compiled_fused
from siteplan.sun.lookup.horizon import TOUCH, bearing, span
from siteplan.sun.obstacles.packed_prisms import Pieces
from siteplan.sun.path.sky_table import AROUND, SkyTable

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STEEP = np.float32(1e9)  # the slope that stands for straight up


class View(NamedTuple):
    """What is drawn around a point, direction by direction, and room to draw it.

    Attributes
    ----------
    east, north : ndarray of float32, shape (bins,)
        Of the direction of each bin's middle.
    first : float
        Azimuth at which bin 0 begins. [degrees]
    horizon : ndarray of float32, shape (bins,)
        The slope below which all is hidden.
    highest : ndarray of float32, shape (bins,)
        The slope above which there is nothing to hide.
    size : ndarray of int, shape (bins,)
        How many veils hang in each direction.
    veils : ndarray of float32, shape (bins, room, 3)
        Low slope, high slope and body of each.
    leave, enter : ndarray of float32, shape (bins,)
        Slopes of the ray to a piece's bottom where it leaves, and to its top where it enters.
    ring : ndarray, shape (4, sides + 1)
        Room for a piece's corners: east, north, top there, and each side's turn.
    corner : ndarray of int, shape (sides + 1,)
        Room for the first bin whose middle lies clockwise of each corner.
    """

    east: Singles
    north: Singles
    first: float
    horizon: Singles
    highest: Singles
    size: Integers
    veils: Singles
    leave: Singles
    enter: Singles
    ring: Floats
    corner: Integers


def view_of(table: SkyTable, highest: Singles, *, room: int, sides: int) -> View:
    """Return room for what is drawn in a table's directions: so many veils in each, pieces of so many sides."""
    bins = table.toward.shape[1]
    east, north = table.toward
    return View(
        east, north, table.first, np.empty(bins, dtype=np.float32), highest, np.zeros(bins, dtype=np.int64),
        np.empty((bins, room, 3), dtype=np.float32), np.empty(bins, dtype=np.float32),
        np.empty(bins, dtype=np.float32), np.empty((4, sides + 1)), np.empty(sides + 1, dtype=np.int64),
    )  # fmt: skip


@compiled_fused
def hang_veils(point: Floats, pieces: Pieces, chosen: Integers, view: View) -> bool:
    """Hang the chosen pieces; return whether the point lies inside something that lets nothing through."""
    for piece in chosen:
        top, bottom = pieces.top[piece] - point[2], pieces.bottom[piece] - point[2]
        if top <= TOUCH:
            continue
        opaque = pieces.opaque[piece]
        bottom = bottom if bottom > TOUCH else 0.0
        if pieces.round[piece] > 0:
            inside = _hang_round(point, pieces, piece, bottom, view)
        else:
            inside = _hang(point, pieces, piece, bottom, view)
        if inside and opaque and bottom == 0.0:
            plane = pieces.plane
            if plane[piece, 0] * point[0] + plane[piece, 1] * point[1] + plane[piece, 2] - point[2] > TOUCH:
                return True
    return False


@compiled_fused
def _hang_round(point: Floats, pieces: Pieces, piece: int, bottom: float, view: View) -> bool:
    """Hang a round piece with a level top; return whether the point is in its outline."""
    east = np.float32(pieces.centre_x[piece] - point[0])
    north = np.float32(pieces.centre_y[piece] - point[1])
    radius = np.float32(pieces.round[piece])
    low, high = np.float32(bottom), np.float32(pieces.top[piece] - point[2])
    away = np.sqrt(east * east + north * north)
    inside = bool(away <= radius)
    bins = len(view.east)
    begin, end = 0, bins
    if not inside:
        middle = bearing(east, north, np.float32(view.first * (AROUND / 360.0)))
        half = np.arcsin(radius / away) * (AROUND / (2 * np.pi))
        begin, end = int(np.floor(middle - half)), int(np.ceil(middle + half)) + 1
    for turn in range(-1, 2):
        start, stop = max(begin + turn * AROUND, 0), min(end + turn * AROUND, bins)
        if start < stop:
            _cut_round(east, north, radius, low, high, start, stop, view)
            _add(view, start, stop, inside, pieces.body[piece], pieces.opaque[piece])
    return inside


@compiled_fused
def _cut_round(
    east: np.float32, north: np.float32, radius: np.float32, low: np.float32, high: np.float32,
    begin: int, end: int, view: View,
) -> None:  # fmt: skip
    """Set the slopes where rays leave and enter a circle; those that miss it enter below the horizon."""
    square = radius * radius
    for b in range(begin, end):
        aside = east * view.north[b] - north * view.east[b]
        along = east * view.east[b] + north * view.north[b]
        room = square - aside * aside
        half = np.sqrt(max(room, np.float32(0)))
        view.leave[b] = low / (along + half)
        view.enter[b] = high / (along - half) if room > 0 else np.float32(-1)


@compiled_fused
def _hang(point: Floats, pieces: Pieces, piece: int, bottom: float, view: View) -> bool:
    """Hang a piece side by side; return whether the point is in its outline."""
    ring, first = view.ring, view.corner
    sides = _lay_around(point, pieces, piece, view.first, ring, first)
    begin, bins, inside = 0, 0, sides > 0  # not True, which would have what it is handed to compiled once more
    for k in range(sides):
        if ring[3, k] > 0:
            _raise(view.leave, view, ring, first, k, bottom, bottom)
            _raise(view.enter, view, ring, first, k, ring[2, k], ring[2, k + 1])
            bins += span(first[k + 1], first[k])
            if ring[3, k + 1] <= 0:
                begin = first[k + 1]
    for k in range(sides):
        if ring[3, k] < 0:
            inside = False
            _raise(view.enter, view, ring, first, k, ring[2, k], ring[2, k + 1])
    end = begin + min(bins, AROUND)
    body, opaque = pieces.body[piece], pieces.opaque[piece]
    for turn in range(2):
        _add(view, max(begin - turn * AROUND, 0), min(end - turn * AROUND, len(view.east)), inside, body, opaque)
    return inside


@compiled_fused
def _lay_around(point: Floats, pieces: Pieces, piece: int, north: float, ring: Floats, first: Integers) -> int:
    """Lay a piece around a point: corners' east and north, top there, each side's turn; return how many sides."""
    start = pieces.start[piece]
    sides = int(pieces.start[piece + 1] - start)
    east_slope, north_slope, level = pieces.plane[piece, 0], pieces.plane[piece, 1], pieces.plane[piece, 2]
    turned = np.float32(north * (AROUND / 360.0))
    for k in range(sides):
        x, y = pieces.x[start + k], pieces.y[start + k]
        ring[0, k], ring[1, k] = x - point[0], y - point[1]
        ring[2, k] = east_slope * x + north_slope * y + level - point[2]
        first[k] = int(bearing(np.float32(ring[0, k]), np.float32(ring[1, k]), turned) + np.float32(0.5))
    for row in range(3):
        ring[row, sides] = ring[row, 0]
    first[sides] = first[0]
    for k in range(sides):
        ring[3, k] = ring[0, k] * ring[1, k + 1] - ring[1, k] * ring[0, k + 1]
    ring[3, sides] = ring[3, 0]
    return sides


@compiled_fused
def _raise(slopes: Singles, view: View, ring: Floats, first: Integers, k: int, at: float, at_next: float) -> None:
    """Raise the slopes over side k to an edge at given heights over its two ends; on the far side they begin at 0."""
    turn = ring[3, k]
    to_east = np.float32((at * ring[1, k + 1] - at_next * ring[1, k]) / turn)
    to_north = np.float32((at_next * ring[0, k] - at * ring[0, k + 1]) / turn)
    begin, end = (first[k], first[k + 1]) if turn < 0 else (first[k + 1], first[k])
    end = begin + span(begin, end)
    least = np.float32(0)
    for part in range(2):  # of the circle, where it runs on past north
        for b in range(max(begin - part * AROUND, 0), min(end - part * AROUND, len(slopes))):
            slopes[b] = max(slopes[b] if turn < 0 else least, to_east * view.east[b] + to_north * view.north[b])


@compiled_fused
def _add(view: View, begin: int, end: int, inside: int, body: int, opaque: np.bool_) -> None:
    """Add a veil in each direction where it can be seen.

    It widens the last one there if both belong to one body and overlap; what is opaque and hangs below the horizon
    raises it.
    """
    size, veils, horizon, highest = view.size, view.veils, view.horizon, view.highest
    room = veils.shape[1]
    name = np.float32(body)
    for b in range(begin, end):
        low, high = view.leave[b], STEEP if inside else view.enter[b]
        if high <= horizon[b] or low >= highest[b]:
            continue
        if opaque and low <= horizon[b]:
            horizon[b] = high
            continue
        slot = size[b]
        if 0 < slot <= room:
            last = slot - 1
            if veils[b, last, 2] == name and low <= veils[b, last, 1] and veils[b, last, 0] <= high:
                veils[b, last, 0] = min(veils[b, last, 0], low)
                veils[b, last, 1] = max(veils[b, last, 1], high)
                continue
        if slot < room:
            veils[b, slot, 0], veils[b, slot, 1], veils[b, slot, 2] = low, high, name
        size[b] = slot + 1
