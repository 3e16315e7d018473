"""Which way is quickest with a barrow?

Dijkstra's search over moves in 40 directions on a cost field, then the path is pulled taut at any angle, and held
against ways from corner to corner of the barriers.
It leaves out loads: a route is once out and once back.
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

# Rounds in which a path is pulled taut: a corner is tried at least every so many cells, and shifted by steps from the
# largest to the least. On a slope time is flat around a corner's best place, and finer steps save nothing. [cells]
FARTHEST, FINEST_SHIFT = 8.0, 1 / 16
LEVEL_ROUNDS = ((np.inf, FARTHEST, FINEST_SHIFT), (10.0, 1.0, FINEST_SHIFT))
SLOPE_ROUNDS = ((24.0, 4.0, 0.5), (12.0, 1.0, 0.25))
SWEEPS = 4  # over all corners for each step by which they are shifted
WORTH_ROUND = 5e-4  # share of the time that a way round other corners must save
MOST_KEPT = 64  # maps of least times, 2 MB each on a hectare


@dataclass(frozen=True, eq=False)
class LeastTimes:
    """Least times over the whole ground, from some cells or to them.

    Attributes
    ----------
    seconds : ndarray, shape (rows, columns)
        Infinite where there is no way. [s]
    before : ndarray
        Each cell's neighbour on the way, in the padded flat array of its router.
    loaded, towards : bool
        With a load; and whether the times are those to the cells.
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
        In 40 directions when not given.
    like : Router, optional
        Over a cost field that differs in some cells alone: the times of moves are taken from it, and worked out anew
        about those cells.

    Notes
    -----
    The search by moves in 40 directions is at most 0.8 % longer than straight on open ground; beside barriers by up
    to three cells. The path is then pulled taut: corners that do not help are dropped, the others shifted to where
    the time is least. Where it still turns, ways from corner to corner of the barriers are tried as well. On three
    benchmark maps, 60 ways each, the result is at most 0.05 % longer than the shortest there is, on average 0.01 %
    (`tests/published/test_routes_visibility.py`). That is level ground of one kind: where the ground changes or
    slopes, ways are held to finer grids, within 1 %.

    A line through a corner of a cell needs both cells beside it, so that nothing is cut. Where the ground knows its
    `room`, lines keep clear of barriers to a hundredth of a metre or so; a gap, other than a gate, with less than a
    cell and a half to spare may be taken as shut. Barrow and walker follow a slope that is too steep at a slant,
    turning as often as the cells allow: how tight the turns are is not judged.
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
            self._loaded, self._empty = _edged(self._loaded, self._room), _edged(self._empty, self._room)

    @functools.cached_property
    def level(self) -> bool:
        """Whether the ground has no slope at all."""
        return not (self._east.any() or self._north.any())

    @functools.cached_property
    def _ratio(self) -> float | None:
        """How many times longer a metre takes loaded than empty, as a rule, on level ground; None on a slope."""
        both = np.isfinite(self._loaded) & np.isfinite(self._empty)
        return float(np.median(self._loaded[both] / self._empty[both])) if self.level and both.any() else None

    @functools.cached_property
    def _exceptions(self) -> NDArray[np.bool_]:
        """Cells that break this rule, as steps do, shape (rows, columns) of the padded array."""
        with np.errstate(invalid="ignore"):  # infinity over infinity where nobody passes
            as_ruled = np.abs(self._loaded - self._empty * (self._ratio or 0.0)) <= 1e-9 * self._loaded
        return np.isfinite(self._empty) & ~(as_ruled & np.isfinite(self._loaded))

    @functools.cached_property
    def same_way(self) -> float | None:
        """How many times longer every way takes loaded than back empty, where that is one factor; else None."""
        return self._ratio if self._ratio is not None and not self._exceptions.any() else None

    @functools.cached_property
    def _loaded_times(self) -> Times:
        return self._move_times(loaded=True) if self._like is None else self._derived(self._like, loaded=True)

    @functools.cached_property
    def _empty_times(self) -> Times:
        if self.same_way == 1.0:
            return self._loaded_times
        if self._ratio is not None:
            known = self._loaded_times / np.float32(self._ratio)
            return self._move_times(loaded=False, known=known, changed=self._exceptions)
        return self._move_times(loaded=False) if self._like is None else self._derived(self._like, loaded=False)

    def _derived(self, like: Router, *, loaded: bool) -> Times:
        """Return the times of all moves from those of another router, worked out anew where the ground differs."""
        (mine, *_, room, _, _), (other, *_, its_room, _, _) = self.layers(loaded=loaded), like.layers(loaded=loaded)
        known = like.times_of_moves(loaded=loaded, towards=False).copy()
        return self._move_times(loaded=loaded, known=known, changed=(mine != other) | (room != its_room))

    @functools.cached_property
    def _loaded_back(self) -> Times:
        return self._turned_back(self._loaded_times)

    @functools.cached_property
    def _empty_back(self) -> Times:
        return self._turned_back(self._empty_times)

    def _turned_back(self, times: Times) -> Times:
        """Return the times of coming back by each move; on level ground they are those of going."""
        from siteplan.haul.routes import least_time

        return times if self.level else least_time.turned_back(times, self._strides, self.moves.opposite)

    def prepare(self) -> None:
        """Work out the times of all moves, out loaded and back empty at once where they differ."""
        if self._ratio is not None:
            _ = self._empty_times
            return
        with ThreadPoolExecutor(min(2, core_count())) as both:
            for done in (both.submit(lambda: self._loaded_times), both.submit(lambda: self._empty_back)):
                done.result()

    @property
    def _strides(self) -> Cells:
        """How far each move goes in the flat array, shape (moves,)."""
        return np.asarray(self.moves.steps[:, 0] * self._width + self.moves.steps[:, 1], dtype=np.int32)

    def times_of_moves(self, *, loaded: bool, towards: bool) -> Times:
        """Return the time of each move from each cell, or of coming back by it, shape (cells, moves). [s]"""
        if towards:
            return self._loaded_back if loaded else self._empty_back
        return self._loaded_times if loaded else self._empty_times

    def layers(self, *, loaded: bool) -> tuple[Floats, Floats, Floats, Floats, bool, Floats]:
        """Return what the compiled loops ask of the ground: padded arrays, the last the steepest climb."""
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
        """Return the times of all moves, shape (cells, moves); those that are known are mended near a change."""
        from scipy.ndimage import maximum_filter

        from siteplan.haul.routes import least_time  # the compiler is loaded late

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
            Whether `cells` are where the ways end.
        keep : bool
            Whether it may be asked again.

        Notes
        -----
        What was asked once is kept: plans that are compared share most of it.
        """
        starts = self._flat(np.asarray(cells, dtype=np.int32).reshape(-1, 2))
        key = (starts.tobytes(), loaded, towards)
        found = self._kept.get(key)
        if found is None:
            found = self._searched(starts, loaded=loaded, towards=towards)
            if keep:
                if len(self._kept) >= MOST_KEPT:
                    self._kept.clear()
                self._kept[key] = found
        return found

    def _searched(self, starts: Cells, *, loaded: bool, towards: bool) -> LeastTimes:
        from siteplan.haul.routes import least_time

        level = self.layers(loaded=loaded)[0]
        starts = starts[np.isfinite(level.ravel()[starts]) & (self._room.ravel()[starts] >= 0)]
        seconds, before = least_time.spread(
            self.times_of_moves(loaded=loaded, towards=towards), self._strides, starts
        )
        inner = slice(self._margin, -self._margin)
        shaped = seconds.reshape(level.shape)[inner, inner]
        return LeastTimes(np.ascontiguousarray(shaped), before, loaded, towards)

    def _flat(self, cells: Cells) -> Cells:
        padded = cells + self._margin
        return np.asarray(padded[:, 0] * self._width + padded[:, 1], dtype=np.int32)

    def steps(self, times: LeastTimes, cell: tuple[int, int]) -> Cells:
        """Return the cells of the least-time way to (or from) `cell` in the order they are walked, shape (n, 2)."""
        chain = [int(self._flat(np.array([cell], dtype=np.int32))[0])]
        while times.before[chain[-1]] >= 0:
            chain.append(int(times.before[chain[-1]]))
        walked = np.array(chain if times.towards else chain[::-1])
        return np.column_stack([walked // self._width, walked % self._width]).astype(np.int32) - self._margin

    def way(self, times: LeastTimes, cell: tuple[int, int]) -> tuple[LineString, float]:
        """Return the taut way to (or from) `cell`, in the direction walked, and its time. [s]

        The line has two equal points where the cell is itself a start.
        """
        path = self.steps(times, cell)[:, ::-1].astype(np.float64) + (0.5 + self._margin)
        if len(path) == 1:
            return self._line(np.vstack([path, path])), 0.0
        taut = self._taut(_turns(path), loaded=times.loaded)
        seconds = self._time(taut, loaded=times.loaded)
        if len(taut) > 2:  # what goes round a corner may be quicker the other way round
            other = self._round_corners(taut, times, seconds)
            if other is not None:
                other = self._taut(other, loaded=times.loaded)
                taken = self._time(other, loaded=times.loaded)
                taut, seconds = (other, taken) if taken < seconds else (taut, seconds)
        return self._line(taut), seconds

    def _round_corners(self, path: Floats, times: LeastTimes, seconds: float) -> Floats | None:
        """Return a way between the ends of a path, from corner to corner of barriers; None where none is quicker."""
        from siteplan.haul.routes.corners import way_round

        corners = self._corners[times.loaded]
        column, row = corners.T.astype(np.int64) - self._margin
        rows, columns = times.seconds.shape
        found = times.seconds[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
        start, end = (path[-1], path[0]) if times.towards else (path[0], path[-1])
        most = seconds * (1 - WORTH_ROUND)
        way = way_round(start, end, corners, found, most, self.layers(loaded=times.loaded), towards=times.towards)
        return np.ascontiguousarray(way[::-1]) if way is not None and times.towards else way

    @functools.cached_property
    def _corners(self) -> dict[bool, Floats]:
        """Where ways may turn, by whether they are gone loaded, in padded columns and rows."""
        from siteplan.haul.routes.corners import corners_of

        room = None if self.ground.room is None else self._room
        return {loaded: corners_of(self.layers(loaded=loaded)[0], room) for loaded in (True, False)}

    def _taut(self, path: Floats, *, loaded: bool) -> Floats:
        from siteplan.haul.routes import least_time

        layers = self.layers(loaded=loaded)
        path = least_time.pulled(path, *layers)
        for longest, largest, least in LEVEL_ROUNDS if self.level else SLOPE_ROUNDS:
            path = least_time.relaxed(least_time.divided(path, layers[0], longest), *layers, SWEEPS, largest, least)
            path = least_time.pulled(path, *layers)
            if self.level:  # a corner that is left over shifts far once its neighbours are gone
                path = least_time.relaxed(path, *layers, SWEEPS, FARTHEST, FINEST_SHIFT)
        return least_time.relaxed(path, *layers, SWEEPS, 0.25, 0.125)

    def _time(self, path: Floats, *, loaded: bool) -> float:
        from siteplan.haul.routes import least_time

        layers = self.layers(loaded=loaded)
        return float(sum(least_time.line_time(path[i], path[i + 1], *layers) for i in range(len(path) - 1)))

    def _line(self, path: Floats) -> LineString:
        grid = self.ground.grid
        column, row = (path - self._margin).T
        return LineString(np.column_stack([grid.west + column * grid.cell, grid.north - row * grid.cell]))


def _edged(level: Floats, room: Floats) -> Floats:
    """Return the times with those of the nearest open ground in the cells that a barrier's edge may run through."""
    from scipy.ndimage import distance_transform_edt

    open_ground = np.isfinite(level)
    edge = ~open_ground & (room < 0) & (room > -2)
    if not open_ground.any():
        return level
    nearest = distance_transform_edt(~open_ground, return_distances=False, return_indices=True)
    return np.where(edge, level[nearest[0], nearest[1]], level)


def _turns(path: Floats) -> Floats:
    """Return a path without the points at which it goes straight on."""
    spans = np.diff(path, axis=0)
    turns = (np.abs(np.diff(spans, axis=0)) > 1e-9).any(axis=1)
    return np.asarray(path[np.concatenate([[True], turns, [True]])])
