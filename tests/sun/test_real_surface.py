"""Hours of sun in a yard of which nothing is drawn, from a real surface, against an independent ray caster over it.

The survey of a block in Delft (AHN3, Dutch government open data, CC0), made into two rasters as agencies make theirs:
the highest return and the mean of the ground's returns in each cell of half a metre. embreex casts the rays.
"""

from __future__ import annotations

import json
import shutil
from dataclasses import replace

import numpy as np
import pytest
import rasterio
import shapely
import trimesh
from pyproj import Transformer
from rasterio import Affine
from shapely import box, prepare
from shapely.geometry import mapping

from siteplan import read_site
from siteplan.cli import main
from siteplan.land.grid import grid_over
from siteplan.sun.engine import sun_engine
from siteplan.sun.sun_maps import sun_maps

pytestmark = pytest.mark.slow

RD = "EPSG:28992"
CELL = 0.5  # m
GROUND = 2  # class of the ASPRS standard
YARD = box(84946, 447500, 84960, 447516)  # a back garden between two rows of houses, with trees around
OPEN_JUNE = 16.6  # h a day from rise to set
SITE = """\
name = "Behind the rows"
terrain = "terrain.tif"
surface_model = "surface.tif"
[season]
last_frost = "04-15"
first_frost = "10-20"
[sun]
cell = "1 m"
year = 2026
"""


@pytest.fixture(scope="module")
def survey(shared):
    """Return surface and ground as rasters, NaN where no return fell, with the place of their upper left corner."""
    laspy = pytest.importorskip("laspy", reason="laspy, which reads the survey, is not installed")
    points = laspy.read(shared / "lidar" / "delft_ahn3_part.laz")
    x, y, z = np.asarray(points.x), np.asarray(points.y), np.asarray(points.z)
    west, north = np.floor(x.min()), np.ceil(y.max())
    shape = int((north - y.min()) / CELL) + 1, int((x.max() - west) / CELL) + 1
    at = ((north - y) / CELL).astype(int), ((x - west) / CELL).astype(int)
    surface = np.full(shape, -np.inf)
    np.maximum.at(surface, at, z)
    ground, count = np.zeros(shape), np.zeros(shape)
    low = np.asarray(points.classification) == GROUND
    np.add.at(ground, (at[0][low], at[1][low]), z[low])
    np.add.at(count, (at[0][low], at[1][low]), 1)
    surface[np.isinf(surface)] = np.nan
    return surface, np.where(count > 0, ground / np.maximum(count, 1), np.nan), (west, north)


@pytest.fixture(scope="module")
def yard(survey, tmp_path_factory):
    """Return the folder of a yard with the two rasters and nothing drawn but its boundary."""
    folder = tmp_path_factory.mktemp("behind")
    surface, ground, (west, north) = survey
    for name, values in (("surface.tif", surface), ("terrain.tif", ground)):
        with rasterio.open(
            folder / name, "w", driver="GTiff", width=values.shape[1], height=values.shape[0], count=1,
            dtype="float32", crs=RD, nodata=-9999, transform=Affine(CELL, 0, west, 0, -CELL, north),
        ) as raster:  # fmt: skip
            raster.write(np.where(np.isnan(values), -9999, values).astype("float32"), 1)
    to_degrees = Transformer.from_crs(RD, "EPSG:4326", always_xy=True)
    boundary = mapping(shapely.transform(YARD, to_degrees.transform, interleaved=False))
    lot = {"type": "Feature", "id": "lot", "properties": {"kind": "boundary"}, "geometry": boundary}
    (folder / "features.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": [lot]}))
    (folder / "site.toml").write_text(SITE)
    return folder


def corners_of(survey, site, *, middles=False):
    """Return x and y in the site's frame of the corners of the raster's cells, or of their middles: (rows, columns, 2)."""
    surface, _, (west, north) = survey
    rows, columns = surface.shape if middles else np.add(surface.shape, 1)
    off = 0.5 if middles else 0.0
    x, y = np.meshgrid(west + (np.arange(columns) + off) * CELL, north - (np.arange(rows) + off) * CELL)
    return np.stack(Transformer.from_crs(RD, site.frame.crs, always_xy=True).transform(x, y), axis=2)


