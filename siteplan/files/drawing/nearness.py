"""Which features of a large drawing are near enough to matter?

An obstacle matters if its top, seen from the property's edge, rises above the lowest sun that counts. Surfaces and
keepouts matter near the property. All other kinds, such as beds and piles, are always read, so that their faults are
reported. Small drawings are read whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.remarks import Remarks, clean
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.site_toml.settings import Settings, unit_of_system
from siteplan.land.spread import split_spread, spread_size
from siteplan.land.units import METRE, LengthUnit, length_unit, si_value

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MANY = 5000  # features; a drawing of fewer is read whole
LOWEST_SUN = 0.5  # degrees; from there to the horizon the sun takes some three minutes in middle latitudes
BESIDE = 100.0  # m from the boundary, within which the ground may matter to a barrow or a lorry
WIDEST_CROWN = 50.0  # m; a feature drawn as a point or a line may reach so far around it
NO_HEIGHT = 20.0  # m; assumed for a feature whose height cannot be read
METRES_PER_DEGREE = 111_200.0  # of latitude

#: roles of features: the boundary; obstacles to the sun; ground that matters near by; always read
BOUNDARY, OBSTACLE, GROUND, ALWAYS = range(4)
_ROLES = {"boundary": BOUNDARY, "surface": GROUND, "keepout": GROUND} | dict.fromkeys(
    ("building", "tree", "hedge", "fence"), OBSTACLE
)


class Outlook(NamedTuple):
    """Role, height and bounds of features: what is needed to decide which of them matter.

    Attributes
    ----------
    role : ndarray of int, shape (n,)
        `BOUNDARY`, `OBSTACLE`, `GROUND` or `ALWAYS`.
    height : ndarray, shape (n,)
        Of obstacles. [m]
    bounds : ndarray, shape (n, 4)
        West, south, east, north in the drawing's coordinates; NaN if unknown.
    """

    role: NDArray[np.uint8]
    height: Floats
    bounds: Floats


@dataclass(frozen=True)
class Place:
    """The coordinates of a drawing.

    Attributes
    ----------
    unit : LengthUnit
        Of the drawing, and so of every length without a unit.
    metres_per_unit : float or None
        Of a measured plan; None for a drawing in a coordinate system of the earth.
    crs : CRS or None
        None for longitude and latitude, or for a measured plan.
    """

    unit: LengthUnit = METRE
    metres_per_unit: float | None = None
    crs: CRS | None = None

    def metres(self, bounds: Floats, about: Floats) -> Floats:
        """Return bounds in metres, shape (n, 4): west, south, east, north; accurate near the bounds `about`."""
        if self.metres_per_unit is not None:
            return bounds * self.metres_per_unit
        degrees, middle = self._degrees(bounds), self._degrees(about[np.newaxis])[0]
        longitude = (middle[0] + middle[2]) / 2
        shrunk = math.cos(math.radians(min(abs(middle[1] + middle[3]) / 2, 89.0)))
        east = (degrees[:, [0, 2]] - longitude + 180) % 360 - 180
        converted = degrees * METRES_PER_DEGREE
        converted[:, [0, 2]] = np.sort(east, axis=1) * METRES_PER_DEGREE * shrunk
        return converted

    def distance(self, bounds: Floats, about: Floats) -> Floats:
        """Return how far each of some bounds is from the bounds `about`, shape (n,); 0 if they overlap. [m]"""
        box, (west, south, east, north) = self.metres(bounds, about), self.metres(about[np.newaxis], about)[0]
        gap_x = np.maximum(np.maximum(box[:, 0] - east, west - box[:, 2]), 0)
        gap_y = np.maximum(np.maximum(box[:, 1] - north, south - box[:, 3]), 0)
        return np.asarray(np.hypot(gap_x, gap_y))

    def widened(self, bounds: Floats, metres: float) -> tuple[float, float, float, float]:
        """Return bounds in the drawing's coordinates, widened by at least so many metres on each side."""
        if self.metres_per_unit is not None:
            room = metres / self.metres_per_unit
            around = bounds + np.array([-room, -room, room, room])
        else:
            middle = self._degrees(bounds[np.newaxis])[0]
            up = 1.01 * metres / METRES_PER_DEGREE
            aside = up / math.cos(math.radians(min(float(np.abs(middle[[1, 3]]).max()) + up, 89.0)))
            around = middle + np.array([-aside, -up, aside, up])
            if self.crs is not None:
                back = Transformer.from_crs("EPSG:4326", self.crs, always_xy=True)
                around = np.array(back.transform_bounds(*around.tolist()))
        west, south, east, north = (float(edge) for edge in around)
        return west, south, east, north

    def _degrees(self, bounds: Floats) -> Floats:
        if self.crs is None:
            return bounds.copy()
        change = Transformer.from_crs(self.crs, "EPSG:4326", always_xy=True)
        x, y = change.transform(bounds[:, [0, 2, 0, 2]].ravel(), bounds[:, [1, 1, 3, 3]].ravel())
        x, y = np.reshape(x, (-1, 4)), np.reshape(y, (-1, 4))
        return np.column_stack([x.min(axis=1), y.min(axis=1), x.max(axis=1), y.max(axis=1)])


