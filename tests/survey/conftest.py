"""A small site whose heights nobody knows yet, and tiles of a simulated flight over it."""

from __future__ import annotations

import json
from pathlib import Path

import laspy
import numpy as np
import pytest
import rasterio
import shapely
from pyproj import CRS, Transformer
from shapely import affinity

from siteplan.land.frame import LocalFrame
from tests.heights.scene import flown, small_scene

FRAME = LocalFrame(longitude=8.0, latitude=45.0)
UTM = 32632
SETTINGS = """\
name = "Seen from above"
[season]
last_frost = "04-15"
first_frost = "10-20"
[sun]
year = 2026
cell = "1 m"
step = "60 min"
"""


def lonlat(shape):
    """Return a shape of the scene, whose middle is the site's, in longitude and latitude, as GeoJSON."""
    return json.loads(shapely.to_geojson(FRAME.to_lonlat(affinity.translate(shape, -30, -30))))


def feature(name, kind, shape, **properties):
    return {"type": "Feature", "id": name, "properties": {"kind": kind, **properties}, "geometry": lonlat(shape)}


def drawn_features():
    """Return a boundary, a house and a tree without heights, and a wall whose height was measured."""
    return [
        feature("lot", "boundary", shapely.box(2, 2, 58, 58)),
        feature("house", "building", shapely.box(20, 12, 34, 20)),
        feature("oak", "tree", shapely.Point(12, 45).buffer(3.4, quad_segs=4)),
        feature("wall", "fence", shapely.LineString([(45.25, 5), (45.25, 30)]), height="1 m", measured="tape"),
    ]


def write_site(folder: Path, features=None, settings=SETTINGS) -> Path:
    folder.mkdir()
    (folder / "site.toml").write_text(settings, encoding="utf-8")
    document = {"type": "FeatureCollection", "features": drawn_features() if features is None else features}
    (folder / "features.geojson").write_text(json.dumps(document, indent=1), encoding="utf-8")
    return folder


def write_tile(
    path, returns, *, epsg=UTM, told=True, feet=1.0, east=0.0, north=0.0, up=180.0, gps=None, made=None, version="1.4"
):
    """Write the points of the scene as a tile in a coordinate system, moved by some metres."""
    change = Transformer.from_crs(FRAME.crs, CRS.from_epsg(epsg), always_xy=True)
    x, y = change.transform(returns.x - 30 + east, returns.y - 30 + north)
    header = laspy.LasHeader(point_format=6 if version == "1.4" else 1, version=version)
    header.scales, header.offsets = [0.001] * 3, [np.floor(x.min()), np.floor(y.min()), 0.0]
    if told:
        header.add_crs(CRS.from_epsg(epsg))
    if made is not None:
        header.creation_date = made
    if gps is not None:
        header.global_encoding.gps_time_type = laspy.header.GpsTimeType.STANDARD
    las = laspy.LasData(header)
    las.x, las.y, las.z = x, y, (returns.z + up) * feet
    las.classification = returns.kind
    las.return_number = np.where(returns.last & returns.several, 2, 1)
    las.number_of_returns = np.where(returns.several, 2, 1)
    las.gps_time = np.zeros(len(x)) if gps is None else np.linspace(*gps, len(x))
    las.write(path)
    return path


def write_raster(path, values, *, unit=None, epsg=None, nodata=np.nan):
    """Write a raster over the scene, in cells of half a metre, its first row in the north."""
    crs = FRAME.crs.to_wkt() if epsg is None else CRS.from_epsg(epsg).to_wkt()
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0], count=1, dtype="float32",
        crs=crs, transform=rasterio.Affine(0.5, 0, -30, 0, -0.5, 30), nodata=nodata,
    ) as raster:  # fmt: skip
        raster.write(values.astype(np.float32), 1)
        if unit:
            raster.set_band_unit(1, unit)
    return path


@pytest.fixture(scope="session")
def flight():
    return flown(small_scene(), classified=True)


@pytest.fixture
def site(tmp_path):
    return write_site(tmp_path / "yard")


@pytest.fixture(scope="session")
def tile(flight, tmp_path_factory):
    return write_tile(tmp_path_factory.mktemp("tiles") / "tile.laz", flight)


@pytest.fixture(scope="session")
def pair(tmp_path_factory):
    """Return the surface and the ground of the scene as rasters."""
    folder, scene = tmp_path_factory.mktemp("rasters"), small_scene()
    x, y = np.meshgrid(np.arange(0.25, 60, 0.5), np.arange(59.75, 0, -0.5))
    ground = scene.ground(x, y) + 180
    high, chance = scene.solid(x, y), np.random.default_rng(2)
    for tree in scene.trees:
        for up in np.arange(tree.base, tree.height, 0.1):
            high = np.where(tree.holds(x, y, up), np.maximum(high, up), high)
        crown = np.hypot(x - tree.x, y - tree.y) < tree.diameter / 2
        high = high - np.where(crown & (high > 2), chance.uniform(0, 1.2, x.shape), 0)  # leaves are rough
    return write_raster(folder / "dsm.tif", ground + high), write_raster(folder / "dtm.tif", ground)