def beyond(survey, site):
    """Return which cells lie wholly beyond the boundary."""
    middle = corners_of(survey, site, middles=True)
    zone = site.boundary.buffer(CELL * np.sqrt(0.5))
    prepare(zone)
    return ~shapely.intersects_xy(zone, middle[..., 0], middle[..., 1])


def as_boxes(survey, site, which):
    """Return some cells as boxes with level tops."""
    surface = survey[0]
    rows, columns = np.nonzero(which & np.isfinite(surface))
    corner = corners_of(survey, site)
    ring = [corner[rows + down, columns + right] for down, right in ((0, 0), (0, 1), (1, 1), (1, 0))]
    xy, top = np.stack(ring, axis=1), surface[rows, columns]
    upper = np.concatenate([xy, np.repeat(top[:, None, None], 4, axis=1)], axis=2)
    lower = np.concatenate([xy, np.full((len(xy), 4, 1), -10.0)], axis=2)
    faces = [[0, 1, 2], [0, 2, 3]]
    for i, j in ((0, 1), (1, 2), (2, 3), (3, 0)):
        faces += [[i, j, j + 4], [i, j + 4, i + 4]]
    corners = np.concatenate([upper, lower], axis=1).reshape(-1, 3)
    return trimesh.Trimesh(corners, (8 * np.arange(len(rows))[:, None, None] + faces).reshape(-1, 3), process=False)


def as_sheet(survey, site):
    """Return the surface beyond the boundary as triangles between the cells' middles, without upright walls."""
    surface = survey[0]
    middle, known = corners_of(survey, site, middles=True), beyond(survey, site) & np.isfinite(surface)
    number = np.arange(surface.size).reshape(surface.shape)
    whole = known[:-1, :-1] & known[:-1, 1:] & known[1:, :-1] & known[1:, 1:]
    a, b, c, d = number[:-1, :-1][whole], number[:-1, 1:][whole], number[1:, 1:][whole], number[1:, :-1][whole]
    corners = np.column_stack([middle.reshape(-1, 2), np.nan_to_num(surface).ravel()])
    return trimesh.Trimesh(
        corners, np.concatenate([np.column_stack(t) for t in ((a, b, c), (a, c, d))]), process=False
    )


def cast_hours(mesh, points, engine):
    """Return the hours of sun past a mesh, shape (12, n): mean of the days of each month."""
    path = engine.path
    up, bearing = np.radians(path.elevation), np.radians(path.azimuth)
    suns = np.column_stack([np.cos(up) * np.sin(bearing), np.cos(up) * np.cos(bearing), np.sin(up)])
    hours = np.zeros((12, len(points)))
    for i, point in enumerate(points):
        lit = ~mesh.ray.intersects_any(np.repeat(point[None], len(suns), axis=0), suns) & (path.elevation >= 0)
        hours[:, i] = np.bincount(path.month - 1, weights=lit * path.hours, minlength=12) / path.month_days
    return hours


def test_hours_of_a_yard_with_nothing_drawn_are_those_of_rays_over_the_surface(survey, yard):
    site = read_site(yard)
    engine = sun_engine(site)
    maps = sun_maps(site, engine)
    inside = np.isfinite(maps.season_h)
    centres = maps.grid.centres()[inside.ravel()]
    points = np.column_stack([centres, site.terrain.height_at(*centres.T)])
    ours = maps.month_h[:, inside]
    exact = engine.exact_hours(points).month_h
    # every cell beyond the boundary, also where it is mere ground
    boxes = cast_hours(as_boxes(survey, site, beyond(survey, site)), points, engine)
    # of the surface below half a metre neither knows: what rays meet there is the terrain's rise, seen to a degree or two
    assert np.abs((exact - boxes).mean(axis=1)).max() < 0.01, (exact - boxes).mean(axis=1)
    assert np.abs(exact - boxes).mean(axis=1).max() < 0.02, np.abs(exact - boxes).mean(axis=1)
    # bins of half a degree, as everywhere in the lookup; a cell at 30 m is as wide
    assert np.abs((ours - boxes).mean(axis=1)).max() < 0.015, (ours - boxes).mean(axis=1)
    assert np.abs(ours - boxes).mean(axis=1).max() < 0.06, np.abs(ours - boxes).mean(axis=1)
    # triangles between the cells' middles have no upright walls, so that roofs end half a cell earlier: less shade
    sheet = cast_hours(as_sheet(survey, site), points, engine)
    less = (sheet - ours).mean(axis=1)
    assert less.min() > -0.005, less
    assert less.max() < 0.45, less
    assert ours[5].mean() < 0.7 * OPEN_JUNE  # walls and trees around take a third of a June day


