"""The map of a mirrored property is the mirrored map, and that of a property turned with its sun the turned one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box
from shapely.affinity import affine_transform

from siteplan.land.features import Bed, Building, Fence, Hedge, MonthDay, Tree
from siteplan.land.grid import Grid
from siteplan.land.site import SunSettings
from siteplan.land.terrain import Skyline, Terrain
from siteplan.sun.engine import sun_engine
from siteplan.sun.sun_maps import sun_maps

# An edge that falls on the very middle of a bin may fall to either side of it; and a piece dropped for one tile, as it
# hides less than 0.002 h, may be kept for its image
SAME = 0.002

MIRRORED = [-1, 0, 0, 1, 0, 0]  # east becomes west
TURNED = [0, 1, -1, 0, 0, 0]  # a quarter turn clockwise: north becomes east


@pytest.fixture(scope="module")
def cluttered(tiny_yard):
    """Return a yard with one of everything in it, on a bumpy slope, below hills."""
    ground = Grid(west=-24, north=24, cell=1, rows=48, columns=48)
    x, y = np.meshgrid(ground.x, ground.y)
    leaves = {"leaf_out": MonthDay(4, 10), "leaf_fall": MonthDay(10, 27)}
    return replace(
        tiny_yard,
        boundary=Polygon([(-6, -6), (6, -6), (6, 3), (2, 6), (-6, 6)]),
        sun=SunSettings(year=2026, cell=0.5, step=0.5),
        terrain=Terrain(ground, 200 + 0.07 * x + 0.03 * y + 0.8 * np.sin(x / 5) * np.cos(y / 7 + 1)),
        skyline=Skyline(np.array([0.0, 80, 130, 200, 290]), np.array([2.0, 12, 4, 9, 3])),
        buildings=(
            Building(id="house", outline=box(-5, -5, -1, -2), height=4.5, eaves=2.5, ridge_heading=90.0),
            Building(id="deck", outline=box(3, -5, 5.5, -2), height=2.6, base=2.4, transmittance=0.3),
            Building(id="court", outline=box(-5, 3, -1, 6).difference(box(-4, 4, -2, 5)), height=1.7),
            Building(id="tower", outline=box(8, -9, 11, -5), height=11),
        ),
        trees=(
            Tree(id="pear", outline=Point(2, 1).buffer(1.5), trunk=Point(2, 1), height=5, crown_base=1.5,
                 crown_form="cone", trunk_diameter=0.2, **leaves),
            Tree(id="ash", outline=Point(-7, 0).buffer(2), trunk=Point(-7, 0), height=9, crown_base=3, **leaves),
        ),
        hedges=(Hedge(id="hedge", outline=Polygon([(5, 0), (6, 0.3), (5.5, 2.5), (4.8, 2)]), height=1.4),),
        fences=(Fence(id="fence", line=LineString([(-6, -6), (6, -5.7)]), height=1.5, transmittance=0.4),),
        gates=(),
        beds=(
            Bed(id="bed", outline=box(-0.5, -1, 0.7, 1.4), height=0.45, trellis_height=1.8, trellis_side=0.0,
                crop_height=1.1),
        ),
    )  # fmt: skip


def moved(site, matrix, azimuth, grid):
    """Return a site with all its outlines moved, its ground as `grid` moves an array, its bearings as `azimuth` does."""

    def place(feature, *, names=("outline", "trunk", "line")):
        has = {name: getattr(feature, name, None) for name in names}
        return {name: affine_transform(shape, matrix) for name, shape in has.items() if shape is not None}

    def image(features):
        return tuple(replace(feature, **place(feature)) for feature in features)

    bearing = azimuth(site.skyline.azimuth)
    order = np.argsort(bearing)
    return replace(
        site,
        boundary=affine_transform(site.boundary, matrix),
        terrain=Terrain(site.terrain.grid, grid(site.terrain.elevation)),
        skyline=Skyline(bearing[order], site.skyline.elevation[order]),
        buildings=tuple(
            building if building.ridge_heading is None
            else replace(building, ridge_heading=float(azimuth(building.ridge_heading) % 180))
            for building in image(site.buildings)
        ),
        trees=image(site.trees),
        hedges=image(site.hedges),
        fences=image(site.fences),
        beds=tuple(replace(bed, trellis_side=float(azimuth(bed.trellis_side))) for bed in image(site.beds)),
    )  # fmt: skip


@pytest.fixture(scope="module")
def here(cluttered):
    engine = sun_engine(cluttered)
    maps = sun_maps(cluttered, engine)
    lit = maps.season_h[np.isfinite(maps.season_h)]
    assert lit.std() > 1  # there is something to mirror
    return engine, maps


@pytest.mark.parametrize(
    ("matrix", "azimuth", "grid"),
    [
        (MIRRORED, lambda bearing: (360 - bearing) % 360, lambda array: array[..., ::-1]),
        (TURNED, lambda bearing: (bearing + 90) % 360, lambda array: np.rot90(array, -1, axes=(-2, -1))),
    ],
    ids=["mirrored", "turned"],
)
def test_the_map_of_the_image_is_the_image_of_the_map(cluttered, here, matrix, azimuth, grid):
    engine, maps = here
    image = moved(cluttered, matrix, azimuth, grid)
    path = replace(engine.path, azimuth=azimuth(engine.path.azimuth))
    there = replace(sun_engine(image), path=path, _skies={})
    got = sun_maps(image, there)
    for ours, theirs in ((grid(maps.season_h), got.season_h), (grid(maps.month_h), got.month_h)):
        assert np.array_equal(np.isnan(ours), np.isnan(theirs))
        assert np.nanmax(np.abs(ours - theirs)) <= SAME
    points = np.array([[-3.0, 1.0, 202.0], [1.0, -4.0, 201.5], [4.0, -3.0, 201.2], [3.0, 4.0, 203.0]])
    a, b, d, e = matrix[:4]
    turned = np.column_stack([points[:, :2] @ np.array([[a, d], [b, e]]), points[:, 2]])
    exact = engine.exact_hours(points).month_h
    assert there.exact_hours(turned).month_h == pytest.approx(exact, abs=1e-9)
    assert exact.max() > 5
