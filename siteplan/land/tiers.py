"""Of which frames is a bed built, one on top of the other?

The lowest frame stands on the bed's outline; each higher one on the frame below, inset from its edge or on an outline
of its own. Between the walls of two frames lies a ledge of soil. `fill` says what goes into the frames.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

import numpy as np
import shapely
from shapely import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.land.nested import Ring
from siteplan.land.outline import smallest_rectangle, solid_parts
from siteplan.land.record import Record
from siteplan.land.values import Quantity

BED_HEIGHT = Quantity("length", above=0, most=3, usual=(0.1, 1.2))  # usual: common practice, no source
TAPE_ACCURACY = 0.01  # m; how closely a tape is read over a bed
#: how far a sharp corner of the inside may reach, in wall thicknesses; sharper ones are cut off
_SHARPEST = 20.0
_NO_WALL = 1e-9  # m; shapely's offset fails below the precision of coordinates


@dataclass(frozen=True, kw_only=True)
class Tier(Record):
    """One frame of a bed in tiers: its height, and where it stands on the frame below.

    `outline` is in the bed's coordinates, in place of `inset`. The lowest tier stands on the bed's own outline and
    has neither.
    """

    height: Annotated[float, BED_HEIGHT, "of the walls of this frame alone"]
    inset: Annotated[float, Quantity("length", least=0, most=50), "from the frame below, all round"] = 0.0
    outline: Annotated[Polygon | None, Ring(), "in place of inset: its corners, in the drawing's coordinates"] = None


@dataclass(frozen=True, kw_only=True)
class Frame:
    """One frame of a bed, with its outline and its heights.

    Attributes
    ----------
    number : int
        1 for the lowest.
    outline : Polygon
        Of the outside of its walls.
    bottom, top : float
        Of its walls, above the ground at the middle of the bed. [m]
    wall_thickness : float
        [m]
    above : Polygon or None
        Outline of the frame that stands on it.
    """

    number: int
    outline: Polygon
    bottom: float
    top: float
    wall_thickness: float
    above: Polygon | None = None

    @property
    def height(self) -> float:
        """Of its walls alone. [m]"""
        return self.top - self.bottom

    @cached_property
    def inside(self) -> Polygon | MultiPolygon:
        """What lies within its walls."""
        return within_walls(self.outline, self.wall_thickness)

    @cached_property
    def around(self) -> Polygon | MultiPolygon:
        """Walls and soil that are open at its top: its outline, less the frame that stands on it."""
        return self.outline if self.above is None else _difference(self.outline, self.above)

    @cached_property
    def ledge(self) -> Polygon | MultiPolygon:
        """The soil that is open at its top: what is within its walls, less the frame that stands on it."""
        return self.inside if self.above is None else _difference(self.inside, self.above)

    @cached_property
    def column(self) -> Polygon | MultiPolygon:
        """The area over which the fill ends at its top: its ledge, and what is under the walls of the next frame."""
        if self.above is None:
            return self.inside
        return _difference(self.inside, within_walls(self.above, self.wall_thickness))


def within_walls(outline: Polygon, thickness: float) -> Polygon | MultiPolygon:
    """Return the area inside walls that stand within an outline, along its edge; corners stay sharp.

    Returns
    -------
    Polygon or MultiPolygon
        Empty if the walls fill the whole outline; several parts if the walls of a narrow waist meet.

    Examples
    --------
    >>> within_walls(shapely.box(0, 0, 2, 1), 0.1).bounds
    (0.1, 0.1, 1.9, 0.9)
    """
    if thickness < _NO_WALL:
        return outline
    within = outline.buffer(-thickness, join_style="mitre", mitre_limit=_SHARPEST)
    return within if isinstance(within, (Polygon, MultiPolygon)) else Polygon()


def _difference(area: BaseGeometry, cut_out: BaseGeometry) -> Polygon | MultiPolygon:
    """Return the difference of two areas, without slivers from rounding."""
    parts = solid_parts(shapely.difference(area, cut_out))
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def frames_of(outline: Polygon, tiers: Sequence[Tier], wall_thickness: float) -> tuple[Frame, ...]:
    """Return the frames of a bed in tiers, from the bottom to the top.

    Raises
    ------
    ValueError
        If a tier overhangs the one below, or nothing is left of it.

    Examples
    --------
    >>> frames = frames_of(shapely.box(0, 0, 4, 2), [Tier(height=0.4), Tier(height=0.3, inset=0.5)], 0.0)
    >>> [(frame.outline.area, round(frame.bottom, 9), round(frame.top, 9), frame.ledge.area) for frame in frames]
    [(8.0, 0.0, 0.4, 5.0), (3.0, 0.4, 0.7, 3.0)]
    """
    outlines = [_lowest(outline, tiers[0])]
    for number, tier in enumerate(tiers[1:], 2):
        outlines.append(_standing_on(outlines[-1], tier, number))
    tops = np.cumsum([tier.height for tier in tiers]).tolist()
    return tuple(
        Frame(
            number=number + 1,
            outline=outlines[number],
            bottom=tops[number - 1] if number else 0.0,
            top=tops[number],
            wall_thickness=wall_thickness,
            above=outlines[number + 1] if number + 1 < len(tiers) else None,
        )
        for number in range(len(tiers))
    )


def _lowest(outline: Polygon, tier: Tier) -> Polygon:
    if tier.inset or tier.outline is not None:
        raise ValueError("tiers: tier 1 stands on the bed's own outline; leave its inset and its outline out")
    return outline


def _standing_on(below: Polygon, tier: Tier, number: int) -> Polygon:
    """Return the outline of a tier on the frame below."""
    tier_name = f"tiers: tier {number}"
    if tier.outline is not None:
        if tier.inset:
            raise ValueError(f"{tier_name} has both inset and outline; give one of them")
        return _drawn_on(below, tier.outline, tier_name)
    if tier.inset < _NO_WALL:
        return below
    inset_outline = below.buffer(-tier.inset, join_style="mitre", mitre_limit=_SHARPEST)
    if inset_outline.is_empty:
        width_below = smallest_rectangle(below)[1]
        problem = f"is set in by {tier.inset:g} m all round on a frame {width_below:.3g} m wide"
        raise ValueError(f"{tier_name} {problem}, so that nothing is left of it; make its inset smaller")
    if not isinstance(inset_outline, Polygon):
        part_count = len(shapely.get_parts(inset_outline))
        problem = f"falls into {part_count} parts by its inset of {tier.inset:g} m"
        raise ValueError(f"{tier_name} {problem}; give its outline instead")
    return inset_outline


def _drawn_on(below: Polygon, outline: Polygon, tier_name: str) -> Polygon:
    """Return a tier's own outline on the frame below; an overhang within the tape's accuracy is cut off."""
    corners = shapely.get_coordinates(shapely.difference(outline, below)).tolist()
    overhang = max((below.distance(Point(corner)) for corner in corners), default=0.0)
    if overhang <= TAPE_ACCURACY:
        parts = solid_parts(shapely.intersection(outline, below)) if overhang else (outline,)
        return parts[0]
    if outline.area > below.area:
        raise ValueError(
            f"{tier_name} is larger than the frame below, {outline.area:.3g} m2 on {below.area:.3g} m2; "
            "tiers are listed from the bottom to the top"
        )
    raise ValueError(f"{tier_name} overhangs the frame below by {overhang:.2f} m; it must stand on it as a whole")
