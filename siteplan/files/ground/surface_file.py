"""Which trees and roofs around the property does a raster of the surface show, in any projection?

A GeoTIFF of the tops of trees and roofs is read in its own cells near the property, and in cells twice as large at
each doubling of the distance, each with the highest value in it. Less than half a metre above the ground counts as
ground. `surface_pair.py` checks that surface and ground belong together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rasterio.errors import RasterioError
from rasterio.windows import Window
from shapely import Polygon

from siteplan.files.ground.raster import HIGHEST, LOWEST, Elevations, metres_per_unit, opened_raster, raster_system
from siteplan.files.ground.surface_pair import check_pair, check_reach, note_surface
from siteplan.files.remarks import Remarks
from siteplan.land.features import Feature
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats
from siteplan.land.surface_model import HALF_DIAGONAL, SurfaceLayer, SurfaceModel, SurfaceSettings
from siteplan.land.terrain import Terrain, earth_curve_drop
from siteplan.land.values import shown

Singles = NDArray[np.float32]

FINE = 400  # cells beyond the boundary before their size doubles: they are 0.14 to 0.29 degrees wide then
MOST_SIDE = 3000  # cells along a side of a layer
MOST_READ = 40e6  # cells of the raster; some seconds
FARTHEST = 10e3  # m; a tower of 100 m stands half a degree high there
STRIP = 4e6  # cells that are read at once
STANDS = 0.5  # m above the ground; a lower cell is ground, a kerb, a car's bonnet, or noise of the survey
TALLEST = 400.0  # m above the ground; no tree and hardly a tower is taller
LONE = 8.0  # m above all eight cells around it: a bird, a wire or an error of the survey
UNKNOWN = np.float32(-1e6)  # m; below all elevations
LONE_CELL = 2.0  # m; larger cells may hold a whole tree, so they are never taken for lone spikes


@dataclass(frozen=True, eq=False)
class _Part:
    """A part of the raster that becomes one layer: `pool` by `pool` of its cells become one.

    `window` is first column and row, last column and row. `expected_cells` is the number of pooled cells in the area
    around the property, whether or not the raster covers them. `is_all` means that the part is all of the raster.
    """

    window: tuple[int, int, int, int]
    pool: int
    reach: float
    expected_cells: float
    place: Floats
    is_all: bool

    @property
    def count(self) -> float:
        """The number of the raster's cells in it."""
        left, top, right, bottom = self.window
        return float(right - left) * (bottom - top)


@dataclass
class _Oddities:
    """What was removed: a value that is no elevation, and the number of lone spikes."""

    strange: float | None = None
    lone: int = 0


def read_surface(
    path: Path,
    frame: LocalFrame,
    boundary: Polygon,
    terrain: Terrain,
    features: Sequence[Feature],
    remarks: Remarks,
    settings: SurfaceSettings,
) -> SurfaceModel | None:
    """Return the surface model around a property from a raster, or None if a fault is noted.

    Parameters
    ----------
    boundary : Polygon
        In the frame. [m]
    terrain : Terrain
        The ground, to the same datum.
    features : sequence of Feature
        Drawn features, so that undrawn obstacles on the property can be reported.

    Notes
    -----
    No more than MOST_READ of its cells are read, strip by strip; each layer has at most MOST_SIDE cells to a side.
    """
    try:
        with opened_raster(path) as raster:
            system = raster_system(raster, path.name, remarks)
            if system is None:
                return None
            metres = metres_per_unit(raster, system, settings.unit, path.name, remarks, key="surface_unit")
            if metres is None:
                return None
            elevations = Elevations(raster, system, metres, frame, path.name)
            return _model(elevations, boundary, terrain, features, remarks, settings)
    except (RasterioError, OSError) as error:
        remarks.fault(path.name, "", f"cannot be read as a GeoTIFF ({shown(str(error))}); export it as one")
        return None


