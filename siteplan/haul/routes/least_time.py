"""How long do moves and lines over the cells take, and which path is quickest?

Compiled loops: times of moves, Dijkstra's search, times of straight lines, pulling a path taut. Positions are
(column, row) in cells, row 0 in the north; times are infinite in blocked cells. Arrays are made by numpy outside the
loops and filled entry by entry: both save most of the time to compile.

`room` is the free distance at each cell's centre, as in `CostField`, in cells: lines keep it at 0 or above.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from siteplan.haul.loads.work_rates import CRITICAL_GRADE, TOBLER_BEST, TOBLER_DECAY
from siteplan.haul.routes.grid_moves import Moves
from siteplan.land.compiled import compiled_uncounted

Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]
Ints = NDArray[np.int32]
Flags = NDArray[np.bool_]

_AT_ONCE = 1e-9  # edges of a row and a column crossed within this share of a line are crossed at a corner
_WORTH = 1e-7  # least share of the time that a shift must save
_CORNER = 2e-6  # least share of a path's time that a corner must save; this drops corners that coincide
_SURELY = 2.0  # cells; margin of the quick test for clear moves: room falls by at most a cell a cell from each end
_SLACK = 0.02  # cells; tolerance for room along lines, so that joined moves that are clear one by one stay clear
_STRIP = 40  # rows processed at once
_STEPS = (8.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.125, 0.0625)  # cells by which corners of a path are shifted


@compiled_uncounted
def time_on_slope(level: float, rise: float, loaded: bool, max_grade: float) -> float:  # noqa: FBT001
    """Return the time of a metre on a slope, from that on the level; infinite if it is too steep. [s/m]"""
    if loaded:
        if rise > max_grade:
            return math.inf
        return level * (1.0 + (rise / CRITICAL_GRADE) ** 2)
    if rise == 0.0:
        return level
    return level * math.exp(TOBLER_DECAY * (abs(rise - TOBLER_BEST) - abs(TOBLER_BEST)))


@compiled_uncounted
def room_at(column: float, row: float, room: Floats) -> float:
    """Return the room at a point, by bilinear interpolation between the centres of cells. [cells]"""
    u, v = column - 0.5, row - 0.5
    west, north = math.floor(u), math.floor(v)
    across, down = u - west, v - north
    upper = room[north, west] * (1 - across) + room[north, west + 1] * across
    lower = room[north + 1, west] * (1 - across) + room[north + 1, west + 1] * across
    return float(upper * (1 - down) + lower * down)


@compiled_uncounted
def is_clear(column: float, row: float, to_column: float, to_row: float, room: Floats, least: float) -> bool:
    """Return whether the room along a straight line is nowhere less than `least`.

    The stride is nearly the room at a point, since room cannot change faster than the distance; at least half a cell.
    """
    du, dv = to_column - column, to_row - row
    length, walked = math.hypot(du, dv), 0.0
    while True:
        share = walked / length if length > 0 else 1.0
        room_here = room_at(column + share * du, row + share * dv, room)
        if room_here < least:
            return False
        if walked >= length:
            return True
        walked = min(length, walked + max(0.5, 0.7 * room_here))


@compiled_uncounted
def _slow_rows(
    pace: Floats, first_row: int, end_row: int, level: Floats, east: Floats, north: Floats,
    toward_east: float, toward_north: float, loaded: bool, max_grade: Floats,  # noqa: FBT001
) -> None:  # fmt: skip
    """Write into `pace` the time of a metre in one direction, for the rows from `first_row` to before `end_row`."""
    for row in range(first_row, end_row):
        for column in range(level.shape[1]):
            rise = east[row, column] * toward_east + north[row, column] * toward_north
            if rise != 0.0:
                pace[row, column] = time_on_slope(level[row, column], rise, loaded, max_grade[row, column])
            else:
                pace[row, column] = level[row, column]


@compiled_uncounted
def _any(flags: Flags, start: int, end: int) -> bool:
    """Return whether any of the flags from `start` to before `end` is set."""
    for k in range(start, end):  # noqa: SIM110  # a generator takes longer to compile
        if flags[k]:
            return True
    return False


@compiled_uncounted
def move_times(  # noqa: C901  # one walk over strips, moves and cells
    times: Floats32, stale: Flags, stale_rows: Flags, pace: Floats, margin: int,
    level: Floats, east: Floats, north: Floats, room: Floats,
    moves: Moves, loaded: bool, max_grade: Floats,  # noqa: FBT001
) -> None:  # fmt: skip
    """Write into `times` the time of each move from each stale cell, for cells of 1 m; infinite where barred.

    `times` has the shape (cells, moves), `stale_rows` tells the rows that hold a stale cell, and `pace` is a copy of
    `level` to work in. No move goes beyond `margin` rows or columns.

    Move k goes `steps[k]` = (rows, columns) and crosses `crossed[starts[k]:starts[k + 1]]` for `lengths` of a cell,
    none of them 0, so that a barred cell bars every move that touches it.
    """
    rows, columns = level.shape
    steps = moves.steps
    for top in range(margin, rows - margin, _STRIP):  # in strips, so that the arrays written stay in the cache
        bottom = min(top + _STRIP, rows - margin)
        if not _any(stale_rows, top, bottom):
            continue
        for k in range(len(steps)):
            length = math.hypot(steps[k, 0], steps[k, 1])
            toward_east, toward_north = steps[k, 1] / length, -steps[k, 0] / length
            _slow_rows(
                pace, top - margin, bottom + margin, level, east, north, toward_east, toward_north, loaded, max_grade
            )
            for row in range(top, bottom):
                for column in range(margin, columns - margin):
                    if not stale[row, column]:
                        continue
                    cell = row * columns + column
                    times[cell, k] = math.inf
                    if not math.isfinite(pace[row, column]):
                        continue
                    room_there = room[row + steps[k, 0], column + steps[k, 1]]
                    if room[row, column] + room_there < length + _SURELY:  # else no barrier can be in between
                        u, v = column + 0.5, row + 0.5
                        if room_there < 0.0 or not is_clear(u, v, u + steps[k, 1], v + steps[k, 0], room, 0.0):
                            continue
                    total = 0.0
                    for i in range(moves.starts[k], moves.starts[k + 1]):
                        total += moves.lengths[i] * pace[row + moves.crossed[i, 0], column + moves.crossed[i, 1]]
                    times[cell, k] = total


@compiled_uncounted
def _sink(heap: Ints, place: Ints, time: Floats, size: int) -> None:
    """Move the heap's first entry down to where it belongs."""
    node, hole = heap[0], 0
    while True:
        child = 4 * hole + 1
        if child >= size:
            break
        least = child
        for sibling in range(child + 1, min(child + 4, size)):
            if time[heap[sibling]] < time[heap[least]]:
                least = sibling
        if time[heap[least]] >= time[node]:
            break
        heap[hole] = heap[least]
        place[heap[hole]] = hole
        hole = least
    heap[hole] = node
    place[node] = hole


