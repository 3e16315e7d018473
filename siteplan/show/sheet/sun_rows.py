"""How does the work sheet list the sun at each bed?

One row for each bed, and one for each tier of a bed with several. It leaves out the gain from turning a bed.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from siteplan.say.doubt import range_text
from siteplan.say.figures import is_enough
from siteplan.say.lighting import sheet_line
from siteplan.sun.bed_sun import need_for

if TYPE_CHECKING:
    from siteplan.records import Answers, BedReport
    from siteplan.sun.bed_sun import BedSun, TierSun


def sun_rows(plan: Answers, report: BedReport) -> list[dict[str, Any]]:
    """Return a bed's rows of the sun table; hours below what its crop needs are in brackets."""
    need = need_for(plan.site, report.bed)
    light = sheet_line(report.light) if report.light is not None else ""
    tiers = report.sun.tiers if len(report.bed.frames) > 1 else ()
    bed_row = _row(report.bed.id, report.sun, need) | {"light_line": light, "range": range_text(report.doubt)}
    return [bed_row, *(_row(f"tier {tier.tier}", tier, need) | {"light_line": "", "range": ""} for tier in tiers)]


def _row(name: str, sun: BedSun | TierSun, need: float) -> dict[str, Any]:
    return {
        "bed": name,
        "hours": [_hours(float(hours), need) for hours in sun.month_sun_h],
        "season": _hours(sun.season_sun_h, need),
        "worst": _hours(sun.worst_cell_sun_h, need),
        "need": f"{need:g}",
        "light": sun.light_class,
    }


def _hours(hours: float, need: float) -> str:
    """Return hours of sun as text, in brackets if below what the bed needs."""
    if not math.isfinite(hours):
        return "—"
    return f"{hours:.1f}" if is_enough(hours, need) else f"({hours:.1f})"