@pytest.fixture(scope="module")
def found(shared, yard, tmp_path_factory):
    """Return the same yard with all trees and roofs that `siteplan heights` finds in the survey, and its ground."""
    pytest.importorskip("laspy", reason="laspy, which reads the survey, is not installed")
    folder = tmp_path_factory.mktemp("found")
    for name in ("features.geojson", "surface.tif"):
        shutil.copyfile(yard / name, folder / name)
    (folder / "site.toml").write_text(SITE.split("\n", 3)[3])
    tile = shared / "lidar" / "delft_ahn3_part.laz"
    assert main(["heights", str(folder), str(tile), "--crs", "EPSG:7415", "--quiet"]) == 0
    assert main(["heights", str(folder), "--accept", "all", "--quiet"]) == 0
    keys = 'terrain = "heights/terrain.tif"\nsurface_model = "surface.tif"\nsurface_within = true\n'
    (folder / "site.toml").write_text(keys + SITE.split("\n", 3)[3])
    return folder


def opaque(site, **changes):
    """Return a site whose trees let nothing through."""
    changes |= {"transmittance_leafy": 0.0, "transmittance_bare": 0.0, "transmittance_path": None, "spreads": ()}
    return replace(site, trees=tuple(replace(tree, **changes) for tree in site.trees))


def test_hours_by_what_is_found_are_those_of_rays_over_the_surface_but_for_leaves_and_crowns(survey, found):
    site = read_site(found)
    assert len(site.trees) > 100
    assert len(site.buildings) > 50
    centres = corners_of(survey, site, middles=True)
    height = survey[0] - site.terrain.height_at(centres[..., 0].ravel(), centres[..., 1].ravel()).reshape(
        survey[0].shape
    )
    stands = height > 0.5  # m
    mesh = as_boxes(survey, site, stands)
    cells = grid_over(site.boundary, 1.0).centres()
    cells = cells[shapely.intersects_xy(site.boundary, *cells.T)]
    for building in site.buildings:
        cells = cells[~shapely.intersects_xy(building.outline, *cells.T)]
    points = np.column_stack([cells, site.terrain.height_at(*cells.T)])
    up = np.tile([0.0, 0, 1], (len(points), 1))
    points = points[~mesh.ray.intersects_any(points, up)]  # not below a crown of the surface, which hides all
    assert len(points) > 100

    def hours(one, *, columns=False):
        engine = sun_engine(one)
        return (engine if columns else replace(engine, columns=())).hours(points).month_h.mean(axis=1)

    rays = cast_hours(mesh, points, sun_engine(site)).mean(axis=1)
    # the same surface, by siteplan
    assert np.abs(hours(replace(site, trees=(), buildings=()), columns=True) - rays).max() < 0.04
    # flat roofs and gables in place of its cells: their edges are straight, their chimneys gone
    roofs = hours(replace(site, trees=()), columns=True) - rays
    assert np.abs(roofs).max() < 0.3, roofs
    # crowns that are opaque and reach the ground, as its cells do, but fill their outlines up to the top
    filled = hours(opaque(site, crown_base=0.0)) - rays
    assert filled.min() > -1.3, filled
    assert filled.max() < 0.1, filled
    # crowns from their bases up: the sun comes in below
    lifted = hours(opaque(site)) - rays
    assert np.abs(lifted).max() < 0.8, lifted
    assert (lifted >= filled - 0.01).all()
    # crowns as they were found: hardly any leaves in March, none of which a surface knows
    leafy = hours(site) - rays
    assert 3 < leafy[2] < 5.5, leafy
    assert 1 < leafy[5] < 2.6, leafy
    assert leafy.min() > -0.1, leafy
