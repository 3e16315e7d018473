"""How do longitude and latitude become metres, with true north up?

A transverse Mercator projection of scale 1 centred on the site, so that grid north is true north there.
It is meant for a property, not for a county: 10 km from the centre lengths are off by 1.2 mm/km. Heights are not
changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache, partial
from typing import TypeVar

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely.geometry.base import BaseGeometry

Shape = TypeVar("Shape", bound=BaseGeometry)


@dataclass(frozen=True)
class LocalFrame:
    """A plane in metres around one point: x east, y north.

    Attributes
    ----------
    longitude, latitude : float
        The centre, where x and y are 0 and grid north is true north. [degrees, WGS 84]
    """

    longitude: float
    latitude: float

    @cached_property
    def crs(self) -> CRS:
        """The frame as a coordinate reference system, with a descriptive name in plain ASCII."""
        unnamed = CRS.from_dict(
            {
                "proj": "tmerc",
                "lat_0": self.latitude,
                "lon_0": self.longitude,
                "k": 1,
                "x_0": 0,
                "y_0": 0,
                "datum": "WGS84",
                "units": "m",
            },
        )
        document = unnamed.to_json_dict()
        north_south, east_west = "S" if self.latitude < 0 else "N", "W" if self.longitude < 0 else "E"
        place = f"{abs(self.latitude):.5f} {north_south} {abs(self.longitude):.5f} {east_west}"
        document["name"] = f"siteplan local, true north at {place}"
        document["base_crs"]["name"] = "WGS 84"
        return CRS.from_json_dict(document)

    @property
    def _transformer(self) -> Transformer:
        return _transformer_into(self)

    def to_local(self, shape: Shape) -> Shape:
        """Convert a shape from longitude and latitude to metres of this frame."""
        return shapely.transform(shape, partial(self._projected, direction="FORWARD"))

    def to_lonlat(self, shape: Shape) -> Shape:
        """Convert a shape from metres of this frame to longitude and latitude."""
        return shapely.transform(shape, partial(self._projected, direction="INVERSE"))

    def _projected(self, points: np.ndarray, direction: str) -> np.ndarray:
        return projected(self._transformer, points, direction=direction)


@lru_cache(maxsize=100)
def _transformer_into(frame: LocalFrame) -> Transformer:
    """Return the transformer into a frame; cached, since it is slow to make and frames of one place are equal."""
    return Transformer.from_crs("EPSG:4326", frame.crs, always_xy=True)


@dataclass(frozen=True)
class DrawnFrame:
    """The coordinates in which the property is drawn.

    Attributes
    ----------
    origin : (float, float) or None
        Longitude and latitude of a measured plan's zero point; None if the drawing is no measured plan. [degrees]
    bearing : float
        Of the plan's +y axis, clockwise from true north. [degrees]
    metres_per_unit : float
        Length of the plan's unit. [m]
    unit : str
        Of the coordinates: the plan's, such as ``ft``; else that of the coordinate system; else ``degrees``.
    crs : pyproj.CRS or None
        Of a drawing that is no measured plan; None for longitude and latitude.
    """

    origin: tuple[float, float] | None = None
    bearing: float = 0.0
    metres_per_unit: float = 1.0
    unit: str = "degrees"
    crs: CRS | None = None

    def from_lonlat(self, shape: Shape) -> Shape:
        """Convert a shape from longitude and latitude to the drawing's own coordinates.

        Examples
        --------
        Ten feet along the +y axis of a plan that is turned to the east lie ten feet east of its zero point:

        >>> from shapely import Point
        >>> east = LocalFrame(longitude=8.0, latitude=45.0).to_lonlat(Point(3.048, 0.0))
        >>> plan = DrawnFrame((8.0, 45.0), bearing=90.0, metres_per_unit=0.3048, unit="ft")
        >>> there = plan.from_lonlat(east)
        >>> round(abs(there.x), 6), round(there.y, 6)
        (0.0, 10.0)
        """
        if self.origin is not None:
            metres = LocalFrame(*self.origin).to_local(shape)
            return local_to_plan(metres, bearing=self.bearing, metres_per_unit=self.metres_per_unit)
        if self.crs is None:
            return shape
        return shapely.transform(shape, partial(projected, _to_lonlat_from(self.crs), direction="INVERSE"))

    def to_lonlat(self, shape: Shape) -> Shape:
        """Convert a shape from the drawing's own coordinates to longitude and latitude: the inverse of `from_lonlat`.

        Examples
        --------
        >>> from shapely import Point
        >>> plan = DrawnFrame((8.0, 45.0), bearing=90.0, metres_per_unit=0.3048, unit="ft")
        >>> there = plan.from_lonlat(plan.to_lonlat(Point(3, 10)))
        >>> round(there.x, 6), round(there.y, 6)
        (3.0, 10.0)
        """
        if self.origin is not None:
            metres = plan_to_local(shape, bearing=self.bearing, metres_per_unit=self.metres_per_unit)
            return LocalFrame(*self.origin).to_lonlat(metres)
        if self.crs is None:
            return shape
        return shapely.transform(shape, partial(projected, _to_lonlat_from(self.crs)))

    @property
    def decimals(self) -> int:
        """How many decimals are written, so that a millimetre shows: 9 of degrees, 3 of metres and feet."""
        return 9 if self.unit == "degrees" else 3


@lru_cache(maxsize=20)
def _to_lonlat_from(crs: CRS) -> Transformer:
    """Return the transformer from a coordinate system to longitude and latitude; cached, since it is slow to make."""
    return Transformer.from_crs(crs, "EPSG:4326", always_xy=True)


def projected(transformer: Transformer, points: np.ndarray, *, direction: str = "FORWARD") -> np.ndarray:
    """Return points, shape (n, 2), transformed by a pyproj transformer."""
    # pyproj treats an array of one point as a number, and numpy up to 2.3 warns of that
    x, y = points[0] if len(points) == 1 else points.T
    return np.column_stack(transformer.transform(x, y, direction=direction))


def plan_to_local(shape: Shape, *, bearing: float, metres_per_unit: float) -> Shape:
    """Convert a shape from a measured plan's units to metres east and north of the plan's zero point.

    Parameters
    ----------
    shape : shapely geometry
        In the plan's own units, x to the right and y up.
    bearing : float
        Of the plan's +y axis, clockwise from true north. [degrees]
    metres_per_unit : float
        0.3048 for feet, 1 for metres.

    Examples
    --------
    >>> from shapely import Point
    >>> east = plan_to_local(Point(0, 10), bearing=90, metres_per_unit=0.3048)
    >>> round(east.x, 6), round(abs(east.y), 6)
    (3.048, 0.0)
    """
    return _turned(shape, metres_per_unit * _turn(bearing))


def local_to_plan(shape: Shape, *, bearing: float, metres_per_unit: float) -> Shape:
    """Convert a shape from metres east and north of a measured plan's zero point to the plan's own units.

    Parameters
    ----------
    shape : shapely geometry
        [m]
    bearing, metres_per_unit : float
        As for `plan_to_local`, of which this is the inverse.
    """
    return _turned(shape, _turn(bearing).T / metres_per_unit)


def _turn(bearing: float) -> np.ndarray:
    turn = np.radians(bearing)
    cos, sin = np.cos(turn), np.sin(turn)
    return np.array([[cos, -sin], [sin, cos]])


def _turned(shape: Shape, matrix: np.ndarray) -> Shape:
    def turned(points: np.ndarray) -> np.ndarray:
        return np.asarray(points[:, :2] @ matrix)

    return shapely.transform(shape, turned)
