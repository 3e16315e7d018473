"""How high is the ground beyond the property, out to where the raster ends?

In rings, each four times as wide as the one inside it, with cells of a hundredth of the distance: a raster larger
than memory is read downsampled, or by its overviews. Hills beyond the raster come from a skyline (`skyline.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from siteplan.files.ground.raster import Elevations
from siteplan.files.remarks import Remarks
from siteplan.land.grid import Grid, grid_over
from siteplan.land.terrain import Terrain, earth_curve_drop

WIDER = 4.0  # reach of a ring over that of the ring inside it
FINENESS = 100.0  # distance of a ring over its cells: a crest between slopes of 30 degrees is at most 0.2 degrees off
MOST_CELLS = 2000  # along a side of a ring
FARTHEST = 50e3  # m; a hill of 1,000 m stands one degree high there
MOST_READ = 100e6  # cells of the raster; some seconds
LARGE = 50e6  # cells; a caution says how a larger raster is read
MOST_HOLES = 0.01  # share of the ground around that may be unknown without a caution


@dataclass
class _Reading:
    """How far the raster has been read [m], how many cells more may be, and the unknown share of the last ring."""

    reach: float
    left: float
    holes: float


def ground_beyond(
    elevations: Elevations, drawn: Polygon, near: Grid, remarks: Remarks, *, holes: float
) -> tuple[Terrain, ...]:
    """Return the ground beyond a grid in rings, nearest first.

    Parameters
    ----------
    elevations : Elevations
    drawn : Polygon
        The rectangle around all features, in the frame. [m]
    near : Grid
        The grid over which the ground is read at full resolution.
    remarks : Remarks
    holes : float
        Share of the raster's cells under that grid that have no elevation.

    Returns
    -------
    tuple of Terrain
        Each with NaN over the ring inside it, and lowered by the earth's curve as seen from the frame's centre.
    """
    reading = _Reading(reach=drawn.bounds[0] - near.west, left=MOST_READ, holes=holes)
    rings, within = [], near
    for grid in _grids(elevations, drawn, near, reading):
        cells = elevations.read(grid)
        if cells is None:
            break
        reading.holes = float(np.isnan(cells[0]).mean())
        elevation = elevations.resampled(*cells, grid) - earth_curve_drop(grid.x[None, :], grid.y[:, None])
        elevation[_covered(grid, within)] = np.nan
        if np.isfinite(elevation).any():
            rings.append(cropped(Terrain(grid=grid, elevation=elevation)))
        within = grid
    _say_what_was_read(elevations, within, reading, remarks)
    return tuple(rings)


def _grids(elevations: Elevations, drawn: Polygon, near: Grid, reading: _Reading) -> Iterator[Grid]:
    """Yield the grids of the rings, out to the raster's edge or until enough cells have been read."""
    west, south, east, north = drawn.bounds
    across, within = max(east - west, north - south), near
    while reading.reach < FARTHEST and elevations.goes_beyond(within):
        inner = max(reading.reach, across / 8)  # no rings much narrower than the property
        finest = max(near.cell, inner / FINENESS)

        def ring(reach: float, finest: float = finest) -> Grid:
            cell = max(finest, (across + 2 * reach) / MOST_CELLS)
            return grid_over(drawn.buffer(reach, join_style="mitre"), cell)

        reach = min(WIDER * inner, FARTHEST)
        cost = elevations.cost(ring(reach))
        if cost > reading.left:
            reach *= math.sqrt(reading.left / cost)
            if reach < 1.2 * reading.reach:  # too narrow a ring to be worth reading
                return
            cost = reading.left
        reading.reach, reading.left = reach, reading.left - cost
        within = ring(reach)
        yield within


def _covered(grid: Grid, within: Grid) -> NDArray[np.bool_]:
    """Return which cells of a grid lie so far inside another that interpolation between their centres does too."""
    edge = 1.5 * grid.cell
    across = (grid.x > within.west + edge) & (grid.x < within.east - edge)
    up = (grid.y > within.south + edge) & (grid.y < within.north - edge)
    return up[:, None] & across[None, :]


def cropped(terrain: Terrain) -> Terrain:
    """Return a terrain without the rows and columns at its edges that are unknown throughout."""
    known = np.isfinite(terrain.elevation)
    rows, columns = np.flatnonzero(known.any(axis=1)), np.flatnonzero(known.any(axis=0))
    top, bottom, left, right = int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1
    grid = terrain.grid
    west, north = grid.west + left * grid.cell, grid.north - top * grid.cell
    part = Grid(west=west, north=north, cell=grid.cell, rows=bottom - top, columns=right - left)
    return Terrain(grid=part, elevation=np.ascontiguousarray(terrain.elevation[top:bottom, left:right]))


def _say_what_was_read(elevations: Elevations, farthest: Grid, reading: _Reading, remarks: Remarks) -> None:
    """Note a raster that was not read out to its edge or not at full resolution, and unknown ground around."""
    file, raster = elevations.file, elevations.raster
    far = remarks.far(reading.reach)
    goes_on, size = elevations.goes_beyond(farthest), raster.width * raster.height
    if goes_on or size > LARGE:
        end = f"as far as {far}; what stands farther off is left out." if goes_on else "out to its edge."
        text = (
            f"{file} has {size / 1e6:,.0f} million cells and is not read whole: the farther from the property the "
            f"coarser, in cells of a hundredth of the distance, {end}"
        )
        if goes_on and reading.reach < FARTHEST:
            text += f" With overviews more of it can be read: gdaladdo -r average {file} 4 16 64 256."
        remarks.caution("elevation-far", "", text)
    if reading.holes > MOST_HOLES:
        text = f"{file} has no data for {reading.holes:.0%} of the ground within {far}; none of that hides the sun."
        remarks.caution("elevation-holes", "", text)
