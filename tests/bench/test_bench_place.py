"""How long does a search take, by size and headings? Without the maps; off by default."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.land.features import Building, Fence, MonthDay, Tree
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import grid_over
from siteplan.land.layers import Recipe
from siteplan.land.site import PlaceSettings, Season, Site, SunSettings
from siteplan.place.search.search import find_places
from siteplan.sun.sun_maps import SunMaps

pytestmark = pytest.mark.bench


def cluttered(side: float) -> tuple[Site, SunMaps]:
    random = np.random.default_rng(4)
    boundary = box(0, 0, side, side * 4 / 3)
    trees = []
    for number, (x, y) in enumerate(random.uniform(0, side, (12, 2))):
        place = Point(x, y)
        trees.append(
            Tree(
                id=f"tree {number}",
                outline=place.buffer(1.5),
                trunk=place,
                height=6,
                crown_base=2,
                trunk_diameter=0.15,
            )
        )
    site = Site(
        name="Bench",
        frame=LocalFrame(longitude=8.0, latitude=45.0),
        timezone="Europe/Rome",
        boundary=boundary,
        season=Season(last_frost=MonthDay(4, 15), first_frost=MonthDay(10, 20)),
        sun=SunSettings(year=2026, cell=0.25),
        place=PlaceSettings(count=3),
        recipe=Recipe(layers=()),
        buildings=(Building(id="house", outline=box(side / 3, side / 3, side * 0.6, side * 0.7), height=6),),
        fences=(Fence(id="fence", line=LineString(boundary.exterior.coords), height=1.8),),
        trees=tuple(trees),
    )
    grid = grid_over(boundary, 0.25)
    x, y = np.meshgrid(grid.x, grid.y)
    season = 5 + 2 * np.sin(x / 3) * np.cos(y / 4)
    return site, SunMaps(grid, np.broadcast_to(season, (12, *grid.shape)), season)


@pytest.mark.parametrize("step", [5.0, 10.0], ids=["36 headings", "18 headings"])
@pytest.mark.parametrize("side", [15.0, 30.0, 60.0], ids=lambda side: f"{side:.0f} m")
def test_search_by_size(benchmark, side, step):
    site, maps = cluttered(side)
    found = benchmark.pedantic(find_places, args=(site, maps), kwargs={"step": step}, warmup_rounds=1, rounds=3)
    assert len(found.places) == 3
