"""The ground's horizon on a real elevation model, against a march in small even steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import rasterio
from shapely import box

from siteplan.land.grid import Grid
from siteplan.land.terrain import Terrain
from siteplan.sun.engine import SunEngine
from siteplan.sun.lookup.terrain_horizon import ground_slopes, shared_slopes
from siteplan.sun.obstacles.prisms import Prism
from siteplan.sun.path.solar_path import sun_path

pytestmark = pytest.mark.slow

AZIMUTH = np.arange(0.0, 360.0, 10.0)  # on the rays themselves, so that nothing lies between two of them


@pytest.fixture(scope="module")
def plain(shared):
    """Return a plain with banks and ditches, 720 m by 480 m in cells of 1 m (LINZ, CC-BY 4.0)."""
    with rasterio.open(shared / "dem" / "nz_linz_dem_1m_BY23.tif") as raster:
        elevation = raster.read(1, masked=True).astype(float).filled(np.nan)
    rows, columns = elevation.shape
    return Terrain(Grid(west=-columns / 2, north=rows / 2, cell=1, rows=rows, columns=columns), elevation)


@pytest.fixture(scope="module")
def standpoints(plain):
    rng = np.random.default_rng(3)
    x, y = rng.uniform(-250, 250, 40), rng.uniform(-150, 150, 40)
    height = plain.height_at(x, y)
    there = np.isfinite(height)
    return np.column_stack([x, y, height])[there]


def march(point, terrain, *, step=0.1):
    """Return the steepest slope up to the ground along each azimuth, looked at every tenth of a cell, nearby of a hundredth."""
    away = np.concatenate([[1e-3], np.arange(0.01, 2.0, 0.01), np.arange(2.0, 900.0, step)])
    slopes = np.zeros(len(AZIMUTH))
    for number, azimuth in enumerate(np.radians(AZIMUTH)):
        ground = terrain.height_at(point[0] + away * np.sin(azimuth), point[1] + away * np.cos(azimuth))
        slopes[number] = max(0.0, np.nanmax((ground - point[2]) / away))
    return slopes


def test_real_ground_is_seen_as_a_march_sees_it(plain, standpoints):
    expected = np.array([march(point, plain) for point in standpoints])
    slopes = ground_slopes(standpoints, plain, AZIMUTH)
    off = np.degrees(np.arctan(slopes)) - np.degrees(np.arctan(expected))
    assert np.degrees(np.arctan(expected)).max() > 1  # there is something to see
    # a march in longer steps can only miss: a tenth of a degree is half a minute of sun at the horizon
    assert off.max() <= 0.02, off.max()
    assert np.abs(off).mean() <= 0.05, np.abs(off).mean()
    assert np.percentile(np.abs(off), 99) <= 0.6, np.percentile(np.abs(off), 99)


def test_neighbours_on_real_ground_share_their_look_without_harm(plain):
    x, y = (axis.ravel() + 20.0 for axis in np.meshgrid(np.arange(0, 3, 0.25), np.arange(0, 3, 0.25)))
    points = np.column_stack([x, y, plain.height_at(x, y)])
    alone, together = ground_slopes(points, plain, AZIMUTH), shared_slopes(points, plain, AZIMUTH)
    off = np.degrees(np.arctan(together) - np.arctan(alone))
    assert np.abs(off).mean() <= 0.1, np.abs(off).mean()


# A step of ten minutes that is cut short at sunrise counts as lit where its middle is: behind low ground the exact test
# is 0.01 h too bright a day. Steps of three minutes are out by 0.003 h.
STEP = 1 / 20


@pytest.mark.parametrize("steepest", [False, True], ids=["plain", "bank"])
def test_hours_of_sun_on_real_ground_keep_to_the_exact_test(plain, steepest):
    # 30 m by 30 m in cells of half a metre, in tiles as on a map, with a shed and a hedge
    x, y = bank(plain) if steepest else (0.0, 0.0)
    shed = Prism(outline=box(x - 9, y - 3, x - 6, y), bottom=0, top=float(plain.height_at(x, y)) + 2.5, owner="shed")
    hedge = Prism(
        outline=box(x, y + 2, x + 9, y + 3), bottom=0, top=float(plain.height_at(x, y)) + 1.5, owner="hedge",
        transmittance_leafy=0.1,
    )  # fmt: skip
    usual, fine = (
        SunEngine(path=path, prisms=(shed, hedge), season=np.ones(365, dtype=bool), terrain=plain)
        for path in (
            sun_path(-43.5, 172.0, year=2026, timezone="Pacific/Auckland", step=step) for step in (1 / 6, STEP)
        )
    )
    axis = np.arange(-15, 15, 0.5) + 0.25
    east, north = (part.ravel() for part in np.meshgrid(x + axis, y + axis))
    points = np.column_stack([east, north, plain.height_at(east, north)])
    sample = np.random.default_rng(6).permutation(len(points))[:120]
    looked, exact = usual.hours(points).month_h[:, sample], fine.exact_hours(points[sample]).month_h
    level = replace(usual, terrain=None).hours(points[sample]).month_h
    assert (level - exact).max() > 0.2  # the ground takes sun from what lies below it
    off = looked - exact
    assert np.abs(off).mean() <= 0.02, np.abs(off).mean()
    assert np.percentile(np.abs(off), 99) <= 0.12, np.percentile(np.abs(off), 99)
    assert np.abs(off.mean(axis=1)).max() <= 0.01, off.mean(axis=1)


def bank(terrain):
    """Return where the ground is steepest, well within the raster."""
    grid = terrain.grid
    north, east = np.gradient(terrain.elevation)
    steep = np.where(np.isfinite(terrain.elevation), np.hypot(north, east), 0)
    steep[:40], steep[-40:], steep[:, :40], steep[:, -40:] = 0, 0, 0, 0
    row, column = np.unravel_index(np.nanargmax(steep), steep.shape)
    return grid.x[column], grid.y[row]