@compiled_uncounted
def _rise(heap: Ints, place: Ints, time: Floats, start: int) -> None:
    """Move a heap's entry up to where it belongs."""
    hole, node = start, heap[start]
    while hole > 0:
        above = (hole - 1) // 4
        if time[heap[above]] <= time[node]:
            break
        heap[hole] = heap[above]
        place[heap[hole]] = hole
        hole = above
    heap[hole] = node
    place[node] = hole


def times_of_return(times: Floats32, steps: Ints, opposite: Ints) -> Floats32:
    """Return the time of the return of each move to each cell, from the times of all moves, shape (cells, moves)."""
    back = np.full_like(times, np.inf)
    _turn_back(times, steps, opposite, back)
    return back


@compiled_uncounted
def _turn_back(times: Floats32, steps: Ints, opposite: Ints, back: Floats32) -> None:
    for node in range(len(times)):
        for k in range(len(steps)):
            if 0 <= node + steps[k] < len(times):
                back[node, k] = times[node + steps[k], opposite[k]]


def dijkstra(times: Floats32, steps: Ints, starts: Ints) -> tuple[Floats, Ints]:
    """Return the least time from `starts` to each cell, and each cell's neighbour before it.

    `steps[k]` is the offset of move k in the flat array. The neighbour is -1 at a start and where there is no way.
    """
    cells = len(times)
    time = np.full(cells, np.inf)
    previous, place = np.full(cells, -1, dtype=np.int32), np.full(cells, -1, dtype=np.int32)
    _search(times, steps, starts, time, previous, place, np.empty(cells, dtype=np.int32))
    return time, previous


