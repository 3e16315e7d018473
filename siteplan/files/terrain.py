"""How high is the ground, from a raster in any projection?

A GeoTIFF is laid into the local frame by bilinear resampling; holes in it are filled from around, with a caution.
It leaves out far hills, which come as a skyline.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
import shapely
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.errors import RasterioError
from rasterio.vrt import WarpedVRT
from scipy.ndimage import distance_transform_edt
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.findings import Findings, shown
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.terrain import Terrain

LOWEST, HIGHEST = -500.0, 9000.0  # m; the Dead Sea's shore and the highest summit lie within
MOST_CELLS = 2000  # to a side
MOST_UNKNOWN = 0.2  # share of the property whose elevation may be unknown
MARGIN = 5.0  # m around what is drawn
_FEET = {"ft": 0.3048, "foot": 0.3048, "feet": 0.3048, "international foot": 0.3048}
_FEET |= {"us survey foot": 1200 / 3937, "ftus": 1200 / 3937, "us-ft": 1200 / 3937, "us_survey_foot": 1200 / 3937}


def read_terrain(
    path: Path, frame: LocalFrame, boundary: Polygon, shapes: Sequence[BaseGeometry], findings: Findings
) -> Terrain | None:
    """Return the ground's elevation over all that is drawn, or None where a fault is noted.

    Parameters
    ----------
    boundary : Polygon
        In the frame; the raster must cover it. [m]
    shapes : sequence of shapely geometry
        What else stands on the ground, in the frame. [m]
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a raster without a place is a fault, said below
            with rasterio.open(path) as raster:
                return _laid(raster, path.name, frame, boundary, shapes, findings)
    except (RasterioError, OSError) as error:
        findings.fault(path.name, "", f"is no raster that can be read: {shown(str(error))}")
        return None


def _laid(
    raster: Any, file: str, frame: LocalFrame, boundary: Polygon, shapes: Sequence[BaseGeometry], findings: Findings
) -> Terrain | None:
    system = None if raster.crs is None else CRS.from_wkt(raster.crs.to_wkt())
    if system is None or not (system.is_geographic or system.is_projected):
        findings.fault(file, "", "has no coordinate reference system; save it as a GeoTIFF that carries one")
        return None
    if raster.count >= 3 and raster.dtypes[0] == "uint8":
        findings.fault(file, "", f"has {raster.count} bands of bytes, which is a picture; it must be elevations")
        return None
    grid = _grid(raster, system, frame, shapely.union_all([boundary.envelope, *(s.envelope for s in shapes)]))
    elevation = _resampled(raster, frame, grid) * _metres_per_unit(raster, system, file, findings)
    elevation[(elevation < LOWEST) | (elevation > HIGHEST)] = np.nan
    inside = grid.inside(boundary)
    unknown = float(np.isnan(elevation[inside]).mean()) if inside.any() else 1.0
    if unknown > MOST_UNKNOWN:
        how = "does not cover the property" if unknown > 0.999 else f"does not cover {unknown:.0%} of the property"
        findings.fault(file, "", f"{how}; take a larger cut of it, or leave terrain out of site.toml")
        return None
    return Terrain(grid=grid, elevation=_filled(elevation, inside, shapes, grid, file, findings))


def _grid(raster: Any, system: CRS, frame: LocalFrame, drawn: BaseGeometry) -> Grid:
    """Return the grid over all that is drawn, about as fine as the raster."""
    change = Transformer.from_crs(system.to_2d(), frame.crs, always_xy=True)
    right, up = change.transform(0.0, 0.0, direction="INVERSE")
    cells = raster.transform  # one step along a row moves by (a, d), one down a column by (b, e)
    x, y = change.transform([right, right + cells.a, right + cells.b], [up, up + cells.d, up + cells.e])
    native = math.sqrt(abs((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])))
    area = drawn.envelope.buffer(MARGIN, join_style="mitre")
    west, south, east, north = area.bounds
    coarsest = max(east - west, north - south) / MOST_CELLS
    cell = max(native if math.isfinite(native) and native > 0 else 1.0, coarsest, 0.05)
    return grid_over(area, cell)


def _resampled(raster: Any, frame: LocalFrame, grid: Grid) -> Floats:
    """Return the raster's values at the grid's cells; NaN where it has none."""
    with WarpedVRT(
        raster,
        crs=frame.crs.to_wkt(),
        transform=rasterio.Affine(grid.cell, 0, grid.west, 0, -grid.cell, grid.north),
        width=grid.columns,
        height=grid.rows,
        resampling=Resampling.bilinear,
        src_nodata=raster.nodata,
        nodata=np.nan,
        dtype="float64",
        add_alpha=False,
    ) as warped:
        return np.asarray(warped.read(1), dtype=np.float64)


def _metres_per_unit(raster: Any, system: CRS, file: str, findings: Findings) -> float:
    """Return the length of the raster's unit of elevation. [m]"""
    for part in system.sub_crs_list or [system]:
        if part.is_vertical:
            return float(part.axis_info[0].unit_conversion_factor)
    written = (raster.units[0] or "").strip().lower()
    if written in _FEET:
        return _FEET[written]
    axes = system.axis_info
    if not written and axes and "foot" in axes[0].unit_name.lower():
        text = f"{file} measures in feet across and does not say how its elevations are measured; metres are taken."
        findings.caution("elevation-unit", "", text)
    return 1.0


def _filled(
    elevation: Floats, inside: np.ndarray, shapes: Sequence[BaseGeometry], grid: Grid, file: str, findings: Findings
) -> Floats:
    """Return elevations without holes: what is unknown takes the nearest that is known."""
    unknown = np.isnan(elevation)
    if not unknown.any():
        return elevation
    rows, columns = distance_transform_edt(unknown, return_distances=False, return_indices=True)
    share = float(unknown[inside].mean())
    if share > 0:
        text = f"{file} knows no elevation for {max(share, 0.001):.1%} of the property; the nearest known stands in."
        findings.caution("elevation-filled", "", text)
    cells = [_clipped(grid, shape) for shape in shapes]
    beyond = sum(bool(unknown[cell] and not inside[cell]) for cell in cells)
    if beyond:
        text = f"{file} knows no ground under {beyond} of the features beyond the boundary; the nearest stands in."
        findings.caution("elevation-beyond", "", text)
    return np.asarray(elevation[rows, columns])


def _clipped(grid: Grid, shape: BaseGeometry) -> tuple[int, int]:
    middle = shapely.centroid(shape)
    row, column = grid.cell_of(middle.x, middle.y)
    return min(max(row, 0), grid.rows - 1), min(max(column, 0), grid.columns - 1)
