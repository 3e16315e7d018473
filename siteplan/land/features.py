"""What is drawn on the ground?

One record for each kind of feature, in metres of the local frame, checked when it is made.
Computing is done elsewhere: shade in `sun`, obstacles to beds in `place`, costs of the barrow's way in `haul`.

Heights are above the ground at the feature. [m]  Transmittance is the share of direct sun let through, 0 to 1. That
of leaves holds for a path of `transmittance_path` through them; a path twice as long squares it.
"""

from __future__ import annotations

import calendar
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated, ClassVar, Literal, get_args

from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon

from siteplan.land.layers import LayerSpec, shares_faults
from siteplan.land.nested import Several
from siteplan.land.record import Record, fields_of
from siteplan.land.spread import Measured
from siteplan.land.tiers import BED_HEIGHT, TAPE_ACCURACY, Frame, frames_of
from siteplan.land.tiers import Tier as _Tier
from siteplan.land.values import Layers, Names, Quantity, Side, Text, Whole
from siteplan.land.walls import WallKind

Area = Polygon | MultiPolygon
Line = LineString | MultiLineString

TALLEST = 500.0  # m; nothing in a garden stands higher
# usual ranges are common practice, no source; a value outside gets a caution and is used as it is
BUILDING_HEIGHT = Quantity("length", above=0, most=TALLEST, usual=(0.3, 15), spread=True)
TREE_HEIGHT = Quantity("length", above=0, most=TALLEST, usual=(1, 35), spread=True)
HEDGE_HEIGHT = Quantity("length", above=0, most=TALLEST, usual=(0.3, 6), spread=True)
FENCE_HEIGHT = Quantity("length", above=0, most=TALLEST, usual=(0.3, 3), spread=True)
LOWER_EDGE = Quantity("length", least=0, most=TALLEST, spread=True)
TRANSMITTANCE = Quantity("fraction", least=0, most=1, spread=True)
IN_BED = Quantity("length", above=0, most=10, usual=(0.1, 4))
LIGHT_PATH = Quantity("length", above=0, most=60)
NEED = Quantity("time", least=0, most=16)

SurfaceKind = Literal["paved", "gravel", "grass", "mulch", "soil", "mud", "steps"]
SURFACES: tuple[str, ...] = get_args(SurfaceKind)
RowsLie = Literal["along", "across"]


@dataclass(frozen=True, order=True)
class MonthDay(Record):
    """A day of the year, whichever the year."""

    month: Annotated[int, Whole(1, 12)]
    day: Annotated[int, Whole(1, 31)]

    def _conflicts(self) -> Iterator[str]:
        if self.day > calendar.monthrange(2024, self.month)[1]:  # a leap year has every day
            yield f"{calendar.month_name[self.month]} has no day {self.day}"

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


def day_of_a_year(month: int, day: int) -> MonthDay | None:
    """Return a day of the year, or None if the month has no such day."""
    try:
        return MonthDay(month, day)
    except ValueError:
        return None


def _below_height(name: str, value: float, height: float) -> Iterator[str]:
    """Yield a fault if the lower end of a feature is not below its top."""
    if not value < height:
        yield f"{name} is {value:g} m, must be at least 0 and below height ({height:g} m)"


@dataclass(frozen=True, kw_only=True)
class Building(Measured):
    """A house, shed, deck or pergola: it stands from `base` to `height`.

    A gabled roof rises from `eaves` to `height` at the ridge, which runs along `ridge_heading`
    (the longer side if None) through the middle.
    """

    id: str
    outline: Area
    height: Annotated[float, BUILDING_HEIGHT, "of the roof, or of the ridge, above the ground"]
    base: Annotated[float, LOWER_EDGE, "above 0 for what stands on posts: a deck, a pergola, an overhang"] = 0.0
    transmittance: Annotated[float, TRANSMITTANCE, "share of the sun that it lets through; 0 is solid"] = 0.0
    eaves: Annotated[float | None, LOWER_EDGE, "of a gabled roof: from here it rises to height at the ridge"] = None
    ridge_heading: Annotated[
        float | None,
        Quantity("angle", least=-360, most=360),
        "of the ridge, clockwise from true north; along the longer side where it is left out",
    ] = None

    def _conflicts(self) -> Iterator[str]:
        yield from _below_height("base", self.base, self.height)
        if self.eaves is not None and not self.base <= self.eaves <= self.height:
            yield f"eaves is {self.eaves:g} m, must lie from base ({self.base:g} m) to height ({self.height:g} m)"


