"""How high is the ground, from a raster in any projection?

A GeoTIFF is resampled into the local frame, at full resolution over the property and some way around it. Holes under
the features are filled from around, with a caution. Hills beyond the raster come from a skyline (`skyline.py`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from rasterio.errors import RasterioError
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.files.ground.far_ground import cropped, ground_beyond
from siteplan.files.ground.raster import HIGHEST, LOWEST, Elevations, metres_per_unit, opened_raster, raster_system
from siteplan.files.remarks import Remarks
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.terrain import Terrain
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import shown

Flags = NDArray[np.bool_]

MOST_CELLS = 2000  # along a side
MOST_UNKNOWN = 0.2  # share of the property whose elevation may be unknown
MARGIN = 5.0  # m around the features
AROUND = 100  # cells of the raster around the features that are read at full resolution
COARSER = 1.5  # cell of the grid over that of the raster, from which a caution says so
STEEPEST = 1.0  # rise of a whole property over its width; more is a cliff, or a hole that is written as a number
TOO_HIGH, AS_USUAL = 350.0, 150.0  # m; if so much higher than the land around, but near to it as feet: likely feet


def read_terrain(
    path: Path,
    frame: LocalFrame,
    boundary: Polygon | None,
    shapes: Sequence[BaseGeometry],
    remarks: Remarks,
    *,
    unit: str | None = None,
) -> Terrain | None:
    """Return the ground's elevation over all features and beyond, or None if a fault is noted.

    Parameters
    ----------
    boundary : Polygon or None
        In the frame; the raster must cover it. None if it is faulty: the raster is checked all the same. [m]
    shapes : sequence of shapely geometry
        The other features, in the frame. [m]
    unit : str, optional
        Of the elevations, if site.toml gives it.

    Notes
    -----
    The raster is never read whole. Over the features and `AROUND` cells around them it is read at full resolution, in
    at most `MOST_CELLS` along a side; farther off as `far_ground` describes.
    """
    try:
        with opened_raster(path) as raster:
            system = raster_system(raster, path.name, remarks)
            metres = None if system is None else metres_per_unit(raster, system, unit, path.name, remarks)
            if system is None or metres is None or boundary is None:
                return None
            elevations = Elevations(raster, system, metres, frame, path.name)
            return _terrain(elevations, boundary, shapes, remarks, unit_given=unit is not None)
    except (RasterioError, OSError) as error:
        remarks.fault(path.name, "", f"cannot be read as a GeoTIFF ({shown(str(error))}); export it as one")
        return None


def _terrain(
    elevations: Elevations, boundary: Polygon, shapes: Sequence[BaseGeometry], remarks: Remarks, *, unit_given: bool
) -> Terrain | None:
    drawn = shapely.union_all([boundary.envelope, *(shape.envelope for shape in shapes)]).envelope
    drawn = drawn.buffer(MARGIN, join_style="mitre")
    grid = _grid(elevations, drawn, remarks)
    cells = elevations.read(grid)
    elevation = np.full(grid.shape, np.nan) if cells is None else elevations.resampled(*cells, grid)
    inside = grid.inside(boundary)
    if not inside.any():  # a small property in cells of a coarse raster
        inside = grid.inside(boundary.buffer(grid.cell))
    unknown = float(np.isnan(elevation[inside]).mean())
    if cells is None or unknown > MOST_UNKNOWN:
        remarks.fault(elevations.file, "", _why_unknown(elevations, unknown, boundary, remarks))
        return None
    _check_heights(elevations, elevation[inside], boundary, remarks, unit_given=unit_given)
    ground = _filled(elevation, inside, drawn, shapes, grid, elevations.file, remarks)
    holes = float(np.isnan(cells[0]).mean())
    return replace(ground, beyond=ground_beyond(elevations, drawn, grid, remarks, holes=holes))


def _why_unknown(elevations: Elevations, unknown: float, boundary: Polygon, remarks: Remarks) -> str:
    """Return why the property has no ground, and how to mend it."""
    part = "the property" if unknown > 0.999 else f"{unknown:.0%} of the property"
    alternative = "or leave terrain out of site.toml"
    fine_grid = grid_over(boundary, max(elevations.cell, boundary.length / MOST_CELLS))
    cells = elevations.read(fine_grid)
    if cells is None or not elevations.covers(fine_grid):
        return f"does not cover {part}; take a larger cut of it, {alternative}"
    strange = cells[0][np.isfinite(cells[0]) & ((cells[0] < LOWEST) | (cells[0] > HIGHEST))]
    if strange.size:
        return (
            f"has {remarks.high(float(np.median(strange)))} for {part}, must be from {remarks.high(LOWEST)} to "
            f"{remarks.high(HIGHEST)}; has "
            f"it another unit, or holes that it does not declare? Take one without, {alternative}"
        )
    return f"has no data for {part}; fill its holes, take another raster, {alternative}"


def _grid(elevations: Elevations, drawn: Polygon, remarks: Remarks) -> Grid:
    """Return the grid over all features and some way around, about as fine as the raster."""
    west, south, east, north = drawn.bounds
    across = max(east - west, north - south)
    cell = max(elevations.cell, across / MOST_CELLS, 0.05)
    if cell > COARSER * elevations.cell:
        text = (
            f"{elevations.file} has cells of {remarks.length(elevations.cell)}; over all that is drawn, "
            f"{remarks.far(across)} across, it is read in cells of {remarks.length(cell)}."
        )
        remarks.caution("elevation-coarser", "", text)
    around = max(0.0, min(AROUND * cell, (MOST_CELLS * cell - across) / 2))
    return grid_over(drawn.buffer(around, join_style="mitre"), cell)


def _check_heights(
    elevations: Elevations, heights: Floats, boundary: Polygon, remarks: Remarks, *, unit_given: bool
) -> None:
    """Note heights that look like feet, or like a hole that is written as a number."""
    from siteplan.files.weather.weather_file import usual_altitude  # imported here: it loads pvlib

    west, south, east, north = boundary.bounds
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    if high - low > STEEPEST * max(east - west, north - south):
        text = (
            f"{elevations.file} rises from {remarks.high(low)} to {remarks.high(high)} within the property; "
            "unless that is a cliff, one of them stands for ground that is not known: declare it as the file's "
            "nodata value."
        )
        remarks.caution("elevation-cliff", "", text)
    middle = float(np.nanmedian(heights))
    usual = usual_altitude(elevations.frame.latitude, elevations.frame.longitude)
    if not unit_given and middle - usual > TOO_HIGH and abs(middle * FOOT - usual) < AS_USUAL:
        text = (
            f"{elevations.file} has the property at {remarks.high(middle)} above the sea, but the land there lies at "
            f'about {remarks.high(usual)}; if these are feet, say so in site.toml: terrain_unit = "ft". If not: "m".'
        )
        remarks.caution("elevation-feet", "", text)


def _filled(
    elevation: Floats,
    inside: Flags,
    drawn: Polygon,
    shapes: Sequence[BaseGeometry],
    grid: Grid,
    file: str,
    remarks: Remarks,
) -> Terrain:
    """Return the ground with holes under the features filled by the nearest known elevation.

    Farther off holes stay, and rows and columns at the edges that are unknown throughout are cut off.
    """
    from scipy.ndimage import distance_transform_edt

    unknown = np.isnan(elevation)
    rows, columns = distance_transform_edt(unknown, return_distances=False, return_indices=True)
    share = float(unknown[inside].mean())
    if share > 0:
        text = f"{file} knows no elevation for {max(share, 0.001):.1%} of the property; the nearest known stands in."
        remarks.caution("elevation-filled", "", text)
    cells = [_clipped(grid, shape) for shape in shapes]
    beyond = sum(bool(unknown[cell] and not inside[cell]) for cell in cells)
    if beyond:
        text = f"{file} knows no ground under {beyond} of the features beyond the boundary; the nearest stands in."
        remarks.caution("elevation-beyond", "", text)
    near_features = grid.inside(drawn.buffer(1.5 * grid.cell, join_style="mitre"))
    filled = np.where(near_features, elevation[rows, columns], elevation)
    return cropped(Terrain(grid=grid, elevation=filled))


def _clipped(grid: Grid, shape: BaseGeometry) -> tuple[int, int]:
    """Return row and column of the grid's cell nearest to the middle of a shape."""
    middle = shapely.centroid(shape)
    row, column = grid.cell_of(middle.x, middle.y)
    return min(max(row, 0), grid.rows - 1), min(max(column, 0), grid.columns - 1)
