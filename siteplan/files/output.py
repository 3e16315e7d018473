"""How do results reach a folder, whole or not at all?

Everything is written beside the target and then takes its place; a folder that is not ours is never touched.
It leaves out what the files say.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import shutil
import tempfile
import warnings
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from pyproj import CRS

from siteplan.land.errors import Fault, InputError
from siteplan.land.grid import Floats, Grid

if TYPE_CHECKING:
    import pandas as pd
    from geopandas import GeoDataFrame

MARKER = ".siteplan"  # lies in every output folder, so that it is known again
_MARKER_TEXT = "Written by siteplan, which replaces this folder whole when it plans again.\n"
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def write_folder(out: str | Path, writer: Callable[[Path], None]) -> Path:
    """Replace an output folder by what `writer` writes, whole or not at all.

    Parameters
    ----------
    out : str or Path
        May be missing, empty, or an earlier output.
    writer : callable
        Gets an empty folder beside `out` and writes into it. Whatever it raises leaves `out` as it was.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    InputError
        Where `out` is not ours to replace, or cannot be written.
    """
    target = Path(os.path.realpath(out))
    _refuse_strangers(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-"))
    except OSError as error:
        raise InputError([Fault(target.name, "", f"cannot be written: {error.strerror}")]) from error
    try:
        fresh.chmod(0o777 & ~_umask())
        writer(fresh)
        (fresh / MARKER).write_text(_MARKER_TEXT, encoding="utf-8")
        _refuse_strangers(target)
        _swap(fresh, target)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return target


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refuse_strangers(target: Path) -> None:
    """Raise where a folder is there that an output may not replace."""
    if not target.exists() and not target.is_symlink():
        return
    if not target.is_dir():
        raise InputError([Fault(target.name, "", "is a file; choose a folder for the output")])
    if (target / "site.toml").exists():
        raise InputError([Fault(target.name, "", "is a site's folder; the output would replace it: choose another")])
    ours = (target / MARKER).is_file() or (target / "plan.json").is_file()
    if not ours and any(target.iterdir()):
        text = "holds files that are not siteplan's, and the output would replace it; choose a new or empty folder"
        raise InputError([Fault(target.name, "", text)])


def _swap(fresh: Path, target: Path) -> None:
    """Put a finished folder in the place of an old one; the old one comes back where that fails."""
    if not target.exists():
        fresh.rename(target)
        return
    old = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-old-")) / target.name
    try:
        target.rename(old)
        try:
            fresh.rename(target)
        except BaseException:
            old.rename(target)
            raise
    finally:
        shutil.rmtree(old.parent, ignore_errors=True)


def plain(value: Any) -> Any:
    """Return a value as JSON has it: arrays as lists, what is not a finite number as null.

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
    """Write a document as JSON, UTF-8, with null for what is not a finite number."""
    text = json.dumps(plain(document), ensure_ascii=False, indent=1, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def write_csv(path: Path, table: pd.DataFrame) -> None:
    """Write a table for a spreadsheet; a text that a spreadsheet would run as a formula gets a quote before it."""
    safe = table.copy()
    for position, name in enumerate(safe.columns):
        column = safe.iloc[:, position]
        if not (column.dtype == object or str(column.dtype) in {"str", "string", "category"}):
            continue
        safe[name] = [_as_text(value) for value in column]
    safe.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")


def _as_text(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA_STARTS) else value


def write_geotiff(path: Path, bands: Floats, grid: Grid, crs: CRS, descriptions: Sequence[str]) -> None:
    """Write maps as a GeoTIFF of float32, NaN where there is no value.

    Parameters
    ----------
    bands : ndarray, shape (bands, rows, columns)
    grid : Grid
        Of the cells. [m]
    crs : pyproj.CRS
        Of the grid.
    descriptions : sequence of str
        One for each band.
    """
    import rasterio  # loaded only where a raster is written

    if bands.shape != (len(descriptions), *grid.shape):
        raise ValueError(f"bands are {bands.shape}, must be {(len(descriptions), *grid.shape)}")
    with rasterio.open(
        path,
        "w",
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
        for number, description in enumerate(descriptions, 1):
            raster.set_band_description(number, description)


def write_geopackage(path: Path, layers: Mapping[str, GeoDataFrame]) -> None:
    """Write layers to a GeoPackage; a layer without rows is there as well."""
    for name, frame in layers.items():
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", message=".*geometry_type.*|.*empty.*")
            options: dict[str, Any] = {"geometry_type": "Unknown"} if frame.empty else {}
            frame.to_file(path, layer=name, driver="GPKG", engine="pyogrio", **options)
    with contextlib.suppress(FileNotFoundError):
        path.with_suffix(".gpkg-journal").unlink()
