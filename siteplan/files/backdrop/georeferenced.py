"""Where does a georeferenced picture lie?

A GeoTIFF carries its coordinate system. A world file (.wld, .pgw, .jgw, .tfw) beside a picture has the six numbers of
its affine transform, in the coordinates of the drawing.
"""

from __future__ import annotations

import math
import re
import warnings
from typing import Any, Literal, NamedTuple, NoReturn

import numpy as np
from numpy.typing import NDArray

from siteplan.files.backdrop.picture import LONGEST_SIDE, MOST_BYTES, Picture, from_pixels
from siteplan.land.errors import Fault, InputError

Floats = NDArray[np.float64]

MOST_CELLS = 200_000_000  # of a GeoTIFF; it is downsampled while it is read
LARGEST_BLOCK = 300e6  # bytes that GDAL must unpack at once
LONGEST_WORLD = 1000  # bytes of a world file; six numbers have a hundred
_WORLD = re.compile(r"\.(?:wld|pgw|jgw|tfw|wpw|pngw|jpgw|jpegw|webpw)$", re.IGNORECASE)
_TIFF = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")


class Placed(NamedTuple):
    """A georeferenced picture and its corners (top left, top right, bottom right, bottom left), shape (4, 2).

    `places` says what the corners are: longitude and latitude, or coordinates of the drawing if the file names no
    coordinate system.
    """

    picture: Picture
    corners: Floats
    places: Literal["degrees", "drawing"]


def is_tiff(content: bytes) -> bool:
    """Return whether a file is a TIFF, by its first bytes."""
    return content[:4] in _TIFF


def is_world_file(name: str) -> bool:
    """Return whether a file is a world file, by its name.

    Examples
    --------
    >>> is_world_file("yard.pgw"), is_world_file("yard.png")
    (True, False)
    """
    return bool(_WORLD.search(name))


def world_corners(text: str, *, width: float, height: float) -> Floats:
    """Return the corners of a picture from its world file.

    Parameters
    ----------
    text : str
        Six numbers on six lines: A, D, B, E, C, F; the middle of the cell in column u and row v lies at x = A u + B
        v + C, y = D u + E v + F.
    width, height : float
        Of the picture, in the pixels that the world file refers to.

    Returns
    -------
    ndarray, shape (4, 2)
        Top left, top right, bottom right, bottom left.

    Raises
    ------
    ValueError
        If it holds anything else.

    Examples
    --------
    >>> world_corners("0.5 0 0 -0.5 10.25 99.75", width=4, height=2)
    array([[ 10., 100.],
           [ 12., 100.],
           [ 12.,  99.],
           [ 10.,  99.]])
    """
    words = text.replace(",", ".").split()
    try:
        a, d, b, e, c, f = map(float, words)
    except ValueError as error:
        raise ValueError("must hold six numbers, one on each line: it is no world file") from error
    area = a * e - b * d
    finite = all(map(math.isfinite, (a, b, c, d, e, f)))
    if not finite or not area or abs(area) < 1e-12 * max(map(abs, (a, b, d, e))) ** 2:
        raise ValueError("has cells without an area: it is no world file of a picture")
    cells = np.array([[0, 0], [width, 0], [width, height], [0, height]]) - 0.5
    return np.column_stack([cells @ [a, b] + c, cells @ [d, e] + f])


def read_geotiff(content: bytes, name: str) -> Placed:
    """Return a GeoTIFF's picture and where its corners lie.

    Raises
    ------
    InputError
        If it has no place, is too large, or holds elevations.
    """
    import rasterio
    from rasterio.errors import RasterioError

    from siteplan.files.ground.raster import CACHE, NO_NETWORK

    if len(content) > MOST_BYTES:
        _refuse(name, f"is larger than {MOST_BYTES // 1_000_000} MB; cut your property out of it")
    alone = {"GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR", "GDAL_CACHEMAX": CACHE}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a raster without a place is a fault, reported below
            with (
                rasterio.Env(**NO_NETWORK, **alone),
                rasterio.MemoryFile(content) as memory,
                memory.open(driver="GTiff") as raster,
            ):
                _check(raster, name)
                return Placed(_picture(raster, name), *_corners(raster, name))
    except (RasterioError, OSError, ValueError) as error:
        reason = "".join(letter for letter in str(error) if letter.isprintable())[:80]
        _refuse(name, f"cannot be read as a GeoTIFF ({reason}); save it anew, or as PNG")


