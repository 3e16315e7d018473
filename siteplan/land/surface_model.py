"""Which trees and roofs around the property does a raster of the surface show?

Each cell that rises above the ground is a column with a level top, opaque from its top down. The cells stay those of
the raster, also if they lie askew in the local frame. `files/ground/surface_file.py` reads them, `sun` casts their
shade.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.features import Bed, Building, Feature, Fence, Hedge, Tree
from siteplan.land.grid import Floats

Singles = NDArray[np.float32]
Flags = NDArray[np.bool_]
HALF_DIAGONAL = math.sqrt(0.5)  # of a cell, in cells


@dataclass(frozen=True, eq=False)
class SurfaceLayer:
    """The surface in cells of one size.

    Attributes
    ----------
    tops : ndarray of float32, shape (rows, columns)
        Elevation of the top of each column, NaN in cells without one. [m]
    place : ndarray, shape (2, 3)
        Affine matrix from the local frame to cells: (column, row) = place (x, y, 1); the first cell is from 0 to 1.
    cell : float
        Side of a cell. [m]
    hole : tuple of four floats, or None
        First column and row, last column and row of the rectangle that the next finer layer covers: no columns here.
    """

    tops: Singles
    place: Floats
    cell: float
    hole: tuple[float, float, float, float] | None = None

    def middles(self, rows: slice, columns: slice) -> tuple[Floats, Floats]:
        """Return x and y of the middles of some cells, each shape (rows, columns). [m]"""
        back = np.linalg.inv(self.place[:, :2])
        column, row = np.meshgrid(
            np.arange(*columns.indices(self.tops.shape[1])) + 0.5 - self.place[0, 2],
            np.arange(*rows.indices(self.tops.shape[0])) + 0.5 - self.place[1, 2],
        )
        return back[0, 0] * column + back[0, 1] * row, back[1, 0] * column + back[1, 1] * row

    def part(self, shape: BaseGeometry) -> tuple[tuple[slice, slice], Flags]:
        """Return the rows and columns that a shape spans, and which of those cells have their middle in it."""
        west, south, east, north = shape.bounds
        corners = np.array([[west, west, east, east], [south, north, south, north], [1, 1, 1, 1]])
        in_cells = self.place @ corners
        sizes = self.tops.shape[1], self.tops.shape[0]
        columns, rows = (
            slice(int(min(max(math.floor(low), 0), size)), int(min(max(math.ceil(high), 0), size)))
            for low, high, size in zip(in_cells.min(axis=1), in_cells.max(axis=1), sizes, strict=True)
        )
        shapely.prepare(shape)
        return (rows, columns), np.asarray(shapely.intersects_xy(shape, *self.middles(rows, columns)), dtype=np.bool_)

    def without(self, shapes: Iterable[BaseGeometry]) -> SurfaceLayer:
        """Return the layer without the columns whose cell has its middle in one of the shapes."""
        tops = self.tops.copy()
        for shape in shapes:
            if not shape.is_empty:
                window, inside = self.part(shape)
                tops[window][inside] = np.nan
        return replace(self, tops=tops)


@dataclass(frozen=True, kw_only=True)
class SurfaceSettings:
    """How a surface is to be used, by site.toml.

    Attributes
    ----------
    unit : str or None
        Of its elevations, if given.
    date : date or None
        Of the survey.
    begins : float
        How far beyond the boundary the surface begins to cast shade. [m]
    within : bool
        Whether it casts shade within the boundary too.
    """

    unit: str | None = None
    date: dt.date | None = None
    begins: float = 0.0
    within: bool = False


@dataclass(frozen=True, eq=False)
class SurfaceModel:
    """The columns around a property, and which of them cast shade.

    Attributes
    ----------
    layers : tuple of SurfaceLayer
        Nearest first: the raster's own cells, then twice as large, and so on.
    file : str
        That it was read from.
    date : date or None
        Day of the survey, if known.
    begins : float
        How far beyond the boundary the surface begins to cast shade. [m]
    within : bool
        Whether it casts shade within the boundary too.
    reach : float
        How far beyond the boundary it is known on all sides. [m]
    farthest : float
        How far it is known on its farthest side. [m]
    """

    layers: tuple[SurfaceLayer, ...]
    file: str
    date: dt.date | None = None
    begins: float = 0.0
    within: bool = False
    reach: float = 0.0
    farthest: float = 0.0

    def counted(self, boundary: Polygon, features: Sequence[Feature]) -> tuple[SurfaceLayer, ...]:
        """Return the layers that cast shade: without the drawn features and, unless `within`, without the property.

        Parameters
        ----------
        boundary : Polygon
            [m]
        features : sequence of Feature
            Drawn features: cells up to one cell's side from them are taken to be part of them.

        Notes
        -----
        A cell that reaches over the boundary is left out as a whole.
        """
        return tuple(
            layer.without(
                [
                    *([] if self.within else [boundary.buffer(self.begins + HALF_DIAGONAL * layer.cell)]),
                    *(shape.buffer(layer.cell) for shape in footprints(features)),
                ]
            )
            for layer in self.layers
        )


def footprints(features: Sequence[Feature]) -> list[BaseGeometry]:
    """Return the outlines of the features that rise above the ground: buildings, crowns, hedges, fences and beds."""
    return [
        feature.footprint if isinstance(feature, Fence) else feature.outline
        for feature in features
        if isinstance(feature, Building | Tree | Hedge | Fence | Bed)
    ]
