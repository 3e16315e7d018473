"""Is a file of layers what its name says, and which of its layers are left out or simplified?

GDAL would open any file, whatever its name, so its first bytes are checked before. Tables without geometries are left
out, and curves are read as chains of straight pieces. `vector.py` reads the features.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable
from pathlib import Path

from siteplan.files.remarks import Remarks
from siteplan.files.text import first_bytes
from siteplan.land.values import shown

#: by file ending: the format's name and its first bytes (SQLite, Database File Format, 1.3; FlatGeobuf, file layout:
#: three magic letters and a version)
_FORMATS = {".gpkg": ("GeoPackage", b"SQLite format 3\0"), ".fgb": ("FlatGeobuf", b"fgb")}
_CURVES = ("CIRCULARSTRING", "COMPOUNDCURVE", "CURVEPOLYGON", "MULTICURVE", "MULTISURFACE", "CURVE", "SURFACE")


def layered_format(path: Path) -> str:
    """Return the name of a file's format, by its ending."""
    return _FORMATS[path.suffix.lower()][0]


def has_its_format(path: Path) -> bool:
    """Return whether a file begins with the bytes that its ending requires."""
    start = _FORMATS[path.suffix.lower()][1]
    try:
        return first_bytes(path, len(start)) == start
    except OSError:
        return False


def note_layers(path: Path, layers: Iterable[tuple[object, object]], remarks: Remarks) -> None:
    """Note tables without geometries, and layers of curves, which GDAL returns as chains of straight pieces.

    Parameters
    ----------
    path : Path
    layers : iterable of (str, str or None)
        Name of each, and its type of geometry.
    remarks : Remarks
    """
    for name, geometry_type in layers:
        if geometry_type is None:
            text = f"The layer {shown(str(name))} of {path.name} has no geometries and is left out."
            remarks.caution("left-out", "", text)
    for name in _curved(path):
        text = f"The layer {shown(name)} of {path.name} may hold curves; each is read as a chain of straight pieces."
        remarks.caution("curves", "", text)


def _curved(path: Path) -> list[str]:
    """Return the layers that a GeoPackage says may hold curves (OGC 12-128r18, table of geometry types)."""
    query = "SELECT table_name FROM gpkg_geometry_columns WHERE upper(geometry_type_name) IN (%s)"
    marks = ", ".join("?" * len(_CURVES))
    try:
        with contextlib.closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as base:
            return [str(name) for (name,) in base.execute(query % marks, _CURVES)]
    except sqlite3.Error:  # not a GeoPackage, or an older one without this table
        return []