def place_of(settings: Settings, crs: CRS | None) -> Place:
    """Return the coordinates of a drawing: those of a plan, of the system that it names, or degrees."""
    if settings.has_origin:
        unit = length_unit(settings.origin.unit) if settings.origin else METRE
        return Place(unit, metres_per_unit=unit.metres)
    return Place(
        unit_of_system(crs),
        crs=crs if crs is not None and (crs.is_projected or crs.is_bound or crs.is_geographic) else None,
    )


@dataclass
class Roles:
    """Finds role and height of features from their properties, under the file's own names.

    Attributes
    ----------
    renaming : Renaming
    unit : LengthUnit
        Of a height without a unit.
    """

    renaming: Renaming
    unit: LengthUnit = METRE
    _kinds: dict[object, int] = field(default_factory=dict)
    _heights: dict[object, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.kind_keys, self.height_keys = (self._keys(name) for name in ("kind", "height"))

    def _keys(self, key: str) -> tuple[str, ...]:
        """Return the file's names of a key of siteplan: renamed ones first."""
        renamed = tuple(name for name, meaning in self.renaming.keys.items() if meaning == key)
        return renamed if key in self.renaming.keys else (*renamed, key)

    def of(self, properties: Mapping[str, object]) -> tuple[int, float]:
        """Return the role and the height of a feature. [m]"""
        kind = _first_value(properties, self.kind_keys)
        height = _first_value(properties, self.height_keys)
        return self.role(kind), self.height(height)

    def role(self, kind: object) -> int:
        """Return the role of a kind by its name; an unknown kind may be an obstacle."""
        if not isinstance(kind, str):
            return OBSTACLE
        if kind not in self._kinds:
            meaning = self.renaming.kinds.get(clean(kind))
            meant = clean(kind) if meaning is None else meaning.kind
            self._kinds[kind] = _ROLES.get(meant or "", ALWAYS if meant in KINDS else OBSTACLE)
        return self._kinds[kind]

    def height(self, value: object) -> float:
        """Return a height, with its spread added, from the value in the file. [m]"""
        if isinstance(value, int | float):
            return value * self.unit.metres if math.isfinite(value) else NO_HEIGHT
        if not isinstance(value, str):
            return NO_HEIGHT
        if value not in self._heights:
            try:
                plain, spread = split_spread(value)
                height = si_value(plain, "length", plain=self.unit)
                self._heights[value] = height + (spread_size(spread, plain, height, "length", plain=self.unit) or 0.0)
            except ValueError:
                self._heights[value] = NO_HEIGHT
        return self._heights[value]


def _first_value(properties: Mapping[str, object], keys: Iterable[str]) -> object:
    """Return the first of some properties that has a value; None if none has."""
    return next((value for key in keys if (value := properties.get(key)) is not None), None)


def reach(height: float) -> float:
    """Return the distance within which a top rises above the lowest sun that counts, plus the widest crown. [m]

    Examples
    --------
    >>> round(reach(10.0))  # 10 / tan(0.5 degrees) and 50
    1196
    """
    return max(height / math.tan(math.radians(LOWEST_SUN)), BESIDE) + WIDEST_CROWN


def near(outlook: Outlook, place: Place) -> Flags:
    """Return which features are near enough to matter, shape (n,).

    By the distance between their bounds and those of the boundary: no feature that matters is left out, and some that
    do not matter are kept. Without a boundary only the features that are always read are kept.
    """
    always_read = (outlook.role == BOUNDARY) | (outlook.role == ALWAYS)
    edges = outlook.bounds[outlook.role == BOUNDARY]
    edges = edges[np.isfinite(edges).all(axis=1)]
    if not len(edges):
        return np.asarray(always_read)
    boundary = np.concatenate([edges[:, :2].min(axis=0), edges[:, 2:].max(axis=0)])
    distances = place.distance(outlook.bounds, boundary)
    reaches = np.where(outlook.role == OBSTACLE, [reach(height) for height in outlook.height], reach(0))
    return np.asarray(always_read | ~(distances > reaches))  # NaN bounds are kept, so that their fault is reported


def note_left_out(read: int, total: int, remarks: Remarks) -> None:
    """Note how many features were left out, and why."""
    if read < total:
        text = (
            f"{total - read:,} of its {total:,} features are left out: seen from the boundary their tops stay below "
            f"{LOWEST_SUN:g} degrees, the lowest sun that counts, and they lie more than {remarks.far(BESIDE)} off."
        )
        remarks.caution("left-out", "", text)
