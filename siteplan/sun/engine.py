"""How many hours of direct sun does a point get in each month?

The year's sun time is a table by azimuth and elevation. For each point, the part of the table that its obstacles hide
is subtracted. Weather is not counted: these are hours of a clear sky.
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
from siteplan.sun.obstacles.bodies import Attenuation, Body, attenuation, body_of, calendars_of, with_more_bodies
from siteplan.sun.obstacles.packed_prisms import Packed, join_packed, pack, select_bodies
from siteplan.sun.obstacles.prisms import Prism, obstacle_prisms
from siteplan.sun.obstacles.surface_columns import SurfaceColumns, surface_columns
from siteplan.sun.path.day_periods import Periods, month_periods
from siteplan.sun.path.sky_table import Passages, Sky, passages_of, sky, steps_in
from siteplan.sun.path.solar_path import SunPath, sun_path

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Singles = NDArray[np.float32]
Flags = NDArray[np.bool_]
FEW_PRISMS = 60  # with no more than these, `around` keeps all of them: choosing takes longer than it saves

SkyOf = Callable[[Sequence[Body]], Sky]


@dataclass(frozen=True, eq=False)
class SunHours:
    """Direct sun at points, as a mean over days.

    Attributes
    ----------
    month_h : ndarray, shape (12, n)
        Mean of the days of each month of the path's year; 0 is never lit. [h a day]
    season_h : ndarray, shape (n,)
        Mean of the days of the growing season. [h a day]
    """

    month_h: Floats
    season_h: Floats


@dataclass(frozen=True, eq=False)
class PointSet:
    """Points that are shaded by the same obstacles.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
        East, north and absolute height. [m]
    extra : Packed
        Obstacles in addition to the engine's.
    without : collection of str
        Ids of features of the engine that are left out; extra obstacles are kept whatever their owner.
    """

    points: Floats
    extra: Packed
    without: Collection[str] = ()


@dataclass(frozen=True, eq=False)
class SunEngine:
    """A sun path with the obstacles around a property; computes the sun at any points.

    Attributes
    ----------
    path : SunPath
        The sun, step by step.
    prisms : tuple of Prism
        The obstacles.
    season : ndarray of bool, shape (days,)
        Which days of the path lie in the growing season.
    skyline : Skyline or None
        Elevation angles of far hills.
    terrain : Terrain or None
        Heights of the ground; None for level ground.
    columns : tuple of SurfaceColumns
        Further obstacles, as columns of a surface raster.
    """

    path: SunPath
    prisms: tuple[Prism, ...]
    season: Flags
    skyline: Skyline | None = None
    terrain: Terrain | None = None
    columns: tuple[SurfaceColumns, ...] = ()
    # caches, shared with the engines that `dataclasses.replace` makes of this one
    _skies: dict[Hashable, Sky] = field(default_factory=dict, repr=False)
    _passages: dict[SunPath, Passages] = field(default_factory=dict, repr=False)

    @cached_property
    def _packed(self) -> Packed:
        return pack(self.prisms)

    @cached_property
    def _body_numbers(self) -> Integers:
        """Number of the body that each prism belongs to, shape (prisms,); -1 if no piece of that body was packed."""
        numbers = {body: number for number, body in enumerate(self._packed[1])}
        return np.array([numbers.get(body_of(prism), -1) for prism in self.prisms], dtype=np.int64)

    @cached_property
    def _attenuation(self) -> WeakKeyDictionary[Sky, Attenuation]:
        """Attenuation by the engine's own bodies for each sky; an entry lives as long as its sky."""
        return WeakKeyDictionary()

    @property
    def passages(self) -> Passages:
        """In which rows of the sky's table the parts of the path count."""
        if self.path not in self._passages:
            self._passages[self.path] = passages_of(self.path)
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
            Obstacles in addition to the engine's.
        without : collection of str
            Ids of features of the engine that are left out; `extra` is kept whatever its owner.
        progress : callable, optional
            Called with the share done, up to 1.

        Raises
        ------
        ValueError
            If points have another shape or are not finite.

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
        """Return what points get of any quantity that comes from the sky, as means a day, shape (means, n).

        Parameters
        ----------
        sky_of : callable
            Makes the sky for the bodies of a scene, as `self.sky` does. Its table may hold any quantity in place of
            hours, such as energy; the unit of the result is the table's.
        points, extra, without, progress
            As for `hours`.
        """
        points = _checked(points)
        scene = self._scene(sky_of, extra, without)
        return np.asarray(scene.sky.mean @ sums_by_tile(scene, points, progress).T)

    def hours_of_each(self, sets: Sequence[PointSet]) -> list[SunHours]:
        """Return the direct sun at several sets of points, by the lookup."""
        return [SunHours(month_h=hours[:12], season_h=hours[12]) for hours in self.means_of_each(self.sky, sets)]

    def means_of_each(self, sky_of: SkyOf, sets: Sequence[PointSet], *, extra: Sequence[Packed] = ()) -> list[Floats]:
        """Return `visible_means` of several sets of points, each shape (means, n).

        The obstacles that they share are prepared once. Meant for small sets that are looked up often.

        Parameters
        ----------
        sky_of : callable
            As for `visible_means`; called once, with the bodies of all sets together.
        sets : sequence of PointSet
        extra : sequence of Packed
            Obstacles in addition to the engine's, for all sets.
        """

        def means(scene_and_points: tuple[Scene, PointSet]) -> Floats:
            scene, point_set = scene_and_points
            return np.asarray(scene.sky.mean @ sums_by_tile(scene, _checked(point_set.points), None).T)

        scenes = zip(self._scenes(sky_of, sets, extra), sets, strict=True)
        point_count = sum(len(point_set.points) for point_set in sets)
        return list(on_all_cores(means, list(scenes), alone=point_count <= ALONE))

    def mean_light(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Floats:
        """Return the share of direct sun at each step of the path, as a mean over points, by the lookup: (steps,)."""
        points = _checked(points)
        scene = self._scene(self.sky, extra, without)
        steps = steps_in(self.path, scene.sky)
        return steps_by_tile(scene, points, steps) / max(len(points), 1)

    def within_reach(self, points: Floats, owners: Collection[str]) -> Flags:
        """Return at which points features may hide more than a negligible sun time, shape (n,)."""
        scene = self._scene(self.sky)
        body_numbers = [number for number, body in enumerate(self._packed[1]) if body.owner in owners]
        return within_reach(scene, _checked(points), np.flatnonzero(np.isin(scene.pieces.body, body_numbers)))

    def around(self, points: Floats) -> SunEngine:
        """Return an engine for one area, without the obstacles that cannot shade it; faster for repeated lookups.

        Parameters
        ----------
        points : ndarray, shape (n, 3)
            Corners of the area. [m]

        Returns
        -------
        SunEngine
            The obstacles left out hide less than a ten-thousandth of an hour a day together.
        """
        if len(self.prisms) <= FEW_PRISMS:
            return self
        pieces, bodies = self._packed
        everything = np.arange(len(pieces.body))
        near = pieces_that_matter(_checked(points), pieces, self.sky(bodies), everything, NEGLIGIBLE / 20)
        near_bodies = np.unique(pieces.body[near])
        near_prisms = np.flatnonzero(np.isin(self._body_numbers, near_bodies)).tolist()
        local = replace(self, prisms=tuple(self.prisms[number] for number in near_prisms))
        # fills the cached property, so that the prisms are not packed a second time
        vars(local)["_packed"] = select_bodies(self._packed, near_bodies)
        return local

    def _scene(self, sky_of: SkyOf, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> Scene:
        """Return the scene with extra obstacles and without some features."""
        return next(self._scenes(sky_of, [PointSet(np.empty((0, 3)), pack(extra), without)]))

    def _scenes(self, sky_of: SkyOf, sets: Sequence[PointSet], extra: Sequence[Packed] = ()) -> Iterator[Scene]:
        """Yield the scene of each set of points; `extra` obstacles stand in all of them."""
        own_bodies = self._packed[1]
        pieces, bodies = join_packed([self._packed, *extra, *(point_set.extra for point_set in sets)])
        sky_table = sky_of(bodies)
        if sky_table not in self._attenuation:
            self._attenuation[sky_table] = attenuation(own_bodies, sky_table.column_day, sky_table.mean.shape[1])
        attenuated = with_more_bodies(self._attenuation[sky_table], bodies[len(own_bodies) :], sky_table.column_day)
        # the joined pieces are the engine's, then those common to all sets, then those of each set in turn
        begin = common = sum(len(packed.body) for packed, _ in (self._packed, *extra))
        standing: dict[frozenset[str], Integers] = {}
        for point_set in sets:
            left_out, end = frozenset(point_set.without), begin + len(point_set.extra[0].body)
            if left_out not in standing:
                stands = np.ones(len(bodies), dtype=np.bool_)
                stands[: len(own_bodies)] = [body.owner not in left_out for body in own_bodies]
                standing[left_out] = np.flatnonzero(stands[pieces.body[:common]])
            yield Scene(
                pieces=pieces,
                standing=np.concatenate([standing[left_out], np.arange(begin, end)]),
                sky=sky_table,
                attenuation=attenuated,
                ground=partial(self.ground_slopes, shared=True),
            )
            begin = end

    def sky(self, bodies: Sequence[Body]) -> Sky:
        """Return the sky's table of sun hours, with a period for each set of bodies that are in leaf together."""
        calendars = calendars_of(bodies)
        key = (calendars, self.path, self.season.tobytes())
        if key not in self._skies:
            self._skies[key] = sky(self.path, self.periods(calendars), passages=self.passages)
        return self._skies[key]

    def periods(self, calendars: Sequence[tuple[int, int]]) -> Periods:
        """Return which days count together in tables of this path's sun."""
        return month_periods(self.path, season=self.season, calendars=calendars)

    def exact_hours(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> SunHours:
        """Return the direct sun at points by casting the ray of every step at every prism: the reference."""
        from siteplan.sun.ray_casting import cast_hours  # imported here: numba takes long to load

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
        left_out = frozenset(without)
        return (*(prism for prism in self.prisms if prism.owner not in left_out), *extra)

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
            Whether neighbouring points share the horizon of the ground farther off.
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
    """Return points as a contiguous array of shape (n, 3); raise ValueError if they are none."""
    checked = np.ascontiguousarray(points, dtype=np.float64)
    if checked.ndim != 2 or checked.shape[1] != 3:
        raise ValueError(f"points have the shape {checked.shape}, must be (n, 3): east, north and height")
    if not np.isfinite(checked).all():
        raise ValueError("points must be finite; leave out what lies beyond the terrain")
    return checked


def sun_engine(site: Site, *, without: Collection[str] = ()) -> SunEngine:
    """Return the engine of a site: its year's sun and its obstacles, without the features left out."""
    year = site.sun.year
    path = sun_path(site.frame.latitude, site.frame.longitude, year=year, timezone=site.timezone, step=site.sun.step)
    days = range(1, len(path.day_month) + 1)
    return SunEngine(
        path=path,
        prisms=obstacle_prisms(site, without=without),
        season=np.array([site.season.holds(day, year) for day in days], dtype=np.bool_),
        skyline=site.skyline,
        terrain=site.terrain,
        columns=surface_columns(site),
    )
