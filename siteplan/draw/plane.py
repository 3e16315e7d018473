"""In which plane does the page draw, and how do its metres become the coordinates of the file?

A measured plan keeps its own axes, in metres. Any other drawing is shown in a local frame about the boundary, which
stays the same while the property is open.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import MultiPoint
from shapely.geometry.base import BaseGeometry

from siteplan.files.checked import SiteFiles
from siteplan.files.drawing.locating import drawn_frame
from siteplan.land.frame import DrawnFrame, LocalFrame, Shape


@dataclass(frozen=True)
class Plane:
    """The page's plane: metres, x to the right and y up.

    Attributes
    ----------
    metres_per_unit : float
        Length of a measured plan's unit. [m]
    frame : LocalFrame or None
        The local frame of any other drawing; None for a measured plan.
    drawn : DrawnFrame
        The coordinates of the file.
    place : (float, float) or None
        Latitude and longitude of the zero point, None while they are unknown. [degrees]
    bearing : float
        Direction of the +y axis, clockwise from true north. [degrees]
    """

    metres_per_unit: float = 1.0
    frame: LocalFrame | None = None
    drawn: DrawnFrame = field(default_factory=DrawnFrame)
    place: tuple[float, float] | None = None
    bearing: float = 0.0

    def from_file(self, shape: Shape) -> Shape:
        """Return a shape of the file in this plane. [m]"""
        if self.frame is None:
            return shapely.transform(shape, lambda points: points * self.metres_per_unit)
        return self.frame.to_local(self.drawn.to_lonlat(shape))

    def to_file(self, points: np.ndarray) -> np.ndarray:
        """Return points of this plane [m], shape (n, 2), in the coordinates of the file, as they are written."""
        if self.frame is None:
            return np.round(points / self.metres_per_unit, 3) + 0.0
        degrees = self.frame.to_lonlat(MultiPoint(points))
        coordinates = shapely.get_coordinates(self.drawn.from_lonlat(degrees))
        return np.asarray(coordinates.round(self.drawn.decimals) + 0.0)


def plane_of(read: SiteFiles, before: Plane | None) -> Plane:
    """Return the plane of a property.

    Parameters
    ----------
    read : SiteFiles
        What its files say.
    before : Plane or None
        The plane so far; its local frame stays.

    Notes
    -----
    A drawing that is neither a plan nor on earth is shown as a plan in metres until its place is given.
    """
    settings, drawing = read.settings, read.drawing
    if settings is None or drawing is None or settings.has_origin:
        origin = None if settings is None else settings.origin
        place = None if origin is None else (origin.latitude, origin.longitude)
        bearing = 0.0 if origin is None else origin.bearing
        return Plane(metres_per_unit=read.unit.metres, place=place, bearing=bearing)
    drawn = drawn_frame(drawing, settings)
    if before is not None and before.frame is not None and before.drawn == drawn:
        return before
    shapes = [feature.shape for feature in drawing.features if feature.shape is not None]
    boundaries = [
        feature.shape
        for feature in drawing.features
        if feature.shape is not None and _is_boundary(feature.properties)
    ]
    middle = _middle(boundaries or shapes, drawn)
    if middle is None:
        return Plane()
    frame = LocalFrame(longitude=middle[0], latitude=middle[1])
    return Plane(frame=frame, drawn=drawn, place=(frame.latitude, frame.longitude))


def _is_boundary(properties: object) -> bool:
    return isinstance(properties, dict) and properties.get("kind") == "boundary"


def _middle(shapes: Iterable[BaseGeometry], drawn: DrawnFrame) -> tuple[float, float] | None:
    """Return the longitude and latitude of the middle of shapes; None if their coordinates are not on earth."""
    points = [shape.centroid for shape in shapes]
    if not points:
        return None
    middle = drawn.to_lonlat(shapely.MultiPoint(points).centroid)
    west, south, east, north = shapely.total_bounds(points) if drawn.crs is None else middle.bounds
    on_earth = west >= -180 and east <= 180 and south >= -89 and north <= 89
    return (float(middle.x), float(middle.y)) if on_earth else None
