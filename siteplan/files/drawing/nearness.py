"""Which features of a large drawing are near enough to matter?

What stands matters where its top rises above the lowest sun that counts, as seen from the property's edge. Surfaces
and keepouts matter beside the property. All else, such as beds and piles, is always read: its faults are told.
It leaves out small drawings: those are read whole.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer

from siteplan.files.drawing.kinds import KINDS
from siteplan.files.remarks import Remarks, clean
from siteplan.files.site_toml.renaming import Renaming
from siteplan.files.site_toml.settings import Settings, unit_of_system
from siteplan.land.spread import parted, spread_size
from siteplan.land.units import METRE, LengthUnit, length_unit, si_value

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MANY = 5000  # features; a drawing of fewer is read whole
LOWEST_SUN = 0.5  # degrees; from there to the horizon the sun takes some three minutes in middle latitudes
BESIDE = 100.0  # m from the boundary, within which the ground may matter to a barrow or a lorry
WIDEST_CROWN = 50.0  # m; what is drawn as a point or a line may reach so far around it
NO_HEIGHT = 20.0  # m; taken for what has no height that can be read
METRES_PER_DEGREE = 111_200.0  # of latitude

BOUNDARY, STANDS, LIES, OWN = range(4)
_ROLES = {"boundary": BOUNDARY, "surface": LIES, "keepout": LIES} | dict.fromkeys(
    ("building", "tree", "hedge", "fence"), STANDS
)


class Seen(NamedTuple):
    """Features, as far as it takes to say whether they matter.

    Attributes
    ----------
    role : ndarray of int, shape (n,)
        `BOUNDARY`, `STANDS`, `LIES` or `OWN`: what is always read.
    height : ndarray, shape (n,)
        Of what stands. [m]
    bounds : ndarray, shape (n, 4)
        West, south, east, north in the drawing's coordinates; NaN where they cannot be told.
    """

    role: NDArray[np.uint8]
    height: Floats
    bounds: Floats


@dataclass(frozen=True)
class Place:
    """In what coordinates a drawing is.

    Attributes
    ----------
    unit : LengthUnit
        Of the drawing, and so of every length without a unit.
    metres_per_unit : float or None
        Of a measured plan; None where it is in a system of the earth.
    crs : CRS or None
        Where that is not longitude and latitude.
    """

    unit: LengthUnit = METRE
    metres_per_unit: float | None = None
    crs: CRS | None = None

    def metres(self, bounds: Floats, about: Floats) -> Floats:
        """Return bounds in metres, true beside those of `about`: west, south, east, north; shape (n, 4)."""
        if self.metres_per_unit is not None:
            return bounds * self.metres_per_unit
        degrees, middle = self._degrees(bounds), self._degrees(about[np.newaxis])[0]
        longitude = (middle[0] + middle[2]) / 2
        shrunk = math.cos(math.radians(min(abs(middle[1] + middle[3]) / 2, 89.0)))
        east = (degrees[:, [0, 2]] - longitude + 180) % 360 - 180
        found = degrees * METRES_PER_DEGREE
        found[:, [0, 2]] = np.sort(east, axis=1) * METRES_PER_DEGREE * shrunk
        return found

    def widened(self, bounds: Floats, metres: float) -> tuple[float, float, float, float]:
        """Return the drawing's coordinates around a place, so many metres or somewhat more on each side."""
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
        west, south, east, north = (float(one) for one in around)
        return west, south, east, north

    def _degrees(self, bounds: Floats) -> Floats:
        if self.crs is None:
            return bounds.copy()
        change = Transformer.from_crs(self.crs, "EPSG:4326", always_xy=True)
        x, y = change.transform(bounds[:, [0, 2, 0, 2]].ravel(), bounds[:, [1, 1, 3, 3]].ravel())
        x, y = np.reshape(x, (-1, 4)), np.reshape(y, (-1, 4))
        return np.column_stack([x.min(axis=1), y.min(axis=1), x.max(axis=1), y.max(axis=1)])


