"""Does a raster hold elevations, and what are they on a grid of the local frame?

Its coordinate system, unit and storage are checked before any cell is read. Then only the window under a grid is
read, downsampled if the grid is coarser. Holes become NaN.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
import shapely
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.warp import reproject
from rasterio.windows import Window
from shapely import box

from siteplan.files.remarks import Remarks
from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats, Grid
from siteplan.land.unit_sizes import FOOT
from siteplan.land.values import shown

CACHE = 100_000_000  # bytes of GDAL's block cache
#: a raster may name overviews at an address on the network: GDAL must open none, and can reach none if it tries
NO_NETWORK = {"CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none", "GDAL_HTTP_PROXY": "127.0.0.1:9"}
LOWEST, HIGHEST = -500.0, 9000.0  # m; the Dead Sea's shore and the highest summit lie within
SLANTED = 1e-6  # least area of a cell over that of a square of its longest side; GDAL places none below 1e-10
LARGEST_BLOCK = 500e6  # bytes; a block is read whole, however little of it is needed
SURVEY_FOOT = 1200 / 3937  # m
METRES = {"m": 1.0, "metre": 1.0, "meter": 1.0, "metres": 1.0, "meters": 1.0}
FEET = dict.fromkeys(("ft", "foot", "feet", "international foot"), FOOT)
_SURVEYED = ("us survey foot", "us survey feet", "us_survey_foot", "survey foot", "us-ft", "us ft", "ftus")
SURVEY_FEET = dict.fromkeys(_SURVEYED, SURVEY_FOOT)
UNITS = METRES | FEET | SURVEY_FEET


@contextmanager
def opened_raster(path: Path) -> Iterator[Any]:
    """Open a GeoTIFF, without access to the network; closes it at the end of the block."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a raster without a place is a fault, which the callers report
        with rasterio.Env(GDAL_CACHEMAX=CACHE, **NO_NETWORK), rasterio.open(path, driver="GTiff") as raster:
            yield raster


def raster_system(raster: Any, file: str, remarks: Remarks) -> CRS | None:
    """Return the coordinate system of a raster of elevations, or None if faults are noted.

    Parameters
    ----------
    raster : rasterio dataset
        Open; no cell of it is read here.
    file : str
        Its name, for messages.
    remarks : Remarks
    """
    before = len(remarks.faults)
    system = None if raster.crs is None else CRS.from_wkt(raster.crs.to_wkt())
    if system is None or not (system.is_geographic or system.is_projected):
        system_text = "no coordinate reference system"
        if system is not None:
            system_text = f"the coordinate system {shown(system.name)}, which is of no place on earth"
        text = (
            f"has {system_text}; save it as a GeoTIFF that carries the one that its source names, such as EPSG:26913"
        )
        remarks.fault(file, "", text)
    cells = raster.transform
    if cells.is_identity or not _has_area(cells):
        remarks.fault(file, "", "does not say where its cells lie; save it as a GeoTIFF with its place in it")
    if raster.count >= 3 and raster.dtypes[0] == "uint8":
        remarks.fault(file, "", f"has {raster.count} bands of bytes, which is a picture; it must be elevations")
    if raster.dtypes[0].startswith("complex"):
        remarks.fault(file, "", "has complex numbers, must have elevations")
    _check_blocks(raster, file, remarks)
    return system if len(remarks.faults) == before else None


def _check_blocks(raster: Any, file: str, remarks: Remarks) -> None:
    """Note a raster whose blocks are too large to be read."""
    rows, columns = raster.block_shapes[0]
    bands = raster.count if str(raster.profile.get("interleave")) == "pixel" else 1
    size = rows * columns * bands * np.dtype(raster.dtypes[0]).itemsize
    if size > LARGEST_BLOCK:
        text = (
            f"is stored in blocks of {columns:,} x {rows:,} cells, {size / 1e9:.1f} GB each, which can only be read "
            f"whole; store it in tiles, as by: gdal_translate -co TILED=YES -co BIGTIFF=YES {file} tiled.tif"
        )
        remarks.fault(file, "", text)