@compiled_uncounted
def _search(
    times: Floats32, steps: Ints, starts: Ints, time: Floats, previous: Ints, place: Ints, heap: Ints
) -> None:
    """Fill `time` and `previous` by Dijkstra's search over a four-way heap."""
    count, size = times.shape[1], 0
    for start in starts:
        if place[start] < 0:
            time[start] = 0.0
            heap[size] = start
            place[start] = size
            size += 1
    while size > 0:
        node = heap[0]
        size -= 1
        place[node] = -2
        if size > 0:
            heap[0] = heap[size]
            _sink(heap, place, time, size)
        for k in range(count):
            duration = times[node, k]
            if not math.isfinite(duration):
                continue
            neighbour = node + steps[k]
            if time[node] + duration < time[neighbour]:
                time[neighbour] = time[node] + duration
                previous[neighbour] = node
                if place[neighbour] < 0:
                    heap[size] = neighbour
                    place[neighbour] = size
                    size += 1
                _rise(heap, place, time, place[neighbour])


@compiled_uncounted
def line_time(  # noqa: C901  # one walk over the cells, its cases in the order they come
    start: Floats, end: Floats,
    level: Floats, east: Floats, north: Floats, room: Floats, loaded: bool, max_grade: Floats,  # noqa: FBT001
) -> float:  # fmt: skip
    """Return the time along a straight line between two points (column, row), for cells of 1 m; infinite if blocked.

    A line through a corner of cells is blocked if either of the cells beside the corner is.
    """
    du, dv = end[0] - start[0], end[1] - start[1]
    length = math.hypot(du, dv)
    column, row = math.floor(start[0]), math.floor(start[1])
    if du < 0 and start[0] == column:
        column -= 1
    if dv < 0 and start[1] == row:
        row -= 1
    if not is_clear(start[0], start[1], end[0], end[1], room, -_SLACK):
        return math.inf
    if length == 0.0:
        return 0.0 if math.isfinite(level[row, column]) else math.inf
    step_u, step_v = (1 if du > 0 else -1), (1 if dv > 0 else -1)
    next_u = ((column + (du > 0)) - start[0]) / du if du != 0 else math.inf
    next_v = ((row + (dv > 0)) - start[1]) / dv if dv != 0 else math.inf
    covered, total = 0.0, 0.0
    while True:
        until = min(next_u, next_v, 1.0)
        if until - covered > _AT_ONCE or until >= 1.0:
            if not math.isfinite(level[row, column]):
                return math.inf
            rise = (east[row, column] * du - north[row, column] * dv) / length
            total += (
                (until - covered) * length * time_on_slope(level[row, column], rise, loaded, max_grade[row, column])
            )
        if until >= 1.0 - _AT_ONCE or not math.isfinite(total):
            return total
        covered = until
        corner = abs(next_u - next_v) < _AT_ONCE
        if corner and not math.isfinite(level[row, column + step_u] + level[row + step_v, column]):
            return math.inf
        if next_u <= until + _AT_ONCE:
            column += step_u
            next_u += abs(1.0 / du)
        if next_v <= until + _AT_ONCE:
            row += step_v
            next_v += abs(1.0 / dv)


def pull_taut(
    points: Floats, level: Floats, east: Floats, north: Floats, room: Floats, loaded: bool, max_grade: Floats,  # noqa: FBT001
) -> Floats:  # fmt: skip
    """Return the quickest path through some of a path's points, by straight lines; first and last are kept."""
    least_times, previous = np.full(len(points), np.inf), np.zeros(len(points), dtype=np.int32)
    _pull(points, least_times, previous, level, east, north, room, loaded, max_grade)
    chain = [len(points) - 1]
    while chain[-1] > 0:
        chain.append(int(previous[chain[-1]]))
    return points[chain[::-1]]


