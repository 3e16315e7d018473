"""How are a tile's coordinates converted to metres of the local frame, quickly?

Over the kilometre around a property the conversion is nearly linear: a polynomial of the second degree is fitted to
it, and used if it is accurate to half a centimetre; else pyproj converts every point.
"""

from __future__ import annotations

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely.geometry.base import BaseGeometry

from siteplan.land.frame import LocalFrame
from siteplan.land.grid import Floats

ACCURACY = 0.005  # m
_SIDE = 9  # points along a side of the square on which it is fitted


class FittedTransform:
    """The conversion from a coordinate system into a local frame, around its centre.

    Parameters
    ----------
    system : pyproj.CRS
    frame : LocalFrame
    area : shapely geometry
        The area of the points, in the frame. [m]

    Attributes
    ----------
    known : bool
        Whether the area has a place in the coordinate system at all.
    """

    def __init__(self, system: CRS, frame: LocalFrame, area: BaseGeometry) -> None:
        self._exact = Transformer.from_crs(system, frame.crs, always_xy=True)
        west, south, east, north = area.bounds
        x, y = np.meshgrid(np.linspace(west, east, _SIDE), np.linspace(south, north, _SIDE))
        in_system = np.array(self._exact.transform(x.ravel(), y.ravel(), direction="INVERSE"))
        self.known = bool(np.isfinite(in_system).all())
        self._fit: Floats | None = None
        if not self.known:
            return
        self._middle, self._scale = in_system.mean(axis=1), np.maximum(np.ptp(in_system, axis=1), 1e-12)
        terms = self._terms(*in_system)
        in_frame = np.column_stack([x.ravel(), y.ravel()])
        fit = np.asarray(np.linalg.lstsq(terms, in_frame, rcond=None)[0], dtype=np.float64)
        error = np.abs(terms @ fit - in_frame).max()
        self._fit = fit if error < ACCURACY else None

    def _terms(self, x: Floats, y: Floats) -> Floats:
        a, b = (x - self._middle[0]) / self._scale[0], (y - self._middle[1]) / self._scale[1]
        return np.column_stack([np.ones_like(a), a, b, a * a, a * b, b * b])

    def box(self, area: BaseGeometry) -> tuple[float, float, float, float]:
        """Return west, south, east and north of an area of the frame in the tile's own coordinates."""
        edge = shapely.segmentize(shapely.box(*area.bounds).exterior, area.length / 80)
        right, up = shapely.get_coordinates(edge).T
        x, y = self._exact.transform(right, up, direction="INVERSE")
        return float(np.min(x)), float(np.min(y)), float(np.max(x)), float(np.max(y))

    def to_frame(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """Return x and y of points in metres of the frame."""
        if self._fit is None:
            east, north = self._exact.transform(x, y)
            return np.asarray(east), np.asarray(north)
        east, north = (self._terms(x, y) @ self._fit).T
        return east, north
