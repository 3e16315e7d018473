"""Which files does a screen write?

One row for each lot as CSV, GeoPackage and GeoParquet, and a page with the map of all lots and their ranking. The
same rows always give the same bytes. `rows` computes the figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from siteplan.files.outputs.output import write_csv, write_geopackage, write_geoparquet
from siteplan.files.outputs.output_folder import Written, write_folder
from siteplan.screen.rows import COLUMNS, Row

if TYPE_CHECKING:
    import pandas as pd
    from geopandas import GeoDataFrame

#: what the layers of screen.gpkg hold
LAYERS = {
    "lots": "Lots with the sun, the best place, the cost and the work of each; hours a day in the growing season.",
    "places": "The best place for a bed on each lot.",
}


def write_screen(out: Path, rows: Sequence[Row], *, ask: Sequence[str]) -> Written:
    """Write all files of a screen, all or none.

    Parameters
    ----------
    out : Path
    rows : sequence of dict
        In the order of the lots.
    ask : sequence of str
        The questions that were asked.
    """
    from siteplan.show.lots_page import lots_page

    table = rows_table(rows)
    lots, places = _layer(table, rows, "outline"), _layer(table, rows, "place")
    places = places[~places.geometry.isna()]
    writers: dict[str, Callable[[Path], None]] = {
        "screen.csv": lambda path: write_csv(path, table),
        "screen.gpkg": lambda path: write_geopackage(
            path, {"lots": lots, "places": places}, descriptions=LAYERS, styles={}
        ),
        "screen.html": lambda path: _write_text(path, lots_page(rows, ask=ask)),
    }
    if find_spec("pyarrow") is not None:
        writers["screen.parquet"] = lambda path: write_geoparquet(path, lots)

    def write(folder: Path) -> None:
        for name, writer in writers.items():
            writer(folder / name)

    return write_folder(out, write)


def rows_table(rows: Sequence[Row]) -> pd.DataFrame:
    """Return the rows as a table; it always has all columns, empty if their question was not asked."""
    import pandas as pd

    table: dict[str, pd.Series[Any]] = {}
    for name, kind in (COLUMNS | {"plan": "text"}).items():
        cells = [row.get(name) for row in rows]
        if kind == "text":
            table[name] = pd.Series([cell or "" for cell in cells], dtype="str")
        elif kind == "whole":
            table[name] = pd.Series(cells, dtype="Int64")
        else:
            table[name] = pd.Series(cells, dtype="float64")
    return pd.DataFrame(table)


def _layer(table: pd.DataFrame, rows: Sequence[Row], shape: str) -> GeoDataFrame:
    import geopandas as gpd

    shapes = np.array([row.get(shape) for row in rows], dtype=object)
    return gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(shapely.from_wkb(shapes), crs="EPSG:4326"))


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
