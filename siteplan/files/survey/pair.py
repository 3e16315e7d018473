"""How does a pair of rasters, of the surface and of the ground, take the place of a laser survey?

Their cells become points: of the ground, and of the surface where it is higher. There are no pulses, so nothing is
known of crown bases and leaves. The two may come in any order: the higher one is the surface.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from rasterio.errors import RasterioError
from rasterio.warp import transform_bounds
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from siteplan.files.ground.raster import Elevations, metres_per_unit, opened_raster, raster_system
from siteplan.files.remarks import Remarks
from siteplan.files.survey.tiles import Flags, Points, relevant_points
from siteplan.files.text import no_file
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats, Grid, grid_over
from siteplan.land.returns import GROUND, UNCLASSIFIED, Flight, Returns
from siteplan.land.values import shown

CELL = 0.5  # m
STANDS = 0.3  # m above the ground, from which a cell of the surface becomes a point
BELOW, MOST_BELOW = 1.0, 0.05  # m; largest share of cells whose surface may lie so far below the ground
COVERED = 0.8  # share of the property that both must cover


def read_pair(
    paths: tuple[Path, Path],
    frame: LocalFrame,
    boundary: Polygon,
    remarks: Remarks,
    *,
    unit: str | None,
    farthest: float,
    reach: Callable[[Floats], Floats],
) -> Points | None:
    """Return the points of a pair of rasters that matter, or None if faults are noted.

    Parameters
    ----------
    paths : (Path, Path)
        In any order.
    frame, boundary, farthest, reach
        As for `tiles.read_tiles`.
    remarks : Remarks
    unit : str, optional
        Of the elevations, if the gardener names it.
    """
    area: BaseGeometry = boundary.envelope.buffer(farthest, join_style="mitre")
    for path in paths:
        if trouble := no_file(path):
            remarks.fault(path.name, "", trouble)
        else:
            area = area.intersection(_ground_of(path, frame, boundary).envelope)
    grid = grid_over(area, CELL)
    first, second = (None if no_file(path) else _read(path, frame, grid, boundary, remarks, unit) for path in paths)
    if first is None or second is None:
        return None
    known = np.isfinite(first) & np.isfinite(second)
    mean_difference = float(np.mean((first - second)[known])) if known.any() else 0.0
    surface_path, ground_path = paths if mean_difference >= 0 else paths[::-1]
    surface, ground = (first, second) if mean_difference >= 0 else (second, first)
    if trouble := _why_no_pair((surface - ground)[known]):
        text = trouble.format(other=ground_path.name, unit=remarks.length(BELOW))
        remarks.fault(surface_path.name, "", text)
        return None
    points = relevant_points(_returns(surface, ground, known, grid), boundary, farthest, reach)
    covered = float(known[grid.inside(boundary)].mean())
    return Points(points, Flight(source="rasters"), covered, thinned=1)


def _returns(surface: Floats, ground: Floats, known: Flags, grid: Grid) -> Returns:
    """Return a point of the ground for each known cell, and one of the surface for each cell that stands above it."""
    is_known, x, y = known.ravel(), *grid.centres().T
    stands = is_known & ((surface - ground).ravel() > STANDS)
    several = np.zeros(int(is_known.sum() + stands.sum()), dtype=bool)
    kind = np.full(len(several), UNCLASSIFIED, dtype=np.uint8)
    kind[: int(is_known.sum())] = GROUND
    return Returns(
        x=np.concatenate([x[is_known], x[stands]]),
        y=np.concatenate([y[is_known], y[stands]]),
        z=np.concatenate([ground.ravel()[is_known], surface.ravel()[stands]]),
        kind=kind,
        last=~several,
        several=several,
    )


def _why_no_pair(above: Floats) -> str:
    """Return why two rasters cannot be surface and ground of one place; empty if they can."""
    if not above.size:
        return "and {other} have no ground in common; take both for the same place"
    share = float((above < -BELOW).mean())
    if share > MOST_BELOW:
        return (
            f"lies more than {{unit}} below {{other}} over {share:.0%} of the ground, and above it elsewhere: they "
            "are not surface and ground of one survey, or not in one unit; take a pair that belongs together"
        )
    if float((np.abs(above) > STANDS).mean()) < 0.001:
        return "and {other} are the same: one must be the surface with trees and roofs, the other the ground without"
    return ""


def _ground_of(path: Path, frame: LocalFrame, boundary: Polygon) -> BaseGeometry:
    """Return the area that a raster covers, and the property, in the frame."""
    try:
        with opened_raster(path) as raster:
            west, south, east, north = transform_bounds(raster.crs, frame.crs.to_wkt(), *raster.bounds)
            area: BaseGeometry = box(west, south, east, north).union(boundary)
            return area
    except (RasterioError, OSError, ValueError, AttributeError):
        return boundary  # its fault is reported when it is read


def _read(
    path: Path, frame: LocalFrame, grid: Grid, boundary: Polygon, remarks: Remarks, unit: str | None
) -> Floats | None:
    """Return a raster's elevations on a grid, or None if a fault is noted. [m]"""
    raster_remarks = Remarks(system=remarks.system)
    try:
        with opened_raster(path) as raster:
            system = raster_system(raster, path.name, raster_remarks)
            metres = None if system is None else metres_per_unit(raster, system, unit, path.name, raster_remarks)
            for fault in raster_remarks.faults:
                text = fault.text.replace("in site.toml: terrain_unit =", "with --z-unit:")
                remarks.fault(fault.file, fault.where, text)
            if system is None or metres is None:
                return None
            elevations = Elevations(raster, system, metres, frame, path.name)
            cells = elevations.read(grid)
            on_grid = np.full(grid.shape, np.nan) if cells is None else elevations.resampled(*cells, grid)
    except (RasterioError, OSError) as error:
        remarks.fault(path.name, "", f"cannot be read as a GeoTIFF ({shown(str(error))}); export it as one")
        return None
    inside = grid.inside(boundary)
    known = float(np.isfinite(on_grid[inside]).mean()) if inside.any() else 0.0
    if known < COVERED:
        part = "the property" if known == 0 else f"{1 - known:.0%} of the property"
        remarks.fault(path.name, "", f"does not cover {part}; take one that does, or a larger cut of it")
        return None
    return on_grid
