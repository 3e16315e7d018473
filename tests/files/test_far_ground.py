"""Is the ground beyond the property there out to the raster's edge, and a raster of any size no trouble?"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import rasterio
from rasterio.enums import Resampling

from siteplan import read_site
from siteplan.files.ground import far_ground
from siteplan.land.grid import Grid
from siteplan.land.terrain import Skyline, Terrain
from siteplan.sun.engine import sun_engine
from siteplan.sun.lookup.terrain_horizon import ground_slopes

from .rasters import steps, write_empty_raster, write_raster

RADIUS = 6_371_000.0  # m, mean radius of the earth


@pytest.fixture
def ground(yard):
    """Return a writer of the ground around the yard: heights by metres east and north, out to a margin."""

    def write(height, *, margin, cell, **options):
        east, up, corner = steps(margin, cell)
        yard.toml = 'terrain = "ground.tif"\n' + yard.toml if "terrain" not in yard.toml else yard.toml
        write_raster(yard.write() / "ground.tif", height(east, up) + 0 * east, **corner, **options)
        return yard.folder

    return write


def hill_in_the_south(_, up):
    """Return ground that rises to the south from 500 m away: at one in two, up to 300 m higher. [m]"""
    return 100 + np.clip((-up - 500) / 2, 0, 300)


def alone(site, **changes):
    """Return a site on which nothing stands."""
    return replace(site, buildings=(), trees=(), hedges=(), fences=(), beds=(), **changes)


def test_a_hill_beyond_the_property_hides_the_sun(ground):
    site = read_site(ground(hill_in_the_south, margin=2000, cell=5.0))
    assert site.cautions == ()
    point = np.array([[0.0, 0.0, float(site.terrain.height_at([0.0], [0.0])[0])]])
    slopes = ground_slopes(point, site.terrain, np.array([0.0, 180.0]))[0]
    # from its foot at 500 m it rises to 300 m at 1,100 m; a cell of the ring there is 5 m wide: 2.5 m at most
    assert slopes == pytest.approx([0, 300 / 1100], abs=2.5 / 1100 + 1e-3)
    # the same hill as a skyline: off the south its crest is as much farther as the cosine is smaller; where that is
    # beyond the raster's edge, 2,000 m away, its slope is seen up to there
    azimuth = np.arange(0.0, 360.0, 2.0)
    sine, cosine = np.abs(np.sin(np.radians(azimuth))), np.maximum(-np.cos(np.radians(azimuth)), 1e-9)
    away = np.minimum(1100 / cosine, 2000 / np.maximum(sine, cosine))
    crest = np.degrees(np.arctan(np.maximum(away * cosine - 500, 0) / 2 / away))
    told = alone(site, terrain=None, skyline=Skyline(azimuth=azimuth, elevation=crest))
    seen, expected, free = (sun_engine(one).hours(point) for one in (alone(site), told, alone(site, terrain=None)))
    assert free.month_h[11, 0] - seen.month_h[11, 0] > 2  # hours of a December day
    # UTM's south is 0.7 degrees off here, which is three minutes of sun; a quarter of a degree of height is two
    assert seen.month_h[:, 0] == pytest.approx(expected.month_h[:, 0], abs=0.08)


def test_rings_are_the_raster_itself(ground):
    def rolling(east, up):
        return 300 + 40 * np.sin(east / 300) * np.cos(up / 400)

    site = read_site(ground(rolling, margin=3000, cell=2.0))
    near, rings = site.terrain, site.terrain.beyond
    assert len(rings) == 2
    assert [ring.grid.cell for ring in rings] == pytest.approx([2.0, 8.0], rel=0.01)
    assert near.grid.cell == pytest.approx(2.0, rel=0.01)
    for ring in rings:
        known = np.argwhere(np.isfinite(ring.elevation))
        row, column = known[np.random.default_rng(5).integers(0, len(known), 400)].T
        x, y = ring.grid.x[column], ring.grid.y[row]
        # UTM is turned by 0.7 degrees against true north at 8 E, and 0.0004 shorter; the ground is at most 0.17 steep
        turn = np.radians(-0.7071)
        east, up = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
        fall = (x**2 + y**2) * 0.87 / (2 * RADIUS)
        assert ring.elevation[row, column] == pytest.approx(
            rolling(east, up) - fall, abs=0.17 * (ring.grid.cell + 3.0)
        )


def test_no_ring_knows_the_ground_within_it(ground):
    site = read_site(ground(lambda east, _: 100 + 0 * east, margin=3000, cell=2.0))
    within = site.terrain.grid
    for ring in site.terrain.beyond:
        edge = 1.5 * ring.grid.cell + 1e-6
        x, y = (axis.ravel() for axis in np.meshgrid(ring.grid.x, ring.grid.y))
        inside = (x > within.west + edge) & (x < within.east - edge) & (y > within.south + edge)
        inside &= y < within.north - edge
        known = np.isfinite(ring.elevation).ravel()
        assert not known[inside].any()
        assert known[~inside].mean() > 0.95  # all but its rim, where the raster's edge runs askew
        within = ring.grid


def test_the_earth_curves_away(ground):
    site = read_site(ground(lambda east, _: 1000 + 0 * east, margin=42_000, cell=100.0))
    ring = site.terrain.beyond[-1]
    row, column = ring.grid.cell_of(0.0, 40_000.0)
    # a level sight over 40 km passes 109 m above the sea's surface: 0.0675 m for each square kilometre, with the usual
    # bending of the ray (common practice of surveyors, from memory: 0.0673 to 0.0675)
    assert ring.elevation[row, column] == pytest.approx(1000 - 0.0683 * 40**2, rel=2e-3)
    assert 0.0673 * 0.98 < 0.87 / (2 * RADIUS) * 1e6 < 0.0675 * 1.02


def test_a_raster_of_the_property_alone_has_no_rings(ground):
    assert read_site(ground(lambda east, _: 100 + 0 * east, margin=60, cell=1.0)).terrain.beyond == ()


def test_holes_around_get_a_word_and_hide_nothing(ground):
    folder = ground(lambda _, up: np.where(up > 100, -9999, 100.0), margin=400, cell=2.0, nodata=-9999)
    (caution,) = read_site(folder).cautions
    assert caution.code == "elevation-holes"
    assert "has no data for 37% of the ground within" in caution.text or "38%" in caution.text  # 300 of 800 m


def test_overviews_let_more_be_read(ground, monkeypatch):
    folder = ground(hill_in_the_south, margin=1500, cell=1.0, tiled=True, blockxsize=256, blockysize=256)
    monkeypatch.setattr(far_ground, "MOST_READ", 5e6)
    site = read_site(folder)
    (caution,) = site.cautions
    assert caution.code == "elevation-far"
    assert "ground.tif has 9 million cells and is not read whole" in caution.text
    assert "what stands farther off is left out. With overviews more of it can be read: gdaladdo" in caution.text
    assert site.terrain.beyond[-1].grid.south > -1400
    with rasterio.open(folder / "ground.tif", "r+") as raster:
        raster.build_overviews([4, 16], Resampling.average)
    site = read_site(folder)
    assert site.cautions == ()
    assert site.terrain.beyond[-1].grid.south < -1450
    point = np.array([[0.0, 0.0, 100.0]])
    assert ground_slopes(point, site.terrain, np.array([180.0]))[0, 0] == pytest.approx(300 / 1100, abs=6 / 1100)


ALLOWED = 2_500_000_000  # bytes of address space, several of its libraries among them; the raster has 14.4e9


def test_a_raster_larger_than_memory_is_read_in_parts(yard):
    yard.toml = 'terrain = "ground.tif"\n' + yard.toml
    write_empty_raster(yard.write() / "ground.tif", 60_000, tiled=True, blockxsize=256, blockysize=256)
    code = (
        f"import resource; resource.setrlimit(resource.RLIMIT_AS, ({ALLOWED}, {ALLOWED}))\n"
        "from siteplan.cli import main; raise SystemExit(main(['check', 'yard']))"
    )
    done = subprocess.run(  # our own interpreter
        [sys.executable, "-c", code],
        cwd=yard.folder.parent,
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},  # whose threads would take room of their own
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    words = " ".join(done.stdout.split())
    assert "ground.tif has 3,600 million cells and is not read whole" in words


@pytest.mark.parametrize("most", [50, 100])
def test_a_ring_has_as_many_cells_to_a_side_as_it_may(ground, monkeypatch, most):
    # where a hundredth of the distance would be finer, the cells are the ring's side divided by the most there may be
    monkeypatch.setattr(far_ground, "MOST_CELLS", most)
    ring = read_site(ground(lambda east, _: 100 + 0 * east, margin=1000, cell=2.0)).terrain.beyond[0]
    assert max(ring.grid.rows, ring.grid.columns) == most  # all of it lies on the raster
    assert ring.grid.cell == pytest.approx(-2 * ring.grid.west / most, rel=1e-3)  # about the frame's middle


def test_a_terrain_is_cropped_to_what_is_known():
    elevation = np.full((6, 7), np.nan)
    elevation[1, 3] = elevation[4, 2] = elevation[2, 5] = 10.0
    grid = Grid(west=100.0, north=50.0, cell=2.0, rows=6, columns=7)
    found = far_ground.cropped(Terrain(grid=grid, elevation=elevation))
    # rows 1 to 4 and columns 2 to 5 are left
    assert found.grid == Grid(west=104.0, north=48.0, cell=2.0, rows=4, columns=4)
    np.testing.assert_array_equal(found.elevation, elevation[1:5, 2:6])