def place_of(settings: Settings, crs: CRS | None) -> Place:
    """Return in what coordinates a drawing is: a plan's, those that it names, or longitude and latitude."""
    if settings.has_origin:
        unit = length_unit(settings.origin.unit) if settings.origin else METRE
        return Place(unit, metres_per_unit=unit.metres)
    return Place(
        unit_of_system(crs),
        crs=crs if crs is not None and (crs.is_projected or crs.is_bound or crs.is_geographic) else None,
    )


@dataclass
class Roles:
    """What features matter by, told from their properties in other people's names.

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

    def _keys(self, ours: str) -> tuple[str, ...]:
        theirs = [key for key, meant in self.renaming.keys.items() if meant == ours]
        return (*theirs, *(() if ours in self.renaming.keys else (ours,)))

    def of(self, properties: Mapping[str, object]) -> tuple[int, float]:
        """Return the role and the height of a feature. [m]"""
        kind = next((value for key in self.kind_keys if (value := properties.get(key)) is not None), None)
        height = next((value for key in self.height_keys if (value := properties.get(key)) is not None), None)
        return self.role(kind), self.height(height)

    def role(self, kind: object) -> int:
        """Return the role of a kind by its name; what is unknown may stand."""
        if not isinstance(kind, str):
            return STANDS
        if kind not in self._kinds:
            meaning = self.renaming.kinds.get(clean(kind))
            ours = clean(kind) if meaning is None else meaning.kind
            self._kinds[kind] = _ROLES.get(ours or "", OWN if ours in KINDS else STANDS)
        return self._kinds[kind]

    def height(self, value: object) -> float:
        """Return a height from how it is written. [m]"""
        if isinstance(value, int | float):
            return value * self.unit.metres if math.isfinite(value) else NO_HEIGHT
        if not isinstance(value, str):
            return NO_HEIGHT
        if value not in self._heights:
            try:
                plain, spread = parted(value)
                height = si_value(plain, "length", plain=self.unit)
                self._heights[value] = height + (spread_size(spread, plain, height, "length", plain=self.unit) or 0.0)
            except ValueError:
                self._heights[value] = NO_HEIGHT
        return self._heights[value]


def reach(height: float) -> float:
    """Return how far off a top rises above the lowest sun that counts, and the widest crown farther. [m]

    Examples
    --------
    >>> round(reach(10.0))  # 10 / tan(0.5 degrees) and 50
    1196
    """
    return max(height / math.tan(math.radians(LOWEST_SUN)), BESIDE) + WIDEST_CROWN


def near(seen: Seen, place: Place) -> Flags:
    """Return which features are near enough to matter, shape (n,).

    By the distance between their bounds and those of the boundary: no feature that matters is left out, and some may
    be read in vain. Where there is no boundary only what is always read is.
    """
    own = (seen.role == BOUNDARY) | (seen.role == OWN)
    edges = seen.bounds[seen.role == BOUNDARY]
    edges = edges[np.isfinite(edges).all(axis=1)]
    if not len(edges):
        return np.asarray(own)
    about = np.concatenate([edges[:, :2].min(axis=0), edges[:, 2:].max(axis=0)])
    west, south, east, north = place.metres(about[np.newaxis], about)[0]
    theirs = place.metres(seen.bounds, about)
    aside = np.maximum(np.maximum(theirs[:, 0] - east, west - theirs[:, 2]), 0)
    away = np.hypot(aside, np.maximum(np.maximum(theirs[:, 1] - north, south - theirs[:, 3]), 0))
    reaches = np.where(seen.role == STANDS, [reach(one) for one in seen.height], reach(0))
    return np.asarray(own | ~(away > reaches))  # what lies nowhere is read, so that its fault is told


def note_left_out(read: int, total: int, remarks: Remarks) -> None:
    """Say how many features were left out, and why."""
    if read < total:
        text = (
            f"{total - read:,} of its {total:,} features are left out: seen from the boundary their tops stay below "
            f"{LOWEST_SUN:g} degrees, the lowest sun that counts, and they lie more than {remarks.far(BESIDE)} off."
        )
        remarks.caution("left-out", "", text)
