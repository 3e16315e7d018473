"""How many hours of direct sun does a point get in each month?

The year's sun time lies in bins of azimuth and elevation; each point looks up what its obstacles leave of it.
It leaves out weather: these are hours of clear sky.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from siteplan.land.cores import on_all_cores
from siteplan.land.site import Site
from siteplan.land.terrain import Skyline, Terrain
from siteplan.sun.lookup.culling import NEGLIGIBLE, pieces_that_matter
from siteplan.sun.lookup.tiles import (
    ALONE,
    Progress,
    Scene,
    steps_by_tile,
    sums_by_tile,
    within_reach,
)
from siteplan.sun.obstacles.bodies import Body, Weakening, body_of, calendars_of, weakening, with_more
from siteplan.sun.obstacles.packed_prisms import Packed, joined, pack, some_bodies
from siteplan.sun.obstacles.prisms import Prism, what_stands
from siteplan.sun.obstacles.surface_columns import Columns, surface_columns
from siteplan.sun.path.day_periods import Periods, month_periods
from siteplan.sun.path.sky_table import Passages, Sky, passages, sky, steps_in
from siteplan.sun.path.solar_path import SunPath, sun_path

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Singles = NDArray[np.float32]
Flags = NDArray[np.bool_]
FEW_PRISMS = 60  # so many are not worth choosing from

SkyOf = Callable[[Sequence[Body]], Sky]


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
class Asked:
    """Points that see the same things standing.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    extra : Packed
        What stands besides.
    without : collection of str
        Ids of features that are not there; it does not concern what stands besides.
    """

    points: Floats
    extra: Packed
    without: Collection[str] = ()


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
    columns : tuple of Columns
        What else stands, by a raster of the surface.
    """

    path: SunPath
    prisms: tuple[Prism, ...]
    season: Flags
    skyline: Skyline | None = None
    terrain: Terrain | None = None
    columns: tuple[Columns, ...] = ()
    # shared by the engines that `replace` makes of this one
    _skies: dict[Hashable, Sky] = field(default_factory=dict, repr=False)
    _passages: dict[SunPath, Passages] = field(default_factory=dict, repr=False)

    @cached_property
    def _packed(self) -> Packed:
        return pack(self.prisms)

    @cached_property
    def _body_numbers(self) -> Integers:
        """Which body each prism belongs to, shape (prisms,); -1 where nothing of it is packed."""
        numbers = {body: number for number, body in enumerate(self._packed[1])}
        return np.array([numbers.get(body_of(prism), -1) for prism in self.prisms], dtype=np.int64)

    @cached_property
    def _weakening(self) -> WeakKeyDictionary[Sky, Weakening]:
        """What the engine's own bodies take of a sky, kept as long as the sky."""
        return WeakKeyDictionary()

    @property
    def passages(self) -> Passages:
        """Where the parts of the path count in the sky's table."""
        if self.path not in self._passages:
            self._passages[self.path] = passages(self.path)
        return self._passages[self.path]

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
        hours = self.visible_means(self.sky, points, extra=extra, without=without, progress=progress)
        return SunHours(month_h=hours[:12], season_h=hours[12])

    def visible_means(
        self,
        sky_of: SkyOf,
        points: Floats,
        *,
        extra: Sequence[Prism] = (),
        without: Collection[str] = (),
        progress: Progress | None = None,
    ) -> Floats:
        """Return what reaches points of what comes from a sky, shape (means, n).

        Parameters
        ----------
        sky_of : callable
            Makes the sky for the bodies that stand, as `self.sky` does; its table may weigh whatever it likes.
        points, extra, without, progress
            As for `hours`.
        """
        points = _checked(points)
        scene = self._scene(sky_of, extra, without)
        return np.asarray(scene.sky.mean @ sums_by_tile(scene, points, progress).T)

    def hours_of_each(self, asked: Sequence[Asked]) -> list[SunHours]:
        """Return the direct sun at several sets of points, by the lookup."""
        return [SunHours(month_h=hours[:12], season_h=hours[12]) for hours in self.means_of_each(self.sky, asked)]

    def means_of_each(self, sky_of: SkyOf, asked: Sequence[Asked], *, extra: Sequence[Packed] = ()) -> list[Floats]:
        """Return `visible_means` of several sets of points, each shape (means, n).

        What they see in common is made ready once. Few points are asked so, often.

        Parameters
        ----------
        sky_of : callable
            As for `visible_means`; it is asked for the bodies of all sets together.
        asked : sequence of Asked
        extra : sequence of Packed
            What stands besides for all of them.
        """

        def means(one: tuple[Scene, Asked]) -> Floats:
            scene, points = one[0], _checked(one[1].points)
            return np.asarray(scene.sky.mean @ sums_by_tile(scene, points, None).T)

        scenes = zip(self._scenes(sky_of, asked, extra), asked, strict=True)
        return list(on_all_cores(means, list(scenes), alone=sum(len(one.points) for one in asked) <= ALONE))

    def mean_light(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Floats:
        """Return the share of direct sun at each step of the path, by the lookup, as a mean over points: (steps,)."""
        points = _checked(points)
        scene = self._scene(self.sky, extra, without)
        steps = steps_in(self.path, scene.sky)
        return steps_by_tile(scene, points, steps) / max(len(points), 1)

    def within_reach(self, points: Floats, owners: Collection[str]) -> Flags:
        """Return at which points features may take more than a negligible time of sun, shape (n,)."""
        scene = self._scene(self.sky)
        theirs = [number for number, body in enumerate(self._packed[1]) if body.owner in owners]
        return within_reach(scene, _checked(points), np.flatnonzero(np.isin(scene.pieces.body, theirs)))

    def around(self, points: Floats) -> SunEngine:
        """Return the engine without what cannot matter to any point between some, for those who ask there often.

        Parameters
        ----------
        points : ndarray, shape (n, 3)
            The corners of the ground that is asked about. [m]

        Returns
        -------
        SunEngine
            What it leaves out hides less than a ten-thousandth of an hour a day in all.
        """
        if len(self.prisms) <= FEW_PRISMS:
            return self
        pieces, bodies = self._packed
        everything = np.arange(len(pieces.body))
        near = pieces_that_matter(_checked(points), pieces, self.sky(bodies), everything, NEGLIGIBLE / 20)
        kept = np.unique(pieces.body[near])
        standing = np.flatnonzero(np.isin(self._body_numbers, kept)).tolist()
        found = replace(self, prisms=tuple(self.prisms[number] for number in standing))
        vars(found)["_packed"] = some_bodies(self._packed, kept)  # they need not be packed anew
        return found

    def _scene(self, sky_of: SkyOf, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Scene:
        """Return what points are looked up in, with what stands besides, and without some features."""
        return next(self._scenes(sky_of, [Asked(np.empty((0, 3)), pack(extra), without)]))

    def _scenes(self, sky_of: SkyOf, asked: Sequence[Asked], extra: Sequence[Packed] = ()) -> Iterator[Scene]:
        """Yield what each set of points is looked up in; `extra` stands for all of them."""
        own = self._packed[1]
        pieces, bodies = joined([self._packed, *extra, *(one.extra for one in asked)])
        heavens = sky_of(bodies)
        if heavens not in self._weakening:
            self._weakening[heavens] = weakening(own, heavens.column_day, heavens.mean.shape[1])
        weak = with_more(self._weakening[heavens], bodies[len(own) :], heavens.column_day)
        begin = common = sum(len(packed.body) for packed, _ in (self._packed, *extra))
        standing: dict[frozenset[str], Integers] = {}
        for one in asked:
            left_out, end = frozenset(one.without), begin + len(one.extra[0].body)
            if left_out not in standing:
                there = np.ones(len(bodies), dtype=np.bool_)
                there[: len(own)] = [body.owner not in left_out for body in own]
                standing[left_out] = np.flatnonzero(there[pieces.body[:common]])
            yield Scene(
                pieces=pieces,
                standing=np.concatenate([standing[left_out], np.arange(begin, end)]),
                sky=heavens,
                weakening=weak,
                ground=partial(self.ground_slopes, shared=True),
            )
            begin = end

    def sky(self, bodies: Sequence[Body]) -> Sky:
        """Return the sky's table of sun hours, its days parted where the bodies' leaves come and go."""
        calendars = calendars_of(bodies)
        key = (calendars, self.path, self.season.tobytes())
        if key not in self._skies:
            self._skies[key] = sky(self.path, self.periods(calendars), through=self.passages)
        return self._skies[key]

    def periods(self, calendars: Sequence[tuple[int, int]]) -> Periods:
        """Return which days count together in tables of this path's sun."""
        return month_periods(self.path, season=self.season, calendars=calendars)

    def exact_hours(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> SunHours:
        """Return the direct sun at points by casting the ray of every step at every prism: the reference."""
        from siteplan.sun.ray_casting import cast_hours  # the compiler, for those who ask

        points, path = _checked(points), self.path
        in_season = self.season[path.day - 1] / max(int(self.season.sum()), 1)
        weight = np.column_stack([1 / np.maximum(path.month_days[path.month - 1], 1), in_season])
        weight *= path.hours[:, None]
        hours = cast_hours(points, path, self._standing(extra, without), self._ground_by_step(points), weight)
        return SunHours(month_h=hours[:, :12].T.copy(), season_h=hours[:, 12].copy())

    def exact_light(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Floats:
        """Return the share of direct sun at each point and step by casting rays: the reference, shape (n, steps)."""
        from siteplan.sun.ray_casting import cast_light

        points = _checked(points)
        return cast_light(points, self.path, self._standing(extra, without), self._ground_by_step(points))

    def _standing(self, extra: Sequence[Prism], without: Collection[str]) -> tuple[Prism, ...]:
        gone = frozenset(without)
        return (*(prism for prism in self.prisms if prism.owner not in gone), *extra)

    def _ground_by_step(self, points: Floats) -> Floats:
        return self.ground_slopes(points, self.path.azimuth).astype(np.float64)

    def ground_slopes(self, points: Floats, azimuth: Floats, *, shared: bool = False) -> Singles:
        """Return the slope of the horizon of ground, surface and far hills, shape (1 or n, azimuths).

        Parameters
        ----------
        points : ndarray, shape (n, 3)
            East, north and absolute height. [m]
        azimuth : ndarray, shape (azimuths,)
            [degrees]
        shared : bool
            Whether points side by side share their look at the ground farther off.
        """
        slope = np.zeros((1, len(azimuth)))
        if self.skyline is not None:
            slope = np.maximum(slope, np.tan(np.radians(self.skyline.elevation_at(azimuth))))
        if self.terrain is not None and min(self.terrain.grid.shape) > 1:
            from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes

            slopes_of = shared_slopes if shared else ground_slopes
            slope = np.maximum(slope, slopes_of(points, self.terrain, azimuth))
        if self.columns:
            from siteplan.sun.lookup.surface_horizon import surface_slopes

            slope = np.maximum(slope, surface_slopes(points, self.columns, azimuth))
        return slope.astype(np.float32)


def _checked(points: Floats) -> Floats:
    """Return points as an array of shape (n, 3), or say what is wrong with them."""
    checked = np.ascontiguousarray(points, dtype=np.float64)
    if checked.ndim != 2 or checked.shape[1] != 3:
        raise ValueError(f"points have the shape {checked.shape}, must be (n, 3): east, north and height")
    if not np.isfinite(checked).all():
        raise ValueError("points must be finite; leave out what lies beyond the terrain")
    return checked


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
        columns=surface_columns(site),
    )