def _has_area(cells: rasterio.Affine) -> bool:
    """Return whether the cells of an affine transform have an area, and are not lines."""
    sides: tuple[float, ...] = (cells.a, cells.b, cells.d, cells.e)
    largest = max(map(abs, sides))
    if largest == 0:
        return False
    a, b, d, e = (side / largest for side in sides)
    return abs(a * e - b * d) > SLANTED


def metres_per_unit(
    raster: Any, system: CRS, given_unit: str | None, file: str, remarks: Remarks, *, key: str = "terrain_unit"
) -> float | None:
    """Return the length of the raster's unit of elevation, or None if a fault is noted. [m]

    Parameters
    ----------
    given_unit : str or None
        The unit in site.toml. If None, that of the raster's vertical system, then that of its band. If these are
        missing too, metres are assumed for a raster in metres; for one in feet it is a fault.
    key : str
        The key of site.toml that gives the unit.
    """
    if given_unit is not None:
        return UNITS[given_unit]
    for part in system.sub_crs_list or [system]:
        if part.is_vertical:
            return float(part.axis_info[0].unit_conversion_factor)
    written = (raster.units[0] or "").strip()
    if written.lower() in UNITS:
        return UNITS[written.lower()]
    mend = f'say which they are in site.toml: {key} = "ft", "us-ft" or "m"'
    if written:
        remarks.fault(file, "", f"has elevations in {shown(written)}, must be metres or feet; convert it, or {mend}")
        return None
    axes = system.axis_info
    if axes and ("foot" in axes[0].unit_name.lower() or "feet" in axes[0].unit_name.lower()):
        remarks.fault(file, "", f"measures in feet across and does not say what its elevations are in; {mend}")
        return None
    return 1.0


