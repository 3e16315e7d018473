"""Which cells of a surface raster hide the sun?

Each cell is a column with a level top. For each block of cells the highest top is kept, so that a ray can skip a
whole block at once. The rays are in `lookup.surface_horizon`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.site import Site
from siteplan.land.surface_model import SurfaceLayer

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

BLOCK = 16  # cells along the side of a block


class SurfaceColumns(NamedTuple):
    """Cells of a surface raster as columns with level tops, opaque from their tops down.

    Attributes
    ----------
    tops : ndarray of float32, shape (rows, columns)
        Elevation of each top; minus infinity where a cell hides nothing. [m]
    blocks : ndarray of float32, shape (block rows, block columns)
        Highest top of each block of BLOCK by BLOCK cells. [m]
    place : ndarray, shape (2, 3)
        Affine transform: its product with (x, y, 1) is a point's column and row.
    hole : ndarray, shape (4,)
        First column and row, last column and row of a rectangle whose cells hide nothing.
    highest : float
        Highest of the tops. [m]
    """

    tops: Singles
    blocks: Singles
    place: Floats
    hole: Floats
    highest: float


def surface_columns(site: Site) -> tuple[SurfaceColumns, ...]:
    """Return the columns of a site's surface raster, layer by layer of cell size; none if the site has no surface.

    Drawn features are cut out of the surface. They stay cut out when the sun is computed without one of them: its
    ground is free then.
    """
    model = site.surface_model
    if model is None:
        return ()
    return tuple(columns_of_layer(layer) for layer in model.counted(site.boundary, site.features()))


def columns_of_layer(layer: SurfaceLayer) -> SurfaceColumns:
    """Return a layer's columns, with the highest top of each block."""
    tops = np.where(np.isfinite(layer.tops), layer.tops, np.float32(-np.inf)).astype(np.float32)
    rows, columns = (-(-length // BLOCK) * BLOCK for length in tops.shape)
    padded = np.full((rows, columns), -np.inf, dtype=np.float32)
    padded[: tops.shape[0], : tops.shape[1]] = tops
    blocks = padded.reshape(rows // BLOCK, BLOCK, columns // BLOCK, BLOCK).max(axis=(1, 3))
    return SurfaceColumns(
        tops=tops,
        blocks=blocks,
        place=np.ascontiguousarray(layer.place, dtype=np.float64),
        hole=np.array(layer.hole or (0.0, 0.0, 0.0, 0.0)),
        highest=float(tops.max()),
    )
