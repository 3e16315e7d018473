"""Which way is quickest with a barrow?

Dijkstra's search over moves in 40 directions on a cost field. Then the path is pulled taut, so that it runs at any
angle, and compared with paths from corner to corner of the barriers.
"""

from __future__ import annotations

import functools
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import LineString

from siteplan.haul.ground.cost_field import FAR, CostField
from siteplan.haul.routes.grid_moves import Moves, taut_moves
from siteplan.land.cores import core_count
from siteplan.land.grid import Floats

Cells = NDArray[np.int32]
Times = NDArray[np.float32]

# Rounds in which a path is pulled taut: largest distance between the corners tried, then largest and least step by
# which they are shifted. On a slope, finer steps save next to nothing. [cells]
FARTHEST, FINEST_SHIFT = 8.0, 1 / 16
LEVEL_ROUNDS = ((np.inf, FARTHEST, FINEST_SHIFT), (10.0, 1.0, FINEST_SHIFT))
SLOPE_ROUNDS = ((24.0, 4.0, 0.5), (12.0, 1.0, 0.25))
SWEEPS = 4  # sweeps over all corners for each step size
WORTH_ROUND = 5e-4  # least share of the time that a path by the barriers' corners must save
MOST_KEPT = 64  # most maps of least times in the cache, 2 MB each on a hectare


@dataclass(frozen=True, eq=False)
class LeastTimes:
    """Least times over the whole ground, from some cells or to them.

    Attributes
    ----------
    seconds : ndarray, shape (rows, columns)
        Infinite where there is no way. [s]
    before : ndarray of int
        Each cell's neighbour on its path, as a position in the router's padded flat array.
    loaded, towards : bool
        Whether the barrow is loaded; whether the times are to the cells rather than from them.
    """

    seconds: Floats
    before: NDArray[np.int32]
    loaded: bool
    towards: bool


