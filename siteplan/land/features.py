"""What is drawn on the ground?

One frozen dataclass for each kind of feature, in metres of the local frame, checked on creation.
It leaves out computing: what shades, what blocks and what costs is asked elsewhere.

Heights are above the ground at the feature. [m]  Transmittance is the share of direct sun let through, 0 to 1.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from typing import Literal, NamedTuple

from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon

from siteplan.land.values import number_within, one_of

Area = Polygon | MultiPolygon
Line = LineString | MultiLineString

TALLEST = 500.0  # m; nothing in a garden stands higher

FOLIAGE = ("deciduous", "evergreen")
CROWN_FORMS = ("cylinder", "ellipsoid", "cone")
ROWS = ("along", "across")
RowsLie = Literal["along", "across"]
SURFACES = ("paved", "gravel", "grass", "mulch", "soil", "mud", "steps")


class MonthDay(NamedTuple):
    """A day of the year, whichever the year."""

    month: int
    day: int

    def day_of_year(self, year: int) -> int:
        """Return 1 for 1 January; 29 February counts as 28 in a common year.

        Examples
        --------
        >>> MonthDay(3, 1).day_of_year(2026), MonthDay(2, 29).day_of_year(2026)
        (60, 59)
        """
        day = min(self.day, calendar.monthrange(year, self.month)[1])
        return sum(calendar.monthrange(year, month)[1] for month in range(1, self.month)) + day

    def __str__(self) -> str:
        """Return it as month-day."""
        return f"{self.month:02d}-{self.day:02d}"


@dataclass(frozen=True, kw_only=True)
class Building:
    """A house, shed, deck or pergola: it stands from `base` to `height`.

    A gabled roof rises from `eaves` to `height` at the ridge, which runs along `ridge_heading`
    (the longer side where it is None) through the middle.
    """

    id: str
    outline: Area
    height: float
    base: float = 0.0
    transmittance: float = 0.0
    eaves: float | None = None
    ridge_heading: float | None = None

    def __post_init__(self) -> None:
        number_within(self.height, 0, TALLEST, above=True, what="height", unit="m")
        number_within(self.transmittance, 0, 1, what="transmittance")
        if not 0 <= self.base < self.height:
            raise ValueError(f"base is {self.base:g} m, must be at least 0 and below height ({self.height:g} m)")
        if self.eaves is not None and not self.base <= self.eaves <= self.height:
            raise ValueError(
                f"eaves is {self.eaves:g} m, must lie from base ({self.base:g} m) to height ({self.height:g} m)",
            )


@dataclass(frozen=True, kw_only=True)
class Tree:
    """A tree: its crown seen from above, from `crown_base` to `height`.

    `leaf_out` and `leaf_fall` are None where it is evergreen: `transmittance_leafy` then holds all year.
    `trunk_diameter` is None where unknown: no trunk is drawn then.
    """

    id: str
    outline: Area
    trunk: Point
    height: float
    crown_base: float
    foliage: Literal["deciduous", "evergreen"] = "deciduous"
    leaf_out: MonthDay | None = None
    leaf_fall: MonthDay | None = None
    transmittance_leafy: float = 0.20
    transmittance_bare: float = 0.60
    trunk_diameter: float | None = None
    crown_form: Literal["cylinder", "ellipsoid", "cone"] = "cylinder"

    def __post_init__(self) -> None:
        number_within(self.height, 0, TALLEST, above=True, what="height", unit="m")
        number_within(self.transmittance_leafy, 0, 1, what="transmittance_leafy")
        number_within(self.transmittance_bare, 0, 1, what="transmittance_bare")
        one_of(self.foliage, FOLIAGE, what="foliage")
        one_of(self.crown_form, CROWN_FORMS, what="crown_form")
        if not 0 <= self.crown_base < self.height:
            raise ValueError(
                f"crown_base is {self.crown_base:g} m, must be at least 0 and below height ({self.height:g} m)",
            )
        if self.trunk_diameter is not None:
            number_within(self.trunk_diameter, 0, 15, above=True, what="trunk_diameter", unit="m")


@dataclass(frozen=True, kw_only=True)
class Hedge:
    """A hedge: it stands on its outline from the ground to `height`."""

    id: str
    outline: Area
    height: float
    transmittance: float = 0.10

    def __post_init__(self) -> None:
        number_within(self.height, 0, TALLEST, above=True, what="height", unit="m")
        number_within(self.transmittance, 0, 1, what="transmittance")


@dataclass(frozen=True, kw_only=True)
class Fence:
    """A fence or wall along a line, from `base` to `height`.

    A wall drawn as an area has its `outline`; `line` is then the ring around it.
    """

    id: str
    line: Line
    height: float
    thickness: float = 0.04
    transmittance: float = 0.0
    base: float = 0.0
    outline: Area | None = None

    def __post_init__(self) -> None:
        number_within(self.height, 0, TALLEST, above=True, what="height", unit="m")
        number_within(self.thickness, 0, 10, above=True, what="thickness", unit="m")
        number_within(self.transmittance, 0, 1, what="transmittance")
        if not 0 <= self.base < self.height:
            raise ValueError(f"base is {self.base:g} m, must be at least 0 and below height ({self.height:g} m)")

    @property
    def footprint(self) -> Area:
        """The ground it stands on: its outline, or its line made `thickness` wide, with flat ends.

        Examples
        --------
        >>> Fence(id="f", line=LineString([(0, 0), (10, 0)]), height=1.8, thickness=0.1).footprint.area
        1.0
        """
        if self.outline is not None:
            return self.outline
        band: Area = self.line.buffer(self.thickness / 2, cap_style="flat", join_style="mitre")
        return band


@dataclass(frozen=True, kw_only=True)
class Surface:
    """What the ground is covered with; where two lie on each other, the smaller counts."""

    id: str
    outline: Area
    surface: str

    def __post_init__(self) -> None:
        one_of(self.surface, SURFACES, what="surface")


@dataclass(frozen=True, kw_only=True)
class Gate:
    """A gap in a fence, `width` wide, around `place`; `line` is the gap itself, laid along the fence."""

    id: str
    place: Point
    line: LineString
    width: float

    def __post_init__(self) -> None:
        number_within(self.width, 0, 50, above=True, what="width", unit="m")


@dataclass(frozen=True, kw_only=True)
class Tap:
    """Where water comes from; `hose_length` is None where no hose is named. [m]"""

    id: str
    place: Point
    hose_length: float | None = None

    def __post_init__(self) -> None:
        if self.hose_length is not None:
            number_within(self.hose_length, 0, 1000, above=True, what="hose_length", unit="m")


@dataclass(frozen=True, kw_only=True)
class Pile:
    """Where material lies, or may be tipped (`drop`)."""

    id: str
    shape: Point | Polygon | MultiPolygon
    drop: bool = False


@dataclass(frozen=True, kw_only=True)
class Door:
    """The door that the gardener comes and goes by."""

    id: str
    place: Point


@dataclass(frozen=True, kw_only=True)
class Bed:
    """A raised bed: its outer outline, filled to the top of its walls at `height`.

    `trellis_height` and `crop_height` are above the ground; None where there is none.
    `trellis_side` is an azimuth, None for poleward. [degrees]  `need` is hours of direct sun, None for the site's.
    `filled` is true of one that is full already: nothing is brought to it. `crops` are names of data/crops.csv.
    `rows` says how tall plants stand in rows, ``along`` the long side or ``across``, `row_spacing` apart. [m]
    """

    id: str
    outline: Polygon
    height: float
    wall_thickness: float = 0.0381
    proposed: bool = False
    trellis_height: float | None = None
    trellis_side: float | None = None
    crop_height: float | None = None
    need: float | None = None
    filled: bool = False
    crops: tuple[str, ...] = ()
    rows: RowsLie | None = None
    row_spacing: float = 0.6

    def __post_init__(self) -> None:
        number_within(self.height, 0, 3, above=True, what="height", unit="m")
        number_within(self.wall_thickness, 0, 1, what="wall_thickness", unit="m")
        for key in ("trellis_height", "crop_height"):
            above = getattr(self, key)
            if above is not None and not self.height < above <= 10:
                raise ValueError(
                    f"{key} is {above:g} m, must be above the bed's height ({self.height:g} m) and at most 10 m; "
                    "it is measured from the ground",
                )
        if self.need is not None:
            number_within(self.need, 0, 16, what="need", unit="h")
        number_within(self.row_spacing, 0.1, 10, what="row_spacing", unit="m")
        if self.rows is not None:
            one_of(self.rows, ROWS, what="rows")
            if self.crop_height is None:
                raise ValueError("rows shade by their height: give crop_height as well")


@dataclass(frozen=True, kw_only=True)
class Keepout:
    """Ground that must stay free, with its reason and the distance to keep from it. [m]"""

    id: str
    outline: Area
    reason: str
    setback: float = 0.0

    def __post_init__(self) -> None:
        number_within(self.setback, 0, 100, what="setback", unit="m")


Feature = Building | Tree | Hedge | Fence | Surface | Gate | Tap | Pile | Door | Bed | Keepout
