"""In which formats are results written?

JSON, CSV, GeoTIFF, GeoPackage and GeoParquet. The same results always give the same bytes.
output_folder.py moves them into the output folder.
"""

from __future__ import annotations

import contextlib
import errno
import io
import json
import math
import os
import re
import shutil
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from pyproj import CRS

from siteplan.land.errors import MissingExtraError
from siteplan.land.grid import Floats, Grid

if TYPE_CHECKING:
    import pandas as pd
    from geopandas import GeoDataFrame

#: written as the time of a layer's last change, fixed so that equal layers give equal bytes
_NO_DATE = "1970-01-01T00:00:00.000Z"
_FULL_BYTES = 1_000_000  # bytes; a disk with less free space counts as full
_NO_OVERVIEW = 128  # cells along the longer side; a map up to this size has no overviews
_NUMBERS = re.compile(r"-?\d+(\.\d+)?([ ;]+-?\d+(\.\d+)?)*")  # such as a bed's corners: no spreadsheet runs them
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def plain(value: Any) -> Any:
    """Return a value that JSON can hold: arrays become lists, numbers that are not finite become null.

    Examples
    --------
    >>> plain({"hours": np.array([1.5, np.nan]), "n": np.int64(3)})
    {'hours': [1.5, None], 'n': 3}
    """
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, (list, tuple)):
        return [plain(entry) for entry in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def write_json(path: Path, document: Mapping[str, Any]) -> None:
    """Write a document as JSON in UTF-8; numbers that are not finite become null."""
    text = json.dumps(plain(document), ensure_ascii=False, indent=1, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def write_csv(path: Path, table: pd.DataFrame) -> None:
    """Write a table as CSV; a text that a spreadsheet would run as a formula gets an apostrophe before it."""
    safe = table.copy()
    for position, name in enumerate(safe.columns):
        column = safe.iloc[:, position]
        if not (column.dtype == object or str(column.dtype) in {"str", "string", "category"}):
            continue
        safe[name] = [_as_text(value) for value in column]
    safe.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")


def _as_text(value: Any) -> Any:
    if not isinstance(value, str) or not value.startswith(_FORMULA_STARTS) or _NUMBERS.fullmatch(value):
        return value
    return f"'{value}"


def write_geotiff(
    path: Path,
    bands: Floats,
    grid: Grid,
    crs: CRS,
    *,
    descriptions: Sequence[str],
    units: Sequence[str],
    tags: Mapping[str, str],
) -> None:
    """Write maps as a GeoTIFF of float32, with NaN where there is no value.

    A map of more than 128 cells along a side also has overviews. Their cells are the mean of the cells with a value.

    Parameters
    ----------
    bands : ndarray, shape (bands, rows, columns)
    grid : Grid
        Position and size of the cells. [m]
    crs : pyproj.CRS
        Coordinate reference system of the grid.
    descriptions, units : sequence of str
        One for each band.
    tags : mapping of str to str
        Metadata of the file as a whole, in ASCII.
    """
    import rasterio  # imported only when a raster is written
    from rasterio.enums import Resampling
    from rasterio.io import MemoryFile

    if bands.shape != (len(descriptions), *grid.shape):
        raise ValueError(f"bands are {bands.shape}, must be {(len(descriptions), *grid.shape)}")
    factors = [2**level for level in range(1, 16) if max(grid.shape) > _NO_OVERVIEW * 2 ** (level - 1)]
    with MemoryFile() as file:  # written to memory first, since GDAL does not report a full disk as such
        with file.open(
            driver="GTiff",
            width=grid.columns,
            height=grid.rows,
            count=len(bands),
            dtype="float32",
            nodata=np.nan,
            crs=crs.to_wkt(),
            transform=rasterio.Affine(grid.cell, 0, grid.west, 0, -grid.cell, grid.north),
            compress="deflate",
            predictor=3,
        ) as raster:
            raster.write(bands.astype(np.float32))
            for number, (description, unit) in enumerate(zip(descriptions, units, strict=True), 1):
                raster.set_band_description(number, description)
                raster.set_band_unit(number, unit)
            raster.update_tags(**tags)
        if factors:
            with rasterio.open(file.name, "r+") as raster:
                raster.build_overviews(factors, Resampling.average)
        path.write_bytes(file.read())


def write_geopackage(
    path: Path,
    layers: Mapping[str, GeoDataFrame],
    *,
    descriptions: Mapping[str, str],
    styles: Mapping[str, str],
) -> None:
    """Write layers and their styles to a GeoPackage, also layers without rows.

    Each layer's time of last change is fixed, so that equal layers give equal bytes.

    Parameters
    ----------
    path : Path
    layers : mapping of str to GeoDataFrame
        By name. The type of a column follows its dtype, even if the column is empty.
    descriptions : mapping of str to str
        What each layer holds.
    styles : mapping of str to str
        QML of the layers that have a style. It becomes the default style in the table ``layer_styles``, which QGIS
        reads.

    Raises
    ------
    OSError
        If the disk is full or cannot be written to.
    """
    import pyogrio  # imported only when layers are written

    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": _NO_DATE})
    try:
        for name, frame in layers.items():
            with warnings.catch_warnings():
                warnings.filterwarnings("ignore", message=".*geometry_type.*|.*empty.*")
                options: dict[str, Any] = {"geometry_type": "Unknown"} if frame.empty else {}
                options["layer_options"] = {"IDENTIFIER": name, "DESCRIPTION": descriptions[name]}
                frame.to_file(path, layer=name, driver="GPKG", engine="pyogrio", **options)
        if styles:
            table, options = _styles_table(styles), {"FID": "id", "IDENTIFIER": "layer_styles"}
            pyogrio.write_dataframe(table, path, layer="layer_styles", driver="GPKG", layer_options=options)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        if shutil.disk_usage(path.parent).free < _FULL_BYTES:  # GDAL reports a full disk in many ways
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path)) from error
        raise OSError(errno.EIO, str(error), str(path)) from error
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})
        with contextlib.suppress(FileNotFoundError):
            path.with_suffix(".gpkg-journal").unlink()


def _styles_table(styles: Mapping[str, str]) -> pd.DataFrame:
    """Return the table in which QGIS looks for the styles of a GeoPackage, with the columns that QGIS gives it."""
    import pandas as pd

    return pd.DataFrame(
        {
            "f_table_catalog": "",
            "f_table_schema": "",
            "f_table_name": list(styles),
            "f_geometry_column": "geom",
            "styleName": list(styles),
            "styleQML": list(styles.values()),
            "styleSLD": "",
            "useAsDefault": True,
            "description": [f"siteplan's style of {name}" for name in styles],
            "owner": "",
            "ui": "",
            "update_time": pd.Timestamp(_NO_DATE),
        }
    )


def require_parquet() -> None:
    """Raise an error if GeoParquet cannot be written.

    Raises
    ------
    MissingExtraError
        Where pyarrow is not installed.
    """
    try:
        import pyarrow.parquet  # noqa: F401  # geopandas writes with it
    except ImportError as error:
        raise MissingExtraError(
            "GeoParquet needs pyarrow: install siteplan[parquet]; or use plan.gpkg, which holds the same layers",
        ) from error


def write_geoparquet(path: Path, layer: GeoDataFrame) -> None:
    """Write a layer as GeoParquet, with its coordinate reference system in the metadata.

    Raises
    ------
    MissingExtraError
        Where pyarrow is not installed.
    """
    require_parquet()
    file = io.BytesIO()  # written to memory first: then a full disk is reported by the file system
    layer.to_parquet(file, index=False)
    path.write_bytes(file.getvalue())