class Router:
    """Routes over one cost field.

    Parameters
    ----------
    ground : CostField
    moves : Moves, optional
        By default in 40 directions.
    like : Router, optional
        Router over a cost field that differs in some cells only: its times of moves are copied, and computed anew
        near those cells.

    Notes
    -----
    A path of moves in 40 directions is at most 0.8 % longer than a straight line on open ground, and up to three
    cells longer beside barriers. It is then pulled taut: corners that do not help are dropped, the others shifted to
    where the time is least. If the path still turns, paths from corner to corner of the barriers are tried as well.
    On three benchmark maps with 60 paths each, it is at most 0.05 % longer than the shortest path, on average 0.01 %
    (`tests/published/test_routes_visibility.py`). That is on level ground of one kind. Where the ground changes or
    slopes, paths are tested against finer grids, and are within 1 %.

    A line through a corner of a cell needs both cells beside the corner to be free. With `room` in the cost field,
    lines keep clear of barriers to about a hundredth of a metre; a gap other than a gate may be missed if it has less
    than a cell and a half to spare. On a slope that is too steep, paths zigzag as often as the cells allow: the
    tightness of turns is not checked.
    """

    def __init__(self, ground: CostField, *, moves: Moves | None = None, like: Router | None = None) -> None:
        self.ground = ground
        self.moves: Moves = moves or (like.moves if like else taut_moves())
        margin, cell = self.moves.margin, ground.grid.cell
        self._like = like
        self._margin = margin
        self._kept: dict[tuple[bytes, bool, bool], LeastTimes] = {}
        self._width = ground.grid.columns + 2 * margin
        self._loaded = np.pad(ground.loaded * cell, margin, constant_values=np.inf)
        self._empty = np.pad(ground.empty * cell, margin, constant_values=np.inf)
        self._east = np.pad(ground.rise_east, margin)
        self._north = np.pad(ground.rise_north, margin)
        self._max_grade = np.pad(np.broadcast_to(ground.max_grade, ground.loaded.shape), margin)
        if ground.room is None:
            self._room = np.full(self._loaded.shape, 1e9)
        else:
            self._room = np.pad(ground.room / cell, margin, constant_values=-FAR)
            self._loaded, self._empty = (
                _filled_edges(self._loaded, self._room),
                _filled_edges(self._empty, self._room),
            )

    @functools.cached_property
    def level(self) -> bool:
        """Whether the ground has no slope at all."""
        return not (self._east.any() or self._north.any())

    @functools.cached_property
    def _ratio(self) -> float | None:
        """Ratio of the loaded to the empty time of a metre in most cells, on level ground; None on a slope."""
        passable = np.isfinite(self._loaded) & np.isfinite(self._empty)
        if not self.level or not passable.any():
            return None
        return float(np.median(self._loaded[passable] / self._empty[passable]))

    @functools.cached_property
    def _exceptions(self) -> NDArray[np.bool_]:
        """Cells with another ratio, such as steps, shape (rows, columns) of the padded array."""
        with np.errstate(invalid="ignore"):  # infinity over infinity where nobody passes
            as_usual = np.abs(self._loaded - self._empty * (self._ratio or 0.0)) <= 1e-9 * self._loaded
        return np.isfinite(self._empty) & ~(as_usual & np.isfinite(self._loaded))

    @functools.cached_property
    def loaded_to_empty(self) -> float | None:
        """Ratio of the loaded to the empty time, if it is the same for all paths; else None."""
        return self._ratio if self._ratio is not None and not self._exceptions.any() else None

    @functools.cached_property
    def _loaded_times(self) -> Times:
        return self._move_times(loaded=True) if self._like is None else self._derived(self._like, loaded=True)

    @functools.cached_property
    def _empty_times(self) -> Times:
        if self.loaded_to_empty == 1.0:
            return self._loaded_times
        if self._ratio is not None:
            estimated = self._loaded_times / np.float32(self._ratio)
            return self._move_times(loaded=False, known=estimated, changed=self._exceptions)
        return self._move_times(loaded=False) if self._like is None else self._derived(self._like, loaded=False)

    def _derived(self, like: Router, *, loaded: bool) -> Times:
        """Return the times of all moves from those of another router, computed anew where the ground differs."""
        (mine, *_, room, _, _), (other, *_, its_room, _, _) = self.layers(loaded=loaded), like.layers(loaded=loaded)
        known = like.times_of_moves(loaded=loaded, towards=False).copy()
        return self._move_times(loaded=loaded, known=known, changed=(mine != other) | (room != its_room))

    @functools.cached_property
    def _loaded_back(self) -> Times:
        return self._times_of_return(self._loaded_times)

    @functools.cached_property
    def _empty_back(self) -> Times:
        return self._times_of_return(self._empty_times)

    def _times_of_return(self, times: Times) -> Times:
        """Return the time of the return of each move; on level ground it is the same as of the move."""
        from siteplan.haul.routes import least_time

        return times if self.level else least_time.times_of_return(times, self._strides, self.moves.opposite)

    def prepare(self) -> None:
        """Compute the times of all moves; if loaded and empty differ, both at once in two threads."""
        if self._ratio is not None:
            _ = self._empty_times
            return
        with ThreadPoolExecutor(min(2, core_count())) as pool:
            for job in (pool.submit(lambda: self._loaded_times), pool.submit(lambda: self._empty_back)):
                job.result()

    @property
    def _strides(self) -> Cells:
        """Offset of each move in the flat array, shape (moves,)."""
        return np.asarray(self.moves.steps[:, 0] * self._width + self.moves.steps[:, 1], dtype=np.int32)

    def times_of_moves(self, *, loaded: bool, towards: bool) -> Times:
        """Return the time of each move from each cell, or of its return, shape (cells, moves). [s]"""
        if towards:
            return self._loaded_back if loaded else self._empty_back
        return self._loaded_times if loaded else self._empty_times

    def layers(self, *, loaded: bool) -> tuple[Floats, Floats, Floats, Floats, bool, Floats]:
        """Return the arguments of the compiled loops: time, rise east and north, room, loaded, steepest climb.

        The arrays are padded by the margin.
        """
        return (
            (self._loaded if loaded else self._empty),
            self._east,
            self._north,
            self._room,
            loaded,
            self._max_grade,
        )

    def _move_times(
        self, *, loaded: bool, known: Times | None = None, changed: NDArray[np.bool_] | None = None
    ) -> Times:
        """Return the times of all moves, shape (cells, moves); `known` times are computed anew near changed cells."""
        from scipy.ndimage import maximum_filter

        from siteplan.haul.routes import least_time  # imported here: numba takes long to load

        level, east, north, room, _, max_grade = self.layers(loaded=loaded)
        moves = self.moves
        if known is None or changed is None:
            stale = np.ones(level.shape, dtype=bool)
            times = np.full((level.size, len(moves.steps)), np.inf, dtype=np.float32)
        else:
            stale = maximum_filter(changed, size=2 * (self._margin + 2) + 1)
            times = known
        least_time.move_times(
            times, stale, np.asarray(stale.any(axis=1)), level.copy(), self._margin, level, east, north, room,
            moves, loaded, max_grade,
        )  # fmt: skip
        return times

    def least_times(self, cells: Cells, *, loaded: bool, towards: bool = False, keep: bool = True) -> LeastTimes:
        """Return the least time from the nearest of `cells` to every cell, or from every cell to them.

        Parameters
        ----------
        cells : ndarray, shape (n, 2)
            Rows and columns.
        loaded : bool
            With a loaded barrow.
        towards : bool
            Whether `cells` are where the paths end.
        keep : bool
            Whether to keep the result in the cache: plans that are compared share most of them.
        """
        starts = self._flat(np.asarray(cells, dtype=np.int32).reshape(-1, 2))
        key = (starts.tobytes(), loaded, towards)
        times = self._kept.get(key)
        if times is None:
            times = self._searched(starts, loaded=loaded, towards=towards)
            if keep:
                if len(self._kept) >= MOST_KEPT:
                    self._kept.clear()
                self._kept[key] = times
        return times

    def _searched(self, starts: Cells, *, loaded: bool, towards: bool) -> LeastTimes:
        from siteplan.haul.routes import least_time

        level = self.layers(loaded=loaded)[0]
        starts = starts[np.isfinite(level.ravel()[starts]) & (self._room.ravel()[starts] >= 0)]
        seconds, before = least_time.dijkstra(
            self.times_of_moves(loaded=loaded, towards=towards), self._strides, starts
        )
        inner = slice(self._margin, -self._margin)
        shaped = seconds.reshape(level.shape)[inner, inner]
        return LeastTimes(np.ascontiguousarray(shaped), before, loaded, towards)

    def _flat(self, cells: Cells) -> Cells:
        padded = cells + self._margin
        return np.asarray(padded[:, 0] * self._width + padded[:, 1], dtype=np.int32)

    def steps(self, times: LeastTimes, cell: tuple[int, int]) -> Cells:
        """Return the cells of the quickest path to (or from) `cell`, in the order they are walked, shape (n, 2)."""
        chain = [int(self._flat(np.array([cell], dtype=np.int32))[0])]
        while times.before[chain[-1]] >= 0:
            chain.append(int(times.before[chain[-1]]))
        walked = np.array(chain if times.towards else chain[::-1])
        return np.column_stack([walked // self._width, walked % self._width]).astype(np.int32) - self._margin

    def quickest_line(self, times: LeastTimes, cell: tuple[int, int]) -> tuple[LineString, float]:
        """Return the taut path to (or from) `cell`, in the direction walked, and its time. [s]

        If the cell is itself a start, the line has two equal points.
        """
        path = self.steps(times, cell)[:, ::-1].astype(np.float64) + (0.5 + self._margin)
        if len(path) == 1:
            return self._line(np.vstack([path, path])), 0.0
        taut = self._taut(_without_straight_points(path), loaded=times.loaded)
        seconds = self._time(taut, loaded=times.loaded)
        if len(taut) > 2:  # a path around a corner may be quicker on the other side of the barrier
            by_corners = self._round_corners(taut, times, seconds)
            if by_corners is not None:
                by_corners = self._taut(by_corners, loaded=times.loaded)
                by_corners_seconds = self._time(by_corners, loaded=times.loaded)
                taut, seconds = (by_corners, by_corners_seconds) if by_corners_seconds < seconds else (taut, seconds)
        return self._line(taut), seconds

    def _round_corners(self, path: Floats, times: LeastTimes, seconds: float) -> Floats | None:
        """Return a path between the same ends from corner to corner of barriers; None if none is quicker."""
        from siteplan.haul.routes.corners import quickest_by_corners

        corners = self._corners[times.loaded]
        column, row = corners.T.astype(np.int64) - self._margin
        rows, columns = times.seconds.shape
        corner_times = times.seconds[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
        start, end = (path[-1], path[0]) if times.towards else (path[0], path[-1])
        most = seconds * (1 - WORTH_ROUND)
        quickest = quickest_by_corners(
            start, end, corners, corner_times, most, self.layers(loaded=times.loaded), towards=times.towards
        )
        return np.ascontiguousarray(quickest[::-1]) if quickest is not None and times.towards else quickest

    @functools.cached_property
    def _corners(self) -> dict[bool, Floats]:
        """Where paths may turn, loaded (True) and empty (False), as padded columns and rows, shape (n, 2)."""
        from siteplan.haul.routes.corners import corners_of

        room = None if self.ground.room is None else self._room
        return {loaded: corners_of(self.layers(loaded=loaded)[0], room) for loaded in (True, False)}

    def _taut(self, path: Floats, *, loaded: bool) -> Floats:
        from siteplan.haul.routes import least_time

        layers = self.layers(loaded=loaded)
        path = least_time.pull_taut(path, *layers)
        for longest, largest, least in LEVEL_ROUNDS if self.level else SLOPE_ROUNDS:
            path = least_time.relax(least_time.subdivide(path, layers[0], longest), *layers, SWEEPS, largest, least)
            path = least_time.pull_taut(path, *layers)
            if self.level:  # once its neighbours are dropped, a corner may move far
                path = least_time.relax(path, *layers, SWEEPS, FARTHEST, FINEST_SHIFT)
        return least_time.relax(path, *layers, SWEEPS, 0.25, 0.125)

    def _time(self, path: Floats, *, loaded: bool) -> float:
        from siteplan.haul.routes import least_time

        layers = self.layers(loaded=loaded)
        return float(sum(least_time.line_time(path[i], path[i + 1], *layers) for i in range(len(path) - 1)))

    def _line(self, path: Floats) -> LineString:
        grid = self.ground.grid
        column, row = (path - self._margin).T
        return LineString(np.column_stack([grid.west + column * grid.cell, grid.north - row * grid.cell]))


def _filled_edges(level: Floats, room: Floats) -> Floats:
    """Return the times, with the cells on a barrier's edge filled from the nearest free cell.

    Lines may cross such cells partly: there `room` keeps them clear of the barrier.
    """
    from scipy.ndimage import distance_transform_edt

    open_ground = np.isfinite(level)
    edge = ~open_ground & (room < 0) & (room > -2)
    if not open_ground.any():
        return level
    nearest = distance_transform_edt(~open_ground, return_distances=False, return_indices=True)
    return np.where(edge, level[nearest[0], nearest[1]], level)


def _without_straight_points(path: Floats) -> Floats:
    """Return a path without the points at which it does not turn."""
    spans = np.diff(path, axis=0)
    turns = (np.abs(np.diff(spans, axis=0)) > 1e-9).any(axis=1)
    return np.asarray(path[np.concatenate([[True], turns, [True]])])
