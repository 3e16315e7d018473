"""What is said about the next years: how far do beds sink, what tops them up, and what is left over for it?

Text for the terminal and the work sheet. `filling` has the first fill.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from siteplan.fill.buying_programme import SHORT
from siteplan.fill.fill_results import TopUpYear
from siteplan.land.units import System, length_text
from siteplan.say.figures import volume_among
from siteplan.say.phrases import listed
from siteplan.say.safe_text import plain_text

if TYPE_CHECKING:
    from siteplan.records import Answers


def top_up_rows(plan: Answers) -> list[dict[str, str]]:
    """Return a row for each of the next years: how far beds sink at most, what tops them up, and the cost."""
    fill, units = plan.fill, plan.site.units
    if fill is None:
        return []
    among = [volume for year in fill.top_up_years for _, volume in year.volumes]
    return [
        {
            "year": str(year.year),
            "drop": length_text(max(top_up.drop for top_up in fill.top_ups if top_up.year == year.year), units),
            "with": ", ".join(_top_up_text(name, volume, year, among, units) for name, volume in year.volumes),
            "cost": _top_up_cost(year),
        }
        for year in fill.top_up_years
    ]


def _top_up_cost(year: TopUpYear) -> str:
    """Return the cost of a year's top-up, and which materials nobody offers."""
    if year.cost is None:
        return "no offer"
    return f"{year.cost:,.2f}" + (f", no offer of {listed(year.lacking)}" if year.lacking else "")


def bed_top_up_line(plan: Answers, bed_id: str) -> str:
    """Return how far one bed has sunk by each autumn, and what refills it; empty if that is not known."""
    fill, units = plan.fill, plan.site.units
    autumns, top_ups = [], fill.top_ups if fill else ()
    among = [volume for top_up in top_ups if top_up.bed == bed_id for _, volume in top_up.volumes]
    for top_up in top_ups:
        if top_up.bed == bed_id and top_up.volumes:
            materials = ", ".join(f"{volume_among(volume, among, units)} {name}" for name, volume in top_up.volumes)
            autumns.append(f"autumn {top_up.year}: it has sunk {length_text(top_up.drop, units)}, bring {materials}")
    return "; ".join(autumns)


def _top_up_text(name: str, volume: float, year: TopUpYear, among: Sequence[float], units: System) -> str:
    """Return how much of a material tops up the beds, and how much of that is left over from before."""
    left_over = dict(year.left_over).get(name, 0.0)
    amount = volume_among(left_over, among, units)
    note = "on hand" if left_over >= volume - SHORT else f"{amount} on hand"
    rounds_to_nothing = not any(digit in "123456789" for digit in amount)
    return f"{volume_among(volume, among, units)} {name}" + ("" if rounds_to_nothing else f" ({note})")


def left_over_rows(plan: Answers) -> list[dict[str, str]]:
    """Return what is left over of purchases and at the piles."""
    remains = plan.fill.left_over if plan.fill else ()
    among = [rest.volume for rest in remains]
    return [
        {
            "material": rest.material,
            "at": rest.at or "of what is bought",
            "volume": volume_among(rest.volume, among, plan.site.units),
        }
        for rest in remains
    ]


def bed_top_up_lines(plan: Answers, *, full: bool | None = None) -> list[str]:
    """Return a sentence on topping up each bed: all beds, only full ones (True), or only the others (False)."""
    beds = [bed.id for bed in plan.site.beds if full is None or bed.filled == full]
    return [f"{plain_text(bed, longest=60)}: {line}" for bed in beds if (line := bed_top_up_line(plan, bed))]
