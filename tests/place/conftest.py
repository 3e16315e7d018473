"""A bare yard to put things in, and a made-up sun whose answer is known."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from siteplan.land.features import Bed, MonthDay
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import grid_over
from siteplan.land.layers import Recipe
from siteplan.land.site import PlaceSettings, Season, Site, SunSettings
from siteplan.sun.bed_sun import BedSun
from siteplan.sun.sun_maps import SunMaps

Field = Callable[[np.ndarray, np.ndarray], np.ndarray]


def bare_yard(boundary: Polygon | None = None, *, latitude: float = 45.0, cell: float = 0.5, **parts: Any) -> Site:
    """Return a level yard of 10 m by 8 m with nothing in it but `parts`."""
    season = Season(last_frost=MonthDay(4, 15), first_frost=MonthDay(10, 20))
    if latitude < 0:
        season = Season(last_frost=MonthDay(10, 15), first_frost=MonthDay(4, 20))
    settings = {
        "sun": SunSettings(year=2026, cell=cell),
        "place": PlaceSettings(length=2.0, width=1.0, height=0.4, count=1),
        "recipe": Recipe(layers=()),
        **parts,
    }
    return Site(
        name="Bare Yard",
        frame=LocalFrame(longitude=8.0, latitude=latitude),
        timezone="Europe/Rome",
        boundary=boundary or box(0, 0, 10, 8),
        season=season,
        **settings,
    )


def maps_of(site: Site, field: Field) -> SunMaps:
    """Return maps that carry a made-up sun, the same in every month."""
    grid = grid_over(site.boundary, site.sun.cell)
    x, y = np.meshgrid(grid.x, grid.y)
    season = np.where(grid.inside(site.boundary), field(x, y), np.nan)
    return SunMaps(grid, np.broadcast_to(season, (12, *grid.shape)), season)


def sun_from(site: Site, field: Field) -> Callable[[Bed], BedSun]:
    """Return the made-up sun on a bed: the field on 5 by 5 points turned with it."""

    def sun_at(bed: Bed) -> BedSun:
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(bed.outline))[:4]
        shares = (np.arange(5) + 0.5) / 5
        u, v = (part.ravel()[:, None] for part in np.meshgrid(shares, shares))
        points = corners[0] + u * (corners[1] - corners[0]) + v * (corners[3] - corners[0])
        hours = field(points[:, 0], points[:, 1])
        plenty = site.sun.plenty * (bed.need or site.sun.need) / site.sun.need
        return BedSun(
            bed=bed.id,
            month_sun_h=np.full(12, hours.mean()),
            season_sun_h=float(hours.mean()),
            worst_cell_sun_h=float(hours.min()),
            light_class="made up",
            sun_score=float(100 * np.minimum(hours, plenty).mean() / plenty),
            cells=np.column_stack([points, np.zeros(len(points))]),
            cell_season_h=hours,
        )

    return sun_at


@pytest.fixture
def yard() -> Callable[..., Site]:
    return bare_yard


@pytest.fixture
def maps_from() -> Callable[[Site, Field], SunMaps]:
    return maps_of


@pytest.fixture
def sun_of() -> Callable[[Site, Field], Callable[[Bed], BedSun]]:
    return sun_from