def _check(raster: Any, name: str) -> None:
    """Raise InputError if a raster cannot be shown as a picture."""
    cells = raster.transform
    if cells.is_identity or abs(cells.a * cells.e - cells.b * cells.d) == 0:
        _refuse(name, "is a TIFF that does not say where it lies; save it as PNG and scale it by two points")
    if raster.width * raster.height > MOST_CELLS:
        limit = f"must be at most {MOST_CELLS / 1e6:.0f} million"
        _refuse(name, f"has {raster.width:,} x {raster.height:,} cells, {limit}; cut your property out of it")
    rows, columns = raster.block_shapes[0]
    if rows * columns * raster.count * np.dtype(raster.dtypes[0]).itemsize > LARGEST_BLOCK:
        _refuse(name, "is stored in one piece that is too large to unpack; store it in tiles")
    if raster.dtypes[0] not in {"uint8", "uint16"} or (raster.count < 3 and raster.dtypes[0] == "uint16"):
        _refuse(
            name,
            'holds measured values and no picture; elevations are named in site.toml: terrain = "..."',
        )


def _picture(raster: Any, name: str) -> Picture:
    """Return the bands as a picture, downsampled to the longest side that is kept."""
    from rasterio.enums import ColorInterp

    step = max(1.0, max(raster.width, raster.height) / LONGEST_SIDE)
    shape = max(1, round(raster.height / step)), max(1, round(raster.width / step))
    if min(shape) < 2:
        _refuse(name, f"has {raster.width:,} x {raster.height:,} cells, which is no picture")
    indexes = [1, 2, 3] if raster.count >= 3 else [1]
    bands = raster.read(indexes=indexes, out_shape=(len(indexes), *shape))
    if bands.dtype == np.uint16:
        bands = (bands.astype(np.float64) * (255 / max(int(bands.max()), 1))).astype(np.uint8)
    if raster.colorinterp[0] == ColorInterp.palette:
        table = np.zeros((256, 3), dtype=np.uint8)
        for value, colour in raster.colormap(1).items():
            if 0 <= value < 256:
                table[value] = colour[:3]
        colours = table[bands[0]]
    else:
        colours = np.moveaxis(np.repeat(bands, 3, axis=0) if len(bands) == 1 else bands, 0, -1)
    mask = raster.dataset_mask(out_shape=shape)
    photo = bool((mask == 255).all())
    pixels = colours if photo else np.dstack([colours, mask])
    return from_pixels(np.ascontiguousarray(pixels), photo=photo)


def _corners(raster: Any, name: str) -> tuple[Floats, Literal["degrees", "drawing"]]:
    """Return the corners in degrees, or in the drawing's coordinates if the file names no coordinate system."""
    from pyproj import CRS, Transformer
    from pyproj.exceptions import ProjError

    from siteplan.land.frame import projected

    cells = [(0, 0), (raster.width, 0), (raster.width, raster.height), (0, raster.height)]
    corners = np.array([raster.transform * cell for cell in cells], dtype=np.float64)
    if raster.crs is None:
        return corners, "drawing"
    try:
        system = CRS.from_wkt(raster.crs.to_wkt())
        change = Transformer.from_crs(system.to_2d(), "EPSG:4326", always_xy=True)
        degrees = projected(change, corners)
    except ProjError:
        degrees = np.full((4, 2), np.nan)
    if not np.isfinite(degrees).all():
        _refuse(name, "lies in a coordinate system that is of no place on earth; save it in another")
    return degrees, "degrees"


def _refuse(name: str, text: str) -> NoReturn:
    raise InputError([Fault(name, "", text)])