def _model(
    elevations: Elevations,
    boundary: Polygon,
    terrain: Terrain,
    features: Sequence[Feature],
    remarks: Remarks,
    settings: SurfaceSettings,
) -> SurfaceModel | None:
    layers: list[SurfaceLayer] = []
    oddities, finer_part = _Oddities(), None
    for part in _parts(elevations, boundary):
        values = _pooled(elevations, part, oddities)
        layer = SurfaceLayer(tops=values, place=part.place, cell=elevations.cell * part.pool)
        ground, is_known = _ground_below(layer, terrain)
        if finer_part is None:
            known_share = float(np.isfinite(values).sum()) / part.expected_cells
            if not check_reach(elevations, boundary, known_share, part.reach, oddities.strange, remarks):
                return None
            if not check_pair(elevations.file, values, np.where(is_known, ground, np.nan), remarks):
                return None
        hole = None if finer_part is None else _hole(finer_part, part)
        layers.append(_standing(layer, ground, hole))
        finer_part = part
    if finer_part is None:
        check_reach(elevations, boundary, 0.0, 0.0, None, remarks)
        return None
    model = SurfaceModel(
        layers=tuple(layers),
        file=elevations.file,
        date=settings.date,
        begins=settings.begins,
        within=settings.within,
        reach=_reach(elevations, boundary, finer_part.reach),
    )
    note_surface(model, boundary, terrain, features, oddities.lone, remarks)
    return model


def _reach(elevations: Elevations, boundary: Polygon, read: float) -> float:
    """Return how far beyond a property the raster reaches on all sides, at most as far as it was read. [m]"""
    corners = elevations.corners()
    if not np.isfinite(corners).all():
        return read
    covered = Polygon(corners.T)
    inside = covered.contains(boundary.envelope)
    return min(read, float(covered.exterior.distance(boundary.envelope))) if inside else 0.0


def _parts(elevations: Elevations, boundary: Polygon) -> Iterator[_Part]:
    """Yield the parts to read, nearest first, out to the raster's edge or until enough cells have been read."""
    west, south, east, north = boundary.bounds
    across, cell = max(east - west, north - south), elevations.cell
    pool = 1
    while across / (cell * pool) + 2 * FINE > MOST_SIDE:
        pool *= 2
    cells_left, reach, last_reach = MOST_READ, FINE * cell * pool, 0.0
    while (part := _part(elevations, boundary, reach, pool)) is not None:
        if part.count > cells_left:
            part = _part(elevations, boundary, reach * math.sqrt(max(cells_left, 0.0) / part.count), pool)
            if part is None or part.reach < 1.2 * last_reach:
                return
        yield part
        if part.is_all or part.reach >= FARTHEST:
            return
        cells_left, last_reach = cells_left - part.count, part.reach
        pool, reach = 2 * pool, min(2 * part.reach, FARTHEST)


def _part(elevations: Elevations, boundary: Polygon, reach: float, pool: int) -> _Part | None:
    """Return the part of a raster within a distance of the property, None if there is none."""
    west, south, east, north = boundary.buffer(reach, join_style="mitre").envelope.bounds
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(west, east, 9), np.linspace(south, north, 9)))
    place = elevations.place(x, y)
    if not np.isfinite(place).all():
        return None
    fit, *_ = np.linalg.lstsq(np.column_stack([x, y, np.ones_like(x)]), place.T, rcond=None)
    most = np.array([elevations.raster.width, elevations.raster.height])
    low, high = place.min(axis=1), place.max(axis=1)
    first = (np.floor(np.clip(low, 0, most) / pool) * pool).astype(int)
    last = np.ceil(np.clip(high, 0, most)).astype(int)
    if (last <= first).any():
        return None
    affine = fit.T / pool
    affine[:, 2] -= first / pool
    return _Part(
        window=(int(first[0]), int(first[1]), int(last[0]), int(last[1])),
        pool=pool,
        reach=reach,
        expected_cells=float((east - west) * (north - south)) / (elevations.cell * pool) ** 2,
        place=affine,
        is_all=bool((low <= 0).all() and (high >= most).all()),
    )