@compiled_uncounted
def _pull(
    points: Floats, least_times: Floats, previous: Ints,
    level: Floats, east: Floats, north: Floats, room: Floats, loaded: bool, max_grade: Floats,  # noqa: FBT001
) -> None:  # fmt: skip
    """Fill in the least time to each point, and the point before it on the way."""
    count = len(points)
    least_times[0] = 0.0
    corner = 0.0
    for j in range(1, count):
        corner += _CORNER * line_time(points[j - 1], points[j], level, east, north, room, loaded, max_grade)
    for j in range(1, count):
        for i in range(j):
            duration = (
                least_times[i] + corner + line_time(points[i], points[j], level, east, north, room, loaded, max_grade)
            )
            if duration < least_times[j] - _AT_ONCE:
                least_times[j], previous[j] = duration, i


def relax(
    points: Floats, level: Floats, east: Floats, north: Floats, room: Floats, loaded: bool, max_grade: Floats,  # noqa: FBT001
    sweeps: int, largest: float, least: float,
) -> Floats:  # fmt: skip
    """Return a path whose inner points are shifted, by steps from `largest` to `least`, to save time."""
    path = points.copy()
    for step in _STEPS:
        if least <= step <= largest:
            stale = np.ones(len(path), dtype=np.bool_)
            _relax(path, stale, np.empty(2), level, east, north, room, loaded, max_grade, sweeps, step)
    return path


@compiled_uncounted
def _relax(
    path: Floats, stale: Flags, trial: Floats,
    level: Floats, east: Floats, north: Floats, room: Floats, loaded: bool, max_grade: Floats,  # noqa: FBT001
    sweeps: int, step: float,
) -> None:  # fmt: skip
    """Shift the inner points of a path by a step; `stale` marks points that moved, or whose neighbour did."""
    for _ in range(sweeps):
        any_stale = False
        for i in range(1, len(path) - 1):
            if not stale[i]:
                continue
            stale[i] = False
            least = line_time(path[i - 1], path[i], level, east, north, room, loaded, max_grade)
            least += line_time(path[i], path[i + 1], level, east, north, room, loaded, max_grade)
            column, row = path[i, 0], path[i, 1]
            for k in range(8):
                trial[0] = column + step * math.cos(k * math.pi / 4)
                trial[1] = row + step * math.sin(k * math.pi / 4)
                duration = line_time(path[i - 1], trial, level, east, north, room, loaded, max_grade)
                if duration < least:
                    duration += line_time(trial, path[i + 1], level, east, north, room, loaded, max_grade)
                    if duration < least * (1 - _WORTH):
                        least = duration
                        path[i, 0], path[i, 1] = trial[0], trial[1]
                        stale[i - 1], stale[i], stale[i + 1] = True, True, True
        for i in range(1, len(path) - 1):
            any_stale = any_stale or stale[i]
        if not any_stale:
            break


def subdivide(points: Floats, level: Floats, longest: float) -> Floats:
    """Return a path with additional points: where the ground changes, and at least every `longest` cells."""
    spans = np.diff(points, axis=0)
    most = np.hypot(spans[:, 0], spans[:, 1]) * 4 + 2
    path = np.empty((int(most.sum()) + 1, 2))
    return path[: _divide(points, level, longest, path)].copy()


@compiled_uncounted
def _divide(points: Floats, level: Floats, longest: float, path: Floats) -> int:
    """Fill in the path and return how many points it has."""
    path[0, 0], path[0, 1] = points[0, 0], points[0, 1]
    count = 1
    for i in range(1, len(points)):
        du, dv = points[i, 0] - points[i - 1, 0], points[i, 1] - points[i - 1, 1]
        length = math.hypot(du, dv)
        pieces = max(1, math.ceil(length * 4))
        last_share = 0.0
        for k in range(1, pieces):
            share, earlier = k / pieces, (k - 1) / pieces
            level_here = level[int(points[i - 1, 1] + share * dv), int(points[i - 1, 0] + share * du)]
            level_before = level[int(points[i - 1, 1] + earlier * dv), int(points[i - 1, 0] + earlier * du)]
            if level_here != level_before or (share - last_share) * length >= longest:
                path[count, 0], path[count, 1] = points[i - 1, 0] + share * du, points[i - 1, 1] + share * dv
                count += 1
                last_share = share
        path[count, 0], path[count, 1] = points[i, 0], points[i, 1]
        count += 1
    return count