@dataclass(frozen=True, kw_only=True)
class Tree(Measured):
    """A tree: its crown seen from above, from `crown_base` to `height`.

    `leaf_out` and `leaf_fall` are None if it is evergreen: `transmittance_leafy` then holds all year.
    `trunk_diameter` is None if unknown: no trunk is drawn then.
    The default transmittances are those of medium crowns 6 m wide in data/crowns.csv, with their sources;
    `transmittance_path` is None if they hold for this crown's own mean width.
    """

    id: str
    outline: Area
    trunk: Point
    height: Annotated[float, TREE_HEIGHT, "of its top"]
    crown_base: Annotated[float, LOWER_EDGE, "where the crown begins; a quarter of height where it is left out"]
    foliage: Annotated[Literal["deciduous", "evergreen"], "whether it is bare in winter"] = "deciduous"
    leaf_out: Annotated[
        MonthDay | None, "when its leaves come, as month-day; 04-10 where left out (10-09 in the south)"
    ] = None
    leaf_fall: Annotated[
        MonthDay | None, "when its leaves fall, as month-day; 10-27 where left out (04-27 in the south)"
    ] = None
    transmittance_leafy: Annotated[
        float,
        TRANSMITTANCE,
        "share of the sun that comes through the middle of the crown in leaf, in place of crown_density",
    ] = 0.05
    transmittance_bare: Annotated[float, TRANSMITTANCE, "the same when bare"] = 0.45
    transmittance_path: Annotated[
        float | None,
        LIGHT_PATH,
        "way through leaves for which the share holds; the crown's mean width where only shares are given",
    ] = 6.0
    trunk_diameter: Annotated[
        float | None,
        Quantity("length", above=0, most=15, usual=(0.01, 1.5)),
        "at breast height; no trunk shades where it is left out",
    ] = None
    crown_form: Annotated[Literal["cylinder", "ellipsoid", "cone"], "of the crown between crown_base and height"] = (
        "cylinder"
    )

    def _conflicts(self) -> Iterator[str]:
        yield from _below_height("crown_base", self.crown_base, self.height)
        if self.leaf_out is not None and self.leaf_out == self.leaf_fall:
            yield f"leaf_out and leaf_fall are both {self.leaf_out}; they must differ"


@dataclass(frozen=True, kw_only=True)
class Hedge(Measured):
    """A hedge: it stands on its outline from the ground to `height`.

    The default transmittance holds for a hedge 1 m thick (common practice, no source).
    """

    id: str
    outline: Area
    height: Annotated[float, HEDGE_HEIGHT, "of its top"]
    transmittance: Annotated[float, TRANSMITTANCE, "share of the sun that comes straight through it"] = 0.10
    transmittance_path: Annotated[
        float | None,
        LIGHT_PATH,
        "way through leaves for which the share holds; the hedge's thickness where only the share is given",
    ] = 1.0


@dataclass(frozen=True, kw_only=True)
class Fence(Measured):
    """A fence or wall along a line, from `base` to `height`.

    A wall drawn as an area has its `outline`; `line` is then the ring around it.
    """

    id: str
    line: Line
    height: Annotated[float, FENCE_HEIGHT, "of its top"]
    thickness: Annotated[
        float, Quantity("length", above=0, most=10, usual=(0.01, 0.6)), "of a fence drawn as a line"
    ] = 0.04
    transmittance: Annotated[float, TRANSMITTANCE, "share of the sun that it lets through; 0 is solid"] = 0.0
    base: Annotated[float, LOWER_EDGE, "of its lower edge, where a gap is left below it"] = 0.0
    outline: Area | None = None

    def _conflicts(self) -> Iterator[str]:
        yield from _below_height("base", self.base, self.height)

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
class Surface(Record):
    """What the ground is covered with; where two surfaces overlap, the smaller one counts."""

    id: str
    outline: Area
    surface: Annotated[SurfaceKind, "what lies there"]


