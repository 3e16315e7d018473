"""How many hours of direct sun does a point get in each month?

The year's sun time lies in bins of azimuth and elevation; each point looks up what its obstacles leave of it.
It leaves out weather: these are hours of clear sky.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cached_property, partial
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from siteplan.land.site import Site
from siteplan.land.terrain import Skyline, Terrain
from siteplan.sun.lookup.culling import NEGLIGIBLE, pieces_that_matter
from siteplan.sun.obstacles.packed_prisms import (
    Body,
    Pieces,
    Solids,
    calendars_of,
    joined,
    lets_through,
    pack,
    solids,
)
from siteplan.sun.obstacles.prisms import Prism, what_stands
from siteplan.sun.path.sky_table import Passages, Sky, passages, sky
from siteplan.sun.path.solar_path import SunPath, sun_path

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
Progress = Callable[[float], None]

TILE = 3.0  # m; side of the blocks whose points share a list of pieces that matter
REGION = 8  # tiles along the side of a block that shares the choice of what is far
MANY = 100  # pieces; for less it is quicker to draw all that may matter to a tile than to ask what hides what
ALONE = 250  # points; a bed's, as a search asks them by the hundred
FEW = 8  # points; for less likewise
ROOM = 16  # veils in one direction; asked again with more where they do not suffice


@dataclass(frozen=True, eq=False)
class SunHours:
    """Direct sun at points, as a mean over days.

    Attributes
    ----------
    month_h : ndarray, shape (12, n)
        Mean of the days of each month of the swept year; 0 is never lit. [h a day]
    season_h : ndarray, shape (n,)
        Mean of the days of the growing season. [h a day]
    """

    month_h: Floats
    season_h: Floats


@dataclass(frozen=True, eq=False)
class SunEngine:
    """A sun's path and what stands in its way, ready to be asked often.

    Attributes
    ----------
    path : SunPath
        The sun, step by step.
    prisms : tuple of Prism
        What stands.
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    skyline : Skyline or None
        Far hills.
    terrain : Terrain or None
        The lie of the ground, where it is known.
    """

    path: SunPath
    prisms: tuple[Prism, ...]
    season: Flags
    skyline: Skyline | None = None
    terrain: Terrain | None = None
    _skies: dict[Hashable, Sky] = field(default_factory=dict, repr=False)  # shared by what is made by `replace`

    @cached_property
    def taken(self) -> WeakKeyDictionary[Sky, Singles]:
        """What the engine's own bodies take of a sky, kept as long as the sky."""
        return WeakKeyDictionary()

    @property
    def own_bodies(self) -> tuple[Body, ...]:
        """The bodies of its prisms."""
        return self._packed[1]

    @cached_property
    def _packed(self) -> tuple[Pieces, tuple[Body, ...]]:
        return pack(self.prisms)

    @cached_property
    def passages(self) -> Passages:
        """Where the parts of the path count in the sky's table."""
        return passages(self.path)

    def hours(
        self,
        points: Floats,
        *,
        extra: Sequence[Prism] = (),
        without: Collection[str] = (),
        progress: Progress | None = None,
    ) -> SunHours:
        """Return the direct sun at points, by the lookup.

        Parameters
        ----------
        points : ndarray, shape (n, 3)
            East, north and absolute height. [m]
        extra : sequence of Prism
            What stands besides.
        without : collection of str
            Ids of features that are not there; it does not concern `extra`.
        progress : callable, optional
            Called with the share done, up to 1.

        Returns
        -------
        SunHours
            Within half a bin of azimuth (a quarter of a degree) of the exact answer.
        """
        hours = self.left(self.sky, points, extra=extra, without=without, progress=progress)
        return SunHours(month_h=hours[:12], season_h=hours[12])

    def left(
        self,
        sky_of: Callable[[Sequence[Body]], Sky],
        points: Floats,
        *,
        extra: Sequence[Prism] = (),
        without: Collection[str] = (),
        progress: Progress | None = None,
    ) -> Floats:
        """Return what is left at points of what comes from a sky, whatever its table weighs, shape (means, n).

        Parameters
        ----------
        sky_of : callable
            Makes the sky for the bodies that stand, as `self.sky` does.
        points, extra, without, progress
            As for `hours`.
        """
        points = _checked(points)
        packed = self._packed if not extra else joined(self._packed, pack(extra))
        pieces, bodies = packed
        own = len(self.own_bodies)
        left_out = frozenset(without)
        gone = [number for number, body in enumerate(bodies[:own]) if body.owner in left_out]
        there = np.flatnonzero(~np.isin(pieces.body, gone))
        question = _Question(pieces=pieces, bodies=bodies, there=there, engine=self, sky_of=sky_of)
        if len(there) > MANY and len(points) > ALONE:
            question.regions.update(_regions(question, points))
        mean = question.sky.mean
        left = np.zeros((len(points), mean.shape[1]), dtype=np.float32)
        tiles = list(_blocks(points, TILE))
        done = 0
        if len(points) <= ALONE:  # threads would take longer to start than to answer
            for tile in tiles:
                left[tile] = _light_of_tile(question, points, tile)
            if progress is not None:
                progress(1.0)
            return np.asarray(mean @ left.T)
        with ThreadPoolExecutor(_threads()) as pool:
            for tile, part in zip(tiles, pool.map(partial(_light_of_tile, question, points), tiles), strict=True):
                left[tile] = part
                done += len(tile)
                if progress is not None:
                    progress(done / len(points))
        return np.asarray(mean @ left.T)

    def sky(self, bodies: Sequence[Body]) -> Sky:
        """Return the sky's table, its days parted where the bodies' leaves come and go."""
        calendars = calendars_of(bodies)
        key = (calendars, self.path, self.season.tobytes())
        if key not in self._skies:
            self._skies[key] = sky(self.path, season=self.season, calendars=calendars, through=self.passages)
        return self._skies[key]

    def exact_hours(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> SunHours:
        """Return the direct sun at points by testing the ray of every step against every prism: the reference."""
        from siteplan.sun.ray_casting import hours_by_column  # the compiler is loaded by those who ask

        points = _checked(points)
        path = self.path
        packed, through = self._solids(extra, without)
        in_season = self.season[path.day - 1]
        weight = path.hours / np.maximum(path.month_days[path.month - 1], 1)
        season_weight = path.hours * in_season / max(int(self.season.sum()), 1)
        hours = np.zeros((len(points), 13))

        def part(rows: slice) -> None:
            hours_by_column(
                points[rows],
                packed,
                _suns(path),
                through,
                path.day - 1,
                self._floor_by_step(points[rows]),
                np.column_stack([weight, season_weight]),
                path.month - 1,
                hours[rows],
            )

        _part_by_part(len(points), part)
        return SunHours(month_h=hours[:, :12].T.copy(), season_h=hours[:, 12].copy())

    def lit(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Floats:
        """Return the share of direct sun at each point and step of the path, exactly, shape (n, steps)."""
        from siteplan.sun.ray_casting import light_by_step

        points = _checked(points)
        packed, through = self._solids(extra, without)
        light = np.zeros((len(points), len(self.path.hours)))
        suns = _suns(self.path)

        def part(rows: slice) -> None:
            light_by_step(points[rows], packed, suns, through, self.path.day - 1, light[rows])

        _part_by_part(len(points), part)
        floor = self._floor_by_step(points)
        if floor.any():
            light[np.broadcast_to(suns[:, 2] < floor, light.shape)] = 0.0
        return light

    def _solids(self, extra: Sequence[Prism], without: Collection[str]) -> tuple[Solids, Floats]:
        """Return what stands for the exact test, and what it lets through, shape (days, bodies)."""
        gone = frozenset(without)
        packed, bodies = solids((*(prism for prism in self.prisms if prism.owner not in gone), *extra))
        return packed, np.stack([lets_through(bodies, day + 1) for day in range(len(self.path.day_month))])

    def floor(self, points: Floats, azimuth: Floats, *, shared: bool = False) -> Singles:
        """Return the slope of ground and far hills behind everything, shape (1 or n, directions).

        Points side by side may share their look at the ground farther off.
        """
        slope = np.zeros((1, len(azimuth)))
        if self.skyline is not None:
            slope = np.maximum(slope, np.tan(np.radians(self.skyline.elevation_at(azimuth))))
        if self.terrain is not None and min(self.terrain.grid.shape) > 1:
            from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

            slopes_of = shared_slopes if shared else ground_slopes
            slope = np.maximum(slope, slopes_of(points, self.terrain, azimuth))
        return slope.astype(np.float32)

    def _floor_by_step(self, points: Floats) -> Floats:
        return self.floor(points, self.path.azimuth).astype(np.float64)


@dataclass(frozen=True, eq=False)
class _Question:
    """What is asked of every tile."""

    pieces: Pieces
    bodies: tuple[Body, ...]
    there: Integers
    engine: SunEngine
    sky_of: Callable[[Sequence[Body]], Sky]
    regions: dict[tuple[int, int], Integers] = field(default_factory=dict)

    @cached_property
    def sky(self) -> Sky:
        return self.sky_of(self.bodies)

    @cached_property
    def share(self) -> Singles:
        """What each body takes of the sun in each spell, shape (bodies, columns)."""
        own, kept = self.engine.own_bodies, self.engine.taken
        if self.sky not in kept:
            kept[self.sky] = _taken(own, self.sky)
        return np.concatenate([kept[self.sky], _taken(self.bodies[len(own) :], self.sky)])


def _taken(bodies: Sequence[Body], sky: Sky) -> Singles:
    """Return what each body takes in each column of a sky, shape (bodies, columns)."""
    share = np.zeros((len(bodies), sky.mean.shape[1]), dtype=np.float32)
    if bodies:
        for column, day in enumerate(sky.spell_day):
            share[:, column] = 1 - lets_through(bodies, day)
    return share


def _light_of_tile(question: _Question, points: Floats, tile: Integers) -> Singles:
    """Return the hours of a tile's points, shape (n, columns)."""
    from siteplan.sun.lookup.sky_lookup import light_left

    here = np.ascontiguousarray(points[tile])
    region = question.regions.get(_region(here[0]))
    if region is None:
        near = pieces_that_matter(here, question.pieces, question.sky, question.there)
    else:
        near = pieces_that_matter(here, question.pieces, question.sky, region, NEGLIGIBLE / 2)
    sky = question.sky
    floor = question.engine.floor(here, sky.azimuth, shared=True)
    if len(question.there) > MANY and len(here) >= FEW:
        from siteplan.sun.lookup.occlusion_culling import not_hidden  # compiled for those who need it

        low = np.maximum(floor.min(axis=0), sky.lowest)
        near = not_hidden(here, near, question.pieces, sky.table, sky.highest, low)
    left = np.empty((len(here), len(sky.total)), dtype=np.float32)
    room = ROOM
    while True:
        most = light_left(here, near, question.pieces, sky, question.share, floor, room, left)
        if most <= room:
            return left
        room = 2 * most


def _region(point: Floats) -> tuple[int, int]:
    return int(np.floor(point[0] / (TILE * REGION))), int(np.floor(point[1] / (TILE * REGION)))


def _regions(question: _Question, points: Floats) -> Iterator[tuple[tuple[int, int], Integers]]:
    """Yield each region of tiles, and the pieces that may matter to it."""
    from siteplan.sun.lookup.occlusion_culling import not_hidden

    table = question.sky.table
    for tiles in _blocks(points, TILE * REGION):
        here = points[tiles]
        near = pieces_that_matter(here, question.pieces, question.sky, question.there, NEGLIGIBLE / 2)
        low = np.zeros(len(table.lowest), dtype=np.float32)
        yield _region(here[0]), not_hidden(here, near, question.pieces, table, question.sky.highest, low)


def _blocks(points: Floats, side: float) -> Iterator[Integers]:
    """Yield the numbers of the points of each square block."""
    if not len(points):
        return
    east, north = np.floor(points[:, :2].T / side).astype(np.int64)
    order = np.lexsort((east, north))
    ends = np.flatnonzero((np.diff(east[order]) != 0) | (np.diff(north[order]) != 0)) + 1
    yield from np.split(order, ends)


def _suns(path: SunPath) -> Floats:
    bearing = np.radians(path.azimuth)
    return np.column_stack([np.sin(bearing), np.cos(bearing), np.tan(np.radians(path.elevation))])


def _checked(points: Floats) -> Floats:
    """Return points as an array of shape (n, 3), or say what is wrong with them."""
    checked = np.ascontiguousarray(points, dtype=np.float64)
    if checked.ndim != 2 or checked.shape[1] != 3:
        raise ValueError(f"points have the shape {checked.shape}, must be (n, 3): east, north and height")
    if not np.isfinite(checked).all():
        raise ValueError("points must be finite; leave out what lies beyond the terrain")
    return checked


def _part_by_part(count: int, act: Callable[[slice], None]) -> None:
    """Hand so many rows in parts to all cores."""
    ends = np.linspace(0, count, min(count, 4 * _threads()) + 1).astype(np.int64)
    with ThreadPoolExecutor(_threads()) as pool:
        list(pool.map(act, map(slice, ends[:-1], ends[1:])))


def _threads() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def sun_engine(site: Site, *, without: Collection[str] = ()) -> SunEngine:
    """Return the engine of a site: its year's sun and all that stands on it but for the features left out."""
    year = site.sun.year
    path = sun_path(site.frame.latitude, site.frame.longitude, year=year, timezone=site.timezone, step=site.sun.step)
    days = range(1, len(path.day_month) + 1)
    return SunEngine(
        path=path,
        prisms=what_stands(site, without=without),
        season=np.array([site.season.holds(day, year) for day in days], dtype=np.bool_),
        skyline=site.skyline,
        terrain=site.terrain,
    )