def _pooled(elevations: Elevations, part: _Part, oddities: _Oddities) -> Singles:
    """Return the highest elevation in each pooled cell of a part, NaN if none is known. [m]"""
    left, top, right, bottom = part.window
    pool, width = part.pool, right - left
    columns = -(-width // pool)  # rounded up
    strips = []
    oddities.lone = 0  # counted anew: each part includes the one before
    height = max(pool, int(STRIP / width) // pool * pool)
    for row in range(top, bottom, height):
        end = min(row + height, bottom)
        cells = elevations.raster.read(1, window=Window(left, row, width, end - row), masked=True)
        values = cells.astype(np.float32).filled(np.nan)
        values = (values * elevations.raster.scales[0] + elevations.raster.offsets[0]) * elevations.metres
        values = _sound(values.astype(np.float32), elevations.cell, oddities)
        rows = -(-(end - row) // pool)  # rounded up
        padded = np.full((rows * pool, columns * pool), np.nan, dtype=np.float32)
        padded[: end - row, :width] = values
        strips.append(np.fmax.reduce(np.fmax.reduce(padded.reshape(rows, pool, columns, pool), axis=3), axis=1))
    return np.concatenate(strips)


def _sound(values: Singles, cell: float, oddities: _Oddities) -> Singles:
    """Return elevations without impossible values and without spikes of a single cell."""
    strange = (values < LOWEST) | (values > HIGHEST)
    if strange.any():
        oddities.strange = float(values[strange][0])
        values = np.where(strange, np.float32(np.nan), values)
    if cell > LONE_CELL:
        return values
    rows, columns, highest = _lone(values)
    oddities.lone += len(rows)
    values[rows, columns] = highest
    return values


def _lone(values: Singles) -> tuple[NDArray[np.intp], NDArray[np.intp], Singles]:
    """Return rows and columns of cells far above all eight around them, and the highest of those eight."""
    framed = np.full(np.add(values.shape, 2), UNKNOWN, dtype=np.float32)
    framed[1:-1, 1:-1] = np.where(np.isnan(values), UNKNOWN, values)
    beside = np.maximum(framed[1:-1, :-2], framed[1:-1, 2:])
    rows, columns = np.nonzero(framed[1:-1, 1:-1] - beside > LONE)  # a quick first choice, by two neighbours
    around = [
        framed[rows + down, columns + right] for down in range(3) for right in range(3) if (down, right) != (1, 1)
    ]
    highest = np.max(around, axis=0)
    lone = (values[rows, columns] - highest > LONE) & (highest > UNKNOWN)
    return rows[lone], columns[lone], highest[lone]


def _ground_below(layer: SurfaceLayer, terrain: Terrain) -> tuple[Singles, NDArray[np.bool_]]:
    """Return the ground at the middles of a layer's cells [m], else the nearest known, and where it is known."""
    from scipy.ndimage import distance_transform_edt

    ground: Singles = np.full(layer.tops.shape, np.nan, dtype=np.float32)
    for row in range(0, len(ground), 200):
        rows = slice(row, min(row + 200, len(ground)))
        x, y = layer.middles(rows, slice(None))
        for ring in (terrain, *terrain.beyond):
            unknown = np.isnan(ground[rows])
            ground[rows][unknown] = ring.height_at(x[unknown], y[unknown])
    is_known = np.isfinite(ground)
    if not is_known.any():
        return np.full_like(ground, np.nanmedian(terrain.elevation)), is_known
    if not is_known.all():
        nearest = distance_transform_edt(~is_known, return_distances=False, return_indices=True)
        ground = ground[nearest[0], nearest[1]]
    return ground, is_known


def _standing(layer: SurfaceLayer, ground: Singles, hole: tuple[float, float, float, float] | None) -> SurfaceLayer:
    """Return a layer of the columns above the ground, without the rectangle that the finer layer covers."""
    tops = layer.tops.copy()
    for row in range(0, len(tops), 200):
        rows = slice(row, min(row + 200, len(tops)))
        tops[rows] -= earth_curve_drop(*layer.middles(rows, slice(None)))
    slope = np.zeros_like(ground)  # the ground's, m a cell
    for axis in (0, 1):
        if ground.shape[axis] > 1:
            slope = np.hypot(slope, np.gradient(ground, axis=axis))
    above = tops - ground
    tops[~((above > STANDS + HALF_DIAGONAL * slope) & (above < TALLEST))] = np.nan
    if hole is not None:
        tops[int(hole[1]) : int(hole[3]), int(hole[0]) : int(hole[2])] = np.nan
    return SurfaceLayer(tops=tops, place=layer.place, cell=layer.cell, hole=hole)


def _hole(finer_part: _Part, part: _Part) -> tuple[float, float, float, float] | None:
    """Return the rectangle of a layer's cells that the next finer layer covers completely."""
    left, top = part.window[0] // part.pool, part.window[1] // part.pool
    first = [math.ceil(edge / part.pool) for edge in finer_part.window[:2]]
    last = [math.floor(edge / part.pool) for edge in finer_part.window[2:]]
    if last[0] <= first[0] or last[1] <= first[1]:
        return None
    return (float(first[0] - left), float(first[1] - top), float(last[0] - left), float(last[1] - top))