@dataclass(frozen=True, eq=False)
class Elevations:
    """A raster of elevations, to be read in parts.

    Attributes
    ----------
    raster : rasterio dataset
        Open.
    system : pyproj.CRS
        Its coordinate system.
    metres : float
        Length of its unit of elevation. [m]
    frame : LocalFrame
        Into which it is resampled.
    file : str
        Its name.
    """

    raster: Any
    system: CRS
    metres: float
    frame: LocalFrame
    file: str

    @cached_property
    def _change(self) -> Transformer:
        return Transformer.from_crs(self.system.to_2d(), self.frame.crs, always_xy=True)

    @cached_property
    def cell(self) -> float:
        """The side of its cells at the frame's centre; 1 if that has no place in its coordinate system. [m]"""
        right, up = self._change.transform(0.0, 0.0, direction="INVERSE")
        cells = self.raster.transform  # one step along a row moves by (a, d), one down a column by (b, e)
        x, y = self._change.transform([right, right + cells.a, right + cells.b], [up, up + cells.d, up + cells.e])
        side = math.sqrt(abs((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0])))
        return side if math.isfinite(side) and side > 0 else 1.0

    def place(self, x: Floats, y: Floats) -> Floats:
        """Return column and row of the raster at points of the frame, shape (2, n); not finite if there is none."""
        right, up = self._change.transform(x, y, direction="INVERSE")
        cells = ~self.raster.transform
        with np.errstate(invalid="ignore"):  # of points without a place, which are infinite
            return np.array([cells.a * right + cells.b * up + cells.c, cells.d * right + cells.e * up + cells.f])

    def corners(self) -> Floats:
        """Return x and y of the raster's corners in the frame, shape (2, 4); infinite if there is none. [m]"""
        width, height, cells = self.raster.width, self.raster.height, self.raster.transform
        column, row = np.array([0, width, width, 0]), np.array([0, 0, height, height])
        right, up = cells.a * column + cells.b * row + cells.c, cells.d * column + cells.e * row + cells.f
        return np.array(self._change.transform(right, up))

    def _span(self, grid: Grid) -> Floats | None:
        """Return first and last column and row of the raster under a grid, shape (2, 2); may lie beyond its edges."""
        edge = box(grid.west, grid.south, grid.east, grid.north).exterior
        positions = self.place(*shapely.get_coordinates(shapely.segmentize(edge, edge.length / 80)).T)
        positions = positions[:, np.isfinite(positions).all(axis=0)]
        return np.array([positions.min(axis=1), positions.max(axis=1)]) if positions.size else None

    def covers(self, grid: Grid) -> bool:
        """Return whether the raster reaches over all of a grid, give or take a cell."""
        span = self._span(grid)
        if span is None:
            return False
        first, last = span
        return bool((first >= -1).all() and (last <= [self.raster.width + 1, self.raster.height + 1]).all())

    def goes_beyond(self, grid: Grid) -> bool:
        """Return whether the raster reaches farther than a grid on some side, by more than a few cells."""
        span = self._span(grid)
        few = 2 * self.decimation(grid) + 2
        most = np.array([self.raster.width, self.raster.height])
        return span is not None and bool((span[0] > few).any() or (span[1] < most - few).any())

    def window(self, grid: Grid) -> Window | None:
        """Return the part of the raster that lies under a grid, None if there is none."""
        span = self._span(grid)
        if span is None:
            return None
        margin = 2 * self.decimation(grid) + 2  # cells that interpolation needs around
        most = [self.raster.width, self.raster.height]
        left, top = np.floor(np.clip(span[0] - margin, 0, most)).astype(int).tolist()
        right, bottom = np.ceil(np.clip(span[1] + margin, 0, most)).astype(int).tolist()
        return Window(left, top, right - left, bottom - top) if right > left and bottom > top else None

    def decimation(self, grid: Grid) -> int:
        """Return n, if for a grid every n-th cell of the raster is read."""
        return max(1, math.floor(grid.cell / self.cell * (1 + 1e-9)))

    def cost(self, grid: Grid) -> float:
        """Return how many cells have to be fetched to read a grid: whole blocks, or cells of an overview."""
        window = self.window(grid)
        if window is None:
            return 0.0
        step = self.decimation(grid)
        overview = max((factor for factor in self.raster.overviews(1) if factor <= step), default=1)
        if overview > 1:
            return float(window.width * window.height / overview**2)
        fetched = 1.0
        for length, block in zip((window.height, window.width), self.raster.block_shapes[0], strict=True):
            fetched *= min(length / block + 1, length / step) * block
        return fetched

    def read(self, grid: Grid) -> tuple[Floats, rasterio.Affine] | None:
        """Return the raster's cells under a grid [m] and their affine transform; NaN in holes, None beyond it."""
        window = self.window(grid)
        if window is None:
            return None
        step = self.decimation(grid)
        shape = math.ceil(window.height / step), math.ceil(window.width / step)
        # nearest cells, no means, so that an undeclared hole does not spoil its neighbours; GDAL takes overviews
        cells = self.raster.read(1, window=window, out_shape=shape, resampling=Resampling.nearest, masked=True)
        values = cells.astype(np.float64).filled(np.nan)
        values = (values * self.raster.scales[0] + self.raster.offsets[0]) * self.metres
        scale = rasterio.Affine.scale(window.width / shape[1], window.height / shape[0])
        return values, self.raster.window_transform(window) * scale

    def resampled(self, values: Floats, place: rasterio.Affine, grid: Grid) -> Floats:
        """Return cells from `read`, interpolated bilinearly at the centres of a grid's cells. [m]"""
        elevation = np.full(grid.shape, np.nan)
        sound = np.where((values >= LOWEST) & (values <= HIGHEST), values, np.nan)
        reproject(
            sound,
            elevation,
            src_transform=place,
            src_crs=self.raster.crs,
            src_nodata=np.nan,
            dst_transform=rasterio.Affine(grid.cell, 0, grid.west, 0, -grid.cell, grid.north),
            dst_crs=self.frame.crs.to_wkt(),
            dst_nodata=np.nan,
            resampling=Resampling.bilinear,
        )
        return elevation
