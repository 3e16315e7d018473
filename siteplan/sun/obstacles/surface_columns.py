"""Which columns of a raster of the surface hide the sun?

Those that count for a site, with the highest of each block of them, so that a ray passes over a block at once. It
leaves out the rays.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.land.site import Site
from siteplan.land.surface_model import SurfaceLayer

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

BLOCK = 16  # cells


class Columns(NamedTuple):
    """Columns with level tops on a raster, opaque from their tops down.

    Attributes
    ----------
    tops : ndarray of float32, shape (rows, columns)
        Minus infinity where nothing stands. [m]
    blocks : ndarray of float32
        The highest top of each BLOCK by BLOCK cells. [m]
    place : ndarray, shape (2, 3)
        Column and row of a point are its product with (x, y, 1).
    hole : ndarray, shape (4,)
        First column and row, last column and row of a rectangle in which nothing stands.
    highest : float
        Of the tops. [m]
    """

    tops: Singles
    blocks: Singles
    place: Floats
    hole: Floats
    highest: float


def surface_columns(site: Site) -> tuple[Columns, ...]:
    """Return the columns of a site's surface, by size of their cells; none where it has no surface.

    What is drawn is cut out of it, also where a sun without some of that is asked for: then the ground is free there.
    """
    model = site.surface_model
    if model is None:
        return ()
    return tuple(packed(layer) for layer in model.counted(site.boundary, site.features()))


def packed(layer: SurfaceLayer) -> Columns:
    """Return a layer with the highest of each of its blocks."""
    tops = np.where(np.isfinite(layer.tops), layer.tops, np.float32(-np.inf)).astype(np.float32)
    rows, columns = (-(-length // BLOCK) * BLOCK for length in tops.shape)
    padded = np.full((rows, columns), -np.inf, dtype=np.float32)
    padded[: tops.shape[0], : tops.shape[1]] = tops
    blocks = padded.reshape(rows // BLOCK, BLOCK, columns // BLOCK, BLOCK).max(axis=(1, 3))
    return Columns(
        tops=tops,
        blocks=blocks,
        place=np.ascontiguousarray(layer.place, dtype=np.float64),
        hole=np.array(layer.hole or (0.0, 0.0, 0.0, 0.0)),
        highest=float(tops.max()),
    )
