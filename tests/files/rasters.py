"""Rasters of the ground around a yard, to be written as a surveyor would, or badly."""

from __future__ import annotations

import numpy as np
import rasterio
from pyproj import Transformer
from rasterio import Affine

UTM = "EPSG:32632"
TO_UTM = Transformer.from_crs("EPSG:4326", UTM, always_xy=True)


def write_raster(path, values, *, west, north, cell=1.0, crs=UTM, nodata=None, dtype="float32", unit="", **options):
    """Write a GeoTIFF of values, shape (rows, columns) or (rows, columns, bands)."""
    values = np.atleast_3d(np.asarray(values)).transpose(2, 0, 1)
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[2], height=values.shape[1], count=len(values), dtype=dtype,
        crs=crs, nodata=nodata, transform=Affine(cell, 0, west, 0, -cell, north), **options,
    ) as raster:  # fmt: skip
        raster.write(values.astype(dtype))
        raster.units = [unit] * len(values)


def write_empty_raster(path, side, *, cell=1.0, **options):
    """Write a square GeoTIFF around 8 E, 45 N that takes no room on the disk, whatever its size, and holds zeros."""
    x, y = TO_UTM.transform(8.0, 45.0)
    place = Affine(cell, 0, round(x) - side * cell / 2, 0, -cell, round(y) + side * cell / 2)
    with rasterio.open(
        path, "w", driver="GTiff", width=side, height=side, count=1, dtype="float32", crs=UTM, transform=place,
        sparse_ok=True, bigtiff="yes", **options,
    ):  # fmt: skip
        pass


def steps(margin, cell):
    """Return how far the cells' centres lie from 8 E, 45 N, east and north of it. [m]"""
    x, y = TO_UTM.transform(8.0, 45.0)
    west, north = round(x) - margin, round(y) + margin
    along = (np.arange(int(2 * margin / cell)) + 0.5) * cell
    east, up = np.meshgrid(west + along - x, north - along - y)
    return east, up, {"west": west, "north": north, "cell": cell}


def plane(yard, *, rise_east=0.05, rise_north=-0.02, margin=40, cell=1.0):
    """Return a plane over the yard in UTM, with the corner to lay it at; site.toml names it."""
    east, up, corner = steps(margin, cell)
    yard.toml = 'terrain = "ground.tif"\n' + yard.toml
    return 100 + rise_east * east + rise_north * up, corner
