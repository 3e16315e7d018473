"""How does a plan show itself in Python?

As one line at the prompt, and as a small table in a notebook.
It leaves out reasons, cautions and pictures: those are on the map and the work sheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from siteplan.land.units import volume_text
from siteplan.land.values import printable
from siteplan.say.figures import heading_text, hours_text, plural, time_text
from siteplan.say.safe_text import page_text

if TYPE_CHECKING:
    from siteplan.records import Answers


def summary_text(plan: Answers) -> str:
    """Return the results in one line."""
    results = [plural(len(plan.site.beds), "bed")]
    if plan.places is not None:
        results.append(plural(len(plan.places.places), "place"))
    if plan.fill is not None:
        results.append(f"fill {_fill_volume(plan):.1f} m3")
    if plan.haul is not None:
        results.append(plural(plan.haul.trips, "trip"))
    return f'<{type(plan).__name__} of "{printable(plan.site.name)}": {", ".join(results)}>'


def summary_html(plan: Answers) -> str:
    """Return the results as a table: a row for each bed and place, then the work.

    Parameters
    ----------
    plan : Answers
    """
    rows = [
        (
            report.bed.id,
            hours_text(report.sun.season_sun_h),
            hours_text(report.sun.worst_cell_sun_h),
            report.sun.light_class,
        )
        for report in plan.beds
    ]
    rows += [
        (
            f"place {place.rank}",
            hours_text(place.season_sun_h),
            hours_text(place.worst_cell_sun_h),
            heading_text(place.heading),
        )
        for place in (plan.places.places if plan.places else ())
    ]
    heads = ("", "sun a day in the season", "darkest spot", "")
    table = "".join(_row(row, "td") for row in rows)
    work = "".join(f"<p>{page_text(line)}</p>" for line in _work(plan))
    body = f"<table><thead>{_row(heads, 'th')}</thead><tbody>{table}</tbody></table>" if rows else ""
    return f"<div><p><b>{page_text(plan.site.name)}</b></p>{body}{work}</div>"


def _row(cells: tuple[str, ...], kind: str) -> str:
    return "<tr>" + "".join(f'<{kind} style="text-align:left">{page_text(cell)}</{kind}>' for cell in cells) + "</tr>"


def _work(plan: Answers) -> list[str]:
    """Return a sentence on the fill and one on the runs."""
    sentences = []
    if plan.fill is not None and plan.fill.layers:
        sentences.append(f"Fill: {volume_text(_fill_volume(plan), plan.site.units)} loose.")
    if plan.haul is not None and plan.haul.trips:
        sentences.append(
            f"{plural(plan.haul.trips, 'trip')} with the barrow, {time_text(plan.haul.total_minutes)} of work."
        )
    return sentences


def _fill_volume(plan: Answers) -> float:
    """Return the loose volume that goes into all beds. [m3]"""
    return sum(layer.volume for layer in plan.fill.layers) if plan.fill else 0.0
