"""How much light energy does a bed get, beyond the hours of sun?

Direct light comes from the lookup of the sun's hours, with each part of the sun's path weighted by its beam's energy.
Diffuse light is the share of the sky seen times the sky's light, taken as equal from all directions. Light reflected
once by walls and ground is added.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from siteplan.land.features import Bed
from siteplan.land.grid import Grid, grid_over
from siteplan.land.site import Site
from siteplan.land.weather import Air, Weather
from siteplan.sun.bed_sun import soil_shares, tier_cells
from siteplan.sun.engine import SunEngine
from siteplan.sun.light.irradiance import Radiation, clear_radiation, daily_light_integral, typical_radiation
from siteplan.sun.light.reflection import OpenLight, Reflectors, reflected_light, reflectors
from siteplan.sun.light.sky_view import dome
from siteplan.sun.obstacles.bodies import Body, calendars_of
from siteplan.sun.obstacles.plant_rows import row_prisms
from siteplan.sun.obstacles.prisms import Prism, own_shade
from siteplan.sun.path.day_periods import leaf_periods
from siteplan.sun.path.sky_table import Sky, sky
from siteplan.sun.sun_maps import cell_groups

Floats = NDArray[np.float64]
Calendars = tuple[tuple[int, int], ...]

MOST_CELLS = 900  # of a map of light


@dataclass(frozen=True, eq=False)
class Light:
    """Light on level soil, as a mean over days; the twelve months, then the growing season.

    Attributes
    ----------
    direct_kwh_m2, diffuse_kwh_m2 : ndarray, shape (13,) or (13, n)
        From the sun, and from the sky. [kWh/m2 a day]
    bright_h : ndarray, of the same shape
        Bright sunshine: direct normal irradiance of at least 120 W/m2. [h a day]
    reflected_kwh_m2 : ndarray, of the same shape
        Reflected by whatever hides the sky: walls, plants and rising ground. [kWh/m2 a day]
    """

    direct_kwh_m2: Floats
    diffuse_kwh_m2: Floats
    bright_h: Floats
    reflected_kwh_m2: Floats = field(default_factory=lambda: np.zeros(1))

    def __post_init__(self) -> None:
        object.__setattr__(
            self, "reflected_kwh_m2", np.broadcast_to(self.reflected_kwh_m2, np.shape(self.direct_kwh_m2))
        )

    @property
    def total_kwh_m2(self) -> Floats:
        """From sun, sky and walls. [kWh/m2 a day]"""
        return np.asarray(self.direct_kwh_m2 + self.diffuse_kwh_m2 + self.reflected_kwh_m2)

    @property
    def dli_mol_m2(self) -> Floats:
        """Daily light integral: photons of 400 to 700 nm. [mol/m2 a day]"""
        return daily_light_integral(self.total_kwh_m2)

    def mean(self) -> Light:
        """Return the mean over points."""
        return Light(*(getattr(self, quantity.name).mean(axis=1) for quantity in fields(Light)))


@dataclass(frozen=True, eq=False)
class PointLight:
    """Light at points.

    Attributes
    ----------
    sky_share : ndarray, shape (13, n)
        Share of the sky that is seen, weighted as level ground receives it; the months, then the season. [0 to 1]
    clear : Light
        If every day were clear.
    typical : Light or None
        In a typical year; None without a weather file.
    """

    sky_share: Floats
    clear: Light
    typical: Light | None


@dataclass(frozen=True, eq=False)
class BedLight:
    """Light on a bed's soil, as a mean over all its tiers.

    Attributes
    ----------
    bed : str
        Its id.
    sky_share : ndarray, shape (13,)
        Share of the sky that is seen; the months, then the season. [0 to 1]
    clear, open_clear : Light
        If every day were clear: at the bed, and on open ground.
    typical, open_typical : Light or None
        In a typical year: at the bed, and on open ground; None without a weather file.
    """

    bed: str
    sky_share: Floats
    clear: Light
    open_clear: Light
    typical: Light | None = None
    open_typical: Light | None = None

    @property
    def best(self) -> Light:
        """Light to expect: of the typical year if it is known, else of clear days."""
        return self.clear if self.typical is None else self.typical

    @property
    def share_of_open(self) -> Floats:
        """Share of the light of open ground, shape (13,); NaN in months without sunrise. [0 to 1]"""
        on_open_ground = self.open_clear if self.open_typical is None else self.open_typical
        total = on_open_ground.total_kwh_m2
        share = np.divide(self.best.total_kwh_m2, total, out=np.full(len(total), np.nan), where=total > 0)
        return np.asarray(share, dtype=np.float64)


@dataclass(frozen=True, eq=False)
class LightEngine:
    """A sun engine with the radiation of sun and sky; computes the light at any points.

    Attributes
    ----------
    engine : SunEngine
    clear : Radiation
        Of clear days.
    typical : Radiation or None
        Of a typical year; None without a weather file.
    reflectors : Reflectors or None
        Obstacles that reflect light; None if reflected light is not counted.
    """

    engine: SunEngine
    clear: Radiation
    typical: Radiation | None = None
    reflectors: Reflectors | None = None
    # caches, shared with the engines that `dataclasses.replace` makes of this one
    _beams: dict[Calendars, Sky] = field(default_factory=dict, repr=False)
    _domes: dict[Calendars, Sky] = field(default_factory=dict, repr=False)

    def light(self, points: Floats, *, extra: Sequence[Prism] = (), without: Collection[str] = ()) -> PointLight:
        """Return the light at points.

        Parameters
        ----------
        points : ndarray, shape (n, 3)
            East, north and absolute height. [m]
        extra : sequence of Prism
            Obstacles in addition to the engine's.
        without : collection of str
            Ids of features of the engine that are left out; `extra` is kept whatever its owner.
        """
        beams = self.engine.visible_means(self._beam_of, points, extra=extra, without=without)
        domes = self.engine.visible_means(self._dome_of, points, extra=extra, without=without)
        return self._with_walls(self._light(beams, domes), points)

    def _with_walls(self, light: PointLight, points: Floats) -> PointLight:
        """Return the light at points with the reflected light."""
        if self.reflectors is None:
            return light
        albedo = self.reflectors.albedo_at(points)
        clear = self._with_reflected(light.clear, self.open.clear, self.clear, light.sky_share, albedo)
        if light.typical is None or self.typical is None or self.open.typical is None:
            return replace(light, clear=clear)
        typical = self._with_reflected(light.typical, self.open.typical, self.typical, light.sky_share, albedo)
        return replace(light, clear=clear, typical=typical)

    def _with_reflected(
        self, light: Light, open_ground: Light, radiation: Radiation, sky_share: Floats, albedo: Floats
    ) -> Light:
        """Return a light with the reflected light of a radiation added; `sky_share` is the share of the sky seen."""
        upright = leaf_periods(self.engine.path, season=self.engine.season, weights=radiation.upright).mean
        direct = open_ground.direct_kwh_m2
        lit = np.divide(light.direct_kwh_m2, direct, out=np.zeros_like(light.direct_kwh_m2), where=direct > 0)
        open_light = OpenLight(direct, open_ground.diffuse_kwh_m2, upright.sum(axis=1)[:, None])
        ground = 0.0 if self.reflectors is None else self.reflectors.ground
        return replace(
            light,
            reflected_kwh_m2=reflected_light(
                sky_share, np.clip(lit, 0.0, 1.0), open_light, wall_albedo=albedo, ground_albedo=ground
            ),
        )

    @cached_property
    def open(self) -> PointLight:
        """The light at one point of level ground without obstacles."""
        beams, domes = (sky.mean @ sky.total for sky in (self._beam_of(()), self._dome_of(())))
        return self._light(beams[:, None], domes[:, None])

    def _light(self, beams: Floats, domes: Floats) -> PointLight:
        """Return the light from the means of beams and domes, each of shape (13 x quantities, n)."""
        beam, sky_light = (means.reshape(len(means) // 13, 13, means.shape[1]) for means in (beams, domes))
        typical = None if self.typical is None else Light(beam[2], sky_light[2], beam[3])
        return PointLight(np.clip(sky_light[0], 0.0, 1.0), Light(beam[0], sky_light[1], beam[1]), typical)

    def _radiations(self) -> tuple[Radiation, ...]:
        return (self.clear,) if self.typical is None else (self.clear, self.typical)

    def _beam_of(self, bodies: Sequence[Body]) -> Sky:
        """Return the sky table of the beam and the bright hours of each radiation."""
        calendars = calendars_of(bodies)
        if calendars not in self._beams:
            weights = np.stack(
                [weight for radiation in self._radiations() for weight in (radiation.beam, radiation.bright)]
            )
            engine, periods = self.engine, self.engine.periods(calendars)
            self._beams[calendars] = sky(engine.path, periods, weights=weights, passages=engine.passages)
        return self._beams[calendars]

    def _dome_of(self, bodies: Sequence[Body]) -> Sky:
        """Return the dome table of the share seen and the diffuse light of each radiation."""
        calendars = calendars_of(bodies)
        if calendars not in self._domes:
            path, season = self.engine.path, self.engine.season
            # the share seen, which has no weights, then the light of each radiation
            weights = (None, *(radiation.diffuse for radiation in self._radiations()))
            self._domes[calendars] = dome(
                [leaf_periods(path, season=season, calendars=calendars, weights=weight) for weight in weights]
            )
        return self._domes[calendars]


def light_engine(site: Site, engine: SunEngine, *, air: Air, weather: Weather | None = None) -> LightEngine:
    """Return the light engine of a site.

    Parameters
    ----------
    site : Site
    engine : SunEngine
        Of this site.
    air : Air
        How hazy clear days are.
    weather : Weather, optional
        A typical year; without it only clear days are computed.
    """
    from pandas import Timestamp

    start = Timestamp(year=site.sun.year, month=1, day=1, tz=site.timezone).timestamp()
    typical = None
    if weather is not None:
        typical = typical_radiation(engine.path, weather, longitude=site.frame.longitude, start=start)
    return LightEngine(
        engine=engine, clear=clear_radiation(engine.path, air), typical=typical, reflectors=reflectors(site)
    )


def bed_light(site: Site, bed: Bed, lights: LightEngine) -> BedLight:
    """Return the light on a bed: one of the site, or one that is moved, turned or new.

    Parameters
    ----------
    site : Site
        Gives the ground and the size of a cell.
    bed : Bed
        If the engine has a bed of the same id, that one is left out.
    lights : LightEngine
        Of this site.
    """
    rows = row_prisms(site, bed)
    lights_by_tier = [
        lights.light(cells, extra=(*own_shade(site, bed, tier=tier), *rows), without=(bed.id,))
        for tier, cells in tier_cells(site, bed)
    ]
    shares = list(soil_shares(bed).values())
    typical = [light.typical.mean() for light in lights_by_tier if light.typical is not None]
    open_ground = lights.open
    return BedLight(
        bed=bed.id,
        sky_share=np.sum(
            [share * light.sky_share.mean(axis=1) for light, share in zip(lights_by_tier, shares, strict=True)],
            axis=0,
        ),
        clear=_weighed([light.clear.mean() for light in lights_by_tier], shares),
        open_clear=open_ground.clear.mean(),
        typical=_weighed(typical, shares) if typical else None,
        open_typical=None if open_ground.typical is None else open_ground.typical.mean(),
    )


def _weighed(lights: Sequence[Light], shares: Sequence[float]) -> Light:
    """Return the weighted mean of several lights."""
    names = [quantity.name for quantity in fields(Light)]
    return Light(
        *(
            np.sum([share * getattr(light, name) for light, share in zip(lights, shares, strict=True)], axis=0)
            for name in names
        )
    )


@dataclass(frozen=True, eq=False)
class LightMaps:
    """Maps of light; NaN outside the boundary and inside buildings that stand on the ground.

    Attributes
    ----------
    grid : Grid
        Of the cells, coarser than those of the hours of sun; row 0 is the northernmost.
    sky_share : ndarray, shape (rows, columns)
        Share of the sky that is seen in the growing season. [0 to 1]
    light : Light
        Arrays of shape (rows, columns): the season of a typical year, or of clear days without a weather file.
    month_sky_share : ndarray, shape (12, rows, columns)
        The same by month: bare crowns hide less of the sky. [0 to 1]
    month_light : Light
        Arrays of shape (12, rows, columns): the months of the same year.
    """

    grid: Grid
    sky_share: Floats
    light: Light
    month_sky_share: Floats
    month_light: Light


def light_maps(site: Site, lights: LightEngine, *, most: int = MOST_CELLS) -> LightMaps:
    """Return maps of the light on a property.

    Parameters
    ----------
    site : Site
    lights : LightEngine
        Of this site.
    most : int
        Largest number of cells, about. Light varies more smoothly than hours of sun: few cells are enough.
    """
    grid = grid_over(site.boundary, max(site.sun.cell, float(np.sqrt(site.boundary.area / most))))
    values = np.full((5, 13, grid.rows * grid.columns), np.nan)
    for group in cell_groups(site, grid):
        point_light = lights.light(group.points, extra=group.extra, without=group.without)
        light = point_light.clear if point_light.typical is None else point_light.typical
        values[:, :, group.numbers] = np.stack(
            [point_light.sky_share, *(getattr(light, quantity.name) for quantity in fields(Light))]
        )
    share, *values_by_quantity = values.reshape(5, 13, *grid.shape)
    return LightMaps(
        grid=grid,
        sky_share=share[12],
        light=Light(*(value[12] for value in values_by_quantity)),
        month_sky_share=share[:12],
        month_light=Light(*(value[:12] for value in values_by_quantity)),
    )
