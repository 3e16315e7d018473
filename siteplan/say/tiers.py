"""What is said about the tiers of a bed: their soil, sun and walls, and the order of building?

A bed of one frame has no such text, since the text on the bed says it all. `show.sheet` has the setting out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from siteplan.fill.bed_results import TierFill
from siteplan.land.outline import smallest_rectangle
from siteplan.land.tiers import Frame
from siteplan.land.unit_sizes import FOOT
from siteplan.land.units import System, length_text
from siteplan.say.figures import hours_text, push_text
from siteplan.say.placing import crop_sentences
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.land.features import Bed
    from siteplan.records import Answers, BedReport
    from siteplan.sun.bed_sun import TierSun

_SAME = 0.005  # m; soil that is deeper than the frame less this has no base below it


def tier_suns(plan: Answers, bed: Bed) -> dict[int, TierSun]:
    """Return the sun of each tier by its number; empty if it was not computed."""
    return {tier.tier: tier for report in plan.beds if report.bed.id == bed.id for tier in report.sun.tiers}


def tier_fills_of(plan: Answers, bed: Bed) -> dict[int, TierFill]:
    """Return the fill of each tier by its number; empty if it was not computed."""
    beds = plan.fill.beds if plan.fill else ()
    return {tier.tier: tier for fill in beds if fill.bed == bed.id for tier in fill.tiers}


def frame_text(frame: Frame, units: System) -> str:
    """Return length, width and height of a frame as text."""
    long, wide, _ = smallest_rectangle(frame.outline)
    return " × ".join(length_text(size, units) for size in (long, wide, frame.height))


def tier_sun_rows(report: BedReport, *, cells: int) -> list[list[str]]:
    """Return rows of the terminal's table for the sun of each tier of a bed; empty for a bed of one frame."""
    if len(report.bed.frames) == 1:
        return []
    rows = [
        [
            f"- tier {tier.tier}",
            f"{tier.season_sun_h:.1f}",
            f"{tier.worst_cell_sun_h:.1f}",
            f"{tier.month_sun_h[4]:.1f}",
            f"{tier.month_sun_h[11]:.1f}",
            tier.light_class,
        ]
        for tier in report.sun.tiers
    ]
    return [row + [""] * (cells - len(row)) for row in rows]


def area_text(square_metres: float, units: System) -> str:
    """Return an area of soil as text.

    Examples
    --------
    >>> area_text(1.858, "imperial"), area_text(1.858, "metric"), area_text(0.0, "metric")
    ('20 ft²', '1.86 m²', 'none')
    """
    if not square_metres:
        return "none"
    return f"{square_metres:.2f} m²" if units == "metric" else f"{square_metres / FOOT**2:.0f} ft²"


def tier_sentences(plan: Answers, bed: Bed) -> list[str]:
    """Return sentences on each tier of a bed, the lowest first; empty for a bed of one frame."""
    if len(bed.frames) == 1:
        return []
    suns, fills, units = tier_suns(plan, bed), tier_fills_of(plan, bed), plan.site.units
    sentences = []
    for frame in bed.frames:
        parts = [
            f"tier {frame.number}: frame of {frame_text(frame, units)}, rim {length_text(frame.top, units)} high"
        ]
        soil = f"{area_text(frame.ledge.area, units)} of open soil" if frame.ledge.area else "no soil lies open"
        if (fill := fills.get(frame.number)) and frame.ledge.area:
            above = " above the coarse base" if fill.soil_depth < frame.top - _SAME else ""
            soil += f", {length_text(fill.soil_depth, units)} deep{above}"
        parts.append(soil)
        if sun := suns.get(frame.number):
            hours = f"{hours_text(sun.season_sun_h)} of sun a day in the season"
            parts.append(f"{hours}, {hours_text(sun.worst_cell_sun_h)} at its darkest spot ({sun.light_class})")
        sentences.append("; ".join(parts))
    return sentences


def push_sentences(plan: Answers, bed: Bed) -> list[str]:
    """Return the earth pressure of the wet fill on the walls of each frame; empty for a bed of one frame."""
    fills, units = tier_fills_of(plan, bed), plan.site.units
    if len(bed.frames) == 1 or not bed.wall_thickness:
        return []
    sentences = []
    for number, fill in fills.items():
        frame_near = ", with the frame above near behind them" if fill.wall_height > fill.height + 1e-6 else ""
        braces = f"boards are commonly braced every {length_text(fill.brace_spacing, units)}"
        push = f"wet fill pushes {push_text(fill.wall_thrust, units)} of wall{frame_near}"
        sentences.append(f"walls of frame {number}: {push}; {braces}")
    return sentences


def tier_crops(report: BedReport, units: System) -> list[str]:
    """Return which crops suit each tier, by its own sun and depth; for a bed of one frame, which suit the bed."""
    if len(report.bed.frames) == 1:
        return crop_sentences(report.crops, units)
    return [
        f"Tier {tier}: {line[:1].lower()}{line[1:]}"
        for tier, fits in report.tier_crops
        for line in crop_sentences(fits, units)
    ]


def build_steps(plan: Answers, bed: Bed) -> list[str]:
    """Return the order in which a bed with tiers is built and filled; empty for a bed of one frame.

    References
    ----------
    Common practice, no source: the lower frame is full and firm before the next is set on it.
    """
    if len(bed.frames) == 1:
        return []
    fills, units = tier_fills_of(plan, bed), plan.site.units
    steps = ["Frame 1: set it out by the tapes, level and brace it, and do what is to be done to the ground first."]
    for below, frame in zip(bed.frames, bed.frames[1:], strict=False):
        fill = fills.get(below.number)
        steps.append(
            f"Fill frame {below.number} to its rim, under its ledge and in the middle together. Wet it and tread it "
            f"firm where frame {frame.number} will stand."
        )
        sinking = below.top - fill.settled_depth if fill and fill.settled_depth else 0.0
        by_depth = f" by about {length_text(sinking, units)} in the first year" if sinking > 0 else ""
        steps.append(
            f"Frame {frame.number}: {_stands(bed, frame, units)}, level it and fasten its corners. Soil "
            f"sinks{by_depth}, and the frame with it: to keep it level, carry it on posts or blocks that stand on "
            "the ground."
        )
    steps.append(f"Fill frame {len(bed.frames)} to its rim.")
    return steps


def frame_lines(plan: Answers) -> list[str]:
    """Return lines on how each bed in tiers is built, unless it is full already, and on the pressure on its walls."""
    return [
        f"{plain_text(bed.id, longest=60)}: {line.removesuffix('.')}"
        for bed in plan.site.beds
        if not bed.filled
        for line in (*build_steps(plan, bed), *push_sentences(plan, bed))
    ]


def _stands(bed: Bed, frame: Frame, units: System) -> str:
    """Return text on where a frame stands on the one below."""
    tier = bed.tiers[frame.number - 1]
    if tier.outline is not None:
        return f"set it on its corners as taped from those of frame {frame.number - 1}"
    if not tier.inset:
        return f"set it flush on frame {frame.number - 1} and tie the two together"
    return f"set it in by {length_text(tier.inset, units)} from every side of frame {frame.number - 1}"