@dataclass(frozen=True, kw_only=True)
class Gate(Record):
    """A gap in a fence, `width` wide, around `place`; `line` is the gap itself, laid along the fence."""

    id: str
    place: Point
    line: LineString
    width: Annotated[float, Quantity("length", above=0, most=50, usual=(0.4, 6)), "of the gap"]


@dataclass(frozen=True, kw_only=True)
class Tap(Record):
    """Where water comes from; `hose_length` is None if no hose is named. [m]"""

    id: str
    place: Point
    hose_length: Annotated[
        float | None, Quantity("length", above=0, most=1000, usual=(3, 100)), "how far its hose reaches"
    ] = None


@dataclass(frozen=True, kw_only=True)
class Pile(Record):
    """Where material lies, or where a delivery may be tipped (`drop`)."""

    id: str
    shape: Point | Polygon | MultiPolygon
    drop: Annotated[bool, "true where a delivery may be tipped"] = False


@dataclass(frozen=True, kw_only=True)
class Door(Record):
    """The door that the gardener uses."""

    id: str
    place: Point


@dataclass(frozen=True, kw_only=True)
class Bed(Record):
    """A raised bed: its outer outline, filled to the top of its walls at `height`.

    `tiers` are the frames it is built of, from the bottom to the top, each a `Bed.Tier`; `height` is then the sum of
    their heights and may be left out. `frames` are the same with their outlines; a bed without tiers has one.
    `trellis_height` and `crop_height` are above the ground; None if there is none.
    `trellis_side` is an azimuth, None for poleward. [degrees]  `need` is hours of direct sun, None for the site's.
    `filled`: nothing is brought to it. `crops` are names of data/crops.csv. `layers` is its own recipe; empty if it
    uses the property's. `rows` of tall plants run ``along`` the long side or ``across``, `row_spacing` apart. [m]
    """

    Tier: ClassVar[type[_Tier]] = _Tier

    id: str
    outline: Polygon
    height: Annotated[float, BED_HEIGHT, "of its walls; of all its tiers together"] = math.nan
    wall_thickness: Annotated[
        float, Quantity("length", least=0, most=1, usual=(0, 0.3)), "of its walls, within the outline"
    ] = 0.0381
    proposed: Annotated[bool, "true: its place may change"] = False
    trellis_height: Annotated[float | None, IN_BED, "above the ground, not above the soil"] = None
    trellis_side: Annotated[float | None, Side(poleward=True), "where the trellis is; poleward where left out"] = None
    crop_height: Annotated[float | None, IN_BED, "of tall plants, above the ground"] = None
    need: Annotated[float | None, NEED, "hours of direct sun that its crops want; [sun] need where left out"] = None
    filled: Annotated[bool, "true: it is full already, and nothing is brought to it"] = False
    crops: Annotated[tuple[str, ...], Names("crops"), "what grows in it, such as tomato, lettuce"] = ()
    rows: Annotated[RowsLie | None, "tall plants stand in rows along or across the long side; wants crop_height"] = (
        None
    )
    row_spacing: Annotated[float, Quantity("length", least=0.1, most=10), "from row to row"] = 0.6
    layers: Annotated[
        tuple[LayerSpec, ...], Layers(), "what goes into it, bottom to top; those of [fill] where left out"
    ] = ()
    walls: Annotated[
        WallKind | None, "what they are built of; as in [walls] where left out; none: nothing is to be built"
    ] = None
    tiers: Annotated[
        tuple[_Tier, ...],
        Several(_Tier, "tier", '[{"height": "14 in"}, {"height": "10 in", "inset": "1 ft"}]'),
        "its frames from the bottom to the top, where smaller ones stand on it",
    ] = ()

    def __post_init__(self) -> None:
        """Sum the height from the tiers; a height that is given as well must agree with it."""
        given_height = self.height
        if fields_of(Bed)["tiers"].fault(self.tiers) == "" and self.tiers:
            object.__setattr__(self, "height", math.fsum(tier.height for tier in self.tiers))
        elif not self.tiers and isinstance(given_height, float) and math.isnan(given_height):
            raise ValueError("height is missing; measure it from the ground, or give tiers")
        super().__post_init__()
        if abs(given_height - self.height) > TAPE_ACCURACY:  # false if the height was left out: it is NaN then
            sums = " + ".join(f"{tier.height:g}" for tier in self.tiers)
            raise ValueError(f"height is {given_height:g} m, but its tiers are {sums} m high; leave height out")

    @cached_property
    def frames(self) -> tuple[Frame, ...]:
        """Its frames from the bottom to the top, with their outlines; one if it has no tiers."""
        return frames_of(self.outline, self.tiers or (_Tier(height=self.height),), self.wall_thickness)

    def moved(self, change: Callable[[Polygon], Polygon]) -> Bed:
        """Return the bed moved or turned: `change` is applied to its outline and to the outlines of its tiers.

        Examples
        --------
        >>> from shapely import affinity, box
        >>> tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, outline=box(1, 0, 2, 1)))
        >>> bed = Bed(id="a", outline=box(0, 0, 2, 1), tiers=tiers)
        >>> bed.moved(lambda outline: affinity.translate(outline, 5, 0)).frames[1].outline.bounds
        (6.0, 0.0, 7.0, 1.0)
        """
        tiers = (replace(tier, outline=tier.outline and change(tier.outline)) for tier in self.tiers)
        return replace(self, outline=change(self.outline), tiers=tuple(tiers))

    def on(self, outline: Polygon) -> Bed:
        """Return the bed on another outline; with a single frame of the same height if its tiers do not fit there.

        Tiers given by an inset are kept; tiers with outlines of their own belong to the old outline and are dropped.

        Examples
        --------
        >>> from shapely import box
        >>> tiers = (Bed.Tier(height=0.4), Bed.Tier(height=0.3, inset=0.5))
        >>> bed = Bed(id="a", outline=box(0, 0, 4, 2), tiers=tiers)
        >>> [len(bed.on(box(0, 0, 3, width)).frames) for width in (2, 1)]
        [2, 1]
        """
        single = replace(self, outline=outline, tiers=())
        if not self.tiers or any(tier.outline is not None for tier in self.tiers):
            return single
        try:
            return replace(self, outline=outline)
        except ValueError:
            return single

    def _conflicts(self) -> Iterator[str]:
        try:
            _ = self.frames
        except ValueError as error:
            yield str(error)
        for key in ("trellis_height", "crop_height"):
            above = getattr(self, key)
            if above is not None and not above > self.height:
                yield (
                    f"{key} is {above:g} m, must be above the bed's height ({self.height:g} m) and at most 10 m; "
                    "it is measured from the ground"
                )
        if self.rows is not None and self.crop_height is None:
            yield "rows shade by their height: give crop_height as well"
        yield from shares_faults(self.layers)


@dataclass(frozen=True, kw_only=True)
class Keepout(Record):
    """Ground that must stay free, with its reason and the distance to keep from it. [m]"""

    id: str
    outline: Area
    reason: Annotated[str, Text(), "why the ground must stay free"]
    setback: Annotated[float, Quantity("length", least=0, most=100), "how far a bed keeps from it"] = 0.0


@dataclass(frozen=True, kw_only=True)
class Level(Record):
    """A point of the ground whose height was measured; the reader makes the terrain of all of them."""

    id: str
    place: Point
    elevation: Annotated[
        float,
        Quantity("length", least=-1000, most=9000),
        "of the ground there, above any one zero; below it negative",
    ]


Feature = Building | Tree | Hedge | Fence | Surface | Gate | Tap | Pile | Door | Bed | Keepout
